// Follows the register, so that no page is silently old: says when the register
// has moved on since the page was made, and when the line to it is down. It
// fetches nothing by itself, since somebody may be typing. A page that puts another
// one in its place (a "shown" event on the document) is newer from then on.
const shown = () => Number(document.body.dataset.at || 0);
const ask = "Load the page again";

function say(sentence) {
  const bar = document.querySelector(".stale");
  if (!bar || bar.dataset.says === sentence) return;
  bar.dataset.says = sentence;
  bar.textContent = sentence;
  bar.hidden = sentence === "";
  if (sentence === "") return;
  const again = document.createElement("a");
  again.href = location.href;
  again.textContent = ask;
  bar.append(" ", again);
}

let wait = 1000;
let newest = shown();
let down = false;

function tell() {
  if (down) say("The line to the register is down. What stands here may be old.");
  else say(newest > shown() ? "Something has changed in the register since this page was made." : "");
}

function follow() {
  const line = new WebSocket(location.origin.replace(/^http/, "ws") + "/live");
  line.onmessage = (m) => {
    wait = 1000;
    down = false;
    newest = Number(m.data);
    tell();
  };
  line.onclose = () => {
    down = true;
    tell();
    setTimeout(follow, wait);
    wait = Math.min(wait * 2, 30000);
  };
}

if (shown() > 0 && window.WebSocket) {
  addEventListener("beforeunload", () => { document.querySelector(".stale")?.remove(); });
  document.addEventListener("shown", tell);
  follow();
}
