// The counter page: sends its forms without leaving the page, so that no scan is
// lost between two pages, and puts the answer in place of what was there. What
// it shows is what the server answered; without it every form works as a form.
import { actionOf, ask, askAgain, bodyOf, lead, openTo, replace, same } from "./again.js";
import { say, thrownAway } from "./burst.js";
import { face } from "./keypad.js";
import { filling } from "./live.js";
import { play } from "./sound.js";

const page = () => document.querySelector("[data-counter]");
const waiting = []; // scans that came while one was under way
let busy = false;
let turned = 0; // how often another page was put in place of this one

if (page()) {
  document.addEventListener("scan", (e) => {
    e.preventDefault();
    if (openTo() && !openTo().endsWith("/counter/scan")) return askFirst();
    waiting.push(e.detail);
    if (openTo()) return askAgain(); // a scan that was lost, which is taken before this one
    next();
  });
  document.addEventListener("burst", (e) => {
    e.preventDefault();
    say(thrownAway(e.detail.why), e.detail.why !== "long");
    play("look-closer");
  });
  addEventListener("click", once, { capture: true });
  document.addEventListener("submit", onSubmit); // before again.js, which takes what is not taken here
  addEventListener("popstate", () => location.reload());
  document.addEventListener("renews", renews);
  dress();
}

// once lets the second of two quick presses do nothing: by then another page may
// stand where the first one was meant.
function once(e) {
  if (e.detail < 2 || !e.target.closest?.("main :is(a, button:not([type=button]))")) return;
  e.preventDefault();
  e.stopImmediatePropagation();
}

function onSubmit(e) {
  const form = e.target;
  if (!form.closest("main") || form.method !== "post") return;
  e.preventDefault();
  const sent = { action: actionOf(form, e.submitter), body: bodyOf(form, e.submitter) };
  if (!openTo()) return send(sent);
  if (same(sent)) return askAgain();
  askFirst();
}

// askFirst lets nothing new begin while nobody knows what became of the last act:
// the next one could be mistaken for it.
function askFirst() {
  say("This was not taken. Ask again first what became of the one before.");
  play("look-closer");
  lead();
}

function next() {
  const form = document.querySelector("form[data-scan]");
  if (busy || !waiting.length) return;
  if (openTo()) {
    waiting.length = 0;
    return askFirst();
  }
  if (!form) {
    waiting.length = 0;
    return say("Scans count on the counter page. This one was thrown away.");
  }
  const { text, way = "scanner" } = waiting.shift();
  const stay = form.dataset.scan === "stay";
  const body = new URLSearchParams({ key: form.elements.key.value, way, text });
  if (stay) body.set("stay", "yes");
  send({ action: form.action, body, stay });
}

// send posts a form and shows what comes back. Where no answer comes, the page
// stays as it is and offers to ask again.
async function send(sent) {
  if (busy) return;
  busy = true;
  document.body.setAttribute("aria-busy", "true");
  try {
    const got = await ask(sent, {}, send);
    if (!got) return;
    const { answer, came } = got;
    const counter = came.querySelector("main [data-counter]");
    // Who was signed out meanwhile is told so by this answer, once.
    if (answer.redirected && !counter && !came.querySelector('main form[action="/sign-in"]')) return location.assign(answer.url);
    if (sent.stay && counter) remain(came);
    else show(came, answer.redirected ? answer.url : "");
  } finally {
    busy = false;
    document.body.removeAttribute("aria-busy");
    next();
  }
}

function show(came, url, top = true) {
  turned++;
  const before = verdictSays();
  replace(came);
  if (url && url !== location.href) history.pushState(null, "", url);
  if (top) scrollTo(0, 0);
  // Where nothing new is said, whoever goes by keyboard stays where they are.
  const stay = !top && before === verdictSays() && document.activeElement.closest("main :is(a, button, summary)");
  dress(!stay);
  if (!stay) tellVerdict();
}

const verdictSays = () => ["#verdict", "#because"].map((id) => document.querySelector(id)?.textContent ?? "").join(". ");

// tellVerdict sounds the verdict, and says it where the focus does not lie on it:
// there a reader that speaks would not come by.
function tellVerdict() {
  const verdict = document.querySelector("#verdict");
  const said = verdict && document.activeElement !== verdict ? verdictSays() : "";
  document.querySelector("[data-spoken]").textContent = said;
  play(document.querySelector("[data-verdict]")?.dataset.verdict);
}

// renewable tells whether nobody is filling in anything on the page: on the counter
// itself, or among the names, where it waits between two riggers, or on the lift page
// as it was opened.
function renewable() {
  const main = document.querySelector("main");
  if (main.querySelector(".lift-form")) return !filling();
  const filled = [...main.querySelectorAll("input:not([type=hidden])")].some((e) => (["radio", "checkbox"].includes(e.type) ? e.checked : e.value));
  return !openTo() && main.querySelector(".counter, .names") && !filled && !main.querySelector("details[open], .choice:not(details *)");
}

// renews takes the page that came after the register had moved on (live.js), so that
// no verdict stands that does not hold any more.
function renews(e) {
  if (!renewable()) return e.preventDefault();
  if (busy || !e.detail.querySelector("main [data-counter]")) return; // live.js waits, or leads there
  e.preventDefault();
  show(e.detail, "", false);
}

// remain keeps a page that somebody is filling in, and says what was scanned.
function remain(came) {
  const key = came.querySelector("form[data-scan] [name=key]")?.value;
  if (key) document.querySelector("form[data-scan]").elements.key.value = key;
  const told = came.querySelector(".notice.done")?.textContent.trim();
  if (told) return say(told + " Finish the lift first.");
  const about = came.querySelector(".plate .about, .named")?.textContent.trim() ?? "";
  say((about ? about + " lies on the counter. " : "The scan lies on the counter. ") + "Finish the lift first.");
}

// dress gives the page what only a script can: the keypad, the filter of names,
// and the focus where reading goes on.
function dress(focus = true) {
  const main = document.querySelector("main");
  for (const box of main.querySelectorAll("[data-codepad]")) codepad(box);
  for (const field of main.querySelectorAll("[data-sift]")) sift(field);
  for (const field of main.querySelectorAll("[data-send]")) field.addEventListener("change", () => field.form.requestSubmit());
  main.querySelector(".lift-form")?.addEventListener("input", answered);
  if (!focus) return;
  const first = main.querySelector("[autofocus]");
  const verdict = main.querySelector("#verdict");
  const wrong = main.querySelector(".wrong:not(.big)")?.closest(".field, fieldset");
  if (wrong) {
    wrong.scrollIntoView({ block: "center" });
    wrong.querySelector("input, textarea").focus({ preventScroll: true });
  } else if (first && (first.inputMode === "none" || matchMedia("(pointer: fine)").matches)) first.focus(); // no keyboard comes up unasked
  else if (verdict) {
    verdict.tabIndex = -1;
    verdict.focus({ preventScroll: true });
  }
}

// answered takes a complaint away from what is being answered anew.
function answered(e) {
  const asked = e.target.closest(".field, fieldset");
  const wrong = asked?.querySelector(".wrong");
  for (const each of wrong ? document.querySelectorAll(`[aria-describedby="${wrong.id}"]`) : []) each.removeAttribute("aria-describedby");
  wrong?.remove();
  e.target.removeAttribute("aria-invalid");
  if (!e.currentTarget.querySelector(".wrong")) document.querySelector(".wrong.big")?.remove();
}

// codepad adds the characters of a short code as big buttons, for gloves. I, L and
// O are left out: they are read as 1, 1 and 0. A plate has all letters, and mostly
// ends in digits, so its letters are folded up.
function codepad(box) {
  const field = box.querySelector("input");
  const pads = (characters) => {
    const pad = document.createElement("div");
    pad.className = "codepad";
    pad.setAttribute("role", "group");
    pad.setAttribute("aria-label", "Keypad");
    const key = (label, name, value) => {
      const button = document.createElement("button");
      button.type = "button";
      face(button, label, name);
      button.addEventListener("click", () => {
        field.value = value();
        field.dispatchEvent(new Event("input", { bubbles: true }));
      });
      pad.append(button);
    };
    const names = { "-": "Hyphen", ".": "Point", "/": "Slash" };
    for (const c of characters) key(c, names[c] ?? c, () => field.value + c);
    key("Back", "Take back the last character", () => field.value.slice(0, -1));
    key("Clear", "Clear all characters", () => "");
    return pad;
  };
  const folded = (name, pad) => {
    const fold = document.createElement("details");
    fold.className = "fold";
    const open = document.createElement("summary");
    open.textContent = name;
    fold.append(open, pad);
    return fold;
  };
  if (box.dataset.codepad === "plate") box.append(pads("0123456789"), folded("Letters", pads("ABCDEFGHIJKLMNOPQRSTUVWXYZ-/.")));
  else box.append(folded("Keypad", pads("0123456789ABCDEFGHJKMNPQRSTUVWXYZ")));
}

// sift shows only the names that hold what is typed, or have it for their initials.
export function sift(field) {
  const names = [...document.querySelectorAll("[data-name]")];
  field.addEventListener("input", () => {
    const typed = field.value.toLowerCase();
    const words = typed.split(/\s+/), letters = typed.replace(/[\s.]/g, "");
    for (const each of names) {
      each.hidden = !words.every((w) => each.dataset.name.toLowerCase().includes(w)) && !(letters && each.dataset.initials?.startsWith(letters));
    }
  });
}
