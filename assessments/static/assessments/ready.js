// Who holds next: the group that lies ready, its side and its size, before a clock runs.
"use strict";

import { askFirst } from "./care.js";
import { children, hasRound, roundOf, sidesOf, taken, wordFor } from "./day.js";
import { fill, part, piece, toast } from "./dom.js";
import { drawQueue, tryWords } from "./queue.js";
import { layOut, tileOf } from "./tiles.js";
import { amount, count, nameOf } from "./words.js";

const MOST = 8;
const SCREENING = 4;  // one pair of eyes follows no more than this many for a second or two
const kept = { size: 4, side: {} };

/** The choosing of a group in a hold's page; `isFree` says whether the group may change now. */
export class Ready {
  constructor({ context, view, bar, isFree }) {
    Object.assign(this, { context, view, bar, isFree, station: context.station, chosen: null });
    this.side = context.side || kept.side[this.station.code] || sidesOf(this.station)[0];
    part(view, "fewer").addEventListener("click", () => this.resize(-1));
    part(view, "more").addEventListener("click", () => this.resize(1));
    for (const button of view.querySelectorAll("[data-side]")) button.addEventListener("click", () => this.pickSide(button.dataset.side));
  }

  /** Children whose turn it is, as many as lie down together. `over` have stopped but are no entries yet. */
  candidates(over = new Set()) {
    const { context, station, side } = this;
    if (context.only) return children().filter((child) => child.code === context.only);
    const round = roundOf(station, side);
    const may = children().filter((child) => {
      const { word } = wordFor(child, station);
      return (word === "ready" || word === "ask") && !over.has(child.code) && !hasRound(child, station, side, round);
    });
    return may.slice(0, kept.size);
  }

  /** Tiles lie as the children lie, in whatever order they were tapped. */
  group() {
    return this.chosen ? children().filter((child) => this.chosen.includes(child.code)) : this.candidates();
  }

  /** Those of the group that may be timed now. */
  open() {
    return this.group().filter((child) => wordFor(child, this.station).open);
  }

  toggle(child) {
    if (!this.isFree()) return;
    const now = this.group().map((one) => one.code);
    if (now.includes(child.code)) this.chosen = now.filter((code) => code !== child.code);
    else if (!["ready", "ask", "done"].includes(wordFor(child, this.station).word)) {
      toast(`${nameOf(child)} is not in this hold today.`);
      return;
    } else if (now.length >= MOST) {
      toast("Eight at most. Tap a child to take them out first.");
      return;
    } else this.chosen = [...now, child.code];
    this.draw();
  }

  resize(by) {
    kept.size = Math.min(MOST, Math.max(1, kept.size + by));
    this.chosen = null;
    this.draw();
  }

  pickSide(word) {
    if (!this.isFree()) return;
    this.side = word;
    kept.side[this.station.code] = word;
    this.chosen = null;
    this.draw();
  }

  /** Show the group that lies ready. */
  draw() {
    const { context, view, station, side } = this;
    const waiting = this.group();
    for (const name of ["cue", "after"]) part(view, name).hidden = true;
    for (const name of ["choices", "queue"]) part(view, name).hidden = false;
    fill(view, { size: kept.size });
    part(view, "screening").hidden = waiting.length <= SCREENING;
    part(view, "sides").hidden = !station.sides;
    for (const button of view.querySelectorAll("[data-side]")) button.setAttribute("aria-pressed", String(button.dataset.side === side));
    drawQueue(part(view, "queue"), station, { isOn: (child) => waiting.includes(child), choose: (child) => this.toggle(child), only: context.only });
    if (waiting.length) layOut(part(view, "board"), waiting.map((child) => this.tile(child)));
    else this.drawOver();
    this.paintBar(waiting);
  }

  tile(child) {
    const { context, station, side } = this;
    if (wordFor(child, station).word === "ask") return askFirst("tile-ask", child, context, () => this.draw());
    const before = taken(child, station, side).map((entry) => amount(entry.value, "s")).filter(Boolean).join(", ");
    const tries = tryWords(child, station, side, roundOf(station, side));
    const tile = tileOf(child, { tap: [tries, before && `before: ${before}`].filter(Boolean).join(" · ") });
    part(tile, "press").disabled = true;
    part(tile, "press").setAttribute("aria-label", nameOf(child));
    return tile;
  }

  paintBar(waiting) {
    const { bar } = this;
    const ready = this.open();
    const asking = waiting.length - ready.length;
    fill(bar, { status: asking ? `${count(asking, "child", "children")} to ask first` : "", go: "Start" });
    part(bar, "go").disabled = !ready.length || !this.isFree();
    for (const name of ["cancel", "look"]) part(bar, name).hidden = true;
    for (const name of ["reminder", "chose"]) {
      part(bar, name).hidden = false;
      part(bar, name).disabled = true;
    }
  }

  drawOver() {
    const { context, station, side } = this;
    const next = sidesOf(station).find((one) => one !== side && children().some((child) => wordFor(child, station).word === "ready" && !hasRound(child, station, one, roundOf(station, one))));
    const empty = next
      ? piece("empty", { title: `All done on the ${side}`, text: "The other side is next.", act: `Go to the ${next}` })
      : piece("empty", { title: "Everybody here is done", text: "Pick a child above for another try, or go on to the next station.", act: "Next station" });
    part(empty, "act").addEventListener("click", () => (next ? this.pickSide(next) : context.onDone()));
    layOut(part(this.view, "board"), [empty]);
  }
}
