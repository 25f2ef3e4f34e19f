// A phone as the camera of a counter. On a counter's page: listens to what the phone
// reads, and says how it is. On the phone: says what became of what it read, and takes
// the code that a symbol brought along.
import { heard } from "./burst.js";

const SOON = 500, LATEST = 8000; // milliseconds until the line is tried again, twice as long each time
const PATIENT = 2500; // and until the phone says that no page is open: one follows the other

let line = null;
let news = null; // how the phone is
let over = false;
let later = SOON;

function follow() {
  const where = document.querySelector("[data-station]");
  if (!where || line || over) return tell();
  const mine = (line = new WebSocket(location.origin.replace(/^http/, "ws") + where.dataset.station));
  mine.onopen = () => {
    later = SOON;
    here();
  };
  mine.onmessage = (m) => {
    const note = JSON.parse(m.data);
    if (note.ended) over = true;
    if (note.phone) news = note.phone;
    if (note.scan) {
      heard(note.scan, note.resembles ? "resembles" : "camera");
      mine.send("took " + note.number);
    }
    tell();
  };
  mine.onclose = () => {
    line = null;
    if (!over) setTimeout(follow, later);
    later = Math.min(2 * later, LATEST);
  };
}

// here says that somebody looks at this page: it gets the scans.
function here() {
  if (!document.hidden && line?.readyState === WebSocket.OPEN) line.send("here");
}

function tell() {
  const place = document.querySelector("[data-station] [data-phone], [data-pairing] [data-phone]");
  if (!place || !news) return;
  const pairing = place.closest("[data-pairing]");
  if (pairing) {
    pairing.querySelector("[data-let-go]").hidden = !news.paired;
    if (news.paired) pairing.querySelector("[data-offer]")?.remove(); // its code is used
  }
  place.hidden = !news.words;
  place.classList.toggle("down", news.paired && !news.up);
  if (place.textContent !== news.words) place.textContent = news.words;
}

document.addEventListener("shown", () => (follow(), tell()));
document.addEventListener("visibilitychange", here);
addEventListener("focus", here);
follow();

// On the phone.
let alone = 0;
document.addEventListener("camera", ({ detail: note }) => {
  const page = document.querySelector("[data-phone-page]");
  if (!page) return;
  const status = page.querySelector("[data-phone]");
  const say = (words, down) => {
    status.textContent = words;
    status.classList.toggle("down", down);
  };
  if (note.station) {
    clearTimeout(alone);
    if (note.station.open) say(note.station.words, false);
    else alone = setTimeout(say, PATIENT, note.station.words, true);
  }
  if (note.sent) {
    const sent = page.querySelector("[data-sent]");
    sent.hidden = false;
    sent.textContent = note.sent;
    navigator.vibrate?.(60);
  }
  if (note.ended) {
    clearTimeout(alone);
    say(note.ended + " It reads for no counter any more.", true);
  }
});

// The code that came with the address goes out of it at once, and into the form.
const pair = document.querySelector("[data-pair]");
const code = decodeURIComponent(location.hash.slice(1));
if (pair && /^[A-Za-z0-9-]{8,16}$/.test(code)) {
  history.replaceState(null, "", location.pathname);
  pair.elements.code.value = code;
  pair.requestSubmit();
}
