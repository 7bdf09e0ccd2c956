// What was seen on this tablet. An entry is born at the tap with its own id, is written before anything else happens, and
// stays until the club has answered and the day is closed. An undo is a new entry, never a deletion.
"use strict";

import { ask, forget, recall, run } from "./store.js";

export const SCHEMA = 1;

/** Every record of the day in memory, by id; the database is the truth. */
export const records = new Map();
/** Entries that the tablet could not write: kept on screen and in the file copy, tried again. */
export const unsaved = new Map();
/** Lines of the roll, of any day, that the club has not got: each {day, child, at, ...}; `unknown` when it knows no such child. */
export const lines = [];
/** How many entries of other days still wait here, or need a person. */
export const elsewhere = { waiting: 0 };

const listeners = new Set();
const addListeners = new Set();
const channel = "BroadcastChannel" in window ? new BroadcastChannel("groundwork") : null;
let state = { day: "", tablet: "", seq: 0, who: "", pass: null, judge: () => null };

/** A fresh id. randomUUID exists on secure addresses only. */
export function newId() {
  if (crypto.randomUUID) return crypto.randomUUID();
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 0x0f) | 0x40;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join("-");
}

/** Call when anything in the outbox changes. */
export function onChange(listener) {
  listeners.add(listener);
}

/** Call when entries were added; the listener gets how long they stay before they may go out. */
export function onAdd(listener) {
  addListeners.add(listener);
}

/** Tell everybody here, and other tabs, that something changed. */
export function changed({ tell = true } = {}) {
  for (const listener of listeners) listener();
  if (tell) channel?.postMessage("changed");
}

channel?.addEventListener("message", async () => {
  await readAll();
  changed({ tell: false });
});

// --- who this tablet is -------------------------------------------------------------------------------------------

// The cookie outlives an emptied store, so that a tablet that lost its entries can say how many it forgot.
function readMark() {
  const found = /(?:^|; )tablet=([0-9a-f-]{36})(?:\.([0-9a-f]{8})\.(\d+))?/.exec(document.cookie);
  return found ? { tablet: found[1], day: found[2] || "", seq: Number(found[3] || 0) } : null;
}

function writeMark(seq) {
  const secure = location.protocol === "https:" ? "; Secure" : "";
  document.cookie = `tablet=${state.tablet}.${state.day.slice(0, 8)}.${seq}; Path=/; Max-Age=604800; SameSite=Strict${secure}`;
}

async function whoIsThis() {
  const mark = readMark();
  return run(["kept"], "readwrite", async ({ kept }) => {
    const known = await ask(kept.get("tablet"));
    const tablet = known?.value || mark?.tablet || newId();
    if (!known) await ask(kept.put({ key: "tablet", value: tablet }));
    const seqKey = `seq:${state.day}`;
    const seq = (await ask(kept.get(seqKey)))?.value || 0;
    const marked = mark && mark.tablet === tablet && mark.day === state.day.slice(0, 8) ? mark.seq : 0;
    if (marked > seq) await ask(kept.put({ key: seqKey, value: marked }));
    return { tablet, seq: Math.max(seq, marked), forgot: Math.max(0, marked - seq) };
  });
}

/** Read everything again from the tablet's database. */
export async function readAll() {
  const found = await run(["entries", "kept"], "readonly", async ({ entries, kept }) => ({
    own: await ask(entries.index("day").getAll(state.day)), open: await openOf(entries), roll: await openLines(kept),
  }));
  records.clear();
  for (const record of found.own.sort((a, b) => a.seq - b.seq)) records.set(record.id, record);
  elsewhere.waiting = found.open.filter((record) => record.day !== state.day).length;
  lines.splice(0, lines.length, ...found.roll);
}

const openOf = async (entries) => [...(await ask(entries.index("state").getAll("waiting"))), ...(await ask(entries.index("state").getAll("refused")))];

/** Open the outbox of one day. `who` is the member signed in, `pass` the station's pass; `judge` tells who judges now. */
export async function openDay({ day, who, pass, judge }) {
  state = { ...state, day, who, pass: pass || null, judge };
  const found = await whoIsThis();
  state = { ...state, tablet: found.tablet, seq: found.seq };
  await readAll();
  changed({ tell: false });
  return { tablet: found.tablet, forgot: found.forgot };
}

/** What this tablet says of itself and a day: its id, how many entries it made, the highest number given, what waits. */
export async function standing(day = state.day) {
  const mark = `seq:${day}`;
  return run(["entries", "kept"], "readonly", async ({ entries, kept }) => {
    const tablet = state.tablet || (await ask(kept.get("tablet")))?.value || "";
    const all = await ask(entries.index("day").getAll(day));
    const own = all.filter((record) => record.entry.tablet === tablet);
    const loose = day === state.day ? unsaved.size : 0;
    const waiting = all.filter((record) => record.state === "waiting").length + (await openLines(kept)).filter((line) => line.day === day).length;
    return { tablet, made: own.length + loose, highest_seq: (await ask(kept.get(mark)))?.value || 0, waiting: waiting + loose };
  });
}

// --- adding -------------------------------------------------------------------------------------------------------

// Judge and moment are those of the tap, whatever a hand does while the tablet writes.
function entryFrom(fields) {
  return {
    tablet: state.tablet, seq: 0, schema: SCHEMA, day: state.day,
    variant: "", side: "", trial: 1, value: null, levels: null, outcome: "scored", form_break: "", reminder: false,
    at_once: 1, second: false, judge: state.judge() || null, pass: state.pass, t_wall: new Date().toISOString(),
    t_mono_start: null, t_mono_stop: null, offline: !navigator.onLine, replaces: null, reason: "", note: "", areas: [],
    ...fields,
  };
}

/**
 * Write observations, all or none, and answer with their records. Entries whose id is known already are left as they are,
 * so finishing an interrupted group twice is harmless. `wait` keeps them on the tablet for some seconds, while a hand may
 * still add what broke first; `also` keeps values in the same transaction.
 */
export async function add(list, { wait = 0, also = [] } = {}) {
  const wanted = list.map((fields) => {
    const seq = fields.seq || unsaved.get(fields.id)?.fields.seq || 0;
    return { ...entryFrom(fields), id: fields.id || newId(), seq };
  });
  try {
    const made = await run(["entries", "kept"], "readwrite", async ({ entries, kept }) => {
      const key = `seq:${state.day}`;
      let seq = Math.max(state.seq, (await ask(kept.get(key)))?.value || 0);
      const written = [];
      for (const fields of wanted) {
        const known = await ask(entries.get(fields.id));
        if (known) {
          written.push(known);
          continue;
        }
        if (!fields.seq) seq += 1;
        const number = fields.seq || seq;
        const { id, ...entry } = fields;
        const record = {
          id, day: state.day, seq: number, state: "waiting", answer: "", who: state.who, sent: false,
          not_before: Date.now() + wait, made_at: Date.now(), entry: { ...entry, seq: number },
        };
        entries.add(record);
        written.push(record);
      }
      kept.put({ key, value: seq });
      for (const [name, value] of also) kept.put({ key: name, value });
      return { written, seq };
    });
    state.seq = made.seq;
    writeMark(made.seq);
    for (const record of made.written) {
      records.set(record.id, record);
      unsaved.delete(record.id);
    }
    changed();
    for (const listener of addListeners) listener(wait);
    return made.written;
  } catch (error) {
    // Each gets its number now, so that the file copy and a later write say the same.
    for (const fields of wanted.filter(({ id }) => !unsaved.has(id))) {
      state.seq += 1;
      unsaved.set(fields.id, { fields: { ...fields, seq: state.seq }, word: error.word || "broken" });
    }
    changed({ tell: false });
    throw error;
  }
}

/** Try again what could not be written. */
export async function addUnsaved() {
  if (!unsaved.size) return;
  await add([...unsaved.entries()].map(([id, { fields }]) => ({ ...fields, id }))).catch(() => undefined);
}

/**
 * Change an entry. While it has never been sent it is rewritten in place; after that a new entry takes its place.
 * Whether it was sent is decided inside the transaction, because another tab may be sending.
 */
export async function change(id, fields) {
  const rewritten = await run(["entries"], "readwrite", async ({ entries }) => {
    const record = await ask(entries.get(id));
    if (!record || record.sent) return null;
    record.entry = { ...record.entry, ...fields };
    entries.put(record);
    return record;
  });
  if (rewritten) {
    records.set(id, rewritten);
    changed();
    return rewritten;
  }
  const { seq, tablet, schema, day, ...old } = records.get(id).entry;
  const [record] = await add([{ ...old, id: newId(), ...fields, replaces: id }]);
  return record;
}

/** Take an entry back: a new entry that replaces it and says so. */
export async function withdraw(id, reason) {
  const { child, measure, variant, side, trial, how, second } = records.get(id).entry;
  const [record] = await add([{ child, measure, variant, side, trial, how, second, outcome: "withdrawn", replaces: id, reason }]);
  return record;
}

/** Let entries go out now. */
export async function release(ids) {
  await run(["entries"], "readwrite", async ({ entries }) => {
    for (const id of ids) {
      const record = await ask(entries.get(id));
      if (record && record.not_before > 0) {
        record.not_before = 0;
        entries.put(record);
        records.set(id, record);
      }
    }
  });
}

// --- sending's side ----------------------------------------------------------------------------------------------

/** Records in a state, across all days of this tablet, in order. */
export function inState(word) {
  return run(["entries"], "readonly", ({ entries }) => ask(entries.index("state").getAll(word)));
}

/** Ids of everything that is here of a day. */
export function idsOf(day) {
  return run(["entries"], "readonly", ({ entries }) => ask(entries.index("day").getAllKeys(day)));
}

async function editAll(ids, edit) {
  const edited = await run(["entries"], "readwrite", async ({ entries }) => {
    const found = [];
    for (const id of ids) {
      const record = await ask(entries.get(id));
      if (record && edit(record)) {
        entries.put(record);
        found.push(record);
      }
    }
    return found;
  });
  for (const record of edited) if (record.day === state.day) records.set(record.id, record);
  if (!edited.length) return 0;
  if (edited.some((record) => record.day !== state.day)) await readAll();
  changed();
  return edited.length;
}

/**
 * Written down before the first byte leaves: from now on a change is a new entry. Answers the records as they were at
 * that moment; only these may go out, for what was read earlier may have been rewritten meanwhile.
 */
export async function markSent(ids) {
  const found = await run(["entries"], "readwrite", async ({ entries }) => {
    const read = [];
    for (const id of ids) {
      const record = await ask(entries.get(id));
      if (!record) continue;
      if (!record.sent) entries.put({ ...record, sent: true });
      read.push({ ...record, sent: true });
    }
    return read;
  });
  for (const record of found) if (record.day === state.day) records.set(record.id, record);
  return found;
}

/** The club's final words, by id. */
export function settle(answers) {
  const words = { stored: "stored", already_here: "stored", conflict: "conflict", refused: "refused" };
  const said = new Map(answers.map((answer) => [answer.id, answer]));
  return editAll([...said.keys()], (record) => {
    const { word, reason = "" } = said.get(record.id);
    if (!words[word]) return false;
    // What a person has left with the club once, and the club lost, is refused again without asking again.
    record.state = word === "refused" && record.left ? "settled" : words[word];
    record.answer = reason;
    record.answered_at = Date.now();
    return true;
  });
}

/** The club lacks these, though it once had them or their text: send them again. */
export function sendAgain(ids) {
  return editAll(ids, (record) => {
    if (record.state === "waiting") return false;
    record.state = "waiting";
    return true;
  });
}

/** A person has dealt with refused entries, here or at the club; the club keeps their text. */
export function dealtWith(...ids) {
  return editAll(ids, (record) => {
    if (record.state !== "refused") return false;
    record.state = "settled";
    record.left = true;
    return true;
  });
}

// --- lines of the roll --------------------------------------------------------------------------------------------

/** Keys of one kind, such as every day's roll. */
export const keysOf = (word) => IDBKeyRange.bound(`${word}:`, `${word};`, false, true);

/** Lines of every day that the club has not got, read inside a transaction. */
export async function openLines(kept) {
  const found = [];
  for (const { key, value } of await ask(kept.getAll(keysOf("roll")))) {
    for (const [child, { sent, stopped, ...line }] of Object.entries(value || {})) {
      if (!sent && ("present" in line || "sore" in line)) found.push({ day: key.slice(5), child, ...line });
    }
  }
  return found;
}

/** Edit the roll of a day: `edit` gets its lines by child. Answers all of them. */
export async function editRoll(day, edit) {
  const all = await run(["kept"], "readwrite", async ({ kept }) => {
    const key = `roll:${day}`;
    const found = (await ask(kept.get(key)))?.value || {};
    edit(found);
    kept.put({ key, value: found });
    lines.splice(0, lines.length, ...(await openLines(kept)));
    return found;
  });
  changed();
  return all;
}

/** The club has answered these lines; one that was changed meanwhile stays waiting, one of a child it does not know is said. */
export function linesAnswered(day, sent, known) {
  return editRoll(day, (all) => {
    for (const { child, at } of sent) {
      if (all[child]?.at !== at) continue;
      if (known.includes(child)) all[child].sent = true;
      else all[child].unknown = true;
    }
  });
}

/** A person has seen that the club knows no such child. */
export function lineSeen(day, child) {
  return editRoll(day, (all) => { if (all[child]?.unknown) all[child].sent = true; });
}
