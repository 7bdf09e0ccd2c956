// Sentences that more than one screen needs. Counts are always said in words.
"use strict";

/** '1 entry', '3 entries'. */
export function count(number, one, many) {
  return `${number} ${number === 1 ? one : many}`;
}

/** Hours and minutes of a moment, as a wall clock shows them. */
export function atTime(moment) {
  return new Date(moment).toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit" });
}

/** First name and initial. */
export function nameOf(child) {
  return child.initial ? `${child.first_name} ${child.initial.replace(/\.$/, "")}.` : child.first_name;
}

/** 'Tigers · Mar': what tells two children of one name apart. */
export function whoOf(child) {
  return [child.group, child.birth_month].filter(Boolean).join(" · ");
}

/** How the sync state stands, and which look it has: 'On this tablet 5 · at the club 42 · needs you 1'. */
export function syncWords({ stored, waiting, needs, left, elsewhere, unsaved }) {
  if (unsaved) return { look: "needs", text: `${count(unsaved, "entry", "entries")} not saved on this tablet` };
  const more = [left && `${left} left with the club`, elsewhere && `${elsewhere} of another day`];
  const open = waiting || needs || elsewhere;
  const all = stored && (waiting || needs ? `at the club ${stored}` : `All ${stored} saved at the club`);
  const parts = [waiting && `on this tablet ${waiting}`, all, needs && `needs you ${needs}`, ...more].filter(Boolean);
  const text = parts.join(" · ") || "Nothing entered yet";
  return { look: needs ? "needs" : open ? "waiting" : "", text: text[0].toUpperCase() + text.slice(1) };
}

const OUTCOMES = {
  reached_cap: "reached cap",
  chose_to_stop: "chose to stop",
  could_not_start: "could not start",
  not_attempted: "not attempted",
  stopped_for_pain: "stopped, no score kept",
  interrupted: "interrupted, no time kept",
  withdrawn: "taken back",
};

/** '23 s', '102 cm', '7 of 10', '12'. */
export function amount(value, unit) {
  if (value === null || value === undefined) return "";
  const of = /^of_(\d+)$/.exec(unit || "");
  if (of) return `${value} of ${of[1]}`;
  return unit === "s" || unit === "cm" ? `${value} ${unit}` : `${value}`;
}

/** What one entry says: '23 s', '20 s · reached cap', 'could not start'. */
export function resultWords(entry, station) {
  let value = entry.value;
  if (entry.levels) {
    const seen = Object.values(entry.levels);
    value = seen.some((level) => level === null) ? null : seen.reduce((sum, level) => sum + level, 0);
    if (value === null) return `${seen.filter((level) => level !== null).length} of ${seen.length} criteria seen`;
  }
  const word = OUTCOMES[entry.outcome] || "";
  const number = entry.outcome === "could_not_start" ? "" : amount(value, station?.unit);
  return [number, word].filter(Boolean).join(" · ");
}
