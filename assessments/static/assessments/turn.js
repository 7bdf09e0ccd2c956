// One child at a time: who it is, which side, what was seen, and on to the next. Saving is going on; there is no save button.
"use strict";

import { childOf, children, hasRound, isDone, nextTrial, sidesOf, taken, triesUsed, wordFor } from "./day.js";
import { byId, fill, onPress, part, piece, rest, toast } from "./dom.js";
import { add, newId, records, withdraw } from "./outbox.js";
import { askFirst } from "./care.js";
import { Drafts } from "./drafts.js";
import { drawQueue } from "./queue.js";
import { cue, settings } from "./tablet.js";
import { nameOf, resultWords, whoOf } from "./words.js";

const DEAD = 350;  // a press on the bar sooner than this after a child came is the tap that brought the child
const ENDS = ["could_not", "chose", "no_turn"];
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
  let saving = false;
  let picked = -Infinity;
  let handled = false;
  let left = false;
  const drafts = new Drafts(station);
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
    picked = performance.now();
    handled = false;
    draw();
    for (const name of ["go", ...ENDS]) rest(part(bar, name), DEAD);
  }

  // The same tap must not act on the child that it brought. What was begun for that child ends the wait.
  const tooSoon = (moment) => saving || moment - picked < DEAD;

  function drawLine() {
    drawQueue(part(view, "queue"), station, {
      isOn: (one) => one.code === child?.code, choose: (one) => { if (!saving) pick(one); }, only: context.only, blind: second,
      begun: (one) => drafts.has(one),
    });
  }

  function draw() {
    drawLine();
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
      const draft = drafts.of(child, side, second);
      if (draft) tool.restore(draft.content);
    }
    paint();
  }

  function drawOver() {
    const begun = drafts.latest(context.only);
    if (begun) {
      const open = piece("empty", { title: "Something is not kept yet", text: `What was begun for ${nameOf(childOf(begun.child))} still waits for 'Next'.`, act: `Go to ${nameOf(childOf(begun.child))}` });
      part(open, "act").addEventListener("click", () => back(begun));
      body.replaceChildren(open);
      return;
    }
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
    for (const name of ENDS) part(bar, name).disabled = !tool || (name === "no_turn" && second);
    part(bar, "go").disabled = !child || (!tool && !next);
    const to = next ? (next.child.code === child.code ? nextWord(next) : nameOf(next.child)) : "";
    fill(bar, { go: value ? (to ? `Next: ${to}` : "Done") : to ? `Skip to ${to}` : "Skip", status: tool?.status?.() || "" });
  }

  function nextWord(next) {
    return next.side === side ? `try ${2 + triesUsed(child, station, side, second)}` : next.side;
  }

  // Where the hand goes when this one is kept: another try, the other side, or the next child.
  function nextPlace({ last = false } = {}) {
    const used = triesUsed(child, station, side, second) + 1;
    if (inARow && !last && used < tries()) return { child, side };
    const other = sidesOf(station).find((word) => word !== side && !sideOver(child, word));
    if (other) return { child, side: other };
    const next = following();
    return next && next.code !== child.code ? { child: next, side: null } : null;
  }

  function touched() {
    asked = "";
    handled = true;
    part(bar, "go").removeAttribute("aria-disabled");
    paint();
    const before = drafts.has(child);
    drafts.write(child, side, second, tool.value() ? tool.kept() : null).catch(context.alarm);
    if (drafts.has(child) !== before) drawLine();
  }

  async function save(fields) {
    if (saving) return;
    if (!context.judge()) {
      context.askJudge();
      return;
    }
    if (second && taken(child, station, side).some((entry) => entry.judge && entry.judge === context.judge())) {
      toast("A second look is another coach's. Choose who judges, at the top.", { warn: true });
      return;
    }
    const place = nextPlace({ last: ["could_not_start", "not_attempted"].includes(fields.outcome) });
    const who = child;
    // A draft's entry that is here already was kept from another tab: this is one more.
    const draft = drafts.of(child, side, second);
    const entry = {
      id: draft && !records.has(draft.id) ? draft.id : newId(), child: child.code, measure: station.measure, variant: station.variant || "", side, second, how,
      trial: nextTrial(child, station, side, second), ...fields,
    };
    saving = true;
    body.inert = true;
    try {
      const [record] = await add([entry], { also: [[drafts.key(who, side, second), null]] });
      cue("stop");
      toast(`${nameOf(who)} · ${second ? "second look kept" : resultWords(entry, station)}`, {
        undo: () => withdraw(record.id, "Undo").then(() => pick(who, entry.side), context.alarm),
      });
    } catch (error) {
      context.alarm(error);
    }
    drafts.close(who, entry.side, entry.second);
    saving = false;
    body.inert = false;
    if (left) return;
    if (place) pick(place.child, place.side);
    else if (context.only) context.onDone();
    else pick(null);
  }

  function go(moment = performance.now()) {
    if (tooSoon(moment) && !(handled && !saving)) return;
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

  // Another way in which a try ends. It acts on the press; a press that comes with the child is none.
  const onEnd = (name, act) => onPress(part(bar, name), (moment) => { if (!tooSoon(moment)) act(); });

  onPress(part(bar, "go"), (moment) => go(moment));
  onEnd("could_not", () => save({ value: station.kind === "shape" ? null : 0, outcome: "could_not_start" }));
  onEnd("no_turn", () => save({ value: null, outcome: "not_attempted" }));
  onEnd("chose", () => {
    const value = tool?.value() || tool?.nothing?.();
    if (value && !tool.problem?.("sure")) save({ ...value, outcome: "chose_to_stop" });
    else toast("First what was reached, then 'Chose to stop'.");
  });
  // A question follows, so a press that slides off again is none: this one acts when the finger lifts.
  part(bar, "hurts").addEventListener("click", () => context.hurts(child ? [child] : children(), { side, trial: child ? nextTrial(child, station, side) : 1 }));
  part(view, "second").addEventListener("click", () => { second = !second; pick(following() || child); });
  for (const button of view.querySelectorAll("[data-side]")) button.addEventListener("click", () => { if (child && !saving) pick(child, button.dataset.side); });
  const keys = (event) => {
    if (settings.keys && !event.repeat && !saving && !byId("panel").open) tool?.key?.(event, () => go(event.timeStamp));
  };
  document.addEventListener("keydown", keys);

  function back(draft) {
    second = draft.second;
    pick(childOf(draft.child), draft.side);
  }

  drafts.read().catch(() => null).then(() => {
    if (left) return;
    const one = context.child ? childOf(context.child) : null;
    const begun = drafts.latest(one?.code);
    if (begun && childOf(begun.child)) back(begun);
    else pick(one || following());
  });

  return {
    busy: () => false,
    refresh: drawLine,
    redraw: draw,
    async leave() {
      left = true;
      document.removeEventListener("keydown", keys);
    },
    title: () => [station.variant_name, station.attempts > 1 && station.kind !== "shape" ? `${station.attempts} tries` : "", station.text?.viewpoint ? `seen from the ${station.text.viewpoint}` : ""].filter(Boolean).join(" · "),
  };
}

/** The large name, with what tells two children of one name apart. */
export function showWho(element, child, station, side) {
  fill(element, { name: nameOf(child), who: [whoOf(child), side ? `${side} side` : ""].filter(Boolean).join(" · ") });
}
