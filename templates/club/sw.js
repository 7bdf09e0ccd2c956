{% load static %}// Answers for the floor when the club's computer is out of reach. It keeps the shell and the floor's pages, nothing else.
"use strict";

const SHELL = "floor-shell-{{ version }}";
const PAGES = "floor-pages";
const FILES = [{% for file in shell %}"{{ file }}", {% endfor %}"{% url 'club:leaving' %}", "{% url 'club:offline' %}"];
const PATIENCE = 1200;

self.addEventListener("install", (event) => {
  event.waitUntil((async () => {
    const cache = await caches.open(SHELL);
    await cache.addAll(FILES.map((file) => new Request(file, { cache: "reload", credentials: "omit" })));
    // The first worker may begin at once; a later one waits until the page says that nothing runs.
    if (!self.registration.active) await self.skipWaiting();
  })());
});

self.addEventListener("activate", (event) => {
  event.waitUntil((async () => {
    for (const name of await caches.keys()) if (name.startsWith("floor-shell-") && name !== SHELL) await caches.delete(name);
    await self.clients.claim();
  })());
});

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
  else if (FILES.includes(url.pathname)) event.respondWith(file(request));
});

async function file(request) {
  const shell = await caches.open(SHELL);
  const kept = await shell.match(request, { ignoreVary: true, ignoreSearch: true });
  return kept || fetch(request);
}

const isFloor = (url) => /^\/days\/[0-9a-f-]{36}\/floor\/$/.test(url.pathname);

async function keep(path) {
  const response = await fetch(path, { cache: "no-store" });
  await keepFloor(path, response);
}

async function keepFloor(path, response) {
  if (!response.ok || response.redirected || response.headers.get("X-Groundwork-Page") !== "floor") return;
  await (await caches.open(PAGES)).put(path, response.clone());
}

// The network first, but not for long: a gym's wifi may take a request and never answer. A late answer is kept for next time.
async function page(request, url) {
  if (!isFloor(url)) return fetch(request).catch(() => spare(url));
  const asked = fetch(request).then(async (response) => {
    await keepFloor(url.pathname, response);
    return response;
  });
  asked.catch(() => undefined);
  const kept = await (await caches.open(PAGES)).match(url.pathname, { ignoreVary: true });
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
