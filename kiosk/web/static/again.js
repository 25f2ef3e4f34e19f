// Sends the forms that change something, so that a lost connection is no blank
// page: the page stays, says that nobody knows whether it was recorded, and offers
// to ask again. That sends the very same once more, under the key that the form
// carries, and the register gives its first answer; nothing is done twice. Nothing
// is sent again by itself: it may be long ago, and nobody may be looking.
//
// Where an answer leads to another page, that page is loaded; any other answer is
// put in the place of this one. The counter shows its answers itself (counter.js).
import { say } from "./burst.js";
import { play } from "./sound.js";

const SLOW = 1500; // milliseconds after which the page says that it waits
const PATIENCE = 30000; // milliseconds for an answer; the register waits up to 5 s for another program
const PATIENCE_PICTURE = 70000; // and for one to a form with a picture
const BY_SCRIPT = "Form-By-Script", LEADS_TO = "Form-Leads-To";

let open = null; // what was sent and not answered
let busy = false;

// openTo is where that was sent to, empty for nothing.
export const openTo = () => open?.action ?? "";

// ask posts a body and gives the answer and its page. Where none comes, or one
// that is not the kiosk's, the page says so, and the promise gives null; done is
// what is done with the answer to asking again.
export async function ask(sent, headers, done) {
  const slow = setTimeout(() => say("The kiosk is at it and takes longer than usual. Wait: pressing again does nothing more."), SLOW);
  const patience = AbortSignal.timeout(sent.body instanceof FormData ? PATIENCE_PICTURE : PATIENCE);
  try {
    const answer = await fetch(sent.action, { method: "POST", body: sent.body, headers, credentials: "same-origin", signal: patience });
    const came = new DOMParser().parseFromString(await answer.text(), "text/html");
    if (answer.status !== 204 && !came.querySelector("main#matter")) throw new TypeError("not the kiosk’s answer");
    open = null;
    document.querySelector(".lost")?.remove();
    return { answer, came };
  } catch {
    open = { ...sent, done };
    tell();
    play("look-closer");
    return null;
  } finally {
    clearTimeout(slow);
  }
}

function tell() {
  document.querySelector("[data-heard]")?.remove();
  if (document.querySelector(".lost")) return lead();
  const box = document.createElement("section");
  box.className = "lost";
  box.setAttribute("role", "alert");
  const what = document.createElement("p");
  what.textContent = "The connection was lost. It is not known whether this was recorded.";
  const next = document.createElement("p");
  next.textContent = "Ask again to learn it: what was done the first time is not done twice.";
  const button = document.createElement("button");
  button.type = "button";
  button.className = "button first";
  button.textContent = "Ask again";
  button.addEventListener("click", askAgain);
  box.append(what, next, button);
  document.querySelector("main").prepend(box);
  lead();
}

// lead shows where it goes on: with what is open, before anything else.
export function lead() {
  const button = document.querySelector(".lost button");
  button.scrollIntoView({ block: "center" });
  button.focus({ preventScroll: true });
}

// askAgain sends what is open once more.
export function askAgain() {
  if (open) open.done(open);
}

// same tells whether this is the form that is open.
export const same = ({ action, body }) => open !== null && open.action === action && open.body.get("key") === body.get("key");

async function send(sent) {
  if (busy) return;
  busy = true;
  document.body.setAttribute("aria-busy", "true");
  try {
    const got = await ask(sent, { [BY_SCRIPT]: "1" }, send);
    if (!got) return;
    const to = got.answer.headers.get(LEADS_TO);
    if (to) return location.assign(to);
    replace(got.came);
    scrollTo(0, 0);
    const wrong = document.querySelector("main .wrong")?.closest(".field, fieldset")?.querySelector("input, textarea");
    (wrong ?? document.querySelector("main")).focus();
  } finally {
    busy = false;
    document.body.removeAttribute("aria-busy");
  }
}

// handle is by what the focus finds its way back to what stands where it stood.
function handle(e) {
  if (!e || e === document.body) return null;
  if (e.id) return (other) => other.id === e.id;
  const text = e.textContent.trim();
  return (other) => other.tagName === e.tagName && other.name === e.name && other.getAttribute("href") === e.getAttribute("href") && other.textContent.trim() === text;
}

// refocus keeps the focus of whoever goes by keyboard: on what it was on, where that
// is there again, and else at the beginning of the matter, never at that of the page.
function refocus(held) {
  if (!held || document.activeElement !== document.body) return;
  const again = [...document.querySelectorAll("main [id], .top a, .foot a, main :is(a, button, input, select, textarea, summary), .foot button")].find(held);
  (again ?? document.querySelector("main")).focus({ preventScroll: true });
}

// replace puts the matter of a page that came in the place of this one's.
export function replace(came) {
  const held = handle(document.activeElement);
  document.querySelector("main").replaceWith(document.adoptNode(came.querySelector("main")));
  document.querySelector(".top")?.replaceWith(document.adoptNode(came.querySelector(".top")));
  document.title = came.title;
  document.querySelector(".foot")?.replaceWith(document.adoptNode(came.querySelector(".foot")));
  delete document.body.dataset.answer;
  Object.assign(document.body.dataset, came.body.dataset); // what it was made from: live.js
  refocus(held);
  document.dispatchEvent(new Event("shown"));
}

export const bodyOf = (form, submitter) => {
  const data = new FormData(form, submitter);
  return form.enctype === "multipart/form-data" ? data : new URLSearchParams(data);
};

// actionOf is where a form is sent to by that button.
export const actionOf = (form, submitter) => (submitter?.hasAttribute("formaction") ? submitter.formAction : form.action);

addEventListener("submit", (e) => {
  const form = e.target;
  if (e.defaultPrevented || form.method !== "post" || !form.elements.key || !form.closest("main")) return;
  e.preventDefault();
  const sent = { action: actionOf(form, e.submitter), body: bodyOf(form, e.submitter) };
  if (!open) return send(sent);
  if (same(sent)) return askAgain();
  lead();
});
