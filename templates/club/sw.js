{% load static %}// Answers for the floor when the club's computer is out of reach. It keeps the shell and the floor's pages, nothing else.
"use strict";

const SHELL = "floor-shell-{{ version }}";
const PAGES = "floor-pages-{{ version }}";
const KINDS = ["floor-shell", "floor-pages"];
const FILES = [{% for file in shell %}"{{ file }}", {% endfor %}"{% url 'club:leaving' %}", "{% url 'club:offline' %}"];
const PATIENCE = 1200;

self.addEventListener("install", (event) => {
  event.waitUntil((async () => {
    const cache = await caches.open(SHELL);
    await cache.addAll(FILES.map((file) => new Request(file, { cache: "reload", credentials: "omit" })));
    await fetchPagesAgain();
    // The first worker may begin at once; a later one waits until the page says that nothing runs.
    if (!self.registration.active) await self.skipWaiting();
  })());
});

self.addEventListener("activate", (event) => {
  event.waitUntil((async () => {
    await fetchPagesAgain();
    await dropOlder();
    await self.clients.claim();
  })());
});

const isOurs = (name) => name === SHELL || name === PAGES;

async function olderNames() {
  return (await caches.keys()).filter((name) => KINDS.some((kind) => name.startsWith(kind)) && !isOurs(name));
}

// A page belongs to the scripts of its version. Pages that older versions kept are asked for again while those are still here.
async function missingPages() {
  const mine = await caches.open(PAGES);
  const missing = new Set();
  for (const name of await olderNames()) {
    if (!name.startsWith("floor-pages")) continue;
    for (const { url } of await (await caches.open(name)).keys()) {
      const { pathname } = new URL(url);
      if (!(await mine.match(pathname, { ignoreVary: true }))) missing.add(pathname);
    }
  }
  return [...missing];
}

async function fetchPagesAgain() {
  for (const path of await missingPages()) await keep(path).catch(() => undefined);
}

// An older version goes when each of its pages is here in this one; until then page and scripts stay together.
async function dropOlder() {
  if (self.registration.installing || self.registration.waiting || (await missingPages()).length) return;
  for (const name of await olderNames()) await caches.delete(name);
}

self.addEventListener("message", (event) => {
  if (event.data === "take over") self.skipWaiting();
  // The page that registers the worker came without it: keep that one too, so that one visit is enough.
  else if (event.data?.keep && isFloor(new URL(event.data.keep, self.location.origin))) event.waitUntil(keep(event.data.keep));
});

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== "GET" || url.origin !== self.location.origin) return;
  if (request.mode === "navigate") event.respondWith(page(request, url));
  else if (FILES.includes(url.pathname) || /\.(js|css|svg)$/.test(url.pathname)) event.respondWith(file(request));
});

// A page of an older version asks for its own scripts, which another shell still holds.
async function file(request) {
  const shell = await caches.open(SHELL);
  const wanted = { ignoreVary: true, ignoreSearch: true };
  return (await shell.match(request, wanted)) || (await olderFile(request, wanted)) || fetch(request);
}

async function olderFile(request, wanted) {
  for (const name of await olderNames()) {
    const kept = name.startsWith("floor-shell") && (await (await caches.open(name)).match(request, wanted));
    if (kept) return kept;
  }
  return null;
}

const isFloor = (url) => /^\/days\/[0-9a-f-]{36}\/floor\/$/.test(url.pathname);

async function keep(path) {
  const response = await fetch(path, { cache: "no-store", signal: AbortSignal.timeout(10_000) });
  await keepFloor(path, response);
}

async function keepFloor(path, response) {
  if (!response.ok || response.redirected || response.headers.get("X-Groundwork-Page") !== "floor") return;
  await (await caches.open(PAGES)).put(path, response.clone());
  await dropOlder();
}

// A page that could not be asked for again is answered as its own version kept it.
async function keptPage(path) {
  for (const name of [PAGES, ...(await olderNames()).filter((one) => one.startsWith("floor-pages"))]) {
    const kept = await (await caches.open(name)).match(path, { ignoreVary: true });
    if (kept) return kept;
  }
  return null;
}

// The network first, but not for long: a gym's wifi may take a request and never answer. A late answer is kept for next time.
async function page(request, url) {
  if (!isFloor(url)) return fetch(request).catch(() => spare(url));
  const asked = fetch(request).then(async (response) => {
    await keepFloor(url.pathname, response);
    return response;
  });
  asked.catch(() => undefined);
  const kept = await keptPage(url.pathname);
  if (!kept) return asked.catch(() => spare(url));
  const late = new Promise((resolve) => { setTimeout(() => resolve(kept), PATIENCE); });
  // A broken server, a wifi portal or a sign-in page must not take the floor away from a coach who has a full outbox.
  const good = asked.then((response) => (response.headers.get("X-Groundwork-Page") === "floor" ? response : kept), () => kept);
  return Promise.race([good, late]);
}

async function spare(url) {
  const shell = await caches.open(SHELL);
  const wanted = url.pathname === "{% url 'club:leaving' %}" ? url.pathname : "{% url 'club:offline' %}";
  return (await shell.match(wanted, { ignoreVary: true })) || Response.error();
}
