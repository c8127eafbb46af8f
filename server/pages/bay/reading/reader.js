// Reading a film: where its moments are and where the body is in each, while the coach does something else. It works on a film of its own
// beside the one that is shown, one after the other, and goes on when the swing's room is left. What it finds are suggestions.

import { keepDraft, keepStill, live, viewOf } from "../draft.js";
import { Film } from "./film.js";
import { coarse, lookThrough, slowMotion, wristsOf } from "./moments.js";
import { canRun, landmarks, liesAcross, suggest } from "./pose.js";

const LOOK_WIDE = 640; // px across of the pictures that are looked through

const jobs = new Map(); // by draft and view
let line = Promise.resolve();

const keyOf = (draft, kind) => `${draft.id}-${kind}`;

/** What is being read of a view: {done, of}; nothing when nothing is. */
export const readingOf = (draft, kind) => jobs.get(keyOf(draft, kind));

/** Tells whoever shows it: {id, kind, checkpoint, outcome, n, slow}; outcome when it has come to its end. */
const tell = (draft, kind, more = {}) => window.dispatchEvent(new CustomEvent("leadside-read", { detail: { id: draft.id, kind, ...more } }));

const bitmapOf = (source, wide) => createImageBitmap(source, wide ? { resizeWidth: wide } : {});

/** Finds the body's points in a picture that was taken; a coach's own marks stay. How many were found. */
async function findIn(draft, kind, checkpoint, points) {
  const view = viewOf(draft, kind);
  const frame = view.frames[checkpoint];
  if (!frame) return 0;
  const marks = await landmarks(await bitmapOf(frame.still));
  const found = marks ? suggest(marks, { kind, points, hand: draft.student.hand, width: view.width, height: view.height }) : {};
  const open = Object.entries(found).filter(([id]) => !frame.points[id] || frame.points[id].found);
  for (const [id, mark] of open) frame.points[id] = mark;
  await keepDraft(draft);
  tell(draft, kind, { checkpoint });
  return open.length;
}

/** The pictures that may be the moments, where the coach has taken none. What was seen of the body besides: {across, seen}. */
async function findMoments(job, film, wanted) {
  const { draft, kind } = job;
  const view = viewOf(draft, kind);
  const seen = { people: 0, across: 0 };
  const found = await lookThrough(film.frames, async (frame, fresh) => {
    if (job.stopped) throw new Error("stopped");
    await film.go(frame);
    const picture = await bitmapOf(film.video, Math.min(LOOK_WIDE, film.width));
    const size = [picture.width, picture.height];
    const marks = await landmarks(picture, !fresh);
    if (marks) seen.people++;
    if (marks && liesAcross(marks, ...size)) seen.across++;
    return marks ? wristsOf(marks, ...size) : null;
  }, (done, of) => { Object.assign(job, { done, of: of + wanted.length }); tell(draft, kind); }, coarse(film.seconds));
  const slow = slowMotion(found, view.rate);
  if (slow && view.fps === view.rate) view.fps = job.slow = slow;
  for (const [name, picture] of Object.entries(found)) {
    if (view.frames[name]?.sure || !wanted.includes(name)) continue;
    await film.go(picture);
    view.frames[name] = { picture, still: await film.still(), points: {}, sure: false };
    await keepStill(draft, kind, name);
  }
  return { found, seen };
}

async function read(job) {
  const { draft, kind, blob, asked } = job;
  const view = viewOf(draft, kind);
  if (job.stopped) return "stopped";
  if (!canRun()) return "blind";
  const film = new Film(() => {});
  try {
    await film.load(blob, view.rate);
    const wanted = Object.keys(asked());
    const { found, seen } = await findMoments(job, film, wanted);
    const there = wanted.filter((name) => view.frames[name]);
    for (const name of there) {
      if (job.stopped) return "stopped";
      job.n += await findIn(draft, kind, name, asked()[name] ?? []);
      job.done++;
      tell(draft, kind);
    }
    view.read = true;
    await keepDraft(draft);
    if (seen.people === 0) return "nobody";
    if (seen.across > seen.people / 2) return "across";
    return Object.keys(found).length || job.n ? "found" : "none";
  } finally {
    film.drop();
  }
}

/** Begins to read a view's film; asked() gives what is asked for now, for the other view may come meanwhile. */
export function startReading(draft, kind, blob, asked) {
  const key = keyOf(draft, kind);
  stopReading(draft, kind);
  const job = { draft, kind, blob, asked, done: 0, of: 0, n: 0, stopped: false, slow: null };
  jobs.set(key, job);
  const letGo = live(draft);
  line = line.then(async () => {
    let outcome = "failed";
    try {
      outcome = await read(job);
    } catch (error) {
      if (job.stopped) outcome = "stopped";
      else console.warn(error);
    }
    letGo();
    if (jobs.get(key) === job) {
      jobs.delete(key);
      tell(draft, kind, { outcome, n: job.n, slow: job.slow });
    }
  });
  tell(draft, kind);
}

export function stopReading(draft, kind) {
  const job = readingOf(draft, kind);
  if (!job) return;
  job.stopped = true;
  jobs.delete(keyOf(draft, kind));
  tell(draft, kind, { outcome: "stopped", n: job.n });
}

/** Looks for the body in one picture, that was taken by hand. */
export function lookIn(draft, kind, checkpoint, points) {
  if (!canRun() || readingOf(draft, kind)) return;
  const letGo = live(draft);
  line = line.then(() => findIn(draft, kind, checkpoint, points)).catch(() => 0).finally(letGo);
}
