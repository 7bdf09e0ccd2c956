// The day as this tablet knows it: children, stations, who is here, and what stands for each child at each station.
"use strict";

import { editRoll, records, unsaved } from "./outbox.js";
import { keep, recall } from "./store.js";

/** What the club said, and what this tablet added to it. */
export const day = { code: "", data: null, asOf: 0, roll: {}, order: null };

const SPENT = new Set(["scored", "reached_cap", "chose_to_stop", "could_not_start"]);
let index = null;

/** Read what is kept on the tablet. Answers whether the day is known here. */
export async function openKept(code) {
  const [data, roll, order] = await Promise.all([recall(`data:${code}`), recall(`roll:${code}`), recall(`order:${code}`)]);
  Object.assign(day, { code, data: data?.body || null, asOf: data?.at || 0, roll: roll || {}, order: order || null });
  index = null;
  return Boolean(day.data);
}

/** Keep what the club has just said. Nothing else about a child is ever written here. */
export async function keepData(body) {
  const known = { ...body, children: body.children.map(onlyNeeded) };
  Object.assign(day, { data: known, asOf: Date.now() });
  index = null;
  await keep(`data:${day.code}`, { body: known, at: day.asOf });
  await sendLostAnswers();
}

// An answer that the club had and has no longer, as after a copy was put back, goes out again.
async function sendLostAnswers() {
  const lost = day.data.children.filter(({ code, sore }) => sore === "not_asked" && day.roll[code]?.sore).map(({ code }) => code);
  if (!lost.length) return;
  day.roll = await editRoll(day.code, (all) => {
    for (const code of lost) if (all[code]?.sent && !all[code].unknown) all[code].sent = false;
  });
}

function onlyNeeded(child) {
  const { code, first_name, initial, group, birth_month, present, sore, stopped, resting, order } = child;
  return { code, first_name, initial, group, birth_month, present, sore, stopped, resting: resting || [], order };
}

// --- children ------------------------------------------------------------------------------------------------------

/** Children in the order in which they lie on the floor. */
export function children() {
  const all = day.data?.children || [];
  if (!day.order) return [...all].sort((a, b) => a.order - b.order);
  const place = new Map(day.order.codes.map((code, number) => [code, number]));
  const of = (child) => place.get(child.code) ?? 1000 + child.order;
  return [...all].sort((a, b) => of(a) - of(b));
}

export const childOf = (code) => day.data.children.find((child) => child.code === code);
export const stationOf = (code) => day.data.stations.find((station) => station.code === code);
export const stationFor = (entry) =>
  day.data.stations.find((station) => station.measure === entry.measure && (station.variant || "") === (entry.variant || ""))
  || day.data.stations.find((station) => station.measure === entry.measure);

/** Set the order, and lock it for the day. */
export async function lockOrder(codes) {
  day.order = { codes, locked: true };
  await keep(`order:${day.code}`, day.order);
}

// --- who is here, and the question asked first ------------------------------------------------------------------------

/** What is known of a child's presence: the tablet's newer word over the club's. */
export function rollOf(child) {
  const own = day.roll[child.code] || {};
  return {
    present: own.present ?? child.present,
    sore: own.sore ?? child.sore ?? "not_asked",
    areas: [...new Set([...(child.resting || []), ...(own.areas || [])])],
    stopped: Boolean((own.stopped && !clubKnows(own)) || child.stopped),
  };
}

// A stop that began on this tablet holds until the club has had the entry for a minute; from then on the club's word counts,
// so that a stop that the day's lead has ended is over here too.
function clubKnows({ stop }) {
  const record = records.get(stop);
  return ["stored", "conflict"].includes(record?.state) && day.asOf - record.answered_at > 60_000;
}

/** Body areas as [id, words]. */
export const areaChoices = () => day.data.areas.map(({ id, words }) => [id, words]);

/** Write one child's presence or answer down. `by` is the coach who asked. Each keeps the moment at which it was said. */
export async function setRoll(code, fields, by) {
  const at = new Date().toISOString();
  const moments = { ...("present" in fields && { present_at: at }), ...("sore" in fields && { sore_at: at }) };
  // It holds on this page even when the tablet cannot write.
  day.roll = { ...day.roll, [code]: { ...day.roll[code], ...fields } };
  day.roll = await editRoll(day.code, (all) => {
    const { unknown, ...known } = all[code] || {};
    all[code] = { ...known, ...fields, ...moments, by, at, sent: false };
    if (known.sore === "yes" && fields.areas) all[code].areas = [...new Set([...(known.areas || []), ...fields.areas])];
  });
}

// --- results ---------------------------------------------------------------------------------------------------------

/** Call after the outbox changed. */
export function forgetIndex() {
  index = null;
}

function build() {
  const local = [...records.values()].filter((record) => record.state !== "refused" && record.state !== "settled");
  const own = new Set(local.map((record) => record.id));
  const all = [
    ...(day.data?.standing || []).filter((entry) => !own.has(entry.id)),
    ...local.map((record) => ({ ...record.entry, id: record.id })),
    ...[...unsaved].map(([id, { fields }]) => ({ ...fields, id })),
  ];
  const replaced = new Set(all.map((entry) => entry.replaces).filter(Boolean));
  index = { slots: new Map(), replaced };
  for (const entry of all) {
    if (replaced.has(entry.id) || entry.outcome === "withdrawn") continue;
    const key = slotKey(entry.child, entry.measure, entry.variant, entry.side);
    if (!index.slots.has(key)) index.slots.set(key, []);
    index.slots.get(key).push(entry);
  }
  return index;
}

const slotKey = (child, measure, variant, side) => [child, measure, variant || "", side || ""].join("|");

/** Whether a later entry took this one's place. */
export const isReplaced = (id) => (index || build()).replaced.has(id);

/** What stands for a child at a station on a side; a second look is kept apart. */
export function taken(child, station, side = "", second = false) {
  const found = (index || build()).slots.get(slotKey(child.code, station.measure, station.variant, side)) || [];
  return found.filter((entry) => Boolean(entry.second) === second);
}

/** The sides a station asks for. */
export const sidesOf = (station) => (station.sides ? ["left", "right"] : [""]);

/** The number of the next trial in a place. */
export function nextTrial(child, station, side = "", second = false) {
  return 1 + Math.max(0, ...taken(child, station, side, second).map((entry) => entry.trial));
}

/** Tries used: an interrupted one may be taken again. */
export function triesUsed(child, station, side = "", second = false) {
  return taken(child, station, side, second).filter((entry) => SPENT.has(entry.outcome)).length;
}

// A shape card is done after one judged try; the second is there for who wants it. A cap reached needs no second try, and
// a child who had no turn is asked for no other.
function sideDone(child, station, side, tries) {
  const found = taken(child, station, side);
  if (found.some((entry) => ["reached_cap", "could_not_start", "not_attempted"].includes(entry.outcome))) return true;
  return triesUsed(child, station, side) >= tries;
}

/** Whether a child is done at a station: every side, every try. */
export function isDone(child, station) {
  const tries = station.kind === "shape" ? 1 : station.attempts || 1;
  return sidesOf(station).every((side) => sideDone(child, station, side, tries));
}

/** Whether a child has had this round of tries. */
export function hasRound(child, station, side, round) {
  return isDone(child, station) || sideDone(child, station, side, round);
}

/** The first unfinished round of a station and side: 1, 2, 3... */
export function roundOf(station, side) {
  const open = children().filter((child) => wordFor(child, station).open);
  for (let round = 1; round < (station.attempts || 1); round += 1) {
    if (open.some((child) => !hasRound(child, station, side, round))) return round;
  }
  return station.attempts || 1;
}

// --- may this child be scored here? -------------------------------------------------------------------------------------

/** Where a child stands at a station: a word, and whether a result may be taken. Pain outranks everything. */
export function wordFor(child, station) {
  const roll = rollOf(child);
  if (roll.stopped) return { word: "stopped", open: false };
  if (roll.present === false) return { word: "away", open: false };
  const resting = roll.areas.filter((area) => (day.data.blocking || []).includes(area) || (station.loads || []).includes(area));
  if (resting.length) return { word: "resting", open: false, areas: resting };
  if (isDone(child, station)) return { word: "done", open: true };
  if (roll.sore === "not_asked") return { word: "ask", open: false };
  return { word: "ready", open: true };
}

/** 'done' and 'of' for the list of stations: children who are away, resting or stopped are not waited for. */
export function progress(station) {
  const all = children().map((child) => wordFor(child, station).word);
  return { done: all.filter((word) => word === "done").length, of: all.filter((word) => ["done", "ready", "ask"].includes(word)).length };
}
