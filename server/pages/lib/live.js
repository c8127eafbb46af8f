// What changes is told by the server while a page is looked at (GET /v1/events), and what is shown is asked for again. Where nothing
// is told (no network, too many listen already) a room shows what was so when it was opened.

import { el, show } from "./dom.js";

const SOON_MS = 300; // several changes at once are one
const LEFT_MS = 200; // so long a room may take to give way to the next
const USED_MS = 600_000; // untouched for so long a page asks for nothing, so that its session ends by itself as ever

const hearers = new Set();
let source = null;
let heardBefore = false;
let used = Date.now();
let timer;

function tell() {
  if (Date.now() - used > USED_MS) return;
  for (const hearer of hearers) {
    if (!hearer.due) continue;
    hearer.due = false;
    hearer.again().catch(() => {}); // what stands there stays
  }
}

function heard(kind = null) {
  attend();
  for (const hearer of hearers) hearer.due ||= kind === null || hearer.kinds.includes(kind);
  clearTimeout(timer);
  timer = setTimeout(tell, SOON_MS);
}

function listen() {
  const stream = new EventSource("/v1/events");
  source = stream;
  stream.addEventListener("change", ({ data }) => heard(JSON.parse(data).kind));
  stream.addEventListener("reset", () => heard());
  stream.addEventListener("ready", () => {
    if (heardBefore) heard(); // something may have been missed in between
    heardBefore = true;
  });
  stream.addEventListener("error", () => {
    if (!navigator.onLine) stream.close();
    if (stream.readyState === EventSource.CLOSED && source === stream) source = null;
  });
}

/** Listens while somebody looks at a page that wants to know. */
function attend() {
  for (const hearer of hearers) {
    hearer.shown ||= hearer.place.isConnected;
    if (!hearer.place.isConnected && (hearer.shown || hearer.room !== location.hash)) hearers.delete(hearer); // or never shown: its room was left
  }
  const wanted = hearers.size > 0 && document.visibilityState === "visible" && navigator.onLine;
  if (wanted && !source) listen();
  if (!wanted && source) {
    source.close();
    source = null;
  }
}

function touched() {
  const idle = Date.now() - used > USED_MS;
  used = Date.now();
  if (idle) tell();
}

document.addEventListener("visibilitychange", attend);
for (const name of ["online", "offline"]) window.addEventListener(name, attend);
for (const name of ["pointerdown", "keydown"]) document.addEventListener(name, touched, { capture: true, passive: true });
window.addEventListener("hashchange", () => setTimeout(attend, LEFT_MS));

/** again: called when something of these kinds has changed, for as long as the place is on the page. */
export function hear(place, kinds, again) {
  hearers.add({ place, kinds, again, room: location.hash, shown: false, due: false });
  setTimeout(attend, LEFT_MS);
}

/** Draws only what is another than before; who stands on a link or a button that is still there stays on it. */
export function redraw(place, ...children) {
  const fresh = [...el("div", {}, ...children).childNodes];
  const old = [...place.childNodes];
  if (old.length === fresh.length && old.every((node, i) => node.isEqualNode(fresh[i]))) return;
  const named = (node) => node.getAttribute("aria-label") ?? node.getAttribute("href") ?? node.textContent;
  const held = place.contains(document.activeElement) ? named(document.activeElement) : null;
  show(place, fresh);
  if (held) [...place.querySelectorAll("a, button")].find((node) => named(node) === held)?.focus({ preventScroll: true });
}
