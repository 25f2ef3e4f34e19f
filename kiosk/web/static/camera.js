// Reads tags with the camera of this device: frames go to the kiosk over a WebSocket,
// the next one when the last was taken, and what comes back is drawn on the live
// picture. What was read becomes a "scan" event, as from a hand scanner.
//
// The picture goes on while the counter puts one page in place of another, and takes
// up again by itself after the line was down, the page was hidden or the device slept.
import { heard } from "./burst.js";

const SIDE = 1000; // most pixels along the long side of a frame
const APART = 60; // least milliseconds from one frame to the next
const QUALITY = 0.8; // of JPEG
const SHOWN = 600; // milliseconds that an outline stays
const GREY = 1, JPEG = 2, FORMAT = 1, HEAD = 14;
const SOON = 500, LATEST = 8000; // milliseconds until the line is tried again, twice as long each time
const near = ["127.0.0.1", "[::1]", "localhost"].includes(location.hostname);
const KEPT = "camera"; // which camera was chosen here, and in this window whether it is on

let box = null; // the part of the page that shows the camera
let stream = null;
let line = null;
let wanted = false; // somebody turned it on
let ended = false; // the kiosk said that it is over
let starting = false;
let free = false; // the last frame was taken
let number = 0;
let sentAt = 0;
let later = SOON;
let loop = 0; // the newest run of frames; an older one ends
let cameras = [];
const canvas = document.createElement("canvas");

const part = (name) => box?.querySelector("[data-" + name + "]");
const video = () => box?.querySelector("video");

function trouble(sentence) {
  const place = part("trouble");
  if (!place || place.textContent === sentence) return;
  place.textContent = sentence;
  place.hidden = !sentence;
}

// begin turns the camera on.
async function begin() {
  if (starting || ended || !box) return;
  if (!navigator.mediaDevices?.getUserMedia) {
    return trouble("Browsers open a camera only on the kiosk’s own machine, or where the address begins with https. Ask who set the kiosk up; until then use a scanner or the short code.");
  }
  starting = true;
  wanted = true;
  keep(true);
  try {
    await open();
    trouble("");
    show();
    connect();
    if ("phonePage" in box.dataset) navigator.wakeLock?.request("screen").catch(() => {}); // it sleeps, and says so
  } catch (e) {
    stop();
    trouble(whyNot(e));
  } finally {
    starting = false;
  }
}

function whyNot({ name }) {
  if (name === "NotAllowedError") return "The browser was not allowed to use the camera. Allow it at the sign before the address, then press again.";
  if (name === "NotFoundError" || name === "OverconstrainedError") return "No camera was found on this device.";
  if (name === "NotReadableError") return "The camera cannot be opened: another program may be using it.";
  return "The camera cannot be opened. Use a scanner, a picture or the short code.";
}

// open asks for the camera that was chosen here before, else for the one at the back.
async function open(id = localStorage.getItem(KEPT)) {
  const size = { width: { ideal: 1280 }, height: { ideal: 960 } };
  const ask = (which) => navigator.mediaDevices.getUserMedia({ video: { ...size, ...which }, audio: false });
  const back = { facingMode: { ideal: "environment" } };
  stream = await (id ? ask({ deviceId: { exact: id } }).catch(() => ask(back)) : ask(back));
  const [track] = stream.getVideoTracks();
  track.addEventListener("ended", again);
  cameras = (await navigator.mediaDevices.enumerateDevices()).filter((d) => d.kind === "videoinput");
}

// again opens a camera anew that the device took away, as when it slept.
function again() {
  shut();
  if (wanted && !document.hidden) begin();
}

function shut() {
  for (const track of stream?.getTracks() ?? []) {
    track.removeEventListener("ended", again);
    track.stop();
  }
  stream = null;
}

// show puts the picture on the page, and what the camera can do.
function show() {
  if (!box || !stream) return;
  part("view").hidden = false;
  part("on").hidden = true;
  part("other").hidden = cameras.length < 2;
  const [track] = stream.getVideoTracks();
  part("light").hidden = !track.getCapabilities?.().torch;
  const v = video();
  if (v.srcObject !== stream) v.srcObject = stream;
  v.play().catch(() => {}); // a page that is left takes the picture along
  run();
}

// rest lets go of camera and line, and leaves the wish.
function rest() {
  shut();
  const old = line;
  line = null;
  old?.close();
  if (!box) return;
  part("view").hidden = true;
  part("on").hidden = false;
}

function stop() {
  wanted = false;
  keep(false);
  rest();
}

function keep(on) {
  if (on) sessionStorage.setItem(KEPT, "on");
  else sessionStorage.removeItem(KEPT);
}

async function other() {
  const now = stream?.getVideoTracks()[0].getSettings().deviceId;
  const next = cameras[(cameras.findIndex((d) => d.deviceId === now) + 1) % cameras.length];
  localStorage.setItem(KEPT, next.deviceId);
  shut();
  await begin();
}

async function light(button) {
  const on = button.getAttribute("aria-pressed") !== "true";
  try {
    await stream.getVideoTracks()[0].applyConstraints({ advanced: [{ torch: on }] });
    button.setAttribute("aria-pressed", on);
  } catch {
    trouble("The light cannot be switched from here.");
  }
}

function connect() {
  if (line || !wanted || ended || !box) return;
  const mine = (line = new WebSocket(location.origin.replace(/^http/, "ws") + box.dataset.camera));
  mine.binaryType = "arraybuffer";
  mine.onopen = () => {
    free = true;
    later = SOON;
    trouble("");
  };
  mine.onmessage = (m) => mine === line && told(JSON.parse(m.data));
  mine.onclose = () => {
    if (mine !== line) return;
    line = null;
    free = false;
    if (!wanted || ended) return;
    advise("", "The line to the kiosk is down. The camera goes on when it is back.");
    setTimeout(connect, later);
    later = Math.min(2 * later, LATEST);
  };
}

// told takes what the kiosk says.
function told(note) {
  if (note.taken) {
    free = true;
    return;
  }
  if (note.ended) {
    ended = true;
    stop();
    trouble(note.ended);
    part("on").hidden = true;
  }
  if (note.words) advise(note.advice ?? "", note.words);
  if (note.outline) draw(note.outline);
  if (note.scan) heard(note.scan, note.resembles ? "resembles" : "camera");
  document.dispatchEvent(new CustomEvent("camera", { detail: note }));
}

function advise(name, words) {
  const place = part("advice");
  if (!place || place.textContent === words) return;
  place.dataset.advice = name;
  place.textContent = words;
}

let clearing = 0;

// draw outlines the symbol on the picture, which lies in its box with bars beside it
// where the shapes differ.
function draw(outline) {
  const over = box.querySelector("canvas");
  const v = video();
  const [wide, high] = [over.clientWidth, over.clientHeight];
  const scale = Math.min(wide / v.videoWidth, high / v.videoHeight);
  const [w, h] = [v.videoWidth * scale, v.videoHeight * scale];
  over.width = wide;
  over.height = high;
  const pen = over.getContext("2d");
  const { color, borderTopColor } = getComputedStyle(over);
  for (const [colour, width] of [[borderTopColor, 9], [color, 5]]) {
    pen.strokeStyle = colour;
    pen.lineWidth = width;
    pen.lineJoin = "round";
    pen.beginPath();
    for (const [x, y] of outline) pen.lineTo((wide - w) / 2 + x * w, (high - h) / 2 + y * h);
    pen.closePath();
    pen.stroke();
  }
  over.dataset.drawn = "";
  clearTimeout(clearing);
  clearing = setTimeout(() => {
    pen.clearRect(0, 0, wide, high);
    delete over.dataset.drawn;
  }, SHOWN);
}

// run sends a frame when the camera has a new one and the last was taken.
function run() {
  const mine = ++loop;
  const v = video();
  const next = async () => {
    if (mine !== loop || !stream || v !== video()) return;
    await send(v);
    setTimeout(onNew, Math.max(0, APART - (performance.now() - sentAt)));
  };
  const onNew = () => (v.requestVideoFrameCallback ? v.requestVideoFrameCallback(next) : next());
  onNew();
}

async function send(v) {
  sentAt = performance.now();
  if (!free || line?.readyState !== WebSocket.OPEN || document.hidden || !v.videoWidth) return;
  const scale = Math.min(1, SIDE / Math.max(v.videoWidth, v.videoHeight));
  const [wide, high] = [Math.round(v.videoWidth * scale), Math.round(v.videoHeight * scale)];
  if (canvas.width !== wide || canvas.height !== high) [canvas.width, canvas.height] = [wide, high];
  const pen = canvas.getContext("2d", { willReadFrequently: near, alpha: false });
  pen.drawImage(v, 0, 0, wide, high);
  free = false;
  const to = line;
  const pixels = near ? grey(pen.getImageData(0, 0, wide, high).data) : await jpeg();
  if (to !== line || to?.readyState !== WebSocket.OPEN) return;
  if (!pixels) return void (free = true);
  const head = new DataView(new ArrayBuffer(HEAD));
  head.setUint8(0, FORMAT);
  head.setUint8(1, near ? GREY : JPEG);
  head.setUint32(2, ++number);
  head.setUint16(6, wide);
  head.setUint16(8, high);
  head.setUint32(10, pixels.byteLength);
  to.send(new Blob([head, pixels]));
}

// grey is the brightness of each pixel (weights of ITU-R BT.601, as the kiosk has them).
function grey(data) {
  const out = new Uint8Array(data.length / 4);
  for (let i = 0, j = 0; j < out.length; i += 4, j++) out[j] = (data[i] * 77 + data[i + 1] * 150 + data[i + 2] * 29) >> 8;
  return out;
}

async function jpeg() {
  const blob = await new Promise((done) => canvas.toBlob(done, "image/jpeg", QUALITY));
  return blob?.arrayBuffer();
}

// dress takes up a page that was put in place of another: the running picture goes
// into it, so that it never stops.
function dress() {
  const here = document.querySelector("[data-camera]");
  if (here === box) return box && wanted && stream && video().play().catch(() => {});
  if (here && box && here.dataset.camera === box.dataset.camera && stream) {
    here.querySelector("[data-view]").replaceWith(part("view"));
    box = here;
    return show();
  }
  if (box && stream) rest();
  box = here;
  if (!box) return;
  if (wanted || sessionStorage.getItem(KEPT) === "on" || "begin" in box.dataset) begin();
}

document.addEventListener("click", (e) => {
  const button = e.target.closest("[data-camera] button");
  if (!button) return;
  if ("on" in button.dataset) begin();
  if ("off" in button.dataset) stop();
  if ("other" in button.dataset) other().catch((why) => trouble(whyNot(why)));
  if ("light" in button.dataset) light(button);
});
document.addEventListener("shown", dress);
document.addEventListener("visibilitychange", () => {
  if (document.hidden) {
    if (box && "phonePage" in box.dataset) rest(); // the counter is told at once
  } else if (wanted && box) {
    later = SOON;
    if (stream) {
      show();
      connect();
    } else begin();
  }
});
addEventListener("online", connect);
dress();
