// The page of a heap: every scan is taken into a queue at once (queue.js). Taking in
// can only keep a sling from going out.
import { replace } from "./again.js";
import { queueOf } from "./queue.js";
import { play } from "./sound.js";

const page = (of = document) => of.querySelector("main [data-heap]");
const queue = queueOf({
  name: "heap", action: "/heap/scan",
  here: () => page() !== null,
  answers: (came) => page(came) !== null,
  show(came) {
    replace(came);
    play(document.querySelector("[data-verdict]")?.dataset.verdict);
  },
});

document.addEventListener("scan", (e) => {
  if (!page()) return;
  e.preventDefault();
  queue.push({ text: e.detail.text, way: e.detail.way ?? "scanner" });
});
document.addEventListener("submit", (e) => {
  const form = e.target;
  if (!page() || !form.matches("form[data-scan]")) return;
  e.preventDefault();
  e.stopImmediatePropagation(); // before again.js, which would send it as any form
  queue.push({ text: form.elements.text.value, way: form.elements.way.value });
  form.elements.text.value = "";
}, { capture: true });
// The page is not changed under whoever scans, and not left while something waits.
for (const what of ["renews", "loads"]) document.addEventListener(what, (e) => page() && queue.waits() && e.preventDefault());
addEventListener("beforeunload", (e) => page() && queue.waits() && e.preventDefault());
