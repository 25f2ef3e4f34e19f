// Follows the register, so that no page is silently old: says when the register
// has moved on since the page was made, and when the line to it is down. It
// fetches nothing by itself, since somebody may be typing.
const shown = Number(document.body.dataset.at || 0);
const bar = document.querySelector(".stale");
const ask = "Load the page again";

function say(sentence) {
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
function follow() {
  const line = new WebSocket(location.origin.replace(/^http/, "ws") + "/live");
  let newest = shown;
  line.onmessage = (m) => {
    wait = 1000;
    newest = Number(m.data);
    say(newest > shown ? "Something has changed in the register since this page was made." : "");
  };
  line.onclose = () => {
    say("The line to the register is down. What stands here may be old.");
    setTimeout(follow, wait);
    wait = Math.min(wait * 2, 30000);
  };
}

if (shown > 0 && bar && window.WebSocket) {
  addEventListener("beforeunload", () => { bar.remove(); });
  follow();
}
