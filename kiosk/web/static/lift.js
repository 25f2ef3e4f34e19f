// The lift page: while it is filled in, the kiosk says how it will hang and what would
// do. It works everything out; what it answers takes the place of the parts with the
// same id. An answer to what was typed before is dropped. Without this module a button
// does it.
import { filling, holds } from "./live.js";

const PAUSE = 60; // milliseconds without a key before anything is sent
const PATIENCE = 5000; // milliseconds for an answer

const parts = ["lift-estimate", "lift-seen"];
const form = () => document.querySelector("form[data-lift]");

let due = 0;
let underway = null; // the question that is open

function typed(e) {
  const asks = form();
  if (!asks || e.target.form !== asks) return;
  clearTimeout(due);
  due = setTimeout(ask, PAUSE);
}

async function ask() {
  const asks = form();
  underway?.abort();
  if (!asks) return;
  const mine = (underway = new AbortController());
  const late = setTimeout(() => mine.abort(new DOMException("", "TimeoutError")), PATIENCE);
  const seen = document.getElementById("lift-seen");
  seen.setAttribute("aria-busy", "true");
  let came = null;
  try {
    const answer = await fetch(asks.dataset.lift, { method: "POST", body: new URLSearchParams(new FormData(asks)), credentials: "same-origin", signal: mine.signal });
    if (!answer.ok || answer.redirected) throw new TypeError("no answer to a lift");
    came = new DOMParser().parseFromString(await answer.text(), "text/html");
    if (mine !== underway) return;
    if (filling()) holds(JSON.parse(answer.headers.get("Page-Stands")));
  } catch {
    if (mine !== underway || asks !== form()) return; // something newer is on its way
  } finally {
    clearTimeout(late);
  }
  if (mine !== underway || asks !== form()) return; // another page stands here by now
  seen.removeAttribute("aria-busy");
  if (!came) {
    const none = document.createElement("p");
    none.className = "empty";
    none.textContent = "No answer came. What stood here may be of another lift, and was taken away. Press “Show what would do”.";
    return seen.replaceChildren(none);
  }
  for (const id of parts) {
    const here = document.getElementById(id), there = came.getElementById(id);
    if (here && there && here.innerHTML !== there.innerHTML) here.replaceChildren(...document.adoptNode(there).childNodes);
  }
  const said = document.querySelector("[data-seen-said]"), head = document.querySelector("#lift-seen [data-head]");
  if (said && said.textContent !== head?.textContent) said.textContent = head?.textContent ?? "";
}

document.addEventListener("input", typed);
document.addEventListener("change", typed);
const begun = () => form()?.elements.load.value && !document.querySelector("#lift-seen [data-head]");
document.addEventListener("shown", () => begun() && ask());
document.addEventListener("moved", (e) => {
  if (!form()) return;
  if (filling()) e.preventDefault(); // what follows from what is typed is another answer, and not another page
  if (document.querySelector("#lift-seen [data-head]")) ask();
});
if (begun()) ask();
