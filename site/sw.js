// Keeps the pages of this folder on the device, so that they open without a network. EDITION and
// FILES come from the build. Each edition of the folder has a cache of its own; the one before
// stays in use until a page asks for the new one, or none is open any more.
const OURS = `treewright ${self.registration.scope} `;
const CACHE = OURS + EDITION;
const PAGES = new Set(FILES.map((file) => new URL(file, self.registration.scope).href));

self.addEventListener('install', (event) => {
  const fresh = FILES.map((file) => new Request(file, { cache: 'reload' }));
  event.waitUntil(caches.open(CACHE).then((cache) => cache.addAll(fresh)));
});

self.addEventListener('activate', (event) => {
  const drop = (names) => names.filter((name) => name.startsWith(OURS) && name !== CACHE).map((name) => caches.delete(name));
  event.waitUntil(caches.keys().then((names) => Promise.all(drop(names))));
});

self.addEventListener('message', (event) => {
  if (event.data === 'take over') self.skipWaiting();
});

// Pages come from the cache; what else lies in the folder comes from the network while there is
// one, and is kept for when there is none.
async function answer(request) {
  const address = new URL(request.url);
  address.search = '';
  address.hash = '';
  if (address.href === self.registration.scope) address.pathname += 'index.html';
  const cache = await caches.open(CACHE);
  const kept = await cache.match(address.href);
  if (kept && PAGES.has(address.href)) return kept;
  try {
    const got = await fetch(request);
    if (got.ok) await cache.put(address.href, got.clone());
    return got;
  } catch {
    return kept ?? Response.error();
  }
}

self.addEventListener('fetch', (event) => {
  const { method, url } = event.request;
  if (method === 'GET' && url.startsWith(self.registration.scope)) event.respondWith(answer(event.request));
});
