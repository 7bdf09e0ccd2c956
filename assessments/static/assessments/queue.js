// The line of children above a station: who is next, who is done, who rests. Places never move while a clock runs.
"use strict";

import { children, taken, sidesOf, triesUsed, wordFor } from "./day.js";
import { fill, piece } from "./dom.js";
import { nameOf, resultWords, whoOf } from "./words.js";

const WORDS = { done: "done", away: "away", resting: "resting", stopped: "stopped today", ask: "ask first" };

/** What stands under a name in the line. */
export function stateWords(child, station) {
  const { word } = wordFor(child, station);
  if (word !== "ready" && word !== "done") return WORDS[word];
  const said = sidesOf(station)
    .map((side) => {
      const last = taken(child, station, side).at(-1);
      return last ? `${side ? `${side[0].toUpperCase()} ` : ""}${resultWords(last, station)}` : "";
    })
    .filter(Boolean);
  if (said.length) return said.join(", ");
  return word === "done" ? WORDS.done : "";
}

// A second look is blind: what the first coach gave is not shown.
function secondWords(child, station, word) {
  if (taken(child, station, "", true).length) return "second look done";
  return taken(child, station).length ? "seen once" : WORDS[word] || "";
}

/** Draw the line into `host`; `isOn` says who is chosen, `begun` who has something not kept yet; `choose` gets a child. */
export function drawQueue(host, station, { isOn, choose, only = null, blind = false, begun = () => false }) {
  const buttons = children()
    .filter((child) => !only || only === child.code)
    .map((child) => {
      const { word } = wordFor(child, station);
      const state = begun(child) ? "not kept yet" : blind ? secondWords(child, station, word) : stateWords(child, station);
      const button = piece("child", { name: nameOf(child), who: whoOf(child), state });
      button.dataset.child = child.code;
      button.dataset.word = word;
      button.classList.toggle("begun", begun(child));
      button.classList.toggle("on", isOn(child));
      button.setAttribute("aria-pressed", String(isOn(child)));
      button.addEventListener("click", () => choose(child));
      return button;
    });
  host.replaceChildren(...buttons);
  host.querySelector(".on")?.scrollIntoView({ block: "nearest", inline: "nearest" });
}

/** Who is chosen and what is done may have changed: repaint without moving anything. */
export function markQueue(host, station, { isOn }) {
  for (const button of host.children) {
    const child = children().find((one) => one.code === button.dataset.child);
    if (!child) continue;
    button.classList.toggle("on", isOn(child));
    button.setAttribute("aria-pressed", String(isOn(child)));
    button.dataset.word = wordFor(child, station).word;
    fill(button, { state: stateWords(child, station) });
  }
}

/** 'First try of 2', or '' when there is only one. */
export function tryWords(child, station, side, round) {
  const tries = station.attempts || 1;
  if (tries < 2) return "";
  const number = round || Math.min(tries, 1 + triesUsed(child, station, side));
  return `${["", "First", "Second", "Third", "Fourth"][number] || number} try of ${tries}`;
}
