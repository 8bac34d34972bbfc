// Keeps the page and what stands beside it, so that it opens without a net. A newer page
// on the host takes its place the next time.
"use strict";
const shelf = "lapwing RUN";
const page = "lapwing.html";
const all = [page, "manifest.webmanifest", "icon.svg"];
addEventListener("install", e => e.waitUntil(caches.open(shelf).then(s => s.addAll(all.map(n => new Request(n, { cache: "reload" })))).then(() => skipWaiting())));
addEventListener("activate", e => e.waitUntil(caches.keys().then(names => Promise.all(names.filter(n => n.startsWith("lapwing ") && n !== shelf).map(n => caches.delete(n)))).then(() => clients.claim())));
addEventListener("fetch", e => {
  const url = new URL(e.request.url);
  if (e.request.method !== "GET" || url.origin !== location.origin) return;
  const name = url.pathname.slice(new URL(registration.scope).pathname.length) || page;
  if (!all.includes(name)) return;
  e.respondWith(caches.open(shelf).then(s => s.match(name)).then(kept => kept || fetch(e.request)));
});
