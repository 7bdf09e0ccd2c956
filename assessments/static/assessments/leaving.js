// Leaving a tablet: first what waits is said and sent, then everything about the children goes, and only then the session.
"use strict";

import { byId } from "./dom.js";
import { begun, copy, daysHere, takeIn, wipe } from "./holdings.js";
import { inState, lines, onChange, openDay, readAll } from "./outbox.js";
import { halt, link, nudge, onLink, reconcile, sendForOthers, speak, start } from "./sender.js";
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
  } else {
    await readAll();
    await start({ day: page.day, urls: page, visiting: true });
  }
  onChange(paint);
  onLink(paint);
  await paint();
}

async function namesOf(waiting) {
  const names = new Set();
  for (const day of new Set(waiting.map((record) => record.day))) {
    const known = new Map(((await recall(`data:${day}`))?.body.children || []).map((child) => [child.code, child]));
    for (const one of waiting) {
      const child = known.get(one.child || one.entry.child);
      if (one.day === day && child) names.add(nameOf(child));
    }
  }
  return [...names];
}

function sentence(entries, answers, names) {
  const what = [
    entries && count(entries, "entry", "entries"), answers && count(answers, "answer about who is here or sore", "answers about who is here or sore"),
  ].filter(Boolean).join(" and ");
  const said = `${what} ${entries + answers === 1 ? "is" : "are"} still on this tablet`;
  if (!names.length) return `${said}.`;
  const more = names.length > 12 ? ` and ${names.length - 12} more children` : "";
  return `${said}: ${names.slice(0, 12).join(", ")}${more}`;
}

const WORDS = {
  sign_in: "The club asks who you are. Sign in again, then send.",
  pass_ended: "This station's pass has ended. A coach can sign in and send from this page.",
  not_allowed: "This account may not record results. Somebody who may has to sign in.",
  other_name: "These entries were made while somebody else was signed in. Each keeps its judge.",
  stuck: "The club's computer could not take some of them. Save a copy to a file and tell the director.",
  no_answer: "The club does not answer. Go where the wifi is good, or save a copy to a file.",
  sending: "Sending now.",
};

async function paint() {
  const waiting = [...(await inState("waiting")), ...(await inState("refused"))].sort((a, b) => a.seq - b.seq);
  const names = await namesOf([...waiting, ...lines]);
  const open = waiting.length + lines.length > 0;
  byId("full").hidden = !open;
  byId("empty").hidden = open;
  byId("waiting-words").textContent = sentence(waiting.length, lines.length, names);
  const word = ["quiet", "sending"].includes(link.word) ? link.elsewhere || link.word : link.word;
  byId("link-words").textContent = WORDS[word] || "";
  byId("others").hidden = ![link.word, link.elsewhere].includes("other_name");
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

async function asked(url, headers) {
  const response = await fetch(url, { method: "POST", headers, credentials: "same-origin" });
  if (!response.ok) throw new Error(`${url} answered ${response.status}`);
}

// The session ends only with contact; without it the page tries again until it does. From the moment at which somebody
// has signed out here nothing more is sent.
let ending = 0;

async function endSession() {
  halt();
  clearTimeout(ending);
  try {
    // A pass is put down whoever is signed in: both may lie on one tablet.
    await asked(page.leave, { "X-Station-Pass": config?.pass || "none" });
    if (!config?.pass) await asked(page.sign_out, { "X-CSRFToken": (await speak(page.token)).token });
    location.assign(page.sign_in);
  } catch (error) {
    if (error.word === "sign_in") {
      location.assign(page.sign_in);
      return;
    }
    const kept = lines.length || (await inState("waiting")).length || (await inState("refused")).length;
    byId(kept ? "link-words" : "leave-words").textContent = `${kept ? "Nothing more is sent from here." : "This tablet is empty."} The session ends by itself as soon as the club answers: leave this page open.`;
    ending = setTimeout(endSession, 5000);
  }
}

// Both sides count once more before everything goes; what the club lacks after all goes out again instead.
let sure = false;

async function leave() {
  if (!sure && (await begun())) {
    sure = true;
    byId("leave-words").textContent = "Something that was begun on the floor is not kept yet. Open the floor and finish it there, or press once more to leave without it.";
    return;
  }
  let complete = true;
  for (const day of await daysHere()) complete = (await reconcile({ day, left: true }).catch(() => ({ complete: true }))).complete && complete;
  if (!complete) await nudge();
  if (!complete || !(await wipe("somebody left the tablet and everything was at the club"))) {
    byId("leave-words").textContent = "Not yet: a hold on the floor is not finished, or the club lacks something. Open the floor once more.";
    await paint();
    return;
  }
  await clearPages();
  await endSession();
}

byId("send").addEventListener("click", nudge);
byId("others").addEventListener("click", sendForOthers);
byId("copy").addEventListener("click", saveFile);
byId("file").addEventListener("change", async () => {
  const [chosen] = byId("file").files;
  if (!chosen) return;
  try {
    const body = JSON.parse(await chosen.text());
    const taken = await takeIn(body);
    byId("file-words").textContent = `${count(taken, "entry was", "entries were")} taken in.`;
    await nudge();
  } catch {
    byId("file-words").textContent = "This is not a copy that a tablet has saved.";
  }
});
byId("keep").addEventListener("click", endSession);
byId("leave").addEventListener("click", leave);
window.addEventListener("online", () => { if (ending) endSession(); });
load();
