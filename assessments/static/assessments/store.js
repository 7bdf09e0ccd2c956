// The tablet's own database. A write is done only when its transaction is complete, and a lost handle is opened again.
"use strict";

const NAME = "groundwork";

// Each step only adds. A step that is released is never edited: a tablet may be several versions behind, with a full outbox.
const STEPS = [
  (db) => {
    const entries = db.createObjectStore("entries", { keyPath: "id" });
    entries.createIndex("day", "day");
    entries.createIndex("state", "state");
    db.createObjectStore("kept", { keyPath: "key" });
  },
  (db) => {
    db.createObjectStore("deleted", { keyPath: "number", autoIncrement: true });
  },
];

/** What went wrong, in a word that a screen can explain: full, newer or broken. */
export class StoreError extends Error {
  constructor(word, cause) {
    super(word);
    this.word = word;
    this.cause = cause;
  }
}

let opening = null;

function open() {
  if (opening) return opening;
  opening = new Promise((resolve, reject) => {
    const request = indexedDB.open(NAME, STEPS.length);
    request.onupgradeneeded = (event) => {
      for (const step of STEPS.slice(event.oldVersion)) step(request.result);
    };
    request.onerror = () => reject(request.error);
    request.onblocked = () => reject(new DOMException("An older page holds the store", "VersionError"));
    request.onsuccess = () => {
      const db = request.result;
      // The browser may take the connection away under memory pressure; a newer tab may ask for it.
      db.onclose = () => { opening = null; };
      db.onversionchange = () => { db.close(); opening = null; };
      resolve(db);
    };
  });
  opening.catch(() => { opening = null; });
  return opening;
}

function attempt(db, names, mode, work) {
  return new Promise((resolve, reject) => {
    const options = mode === "readwrite" ? { durability: "strict" } : {};
    const transaction = db.transaction(names, mode, options);
    let answer;
    transaction.oncomplete = () => resolve(answer);
    transaction.onabort = () => reject(transaction.error || new DOMException("aborted", "AbortError"));
    const stores = Object.fromEntries(names.map((name) => [name, transaction.objectStore(name)]));
    Promise.resolve(work(stores)).then(
      (value) => { answer = value; },
      (error) => {
        reject(error);
        try { transaction.abort(); } catch { reject(error); }
      },
    );
  });
}

/** Run work(stores) in one transaction; resolves after it is complete. Tried twice, the second time on a new handle. */
export async function run(names, mode, work) {
  let last;
  for (let turn = 0; turn < 2; turn += 1) {
    try {
      return await attempt(await open(), names, mode, work);
    } catch (error) {
      last = error;
      if (error?.name === "QuotaExceededError") break;
      const lost = opening;
      opening = null;
      if (lost) lost.then((db) => db.close(), () => undefined);
    }
  }
  throw new StoreError({ QuotaExceededError: "full", VersionError: "newer" }[last?.name] || "broken", last);
}

/** One request as a promise, to be awaited inside run(). */
export function ask(request) {
  return new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
}

/** A value kept under a key, or undefined. */
export async function recall(key) {
  const found = await run(["kept"], "readonly", ({ kept }) => ask(kept.get(key)));
  return found?.value;
}

/** Keep a value under a key. */
export function keep(key, value) {
  return run(["kept"], "readwrite", ({ kept }) => ask(kept.put({ key, value })));
}

/** Whether this browser can write at all: some private windows cannot. */
export async function canWrite() {
  try {
    const mark = Date.now();
    await keep("check", mark);
    return (await recall("check")) === mark;
  } catch {
    return false;
  }
}

/**
 * The only function that deletes. It counts and logs what goes, so that nothing leaves the tablet unseen.
 * `choose` gets the stores and returns the entry ids and kept keys that may go, decided inside the transaction.
 */
export function forget(why, choose) {
  return run(["entries", "kept", "deleted"], "readwrite", async (stores) => {
    const { ids = [], keys = [] } = await choose(stores);
    if (!ids.length && !keys.length) return 0;
    for (const id of ids) stores.entries.delete(id);
    for (const key of keys) stores.kept.delete(key);
    await ask(stores.deleted.add({ at: new Date().toISOString(), why, ids, keys }));
    return ids.length;
  });
}

/** What was deleted on this tablet, oldest first. */
export function deletions() {
  return run(["deleted"], "readonly", ({ deleted }) => ask(deleted.getAll()));
}
