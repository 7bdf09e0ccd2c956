// What opens from the bar: where the entries are, what was entered today, and a result that belongs to another child.
"use strict";

import { chipSet, closePanel, openPanel } from "./care.js";
import { childOf, children, day, isReplaced, stationFor, wordFor } from "./day.js";
import { fill, part, piece, toast } from "./dom.js";
import { copy, counts } from "./holdings.js";
import { dealtWith, lines, lineSeen, onChange, records, withdraw } from "./outbox.js";
import { link, nudge, onLink, sendForOthers } from "./sender.js";
import { atTime, count, nameOf, resultWords, whoOf } from "./words.js";

const PAGE = 60;

/** What the link says, in a sentence. */
export function linkWords(waiting) {
  const what = count(waiting, "entry", "entries");
  return {
    quiet: waiting ? "They go out in a moment." : "Nothing waits.",
    sending: "Sending now.",
    stuck: "The club's computer could not take some of them. They stay here and are tried again; save a copy to a file and tell the director.",
    no_answer: "The club does not answer. Everything is safe on this tablet and goes out by itself when the wifi is back.",
    sign_in: `Sign in to send ${what}. Nothing is lost meanwhile.`,
    pass_ended: `This station's pass has ended. Scan a new one, or sign in, to send ${what}.`,
    not_allowed: `This account may not record results. Somebody who may has to sign in to send ${what}.`,
    other_name: `${count(link.others, "entry was", "entries were")} made while somebody else was signed in. Each keeps its judge. Send them?`,
  }[link.word];
}

/** Save everything on this tablet to a file. */
export async function saveCopy() {
  const body = await copy();
  const file = new Blob([JSON.stringify(body, null, 1)], { type: "application/json" });
  const address = URL.createObjectURL(file);
  const anchor = document.createElement("a");
  anchor.href = address;
  anchor.download = `groundwork-${(body.day || "tablet").slice(0, 8)}-${body.saved_at.slice(0, 16).replace(/[:T]/g, "-")}.json`;
  anchor.click();
  setTimeout(() => URL.revokeObjectURL(address), 60_000);
  return body.entries.length + body.roll.length;
}

const nameFor = (entry) => {
  const child = childOf(entry.child);
  return child ? nameOf(child) : "A child who is not on this tablet";
};

function whatFor(entry) {
  const station = stationFor(entry);
  return [station?.name || entry.measure, entry.side].filter(Boolean).join(", ");
}

/** Where the entries are. */
export function openSync(context) {
  const view = piece("sync");
  const paint = () => {
    const found = counts();
    fill(view, {
      stored: found.conflict ? `${found.stored}, of them ${found.conflict} beside another tablet's entry: the day's lead settles it` : found.stored,
      waiting: found.waiting + found.unsaved, needs: found.needs, left: found.left, elsewhere: found.elsewhere, contact: link.last ? atTime(link.last) : "none since this page was opened",
      as_of: day.asOf ? atTime(day.asOf) : "–", word: found.unsaved ? `${count(found.unsaved, "entry", "entries")} could not be written on this tablet. Save a copy to a file now, and free some space.` : linkWords(found.waiting),
    });
    const words = [link.word, link.elsewhere];
    for (const name of ["left", "elsewhere"]) for (const element of [part(view, name), part(view, name).previousElementSibling]) element.hidden = !found[name];
    part(view, "others").hidden = !words.includes("other_name");
    part(view, "sign-in").hidden = !["sign_in", "pass_ended", "not_allowed"].some((word) => words.includes(word));
    part(view, "needs").replaceChildren(
      ...[...records.values()].filter((record) => record.state === "refused").map(needsLine),
      ...lines.filter((line) => line.unknown).map(unknownLine),
    );
  };
  part(view, "send").addEventListener("click", nudge);
  part(view, "others").addEventListener("click", sendForOthers);
  part(view, "copy").addEventListener("click", async () => toast(`${count(await saveCopy(), "entry", "entries")} in the file.`));
  part(view, "close").addEventListener("click", closePanel);
  return openLive(view, paint, context);
}

async function openLive(view, paint, context) {
  paint();
  context.live = paint;
  await openPanel(view, { onClose: () => { if (context.live === paint) context.live = null; } });
}

function needsLine(record) {
  const line = piece("needs-line", { name: nameFor(record.entry), what: whatFor(record.entry), reason: record.answer, value: resultWords(record.entry, stationFor(record.entry)) });
  part(line, "settled").addEventListener("click", () => dealtWith(record.id));
  return line;
}

function unknownLine(line) {
  const element = piece("needs-line", { name: nameFor(line), what: "who is here", reason: "The club does not know this child here: say it to the day's lead.", value: line.sore === "yes" ? "sore" : line.present === false ? "away" : "here" });
  part(element, "settled").addEventListener("click", () => lineSeen(line.day, line.child));
  return element;
}

const STATES = { waiting: "on this tablet", stored: "at the club", conflict: "at the club, beside another entry", refused: "needs you", settled: "left with the club" };

/** Everything entered on this tablet today, newest first; each can be taken back or moved. */
export function openToday(context) {
  const view = piece("today");
  let shown = PAGE;
  const paint = () => {
    const all = [...records.values()].sort((a, b) => b.seq - a.seq);
    fill(view, { lead: all.length ? `${count(all.length, "entry", "entries")}. Nothing is ever deleted: taking back adds a line.` : "Nothing yet." });
    part(view, "list").replaceChildren(...all.slice(0, shown).map((record) => todayLine(record, context)));
    part(view, "more").hidden = all.length <= shown;
  };
  part(view, "more").addEventListener("click", () => { shown += PAGE; paint(); });
  part(view, "close").addEventListener("click", closePanel);
  return openLive(view, paint, context);
}

function todayLine(record, context) {
  const { entry } = record;
  const gone = isReplaced(record.id) || entry.outcome === "withdrawn" || record.state === "refused";
  const line = piece("today-line", {
    at: atTime(record.made_at), name: nameFor(entry), what: whatFor(entry), value: entry.second ? "second look" : resultWords(entry, stationFor(entry)),
    where: [STATES[record.state], isReplaced(record.id) && "replaced", entry.reason].filter(Boolean).join(" · "),
  });
  line.classList.toggle("gone", gone);
  line.dataset.state = record.state;
  line.dataset.entry = record.id;
  if (gone) part(line, "acts").remove();
  else {
    part(line, "back").setAttribute("aria-label", `Take back ${nameFor(entry)}, ${whatFor(entry)}`);
    part(line, "move").setAttribute("aria-label", `Wrong child: ${nameFor(entry)}, ${whatFor(entry)}`);
    part(line, "back").addEventListener("click", () => takeBack(record, context));
    part(line, "move").addEventListener("click", () => openMove(record, context));
  }
  return line;
}

// A pain that was not one: the stop and the rest note are the club's by now, and only a person ends them.
async function takeBack(record, context) {
  await withdraw(record.id, "Taken back by the coach").catch(context.alarm);
  if (record.entry.outcome !== "stopped_for_pain") return;
  closePanel();
  context.note(`${nameFor(record.entry)} stays stopped for today. The day's lead ends the stop and closes the rest note, from the entry on the day's page.`);
}

// A child who rests or has stopped takes no score: the club would refuse one half of the move. A pain is always taken.
function mayTake(child, entry) {
  const station = stationFor(entry);
  return entry.outcome === "stopped_for_pain" || !station || !["resting", "stopped"].includes(wordFor(child, station).word);
}

/** Move a result to the child whose it is: one entry that takes the place of the other, with the reason. */
async function openMove(record, context) {
  const { entry } = record;
  const view = piece("move", { name: nameFor(entry), what: [whatFor(entry), resultWords(entry, stationFor(entry))].join(" · ") });
  const others = children().filter((child) => child.code !== entry.child && mayTake(child, entry));
  const who = chipSet(part(view, "who"), others.map((child) => [child.code, `${nameOf(child)} · ${whoOf(child)}`]));
  part(view, "left-out").hidden = others.length === children().length - 1;
  const buttons = [...part(view, "reasons").children];
  let reason = buttons[0].textContent;
  for (const button of buttons) {
    button.addEventListener("click", () => {
      reason = button.textContent;
      for (const one of buttons) one.setAttribute("aria-pressed", String(one === button));
    });
  }
  part(view, "save").addEventListener("click", async () => {
    part(view, "error").hidden = who.size > 0;
    if (!who.size) return;
    const [child] = who;
    closePanel();
    try {
      await context.move(record, child, reason);
      toast(`Moved to ${nameOf(childOf(child))}.`);
    } catch (error) {
      context.alarm(error);
    }
  });
  part(view, "cancel").addEventListener("click", closePanel);
  await openPanel(view);
  await openToday(context);
}

/** Repaint what is open when the outbox or the link changes. */
export function keepPanelsLive(context) {
  const paint = () => context.live?.();
  onChange(paint);
  onLink(paint);
}
