// How the tiles of a group look. Nothing here decides; a tile shows its state by frame, words and number.
"use strict";

import { childOf } from "./day.js";
import { fill, onChoice, part, piece } from "./dom.js";
import { wholeSeconds } from "./stopwatch.js";
import { nameOf, whoOf } from "./words.js";

const GRID = ["", "one", "two", "three", "two by-two", "three by-two", "three by-two", "four by-two", "four by-two"];

/** Put tiles on the board; the number of columns follows the number of children, so places stay put during a hold. */
export function layOut(host, tiles) {
  host.className = `holding ${GRID[tiles.length] || ""}`;
  host.replaceChildren(...tiles);
}

/** A child's tile: name, group and month of birth. Where room is short the group gives way, never the month. */
export function tileOf(child, slots = {}) {
  const { group, birth_month: month } = child;
  const tile = piece("tile", { name: nameOf(child), group: group || "", month: group && month ? `· ${month}` : month, ...slots });
  tile.dataset.child = child.code;
  return tile;
}

const find = (view, tile) => view.querySelector(`.tile[data-child="${tile.child}"]`);

const undoWords = (tile) => (tile.committed ? "" : " · tap to undo");

function tapWords(tile) {
  if (tile.state === "ready") return "Get ready";
  if (tile.state === "run") return tile.reminder ? "Reminder given · tap when it breaks again" : "Tap when the shape breaks";
  return {
    reached_cap: "Reached cap", chose_to_stop: `Chose to stop${undoWords(tile)}`, interrupted: "Interrupted: no time, may try again",
    stopped_for_pain: `Stopped for today. No score kept${undoWords(tile)}`, could_not_start: "Could not start", not_attempted: "Had no turn",
  }[tile.outcome] || (tile.committed ? "" : "Tap to undo");
}

function spoken(tile) {
  const name = `${nameOf(childOf(tile.child))}, ${whoOf(childOf(tile.child))}`;
  if (tile.state === "run") return `${name}: holding${tile.reminder ? ", reminder given" : ""}. Stop`;
  if (tile.state === "ready") return `${name}: get ready`;
  return `${name}: ${tile.value === null ? "" : `${tile.value} seconds. `}${tapWords(tile)}`;
}

/** Paint one tile. While a clock is moving only the number and the lane change. */
export function paintTile(view, board, tile, now, { moving = false, element = find(view, tile) }) {
  if (!element) return;
  const shown = tile.state === "stopped" ? tile.value : wholeSeconds(now);
  fill(element, { t: shown === null ? "–" : shown });
  const lane = part(element, "lane");
  if (board.cap) lane.firstElementChild.setAttribute("width", `${Math.min(100, ((tile.stop ?? now) / board.cap / 10)).toFixed(1)}%`);
  if (moving) return;
  lane.toggleAttribute("hidden", !board.cap);
  element.classList.toggle("run", tile.state === "run");
  element.classList.toggle("done", tile.state === "stopped");
  element.classList.toggle("fresh", tile.state === "stopped" && !tile.committed && tile.outcome === "scored");
  element.dataset.state = tile.state;
  element.dataset.outcome = tile.outcome;
  fill(element, { tap: tapWords(tile) });
  part(element, "press").setAttribute("aria-label", spoken(tile));
}

/** Under a stopped tile: what broke first, and the other ways in which a hold ends. */
export function paintChips(view, board, tile, station, amend) {
  const element = find(view, tile);
  if (!element) return;
  const host = part(element, "why");
  const open = tile.state === "stopped" && (tile.value !== null || tile.outcome === "not_attempted");
  host.hidden = !open;
  part(element, "lane").toggleAttribute("hidden", open || !board.cap);
  if (!open) return;
  const faults = station.breaks || [];
  const chips = faults.map((fault) => chip(fault.words, tile.form_break === fault.id, () =>
    amend({ form_break: tile.form_break === fault.id ? "" : fault.id })));
  if (tile.outcome !== "reached_cap") {
    if (tile.stop > 2999) chips.push(chip("Chose to stop", tile.outcome === "chose_to_stop", () =>
      amend({ outcome: tile.outcome === "chose_to_stop" ? "scored" : "chose_to_stop" })));
    else {
      for (const [outcome, words, value] of [["could_not_start", "Could not start", 0], ["not_attempted", "Had no turn", null]]) {
        const on = tile.outcome === outcome;
        chips.push(chip(words, on, () => amend({ outcome: on ? "scored" : outcome, value: on ? wholeSeconds(tile.stop) : value, form_break: "" })));
      }
    }
  }
  host.replaceChildren(...chips);
}

function chip(text, on, act) {
  const button = piece("chip", { text });
  button.setAttribute("aria-pressed", String(on));
  onChoice(button, act);
  return button;
}
