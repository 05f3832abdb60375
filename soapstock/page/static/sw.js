"use strict";
// Pages that were opened stay readable without a network; nothing that is entered passes here.
const KEPT = "soapstock-1";

self.addEventListener("install", (event) => {
  event.waitUntil(caches.open(KEPT).then((cache) => cache.addAll(["/static/page.css", "/static/page.js", "/static/pot.js"])));
  self.skipWaiting();
});
self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));
self.addEventListener("fetch", (event) => {
  const ask = event.request;
  if (ask.method !== "GET" || new URL(ask.url).origin !== location.origin) return;
  event.respondWith((async () => {
    const cache = await caches.open(KEPT);
    try {
      const answer = await fetch(ask);
      if (answer.status === 401) await caches.delete(KEPT);
      else if (answer.ok && !answer.redirected) await cache.put(ask, answer.clone());
      return answer;
    } catch (lost) {
      const kept = await cache.match(ask);
      if (kept) return kept;
      throw lost;
    }
  })());
});
