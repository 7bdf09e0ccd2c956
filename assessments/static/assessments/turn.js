// One child at a time: who it is, which side, what was seen, and on to the next. Saving is going on; there is no save button.
"use strict";

import { children, hasRound, isDone, nextTrial, sidesOf, taken, triesUsed, wordFor } from "./day.js";
import { fill, onPress, part, piece, toast } from "./dom.js";
import { add, withdraw } from "./outbox.js";
import { askFirst } from "./care.js";
import { drawQueue } from "./queue.js";
import { keep, recall } from "./store.js";
import { cue } from "./tablet.js";
import { nameOf, resultWords, whoOf } from "./words.js";

const DRAFT = "draft";
const WHY = {
  away: "is away today.", stopped: "does no more today.", resting: "rests here today. Stations without that load are open.",
};

/**
 * Open a station for one child after another. `make(child, side, touched)` builds what is judged with and answers
 * {element, value(), problem(), restore(kept), kept()}; `how` is the entry's way; `inARow` keeps a child for all tries.
 */
export function openTurn(screen, acts, context, { make, how, inARow = false, chose = true }) {
  const { station } = context;
  const view = piece("turn");
  const bar = piece("acts-one");
  const body = part(view, "body");
  let child = null;
  let side = sidesOf(station)[0];
  let second = false;
  let tool = null;
  let asked = "";
  screen.replaceChildren(view);
  acts.replaceChildren(bar);
  part(bar, "chose").hidden = !chose;
  part(view, "sides").hidden = !station.sides;
  part(view, "second").hidden = station.kind !== "shape";

  const tries = () => (station.kind === "shape" ? 1 : station.attempts || 1);
  const sideOver = (one, word) => (second ? triesUsed(one, station, word, true) >= 1 : hasRound(one, station, word, tries()));
  const over = (one) => (second ? sidesOf(station).every((word) => sideOver(one, word)) : isDone(one, station));
  const may = (one) => ["ready", "ask", "done"].includes(wordFor(one, station).word);
  const waits = (one) => may(one) && !over(one);

  function following() {
    const all = context.only ? children().filter((one) => one.code === context.only) : children();
    const here = child ? all.findIndex((one) => one.code === child.code) : -1;
    return [...all.slice(here + 1), ...all.slice(0, Math.max(0, here))].find(waits) || null;
  }

  function pick(next, word = null) {
    child = next;
    asked = "";
    side = word || (child && sidesOf(station).find((one) => !sideOver(child, one))) || sidesOf(station)[0];
    draw();
    if (child) keep(DRAFT, { station: station.code, child: child.code, side, second, kept: null }).catch(context.alarm);
  }

  function draw() {
    drawQueue(part(view, "queue"), station, { isOn: (one) => one.code === child?.code, choose: pick, only: context.only, blind: second });
    for (const button of view.querySelectorAll("[data-side]")) button.setAttribute("aria-pressed", String(button.dataset.side === side));
    part(view, "second").setAttribute("aria-pressed", String(second));
    tool = null;
    const word = child ? wordFor(child, station).word : "";
    if (!child) drawOver();
    else if (word === "ask") body.replaceChildren(askFirst("ask", child, context, draw));
    else if (WHY[word]) drawClosed(word);
    else {
      tool = make(child, side, touched);
      body.replaceChildren(tool.element);
    }
    paint();
  }

  function drawOver() {
    const empty = piece("empty", { title: "Everybody here is done", text: "Pick a child above for another try, or go on to the next station.", act: "Next station" });
    part(empty, "act").addEventListener("click", () => context.onDone());
    body.replaceChildren(empty);
  }

  function drawClosed(word) {
    const next = following();
    const empty = piece("empty", { title: nameOf(child), text: `${nameOf(child)} ${WHY[word]}`, act: next ? `Go on: ${nameOf(next)}` : "Next station" });
    part(empty, "act").addEventListener("click", () => (next ? pick(next) : context.onDone()));
    body.replaceChildren(empty);
  }

  function paint() {
    const value = tool?.value();
    const skipped = child && !value ? following() : null;
    const next = child && (value ? nextPlace() : skipped && { child: skipped, side: null });
    for (const name of ["could_not", "chose"]) part(bar, name).disabled = !tool;
    part(bar, "go").disabled = !child || (!tool && !next);
    const to = next ? (next.child.code === child.code ? nextWord(next) : nameOf(next.child)) : "";
    fill(bar, { go: value ? (to ? `Next: ${to}` : "Done") : to ? `Skip to ${to}` : "Skip", status: tool?.status?.() || "" });
  }

  function nextWord(next) {
    return next.side === side ? `try ${2 + triesUsed(child, station, side, second)}` : next.side;
  }

  // Where the hand goes when this one is kept: another try, the other side, or the next child.
  function nextPlace() {
    const used = triesUsed(child, station, side, second) + 1;
    if (inARow && used < tries()) return { child, side };
    const other = sidesOf(station).find((word) => word !== side && !sideOver(child, word));
    if (other) return { child, side: other };
    const next = following();
    return next && next.code !== child.code ? { child: next, side: null } : null;
  }

  function touched() {
    asked = "";
    paint();
    keep(DRAFT, { station: station.code, child: child.code, side, second, kept: tool.kept() }).catch(context.alarm);
  }

  async function save(fields) {
    if (!context.judge()) {
      context.askJudge();
      return;
    }
    if (second && taken(child, station, side).some((entry) => entry.judge && entry.judge === context.judge())) {
      toast("A second look is another coach's. Choose who judges, at the top.", { warn: true });
      return;
    }
    const place = nextPlace();
    const who = child;
    const entry = {
      child: child.code, measure: station.measure, variant: station.variant || "", side, second, how,
      trial: nextTrial(child, station, side, second), ...fields,
    };
    try {
      const [record] = await add([entry], { also: [[DRAFT, null]] });
      cue("stop");
      toast(`${nameOf(who)} · ${second ? "second look kept" : resultWords(entry, station)}`, {
        undo: () => withdraw(record.id, "Undo").then(() => pick(who, entry.side), context.alarm),
      });
    } catch (error) {
      context.alarm(error);
    }
    if (place) pick(place.child, place.side);
    else if (context.only) context.onDone();
    else pick(null);
  }

  function go() {
    const value = tool?.value();
    if (!value) {
      const place = following();
      if (place) pick(place);
      else if (context.only) context.onDone();
      else pick(null);
      return;
    }
    const problem = tool.problem?.(asked);
    if (problem) {
      asked = problem.sure ? "sure" : "";
      return;
    }
    save(value);
  }

  onPress(part(bar, "go"), go);
  part(bar, "could_not").addEventListener("click", () => save({ value: station.kind === "shape" ? null : 0, outcome: "could_not_start" }));
  part(bar, "chose").addEventListener("click", () => {
    const value = tool?.value() || tool?.nothing?.();
    if (value && !tool.problem?.("sure")) save({ ...value, outcome: "chose_to_stop" });
    else toast("First what was reached, then 'Chose to stop'.");
  });
  part(bar, "hurts").addEventListener("click", () => context.hurts(child ? [child] : children(), { side, trial: child ? nextTrial(child, station, side) : 1 }));
  part(view, "second").addEventListener("click", () => { second = !second; pick(following() || child); });
  for (const button of view.querySelectorAll("[data-side]")) button.addEventListener("click", () => child && pick(child, button.dataset.side));
  const keys = (event) => tool?.key?.(event, go);
  document.addEventListener("keydown", keys);

  recall(DRAFT).catch(() => null).then((draft) => {
    const found = draft?.station === station.code && children().find((one) => one.code === draft.child);
    if (!found || (context.only && context.only !== found.code)) {
      pick(context.child ? children().find((one) => one.code === context.child) : following());
      return;
    }
    second = Boolean(draft.second);
    pick(found, draft.side);
    if (tool && draft.kept !== null) {
      tool.restore(draft.kept);
      touched();
    }
  });

  return {
    busy: () => false,
    refresh: () => drawQueue(part(view, "queue"), station, { isOn: (one) => one.code === child?.code, choose: pick, only: context.only, blind: second }),
    redraw: draw,
    leave: async () => document.removeEventListener("keydown", keys),
    title: () => [station.variant_name, station.attempts > 1 && station.kind !== "shape" ? `${station.attempts} tries` : "", station.text?.viewpoint ? `seen from the ${station.text.viewpoint}` : ""].filter(Boolean).join(" · "),
  };
}

/** The large name, with what tells two children of one name apart. */
export function showWho(element, child, station, side) {
  fill(element, { name: nameOf(child), who: [whoOf(child), side ? `${side} side` : ""].filter(Boolean).join(" · ") });
}
