// A hand scanner is a keyboard for any stranger's symbol. This module stands in
// front of every page and lets no burst of keys reach it.
//
// A scan counts only in its frame: the scanner types the letters ZX, then what it
// read, then Enter. A framed burst becomes a "scan" event on the document; a
// burst without the frame is thrown away and becomes a "burst" event. Neither
// leaves anything in a field: what stood there before stands there again. A
// person's typing is slower than any scanner's and is not touched.
//
// The letters serve on every keyboard layout, because together they tell how the
// computer reads the scanner. Where ZX arrives as ZX, the keys are taken as the
// computer reads them. Where the keys arrive that carry Z and X on a US keyboard,
// the scanner types US and the computer reads something else: then the keys
// themselves are taken. Capitals turned round by Caps Lock are turned back.

const FRAME = ["Z", "X"];
const FRAME_GAP = 120; // most milliseconds between the two letters of the frame
const TEXT_GAP = 400; // most milliseconds between keys inside a frame
const BURST_GAP = 35; // keys this close are no person's
const BURST_KEYS = 4; // so many of them in a row are a burst
const HOLD = 60; // a key that presses a button waits this long for a burst
const MOST = 4296; // characters; the largest symbol holds no more (ISO/IEC 18004)

const MODIFIERS = new Set(["Shift", "Control", "Alt", "AltGraph", "Meta", "CapsLock", "NumLock", "Fn"]);
const PLAIN = "`-=[]\\;',./ ", SHIFTED = '~_+{}|:"<>? ', DIGITS = ")!@#$%^&*(";
const CODES = ["Backquote", "Minus", "Equal", "BracketLeft", "BracketRight", "Backslash", "Semicolon", "Quote", "Comma", "Period", "Slash", "Space"];

let run = []; // the keys that have come close together
let kind = ""; // "frame" or "burst" once it is known
let frameBy = ""; // how the frame was read: "key" or "code"
let silence = 0;

addEventListener("keydown", onKey, { capture: true });
addEventListener("keyup", (e) => kind && swallow(e), { capture: true });

function onKey(e) {
  if (MODIFIERS.has(e.key)) return kind ? swallow(e) : undefined;
  if (e.repeat && !kind) return end();
  const gap = run.length ? e.timeStamp - run.at(-1).at : 0;
  if (run.length && gap > (kind === "frame" ? TEXT_GAP : run.length === 1 ? FRAME_GAP : BURST_GAP)) end();
  if (!run.length && presses(e)) hold(e);
  const before = kind ? null : remember(document.activeElement);
  run.push({ key: e.key, code: e.code, shift: e.shiftKey, caps: e.getModifierState("CapsLock"), at: e.timeStamp, gap, before });
  if (!kind) judge();
  if (!kind) return;
  swallow(e);
  clearTimeout(silence);
  if (kind === "frame" && e.key === "Enter") return frame();
  silence = setTimeout(end, TEXT_GAP);
}

// judge looks whether the newest keys are the beginning of a scan. A person's key
// may have come just before; it stays where it is.
function judge() {
  frameBy = reads("key") ? "key" : reads("code") ? "code" : "";
  if (frameBy) [kind, run] = ["frame", run.slice(-2)];
  else if (run.length >= BURST_KEYS && run.slice(1 - BURST_KEYS).every((k) => k.gap <= BURST_GAP)) [kind, run] = ["burst", run.slice(-BURST_KEYS)];
  else return;
  restore(run[0].before);
}

// reads tells whether the newest two keys are the frame, taken as the computer
// reads them or as a US keyboard would.
function reads(by) {
  const keys = run.slice(-2);
  return keys.length === 2 && FRAME.every((letter, i) => (by === "key" ? keys[i].key.toUpperCase() === letter : keys[i].code === "Key" + letter));
}

function swallow(e) {
  e.preventDefault();
  e.stopImmediatePropagation();
}

// end closes a run of keys that no Enter closed.
function end() {
  clearTimeout(silence);
  const [was, keys, text] = [kind, run.length, run.map((k) => (k.key === "Enter" ? "\n" : plain(k.key))).join("")];
  kind = "";
  run = [];
  if (was === "frame") tell("burst", { why: "open", keys });
  if (was === "burst") tell("burst", { why: "frameless", keys, text });
}

function frame() {
  const [first, , ...rest] = run;
  const keys = rest.slice(0, -1); // without Enter
  const by = frameBy;
  const turned = by === "key" ? first.key !== first.key.toUpperCase() && first.shift : first.caps && !first.shift;
  let text = keys.map((k) => (by === "key" ? k.key : us(k))).map(plain).join("");
  if (turned) text = [...text].map((c) => (c === c.toLowerCase() ? c.toUpperCase() : c.toLowerCase())).join("");
  kind = "";
  run = [];
  if (text.length > MOST) return tell("burst", { why: "long", keys: keys.length });
  tell("scan", { text, by, turned, keys: keys.length });
}

// plain is what a key types; a key that types nothing leaves a mark, so that the
// text is no tag's.
function plain(key) {
  if (key === "Tab") return "\t";
  return [...key].length === 1 ? key : "\ufffd";
}

// us is what a key types on a US keyboard.
function us({ code, shift, key }) {
  if (/^Key[A-Z]$/.test(code)) return shift ? code[3] : code[3].toLowerCase();
  if (/^Digit[0-9]$/.test(code)) return shift ? DIGITS[code[5]] : code[5];
  const at = CODES.indexOf(code);
  return at < 0 ? key : (shift ? SHIFTED : PLAIN)[at];
}

function remember(field) {
  if (!field || !("value" in field) || field.matches("button, [type=radio], [type=checkbox], [type=file]")) return null;
  const was = { field, value: field.value };
  try {
    was.from = field.selectionStart;
    was.to = field.selectionEnd;
  } catch {
    // a field without a caret that can be asked for
  }
  return was;
}

function restore(was) {
  if (!was || was.field.value === was.value) return;
  was.field.value = was.value;
  if (was.from != null) was.field.setSelectionRange(was.from, was.to);
  was.field.dispatchEvent(new Event("input", { bubbles: true }));
}

// presses tells whether a key would press what has the focus.
function presses(e) {
  const on = e.key === "Enter" ? "button, a[href], summary" : e.key === " " ? "button, summary" : null;
  return on && !e.ctrlKey && !e.altKey && !e.metaKey && e.target.matches?.(on);
}

// hold lets a key press a button only if no burst begins with it.
function hold(e) {
  const on = e.target;
  swallow(e);
  const release = (up) => {
    if (up.key !== e.key) return;
    swallow(up);
    removeEventListener("keyup", release, { capture: true });
  };
  addEventListener("keyup", release, { capture: true });
  setTimeout(() => {
    if (!kind && run.length <= 1 && on.isConnected) on.click();
  }, HOLD);
}

// heard is a scan that came another way than by keys.
export const heard = (text, way) => tell("scan", { text, way });

function tell(name, detail) {
  const event = new CustomEvent(name, { detail, cancelable: true });
  if (document.dispatchEvent(event)) answer(name, detail);
}

// answer is what a page does that has no module of its own for it: a page with a
// form marked data-scan sends the scan with that form; any other says where
// scans count.
function answer(name, detail) {
  const form = document.querySelector("form[data-scan]");
  if (name === "burst") return say(thrownAway(detail.why), detail.why !== "long");
  if (!form) return say("Scans count on the counter page. This one was thrown away.");
  form.elements.text.value = detail.text;
  if (form.elements.way) form.elements.way.value = detail.way ?? "scanner";
  form.noValidate = true; // what is missing is said by the answer
  form.requestSubmit();
}

export function thrownAway(why) {
  if (why === "open") return "The scanner typed no Enter at the end, so the scan was thrown away. Set the scanner up, then scan again.";
  if (why === "long") return "This symbol holds more than any tag, so it was thrown away. Scan the tag on the sling.";
  return "Something typed faster than a person, without the scanner’s frame, so it was thrown away. Set the scanner up, then scan again.";
}

// say puts a sentence where everyone sees and hears it, and leads to the page where a
// scanner is set up if that helps.
export function say(sentence, setUp) {
  let place = document.querySelector("[data-heard]");
  if (!place) {
    place = document.createElement("p");
    place.dataset.heard = "";
    place.className = "heard";
    place.setAttribute("role", "status");
    document.querySelector("main").prepend(place);
  }
  place.textContent = "";
  // A live region speaks when it changes, also where it says the same again.
  setTimeout(() => {
    place.textContent = sentence;
    if (!setUp) return;
    const link = Object.assign(document.createElement("a"), { href: "/scanner", textContent: "Set it up" });
    place.append(" ", link);
  }, 20);
}
