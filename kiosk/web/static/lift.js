// The lift page: while it is filled in (typed.js), the kiosk says how it will hang and
// what would do. It works everything out; what it answers takes the place of the parts
// with the same id. Without this module a button does it.
import { filling, holds } from "./live.js";
import { asking } from "./typed.js";

const parts = ["lift-estimate", "lift-seen"];
const form = () => document.querySelector("form[data-lift]");
const ask = asking({
  form,
  to: (asks) => asks.dataset.lift,
  place: "lift-seen",
  stands: (stand) => filling() && holds(stand),
  shows,
});

function typed(e) {
  const asks = form();
  if (asks && e.target.form === asks) ask.soon();
}

function shows(came, seen) {
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
document.addEventListener("shown", () => begun() && ask.now());
document.addEventListener("moved", (e) => {
  if (!form()) return;
  if (filling()) e.preventDefault(); // what follows from what is typed is another answer, and not another page
  if (document.querySelector("#lift-seen [data-head]")) ask.now();
});
if (begun()) ask.now();
