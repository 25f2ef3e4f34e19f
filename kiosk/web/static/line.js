// The line to the register: a WebSocket over which the page is told how things stand
// (kiosk/live), at least once a beat. It is taken up again by itself, at longer and
// longer intervals, and given up when nothing is heard in time. After a sleep, a time
// out of sight or a lost network nothing is taken for granted: the page asks, and
// knows by the answer, or by its absence, whether the line still holds.
const FIRST = 500, MOST = 15000; // milliseconds between two attempts (site policy, no source)
const ANSWER = 1500; // milliseconds for an answer (site policy, no source)
const SILENCE = 2; // beats after which the page asks

export const line = {
  down: 0, // since when, in milliseconds of this device's clock; 0 while it holds
  stand: null, // what was heard last
  heard: 0, // when, see clock
  since: 0, // when the line over which it was heard was taken up
};

let socket = null;
let wait = FIRST;
let beat = 0; // milliseconds; 0 until it is known
let heard = null; // when, by both clocks
let silence = 0, again = 0, answer = 0; // timers
let changed = () => {};

// clock never goes back; it may stand still while the device sleeps, which the
// device's own clock does not.
export const clock = () => performance.now();
const both = () => ({ clock: clock(), date: Date.now() });
const past = (then) => Math.max(clock() - then.clock, Date.now() - then.date);

// follow takes up the line; tell is called when something is heard, or not any more.
export function follow(tell) {
  changed = tell;
  connect();
}

function connect() {
  clearTimeout(again);
  const mine = new WebSocket(location.origin.replace(/^http/, "ws") + "/live");
  socket = mine;
  const since = clock();
  expect(ANSWER);
  mine.onmessage = (m) => {
    if (mine !== socket) return;
    let stand;
    try {
      stand = JSON.parse(m.data);
    } catch {
      return lose(); // no answer of the kiosk's
    }
    clearTimeout(answer);
    [answer, wait, heard, beat] = [0, FIRST, both(), stand.beat];
    [line.down, line.stand, line.heard, line.since] = [0, stand, clock(), since];
    clearTimeout(silence);
    silence = setTimeout(() => document.hidden || ask(), beat * SILENCE); // out of sight, timers are held up
    changed();
  };
  mine.onclose = () => mine === socket && lose();
}

// expect gives the line up where nothing is heard in time.
function expect(within) {
  if (answer) return;
  answer = setTimeout(() => {
    answer = 0;
    lose();
  }, within);
}

function lose() {
  const gone = socket;
  socket = null; // what may still come over it is too old
  gone?.close();
  clearTimeout(silence);
  clearTimeout(answer);
  answer = 0;
  line.down ||= heard && past(heard) > beat * SILENCE ? heard.date : Date.now();
  clearTimeout(again);
  again = setTimeout(connect, wait * (0.75 + Math.random() / 2)); // not all pages at once
  wait = Math.min(wait * 2, MOST);
  changed();
}

// ask wants to know now.
export function ask() {
  if (socket?.readyState === WebSocket.OPEN) {
    expect(ANSWER);
    return socket.send("?");
  }
  wait = FIRST;
  if (!socket) connect();
}
