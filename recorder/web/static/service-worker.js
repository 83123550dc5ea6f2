// Keeps the files of the program for the moment without a link, and nothing of any job: pages, sound
// and pictures are never kept here. Without the server a page says what to do.

const KEPT = "seamnote-files";
const OFFLINE = "/static/live/offline.html";
const FILES = [OFFLINE, "/static/look.css", "/static/seam.svg", "/static/live/icon-192.png"];

self.addEventListener("install", (event) => {
  event.waitUntil(caches.open(KEPT).then((cache) => cache.addAll(FILES)));
  self.skipWaiting();
});

self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== "GET" || url.origin !== self.location.origin) return;
  if (request.mode === "navigate") event.respondWith(page(request));
  else if (url.pathname.startsWith("/static/")) event.respondWith(file(request));
});

async function page(request) {
  try {
    return await fetch(request);
  } catch {
    return (await caches.match(OFFLINE)) ?? Response.error();
  }
}

/** The newest where there is a link, so that an update of the program counts at once. */
async function file(request) {
  try {
    const answer = await fetch(request);
    if (answer.ok) {
      const copy = answer.clone();
      caches.open(KEPT).then((cache) => cache.put(request, copy)).catch(() => {});
    }
    return answer;
  } catch {
    return (await caches.match(request)) ?? Response.error();
  }
}
