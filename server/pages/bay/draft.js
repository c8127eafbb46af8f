// One swing in the making: its pictures, points and sticks; kept on the device at every change, until the server has it all.

import { dropAll, isFull, list, put, putAll, take } from "../lib/storage.js";
import { CHECKPOINTS, USUAL_CLUB, VIEWS } from "./catalogue.js";

const HFOV_DEG = 62; // of a tablet's main camera across the long side, until somebody knows better (common practice)

let fresh = null; // the draft that was begun last: it is not kept before it holds something

/** before: what holds for a whole lesson (lesson.js): club, hand, the question, and of each view where the camera stood. */
export function newDraft(student, before = {}) {
  fresh = {
    id: crypto.randomUUID(),
    student: { id: student.id, name: student.name, hand: before.hand ?? student.hand },
    recorded_at: new Date().toISOString(),
    club: { ...(before.club ?? USUAL_CLUB) },
    clubSaid: Boolean(before.club), // else it is only taken to be the usual one, and is said to be
    question: null,
    open: before.open,
    before: before.views ?? {},
    views: {},
  };
  return fresh;
}

/** rate: pictures a second as the film stores them; fps: as they were taken. frames: by checkpoint, {picture, still, points,
 * sure}; a picture that was only suggested is not sure until the coach has taken it. bare: neither sticks nor a flag are to be seen; body: how tall the
 * player was seen when the film was read, px; crowd: a second person was. seen, of a picture: all that was found in it, for the eye alone; film: what was
 * found of the points asked for, which the marks set by hand are held against; swept: it was confirmed with others. */
export const viewOf = (draft, kind) =>
  (draft.views[kind] ??= { read: false, rate: null, fps: 60, width: 0, height: 0, hfov: null, distance: null, frames: {}, sticks: [], target: null, bare: false, body: null, crowd: false });

// ---- keeping it; what the device has no room for lives in the page alone until there is room ----

const loose = new Map(); // of each such draft: {draft, parts}: by name what is still to be kept, and how

const busy = new Map(); // drafts that something works on though their room may be left: {draft, n}

/** The draft is worked on: whoever asks for it gets this very one. Returns how to let go. */
export function live(draft) {
  const entry = busy.get(draft.id) ?? { draft, n: 0 };
  entry.n++;
  busy.set(draft.id, entry);
  return () => { if (--entry.n === 0) busy.delete(draft.id); };
}

/** What of a draft is in the page only, by names that begin with "draft", "still" or "film". */
export const looseParts = (draft) => [...(loose.get(draft.id)?.parts.keys() ?? [])];

async function tryPart(entry, name, write) {
  try {
    await write();
    entry.parts.delete(name);
    return true;
  } catch (error) {
    if (!isFull(error)) throw error;
    entry.parts.set(name, write);
    return false;
  }
}

/** Keeps one part, and then what did not fit before; a film only when withFilms, for it is large. False: no room for this one. */
async function keepPart(draft, name, write, withFilms = false) {
  if (draft.closed) return false; // another tab has it
  const entry = loose.get(draft.id) ?? { draft, parts: new Map() };
  const before = looseParts(draft).join();
  const kept = await tryPart(entry, name, write);
  for (const [other, again] of kept ? [...entry.parts] : []) if (withFilms || !other.startsWith("film")) await tryPart(entry, other, again);
  if (entry.parts.size) loose.set(draft.id, entry);
  else loose.delete(draft.id);
  if (looseParts(draft).join() !== before) window.dispatchEvent(new CustomEvent("leadside-room", { detail: { id: draft.id } }));
  return kept;
}

/** The draft as it is kept: everything but the stills, which are megabytes and change only when they are taken. */
function bareDraft({ closed, ...draft }) {
  const bare = ({ still, ...frame }) => frame;
  const views = Object.entries(draft.views).map(([kind, view]) =>
    [kind, { ...view, frames: Object.fromEntries(Object.entries(view.frames).map(([name, frame]) => [name, bare(frame)])) }]);
  return { ...draft, views: Object.fromEntries(views) };
}

/** A draft that holds nothing is not kept: it is a name and no work. */
export const keepDraft = async (draft) => (isEmpty(draft) ? true : keepPart(draft, "draft", () => put("drafts", bareDraft(draft))));

/** Once more, the films too: room was made. */
export const keepLoose = (draft) => keepPart(draft, "draft", () => put("drafts", bareDraft(draft)), true);

export const stillId = (id, kind, checkpoint) => `${id}-${kind}-${checkpoint}`;
const filmId = (id, kind) => `${id}-${kind}`;

export const keepStill = (draft, kind, checkpoint) => {
  const { still: blob } = draft.views[kind].frames[checkpoint];
  return keepPart(draft, `still ${kind} ${checkpoint}`, () => put("stills", { id: stillId(draft.id, kind, checkpoint), blob }));
};

export function keepFilm(draft, kind, blob, taken) {
  const film = { id: filmId(draft.id, kind), blob, taken };
  return keepPart(draft, `film ${kind}`, Object.assign(() => put("films", film), { film }));
}

export const findFilm = async (draft, kind) => loose.get(draft.id)?.parts.get(`film ${kind}`)?.film ?? take("films", filmId(draft.id, kind));

const pictures = (draft) => Object.entries(draft.views).flatMap(([kind, view]) => Object.keys(view.frames).map((checkpoint) => [kind, checkpoint]));

export async function findDraft(id) {
  const held = loose.get(id)?.draft ?? busy.get(id)?.draft ?? (fresh?.id === id ? fresh : undefined);
  if (held && !held.closed) return held;
  const draft = await take("drafts", id);
  for (const [kind, checkpoint] of draft ? pictures(draft) : []) {
    const kept = await take("stills", stillId(id, kind, checkpoint));
    if (kept) draft.views[kind].frames[checkpoint].still = kept.blob;
    else delete draft.views[kind].frames[checkpoint];
  }
  return draft;
}

/** Everything the device keeps of a draft, by its id alone: [[store, id], ...]. */
export const partsOf = (id) => [["drafts", id], ...VIEWS.flatMap((kind) =>
  [["films", filmId(id, kind)], ...CHECKPOINTS.map((checkpoint) => ["stills", stillId(id, kind, checkpoint)])])];

export async function dropStills(draft, kind) {
  const entry = loose.get(draft.id);
  for (const name of looseParts(draft)) if (name.split(" ")[1] === kind) entry.parts.delete(name);
  await dropAll(partsOf(draft.id).filter(([, id]) => id.startsWith(filmId(draft.id, kind))));
}

/** The draft, its stills and its films leave the device. */
export async function dropDraft(draft) {
  closeDraft(draft);
  await dropAll(partsOf(draft.id));
}

/** The draft is not this page's any more: nothing of it is written from here on. */
export function closeDraft(draft) {
  draft.closed = true;
  loose.delete(draft.id);
  if (fresh === draft) fresh = null;
}

/** The draft and what it waits as in the outbox, both or neither. */
export async function queueDraft(draft, entry) {
  await putAll([["drafts", bareDraft({ ...draft, queued: true, refused: null })], ["outbox", entry]]);
  closeDraft(draft);
}

/** Back from the outbox into the coach's hands. refused: {why, kind, checkpoint, field}. */
export async function reopenDraft(id, refused) {
  const draft = await take("drafts", id);
  if (!draft) return false;
  const { kind, checkpoint } = refused;
  if (kind && draft.views[kind]) {
    draft.open = kind;
    if (checkpoint) draft.views[kind].open = checkpoint;
  }
  await putAll([["drafts", { ...draft, queued: false, refused }]], [["outbox", id]]);
  return true;
}

/** Drafts in the coach's hands: what is sent already waits in the outbox. */
export const openDrafts = async () => (await list("drafts")).filter((draft) => !draft.queued);

const isEmpty = (draft) => !draft.refused && !worthSending(draft) && !Object.values(draft.flight ?? {}).some(Boolean) &&
  Object.values(draft.views).every((view) => view.rate === null && Object.keys(view.frames).length === 0);

/** A still of a draft that is not open, to know it by. */
export async function pictureOf(draft) {
  const [kind, checkpoint] = pictures(draft)[0] ?? [];
  return kind ? (await take("stills", stillId(draft.id, kind, checkpoint)))?.blob : undefined;
}

/** How much the films of other swings take: {ids, bytes}. They are never sent; their pictures stay. */
export async function otherFilms(draft) {
  const films = (await list("films")).filter(({ id }) => !id.startsWith(draft.id));
  return { ids: films.map(({ id }) => id), bytes: films.reduce((sum, { blob }) => sum + blob.size, 0) };
}
export const dropFilms = (ids) => dropAll(ids.map((id) => ["films", id]));

/** A coach's marks of a picture: set, moved or confirmed; what was found and confirmed keeps the error it was found with. The others were found by
 * software alone: they go along, named as such, and the server lets no verdict rest on them. */
export const ownMarks = (frame) => Object.entries(frame.points).filter(([, mark]) => !mark.found);

/** The checkpoints of a view that go with the swing, in swing order: a suggestion the coach never looked at does not. */
export const takenOf = (view) => CHECKPOINTS.filter((name) => view.frames[name]?.sure);

/** Degrees across the picture's width: the camera's view is known across its long side. */
export function across(view) {
  const long = Math.max(view.width, view.height);
  return (360 / Math.PI) * Math.atan((view.width / long) * Math.tan(((view.hfov ?? HFOV_DEG) * Math.PI) / 360));
}

/** The sticks both of whose ends are marked. */
export const laid = (view) => view.sticks.filter(([from, to]) => from && to);

const round = (value) => Math.round(value * 10) / 10;

/** The earliest picture taken of a view: instants are counted from it, for the film may have run for minutes before. */
const firstPicture = (view) => Math.min(...takenOf(view).map((name) => view.frames[name].picture));

export const secondsAfterFirst = (view, name) => (view.frames[name].picture - firstPicture(view)) / view.fps;

const within = (value, limit) => Math.min(Math.max(0, value), limit);

function viewDocument(kind, view) {
  const place = (mark) => [round(within(mark.u, view.width)), round(within(mark.v, view.height))]; // a point lies in its picture
  const frames = takenOf(view).map((name) => {
    const frame = view.frames[name];
    const marks = Object.entries(frame.points);
    const points = Object.fromEntries(marks.map(([point, mark]) => [point, mark.sd === undefined ? place(mark) : [...place(mark), mark.sd]]));
    const found = marks.filter(([, mark]) => mark.found).map(([point]) => point);
    const confirmed = (frame.confirmed ?? []).filter((point) => points[point] && !found.includes(point));
    const film = Object.fromEntries(Object.entries(frame.film ?? {}).filter(([point]) => points[point]?.length === 2).map(([point, mark]) => [point, [...place(mark), mark.sd]]));
    return { checkpoint: name, time_s: Math.round(secondsAfterFirst(view, name) * 1e4) / 1e4, points, ...(found.length ? { found } : {}), ...(confirmed.length ? { confirmed } : {}),
      ...(Object.keys(film).length ? { film } : {}) };
  });
  const camera = { hfov_deg: round(across(view)) };
  if (view.distance) camera.distance_m = view.distance;
  const out = { view: kind, fps: view.fps, image: { width: view.width, height: view.height }, camera, frames };
  const sticks = laid(view);
  if (sticks.length) out.sticks = sticks.map((stick) => stick.map((end) => [round(end.u), round(end.v)]));
  if (view.target) out.target = [round(view.target.u), round(view.target.v)];
  return out;
}

/** The swing document ("leadside.swing/1"). */
export function documentOf(draft) {
  const views = VIEWS.filter((kind) => draft.views[kind] && takenOf(draft.views[kind]).length > 0);
  const flight = Object.fromEntries(Object.entries(draft.flight ?? {}).filter(([, value]) => value));
  const seen = (draft.seen ?? []).map(({ fault, severity }) => ({ fault, severity }));
  const weight = Object.entries(draft.weight ?? {}).map(([checkpoint, share]) => ({ checkpoint, lead_share: share / 100, source: "scale" }));
  return {
    schema: "leadside.swing/1",
    recorded_at: draft.recorded_at,
    shot: "full",
    hand: draft.student.hand,
    club: draft.club,
    ...(views.length ? { views: views.map((kind) => viewDocument(kind, draft.views[kind])) } : {}),
    ...(Object.keys(flight).length ? { flight } : {}),
    ...(weight.length ? { weight } : {}),
    ...(seen.length ? { seen } : {}),
  };
}

/** The stills that go with it: [{view, checkpoint, blob}]. */
export const stillsOf = (draft) =>
  VIEWS.filter((kind) => draft.views[kind]).flatMap((kind) => takenOf(draft.views[kind])
    .map((checkpoint) => ({ view: kind, checkpoint, blob: draft.views[kind].frames[checkpoint].still })));

export const marksOf = (draft, kinds = VIEWS) =>
  kinds.reduce((sum, kind) => sum + Object.values(draft.views[kind]?.frames ?? {}).reduce((n, frame) => n + (frame.sure ? ownMarks(frame).length : 0), 0), 0);

/** Whether there is anything to send. */
export const worthSending = (draft) => marksOf(draft) > 0 || Object.keys(draft.weight ?? {}).length > 0 || (draft.seen ?? []).length > 0;
