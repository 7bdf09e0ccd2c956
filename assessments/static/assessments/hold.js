// A group hold: one start, a clock for each child, a tap when the shape breaks. Everything that a hand does is kept at once,
// so a page that is killed comes back with the stops that were seen and without any that were not.
"use strict";

import { children, childOf, day, hasRound, roundOf, setRoll, sidesOf, nextTrial, taken, wordFor } from "./day.js";
import { byId, fill, onPress, part, piece, toast, whisper } from "./dom.js";
import { commit, freshBoard, finishBoard, persist, seconds } from "./board.js";
import { askFirst, openHurts } from "./care.js";
import { drawQueue, markQueue, tryWords } from "./queue.js";
import { Stopwatch, wholeSeconds } from "./stopwatch.js";
import { cue, keepAwake, settings } from "./tablet.js";
import { layOut, paintChips, paintTile } from "./tiles.js";
import { count, nameOf } from "./words.js";

const COUNT_IN = 3000;
const UNDO = 3000;
const DEAD = 350;  // a second touch sooner than this is the same tap, a palm or a neighbour's finger
const kept = { size: 4, side: {} };

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
  let chosen = null;
  let side = context.side || kept.side[station.code] || sidesOf(station)[0];
  let release = () => undefined;

  screen.replaceChildren(view);
  acts.replaceChildren(bar);
  const queue = part(view, "queue");
  const host = part(view, "board");
  const running = () => board?.tiles.filter((tile) => tile.state === "run") || [];

  // --- choosing the group ------------------------------------------------------------------------------------------

  function candidates() {
    const round = roundOf(station, side);
    const may = children().filter((child) => {
      if (context.only) return child.code === context.only;
      const { word } = wordFor(child, station);
      return (word === "ready" || word === "ask") && !hasRound(child, station, side, round);
    });
    return context.only ? may : may.slice(0, kept.size);
  }

  function group() {
    return chosen ? chosen.map(childOf) : candidates();
  }

  function toggle(child) {
    if (board) return;
    const now = group().map((one) => one.code);
    if (now.includes(child.code)) chosen = now.filter((code) => code !== child.code);
    else if (!["ready", "ask", "done"].includes(wordFor(child, station).word)) {
      toast(`${nameOf(child)} is not in this hold today.`);
      return;
    } else chosen = [...now, child.code].slice(-8);
    drawReady();
  }

  function drawReady() {
    board = null;
    const waiting = group();
    part(view, "cue").hidden = true;
    part(view, "choices").hidden = false;
    queue.hidden = false;
    fill(view, { size: kept.size });
    part(view, "sides").hidden = !station.sides;
    for (const button of view.querySelectorAll("[data-side]")) button.setAttribute("aria-pressed", String(button.dataset.side === side));
    drawQueue(queue, station, { isOn: (child) => waiting.includes(child), choose: toggle, only: context.only });
    const tiles = waiting.map((child) => {
      if (wordFor(child, station).word === "ask") return askFirst("tile-ask", child, context, drawReady);
      const tile = piece("tile", { name: nameOf(child), who: child.birth_month, tap: tryWords(child, station, side, roundOf(station, side)) });
      tile.dataset.child = child.code;
      part(tile, "press").disabled = true;
      part(tile, "press").setAttribute("aria-label", nameOf(child));
      const before = taken(child, station, side).map((entry) => seconds(entry.value)).filter(Boolean).join(", ");
      if (before) fill(tile, { tap: `${tryWords(child, station, side, roundOf(station, side))} · before: ${before}` });
      return tile;
    });
    layOut(host, tiles);
    paintReady(waiting);
  }

  function paintReady(waiting) {
    const ready = waiting.filter((child) => wordFor(child, station).open);
    const asking = waiting.length - ready.length;
    fill(bar, { status: asking ? `${count(asking, "child", "children")} to ask first` : "", go: "Start" });
    part(bar, "go").disabled = !ready.length;
    for (const name of ["reminder", "chose"]) part(bar, name).disabled = true;
    setMode("");
    if (waiting.length) return;
    const next = sidesOf(station).find((one) => one !== side && children().some((child) => wordFor(child, station).word === "ready" && !hasRound(child, station, one, roundOf(station, one))));
    const empty = next
      ? piece("empty", { title: `All done on the ${side}`, text: "The other side is next.", act: `Go to the ${next}` })
      : piece("empty", { title: "Everybody here is done", text: "Pick a child above for another try, or go on to the next station.", act: "Next station" });
    part(empty, "act").addEventListener("click", () => (next ? pickSide(next) : context.onDone()));
    host.replaceChildren(empty);
    host.className = "holding one";
  }

  function pickSide(word) {
    side = word;
    kept.side[station.code] = word;
    chosen = null;
    drawReady();
  }

  // --- the clock ---------------------------------------------------------------------------------------------------

  async function start() {
    const waiting = group().filter((child) => wordFor(child, station).open);
    if (!waiting.length || board) return;
    if (!context.judge()) {
      context.askJudge();
      return;
    }
    board = freshBoard({ station, side, judge: context.judge(), children: waiting, trial: (child) => nextTrial(child, station, side) });
    context.lock(true);
    release = await keepAwake();
    part(view, "choices").hidden = true;
    queue.hidden = true;
    part(view, "cue").hidden = false;
    fill(view, { cue: station.text?.cue || station.text?.say || "" });
    layOut(host, board.tiles.map(drawTile));
    part(bar, "go").disabled = true;
    await countIn();
    watch = new Stopwatch(interrupted);
    watch.start();
    Object.assign(board, { phase: "run", began: watch.began, began_wall: watch.began_wall });
    for (const tile of board.tiles) if (tile.state === "ready") tile.state = "run";
    cue("go");
    save();
    for (const tile of board.tiles) paint(tile);
    for (const name of ["reminder", "chose"]) part(bar, name).disabled = false;
    beat = setInterval(dues, 250);
    if (watch.broken) interrupted(watch.broken);
    tick();
  }

  function countIn() {
    const shade = piece("count-in");
    host.append(shade);
    const began = performance.now();
    let shown = 0;
    return new Promise((resolve) => {
      const step = () => {
        const left = Math.ceil((COUNT_IN - (performance.now() - began)) / 1000);
        if (left <= 0) {
          shade.remove();
          resolve();
          return;
        }
        if (left !== shown) {
          shown = left;
          fill(shade, { number: left });
          cue("count");
        }
        requestAnimationFrame(step);
      };
      step();
    });
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
    const element = piece("tile", { name: nameOf(childOf(tile.child)), who: childOf(tile.child).birth_month });
    element.dataset.child = tile.child;
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
    const left = running().length;
    const done = board && !left && board.phase !== "count";
    const more = candidates().filter((child) => !board?.tiles.some((tile) => tile.child === child.code)).length;
    fill(bar, { status: done ? "" : `${left} still holding`, go: context.only ? "Done" : nextWords(more) });
    part(bar, "go").disabled = !done;
  }

  function nextWords(more) {
    if (!more) return "Done";
    return more === 1 ? "Next child" : `Next ${["", "", "two", "three", "four", "five", "six", "seven", "eight"][more]}`;
  }

  // --- what a press means -------------------------------------------------------------------------------------------

  function press(tile, moment) {
    if (!board || board.phase !== "run") return;
    if (tile.state === "run") {
      const early = !board.cap || watch.elapsed(moment) < board.cap * 1000;
      if (mode === "reminder") remind(tile);
      else if (mode === "hurts") hurts(tile, moment);
      else stop(tile, moment, early ? (mode === "chose" ? "chose_to_stop" : "scored") : "reached_cap");
      if (mode) setMode("");
      return;
    }
    if (moment - tile.touched < DEAD) return;
    if (mode === "chose" && tile.state === "stopped") amend(tile, { outcome: "chose_to_stop" });
    else if (mode === "hurts" && tile.state === "stopped") hurts(tile, moment);
    else if (!mode && canUndo(tile)) undo(tile);
    setMode("");
  }

  const canUndo = (tile) => tile.state === "stopped" && !tile.committed && Date.now() - tile.stopped_at < UNDO && !watch.broken
    && tile.outcome !== "reached_cap" && (!board.cap || watch.elapsed() < board.cap * 1000);

  function stop(tile, moment, outcome) {
    if (!watch.check()) return;
    const at = watch.elapsed(moment);
    Object.assign(tile, { state: "stopped", stop: at, value: wholeSeconds(at), outcome, touched: moment, stopped_at: Date.now() });
    if (outcome === "reached_cap") Object.assign(tile, { value: board.cap, stop: board.cap * 1000 });
    paint(tile);
    cue("stop");
    save();
    whisper(`${nameOf(childOf(tile.child))} ${seconds(tile.value)}`);
  }

  function undo(tile) {
    if (!canUndo(tile)) return;
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

  async function hurts(tile, moment) {
    Object.assign(tile, { state: "stopped", stop: watch.elapsed(moment), value: null, outcome: "stopped_for_pain", touched: moment, stopped_at: Date.now() });
    await setRoll(tile.child, { stopped: true }, context.judge()).catch(context.alarm);
    paint(tile);
    save();
  }

  function interrupted(why) {
    if (!running().length) return;
    for (const tile of running()) {
      Object.assign(tile, { state: "stopped", value: null, outcome: "interrupted", stopped_at: 0 });
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
    if (!board) return;
    const due = board.tiles.filter((tile) => tile.state === "stopped" && !tile.committed && Date.now() - tile.stopped_at >= UNDO);
    if (due.length) commit(board, due).then(() => due.forEach((tile) => board && paint(tile)), context.alarm);
    // The clock is watched until the last undo is over.
    if (board.phase === "run" && board.tiles.every((tile) => tile.committed)) {
      close();
      askWhere();
    }
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

  // Where it hurts is asked when no clock runs: a question must never cover a running tile.
  async function askWhere() {
    for (const tile of board.tiles.filter((one) => one.outcome === "stopped_for_pain" && !one.asked)) {
      tile.asked = true;
      const said = await openHurts(childOf(tile.child));
      if (said) amend(tile, { areas: said.areas, note: said.note });
    }
  }

  async function next() {
    if (running().length || board.phase === "count" || byId("panel").open) return;
    close();
    clearInterval(beat);
    await askWhere();
    const finished = board;
    board = null;
    chosen = null;
    try {
      await finishBoard(finished);
    } catch (error) {
      context.alarm(error);
    }
    if (context.only) context.onDone();
    else drawReady();
  }

  function setMode(word) {
    mode = mode === word ? "" : word;
    for (const name of ["reminder", "chose", "hurts"]) part(bar, name).setAttribute("aria-pressed", String(mode === name));
    view.dataset.mode = mode;
    if (mode && board) {
      const who = board.tiles.length === 1 ? board.tiles[0] : null;
      if (who) press(who, performance.now());
      else whisper("Now tap the child.");
    }
  }

  onPress(part(bar, "go"), () => (board ? next() : start()));
  for (const name of ["reminder", "chose"]) onPress(part(bar, name), () => setMode(name));
  onPress(part(bar, "hurts"), () => {
    if (board && board.phase === "run") setMode("hurts");
    else context.hurts(group());
  });
  part(view, "fewer").addEventListener("click", () => { kept.size = Math.max(1, kept.size - 1); chosen = null; drawReady(); });
  part(view, "more").addEventListener("click", () => { kept.size = Math.min(8, kept.size + 1); chosen = null; drawReady(); });
  for (const button of view.querySelectorAll("[data-side]")) button.addEventListener("click", () => pickSide(button.dataset.side));
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
      document.removeEventListener("keydown", keys);
      clearInterval(beat);
      cancelAnimationFrame(frame);
      if (board) await finishBoard(board).catch(context.alarm);
    },
    title: () => [day.data.day.groups.join(", "), station.variant_name, station.cap ? `stops at ${station.cap} s` : ""].filter(Boolean).join(" · "),
  };
}
