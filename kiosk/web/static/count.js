// The page of a count: every scan is taken at once into a queue and sent from there,
// in its order, each under a key of its own and with the place where it was made.
// Where the line is cut the queue waits, says how many scans are not sent yet, and
// goes on by itself; the register gives a scan that arrived the first time its first
// answer, so none is lost and none counts twice. (Other forms are never sent again by
// themselves. A scan that only counts changes nothing else.) What waits outlives the
// page, for who is signed in.
import { replace } from "./again.js";
import { holds } from "./live.js";
import { play } from "./sound.js";

const KEPT = "count"; // what waits, in the session's storage
const AGAIN = [500, 1000, 2000, 5000]; // milliseconds until it is tried again
const PATIENCE = 15000; // milliseconds for an answer
const BEFORE = 6; // cards that are left below the newest
const ALPHABET = "ABCDEFGHIJKLMNOPQRSTUVWXYZ234567";

const page = (of = document) => of.querySelector("main [data-count]");
const who = () => document.querySelector(".who span")?.textContent ?? "";

let queue = [];
let busy = false;
let failed = 0; // how often in a row there was no answer
let again = 0; // the timer of the next try
let trouble = ""; // what the kiosk said instead of taking the first of them

const kept = JSON.parse(sessionStorage.getItem(KEPT) ?? "null");
if (kept?.who === who()) queue = kept.queue;

document.addEventListener("scan", (e) => {
  if (!page()) return;
  e.preventDefault();
  push(e.detail.text, e.detail.way ?? "scanner");
});
document.addEventListener("submit", (e) => {
  const form = e.target;
  if (!page() || !form.matches("form[data-scan]")) return;
  e.preventDefault();
  e.stopImmediatePropagation(); // before again.js, which would send it as any form
  push(form.elements.text.value, form.elements.way.value);
  form.elements.text.value = "";
}, { capture: true });
document.addEventListener("renews", renews);
document.addEventListener("shown", dress);
addEventListener("online", () => send());
dress();
send();

function push(text, way) {
  const { count, at = "", chosen } = page().dataset;
  queue.push({ key: newKey(), count, place: at, ...(chosen === undefined ? {} : { chosen: "yes" }), way, text });
  trouble = "";
  keep();
  send();
}

// newKey makes the key of a form: the day on which the page's own was made, and 26
// characters drawn here.
function newKey() {
  const day = page().querySelector("form[data-scan] [name=key]").value.slice(0, 5);
  const drawn = crypto.getRandomValues(new Uint8Array(26));
  return day + [...drawn].map((n) => ALPHABET[n % 32]).join("");
}

function keep() {
  if (queue.length) sessionStorage.setItem(KEPT, JSON.stringify({ who: who(), queue }));
  else sessionStorage.removeItem(KEPT);
  tell();
}

// tell says how many scans the kiosk has not answered yet.
function tell() {
  const place = document.querySelector(".counting [data-waiting]");
  if (!place) return;
  const n = queue.length;
  place.hidden = n === 0 || (n < 3 && !failed && !trouble); // an answer takes a moment, and is no news
  if (place.hidden) return;
  const many = n === 1 ? "1 scan is not sent yet" : n + " scans are not sent yet";
  const said = trouble ? `${many}. ${trouble}` : failed ? `${many}: the line is down. Go on scanning; they are sent as soon as it is back.` : `${many}.`;
  if (place.textContent !== said) place.textContent = said;
  place.classList.toggle("down", failed > 0 || trouble !== "");
}

async function send() {
  if (busy || !queue.length) return;
  clearTimeout(again);
  busy = true;
  try {
    const answer = await fetch("/count/scan", { method: "POST", body: new URLSearchParams(queue[0]), credentials: "same-origin", signal: AbortSignal.timeout(PATIENCE) });
    const came = new DOMParser().parseFromString(await answer.text(), "text/html");
    if (!came.querySelector("main#matter") || answer.status >= 500) throw new TypeError("no answer of the kiosk");
    failed = 0;
    if (came.querySelector("main .counting")) {
      queue.shift();
      show(came);
    } else if (came.querySelector('main form[action="/sign-in"]')) {
      trouble = "Sign in again; they are sent when the same person is back here.";
      if (page()) replace(came);
    } else {
      trouble = came.querySelector("main .plate, main h1")?.textContent.trim().replace(/\s+/g, " ") ?? "The kiosk did not take it.";
      play("look-closer");
    }
    keep();
  } catch {
    again = setTimeout(() => send(), AGAIN[Math.min(failed, AGAIN.length - 1)]);
    if (!failed++) play("look-closer");
    tell();
  } finally {
    busy = false;
    if (!failed && !trouble) send();
  }
}

// same tells whether a page that came is of the count and place that this one shows.
function same(came) {
  const [here, there] = [page(), page(came)];
  return here && there && ["count", "at", "chosen"].every((k) => here.dataset[k] === there.dataset[k]);
}

// show puts what came of a scan in front, and the numbers as they are now.
function show(came) {
  const box = document.querySelector("[data-count-card]");
  if (!box) return; // somebody has gone to another page, and the scan counts all the same
  if (same(came)) {
    before(box);
    box.replaceChildren(...came.querySelector("[data-count-card]").childNodes);
    patch(came);
  } else {
    const at = page(came)?.dataset.at;
    replace(came);
    delete document.body.dataset.answer; // its address gives the same
    history.replaceState(null, "", at === undefined ? "/count" : "/count?at=" + encodeURIComponent(at));
    scrollTo(0, 0);
  }
  play(document.querySelector("[data-count-card] [data-verdict]")?.dataset.verdict);
}

// before leaves what the newest card says in the list below it.
function before(box) {
  const card = box.querySelector(".scan-card");
  if (!card) return;
  const said = [...card.querySelectorAll(".words, .title")].map((e) => e.textContent).join(" ");
  let list = document.querySelector(".counting .before");
  if (!list) {
    list = document.createElement("ol");
    list.className = "taken before";
    list.setAttribute("aria-label", "Scanned before");
    document.querySelector("[data-count-lists]").after(list);
  }
  if (list.firstElementChild?.textContent.trim() === said) return; // the same scan again
  const item = document.createElement("li");
  const small = document.createElement("div");
  small.className = card.className.replace("scan-card", "");
  small.append(...[...card.querySelectorAll(".words, .title")].flatMap((e) => [e.cloneNode(true), " "]));
  item.append(small);
  list.prepend(item);
  while (list.children.length > BEFORE) list.lastElementChild.remove();
}

// patch puts the numbers and lists of a page that came in the place of those here.
function patch(came) {
  for (const part of ["[data-count-now]", "[data-count-lists]"]) {
    document.querySelector(part).replaceWith(document.adoptNode(came.querySelector(part)));
  }
  holds(came.body.dataset);
}

// renews takes the numbers that others have counted (live.js), and leaves the camera
// and what stands on the card alone.
function renews(e) {
  if (!page() || !same(e.detail)) return;
  e.preventDefault();
  document.body.dataset.says = e.detail.body.dataset.says;
  patch(e.detail);
}

function dress() {
  tell();
}
