// Holds a form against the server while it is filled in: a form marked data-check
// is sent there whenever it changes, and each part of the answer takes the place
// of the part of the page with the same id. Without this module a button does it.
const PAUSE = 250; // milliseconds without a key before anything is sent

function follow(form) {
  let due = 0;
  let asked = 0; // number of the newest question
  form.addEventListener("input", () => {
    clearTimeout(due);
    due = setTimeout(ask, PAUSE);
  });

  async function ask() {
    const mine = ++asked;
    const fields = new URLSearchParams();
    for (const [name, value] of new FormData(form)) if (typeof value === "string") fields.append(name, value);
    fields.delete("key");
    let answer;
    try {
      const response = await fetch(form.dataset.check, { method: "POST", body: fields });
      if (!response.ok || response.redirected) return;
      answer = await response.text();
    } catch {
      return; // the server cannot be reached; it checks again when the form is sent
    }
    if (mine !== asked) return; // something newer is on its way
    const parts = new DOMParser().parseFromString(answer, "text/html");
    for (const part of parts.querySelectorAll("[id]")) {
      const old = document.getElementById(part.id);
      if (old && old.innerHTML !== part.innerHTML) old.replaceChildren(...part.childNodes);
    }
  }
}

// dress follows each new form of the page.
function dress() {
  for (const form of document.querySelectorAll("form[data-check]:not([data-followed])")) {
    form.dataset.followed = "";
    follow(form);
  }
}

document.addEventListener("shown", dress);
dress();
