// Keeps the pages themselves on the device, so that the bay, and a round on the course, open without a network. Answers of the server are never kept
// here: what a coach may see is decided there, every time.

const CACHE = "leadside-pages-@version@"; // of all that is kept, so that it is fetched anew together
const POSE = "leadside-pose-1"; // the pose library, once it was wanted: 16 MB that do not change under a name
const SHELL = [@shell@]; // the build writes both (server/embed.cmake)

self.addEventListener("install", (event) => {
  event.waitUntil(caches.open(CACHE).then((cache) => cache.addAll(SHELL)).then(() => self.skipWaiting()));
});

self.addEventListener("activate", (event) => {
  const old = async () => {
    for (const name of await caches.keys()) if (name !== CACHE && name !== POSE) await caches.delete(name);
    await self.clients.claim();
  };
  event.waitUntil(old());
});

/** The newest page when there is a network, the kept one when there is none: all of those are of one version. */
async function page(request) {
  try {
    return await fetch(request);
  } catch (cause) {
    const cache = await caches.open(CACHE);
    const kept = await cache.match(request, { ignoreSearch: true });
    if (kept) return kept;
    throw cause;
  }
}

/** A file of the pose library: the kept one, for it is large; whether there is one at all is asked anew while there is a network. */
async function pose(request, pathname) {
  const cache = await caches.open(POSE);
  if (pathname !== "/pose/ready") {
    const kept = await cache.match(request);
    if (kept) return kept;
  }
  try {
    const fresh = await fetch(request);
    if (fresh.ok) await cache.put(request, fresh.clone());
    else if (pathname === "/pose/ready") await caches.delete(POSE);
    return fresh;
  } catch (cause) {
    const kept = await cache.match(request);
    if (kept) return kept;
    throw cause;
  }
}

self.addEventListener("fetch", (event) => {
  const { pathname } = new URL(event.request.url);
  if (event.request.method !== "GET") return;
  if (pathname.startsWith("/pose/")) event.respondWith(pose(event.request, pathname));
  else if (SHELL.includes(pathname)) event.respondWith(page(event.request));
});
