// Leaving a tablet: first what waits is said and sent, then everything about the children goes, and only then the session.
"use strict";

import { byId } from "./dom.js";
import { copy, inState, onChange, openDay, takeIn, wipe } from "./outbox.js";
import { link, nudge, onLink, sendForOthers, speak, start } from "./sender.js";
import { recall } from "./store.js";
import { clearPages } from "./updates.js";
import { count, nameOf } from "./words.js";

const page = JSON.parse(byId("leaving-config").textContent);
let config = null;

async function load() {
  config = (await recall("config").catch(() => null)) || null;
  if (config) {
    await openDay({ day: config.day, who: config.who, pass: config.pass_code, judge: () => null });
    await start({ ...config, label: config.label });
  } else await start({ day: page.day, urls: { token: page.token, sync: page.sync } });
  onChange(paint);
  onLink(paint);
  await paint();
}

async function namesOf(waiting) {
  const names = new Set();
  for (const day of new Set(waiting.map((record) => record.day))) {
    const known = new Map(((await recall(`data:${day}`))?.body.children || []).map((child) => [child.code, child]));
    for (const record of waiting) if (known.has(record.entry.child)) names.add(nameOf(known.get(record.entry.child)));
  }
  return [...names];
}

function sentence(number, names) {
  const said = `${count(number, "entry is", "entries are")} still on this tablet`;
  if (!names.length) return `${said}.`;
  const more = names.length > 12 ? ` and ${names.length - 12} more children` : "";
  return `${said}: ${names.slice(0, 12).join(", ")}${more}`;
}

const WORDS = {
  sign_in: "The club asks who you are. Sign in again, then send.",
  pass_ended: "This station's pass has ended. A coach can sign in and send from this page.",
  not_allowed: "This account may not record results. Somebody who may has to sign in.",
  other_name: "These entries were made while somebody else was signed in. Each keeps its judge.",
  no_answer: "The club does not answer. Go where the wifi is good, or save a copy to a file.",
  sending: "Sending now.",
};

async function paint() {
  const waiting = [...(await inState("waiting")), ...(await inState("refused"))].sort((a, b) => a.seq - b.seq);
  const names = waiting.length ? await namesOf(waiting) : [];
  byId("full").hidden = !waiting.length;
  byId("empty").hidden = waiting.length > 0;
  byId("waiting-words").textContent = sentence(waiting.length, names);
  byId("link-words").textContent = WORDS[link.word] || "";
  byId("others").hidden = link.word !== "other_name";
}

async function saveFile() {
  const body = await copy();
  const address = URL.createObjectURL(new Blob([JSON.stringify(body, null, 1)], { type: "application/json" }));
  const anchor = document.createElement("a");
  anchor.href = address;
  anchor.download = `groundwork-tablet-${body.saved_at.slice(0, 10)}.json`;
  anchor.click();
  setTimeout(() => URL.revokeObjectURL(address), 60_000);
}

// The session ends only with contact; without it the page tries again until it does.
async function endSession() {
  try {
    const station = Boolean(config?.pass);
    const proof = station ? { token: "" } : await speak(page.token);
    const headers = station ? { "X-Station-Pass": config.pass } : { "X-CSRFToken": proof.token };
    await fetch(station ? page.leave : page.sign_out, { method: "POST", headers, credentials: "same-origin" });
    location.assign(page.sign_in);
  } catch (error) {
    if (error.word === "sign_in") location.assign(page.sign_in);
    byId("leave-words").textContent = "This tablet is empty. The session ends by itself as soon as the club answers: leave this page open.";
    setTimeout(endSession, 5000);
  }
}

byId("send").addEventListener("click", nudge);
byId("others").addEventListener("click", sendForOthers);
byId("copy").addEventListener("click", saveFile);
byId("file").addEventListener("change", async () => {
  const [chosen] = byId("file").files;
  if (!chosen) return;
  try {
    const body = JSON.parse(await chosen.text());
    const taken = await takeIn(Array.isArray(body) ? body : body.entries);
    byId("file-words").textContent = `${count(taken, "entry was", "entries were")} taken in.`;
    await nudge();
  } catch {
    byId("file-words").textContent = "This is not a copy that a tablet has saved.";
  }
});
byId("keep").addEventListener("click", endSession);
byId("leave").addEventListener("click", async () => {
  if (!(await wipe("somebody left the tablet and everything was at the club"))) {
    await paint();
    return;
  }
  await clearPages();
  await endSession();
});
load();
