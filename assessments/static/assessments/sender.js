// One sender on a tablet: batches out, final words in. A 200 is not a receipt; only words that name an entry count.
"use strict";

import { inState, markSent, records, sendAgain, settle, standing } from "./outbox.js";

export const PROTOCOL = "1";
const MOST_ENTRIES = 50;
const MOST_BYTES = 64 * 1024;
const PATIENCE = 10_000;
const LONGEST_PAUSE = 60_000;

/** Where sending stands: word is quiet, sending, no_answer, sign_in, pass_ended, not_allowed or other_name. */
export const link = { word: "quiet", last: 0, offset: null, fails: 0, others: 0, member: "" };

let setup = { urls: {}, day: "", pass: "", label: "", version: "", roll: () => [], rollSent: () => undefined, heard: () => undefined };
let timer = 0;
let busy = false;
let agreed = "";
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
  constructor(word) {
    super(word);
    this.word = word;
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
    if (batch.length && (batch.length === MOST_ENTRIES || bytes + size > MOST_BYTES)) break;
    batch.push(record);
    bytes += size;
  }
  return batch;
}

// Entries belong to the tablet and each names its judge; still nobody sends in another's name without saying so.
function mine(record, member) {
  return Boolean(setup.pass) || !record.who || record.who === member || agreed === member;
}

async function sendAll() {
  for (;;) {
    const now = Date.now();
    const ready = (await inState("waiting")).filter((record) => record.not_before <= now);
    if (!ready.length) return;
    const proof = await fetchProof();
    link.member = proof.member;
    const sendable = ready.filter((record) => mine(record, proof.member)).sort((a, b) => a.day.localeCompare(b.day) || a.seq - b.seq);
    link.others = ready.length - sendable.length;
    if (!sendable.length) throw new NotNow("other_name");
    const batch = batchOf(sendable.filter((record) => record.day === sendable[0].day));
    await markSent(batch.map((record) => record.id));
    say("sending");
    const head = await standing();
    const answer = await post(setup.urls.sync.replace(setup.day, batch[0].day), {
      tablet: head.tablet, label: setup.label, version: setup.version, sent_at: new Date().toISOString(),
      entries: batch.map((record) => ({ ...record.entry, id: record.id })),
    }, proof);
    const asked = new Set(batch.map((record) => record.id));
    const answers = Array.isArray(answer.answers) ? answer.answers.filter((one) => asked.has(one.id)) : [];
    // Entries without a word are simply not answered: they go out again.
    if (!(await settle(answers))) throw new NotNow("no_answer");
    if (answer.day) setup.heard(answer.day);
  }
}

// Who is here goes first, so that the club knows who was asked before a result of that child arrives.
async function sendRoll() {
  const lines = setup.roll();
  if (!lines.length) return;
  await post(setup.urls.roll, { sent_at: new Date().toISOString(), lines });
  await setup.rollSent(lines);
}

async function alone(work) {
  if (!navigator.locks) return work();
  return navigator.locks.request("groundwork-send", { ifAvailable: true }, (lock) => (lock ? work() : undefined));
}

/** Send what waits. Never gives up; the pause grows to a minute while nobody answers. */
export async function send() {
  if (busy || !setup.urls.sync) return;
  busy = true;
  clearTimeout(timer);
  let pause = 12_000 + Math.random() * 6_000;
  try {
    await alone(async () => {
      await sendRoll();
      await sendAll();
    });
    link.fails = 0;
    say("quiet");
  } catch (error) {
    link.fails += 1;
    pause = Math.min(LONGEST_PAUSE, 1000 * 2 ** (link.fails - 1)) * (0.75 + Math.random() / 2);
    say(error.word || "no_answer");
  }
  busy = false;
  timer = setTimeout(send, pause);
}

/** Send when entries may go; while nobody answers the pause rules. */
export function soon(wait = 0) {
  setTimeout(() => { if (!link.fails) send(); }, wait ? wait + 100 : 0);
}

/** Send now, whatever the pause. */
export function nudge() {
  link.fails = 0;
  return send();
}

/** A person has agreed that entries made while another was signed in go out now. */
export function sendForOthers() {
  agreed = link.member;
  return nudge();
}

/** Tell the club what this tablet holds; what the club lacks goes out again. */
export async function reconcile() {
  const head = await standing();
  const all = [...records.values()];
  const held = all.filter((record) => record.state !== "refused" && record.state !== "settled");
  const waiting = held.filter((record) => record.state === "waiting").length;
  const answer = await post(setup.urls.reconcile, {
    tablet: head.tablet, label: setup.label, version: setup.version, sent_at: new Date().toISOString(), day: setup.day,
    ids: held.map((record) => record.id), made: all.length, highest_seq: head.highest, waiting,
  });
  if (answer.day) setup.heard(answer.day);
  if (await sendAgain(answer.missing || [])) await send();
  return answer;
}

/** Begin: at the opening, after each save, when the wifi or the page comes back, and every quarter of a minute. */
export function start(given) {
  setup = { ...setup, ...given };
  window.addEventListener("online", nudge);
  document.addEventListener("visibilitychange", () => { if (!document.hidden) nudge(); });
  return send();
}

/** A name for this tablet, as the director reads it. */
export function rename(label) {
  setup.label = label;
}
