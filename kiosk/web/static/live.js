// Follows the register, so that no page is silently old: says when the register
// has moved on since the page was made, and when the line to it is down. It
// fetches nothing by itself, since somebody may be typing: a page that can renew
// itself takes the "moved" event and prevents its default. A page that puts another
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
let following = false;

function tell() {
  if (!shown()) return say("");
  if (down) return say("The line to the register is down. What stands here may be old.");
  const moved = newest > shown() && document.dispatchEvent(new Event("moved", { cancelable: true }));
  say(moved ? "Something has changed in the register since this page was made." : "");
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

function begin() {
  if (!following && shown() > 0 && window.WebSocket) {
    following = true;
    newest = shown();
    addEventListener("beforeunload", () => { document.querySelector(".stale")?.remove(); });
    follow();
  }
  tell();
}

document.addEventListener("shown", begin);
begin();
