// Repetitions, tapped while they happen: after the set only one touch is left.
"use strict";

import { fill, onPress, part, piece } from "./dom.js";
import { cue } from "./tablet.js";
import { openTurn, showWho } from "./turn.js";

const SAME_TAP = 80;

/** Open a counting station. */
export function openCounter(screen, acts, context) {
  return openTurn(screen, acts, context, { how: "counted", make: (child, side, touched) => counter(context.station, child, side, touched) });
}

function counter(station, child, side, touched) {
  const element = piece("counter");
  const most = station.cap ?? station.refuse?.[1] ?? 999;
  let value = 0;
  let began = false;
  showWho(element, child, station, side);
  fill(element, { unit: station.kind === "score_count" ? `of ${most}` : "", say: station.text?.cue || "" });

  function show(next, word) {
    value = Math.max(0, Math.min(most, next));
    began = true;
    fill(element, { t: value });
    element.classList.toggle("full", value === most);
    cue(word);
    touched();
  }

  onPress(part(element, "plus"), () => show(value + 1, "tick"), { dead: SAME_TAP });
  onPress(part(element, "minus"), () => show(value - 1, "undo"), { dead: SAME_TAP });
  const result = () => ({ value, outcome: station.kind === "count" && value === station.cap ? "reached_cap" : "scored" });
  return {
    element,
    value: () => (began ? result() : null),
    nothing: () => ({ value: 0 }),
    status: () => (station.kind === "count" && value === station.cap ? "Reached cap" : ""),
    kept: () => value,
    restore: (kept) => { value = kept; began = true; fill(element, { t: value }); },
    key(event, go) {
      if (event.target.closest("input, select, dialog, button")) return;
      if (event.key === "+" || event.key === "ArrowUp") show(value + 1, "tick");
      else if (event.key === "-" || event.key === "ArrowDown") show(value - 1, "undo");
      else if (event.key === "Enter") go();
    },
  };
}
