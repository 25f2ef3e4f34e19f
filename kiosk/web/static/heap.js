// The page of a heap: every scan is taken at once into a queue and sent from there,
// one after the other, each under a key of its own. Where the line is cut the queue
// waits, says how many are in it, and goes on by itself; the register gives a scan
// that arrived the first time its first answer, so none is lost and none counts
// twice. (Other forms are never sent again by themselves. Taking in can only keep a
// sling from going out.) What waits outlives the page, for who is signed in.
import { replace } from "./again.js";
import { play } from "./sound.js";

const KEPT = "heap"; // what waits, in the session's storage
const AGAIN = [500, 1000, 2000, 5000]; // milliseconds until it is tried again
const PATIENCE = 15000; // milliseconds for an answer
const ALPHABET = "ABCDEFGHIJKLMNOPQRSTUVWXYZ234567";

const page = () => document.querySelector("[data-heap]");
const who = () => document.querySelector(".who span")?.textContent ?? "";

let queue = [];
let busy = false;
let failed = 0; // how often in a row there was no answer
let again = 0; // the timer of the next try
let stuck = false; // the kiosk takes none of them now, and says why
let trouble = ""; // what it says

if (page()) {
  const kept = JSON.parse(sessionStorage.getItem(KEPT) ?? "null");
  if (kept?.who === who()) queue = kept.queue;
  document.addEventListener("scan", (e) => {
    e.preventDefault();
    queue.push({ text: e.detail.text, way: e.detail.way ?? "scanner", key: newKey() });
    begin();
  });
  document.addEventListener("submit", (e) => {
    const form = e.target;
    if (!form.matches("form[data-scan]")) return;
    e.preventDefault();
    e.stopImmediatePropagation(); // before again.js, which would send it as any form
    const text = form.elements.text.value;
    form.elements.text.value = "";
    queue.push({ text, way: form.elements.way.value, key: newKey() });
    begin();
  }, { capture: true });
  for (const what of ["renews", "loads"]) document.addEventListener(what, (e) => queue.length && e.preventDefault());
  addEventListener("online", () => send());
  addEventListener("beforeunload", (e) => queue.length && e.preventDefault());
  tell();
  send();
}

// newKey makes the key of a form: the day on which the page's own was made, and 26
// characters drawn here.
function newKey() {
  const day = page().querySelector("form[data-scan] [name=key]").value.slice(0, 5);
  const drawn = crypto.getRandomValues(new Uint8Array(26));
  return day + [...drawn].map((n) => ALPHABET[n % 32]).join("");
}

function begin() {
  trouble = "";
  stuck = false;
  keep();
  send();
}

function keep() {
  if (queue.length) sessionStorage.setItem(KEPT, JSON.stringify({ who: who(), queue }));
  else sessionStorage.removeItem(KEPT);
  tell();
}

// tell says how many scans the kiosk has not answered yet.
function tell() {
  const place = document.querySelector("[data-waiting]");
  if (!place) return;
  const n = queue.length;
  place.hidden = !trouble && (n === 0 || (n < 3 && !failed)); // an answer takes a moment, and is no news
  if (place.hidden) return;
  const many = n === 1 ? "1 scan waits" : n + " scans wait";
  const said = trouble ? (n ? `${many}. ` : "") + trouble : failed ? `${many}: the line is down. Go on scanning; they are sent as soon as it is back.` : `${many} to be sent.`;
  if (place.textContent !== said) place.textContent = said;
  place.classList.toggle("down", failed > 0 || trouble !== "");
}

async function send() {
  if (busy || !queue.length || !page()) return;
  clearTimeout(again);
  busy = true;
  const first = queue[0];
  try {
    const answer = await fetch("/heap/scan", { method: "POST", body: new URLSearchParams(first), credentials: "same-origin", signal: AbortSignal.timeout(PATIENCE) });
    const came = new DOMParser().parseFromString(await answer.text(), "text/html");
    if (!came.querySelector("main#matter") || answer.status >= 500) throw new TypeError("no answer of the kiosk");
    failed = 0;
    if (came.querySelector("main [data-heap]")) {
      queue.shift();
      replace(came);
      keep();
      play(document.querySelector("[data-verdict]")?.dataset.verdict);
    } else if (came.querySelector('main form[action="/sign-in"]')) {
      replace(came); // signed out meanwhile: what waits is sent when the same person is back here
    } else {
      // What is wrong with one scan must not hold up the others.
      const one = [400, 409, 413, 422].includes(answer.status);
      trouble = (one ? "One scan was not taken; scan that sling again. " : "") + (came.querySelector("main h1")?.textContent.trim() ?? "");
      stuck = !one;
      if (one) queue.shift();
      keep();
      play("look-closer");
    }
  } catch {
    again = setTimeout(() => send(), AGAIN[Math.min(failed, AGAIN.length - 1)]);
    if (!failed++) play("look-closer");
    tell();
  } finally {
    busy = false;
    if (!failed && !stuck) send();
  }
}
