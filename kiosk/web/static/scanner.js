// The page on which a scanner is tried: it shows what arrived, and whether it
// would have counted.
const place = document.querySelector("[data-arrived]");

if (place) {
  const tell = (verdict, lines) => {
    place.replaceChildren();
    place.dataset.came = verdict;
    for (const line of lines) {
      const p = document.createElement("p");
      p.textContent = line;
      place.append(p);
    }
  };
  document.addEventListener("scan", (e) => {
    e.preventDefault();
    const { text, by, turned, keys } = e.detail;
    const lines = ["Good: it came in its frame and would count.", "It says: " + (text || "nothing"), keys + " characters between ZX and Enter."];
    if (by === "code") lines.push("The scanner types a US keyboard and this computer reads another; the page put that right.");
    if (turned) lines.push("Caps Lock is on; the page put that right.");
    tell("frame", lines);
  });
  document.addEventListener("burst", (e) => {
    e.preventDefault();
    const { why, keys } = e.detail;
    const said = {
      open: "It began with ZX, but no Enter came at the end. It would be thrown away. Set the suffix to Enter.",
      frameless: "It came without ZX in front. It would be thrown away. Set the prefix to ZX.",
      long: "It is longer than any symbol. It would be thrown away.",
    };
    tell("burst", [said[why], keys + " keys in all."]);
  });
}
