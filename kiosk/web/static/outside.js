// What is out for long: names are sifted as one types, and the sheet for today is
// printed.
import { sift } from "./counter.js";

function dress() {
  for (const field of document.querySelectorAll(".away [data-sift]:not([data-sifted])")) {
    field.dataset.sifted = "";
    sift(field);
  }
  document.querySelector("[data-print]:not([data-dressed])")?.addEventListener("click", () => print());
  document.querySelector("[data-print]")?.setAttribute("data-dressed", "");
}

document.addEventListener("shown", dress);
dress();
