// Keeps the pages themselves on the device, so that the bay opens without a network. Answers of the server are never kept
// here: what a coach may see is decided there, every time.

const CACHE = "leadside-pages-3";
const POSE = "leadside-pose-1"; // the pose library, once it was wanted: 16 MB that do not change under a name
const SHELL = [
  "/", "/bay.html", "/front.js", "/icon.svg", "/index.html", "/leadside.css", "/leadside.webmanifest",
  "/lib/api.js", "/lib/care.js", "/lib/confirm.js", "/lib/consent.js", "/lib/dom.js", "/lib/figures.js", "/lib/measures.js", "/lib/mine.js", "/lib/mine_button.js", "/lib/session.js", "/lib/storage.js", "/lib/tabs.js", "/lib/units.js", "/lib/words.js",
  "/bay/bay.css", "/bay/bay.js", "/bay/catalogue.js", "/bay/check.js", "/bay/draft.js", "/bay/drawings.js", "/bay/film.js", "/bay/fix.js", "/bay/mark.js", "/bay/mark_panel.js", "/bay/moments.js", "/bay/new_student.js", "/bay/outbox.js", "/bay/outbox_room.js", "/bay/pictures.js", "/bay/pose.js", "/bay/report.js", "/bay/review.js", "/bay/room.js", "/bay/sheet.js", "/bay/step_panel.js", "/bay/student.js", "/bay/students.js", "/bay/swing.js", "/bay/unclaimed.js",
  "/words/de.json", "/words/en.json",
];

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

/** The newest page when there is a network, the kept one when there is none. */
async function page(request) {
  const cache = await caches.open(CACHE);
  try {
    const fresh = await fetch(request);
    if (fresh.ok) await cache.put(request, fresh.clone());
    return fresh;
  } catch (cause) {
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
