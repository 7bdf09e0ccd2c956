// The worker that answers for the floor without wifi, and new versions of the app: taken only at a quiet moment.
"use strict";

let registration = null;
let quiet = () => false;
let tell = () => undefined;
let untouched = true;

// Before the first touch nobody is disturbed. Later the coach decides when.
function offer() {
  if (untouched && quiet()) updateNow();
  else tell();
}

/**
 * Register the worker where the address allows one. `isQuiet` says whether nothing runs and everything is written;
 * `onOffer` is called when a new version waits for a quiet moment.
 */
export async function startWorker(url, isQuiet, onOffer) {
  quiet = isQuiet;
  tell = onOffer;
  if (!navigator.serviceWorker) return false;
  try {
    registration = (await navigator.serviceWorker.register(url)) || null;
  } catch {
    return false;
  }
  // The first worker takes a page that came without one; only a later one brings a new version.
  let first = !navigator.serviceWorker.controller;
  navigator.serviceWorker.addEventListener("controllerchange", () => {
    if (!first) location.reload();
    first = false;
  });
  document.addEventListener("pointerdown", () => { untouched = false; }, { once: true, capture: true });
  if (registration?.waiting) offer();
  registration?.addEventListener("updatefound", () => {
    const coming = registration.installing;
    coming?.addEventListener("statechange", () => { if (coming.state === "installed" && registration.active) offer(); });
  });
  navigator.serviceWorker.ready.then((found) => found.active.postMessage({ keep: location.pathname }), () => undefined);
  return true;
}

/** Whether a new version waits. */
export const updateWaits = () => Boolean(registration?.waiting);

/** Take the new version and load the page again; the outbox is on disk and is not touched. */
export function updateNow() {
  if (quiet()) registration?.waiting?.postMessage("take over");
}

/** Forget every page kept for offline use. */
export async function clearPages() {
  if (!("caches" in window)) return;
  for (const name of await caches.keys()) if (name.startsWith("floor-pages")) await caches.delete(name);
}
