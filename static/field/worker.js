// Keeps the page itself on the phone: shell, modules, texts, sheet. Nothing of a person or a customer is in it;
// what the interface answers is never kept here. The first line names the files and is written by the server.

const NAME = `field-${VERSION}`;

self.addEventListener("install", (event) => {
  const fresh = FILES.map((file) => new Request(file, { cache: "reload", credentials: "omit" }));
  event.waitUntil(caches.open(NAME).then((cache) => cache.addAll(fresh)).then(() => self.skipWaiting()));
});

self.addEventListener("activate", (event) => {
  const old = (names) => names.filter((name) => name.startsWith("field-") && name !== NAME);
  event.waitUntil(caches.keys().then((names) => Promise.all(old(names).map((name) => caches.delete(name)))).then(() => self.clients.claim()));
});

self.addEventListener("fetch", (event) => {
  const { method, mode, url } = event.request, at = new URL(url);
  if (method !== "GET" || at.origin !== location.origin) return;
  const page = mode === "navigate" && at.pathname === "/field";
  if (!page && !FILES.includes(at.pathname)) return;
  const key = page ? "/field" : at.pathname;
  event.respondWith(caches.open(NAME).then((cache) => cache.match(key)).then((held) => held ?? fetch(event.request)));
});
