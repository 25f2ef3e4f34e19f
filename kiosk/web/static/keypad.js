// A keypad of big buttons under the digits fields of a box marked data-keypad,
// for gloves. It types into the field that was touched last; the fields keep
// working with a keyboard.
for (const box of document.querySelectorAll("[data-keypad]")) {
  const fields = box.querySelectorAll('input[inputmode="numeric"]');
  let field = fields[0];
  for (const each of fields) each.addEventListener("focus", () => (field = each));
  const pad = document.createElement("div");
  pad.className = "keypad";
  pad.setAttribute("role", "group");
  pad.setAttribute("aria-label", "Keypad");
  const key = (label, name, press) => {
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = label;
    button.setAttribute("aria-label", name);
    button.addEventListener("click", press);
    pad.append(button);
  };
  const digit = (d) =>
    key(d, d, () => {
      if (field.maxLength < 0 || field.value.length < field.maxLength) field.value += d;
    });
  for (const d of "123456789") digit(d);
  key("Clear", "Clear all digits", () => (field.value = ""));
  digit("0");
  key("Back", "Take back the last digit", () => (field.value = field.value.slice(0, -1)));
  box.append(pad);
}
