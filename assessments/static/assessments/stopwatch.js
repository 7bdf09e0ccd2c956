// The running clock of a hold. It runs on the monotonic clock, and it knows when it cannot be trusted: a hidden or frozen
// page, or a monotonic clock that stood still while the tablet slept, is noticed by comparing it with the wall clock.
"use strict";

const LARGEST_GAP = 500;
// A busy page may miss some beats: a press carries its own moment, so that does no harm. A frozen page misses them all.
const LONGEST_SILENCE = 1500;
const BEAT = 200;

export class Stopwatch {
  constructor(onBroken) {
    this.onBroken = onBroken;
    this.broken = "";
    this.began = 0;
    this.began_wall = 0;
    this.watch = (event) => {
      if (event.type !== "visibilitychange" || document.hidden) this.break("the page was hidden or asleep");
    };
  }

  /** Start now. */
  start() {
    this.began = performance.now();
    this.began_wall = Date.now();
    document.addEventListener("visibilitychange", this.watch);
    document.addEventListener("freeze", this.watch);
    window.addEventListener("pagehide", this.watch);
    this.heard = this.began;
    this.beat = setInterval(() => this.check(), BEAT);
    if (document.hidden) this.break("the page was hidden or asleep");
  }

  /** Milliseconds since the start, at a moment of the page's clock. */
  elapsed(moment = performance.now()) {
    return Math.max(0, moment - this.began);
  }

  /** Compare both clocks; answers whether the time can be trusted. */
  check() {
    const now = performance.now();
    const gap = Date.now() - this.began_wall - (now - this.began);
    if (now - this.heard > LONGEST_SILENCE) this.break("the page stood still");
    this.heard = now;
    if (Math.abs(gap) > LARGEST_GAP) this.break("the tablet slept, or its clock was changed");
    return !this.broken;
  }

  break(why) {
    if (this.broken) return;
    this.broken = why;
    this.stop();
    this.onBroken(why);
  }

  /** Stop watching. */
  stop() {
    clearInterval(this.beat);
    document.removeEventListener("visibilitychange", this.watch);
    document.removeEventListener("freeze", this.watch);
    window.removeEventListener("pagehide", this.watch);
  }
}

/** Whole seconds, rounded down. A hand on a stopwatch is no finer. */
export function wholeSeconds(milliseconds) {
  return Math.floor(milliseconds / 1000 + 1e-6);
}
