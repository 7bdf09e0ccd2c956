// The tablet itself: how it behaves, whether it is ready for a day, and keeping its screen awake while a clock runs.
"use strict";

import { link } from "./sender.js";
import { canWrite, keep, recall } from "./store.js";

/** How this tablet behaves; kept on it. */
export const settings = { left: false, sound: true, haptic: true, keys: true, label: "" };

/** Read the settings and apply them. */
export async function loadSettings() {
  Object.assign(settings, (await recall("settings").catch(() => null)) || {});
  apply();
}

/** Change settings. */
export async function set(fields) {
  Object.assign(settings, fields);
  apply();
  await keep("settings", { ...settings });
}

function apply() {
  document.body.classList.toggle("left-handed", settings.left);
}

// --- sounds and vibration: never the only answer, a gym is loud ----------------------------------------------------------

let audio = null;
const TONES = { count: [520, 0.09], go: [880, 0.22], stop: [330, 0.08], undo: [440, 0.06], tick: [600, 0.03] };
const BUZZ = { count: 20, go: 90, stop: 40, undo: [20, 40, 20], tick: 12 };

/** A sound and a buzz for something that just happened. */
export function cue(word) {
  if (settings.haptic) navigator.vibrate?.(BUZZ[word]);
  if (!settings.sound || !window.AudioContext) return;
  audio = audio || new AudioContext();
  if (audio.state === "suspended") audio.resume().catch(() => undefined);
  const [pitch, length] = TONES[word];
  const tone = audio.createOscillator();
  const loudness = audio.createGain();
  tone.frequency.value = pitch;
  loudness.gain.setValueAtTime(0.18, audio.currentTime);
  loudness.gain.exponentialRampToValueAtTime(0.001, audio.currentTime + length);
  tone.connect(loudness).connect(audio.destination);
  tone.start();
  tone.stop(audio.currentTime + length);
}

// --- the screen ---------------------------------------------------------------------------------------------------------

let onDim = () => undefined;

/** Call when the screen may go to sleep although a clock runs. */
export function whenScreenMaySleep(listener) {
  onDim = listener;
}

/** Keep the screen awake; answers a function that lets it go. A refusal is told, never an error. */
export async function keepAwake() {
  let held = null;
  let over = false;
  const hold = async () => {
    try {
      held = await navigator.wakeLock.request("screen");
      if (over) held.release();
    } catch {
      onDim();
    }
  };
  const again = () => { if (!document.hidden && !over) hold(); };
  document.addEventListener("visibilitychange", again);
  if (!navigator.wakeLock) onDim();
  else await Promise.race([hold(), new Promise((resolve) => { setTimeout(resolve, 300); })]);
  return () => {
    over = true;
    document.removeEventListener("visibilitychange", again);
    held?.release().catch(() => undefined);
  };
}

// --- ready for the day? ---------------------------------------------------------------------------------------------------

async function persisted() {
  if (!navigator.storage?.persist) return false;
  return (await navigator.storage.persisted()) || navigator.storage.persist();
}

async function wakes() {
  try {
    const held = await navigator.wakeLock.request("screen");
    await held.release();
    return true;
  } catch {
    return false;
  }
}

async function battery() {
  try {
    const found = await navigator.getBattery();
    const level = Math.round(found.level * 100);
    return { ok: found.charging || level > 20, must: level <= 10, text: `${level} %${found.charging ? ", charging" : ""}. Enough for the day is more than 20 %.` };
  } catch {
    return null;
  }
}

/** The lines of the check: name, whether it is well, and what to do when it is not. */
export async function checks() {
  const writes = await canWrite();
  const lasting = await persisted();
  const awake = await wakes();
  const offset = link.offset;
  const power = await battery();
  const lines = [
    { name: "Storage", ok: writes, must: true, text: writes ? "Entries can be written on this tablet." : "Nothing can be written here. Leave private browsing, free some space, or use another tablet." },
    { name: "Lasting storage", ok: lasting, text: lasting ? "The browser promised not to clear it." : "The browser may clear it when space is short. Put the app on the home screen and send within a day." },
    { name: "Screen", ok: awake, text: awake ? "It stays awake while a clock runs." : "It may sleep. Set the screen to stay on for 10 minutes." },
    { name: "Clock", ok: offset === null || Math.abs(offset) < 120, text: offset === null ? "Not compared yet: the club has not answered." : `${Math.abs(offset)} s ${offset < 0 ? "ahead of" : "behind"} the club's clock. Holds do not depend on it.` },
    { name: "Address", ok: window.isSecureContext, must: true, text: window.isSecureContext ? "Secure: it works without wifi once opened." : "Not a secure address: this tablet cannot work offline. It can record while the wifi holds. Open the club's https address instead." },
  ];
  if (power) lines.push({ name: "Battery", ...power });
  return lines;
}
