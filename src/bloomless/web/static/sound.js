// Spoken readout and tones, off by default; the screen kept awake. All by the browser itself, nothing is loaded.
import { t, view } from "./words.js";

const get = (name) => { try { return localStorage.getItem(`sound:${name}`) === "on"; } catch { return false; } };
export const set = (name, on) => { try { localStorage.setItem(`sound:${name}`, on ? "on" : "off"); } catch { /* not kept */ } };
export const isOn = get;

export function speak(text) {
  if (!get("speech") || !("speechSynthesis" in globalThis) || !text) return;
  const words = new SpeechSynthesisUtterance(text.replace("°C", t("degrees")).replace("°F", t("degrees")));
  words.lang = view.language;
  if (speechSynthesis.pending) speechSynthesis.cancel(); // what is being said is said to its end
  speechSynthesis.speak(words);
}
let audio;
// The grades differ in number and pitch, so that they are told apart without seeing.
const TONES = { next: [660], over: [990, 990], check: [660, 880], stop: [440, 440, 440, 440] };
export function tone(kind) {
  if (!get("tones") || !("AudioContext" in globalThis)) return;
  audio ??= new AudioContext();
  TONES[kind].forEach((pitch, i) => {
    const wave = audio.createOscillator(), loud = audio.createGain(), at = audio.currentTime + i * 0.28;
    wave.frequency.value = pitch;
    loud.gain.setValueAtTime(0.0001, at);
    loud.gain.exponentialRampToValueAtTime(0.35, at + 0.02);
    loud.gain.exponentialRampToValueAtTime(0.0001, at + 0.24);
    wave.connect(loud).connect(audio.destination);
    wave.start(at);
    wave.stop(at + 0.26);
  });
}
export async function stayAwake(changed) {
  if (!("wakeLock" in navigator)) { changed(isSecureContext ? "cannot" : "insecure"); return; }
  const ask = async () => {
    try {
      const lock = await navigator.wakeLock.request("screen");
      changed("awake");
      lock.addEventListener("release", () => changed("released"));
    } catch { changed("cannot"); }
  };
  await ask();
  document.addEventListener("visibilitychange", () => { if (document.visibilityState === "visible") ask(); });
}
