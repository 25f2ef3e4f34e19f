// The questions about a sling that came back. Without this module they are a form like
// any other. With it: answers that were not sent yet outlive a reload; a tap leads to
// the next question; and the last good one by hand sends the form, so that a sling on
// which all is well takes one tap a question. By keyboard nothing is sent unasked.
const KEPT = "looks"; // in the session's storage: answers by what they are about
const MOST = 20; // kept at most (site policy, no source)
// Nobody looks at a hook in this time: a tap on another question is the second of two
// quick ones, which by now meets what has moved there (site policy, no source).
const GLANCE = 400; // milliseconds

let last = { form: null, name: "", at: -Infinity };

const boxes = (root) => [...root.querySelectorAll('.look input[type="radio"]')];
const names = (root) => [...new Set(boxes(root).map((box) => box.name))];

function read() {
  try {
    return JSON.parse(sessionStorage.getItem(KEPT)) ?? [];
  } catch {
    return []; // nothing is kept here, or something that is not ours
  }
}

function keep(root) {
  const fields = [...root.querySelectorAll("input:is([type=radio], [type=checkbox]):checked")].map((box) => [box.name, box.value]);
  const note = root.querySelector('input[name="note"]')?.value ?? "";
  const others = read().filter((each) => each.of !== root.dataset.looks);
  try {
    sessionStorage.setItem(KEPT, JSON.stringify([{ of: root.dataset.looks, fields, note }, ...others].slice(0, MOST)));
  } catch {
    // no room: they are lost with the page, as without this module
  }
}

function restore(root) {
  const kept = read().find((each) => each.of === root.dataset.looks);
  if (!kept || root.querySelector("input:checked")) return;
  for (const box of root.querySelectorAll("input:is([type=radio], [type=checkbox])")) {
    box.checked = kept.fields.some(([name, value]) => name === box.name && value === box.value);
  }
  const note = root.querySelector('input[name="note"]');
  if (note && kept.note) {
    note.value = kept.note;
    note.closest("details").open = true;
  }
}

// left are the questions that are not answered; those of somebody who is not there are
// not asked now.
function left(root) {
  const later = root.querySelector('[name="later"]:checked');
  return names(root).filter((name) => {
    const group = boxes(root).filter((box) => box.name === name);
    return !group.some((box) => box.checked) && !(later && group[0].closest(".of-rigger"));
  });
}

const allWell = (root) => !root.querySelector('.look input:checked:not([value="ok"])') && !root.querySelector("details.more[open]");

function answered(e) {
  const root = e.target.closest("[data-looks]");
  if (!root) return;
  keep(root);
  const card = e.target.closest(".look");
  card?.querySelector(".wrong")?.remove();
  card?.removeAttribute("aria-describedby");
  if (e.target.name !== "later" && e.target.type !== "radio") return;
  const byHand = performance.now() - last.at < GLANCE && last.name === e.target.name;
  if (!byHand) return;
  const open = left(root);
  if (open.length) return boxes(root).find((box) => box.name === open[0]).closest(".look").scrollIntoView({ block: "nearest" });
  if (allWell(root)) root.closest("form").requestSubmit(root.closest("form").querySelector("button"));
}

// tapped remembers that an answer was given by hand, and throws away the second of two
// quick taps.
function tapped(e) {
  const box = e.target.closest("[data-looks] label")?.querySelector("input:is([type=radio], [name=later])");
  if (!box || e.target === box && e.detail === 0) return; // by keyboard, or passed on by its label
  const now = performance.now();
  if (last.form === box.form && last.name !== box.name && now - last.at < GLANCE) {
    e.preventDefault();
    e.stopImmediatePropagation();
    return;
  }
  last = { form: box.form, name: box.name, at: now };
}

function dress() {
  document.querySelectorAll("[data-looks]").forEach(restore);
  for (const each of document.querySelectorAll(".by-hand")) each.hidden = false;
}

addEventListener("click", tapped, { capture: true });
document.addEventListener("change", answered);
document.addEventListener("input", (e) => e.target.name === "note" && e.target.closest("[data-looks]") && keep(e.target.closest("[data-looks]")));
document.addEventListener("shown", dress);
dress();
