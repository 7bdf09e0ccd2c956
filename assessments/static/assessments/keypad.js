// Numbers that are read off a tape. Outside the usual range it asks; outside the possible it does not take them.
"use strict";

import { fill, onPress, part, piece } from "./dom.js";
import { tryWords } from "./queue.js";
import { openTurn, showWho } from "./turn.js";
import { taken } from "./day.js";
import { amount } from "./words.js";

const SAME_TAP = 80;

/** Open a station whose numbers are typed; a child stays for all tries. */
export function openKeypad(screen, acts, context) {
  return openTurn(screen, acts, context, {
    how: "typed", inARow: true, make: (child, side, touched) => keypad(context.station, child, side, touched),
  });
}

function keypad(station, child, side, touched) {
  const element = piece("keypad");
  const sign = element.querySelector('[data-key="sign"]');
  const [low, high] = station.refuse;
  const below = low < 0;
  const fine = station.precision < 1;
  let text = "";
  showWho(element, child, station, side);
  const before = taken(child, station, side).map((entry) => amount(entry.value, station.unit)).filter(Boolean).join(", ");
  fill(element, { unit: station.unit, tries: [tryWords(child, station, side), before && `before: ${before}`].filter(Boolean).join(" · "), say: station.text?.cue || "" });
  if (!below && fine) sign.textContent = ".";
  sign.hidden = !below && !fine;
  element.querySelector(".keypad").classList.toggle("no-sign", sign.hidden);

  const number = () => (text === "" || text === "-" ? null : Number(text));

  // An empty place keeps the height of a number.
  const show = () => fill(element, { t: text.replace("-", "−") || "\u200b" });
  show();

  function warn(words) {
    part(element, "warn").hidden = !words;
    fill(element, { warn: words });
  }

  function press(key) {
    if (key === "back") text = text.slice(0, -1);
    else if (key === "sign") text = below ? (text.startsWith("-") ? text.slice(1) : `-${text}`) : text.includes(".") ? text : `${text || "0"}.`;
    else if (text.replace(/\D/g, "").length < 4) text = text === "0" ? key : text + key;
    show();
    warn("");
    touched();
  }

  for (const button of element.querySelectorAll("[data-key]")) onPress(button, () => press(button.dataset.key), { dead: SAME_TAP });
  return {
    element,
    value: () => (number() === null ? null : { value: number(), outcome: "scored" }),
    problem(asked) {
      const value = number();
      if (value < low || value > high) {
        warn(`${amount(value, station.unit)} is not possible here: it lies between ${low} and ${high}. Look at the tape again.`);
        return { sure: false };
      }
      const [usual, most] = station.warn;
      if (asked === "sure" || (value >= usual && value <= most)) return null;
      warn(`${amount(value, station.unit)} is unusual: most lie between ${usual} and ${most}. Is this ${child.first_name}? Press 'Next' again to keep it.`);
      return { sure: true };
    },
    kept: () => text,
    restore: (kept) => { text = kept; show(); },
    key(event, go) {
      if (event.target.closest("input, select, dialog")) return;
      if (/^\d$/.test(event.key)) press(event.key);
      else if (event.key === "Backspace") press("back");
      else if (event.key === "-" && below) press("sign");
      else if (event.key === "." && fine) press("sign");
      else if (event.key === "Enter" && event.target.tagName !== "BUTTON") go();
    },
  };
}
