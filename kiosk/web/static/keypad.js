// A keypad of big buttons under the number fields of a box marked data-keypad, for
// gloves. It types into the field that was touched last; the fields keep working
// with a keyboard. The mark may name characters that have a key besides the digits.
function pad(box) {
  const fields = box.querySelectorAll("input[inputmode]");
  let field = fields[0];
  for (const each of fields) {
    each.inputMode = "none"; // a screen's own keyboard would lie over this one
    each.addEventListener("focus", () => (field = each));
  }
  const pad = document.createElement("div");
  pad.className = "keypad";
  pad.setAttribute("role", "group");
  pad.setAttribute("aria-label", "Keypad");
  const key = (label, name, value) => {
    const button = document.createElement("button");
    button.type = "button";
    face(button, label, name);
    button.addEventListener("click", () => {
      const text = value();
      if (field.maxLength < 0 || text.length <= field.maxLength) field.value = text;
      field.dispatchEvent(new Event("input", { bubbles: true }));
    });
    pad.append(button);
  };
  for (const d of "123456789") key(d, d, () => field.value + d);
  key("Clear", "Clear all digits", () => "");
  key("0", "0", () => field.value + "0");
  key("Back", "Take back the last digit", () => field.value.slice(0, -1));
  const names = { " ": ["Space", "Space"], "-": ["−", "Minus"], ".": [".", "Point"], "/": ["/", "Slash"] };
  for (const c of box.dataset.keypad) key(...names[c], () => field.value + c);
  box.append(pad);
}

// face writes on a key. A mark that has no sound is seen as it is and heard by its name.
export function face(button, label, name) {
  if (/[\p{L}\p{N}]/u.test(label)) {
    button.textContent = label;
    button.setAttribute("aria-label", name);
    return;
  }
  const seen = document.createElement("span"), heard = document.createElement("span");
  seen.setAttribute("aria-hidden", "true");
  seen.textContent = label;
  heard.className = "spoken";
  heard.textContent = name;
  button.append(seen, heard);
}

// dress gives each new box of the page its keypad.
function dress() {
  for (const box of document.querySelectorAll("[data-keypad]:not(:has(.keypad))")) pad(box);
}

document.addEventListener("shown", dress);
dress();
