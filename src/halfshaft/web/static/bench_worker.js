// Keeps the pages of the bench, what they are made of and their sheets, so that a reload without a connection finds them. The network
// goes first; what is kept says so in a header.
const STORE = "bench-1";
const KEPT = /^\/c\/[^/]+\/bench\/|^\/static\/|^\/api\/conversions\/[^/]+\/bench\/[^/]+\/[^/]+$/;

self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));
self.addEventListener("fetch", (event) => {
  const url = new URL(event.request.url);
  if (event.request.method === "GET" && url.origin === self.location.origin && KEPT.test(url.pathname)) event.respondWith(answer(event.request));
});
// A page that came before this was there says what it is made of.
self.addEventListener("message", (event) => event.waitUntil(caches.open(STORE).then((store) => store.addAll(event.data))));

async function answer(request) {
  const store = await caches.open(STORE);
  try {
    const fresh = await fetch(request);
    if (fresh.status === 200) store.put(request, fresh.clone());
    return fresh;
  } catch (error) {
    const kept = await store.match(request);
    if (!kept) throw error;
    return new Response(kept.body, { status: 200, headers: { ...Object.fromEntries(kept.headers), "x-kept": "yes" } });
  }
}
