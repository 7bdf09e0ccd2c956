// The running group as it is kept on the tablet: who holds since when, and who has stopped. It turns into entries once the
// time for an undo is over, and it is what a page that was killed finds when it comes back.
"use strict";

import { add, change, newId, records, release } from "./outbox.js";
import { ask, keep, run } from "./store.js";
import { amount } from "./words.js";

// What broke first may still be tapped for some seconds before the entry goes out; after that a change is a new entry.
const LINGER = 8000;
// Where it hurts is asked when no clock runs; so long the club opens no rest note that says nothing.
export const ASKING = 60_000;
const KEYS = "hold";
const page = newId();
// Each page has a key of its own: two tabs that hold at once do not write over one another.
const KEY = `${KEYS}:${page}`;
let writing = Promise.resolve();
let committing = Promise.resolve();

/** A board for these children. Ids are given now, so that finishing it twice cannot make two entries. */
export function freshBoard({ station, side, judge, children, trial }) {
  return {
    id: newId(), page, station: station.code, measure: station.measure, variant: station.variant || "", side, judge,
    cap: station.cap || null, phase: "count", began: 0, began_wall: 0, at_once: children.length,
    tiles: children.map((child) => ({
      id: newId(), child: child.code, trial: trial(child), state: "ready", stop: null, value: null, outcome: "",
      form_break: "", reason: "", reminder: false, touched: 0, stopped_at: 0, committed: false, areas: [], note: "",
    })),
  };
}

/** Keep the board as it is now. Writes follow one another, the last one wins. */
export function persist(board) {
  const image = structuredClone(board);
  writing = writing.catch(() => undefined).then(() => keep(KEY, image));
  return writing;
}

/** A start that was called back: nothing of it is kept. */
export function discard() {
  writing = writing.catch(() => undefined).then(() => keep(KEY, null));
  return writing;
}

function entryOf(board, tile) {
  return {
    id: tile.id, child: tile.child, measure: board.measure, variant: board.variant, side: board.side, trial: tile.trial,
    how: "timed", at_once: board.at_once, judge: board.judge, outcome: tile.outcome, value: tile.value,
    form_break: tile.form_break, reason: tile.reason || "", reminder: tile.reminder, areas: tile.areas, note: tile.note,
    t_wall: new Date(board.began_wall + (tile.stop || 0)).toISOString(),
    t_mono_start: board.began, t_mono_stop: tile.stop === null ? null : board.began + tile.stop,
  };
}

/** Make entries of stopped tiles, or change those that were made already. One after the other: a change follows its entry. */
export function commit(board, tiles, options = {}) {
  // Said at once, so that the next beat does not make them again.
  if (!options.changed) for (const tile of tiles) tile.committed = true;
  committing = committing.catch(() => undefined).then(() => commitNow(board, tiles, options));
  return committing;
}

async function commitNow(board, tiles, { changed = null }) {
  if (changed) {
    for (const tile of tiles) tile.id = (await change(tile.id, changed)).id;
    return;
  }
  const pain = tiles.filter((tile) => tile.outcome === "stopped_for_pain");
  const others = tiles.filter((tile) => !pain.includes(tile));
  try {
    for (const [some, wait] of [[others, LINGER], [pain, ASKING]]) {
      if (some.length) await add(some.map((tile) => entryOf(board, tile)), { wait, also: [[KEY, structuredClone(board)]] });
    }
  } catch (error) {
    for (const tile of tiles) tile.committed = false;
    throw error;
  }
}

/** The group is over: everything goes into the outbox and out. `why` says what interrupted those who still held. */
export async function finishBoard(board, { key = KEY, why = "" } = {}) {
  await committing.catch(() => undefined);
  const left = board.tiles.filter((tile) => tile.state === "stopped" && !tile.committed);
  const rest = board.tiles.filter((tile) => tile.state === "run");
  for (const tile of rest) Object.assign(tile, { state: "stopped", outcome: "interrupted", value: null, reason: why });
  await add([...left, ...rest].map((tile) => entryOf(board, tile)), { also: [[key, null]] });
  await release(board.tiles.map((tile) => tile.id).filter((id) => records.has(id)));
}

/**
 * After a page was killed: stops that were seen are kept, the others are interrupted and have no time. A board that
 * another tab still runs is left alone. Answers what to tell the coach, or ''.
 */
export async function pickUp() {
  const range = IDBKeyRange.bound(KEYS, `${KEYS}:\uffff`);
  const found = await run(["kept"], "readonly", ({ kept }) => ask(kept.getAll(range)));
  const told = [];
  for (const { key, value } of found) if (value && value.page !== page) told.push(await pickUpOne(key, value));
  return told.filter(Boolean).join(" ");
}

async function pickUpOne(key, board) {
  if (navigator.locks) {
    const free = await navigator.locks.request(`groundwork-hold-${board.page}`, { ifAvailable: true }, (lock) => Boolean(lock));
    if (!free) return "";
  }
  if (board.phase !== "run") {
    await keep(key, null);
    return "";
  }
  const lost = board.tiles.filter((tile) => tile.state === "run").length;
  const kept = board.tiles.length - lost;
  await finishBoard(board, { key, why: "The page was closed during the hold" });
  const first = kept === 1 ? "1 child stopped earlier is kept" : `${kept} children stopped earlier are kept`;
  if (!lost) return "";
  return `The page was closed during a hold. ${first}, ${lost} without a time: interrupted, they may try again.`;
}

/** Hold a lock as long as this page lives, so that a second tab does not take the board for an orphan. */
export function claimPage() {
  navigator.locks?.request(`groundwork-hold-${page}`, () => new Promise(() => undefined));
}

/** '17 s'. */
export const seconds = (value) => amount(value, "s");
