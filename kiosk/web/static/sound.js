// Says the verdict a third time, after words and shape: two rising tones may go,
// one low long tone stays here, three short equal ones look closer, one short one is
// taken in, or counted. Browsers keep silent until somebody has touched the page; that is no fault. A station
// can turn its sounds off at the foot of the page.
const tunes = {
  "may-go": [[523, 0, 0.12], [784, 0.14, 0.2]],
  "stays-here": [[165, 0, 0.7]],
  "taken-in": [[659, 0, 0.07]],
  counted: [[659, 0, 0.07]],
  "look-closer": [[440, 0, 0.09], [440, 0.16, 0.09], [440, 0.32, 0.09]],
};

export function play(verdict) {
  const tune = tunes[verdict];
  if (!tune || !window.AudioContext || "silent" in document.documentElement.dataset) return;
  const audio = new AudioContext();
  for (const [pitch, at, long] of tune) {
    const tone = audio.createOscillator();
    const level = audio.createGain();
    tone.type = pitch < 200 ? "square" : "triangle";
    tone.frequency.value = pitch;
    level.gain.setValueAtTime(0.25, audio.currentTime + at);
    level.gain.linearRampToValueAtTime(0, audio.currentTime + at + long);
    tone.connect(level).connect(audio.destination);
    tone.start(audio.currentTime + at);
    tone.stop(audio.currentTime + at + long);
  }
  setTimeout(() => audio.close(), 1500); // a tune held back must not sound later
}

const plate = document.querySelector("[data-verdict]");
if (plate) play(plate.dataset.verdict);
