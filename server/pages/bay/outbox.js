// The way out: every swing waits on the device until the server has it, and its pictures. A resend carries the same key, so
// nothing is doubled; nothing leaves the device before the server has answered, so nothing is lost; only what is the signed-in
// account's own goes, so nothing is sent in another one's name. One tab sends at a time.

import { call, get, Problem } from "../lib/api.js";
import { dropAll, keeper, list, replace, take } from "../lib/storage.js";
import { alone, onTabs, tellTabs } from "../lib/tabs.js";
import { say, sayProblem } from "../lib/words.js";
import { documentOf, dropDraft, partsOf, queueDraft, reopenDraft, stillId, stillsOf } from "./draft.js";
import { placeOf, withPlace } from "./review.js";

const ROUND_MS = 20000;
const AGAIN_MS = [20000, 900000]; // after a fault of the server: twice as long each time, up to a quarter of an hour
const ANSWER_MS = 90000; // so long one request may take
const MENDABLE = [400, 413, 415, 422]; // what the document itself is refused for
const listeners = new Set();
let running = null;

export const onOutbox = (listener) => listeners.add(listener);

const newestLast = (a, b) => (a.added < b.added ? -1 : 1);
export const outbox = async () => (await list("outbox")).sort(newestLast);

async function tell() {
  const entries = await outbox();
  listeners.forEach((listener) => listener(entries));
}

/** For every tab, this one too. */
function changed() {
  tellTabs("outbox");
  return tell();
}

/** What became of an entry: {id, student, question, swing, refusal, mend}; the tab that sent it need not be the one it was made in. */
function happened(detail) {
  window.dispatchEvent(new CustomEvent("leadside-sent", { detail }));
  tellTabs("sent", { detail });
}

/** Of a correction, those that the server has are not sent again. */
const newStills = (draft) => stillsOf(draft).filter(({ view, checkpoint }) => !draft.views[view].frames[checkpoint].kept);

const entryOf = (draft) => ({
  id: draft.id, student: draft.student, question: draft.question ?? null, document: JSON.stringify(documentOf(draft)), stills: newStills(draft).map(({ view, checkpoint }) => ({ view, checkpoint })),
  ...(draft.correct ? { correct: draft.correct } : {}),
  added: new Date().toISOString(), state: "waiting", swing: null, problem: null, tries: 0, again: 0,
});

/** Takes a swing over: when this returns it is on the device. Its id is the key that makes a resend harmless. Rejects when the
 * device has no room for it. */
export async function enqueue(draft) {
  await queueDraft(draft, entryOf(draft));
  await changed();
  void sendNext();
}

// ---- sending one ----

const request = (method, path, options) => call(method, path, { ...options, as: keeper(), signal: AbortSignal.timeout(ANSWER_MS) });

/** The round is over: no link, nobody signed in, somebody else, or too many requests. Every other entry would meet it too. */
const endsRound = (problem) => problem.status === 0 || problem.status === 401 || problem.status === 429 ||
  ["other-account", "password-temporary"].includes(problem.slug);

const isRefusal = (problem) => problem instanceof Problem && problem.status >= 400 && problem.status < 500 && problem.status !== 408 && !endsRound(problem);

/** The marks of a swing that is there already. An answer that was lost on the way leaves it stale, and as it was sent. */
async function putMarks({ correct: { swing, etag, reason }, document }) {
  try {
    await request("PUT", `/v1/swings/${swing}/marks`, { body: `{"document":${document},"reason":${JSON.stringify(reason)}}`, type: "application/json", etag });
  } catch (problem) {
    if (problem.slug !== "stale" || JSON.stringify((await get(`/v1/swings/${swing}`)).document) !== document) throw problem;
  }
  return swing;
}

async function postSwing(entry) {
  if (entry.swing) return;
  if (entry.correct) {
    entry.swing = await putMarks(entry);
    entry.problem = null;
    return;
  }
  const { data } = await request("POST", `/v1/students/${entry.student.id}/swings`, { body: entry.document, type: "application/json", key: entry.id });
  entry.swing = data.id;
  entry.problem = null;
}

/** Every picture that is still to go; keep: what is left after each. Returns the last refusal: a refused one holds no other back. */
async function putStills(entry, blobOf, keep) {
  let refusal = null;
  const left = [];
  while (entry.stills.length > 0) {
    const still = entry.stills[0];
    const blob = still.blob ?? await blobOf(still);
    try {
      if (blob) await request("PUT", `/v1/swings/${entry.swing}/stills/${still.view}-${still.checkpoint}`, { body: blob, type: blob.type });
    } catch (problem) {
      if (!isRefusal(problem)) throw problem;
      refusal = problem;
      left.push(still);
    }
    entry.stills.shift();
    await keep({ ...entry, stills: [...entry.stills, ...left] });
  }
  entry.stills = left;
  return refusal;
}

const keptStill = (entry) => async ({ view, checkpoint }) => (await take("stills", stillId(entry.id, view, checkpoint)))?.blob;

/** The device may be full: then the next round begins with what was kept last, and the key makes that harmless. */
const keepEntry = (entry) => replace("outbox", entry).catch(() => {});

async function sendOne(entry) {
  await postSwing(entry);
  await keepEntry(entry);
  const refusal = await putStills(entry, keptStill(entry), keepEntry);
  if (refusal) {
    await keepEntry({ ...entry, state: "refused", problem: sayProblem(refusal) });
    happened({ id: entry.id, student: entry.student, swing: entry.swing, refusal: sayProblem(refusal) });
    return;
  }
  await dropAll([["outbox", entry.id], ...partsOf(entry.id)]);
  happened({ id: entry.id, student: entry.student, question: entry.question, swing: entry.swing });
}

/** What the server does not take stays, with the reason; what is to be mended goes back into the coach's hands at its place. */
async function refuse(entry, problem) {
  const mendable = MENDABLE.includes(problem.status) && problem.slug !== "key-reused" && !entry.swing;
  const why = sayProblem(problem);
  const mend = mendable ? { why, ...placeOf(problem.path, entry.document) } : null;
  const refusal = mend ? withPlace(mend) : why;
  await keepEntry({ ...entry, state: "refused", problem: refusal, mend });
  happened({ id: entry.id, student: entry.student, refusal, mend });
}

function putOff(entry, problem) {
  const wait = Math.min(Math.max((problem.retryAfter ?? 0) * 1000, AGAIN_MS[0] * 2 ** (entry.tries ?? 0)), AGAIN_MS[1]);
  return keepEntry({ ...entry, tries: (entry.tries ?? 0) + 1, again: Date.now() + wait, problem: sayProblem(problem) });
}

// ---- sending all ----

const isDue = ({ state, again }) => state === "waiting" && !(again > Date.now() && again <= Date.now() + AGAIN_MS[1]); // a clock may have been set back

/** One after the other, oldest first; an entry that can't be sent holds no other back. */
async function round() {
  const tried = new Set();
  const next = async () => (await outbox()).find((entry) => isDue(entry) && !tried.has(entry.id));
  if (!(await next()) || (await get("/v1/me")).id !== keeper()) return;
  for (let entry = await next(); entry; entry = await next()) {
    tried.add(entry.id);
    try {
      await sendOne(entry);
    } catch (problem) {
      if (endsRound(problem)) throw problem;
      await (isRefusal(problem) ? refuse(entry, problem) : putOff(entry, problem));
    }
    await changed();
  }
}

/** Sends what waits. Where nobody is signed in any more the page is told. */
function sendAll() {
  running ??= alone("outbox", round)
    .catch((problem) => { if (problem.status === 401) window.dispatchEvent(new Event("leadside-ended")); })
    .finally(() => { running = null; return tell(); });
  return running;
}

/** The same, also where a round that is under way has looked already. */
const sendNext = () => Promise.resolve(running).then(sendAll);

/** A swing that the device has no room to queue goes straight from the page: the swing's id; rejects when it can't. */
export async function sendNow(draft) {
  const entry = entryOf(draft);
  const blobs = new Map(newStills(draft).map(({ view, checkpoint, blob }) => [`${view}-${checkpoint}`, blob]));
  await postSwing(entry);
  const refusal = await putStills(entry, ({ view, checkpoint }) => blobs.get(`${view}-${checkpoint}`), async () => {});
  if (refusal) throw new Error(say("bay.stillsRefused", { why: sayProblem(refusal) }));
  await dropDraft(draft);
  return entry.swing;
}

// ---- what a coach may do with an entry ----

/** Once more as it is, now. */
export async function sendAgain(entry) {
  await alone("outbox", () => keepEntry({ ...entry, state: "waiting", problem: null, mend: null, again: 0, tries: 0 }));
  await changed();
  await sendNext();
}

/** Back into the sheet, at the place to be mended. False when there is no draft of it on the device. */
export async function reopen(entry) {
  const there = await alone("outbox", () => reopenDraft(entry.id, entry.mend ?? { why: entry.problem }));
  await changed();
  return there;
}

/** The swing has arrived; its pictures are left out. Or a swing is thrown away. */
export const discard = (id) => dropAll([["outbox", id], ...partsOf(id)]).then(changed);

export function watch() {
  window.addEventListener("online", () => void sendNext()); // a round that is under way may have begun without a network
  onTabs("outbox", () => void tell());
  onTabs("sent", ({ detail }) => window.dispatchEvent(new CustomEvent("leadside-sent", { detail })));
  setInterval(() => void sendAll(), ROUND_MS);
  void tell();
  void sendAll();
}

