// Opens the log when there is no line. Keeps the bare page and its parts, never anybody's lines;
// forget.js throws them away when a person signs out.

const KEPT = "field-log";
const SHELL = "/chat/shell";
const PARTS = [
  "/static/log.css",
  "/static/log.js",
  "/static/waiting.js",
  "/static/sender.js",
  "/static/draw.js",
  "/static/words.js",
  "/static/listen.js",
  "/static/compose.js",
  "/static/state.js",
  "/static/log.webmanifest",
];
const PATIENCE_MS = 5000;

self.addEventListener("install", (event) => event.waitUntil(keep().then(() => self.skipWaiting())));
self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));
self.addEventListener("message", (event) => {
  if (event.data === "keep") event.waitUntil(keep().catch(() => {})); // no line now: the next page asks again
});

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const { origin, pathname } = new URL(request.url);
  if (origin !== self.location.origin || request.method !== "GET") return;
  if (request.mode === "navigate" && pathname === "/chat") event.respondWith(lineFirst(request, SHELL));
  else if (PARTS.includes(pathname)) event.respondWith(lineFirst(request, pathname));
});

async function keep() {
  const cache = await caches.open(KEPT);
  await cache.addAll([SHELL, ...PARTS].map((path) => new Request(path, { cache: "no-cache" })));
}

// The line first; the kept copy where there is no line, it answers with a fault, or it takes too long.
async function lineFirst(request, path) {
  const kept = await caches.match(path, { cacheName: KEPT });
  if (!kept) return fetch(request);
  let timer;
  const tooLong = new Promise((resolve) => { timer = setTimeout(resolve, PATIENCE_MS, kept); });
  const line = fetch(request).then((answer) => (answer.status >= 500 ? kept : answer), () => kept);
  const first = await Promise.race([line, tooLong]);
  clearTimeout(timer);
  return first;
}
