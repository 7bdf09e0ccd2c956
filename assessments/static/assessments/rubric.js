// A shape card: five criteria, three levels, one tap each, must-haves first. Not seen today is blank, never 0.
"use strict";

import { drawing, fill, part, piece, toast } from "./dom.js";
import { cue } from "./tablet.js";
import { openTurn, showWho } from "./turn.js";

/** Open a shape station. */
export function openRubric(screen, acts, context) {
  return openTurn(screen, acts, context, { how: "rubric", make: (child, side, touched) => card(context.station, child, side, touched) });
}

function card(station, child, side, touched) {
  const element = piece("rubric");
  const levels = new Map();
  const rows = [...station.criteria].sort((a, b) => Number(b.must_have) - Number(a.must_have));
  showWho(element, child, station, side);
  fill(element, { of: `of ${rows.length * 2}` });
  const figure = drawing(station.measure);
  if (figure) part(element, "figure").append(figure);

  part(element, "rows").replaceChildren(...rows.map((criterion, place) => {
    const [not_yet, with_reminder, on_own] = criterion.levels;
    const row = piece("criterion", { name: criterion.name, must: criterion.must_have ? "must have" : "", not_yet, with_reminder, on_own });
    for (const input of row.querySelectorAll("input")) {
      input.name = `criterion-${criterion.id}`;
      input.addEventListener("change", () => judge(criterion.id, input.value));
    }
    row.dataset.place = place;
    return row;
  }));

  function judge(id, value) {
    levels.set(id, value === "" ? null : Number(value));
    cue("tick");
    paint();
    touched();
  }

  function paint() {
    const seen = [...levels.values()].filter((level) => level !== null);
    const whole = seen.length === rows.length;
    fill(element, { total: whole ? seen.reduce((sum, level) => sum + level, 0) : "–" });
  }

  const all = () => Object.fromEntries(station.criteria.map(({ id }) => [id, levels.get(id) ?? null]));
  return {
    element,
    value: () => ([...levels.values()].some((level) => level !== null) ? { levels: all(), outcome: "scored" } : null),
    status: () => (levels.size ? `${levels.size} of ${rows.length} judged` : ""),
    problem(asked) {
      const left = rows.length - levels.size;
      if (!left || asked === "sure") return null;
      toast(`${left} not judged: kept as not seen today. Press 'Next' again to go on.`, { warn: true });
      return { sure: true };
    },
    kept: () => [...levels],
    restore(kept) {
      for (const [id, level] of kept) {
        levels.set(id, level);
        const input = element.querySelector(`input[name="criterion-${id}"][value="${level ?? ""}"]`);
        if (input) input.checked = true;
      }
      paint();
    },
    key(event) {
      if (event.target.closest("dialog, select") || !/^[0-2n]$/.test(event.key)) return;
      const row = event.target.closest(".criterion") || element.querySelector(".criterion:not(:has(:checked))");
      const input = row?.querySelector(`input[value="${event.key === "n" ? "" : event.key}"]`);
      input?.click();
    },
  };
}
