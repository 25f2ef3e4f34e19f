// A step of an inspection: saves and judges it while it is filled in, and moves from
// field to field for whoever types with one hand or with a caliper.
//
// The form is marked data-bench with the address that saves it. One request is under
// way at a time; what is typed meanwhile goes with the next, and what the server says
// takes the place of the parts with the same id. Where no answer comes the page says
// that what stands here is not saved, and goes on asking. Leaving the page sends what
// is left.
const PAUSE = 250; // milliseconds without a key before anything is sent
const AGAIN = 2000; // milliseconds until it is tried again
const PATIENCE = 15000;

const form = () => document.querySelector("form[data-bench]");

let due = 0, busy = false, dirty = false, stopped = false;

function body() {
  const fields = new URLSearchParams();
  for (const [name, value] of new FormData(form())) if (typeof value === "string" && name !== "pin") fields.append(name, value);
  return fields;
}

const saved = (text) => {
  const place = document.querySelector("[data-saved]");
  if (place) place.textContent = text;
};

async function save() {
  clearTimeout(due);
  const mine = form();
  if (busy || stopped || !mine) return;
  busy = true;
  dirty = false;
  try {
    const answer = await fetch(mine.dataset.bench, { method: "POST", body: body(), credentials: "same-origin", keepalive: true, signal: AbortSignal.timeout(PATIENCE) });
    if (answer.redirected) return location.reload(); // signed out meanwhile
    if (!answer.ok) throw new TypeError(answer.statusText);
    const text = await answer.text();
    if (mine === form()) show(new DOMParser().parseFromString(text, "text/html"));
  } catch {
    if (mine !== form()) return;
    dirty = true;
    saved("Not saved: the kiosk does not answer. Leave this page open; it is tried again.");
    due = setTimeout(save, AGAIN);
    return;
  } finally {
    busy = false;
    document.body.toggleAttribute("data-unsaved", dirty);
  }
  if (dirty) save();
}

// show puts each part of an answer in the place of the part with its id.
function show(came) {
  const on = document.activeElement?.closest(".is")?.id; // what was asked there is answered
  for (const part of came.querySelectorAll("[id]")) {
    const old = document.getElementById(part.id);
    if (old && old.innerHTML !== part.innerHTML) old.replaceChildren(...[...part.childNodes].map((node) => document.importNode(node, true)));
  }
  const revision = document.querySelector("#bench-stand [name=revision]")?.value;
  for (const field of document.querySelectorAll("main [name=revision]")) field.value = revision;
  const alert = document.querySelector("#bench-stand [role=alert]");
  if (alert && !stopped) {
    // Whoever types far below would go on for nothing.
    document.activeElement?.blur();
    alert.scrollIntoView({ block: "center" });
  }
  stopped = Boolean(alert);
  for (const field of form().querySelectorAll("input[data-gauge]")) {
    if (document.getElementById("is-" + field.name)?.querySelector(".wrong, .asks")) field.setAttribute("aria-invalid", "true");
    else field.removeAttribute("aria-invalid");
  }
  if (on && document.activeElement === document.body) document.getElementById("f-" + on.slice("is-".length))?.focus();
}

function typed() {
  dirty = true;
  document.body.toggleAttribute("data-unsaved", true);
  clearTimeout(due);
  due = setTimeout(save, PAUSE);
}

// next is the field that comes after one: the next that is empty, else the next.
function next(from) {
  const all = [...form().querySelectorAll("input[data-gauge], input[type=radio], input[type=text]:not([data-gauge]), textarea, .actions.on button")].filter((e) => e.offsetParent);
  const after = all.slice(all.indexOf(from) + 1).filter((e) => e.name !== from.name);
  const empty = after.find((e) => (e.type === "radio" ? !form().querySelector(`[name="${CSS.escape(e.name)}"]:checked`) : e.tagName !== "BUTTON" && e.value === ""));
  return empty ?? after.find((e) => e.tagName === "BUTTON") ?? after[0];
}

function move(from) {
  const to = next(from);
  to?.focus();
  if (to?.select) to.select();
}

addEventListener("input", (e) => {
  if (e.target.closest?.("form[data-bench]") && e.target.name !== "pin") typed();
});
addEventListener("change", (e) => {
  if (!e.target.closest?.("form[data-bench]") || e.target.name === "pin") return;
  dirty = true;
  save();
});

// Enter goes to the next field, as a caliper that types ends each value with it.
addEventListener("keydown", (e) => {
  if (e.key !== "Enter" || !e.target.matches?.("form[data-bench] input:not([type=checkbox], [name=pin])")) return;
  e.preventDefault();
  move(e.target);
});

// A caliper types faster than a person: what burst.js takes out of the field is put
// back where it is a number, and only into a field for numbers.
document.addEventListener("burst", (e) => {
  const field = document.activeElement;
  if (!field?.matches("form[data-bench] input[data-gauge]") || !/^[+]?[0-9]{0,4}[.]?[0-9]{0,4} ?(mm|in|")?\n?$/.test(e.detail.text ?? "\0") || !/[0-9]/.test(e.detail.text)) return;
  e.preventDefault();
  field.value = e.detail.text.replace(/^[+]|\n$/g, "");
  field.dispatchEvent(new Event("input", { bubbles: true }));
  save();
  move(field);
});

addEventListener("pagehide", () => {
  if (dirty && form() && !stopped) fetch(form().dataset.bench, { method: "POST", body: body(), credentials: "same-origin", keepalive: true });
});

addEventListener("submit", (e) => {
  if (e.target !== form()) return;
  clearTimeout(due);
  dirty = false; // it is in what is sent
});

// here brings the step that is shown into view, where not all of them fit side by side.
function here() {
  const steps = document.querySelector(".steps"), step = steps?.querySelector("[aria-current]");
  if (!step) return;
  const bar = steps.getBoundingClientRect(), at = step.getBoundingClientRect();
  steps.scrollLeft += at.left + at.width / 2 - bar.left - bar.width / 2;
}
here();
addEventListener("resize", here);

document.addEventListener("shown", () => {
  here();
  dirty = busy = stopped = false;
  clearTimeout(due);
  if (form()) form().querySelector("[autofocus]")?.focus();
});
