// The rack: what is typed is looked for while it is typed. Each answer takes the place
// of what hangs there, one that comes late is dropped, and the address stays as it is.
// Without this module a button does it. What is shown for a text that was typed
// follows the register too (live.js).
import { holds } from "./live.js";

const PAUSE = 60; // milliseconds without a key before anything is sent
const PATIENCE = 5000; // milliseconds for an answer

let due = 0;
let underway = null; // the question that is open

const form = () => document.querySelector("form[data-search]");
const typed = () => form()?.elements.find.value.trim() ?? "";

function type(e) {
  if (!e.target.closest?.("form[data-search]") || e.target.name !== "find") return;
  clearTimeout(due);
  due = setTimeout(ask, PAUSE);
}

async function ask() {
  const asks = form();
  underway?.abort();
  if (!asks) return;
  const mine = (underway = new AbortController());
  const late = setTimeout(() => mine.abort(new DOMException("", "TimeoutError")), PATIENCE);
  const found = document.getElementById("found");
  found.setAttribute("aria-busy", "true");
  let came;
  try {
    const answer = await fetch(asks.dataset.search, { method: "POST", body: new URLSearchParams(new FormData(asks)), credentials: "same-origin", signal: mine.signal });
    if (!answer.ok || answer.redirected) throw new TypeError("not what hangs there");
    came = new DOMParser().parseFromString(await answer.text(), "text/html");
    if (mine !== underway) return;
    holds(JSON.parse(answer.headers.get("Page-Stands")));
  } catch {
    if (mine !== underway || asks !== form()) return; // something newer is on its way
    came = new DOMParser().parseFromString('<p class="count">No answer came. Press Find.</p><div id="found"></div>', "text/html");
  } finally {
    clearTimeout(late);
  }
  if (asks !== form()) return; // another page stands here by now
  found.removeAttribute("aria-busy");
  found.replaceChildren(...document.adoptNode(came.getElementById("found")).childNodes);
  document.querySelector(".count").textContent = came.querySelector(".count").textContent;
}

document.addEventListener("input", type);
document.addEventListener("moved", (e) => {
  if (!form() || typed() === form().elements.find.defaultValue) return;
  e.preventDefault();
  ask();
});
