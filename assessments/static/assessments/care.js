// The care owed to a child before and during a test: the question that is asked first, and the button that ends the day.
"use strict";

import { areaChoices, childOf, day, nextTrial, setRoll, sidesOf } from "./day.js";
import { ASKING } from "./board.js";
import { byId, fill, part, piece, toast } from "./dom.js";
import { add, change, newId, release } from "./outbox.js";
import { nameOf, whoOf } from "./words.js";

/** Show a piece in the panel; resolves when it is closed. */
export async function openPanel(content, { onClose = () => undefined } = {}) {
  const panel = byId("panel");
  // The event of a closing comes later: the next panel must not take it for its own.
  if (panel.open) await new Promise((closed) => { panel.addEventListener("close", closed, { once: true }); panel.close(); });
  panel.replaceChildren(content);
  panel.showModal();
  await new Promise((resolve) => {
    panel.addEventListener("close", () => { onClose(); resolve(); }, { once: true });
  });
}

export const closePanel = () => byId("panel").close();

function chipSet(host, list, { many = false, chosen = [] } = {}) {
  const picked = new Set(chosen);
  const buttons = list.map(([value, text]) => {
    const button = piece("chip", { text });
    button.setAttribute("aria-pressed", String(picked.has(value)));
    button.addEventListener("click", () => {
      if (!many) picked.clear();
      if (picked.has(value)) picked.delete(value);
      else picked.add(value);
      buttons.forEach((one, number) => one.setAttribute("aria-pressed", String(picked.has(list[number][0]))));
    });
    return button;
  });
  host.replaceChildren(...buttons);
  return picked;
}

/** The question in a tile or in place of a station: no score before it is answered. `after` is called with the answer kept. */
export function askFirst(name, child, context, after) {
  const element = piece(name, { name: nameOf(child), who: whoOf(child) });
  element.dataset.child = child.code;
  part(element, "no").addEventListener("click", async () => {
    await setRoll(child.code, { sore: "no", present: true }, context.judge()).catch(context.alarm);
    after();
  });
  part(element, "yes").addEventListener("click", async () => {
    if (await openSore(child, context)) after();
  });
  return element;
}

/** What is sore, ill or new: the child does no test today, and the club opens a rest note. Answers whether it was kept. */
export async function openSore(child, context) {
  const form = piece("sore", { name: nameOf(child) });
  const areas = chipSet(part(form, "areas"), areaChoices(), { many: true });
  let kept = false;
  part(form, "save").addEventListener("click", async () => {
    part(form, "error").hidden = areas.size > 0;
    if (!areas.size) return;
    await setRoll(child.code, { sore: "yes", present: true, stopped: true, areas: [...areas] }, context.judge()).catch(context.alarm);
    kept = true;
    closePanel();
  });
  part(form, "cancel").addEventListener("click", closePanel);
  await openPanel(form);
  return kept;
}

/** Why an entry says 'interrupted' although no clock was. */
export const BY_MISTAKE = "'Something hurts' was tapped by mistake";
const NOTES = { pain: "", fear: "Afraid", dizzy: "Dizzy or ill" };

/**
 * Ask what it is and where; the child has stopped already. Answers {areas, note}, {mistake: true} when it was not this
 * child, or null when nothing more was said: then the stop stands and everything rests.
 */
export async function openHurts(child) {
  const form = piece("hurts", { name: nameOf(child), who: whoOf(child), not: `Not ${child.first_name}: take the stop back` });
  let kind = "pain";
  let said = null;
  const areas = chipSet(part(form, "areas"), areaChoices(), { many: true });
  const kinds = [...part(form, "kinds").children];
  for (const button of kinds) {
    button.addEventListener("click", () => {
      kind = button.dataset.kind;
      for (const one of kinds) one.setAttribute("aria-pressed", String(one === button));
      part(form, "areas-field").hidden = kind !== "pain";
    });
  }
  part(form, "save").addEventListener("click", () => {
    const needed = kind === "pain" && !areas.size;
    part(form, "error").hidden = !needed;
    if (needed) return;
    said = { areas: kind === "pain" ? [...areas] : kind === "dizzy" ? ["general"] : [], note: NOTES[kind] };
    closePanel();
  });
  part(form, "mistake").addEventListener("click", () => {
    said = { mistake: true };
    closePanel();
  });
  await openPanel(form);
  return said;
}

const STOPPED = { sore: "yes", present: true, stopped: true, asking: false };
const HOW = { hold: "timed", distance: "typed", shape: "rubric" };

/**
 * Something hurts: the stop is on the tablet before anything is asked, so that a page that dies stops the child all the
 * same. What and where is a change of the same entry, which waits for it up to a minute.
 */
export async function stopForPain(child, context, place) {
  const { station } = context;
  const undone = station ? await stopAtStation(child, context, place) : await stopOnRoll(child, context);
  if (undone) toast(`${nameOf(child)} goes on. The stop was taken back.`);
  else toast(`${nameOf(child)} does no more today. A rest note is opened at the club: tell the family.`);
}

async function stopAtStation(child, context, { side = null, trial = null }) {
  const { station } = context;
  const at = side ?? sidesOf(station)[0];
  const id = newId();
  const held = setRoll(child.code, { stopped: true, stop: id }, context.judge()).catch(context.alarm);
  const entry = {
    id, child: child.code, measure: station.measure, variant: station.variant || "", side: at,
    trial: trial || nextTrial(child, station, at), how: HOW[station.kind] || "counted", outcome: "stopped_for_pain",
  };
  const [kept] = await add([entry], { wait: ASKING }).catch((error) => { context.alarm(error); return [null]; });
  await held;
  const said = await openHurts(child);
  if (said?.mistake) await setRoll(child.code, { stopped: false, stop: null }, context.judge()).catch(context.alarm);
  if (kept && said) {
    const fields = said.mistake ? { outcome: "interrupted", reason: BY_MISTAKE } : said;
    await change(kept.id, fields).then((now) => release([now.id])).catch(context.alarm);
  } else if (kept) await release([kept.id]).catch(context.alarm);
  return Boolean(said?.mistake);
}

// Away from a station the roll's line says it. Until it was asked where, the line stays on the tablet and the stop with it.
async function stopOnRoll(child, context) {
  await setRoll(child.code, { stopped: true, asking: true }, context.judge()).catch(context.alarm);
  const said = await openHurts(child);
  const fields = said?.mistake ? { stopped: false, asking: false } : { ...STOPPED, ...said };
  await setRoll(child.code, fields, context.judge()).catch(context.alarm);
  return Boolean(said?.mistake);
}

/** Which child is it? Answers the child or null. */
export async function pickChild(children) {
  if (children.length === 1) return children[0];
  const content = piece("move-who");
  let found = null;
  const buttons = children.map((child) => {
    const button = piece("chip", { text: `${nameOf(child)} · ${whoOf(child)}` });
    button.addEventListener("click", () => { found = childOf(child.code); closePanel(); });
    return button;
  });
  part(content, "who").replaceChildren(...buttons);
  part(content, "cancel").addEventListener("click", closePanel);
  await openPanel(content);
  return found;
}

export { chipSet };

/** A page that died while it asked where: the stop goes to the club as it stands. */
export async function sayOpenStops(context) {
  for (const [code, line] of Object.entries(day.roll)) if (line.asking) await setRoll(code, STOPPED, line.by).catch(context.alarm);
}
