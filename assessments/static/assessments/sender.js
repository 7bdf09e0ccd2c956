// One sender on a tablet: batches out, final words in. A 200 is not a receipt; only words that name an entry count.
"use strict";

import { dealtWith, idsOf, inState, lines, linesAnswered, markSent, sendAgain, settle, standing } from "./outbox.js";

export const PROTOCOL = "1";
const MOST_ENTRIES = 50;
const MOST_BYTES = 64 * 1024;
const PATIENCE = 10_000;
const LONGEST_PAUSE = 60_000;
// A tablet that has nothing to send says so once a minute, or the club does not know whether it goes on counting.
const SILENCE = 60_000;
const MANY_BREAKS = 3;

/**
 * Where sending stands: word is quiet, sending, no_answer, stuck, sign_in, pass_ended, not_allowed or other_name; elsewhere
 * is the same about what waits for other days, or ''.
 */
export const link = { word: "quiet", elsewhere: "", last: 0, offset: null, fails: 0, others: 0, member: "" };

let setup = { urls: {}, day: "", pass: "", label: "", version: "", heard: () => undefined };
let timer = 0;
let busy = false;
let halted = false;
let agreed = "";
let told = 0;
let drained = true;
// What does not come through now steps aside for a while: entries on which the club's computer breaks, by id, and other
// days that need somebody else, by code.
const aside = new Map();
let most = MOST_ENTRIES;
let breaks = 0;
const suspects = new Set();
const listeners = new Set();

/** Call when sending changes its word. */
export function onLink(listener) {
  listeners.add(listener);
}

function say(word) {
  link.word = word;
  for (const listener of listeners) listener();
}

class NotNow extends Error {
  constructor(word, { broke = false } = {}) {
    super(word);
    this.word = word;
    this.broke = broke;
  }
}

/** Ask the club. Anything that is not its own JSON, such as a sign-in page or a wifi portal, is no answer. */
export async function speak(url, { method = "GET", body = null, token = "" } = {}) {
  const headers = { "X-Groundwork-Protocol": PROTOCOL, "X-Groundwork-Version": setup.version, Accept: "application/json" };
  if (setup.pass) headers["X-Station-Pass"] = setup.pass;
  else if (token) headers["X-CSRFToken"] = token;
  if (body) headers["Content-Type"] = "application/json";
  const began = Date.now();
  const response = await fetch(url, {
    method, headers, body, redirect: "error", cache: "no-store", credentials: "same-origin", signal: AbortSignal.timeout(PATIENCE),
  });
  if (response.status >= 500 || response.status === 413) throw new NotNow("no_answer", { broke: true });
  const type = response.headers.get("Content-Type") || "";
  if (!type.startsWith("application/json") || response.headers.get("X-Groundwork-Protocol") !== PROTOCOL) throw new NotNow("no_answer");
  const answer = await response.json();
  if (response.status === 401) throw new NotNow(setup.pass ? "pass_ended" : "sign_in");
  if (response.status === 403) throw new NotNow(answer.word);
  if (!response.ok) throw new NotNow("no_answer");
  const said = Date.parse(response.headers.get("Date") || "");
  // Half the way there and half the way back: the club's clock stands in whole seconds.
  if (said) link.offset = Math.round((said + 500 - (began + Date.now()) / 2) / 1000);
  link.last = Date.now();
  return answer;
}

// The token grows old on a page kept for offline use, so it is fetched at each send.
async function fetchProof() {
  if (setup.pass) return { token: "", member: "" };
  return speak(setup.urls.token);
}

async function post(url, body, given = null) {
  const text = JSON.stringify(body);
  let proof = given || (await fetchProof());
  for (let turn = 0; ; turn += 1) {
    try {
      return await speak(url, { method: "POST", body: text, token: proof.token });
    } catch (error) {
      if (error.word !== "token_old") throw error;
      if (turn) throw new NotNow("sign_in");
      proof = await fetchProof();
    }
  }
}

function batchOf(waiting) {
  const batch = [];
  let bytes = 0;
  for (const record of waiting) {
    const size = JSON.stringify(record.entry).length + 60;
    if (batch.length && (batch.length === most || bytes + size > MOST_BYTES)) break;
    batch.push(record);
    bytes += size;
  }
  return batch;
}

// Entries belong to the tablet and each names its judge; still nobody sends in another's name without saying so.
function mine(record, member) {
  return Boolean(setup.pass) || !record.who || record.who === member || agreed === member;
}

const urlFor = (url, day) => url.replace(setup.day, day);
const isAside = (what) => (aside.get(what)?.until || 0) > Date.now();
const stepAside = (what, word) => aside.set(what, { word, until: Date.now() + 2 * LONGEST_PAUSE });

async function ready(day = null) {
  const now = Date.now();
  return (await inState("waiting")).filter((record) => record.not_before <= now && !isAside(record.id) && (day === null || record.day === day));
}

// The floor's own day first, and each day for itself: what waits for yesterday must not keep today's.
async function sendAll() {
  const days = new Set([...(await ready()), ...lines.filter((line) => !line.unknown)].map(({ day }) => day));
  for (const day of [...days].sort((a, b) => (b === setup.day) - (a === setup.day) || a.localeCompare(b))) {
    if (isAside(day)) continue;
    try {
      // A roll on which the club's computer breaks keeps no result back.
      const broken = await sendRoll(day).then(() => null, (error) => { if (!error.broke) throw error; return error; });
      await sendDay(day);
      if (broken) throw broken;
    } catch (error) {
      if (day === setup.day || !(error instanceof NotNow)) throw error;
      // A pass speaks for its own day: another day's entries need somebody who signs in, whatever the pass.
      stepAside(day, error.word === "pass_ended" ? "sign_in" : error.word);
    }
  }
  link.elsewhere = [...days].map((day) => isAside(day) && aside.get(day).word).find(Boolean) || "";
}

// Who is here goes first, so that the club knows who was asked before a result of that child arrives.
async function sendRoll(day) {
  const open = lines.filter((line) => line.day === day && !line.unknown);
  if (!open.length) return;
  const answer = await post(urlFor(setup.urls.roll, day), { sent_at: new Date().toISOString(), lines: open.map(({ day: of, ...line }) => line) });
  if (!Array.isArray(answer.known)) throw new NotNow("no_answer");
  await linesAnswered(day, open, answer.known);
}

async function sendDay(day) {
  for (;;) {
    const due = await ready(day);
    if (!due.length) return;
    const proof = await fetchProof();
    link.member = proof.member;
    const sendable = due.filter((record) => mine(record, proof.member)).sort((a, b) => a.seq - b.seq);
    link.others = due.length - sendable.length;
    if (!sendable.length) throw new NotNow("other_name");
    const clear = sendable.filter((record) => !suspects.has(record.id));
    const batch = clear.length ? batchOf(clear) : [sendable[0]];
    try {
      await sendBatch(day, batch, proof);
      wentWell(batch);
    } catch (error) {
      if (!error.broke) throw error;
      makeSmaller(batch, error);
    }
  }
}

// A batch that always breaks the club's computer is halved until the entry is found on which it breaks. Only when another
// one goes through is that entry to blame, and steps aside; two in a row mean that the computer is down.
function makeSmaller(batch, error) {
  breaks += 1;
  if (breaks < MANY_BREAKS) throw error;
  if (batch.length > 1) {
    most = Math.ceil(batch.length / 2);
    return;
  }
  const down = suspects.size > 0;
  suspects.add(batch[0].id);
  if (down) throw error;
}

function wentWell(batch) {
  for (const { id } of batch) suspects.delete(id);
  for (const id of suspects) stepAside(id, "stuck");
  suspects.clear();
  breaks = 0;
  most = Math.min(MOST_ENTRIES, most * 2);
}

async function sendBatch(day, batch, proof) {
  say("sending");
  const sent = await markSent(batch.map((record) => record.id));
  const { waiting, ...head } = await standing(day);
  const body = { ...about(head), waiting: waiting - sent.length, entries: sent.map((record) => ({ ...record.entry, id: record.id })) };
  const answer = await post(urlFor(setup.urls.sync, day), body, proof);
  const asked = new Set(sent.map((record) => record.id));
  const answers = Array.isArray(answer.answers) ? answer.answers.filter((one) => asked.has(one.id)) : [];
  // Entries without a word are simply not answered: they go out again.
  if (!(await settle(answers))) throw new NotNow("no_answer");
  if (day !== setup.day) return;
  drained = true;
  told = 0;
  if (answer.day) setup.heard(answer.day);
}

const about = (head) => ({ ...head, label: setup.label, version: setup.version, sent_at: new Date().toISOString() });

// After the queue has drained both sides compare; while nothing happens the tablet says only that it is there.
async function tellStanding() {
  if (setup.visiting || Date.now() - told < SILENCE) return;
  told = Date.now();
  if (drained) {
    const { complete, day } = await reconcile();
    drained = false;
    if (!complete) await sendAll();
    else if (day) setup.heard(day);
    return;
  }
  const answer = await post(setup.urls.sync, { ...about(await standing()), entries: [] });
  if (answer.day) setup.heard(answer.day);
}

async function alone(work) {
  if (!navigator.locks) return work();
  return navigator.locks.request("groundwork-send", { ifAvailable: true }, (lock) => (lock ? work() : undefined));
}

/** Send what waits. Never gives up; the pause grows to a minute while nobody answers. */
export async function send() {
  if (busy || halted || !setup.urls.sync) return;
  busy = true;
  clearTimeout(timer);
  let pause = 12_000 + Math.random() * 6_000;
  try {
    await alone(async () => {
      await sendAll();
      // Nothing waits on this: when it does not come through it is said a minute later.
      await tellStanding().catch(() => undefined);
    });
    link.fails = 0;
    say([...aside.keys()].some((what) => isAside(what) && aside.get(what).word === "stuck") ? "stuck" : "quiet");
  } catch (error) {
    link.fails += 1;
    pause = Math.min(LONGEST_PAUSE, 1000 * 2 ** (link.fails - 1)) * (0.75 + Math.random() / 2);
    say(error.word || "no_answer");
  }
  busy = false;
  if (!halted) timer = setTimeout(send, pause);
}

/** Send nothing more from this page: somebody has signed out on it. */
export function halt() {
  halted = true;
  clearTimeout(timer);
}

/** Send when entries may go; while nobody answers the pause rules. */
export function soon(wait = 0) {
  setTimeout(() => { if (!link.fails) send(); }, wait ? wait + 100 : 0);
}

/** Send now, whatever the pause. */
export function nudge() {
  link.fails = 0;
  aside.clear();
  return send();
}

/** A person has agreed that entries made while another was signed in go out now. */
export function sendForOthers() {
  agreed = link.member;
  return nudge();
}

/**
 * Tell the club what this tablet holds of a day; what the club lacks goes out again, and what a person has settled there
 * needs nobody here. `left` says that the tablet is emptied now. Answers whether nothing was lacking, and the day's state.
 */
export async function reconcile({ day = setup.day, left = false } = {}) {
  const body = { ...about(await standing(day)), day, ids: await idsOf(day), left };
  const answer = await post(urlFor(setup.urls.reconcile, day), body);
  if (day === setup.day) told = Date.now();
  await dealtWith(...(answer.settled || []));
  return { complete: !(await sendAgain(answer.missing || [])), day: answer.day };
}

/** Know the club's addresses without sending anything. */
export function prepare(given) {
  setup = { ...setup, ...given };
}

/** Begin: at the opening, after each save, when the wifi or the page comes back, and every quarter of a minute. */
export function start(given) {
  prepare(given);
  window.addEventListener("online", nudge);
  document.addEventListener("visibilitychange", () => { if (!document.hidden) nudge(); });
  return send();
}

/** A name for this tablet, as the director reads it. */
export function rename(label) {
  setup.label = label;
}
