// Says beside a field which day is chosen in it, with the month as a word: browsers
// show a day in the order of their own country, and 03/02 can be two days.
const months = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];

function words(iso) {
  const [year, month, day] = iso.split("-").map(Number);
  return iso ? `${day} ${months[month - 1]} ${year}` : "";
}

function tell(field) {
  const said = field.parentElement?.querySelector("[data-day]");
  const text = words(field.value);
  if (said && said.textContent !== text) said.textContent = text;
}

const dates = 'input[type="date"]';

for (const what of ["input", "change"]) {
  document.addEventListener(what, (event) => {
    if (event.target instanceof Element && event.target.matches(dates)) tell(event.target);
  });
}
// A page that is shown again has what was typed in it before.
window.addEventListener("pageshow", () => document.querySelectorAll(dates).forEach(tell));
