// Keeps the whole page on the phone, so that it opens with no signal.
// What belongs to the page, and its version, stand in the list that is written beside this file.
/* global SITE */
importScripts("site-files.js");

const worker = /** @type {ServiceWorkerGlobalScope} */ (/** @type {unknown} */ (self));
const PREFIX = `groundtruth-recorder ${worker.registration.scope} `;
const CACHE = PREFIX + SITE.version;

worker.addEventListener("install", (event) => {
  event.waitUntil(
    caches
      .open(CACHE)
      .then((cache) => cache.addAll(SITE.files.map((name) => new Request(name, { cache: "reload" })))),
  );
});

worker.addEventListener("activate", (event) => {
  event.waitUntil(
    (async () => {
      const names = await caches.keys();
      const older = names.filter((name) => name.startsWith(PREFIX) && name !== CACHE);
      await Promise.all(older.map((name) => caches.delete(name)));
      await worker.clients.claim();
    })(),
  );
});

worker.addEventListener("fetch", (event) => {
  const { request } = event;
  if (request.method !== "GET" || new URL(request.url).origin !== worker.location.origin) return;
  event.respondWith(
    (async () => {
      const cache = await caches.open(CACHE);
      const asked = request.mode === "navigate" ? "index.html" : request;
      return (await cache.match(asked, { ignoreSearch: true })) ?? fetch(request);
    })(),
  );
});
