// The rack: what is typed is looked for while it is typed (typed.js). Each answer takes
// the place of what hangs there, and the address stays as it is. Without this module a
// button does it. What is shown for a text that was typed follows the register too
// (live.js).
import { holds } from "./live.js";
import { asking } from "./typed.js";

const form = () => document.querySelector("form[data-search]");
const typed = () => form()?.elements.find.value.trim() ?? "";
const ask = asking({
  form,
  to: (asks) => asks.dataset.search,
  place: "found",
  stands: holds,
  shows,
});

function type(e) {
  if (e.target.closest?.("form[data-search]") && e.target.name === "find") ask.soon();
}

function shows(came, found) {
  const list = came ? [...document.adoptNode(came.getElementById("found")).childNodes] : [];
  found.replaceChildren(...list);
  document.querySelector(".count").textContent = came ? came.querySelector(".count").textContent : "No answer came. Press Find.";
}

document.addEventListener("input", type);
document.addEventListener("moved", (e) => {
  if (!form() || typed() === form().elements.find.defaultValue) return;
  e.preventDefault();
  ask.now();
});
