// Reading a film: where its moments are and where the body is in each, while the coach does something else. It works on a film of its own
// beside the one that is shown, one after the other, and goes on when the swing's room is left. What it finds are suggestions.

import { keepDraft, keepStill, live, viewOf } from "../draft.js";
import { accepted } from "../marking/marker.js";
import { AROUND_S, clubPoints, findClub, jointsOf, Pictures } from "./club.js";
import { Film } from "./film.js";
import { checkpoints, coarse, inOrder, lookThrough, slowMotion, withStrike, wristsOf } from "./moments.js";
import { canRun, landmarks, liesAcross, secondPerson, suggest } from "./pose.js";

const LOOK_WIDE = 640; // px across of the pictures that are looked through
const LOOKS_A_SECOND = [15, 30]; // at the swing, and at its downswing
const BACKSWING_S = 1.2; // longer takes hardly anybody (common practice)
const LOOKED_ROUND = 2; // so many pictures must show a second person
const UNSEEN_S = 0.15; // hands that are not seen for longer tell of no level arm

const jobs = new Map(); // by draft and view
let line = Promise.resolve();

const keyOf = (draft, kind) => `${draft.id}-${kind}`;

/** What is being read of a view: {done, of}; nothing when nothing is. */
export const readingOf = (draft, kind) => jobs.get(keyOf(draft, kind));

/** Tells whoever shows it: {id, kind, checkpoint, outcome, n, slow, crowd}; outcome when it has come to its end. */
const tell = (draft, kind, more = {}) => window.dispatchEvent(new CustomEvent("leadside-read", { detail: { id: draft.id, kind, ...more } }));

const bitmapOf = (source, wide) => createImageBitmap(source, wide ? { resizeWidth: wide } : {});

/** Finds the points in a picture that was taken; a coach's own marks stay. How many were found. club: of findClub. */
async function findIn(draft, kind, checkpoint, points, club) {
  const view = viewOf(draft, kind);
  const frame = view.frames[checkpoint];
  if (!frame) return 0;
  const marks = await landmarks(await bitmapOf(frame.still));
  const size = { width: view.width, height: view.height };
  const body = marks ? suggest(marks, { kind, points: [...points, "grip"], hand: draft.student.hand, checkpoint, ...size }) : {};
  const found = { ...body, ...clubPoints(club, frame.picture, body.grip, points) };
  const inside = ({ u, v }) => u >= 0 && v >= 0 && u <= size.width && v <= size.height;
  const open = Object.entries(found).filter(([id, mark]) => points.includes(id) && inside(mark) && (!frame.points[id] || frame.points[id].found));
  for (const [id, mark] of open) frame.points[id] = mark;
  frame.film = Object.fromEntries(Object.entries(found).filter(([id, mark]) => points.includes(id) && inside(mark)).map(([id, mark]) => [id, accepted(mark)]));
  if (marks) frame.seen = { ...jointsOf(marks, draft.student.hand, size.width, size.height), ...clubPoints(club, frame.picture, body.grip, ["butt", "clubhead"]) };
  await keepDraft(draft);
  tell(draft, kind, { checkpoint });
  return open.length;
}

const byFrame = (job) => [...job.poses].sort(([a], [b]) => a - b).map(([frame, pose]) => ({ frame, ...pose }));

/** Goes to a picture of the film and keeps it for the club. */
async function goTo(job, film, frame) {
  if (job.stopped) throw new Error("stopped");
  await film.go(frame);
  await job.pictures.keep();
}

const small = (film) => bitmapOf(film.video, Math.min(LOOK_WIDE, film.width));

/** The body in one picture of the film; what of it the moments are told by. */
async function look(job, film, frame, fresh) {
  await goTo(job, film, frame);
  return judge(job, film, frame, await small(film), fresh);
}

async function judge(job, film, frame, picture, fresh) {
  const size = [picture.width, picture.height];
  const marks = await landmarks(picture, !fresh);
  if (!marks) return null;
  job.people++;
  if (liesAcross(marks, ...size)) job.across++;
  const wrists = wristsOf(marks, ...size);
  job.poses.set(frame, { wrists, joints: jointsOf(marks, job.draft.student.hand, film.width, film.height), body: (wrists?.body ?? 0) * (film.width / size[0]) });
  return wrists;
}

/** Whether two people about as tall stand in the pictures: the library follows one of them, and may have followed the other. */
async function crowd(job, film) {
  const seen = byFrame(job).filter(({ body }) => body > 0);
  if (seen.length < LOOKED_ROUND) return false;
  for (let i = 0; i < LOOKED_ROUND; i++) {
    await goTo(job, film, seen[Math.floor(((i + 0.5) * seen.length) / LOOKED_ROUND)].frame);
    if (!(await secondPerson(await small(film)))) return false;
  }
  return true;
}

/** Looks at the swing's own pictures more closely, the downswing twice as closely, and then for the club. The film is gone through once: while the
 * body is looked for in one picture the next are taken. */
async function closer(job, film, found) {
  const { draft, kind } = job;
  const view = viewOf(draft, kind);
  const clamp = (frame) => Math.min(Math.max(0, Math.round(frame)), film.frames - 1);
  const span = view.fps;
  const from = clamp(Math.min(found.address ?? Infinity, found.top - BACKSWING_S * span) - AROUND_S * span);
  const to = clamp((found.finish ?? found.impact + 0.6 * span) + AROUND_S * span);
  const [wide, close] = LOOKS_A_SECOND.map((n) => Math.max(1, Math.round(span / n)));
  const list = new Set();
  for (let frame = from; frame <= to; frame += frame > found.top - wide && frame < found.impact + wide ? close : wide) if (!job.poses.has(frame)) list.add(frame);
  job.of += 2 * (to - from + 1);
  let before = null;
  for (let frame = from; frame <= to; frame++) {
    const due = list.has(frame);
    if (due || !job.pictures.kept.has(frame)) await goTo(job, film, frame);
    if (due) {
      const picture = await small(film);
      await before;
      before = judge(job, film, frame, picture, before === null);
      before.catch(() => {}); // it is heard of at the next
    }
    step(job);
  }
  await before;
  const poses = byFrame(job);
  const closely = checkpoints(poses.filter(({ wrists }) => wrists).map(({ frame, wrists }) => ({ frame, ...wrists })), UNSEEN_S * span);
  for (const name of Object.keys(closely.top === undefined ? {} : found)) delete found[name]; // what only far pictures told
  withStrike(Object.assign(found, closely), view.strike, view.rate);
  view.body = Math.max(...poses.map(({ body }) => body));
  return findClub({ pictures: job.pictures, kind, hand: draft.student.hand, fps: span, club: draft.club, poses, body: view.body, from, to, tell: () => step(job), stopped: () => job.stopped });
}

function step(job) {
  job.done++;
  tell(job.draft, job.kind);
}

/** The pictures that may be the moments, where the coach has taken none, and the club in them. */
async function findMoments(job, film, wanted) {
  const { draft, kind } = job;
  const view = viewOf(draft, kind);
  const found = await lookThrough(film.frames, (frame, fresh) => look(job, film, frame, fresh), (done, of) => {
    Object.assign(job, { done, of: of + wanted.length });
    tell(draft, kind);
  }, coarse(film.seconds));
  view.crowd = await crowd(job, film);
  const slow = slowMotion(found, view.rate);
  withStrike(found, view.strike, view.rate);
  if (slow && view.fps === view.rate) view.fps = job.slow = slow;
  const club = found.top === undefined ? null : await closer(job, film, found);
  const all = inOrder(found, club?.moments ?? {});
  for (const [name, picture] of Object.entries(all)) {
    if (view.frames[name]?.sure || !wanted.includes(name)) continue;
    await film.go(picture);
    view.frames[name] = { picture: film.frame, still: await film.still(), points: {}, sure: false };
    await keepStill(draft, kind, name);
  }
  return { found: all, club };
}

async function read(job) {
  const { draft, kind, blob, asked } = job;
  const view = viewOf(draft, kind);
  if (job.stopped) return "stopped";
  if (!canRun()) return "blind";
  const film = new Film(() => {});
  try {
    await film.load(blob, view.rate);
    job.pictures = new Pictures(film);
    const wanted = Object.keys(asked());
    const { found, club } = await findMoments(job, film, wanted);
    for (const name of wanted.filter((checkpoint) => view.frames[checkpoint])) {
      if (job.stopped) return "stopped";
      job.n += await findIn(draft, kind, name, asked()[name] ?? [], club);
      step(job);
    }
    view.read = true;
    await keepDraft(draft);
    if (job.people === 0) return "nobody";
    if (job.across > job.people / 2) return "across";
    return Object.keys(found).length || job.n ? "found" : "none";
  } finally {
    job.pictures?.end();
    film.drop();
  }
}

/** Begins to read a view's film; asked() gives what is asked for now, for the other view may come meanwhile. */
export function startReading(draft, kind, blob, asked) {
  const key = keyOf(draft, kind);
  stopReading(draft, kind);
  const job = { draft, kind, blob, asked, done: 0, of: 0, n: 0, people: 0, across: 0, poses: new Map(), stopped: false, slow: null };
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
      tell(draft, kind, { outcome, n: job.n, slow: job.slow, crowd: viewOf(draft, kind).crowd });
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
