// Follows the register, so that no page is silently old. What the page was made from
// stands on its body (web/live.go) and is held against what the line tells. Where the
// two are not the same, the page asks the kiosk for itself: if it would say the same,
// nothing happens; if not, it is put in place of what stands here, unless somebody is
// filling something in, who is told. A page that is behind for longer than LATE says
// so, whatever the reason.
//
// A page's own script takes the "renews" event on the document, whose detail is the
// page that came: by preventing its default it says that it deals with it, or that it
// cannot now; where it has made the page say the same itself, it sets the body's
// data-says as that page has it. It may take "moved" in the same way, before anything
// is asked for; it then says with holds() what the page shows. By preventing "loads" it
// keeps the page from being loaded anew just now. "shown" says that another page was
// put in place of this one.
import { openTo, replace } from "./again.js";
import { ask, clock, follow, line } from "./line.js";

const LATE = 1000; // milliseconds that a page may be behind in silence (site policy, no source)
const GAP = 1000; // milliseconds between two times that it asks for itself, at the least
const PATIENCE = 10000; // milliseconds for its answer
const GRACE = 400; // milliseconds in which a press was meant for what stood there before (common practice, no source)
const MINUTE = 60000;
const LOADS = 30000; // milliseconds between two times that it loads itself, at the least
const LOADED = "loaded-by-itself"; // what the page says after that, in the session's storage

const made = () => document.body.dataset;
const knows = () => Boolean(made().register); // an answer that was made without the register follows nothing

let shownAt = clock();
let unsure = false; // the page was out of sight, and nothing has been heard since
let backAt = 0; // when it came back
let returned = false; // it came back, and has not asked for itself since
let leaving = -Infinity; // when it began to give way to another address
let renewedAt = -Infinity; // when it was put in place of what it said before
let behind = 0; // since when it is known that the page is behind; 0: it is not
let pending = null; // the page that came and could not be put in place, and by what it was asked for
let asked = -Infinity; // when the page last asked for itself
let asking = false;
let minute = 0, due = 0, late = 0, ticking = 0; // timers

// old tells in which way the page is not what it would be now; empty: it is.
export function old() {
  const now = line.stand, page = made();
  if (!now || !knows()) return "";
  if (now.register !== page.register) return "restored";
  if (now.at < Number(page.at) && line.since >= shownAt) return "restored"; // the register has lost what is shown here
  if (now.program !== page.program) return "program";
  if (now.day !== page.day) return "day";
  if (now.run !== page.run || now.house !== page.house) return "moved";
  if (returned && !("answer" in page)) return "moved";
  if (page.follows !== "house" && now.at > Number(page.at)) return "moved";
  return page.follows === "clock" && !("answer" in page) && clock() - shownAt > MINUTE ? "moved" : "";
}

const sentences = {
  unsure: "This page was out of sight. It is being held against the register.",
  restored: "The register is not the one that this page was made from: it was brought back from a copy. What stands here may not be in it.",
  program: "The kiosk runs another version of the program since this page was made.",
  day: "It is another day since this page was made. What is due may be different.",
  moved: "Something has changed in the register since this page was made.",
};
const since = {
  program: "The kiosk runs another version of the program, and this page was loaded again.",
  day: "It is another day, and this page was loaded again.",
};
const KEPT = " What is filled in here stays, and is held against the register when it is sent.";

// judge is called whenever anything may have changed.
function judge() {
  const how = old();
  if (!line.down && !document.hidden && line.heard > backAt) unsure = false;
  if (how !== "moved") {
    pending = null;
    clearTimeout(due);
    due = 0;
  }
  if (how && !behind) behind = clock();
  if (!how) behind = 0;
  if (!line.down && !document.hidden) {
    if (how === "moved") move();
    else if (since[how] && !filling()) load(how);
  }
  tell();
}

function tell() {
  const how = old();
  clearTimeout(late);
  if (clock() - leaving < LATE) return void (late = setTimeout(tell, LATE)); // the line ends with the page
  if (line.down) return say("down", downs(), "Try now");
  if (unsure) return say("unsure", sentences.unsure, "");
  if (!how) return say("", "", "");
  const left = how === "moved" ? behind + LATE - clock() : 0;
  if (left > 0 && !pending) late = setTimeout(tell, left);
  else say(how, sentences[how] + (filling() ? KEPT : ""), "Load the page again");
}

function downs() {
  const at = new Date(line.down).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit" });
  return "The line to the register is down since " + at + ". What stands here may be old.";
}

// say puts a sentence at the top of the page, with what can be done.
function say(how, sentence, does) {
  const bar = document.querySelector(".stale");
  if (!bar) return;
  clearInterval(ticking);
  if (how === "down") ticking = setInterval(howLong, 1000);
  if (bar.dataset.says !== sentence) {
    bar.dataset.says = sentence;
    bar.dataset.how = how;
    bar.textContent = sentence;
    bar.hidden = sentence === "";
    const long = document.createElement("span");
    long.setAttribute("aria-hidden", "true"); // it would be read out each second
    if (how === "down") bar.append(" ", long);
    if (does) bar.append(" ", how === "down" ? tryNow(does) : again(does));
  }
  howLong();
}

function howLong() {
  const long = document.querySelector(".stale span");
  const seconds = Math.max(0, Math.round((Date.now() - line.down) / 1000));
  if (long && line.down) long.textContent = seconds < 60 ? `For ${seconds} s.` : `For ${Math.floor(seconds / 60)} min ${seconds % 60} s.`;
}

function tryNow(label) {
  const button = document.createElement("button");
  button.type = "button";
  button.textContent = label;
  button.addEventListener("click", ask);
  return button;
}

function again(label) {
  const link = document.createElement("a");
  link.href = location.pathname + location.search; // with what is behind a # it would lead nowhere
  link.textContent = label;
  return link;
}

// filling tells whether somebody is filling something in, or waits for an answer.
export function filling() {
  if (openTo() || document.body.hasAttribute("aria-busy") || document.querySelector("main details.act[open]")) return true;
  return [...document.querySelectorAll("main :is(input, textarea, select)")].some((e) => {
    if (e.type === "hidden") return false;
    if (e.type === "file") return e.files.length > 0;
    if (["radio", "checkbox"].includes(e.type)) return e.checked !== e.defaultChecked;
    if (e.options) return [...e.options].some((o) => o.selected !== o.defaultSelected);
    return e.value !== e.defaultValue;
  });
}

// move makes the page follow, now or as soon as it may ask again.
function move() {
  const at = JSON.stringify(line.stand);
  if (pending?.at === at) return put(pending);
  pending = null;
  if (asking || due) return;
  const left = asked + GAP - clock();
  if (left > 0) {
    due = setTimeout(() => {
      due = 0;
      judge();
    }, left);
    return;
  }
  if (!document.dispatchEvent(new Event("moved", { cancelable: true }))) return;
  if ("answer" in made()) pending = { at };
  else renew(at);
}

async function renew(at) {
  asking = true;
  asked = clock();
  const mine = shownAt;
  try {
    const answer = await fetch(location.href, { headers: { "Page-Says": made().says }, credentials: "same-origin", signal: AbortSignal.timeout(PATIENCE) });
    const came = answer.status === 204 ? null : new DOMParser().parseFromString(await answer.text(), "text/html");
    if (mine !== shownAt) return; // another page stands here by now
    if (!came) holds(JSON.parse(answer.headers.get("Page-Stands")));
    else if (answer.status >= 500 || !came.body.dataset.register) return; // it is asked for again
    else if (came.body.dataset.says === made().says) holds(came.body.dataset);
    else put({ at, came, elsewhere: answer.redirected || !answer.ok });
  } catch {
    // The line is down, and the page says so.
  } finally {
    asking = false;
    judge();
  }
}

// holds says how things stand by what the page shows.
export function holds(stand) {
  const { at, register, program, day, house, run } = stand;
  Object.assign(made(), { at, register, program, day, house, run });
  shownAt = clock();
  returned = false;
}

// put shows a page that came in place of this one, now or when it can.
function put(it) {
  pending = it;
  if (!it.came) return;
  if (!document.dispatchEvent(new CustomEvent("renews", { cancelable: true, detail: it.came }))) {
    if (made().says !== it.came.body.dataset.says) return;
    pending = null; // the page's script has made the page say it
    return holds(it.came.body.dataset);
  }
  if (filling()) return;
  if (it.elsewhere) return load("");
  pending = null;
  const came = it.came;
  const notice = document.querySelector("main > .notice.done");
  const folds = [...document.querySelectorAll("main details")].map((e) => e.open);
  const here = document.activeElement?.closest("main, .top") ? document.activeElement : null;
  const like = here && ((e) => e.tagName === here.tagName && e.id === here.id && e.getAttribute("href") === here.getAttribute("href") && e.textContent === here.textContent);
  renewedAt = clock();
  fresh();
  replace(came);
  const main = document.querySelector("main");
  if (notice) main.querySelector(".stale").after(notice);
  const news = [...main.querySelectorAll("details")];
  if (news.length === folds.length) news.forEach((e, i) => (e.open = folds[i]));
  if (like) [...document.querySelectorAll(here.tagName)].find(like)?.focus({ preventScroll: true });
}

// load loads the page anew, which then says why.
function load(how) {
  const [before] = (sessionStorage.getItem(LOADED) ?? "0").split(" ");
  if (Date.now() - Number(before) < LOADS) return; // not in a circle: the page says what is the matter
  if (!document.dispatchEvent(new Event("loads", { cancelable: true }))) return;
  sessionStorage.setItem(LOADED, Date.now() + " " + how);
  location.reload();
}

// loaded says why the page was loaded, once.
function loaded() {
  const [at, how] = (sessionStorage.getItem(LOADED) ?? "").split(" ");
  if (!since[how]) return;
  sessionStorage.setItem(LOADED, at);
  if (performance.getEntriesByType("navigation")[0]?.type !== "reload") return; // somebody was quicker
  const notice = document.createElement("p");
  notice.className = "notice";
  notice.setAttribute("role", "status");
  notice.textContent = since[how];
  document.querySelector(".stale")?.after(notice);
}

// shown is called for each page that stands here.
function shown() {
  shownAt = clock();
  pending = null;
  returned = false;
  behind = 0;
  clearInterval(minute);
  if (made().follows === "clock") minute = setInterval(judge, MINUTE + 1);
  if (line.stand) ask();
  judge();
}

// fresh marks a page that takes no press yet.
function fresh() {
  document.documentElement.toggleAttribute("data-fresh", true);
  setTimeout(() => clock() - renewedAt >= GRACE && document.documentElement.toggleAttribute("data-fresh", false), GRACE + 1);
}

// press takes no press that comes down just when another page is put under it.
function press(e) {
  if (clock() - renewedAt > GRACE || !e.target.closest?.("main") || !e.isTrusted) return;
  e.preventDefault();
  e.stopImmediatePropagation();
}

// A page that is out of sight says so when it comes back, before anything else is
// drawn, until it has been held against the register.
function away() {
  unsure = true;
  tell();
}

function back() {
  if (document.hidden) return;
  backAt = clock();
  returned = true;
  ask();
  judge();
}

if (knows() && window.WebSocket) {
  document.body.toggleAttribute("data-followed", true);
  loaded();
  document.addEventListener("shown", shown);
  document.addEventListener("visibilitychange", () => (document.hidden ? away() : back()));
  document.addEventListener("freeze", away);
  document.addEventListener("resume", back);
  addEventListener("pagehide", (e) => e.persisted && away());
  addEventListener("pageshow", (e) => e.persisted && back());
  addEventListener("online", ask);
  addEventListener("offline", ask); // the kiosk may be on this very machine
  addEventListener("beforeunload", () => (leaving = clock()));
  addEventListener("click", press, { capture: true });
  follow(judge);
  shown();
}
