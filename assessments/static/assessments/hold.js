// A group hold: one start, a clock for each child, a tap when the shape breaks. Everything that a hand does is kept at once,
// so a page that is killed comes back with the stops that were seen and without any that were not.
"use strict";

import { childOf, day, nextTrial, setRoll, wordFor } from "./day.js";
import { byId, fill, onPress, part, piece, rest, toast, whisper } from "./dom.js";
import { commit, discard, freshBoard, finishBoard, persist, seconds } from "./board.js";
import { BY_MISTAKE, openHurts } from "./care.js";
import { countIn } from "./countin.js";
import { markQueue } from "./queue.js";
import { Ready } from "./ready.js";
import { Stopwatch, wholeSeconds } from "./stopwatch.js";
import { cue, keepAwake, settings } from "./tablet.js";
import { layOut, paintChips, paintTile, tileOf } from "./tiles.js";
import { nameOf } from "./words.js";

const UNDO = 3000;
const DEAD = 350;  // a second touch sooner than this is the same tap, a palm or a neighbour's finger
const NUMBERS = ["", "", "two", "three", "four", "five", "six", "seven", "eight"];

/** Open a hold station. `context` has station, judge(), only (a child's code or null), alarm() and onDone(). */
export function openHold(screen, acts, context) {
  const { station } = context;
  const view = piece("hold");
  const bar = piece("acts-hold");
  let board = null;
  let watch = null;
  let mode = "";
  let frame = 0;
  let beat = 0;
  let busy = false;
  let left = false;
  let cancelled = null;
  let pause = 0;
  let again = 0;
  let began = 0;
  let changed = -Infinity;
  let release = () => undefined;

  screen.replaceChildren(view);
  acts.replaceChildren(bar);
  const queue = part(view, "queue");
  const host = part(view, "board");
  const ready = new Ready({ context, view, bar, isFree: () => !board && !busy });
  const running = () => board?.tiles.filter((tile) => tile.state === "run") || [];

  // Nobody holds: the group that lies ready, and nothing armed.
  function drawReady() {
    setMode("");
    ready.draw();
  }

  // --- the clock ---------------------------------------------------------------------------------------------------

  async function start() {
    const waiting = ready.open();
    const { side } = ready;
    if (!waiting.length || board || busy || left) return;
    if (!context.judge()) {
      context.askJudge();
      return;
    }
    forgetCancelled();
    const mine = freshBoard({ station, side, judge: context.judge(), children: waiting, trial: (child) => nextTrial(child, station, side) });
    board = mine;
    drawRun();
    if (!(await countIn(host, () => board === mine))) return;
    watch = new Stopwatch(interrupted);
    watch.start();
    Object.assign(board, { phase: "run", began: watch.began, began_wall: watch.began_wall });
    for (const tile of board.tiles) if (tile.state === "ready") tile.state = "run";
    cue("go");
    save();
    runOn();
  }

  function drawRun() {
    const mine = board;
    context.lock(true);
    keepAwake().then((letGo) => { if (board === mine && !mine.over) release = letGo; else letGo(); });
    for (const name of ["choices", "after"]) part(view, name).hidden = true;
    queue.hidden = true;
    part(view, "cue").hidden = false;
    fill(view, { cue: station.text?.cue || station.text?.say || "" });
    layOut(host, board.tiles.map(drawTile));
    part(bar, "look").hidden = true;
    part(bar, "cancel").hidden = false;
    rest(part(bar, "cancel"), DEAD);
    began = performance.now();
    fill(bar, { status: "", go: "Next" });
    part(bar, "go").disabled = true;
  }

  function runOn() {
    for (const tile of board.tiles) paint(tile);
    for (const name of ["reminder", "chose"]) part(bar, name).disabled = false;
    beat = setInterval(dues, 250);
    if (watch.broken) interrupted(watch.broken);
    tick();
  }

  // --- a false start --------------------------------------------------------------------------------------------------

  const mayCancel = () => Boolean(board) && (board.phase === "count" || board.tiles.every((tile) => tile.state === "run" && !tile.touched));

  // Nothing was seen yet, so nothing is kept. Until something else begins the same clocks may run on.
  function cancel(moment) {
    if (!mayCancel() || moment - began < DEAD) return;
    const ran = board.phase === "run";
    cancelled = ran ? { board, watch } : null;
    clearInterval(beat);
    cancelAnimationFrame(frame);
    release();
    context.lock(false);
    board = null;
    discard().catch(context.alarm);
    toast("Start called back. Nothing was kept.", ran ? { undo: resume } : {});
    drawReady();
  }

  function resume() {
    if (!cancelled || board || busy || left || cancelled.watch.broken) {
      toast("That start is gone. Start again.");
      return;
    }
    ({ board, watch } = cancelled);
    cancelled = null;
    drawRun();
    save();
    runOn();
  }

  function forgetCancelled() {
    cancelled?.watch.stop();
    cancelled = null;
  }

  function tick() {
    if (!board || board.phase !== "run") return;
    const now = watch.elapsed();
    for (const tile of running()) {
      if (board.cap && now >= board.cap * 1000) stop(tile, watch.began + board.cap * 1000, "reached_cap");
      else paintTile(view, board, tile, now, { moving: true });
    }
    frame = requestAnimationFrame(tick);
  }

  function drawTile(tile) {
    const element = tileOf(childOf(tile.child));
    onPress(part(element, "press"), (moment) => press(tile, moment));
    paintTile(view, board, tile, 0, { element });
    return element;
  }

  function paint(tile) {
    paintTile(view, board, tile, tile.stop ?? watch?.elapsed() ?? 0, {});
    paintChips(view, board, tile, station, (fields) => amend(tile, fields));
    paintStatus();
  }

  function paintStatus() {
    if (!board) return;
    const holding = running().length;
    const done = !holding && board.phase !== "count";
    const coming = done && !context.only ? ready.candidates(stoppedOnly()) : [];
    const begins = coming.length > 0 && coming.every((child) => wordFor(child, station).open);
    // The button that said 'Done' may say 'Start' a moment later, when the last of a round are entries: a hand on its way meant 'Done'.
    if (done && begins && board.offer === "none") changed = performance.now();
    board.offer = done ? (begins ? "start" : "none") : "";
    fill(bar, { status: done || board.phase === "count" ? "" : `${holding} still holding`, go: done ? nextWords(coming, begins) : "Next" });
    fill(view, { after: coming.map(nameOf).join(" · ") });
    part(view, "after").hidden = !begins;
    part(view, "cue").hidden = begins;
    part(bar, "cancel").hidden = !mayCancel();
    part(bar, "reminder").hidden = done;
    part(bar, "look").hidden = !begins;
    part(bar, "look").disabled = busy;
    part(bar, "go").disabled = !done || busy;
  }

  // Who has stopped but is no entry yet: the next group is known while this one is still on screen.
  function stoppedOnly() {
    return new Set(board.tiles.filter((tile) => !tile.committed && tile.outcome !== "interrupted").map((tile) => tile.child));
  }

  function nextWords(coming, begins) {
    if (!coming.length) return "Done";
    const who = coming.length === 1 ? "next child" : `next ${NUMBERS[coming.length]}`;
    return begins ? `Start the ${who}` : `N${who.slice(1)}`;
  }

  // --- what a press means -------------------------------------------------------------------------------------------

  function press(tile, moment) {
    if (!board || board.phase !== "run" || moment - tile.touched < DEAD) return;
    const said = mode;
    if (mode) setMode("");
    if (tile.state === "run") {
      const early = !board.cap || watch.elapsed(moment) < board.cap * 1000;
      if (said === "reminder") remind(tile);
      else if (said === "hurts") hurts(tile, moment);
      else stop(tile, moment, early ? (said === "chose" ? "chose_to_stop" : "scored") : "reached_cap");
    } else if (said === "chose" && tile.value !== null) amend(tile, { outcome: "chose_to_stop" });
    else if (said === "hurts") hurts(tile, moment);
    else if (!said && canUndo(tile)) undo(tile);
  }

  const canUndo = (tile) => tile.state === "stopped" && !tile.committed && performance.now() - tile.stopped_at < UNDO && !watch.broken
    && tile.outcome !== "reached_cap" && (!board.cap || watch.elapsed() < board.cap * 1000);

  function stop(tile, moment, outcome) {
    if (!watch.check()) return;
    const at = watch.elapsed(moment);
    Object.assign(tile, { state: "stopped", stop: at, value: wholeSeconds(at), outcome, touched: moment, stopped_at: performance.now() });
    if (outcome === "reached_cap") Object.assign(tile, { value: board.cap, stop: board.cap * 1000 });
    paint(tile);
    cue("stop");
    save();
    whisper(`${nameOf(childOf(tile.child))} ${seconds(tile.value)}`);
  }

  function undo(tile) {
    if (tile.outcome === "stopped_for_pain") stopForDay(tile, false);
    Object.assign(tile, { state: "run", stop: null, value: null, outcome: "", form_break: "", touched: performance.now() });
    paint(tile);
    cue("undo");
    save();
  }

  function remind(tile) {
    if (tile.reminder) toast(`${nameOf(childOf(tile.child))} had the one reminder.`);
    tile.reminder = true;
    paint(tile);
    save();
  }

  function amend(tile, fields) {
    Object.assign(tile, fields);
    paint(tile);
    save();
    if (tile.committed) commit(board, [tile], { changed: fields }).catch(context.alarm);
  }

  function stopForDay(tile, on) {
    setRoll(tile.child, { stopped: on, stop: on ? tile.id : null }, context.judge()).catch(context.alarm);
  }

  function hurts(tile, moment) {
    if (tile.outcome === "stopped_for_pain") return;
    stopForDay(tile, true);
    if (tile.state === "run") Object.assign(tile, { state: "stopped", stop: watch.elapsed(moment), touched: moment, stopped_at: performance.now() });
    amend(tile, { outcome: "stopped_for_pain", value: null, form_break: "" });
  }

  function interrupted(why) {
    if (!running().length) return;
    for (const tile of running()) {
      Object.assign(tile, { state: "stopped", value: null, outcome: "interrupted", reason: `Interrupted: ${why}`, stopped_at: -UNDO });
      paint(tile);
    }
    context.note(`The clock was interrupted: ${why}. Stops before that are kept; the others have no time and may try again.`);
    dues();
  }

  // --- keeping ------------------------------------------------------------------------------------------------------

  function save() {
    persist(board).catch(context.alarm);
  }

  function dues() {
    const now = performance.now();
    if (!board || now < again) return;
    const due = board.tiles.filter((tile) => tile.state === "stopped" && !tile.committed && now - tile.stopped_at >= UNDO);
    if (due.length) commit(board, due).then(() => { pause = 0; due.forEach((tile) => board && paint(tile)); }, later);
    // The clock is watched until the last undo is over.
    if (board.phase === "run" && board.tiles.every((tile) => tile.committed)) {
      close();
      askWhere();
    }
  }

  // A tablet that cannot write is asked again after 1, 2, 4 and then every 8 seconds: the alarm must be readable meanwhile.
  function later(error) {
    pause = Math.min(8000, 2 * pause || 1000);
    again = performance.now() + pause;
    context.alarm(error);
  }

  function close() {
    if (board.over) return;
    board.over = true;
    watch.stop();
    cancelAnimationFrame(frame);
    release();
    context.lock(false);
    for (const name of ["reminder", "chose"]) part(bar, name).disabled = name === "reminder";
    paintStatus();
  }

  // Where it hurts is asked when no clock runs: a question must never cover a running tile. Answers whether it was asked.
  async function askWhere() {
    const list = board.tiles.filter((one) => one.outcome === "stopped_for_pain" && !one.asked);
    for (const tile of list) {
      tile.asked = true;
      const said = await openHurts(childOf(tile.child));
      if (said?.mistake) {
        stopForDay(tile, false);
        amend(tile, { outcome: "interrupted", reason: BY_MISTAKE });
      } else if (said) amend(tile, { areas: said.areas, note: said.note });
    }
    return list.length > 0;
  }

  // On to the next group. `begin`: their names stood on the screen, so they start at once; anything else is looked at first.
  async function next(begin) {
    if (busy || running().length || board.phase === "count" || byId("panel").open) return;
    busy = true;
    const shown = begin && performance.now() - changed > 2 * DEAD && !part(view, "after").hidden ? part(view, "after").querySelector("[data-slot]").textContent : "";
    close();
    clearInterval(beat);
    paintStatus();
    const asked = await askWhere();
    const finished = board;
    board = null;
    ready.chosen = null;
    try {
      await finishBoard(finished);
    } catch (error) {
      context.alarm(error);
    }
    busy = false;
    if (left) return;
    if (context.only) {
      context.onDone();
      return;
    }
    drawReady();
    if (shown && !asked && ready.group().map(nameOf).join(" · ") === shown) start();
  }

  function setMode(word) {
    mode = mode === word ? "" : word;
    for (const name of ["reminder", "chose", "hurts"]) part(bar, name).setAttribute("aria-pressed", String(mode === name));
    view.dataset.mode = mode;
    if (mode && board) {
      const who = board.tiles.length === 1 ? board.tiles[0] : null;
      if (who) {
        press(who, performance.now());
        if (mode) setMode("");
      }
      else whisper("Now tap the child.");
    }
  }

  onPress(part(bar, "go"), () => (board ? next(true) : start()), { dead: DEAD });
  onPress(part(bar, "look"), () => board && next(false), { dead: DEAD });
  onPress(part(bar, "cancel"), cancel);
  for (const name of ["reminder", "chose"]) onPress(part(bar, name), () => setMode(name));
  onPress(part(bar, "hurts"), () => {
    if (board && board.phase === "run") setMode("hurts");
    else context.hurts(ready.group());
  });
  const keys = (event) => {
    if (!settings.keys || !board || event.repeat || !/^[1-8]$/.test(event.key) || byId("panel").open) return;
    const tile = board.tiles[Number(event.key) - 1];
    if (tile) press(tile, event.timeStamp);
  };
  document.addEventListener("keydown", keys);
  drawReady();

  return {
    busy: () => Boolean(board) && !board.over,
    refresh: () => { if (!board) drawReady(); else markQueue(queue, station, { isOn: () => false }); },
    async leave() {
      left = true;
      forgetCancelled();
      document.removeEventListener("keydown", keys);
      clearInterval(beat);
      cancelAnimationFrame(frame);
      if (board) await finishBoard(board).catch(context.alarm);
    },
    title: () => [day.data.day.groups.join(", "), station.variant_name, station.cap ? `stops at ${station.cap} s` : ""].filter(Boolean).join(" · "),
  };
}
