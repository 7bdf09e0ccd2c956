// Everything on this tablet taken together: counted, copied to a file, taken in from one, and cleared when its time is over.
"use strict";

import { changed, elsewhere, keysOf, lines, openLines, readAll, records, SCHEMA, standing, unsaved } from "./outbox.js";
import { ask, forget, run } from "./store.js";

export const DAY_MS = 24 * 60 * 60 * 1000;
const OF_A_DAY = ["data", "roll", "order", "judge"];
const STAYS = ["tablet", "settings"];

/** How many are where. Lines of the roll count as what waits, or as what needs a person; `left` is left with the club. */
export function counts() {
  const unknown = lines.filter((line) => line.unknown).length;
  const found = {
    stored: 0, conflict: 0, left: 0, waiting: lines.length - unknown, needs: unknown, unsaved: unsaved.size, elsewhere: elsewhere.waiting,
  };
  for (const { state } of records.values()) {
    if (state === "waiting") found.waiting += 1;
    else if (state === "refused") found.needs += 1;
    else if (state === "settled") found.left += 1;
    else found.stored += 1;
    if (state === "conflict") found.conflict += 1;
  }
  return found;
}

/**
 * Everything on the tablet as a file that says what it is and goes in through the same door. What is in a file is out of
 * the house: from now on a change is a new entry.
 */
export async function copy() {
  const found = await run(["entries", "kept"], "readwrite", async ({ entries, kept }) => {
    const all = await ask(entries.getAll());
    for (const record of all) if (!record.sent) entries.put({ ...record, sent: true });
    return { all, roll: await openLines(kept) };
  }).catch(() => ({ all: [...records.values()], roll: [...lines] }));
  const { tablet } = await standing().catch(() => ({ tablet: "" }));
  const loose = [...unsaved.entries()].map(([id, { fields }]) => ({ ...fields, id }));
  await readAll().catch(() => undefined);
  return {
    what: "Entries of a Groundwork tablet, for the club to take in", format: "groundwork-entries", schema: SCHEMA,
    saved_at: new Date().toISOString(), tablet,
    entries: [...found.all.map((record) => ({ ...record.entry, id: record.id })), ...loose], roll: found.roll,
  };
}

// What two tablets heard about one child: the newer word, but a yes is never undone by a no.
function sumOf(before, line) {
  const [old, fresh] = before.at > line.at ? [line, before] : [before, line];
  const yes = [fresh, old].filter((one) => one.sore === "yes");
  if (!yes.length) return { ...old, ...fresh };
  const areas = [...new Set(yes.flatMap((one) => one.areas || []))];
  return { ...old, ...fresh, sore: "yes", sore_at: yes[0].sore_at || yes[0].at, note: yes[0].note || "", areas, stopped: true };
}

/** Take a file copy in, as it is; what is here already is left alone. Answers how many entries and lines were new. */
export async function takeIn(body) {
  const { entries: list = [], roll = [] } = Array.isArray(body) ? { entries: body } : body;
  const taken = await run(["entries", "kept"], "readwrite", async ({ entries, kept }) => {
    let number = 0;
    for (const entry of list) {
      if (typeof entry?.id !== "string" || typeof entry.day !== "string" || (await ask(entries.get(entry.id)))) continue;
      entries.put({ id: entry.id, day: entry.day, seq: entry.seq || 0, state: "waiting", answer: "", who: "", sent: true, not_before: 0, made_at: Date.now(), entry });
      number += 1;
    }
    for (const { day, child, unknown, ...line } of roll) {
      if (typeof day !== "string" || typeof child !== "string" || typeof line.at !== "string") continue;
      const key = `roll:${day}`;
      const all = (await ask(kept.get(key)))?.value || {};
      if (all[child]?.at === line.at) continue;
      all[child] = { ...sumOf(all[child] || {}, line), sent: false };
      kept.put({ key, value: all });
      number += 1;
    }
    return number;
  });
  await readAll();
  changed();
  return taken;
}

const settled = (record) => record.state !== "waiting" && record.state !== "refused";

// A hold that a killed page left behind: its stops become entries when the floor is opened.
const holding = async (kept) => (await ask(kept.getAll(IDBKeyRange.bound("hold", "hold;", false, true)))).some(({ value }) => value?.phase === "run");

/** Empty the tablet, only when nothing waits and nothing needs a person. Answers whether it was emptied. */
export async function wipe(why) {
  if (unsaved.size) return false;
  let empty = false;
  await forget(why, async ({ entries, kept }) => {
    const all = await ask(entries.getAll());
    empty = all.every(settled) && !(await openLines(kept)).length && !(await holding(kept));
    if (!empty) return {};
    const keys = (await ask(kept.getAllKeys())).filter((key) => !STAYS.includes(key) && !key.startsWith("seq:"));
    return { ids: all.map((record) => record.id), keys };
  });
  await readAll();
  changed();
  return empty;
}

async function overdue({ entries, kept }, now) {
  const all = await ask(entries.getAll());
  const open = new Set([...all.filter((record) => !settled(record)), ...(await openLines(kept))].map(({ day }) => day));
  const newest = new Map();
  const at = (day, moment) => newest.set(day, Math.max(newest.get(day) || 0, moment || 0));
  for (const { day, made_at: made } of all) at(day, made);
  for (const { key, value } of await ask(kept.getAll(keysOf("data")))) at(key.slice(5), value?.at);
  return [...newest].filter(([day, moment]) => !open.has(day) && now - moment > DAY_MS).map(([day]) => day);
}

/**
 * Clear each day whose time is over, of which nothing waits: 24 hours after its names were last brought up to date and
 * its last entry was made. `except` is the day that is open on the floor; `before(day)` may compare with the club once
 * more, and what is found lacking then stays. Answers the days that went.
 */
export async function expire({ except = "", before = async () => undefined, now = Date.now() } = {}) {
  const found = (await run(["entries", "kept"], "readonly", (stores) => overdue(stores, now))).filter((day) => day !== except);
  if (!found.length) return [];
  for (const day of found) await before(day).catch(() => undefined);
  let days = [];
  await forget("the day is over and everything is at the club", async ({ entries, kept }) => {
    days = (await overdue({ entries, kept }, now)).filter((day) => found.includes(day));
    const config = (await ask(kept.get("config")))?.value;
    const wanted = days.flatMap((day) => OF_A_DAY.map((word) => `${word}:${day}`));
    if (days.includes(config?.day)) wanted.push("config");
    const known = new Set(await ask(kept.getAllKeys()));
    const ids = (await ask(entries.getAll())).filter(({ day }) => days.includes(day)).map(({ id }) => id);
    return { ids, keys: [...known].filter((key) => wanted.includes(key) || days.some((day) => key.startsWith(`draft:${day}:`))) };
  });
  await readAll();
  changed();
  return days;
}

/** Days of which something is kept here. */
export async function daysHere() {
  const found = await run(["entries", "kept"], "readonly", async ({ entries, kept }) => [
    ...(await ask(entries.getAll())).map(({ day }) => day), ...(await ask(kept.getAllKeys(keysOf("data")))).map((key) => key.slice(5)),
  ]);
  return [...new Set(found)];
}

/** Whether a hand has begun something that is not kept yet: a hold, or a count for a child. */
export async function begun() {
  return run(["kept"], "readonly", async ({ kept }) => {
    const drafts = await ask(kept.getAll(keysOf("draft")));
    return (await holding(kept)) || drafts.some(({ value }) => value && !records.has(value.id) && Date.now() - value.at < DAY_MS);
  });
}
