// A queue of scans, for pages on which one may be made right after the other: each is
// taken at once, and sent from here in its order under a key of its own. Where the
// line is cut the queue waits, says how many scans wait, and goes on by itself; the
// register gives a scan that arrived the first time its first answer, so none is lost
// and none counts twice. (Other forms are never sent again by themselves: this is for
// scans that nothing can be handed out by.) What waits outlives the page, and is sent
// only while whoever scanned it is signed in.
import { replace } from "./again.js";
import { play } from "./sound.js";

const AGAIN = [500, 1000, 2000, 5000]; // milliseconds until it is tried again
const PATIENCE = 15000; // milliseconds for an answer
const WRONG = [400, 409, 413, 422]; // the answers to a scan that is wrong itself
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
  let by = who(); // whose the queue is
  let queue = kept()[by] ?? [];
  let busy = false;
  let failed = 0; // how often in a row there was no answer
  let again = 0; // the timer of the next try
  let stuck = false; // the kiosk takes none of them now
  let trouble = ""; // what it said instead of taking the first of them

  addEventListener("online", () => send());
  document.addEventListener("shown", changed);
  tell();
  send();

  // kept is what waits in the session's storage, by whoever scanned it.
  function kept() {
    return JSON.parse(sessionStorage.getItem(name) ?? "{}");
  }

  function keep() {
    const { [by]: _, ...all } = kept();
    if (queue.length) all[by] = queue;
    if (Object.keys(all).length) sessionStorage.setItem(name, JSON.stringify(all));
    else sessionStorage.removeItem(name);
    tell();
  }

  // changed goes on with the queue of whoever is signed in now.
  function changed() {
    if (who() !== by) {
      by = who();
      queue = kept()[by] ?? [];
      failed = 0;
      free();
    }
    tell();
    send();
  }

  function free() {
    trouble = "";
    stuck = false;
  }

  function push(scan) {
    queue.push({ ...scan, key: newKey() });
    free();
    keep();
    send();
  }

  // tell says how many scans the kiosk has not answered yet.
  function tell() {
    const place = here() && document.querySelector("[data-waiting]");
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
    if (busy || stuck || !queue.length) return;
    clearTimeout(again);
    busy = true;
    const sent = queue;
    try {
      const answer = await fetch(action, { method: "POST", body: new URLSearchParams(sent[0]), credentials: "same-origin", signal: AbortSignal.timeout(PATIENCE) });
      const came = new DOMParser().parseFromString(await answer.text(), "text/html");
      if (sent !== queue) return; // of who was signed in before: it is kept, and asked again under its key
      if (!came.querySelector("main#matter") || answer.status >= 500) throw new TypeError("no answer of the kiosk");
      failed = 0;
      if (answers(came)) {
        queue.shift();
        keep(); // before it is shown, which may go on with the queue of somebody else
        if (here()) show(came); // elsewhere it is done all the same
      } else if (came.querySelector('main form[action="/sign-in"]')) {
        stuck = true;
        if (here()) replace(came);
      } else {
        // What is wrong with one scan must not hold up the others, where somebody sees it.
        stuck = !here() || !WRONG.includes(answer.status);
        const said = came.querySelector("main .plate, main h1")?.textContent.trim().replace(/\s+/g, " ") ?? "The kiosk did not take it.";
        trouble = (stuck ? "" : "One scan was not taken; scan that sling again. ") + said;
        if (!stuck) queue.shift();
        keep();
        play("look-closer");
      }
      tell();
    } catch {
      if (sent !== queue) return;
      again = setTimeout(() => send(), AGAIN[Math.min(failed, AGAIN.length - 1)]);
      if (!failed++) play("look-closer");
      tell();
    } finally {
      busy = false;
      if (!failed) send();
    }
  }

  return { push, waits: () => queue.length > 0 };
}
