// 3, 2, 1 over the tiles, before the clocks of a group run.
"use strict";

import { fill, piece } from "./dom.js";
import { cue } from "./tablet.js";

const COUNT_IN = 3000;

/** Count in over `host`; `wanted` says whether it still is. Answers whether it came to its end. */
export function countIn(host, wanted) {
  const shade = piece("count-in");
  host.append(shade);
  const began = performance.now();
  let shown = 0;
  return new Promise((resolve) => {
    const step = () => {
      const left = Math.ceil((COUNT_IN - (performance.now() - began)) / 1000);
      if (left <= 0 || !wanted()) {
        shade.remove();
        resolve(wanted());
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
