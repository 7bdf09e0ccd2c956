// Pieces of the page: every screen clones a template of the page, so no markup is written in script.
"use strict";

/** The element with an id. */
export const byId = (id) => document.getElementById(id);

/** A copy of <template id="piece-NAME">, its slots filled: text by [data-slot], nothing else. */
export function piece(name, slots = {}) {
  const copy = byId(`piece-${name}`).content.firstElementChild.cloneNode(true);
  fill(copy, slots);
  return copy;
}

/** Put words into [data-slot] places of an element. */
export function fill(element, slots) {
  for (const [slot, text] of Object.entries(slots)) {
    const places = element.matches(`[data-slot="${slot}"]`) ? [element] : element.querySelectorAll(`[data-slot="${slot}"]`);
    for (const place of places) if (place.textContent !== String(text)) place.textContent = text;
  }
}

/** The first part of an element that carries data-part=NAME. */
export const part = (element, name) => element.querySelector(`[data-part="${name}"]`);

/** The drawing that belongs to a measure or shape, when the page has one. */
export function drawing(id, variant = "") {
  const found = byId(`figure-${id}--${variant}`) || byId(`figure-${id}--`);
  return found?.content.firstElementChild?.cloneNode(true) || null;
}

/**
 * Act on the press itself, not on its release: a clock must not wait for the finger to lift. The keyboard and a screen
 * reader come as a click without a pointer; a key that is held down is one press. `act` gets the moment of the press on the
 * page's running clock. A press sooner than `dead` milliseconds after the last is the same tap, a palm or a second finger.
 */
export function onPress(element, act, { dead = 0 } = {}) {
  let last = -Infinity;
  const press = (event) => {
    const moment = momentOf(event);
    if (element.disabled || moment - last < dead) return;
    last = moment;
    act(moment, event);
    if (dead) rest(element, dead);
  };
  element.addEventListener("pointerdown", (event) => { if (event.button <= 0) press(event); });
  element.addEventListener("click", (event) => { if (event.detail === 0 || event.pointerType === "") press(event); });
  element.addEventListener("keydown", (event) => { if (event.repeat) event.preventDefault(); });
}

const resting = new WeakMap();

/** For some milliseconds a button takes nothing, and says so to whoever asks. Its look stays. */
export function rest(element, milliseconds) {
  element.setAttribute("aria-disabled", "true");
  clearTimeout(resting.get(element));
  resting.set(element, setTimeout(() => element.removeAttribute("aria-disabled"), milliseconds));
}

/**
 * A click that began here. A tap that changed what lies under the finger also ends on the new thing: that is no choice.
 */
export function onChoice(element, act) {
  let began = false;
  element.addEventListener("pointerdown", () => { began = true; });
  element.addEventListener("click", (event) => {
    if (began || event.detail === 0) act();
    began = false;
  });
}

/** When an event happened. A stamp that cannot be true gives way to now. */
export function momentOf(event) {
  const now = performance.now();
  return event.timeStamp > 0 && event.timeStamp <= now && now - event.timeStamp < 5000 ? event.timeStamp : now;
}

let current = null;

/** Say something in the one polite live region and, when an undo is offered, show a toast that stays until the next. */
export function toast(text, { undo = null, warn = false } = {}) {
  byId("said").textContent = text;
  current?.remove();
  current = piece("toast", { text });
  current.classList.toggle("warm", warn);
  const button = part(current, "undo");
  if (undo) button.addEventListener("click", () => { clearToast(); undo(); }, { once: true });
  else button.remove();
  document.body.append(current);
  const mine = current;
  setTimeout(() => { if (current === mine) clearToast(); }, undo ? 12_000 : 6_000);
}

/** Take the toast away. */
export function clearToast() {
  current?.remove();
  current = null;
}

/** Say something to a screen reader only. */
export function whisper(text) {
  byId("said").textContent = text;
}
