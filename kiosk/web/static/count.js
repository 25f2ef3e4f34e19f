// The page of a count: every scan is taken into a queue at once, with the place where
// it was made (queue.js), and does nothing but count. What others count is shown as it
// comes, and leaves the camera and the newest card alone.
import { replace } from "./again.js";
import { holds } from "./live.js";
import { queueOf } from "./queue.js";
import { play } from "./sound.js";

const BEFORE = 6; // cards that are left below the newest

const page = (of = document) => of.querySelector("main [data-count]");
const queue = queueOf({
  name: "count", action: "/count/scan", show,
  here: () => document.querySelector("main .counting") !== null,
  answers: (came) => came.querySelector("main .counting") !== null,
});

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

function push(text, way) {
  const { count, at = "", chosen } = page().dataset;
  queue.push({ count, place: at, ...(chosen === undefined ? {} : { chosen: "yes" }), way, text });
}

// same tells whether a page that came is of the count and place that this one shows.
function same(came) {
  const [here, there] = [page(), page(came)];
  return here && there && ["count", "at", "chosen"].every((k) => here.dataset[k] === there.dataset[k]);
}

// show puts what came of a scan in front, and the numbers as they are now.
function show(came) {
  const box = document.querySelector("[data-count-card]");
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
    const part = document.createElement("section");
    const name = document.createElement("h2");
    name.textContent = "Scanned before";
    list = document.createElement("ol");
    list.className = "taken before";
    part.append(name, list);
    document.querySelector(".counting .reading").after(part);
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

// renews takes the numbers that others have counted (live.js).
function renews(e) {
  if (!page() || !same(e.detail)) return;
  e.preventDefault();
  document.body.dataset.says = e.detail.body.dataset.says;
  patch(e.detail);
}
