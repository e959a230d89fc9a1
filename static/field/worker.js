// Keeps the page itself on the phone: shell, modules, texts, sheet. Nothing of a person or a customer is in it;
// what the interface answers is never kept here. Labels and data sheets it opens from where the page put them.
// The first line names the files and is written by the server.

const NAME = `field-${VERSION}`;

self.addEventListener("install", (event) => {
  const fresh = FILES.map((file) => new Request(file, { cache: "reload", credentials: "omit" }));
  event.waitUntil(caches.open(NAME).then((cache) => cache.addAll(fresh)).then(() => self.skipWaiting()));
});

self.addEventListener("activate", (event) => {
  const old = (names) => names.filter((name) => name.startsWith("field-") && name !== NAME);
  event.waitUntil(caches.keys().then((names) => Promise.all(old(names).map((name) => caches.delete(name)))).then(() => self.clients.claim()));
});

/** A label or data sheet that the page keeps; nothing where it does not. */
const held = (id) => new Promise((done) => {
  const asked = indexedDB.open("plantward-field");
  // There is no page here yet: it makes its own stores.
  asked.onupgradeneeded = () => asked.transaction.abort();
  asked.onerror = () => done(undefined);
  asked.onsuccess = () => {
    const base = asked.result, end = (bytes) => { base.close(); done(bytes); };
    if (!base.objectStoreNames.contains("files")) return end(undefined);
    const file = base.transaction("files").objectStore("files").get(id);
    file.onsuccess = () => end(file.result);
    file.onerror = () => end(undefined);
  };
});

const PDF = { "content-type": "application/pdf", "content-disposition": "inline", "x-content-type-options": "nosniff", "cache-control": "no-store" };

self.addEventListener("fetch", (event) => {
  const { method, mode, url } = event.request, at = new URL(url);
  if (method !== "GET" || at.origin !== location.origin) return;
  const paper = mode === "navigate" && /^\/field\/documents\/([0-9a-f-]{36})$/.exec(at.pathname);
  if (paper) return event.respondWith(held(paper[1]).then((bytes) => (bytes ? new Response(bytes, { headers: PDF }) : fetch(event.request))));
  const page = mode === "navigate" && at.pathname === "/field";
  if (!page && !FILES.includes(at.pathname)) return;
  const key = page ? "/field" : at.pathname;
  event.respondWith(caches.open(NAME).then((cache) => cache.match(key)).then((held) => held ?? fetch(event.request)));
});
