// Keeps the whole page on the phone, so that it opens with no signal.
// What belongs to the page, and its version, stand in the list that is written beside this file.
/* global SITE */
importScripts("site-files.js");

const PREFIX = `groundtruth-recorder ${self.registration.scope} `;
const CACHE = PREFIX + SITE.version;

self.addEventListener("install", (event) => {
  event.waitUntil(
    caches
      .open(CACHE)
      .then((cache) => cache.addAll(SITE.files.map((name) => new Request(name, { cache: "reload" })))),
  );
});

self.addEventListener("activate", (event) => {
  event.waitUntil(
    (async () => {
      const names = await caches.keys();
      const older = names.filter((name) => name.startsWith(PREFIX) && name !== CACHE);
      await Promise.all(older.map((name) => caches.delete(name)));
      await self.clients.claim();
    })(),
  );
});

self.addEventListener("fetch", (event) => {
  const { request } = event;
  if (request.method !== "GET" || new URL(request.url).origin !== self.location.origin) return;
  event.respondWith(
    (async () => {
      const cache = await caches.open(CACHE);
      const asked = request.mode === "navigate" ? "index.html" : request;
      return (await cache.match(asked, { ignoreSearch: true })) ?? fetch(request);
    })(),
  );
});
