// A queue of scans, for pages on which one may be made right after the other: each is
// taken at once, and sent from here in its order under a key of its own. Where the
// line is cut the queue waits, says how many scans are not sent yet, and goes on by
// itself; the register gives a scan that arrived the first time its first answer, so
// none is lost and none counts twice. (Other forms are never sent again by
// themselves: this is for scans that nothing can be handed out by.) What waits
// outlives the page, for who is signed in.
import { replace } from "./again.js";
import { play } from "./sound.js";

const AGAIN = [500, 1000, 2000, 5000]; // milliseconds until it is tried again
const PATIENCE = 15000; // milliseconds for an answer
const ALPHABET = "ABCDEFGHIJKLMNOPQRSTUVWXYZ234567";

const who = () => document.querySelector(".who span")?.textContent ?? "";

// newKey makes the key of a form: the day on which the page's own was made, and 26
// characters drawn here.
function newKey() {
  const day = document.querySelector("form[data-scan] [name=key]").value.slice(0, 5);
  const drawn = crypto.getRandomValues(new Uint8Array(26));
  return day + [...drawn].map((n) => ALPHABET[n % 32]).join("");
}

// queueOf gives the queue that is kept under a name in the session's storage and sent
// to an address. here tells whether the page that takes these scans stands here,
// answers whether a page that came is its answer, and show puts that on the page.
export function queueOf({ name, action, here, answers, show }) {
  let queue = [];
  let busy = false;
  let failed = 0; // how often in a row there was no answer
  let again = 0; // the timer of the next try
  let trouble = ""; // what the kiosk said instead of taking the first of them

  const kept = JSON.parse(sessionStorage.getItem(name) ?? "null");
  if (kept?.who === who()) queue = kept.queue;
  addEventListener("online", () => send());
  document.addEventListener("shown", tell);
  tell();
  send();

  function push(scan) {
    queue.push({ ...scan, key: newKey() });
    trouble = "";
    keep();
    send();
  }

  function keep() {
    if (queue.length) sessionStorage.setItem(name, JSON.stringify({ who: who(), queue }));
    else sessionStorage.removeItem(name);
    tell();
  }

  // tell says how many scans the kiosk has not answered yet.
  function tell() {
    const place = here() && document.querySelector("[data-waiting]");
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
      const answer = await fetch(action, { method: "POST", body: new URLSearchParams(queue[0]), credentials: "same-origin", signal: AbortSignal.timeout(PATIENCE) });
      const came = new DOMParser().parseFromString(await answer.text(), "text/html");
      if (!came.querySelector("main#matter") || answer.status >= 500) throw new TypeError("no answer of the kiosk");
      failed = 0;
      if (answers(came)) {
        queue.shift();
        if (here()) show(came); // elsewhere it is done all the same
      } else if (came.querySelector('main form[action="/sign-in"]')) {
        trouble = "Sign in again; they are sent when the same person is back here.";
        if (here()) replace(came);
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

  return { push };
}
