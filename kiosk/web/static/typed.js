// What is asked while somebody types: on the rack (rack.js) and of a lift (lift.js). A
// question goes out once the keys rest, a newer one takes its place, and an answer that
// comes late, or to a page that does not stand here any more, is dropped.
const PAUSE = 60; // milliseconds without a key before anything is sent
const PATIENCE = 5000; // milliseconds for an answer

// asking sends what form() finds to the address that to() reads from it; now does that at
// once, soon once the keys rest. The element with the id place is busy meanwhile. stands
// is told how things stood when the answer was made, and shows gets the answer, or null
// where none came.
export function asking({ form, to, place, stands, shows }) {
  let due = 0;
  let underway = null; // the question that is open

  async function now() {
    const asks = form();
    underway?.abort();
    if (!asks) return;
    const mine = (underway = new AbortController());
    const late = setTimeout(() => mine.abort(new DOMException("", "TimeoutError")), PATIENCE);
    const here = document.getElementById(place);
    here.setAttribute("aria-busy", "true");
    let came = null;
    try {
      const answer = await fetch(to(asks), { method: "POST", body: new URLSearchParams(new FormData(asks)), credentials: "same-origin", signal: mine.signal });
      if (!answer.ok || answer.redirected) throw new TypeError("no answer to what was typed");
      const page = new DOMParser().parseFromString(await answer.text(), "text/html");
      if (mine !== underway) return; // something newer is on its way
      stands(JSON.parse(answer.headers.get("Page-Stands")));
      came = page;
    } catch {
      // None came, which is shown unless it was called off.
    } finally {
      clearTimeout(late);
    }
    if (mine !== underway || asks !== form()) return;
    here.removeAttribute("aria-busy");
    shows(came, here);
  }

  function soon() {
    clearTimeout(due);
    due = setTimeout(now, PAUSE);
  }

  return { now, soon };
}
