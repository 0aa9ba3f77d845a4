// Keeps an installed page at hand (only where the connection is secure). The
// network comes first; what was last seen is shown where it does not answer.
"use strict";
const SHELF = "bench-1";
const OWN = ["/", "/boxes", "/static/bench.css", "/static/bench.js", "/static/queue.js", "/static/mark.svg"];

self.addEventListener("install", (event) => {
  event.waitUntil(caches.open(SHELF).then((shelf) => shelf.addAll(OWN)).then(() => self.skipWaiting()));
});
self.addEventListener("activate", (event) => {
  event.waitUntil(caches.keys().then((names) => Promise.all(names.filter((n) => n !== SHELF).map((n) => caches.delete(n)))).then(() => self.clients.claim()));
});

async function fresh(request) {
  const shelf = await caches.open(SHELF);
  try {
    const answer = await fetch(request);
    if (answer.ok && answer.type === "basic" && !answer.redirected) await shelf.put(request, answer.clone());
    return answer;
  } catch (error) {
    const kept = await shelf.match(request, { ignoreSearch: request.mode === "navigate" });
    if (kept) return kept;
    if (request.mode === "navigate") return (await shelf.match("/")) ?? Promise.reject(error);
    throw error;
  }
}

self.addEventListener("fetch", (event) => {
  const url = new URL(event.request.url);
  if (event.request.method !== "GET" || url.origin !== self.location.origin || url.pathname.startsWith("/api/")) return;
  event.respondWith(fresh(event.request));
});
