// The floor: opens the day, shows one station at a time, and always says where the entries are.
"use strict";

import { claimPage, pickUp } from "./board.js";
import { openByChild } from "./bychild.js";
import { pickChild, sayOpenStops, stopForPain } from "./care.js";
import { openCounter } from "./counter.js";
import { childOf, day, forgetIndex, keepData, nextTrial, openKept, progress, setRoll, sidesOf, stationOf } from "./day.js";
import { byId, drawing, fill, part, piece, toast } from "./dom.js";
import { openHold } from "./hold.js";
import { begun, counts, DAY_MS, expire, wipe } from "./holdings.js";
import { openKeypad } from "./keypad.js";
import { add, addUnsaved, newId, onAdd, onChange, openDay, records, unsaved } from "./outbox.js";
import { keepPanelsLive, openSync, openToday, saveCopy } from "./panels.js";
import { openRoll } from "./roll.js";
import { openRubric } from "./rubric.js";
import { halt, link, nudge, onLink, reconcile, soon, speak, start } from "./sender.js";
import { openTablet } from "./settings.js";
import { canWrite, keep, recall } from "./store.js";
import { checks, loadSettings, settings, whenScreenMaySleep } from "./tablet.js";
import { clearPages, startWorker } from "./updates.js";
import { atTime, count, nameOf, syncWords } from "./words.js";

const config = JSON.parse(byId("floor-config").textContent);
const OPENERS = { hold: openHold, count: openCounter, score_count: openCounter, distance: openKeypad, shape: openRubric };
let shown = { word: "roll", station: null, only: null, screen: null };
let locked = false;

const context = {
  live: null,
  judge: () => byId("judge").value,
  askJudge,
  alarm,
  note,
  lock: (on) => { locked = on; byId("stations").toggleAttribute("inert", on); },
  hurts,
  move,
  changed: () => { drawStations(); soon(); },
  onDone: nextStation,
  go: (station, child) => show({ word: "station", station, only: child.code }),
};

// Nothing may cover a running clock.
function whenQuiet(act) {
  if (locked) toast("A clock is running. Finish this hold first.");
  else act();
}

// --- words at the top -------------------------------------------------------------------------------------------------

/** A line that stays until somebody has read it. */
function note(text, act = null, word = "Understood") {
  const line = piece("note", { text });
  part(line, "act").textContent = word;
  part(line, "act").addEventListener("click", () => { line.remove(); act?.(); });
  byId("notes").append(line);
  return line;
}

let alarmLine = null;

/** The tablet could not write. What was seen stays on the screen and in the file copy. One line, however often it is said. */
function alarm(error) {
  const lost = [...unsaved.values()].map(({ fields }) => `${nameOf(childOf(fields.child))} ${fields.value ?? fields.outcome}`).join(", ");
  const why = { full: "The tablet's storage is full.", newer: "A newer version of this page is open in another tab. Load this page again." }[error?.word] || "The tablet's storage does not answer.";
  const text = `${why} ${lost ? `Not saved: ${lost}. ` : ""}Save a copy to a file, then free some space. It is tried again by itself.`;
  if (alarmLine?.isConnected) fill(alarmLine, { text });
  else {
    alarmLine = note(text, saveCopy, "Save a copy");
    alarmLine.classList.replace("warning", "error");
  }
  paintSync();
}

function paintSync() {
  const found = counts();
  const { look, text } = syncWords(found);
  const words = byId("sync-words");
  words.className = `sync ${look}`;
  const blocked = ["sign_in", "pass_ended", "not_allowed"].includes(link.word) && found.waiting;
  const said = blocked ? `Sign in to send ${found.waiting}` : text;
  if (words.textContent !== said) words.textContent = said;
  byId("sync").title = link.last ? `Last contact ${atTime(link.last)}` : "No contact since this page was opened";
  byId("contact").textContent = link.last ? `contact ${atTime(link.last)}` : "no contact yet";
}

// --- stations ------------------------------------------------------------------------------------------------------------

function progressWords(station) {
  const { done, of } = progress(station);
  const kind = station.kind === "shape" ? "shape card · " : "";
  return `${kind}${done} of ${of} done${station.sides ? " · L and R" : ""}`;
}

function drawStations() {
  const host = byId("stations");
  const plain = [
    ["roll", "Who is here", ""], ["child", "One child at all stations", ""],
    ["today", "Entered today", records.size ? count(records.size, "entry", "entries") : ""], ["tablet", "This tablet", settings.label],
  ].map(([word, name, words]) => {
    const button = piece("station-plain", { name, progress: words });
    button.dataset.go = word;
    if (shown.word === word) button.setAttribute("aria-current", "page");
    return button;
  });
  const stations = day.data.stations.map((station) => {
    const button = piece("station", { name: station.name, progress: progressWords(station) });
    const figure = drawing(station.measure, station.variant);
    if (figure) part(button, "figure").append(figure);
    button.dataset.station = station.code;
    if (shown.station?.code === station.code) button.setAttribute("aria-current", "page");
    return button;
  });
  plain[1].classList.add("push");
  host.replaceChildren(plain[0], ...stations, ...plain.slice(1));
}

function paintStations() {
  for (const button of byId("stations").children) {
    if (!button.dataset.station) continue;
    const station = stationOf(button.dataset.station);
    fill(button, { progress: progressWords(station) });
  }
  const today = byId("stations").querySelector('[data-go="today"]');
  if (today) fill(today, { progress: records.size ? count(records.size, "entry", "entries") : "" });
}

async function show(next) {
  if (locked) {
    toast("A clock is running. Finish this hold first.");
    return;
  }
  await shown.screen?.leave();
  shown = { station: null, only: null, ...next, screen: null };
  const here = { ...context, station: shown.station, only: shown.only, child: shown.only || shown.child };
  if (shown.only) here.onDone = () => show({ word: "child", child: shown.only });
  const open = shown.station ? OPENERS[shown.station.kind] : { roll: openRoll, child: openByChild }[shown.word];
  byId("screen").removeAttribute("aria-busy");
  shown.screen = open(byId("screen"), byId("acts"), here);
  byId("title").textContent = shown.station?.name || { roll: "Who is here", child: "One child" }[shown.word];
  byId("subtitle").textContent = shown.screen.title();
  history.replaceState(null, "", shown.station ? `#${shown.station.code}` : `#${shown.word}`);
  drawStations();
}

function nextStation() {
  const all = day.data.stations;
  const here = shown.station ? all.indexOf(shown.station) : -1;
  const open = [...all.slice(here + 1), ...all.slice(0, here + 1)].find((station) => { const { done, of } = progress(station); return done < of; });
  show(open || all[0] ? { word: "station", station: open || all[0] } : { word: "roll" });
}

byId("stations").addEventListener("click", (event) => {
  const button = event.target.closest("button");
  if (!button) return;
  if (button.dataset.station) show({ word: "station", station: stationOf(button.dataset.station) });
  else if (button.dataset.go === "today") openToday(context);
  else if (button.dataset.go === "tablet") openTablet();
  else show({ word: button.dataset.go });
});
byId("sync").addEventListener("click", () => whenQuiet(() => openSync(context)));
byId("judge").addEventListener("change", () => keep(`judge:${config.day}`, byId("judge").value).catch(alarm));

// --- acts that any station may ask for ---------------------------------------------------------------------------------------

async function hurts(list, place = {}) {
  const child = await pickChild(list);
  if (!child) return;
  await stopForPain(child, { ...context, station: shown.station }, place);
  (shown.screen.redraw || shown.screen.refresh)();
  nudge();
}

async function move(record, child, reason) {
  const station = day.data.stations.find((one) => one.measure === record.entry.measure && (one.variant || "") === record.entry.variant);
  const trial = station ? nextTrial(childOf(child), station, record.entry.side, record.entry.second) : record.entry.trial;
  const { seq, tablet, schema, day: of, ...old } = record.entry;
  const { measure, variant, side, how, second } = old;
  // Two entries in one breath: taken back here, entered there.
  await add([
    { child: old.child, measure, variant, side, trial: old.trial, how, second, judge: old.judge, outcome: "withdrawn", replaces: record.id, reason },
    { ...old, id: newId(), child, trial, reason, replaces: null },
  ]);
  if (old.outcome !== "stopped_for_pain") return;
  await setRoll(child, { stopped: true }, context.judge());
  note(`${nameOf(childOf(child))} does no more today. ${nameOf(childOf(old.child))} was stopped by mistake: the day's lead ends that stop and closes the rest note, from the entry on the day's page.`);
}

function askJudge() {
  byId("judge").focus();
  try { byId("judge").showPicker(); } catch { toast("Choose who judges, at the top."); }
  toast("Choose who judges, at the top.");
}

async function drawJudges() {
  const select = byId("judge");
  const kept = await recall(`judge:${config.day}`).catch(() => "");
  const list = day.data.judges;
  const chosen = select.value || kept || (list.some(({ code }) => code === config.who) ? config.who : list.length === 1 ? list[0].code : "");
  select.replaceChildren(new Option("choose …", ""), ...list.map(({ code, name }) => new Option(name, code)));
  select.value = list.some(({ code }) => code === chosen) ? chosen : "";
}

// --- the day ------------------------------------------------------------------------------------------------------------------

// Emptied here, or left from another tab: the names do not come back.
let opened = false;
let emptied = false;

async function leftElsewhere() {
  const there = Boolean(await recall("config").catch(() => true));
  opened = opened || there;
  return opened && !there;
}

async function refresh() {
  if (emptied) return false;
  try {
    const body = await speak(config.urls.data);
    if (!Array.isArray(body.children)) return false;
    if (await leftElsewhere()) {
      empty("This tablet was left", "It was emptied from another page. Everything is at the club. Open the day again to go on.");
      return false;
    }
    await keepData(body);
    return true;
  } catch (error) {
    if (error.word === "sign_in" || error.word === "pass_ended") link.word = error.word;
    return false;
  }
}

// Closed and empty, or a day old and empty: then nothing about the children stays here. A hand that is at work comes first;
// then it is tried again with the next refresh.
let staying = null;
let clearing = false;

async function tidy({ status = day.data?.day.status } = {}) {
  const old = Boolean(day.asOf) && Date.now() - day.asOf > DAY_MS;
  if (clearing || (status !== "closed" && !old)) return;
  const found = counts();
  const open = found.waiting + found.needs;
  staying?.remove();
  if (open || found.unsaved) {
    if (old) staying = note(`This day is from ${new Date(day.asOf).toLocaleDateString("en-GB")}. ${count(open + found.unsaved, "entry", "entries")} still on this tablet. Go where there is wifi and send, or save a copy to a file.`, () => whenQuiet(() => openSync(context)), "Where they are");
    return;
  }
  if (locked || shown.screen?.busy() || (await begun())) return;
  clearing = true;
  try {
    // Both sides count once more. Without contact the names still go when their day is over.
    const answer = await reconcile({ left: true }).catch(() => null);
    if (answer ? !answer.complete : !old) return;
    if (locked || shown.screen?.busy()) return;
    if (await wipe(status === "closed" ? "the day is closed and everything is at the club" : "the day is over and everything is at the club")) {
      await clearPages();
      empty("This day is over", status === "closed" ? "The day is closed and everything from this tablet is at the club. Nothing about the children is kept here." : "A day has passed and everything is at the club. Open the day again while there is wifi.");
    }
  } finally {
    clearing = false;
  }
}

// Earlier days whose time is over go from here too.
const expireOthers = () => expire({ except: config.day, before: (of) => reconcile({ day: of, left: true }) });

function empty(title, text) {
  emptied = true;
  halt();
  over(title, text);
}

function over(title, text) {
  const empty = piece("empty", { title, text, act: "Load again" });
  part(empty, "act").addEventListener("click", () => location.reload());
  byId("screen").replaceChildren(empty);
  byId("screen").removeAttribute("aria-busy");
  byId("acts").replaceChildren();
  byId("stations").replaceChildren();
}

// The club names the day's state in each answer.
function heard(said) {
  if (!said?.status || !day.data) return;
  day.data.day.status = said.status;
  if (said.status === "closed") tidy().catch(() => undefined);
}

// What has to be put right before the day is said by itself; the rest stands under 'This tablet'.
async function showChecks() {
  for (const line of await checks()) if (line.must && !line.ok) note(`${line.name}. ${line.text}`);
}

async function openTheDay() {
  if (!(await canWrite())) {
    over("This tablet cannot keep entries", "Its browser does not let pages write, as in a private window. Open the floor in an ordinary window, or use another tablet, before the day starts.");
    return;
  }
  claimPage();
  await loadSettings();
  const [{ forgot }, known] = await Promise.all([openDay({ day: config.day, who: config.who, pass: config.pass_code, judge: context.judge }), openKept(config.day)]);
  await expireOthers().catch(() => undefined);
  keep("config", config).catch(alarm);
  start({ ...config, label: settings.label || config.label, heard });
  const fresh = refresh();
  if (!known && !(await fresh)) {
    over("This tablet has not opened this day yet", link.word === "sign_in" || link.word === "pass_ended" ? "Sign in, or scan the station's code again." : "It needs the club once, for the names and stations. Go where the wifi is good and load again.");
    return;
  }
  if (forgot) note(`This tablet forgot ${count(forgot, "entry", "entries")} of today: its storage was cleared. What had reached the club is safe there; look at the day's page for numbers that never came.`);
  const told = await pickUp();
  if (told) note(told);
  await sayOpenStops(context);
  await drawJudges();
  const word = location.hash.slice(1);
  const station = day.data.stations.find((one) => one.code === word);
  await show(station ? { word: "station", station } : { word: word === "child" ? "child" : "roll" });
  startWorker(config.urls.worker, () => !locked, () => toast("A new version is ready: load it under 'This tablet' when nothing runs."));
  whenScreenMaySleep(() => toast("The screen may go to sleep: touch it now and then."));
  await fresh.then(arrived);
  await showChecks();
}

async function arrived(came) {
  if (!came) return;
  await drawJudges();
  shown.screen?.refresh();
  drawStations();
  heard(day.data.day);
  await tidy();
  paintSync();
}

onChange(() => { forgetIndex(); paintSync(); if (day.data) paintStations(); });
onAdd(soon);
onLink(paintSync);
keepPanelsLive(context);
setInterval(addUnsaved, 5000);
setInterval(() => {
  if (locked || document.hidden) return;
  refresh().then((came) => {
    if (!came) return;
    shown.screen?.refresh();
    heard(day.data.day);
  });
}, 60_000);
setInterval(() => tidy().then(expireOthers).catch(() => undefined), 10 * 60_000);
openTheDay().catch(alarm);
