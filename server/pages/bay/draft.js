// One swing in the making: its pictures, points and sticks; kept on the device at every change; and the document it becomes.

import { drop, put, take } from "../lib/keep.js";
import { CHECKPOINTS, USUAL_CLUB, VIEWS } from "./trade.js";

const HFOV_DEG = 62; // of a tablet's main camera across the long side, until somebody knows better (common practice)

export function newDraft(student) {
  return {
    id: crypto.randomUUID(),
    student: { id: student.id, name: student.name, hand: student.hand },
    recorded_at: new Date().toISOString(),
    club: { ...USUAL_CLUB },
    views: {},
  };
}

/** rate: pictures a second as the film stores them; fps: as they were taken. frames: by checkpoint, {picture, still, points,
 * sure}; a picture that was only suggested is not sure until the coach has taken it. */
export const viewOf = (draft, kind) =>
  (draft.views[kind] ??= { rate: null, fps: 60, width: 0, height: 0, hfov: null, distance: null, frames: {}, sticks: [], target: null });

/** Keeps everything but the stills, which are megabytes and change only when they are taken. */
export function keepDraft(draft) {
  const bare = ({ still, ...frame }) => frame;
  const views = Object.entries(draft.views).map(([kind, view]) =>
    [kind, { ...view, frames: Object.fromEntries(Object.entries(view.frames).map(([name, frame]) => [name, bare(frame)])) }]);
  return put("drafts", { ...draft, views: Object.fromEntries(views) });
}

const stillId = (draft, kind, checkpoint) => `${draft.id}-${kind}-${checkpoint}`;
export const keepStill = (draft, kind, checkpoint) => put("stills", { id: stillId(draft, kind, checkpoint), blob: draft.views[kind].frames[checkpoint].still });

const pictures = (draft) => Object.entries(draft.views).flatMap(([kind, view]) => Object.keys(view.frames).map((checkpoint) => [kind, checkpoint]));

export async function findDraft(id) {
  const draft = await take("drafts", id);
  for (const [kind, checkpoint] of draft ? pictures(draft) : []) {
    const kept = await take("stills", stillId(draft, kind, checkpoint));
    if (kept) draft.views[kind].frames[checkpoint].still = kept.blob;
    else delete draft.views[kind].frames[checkpoint];
  }
  return draft;
}

const filmId = (draft, kind) => `${draft.id}-${kind}`;
export const keepFilm = (draft, kind, blob, taken) => put("films", { id: filmId(draft, kind), blob, taken });
export const findFilm = (draft, kind) => take("films", filmId(draft, kind));

export async function dropStills(draft, kind) {
  for (const checkpoint of Object.keys(draft.views[kind].frames)) await drop("stills", stillId(draft, kind, checkpoint));
  await drop("films", filmId(draft, kind));
}

/** The draft, its stills and its films leave the device. */
export async function dropDraft(draft) {
  for (const kind of Object.keys(draft.views)) await dropStills(draft, kind);
  await drop("drafts", draft.id);
}

/** A coach's own marks of a picture. The others were found by software: they go along, named as such and with their large
 * error, and the server lets no verdict rest on them. */
export const ownMarks = (frame) => Object.entries(frame.points).filter(([, mark]) => !mark.found);

/** The checkpoints of a view that go with the swing, in swing order: a suggestion the coach never looked at does not. */
const taken = (view) => CHECKPOINTS.filter((name) => view.frames[name]?.sure);

/** Degrees across the picture's width: the camera's view is known across its long side. */
export function across(view) {
  const long = Math.max(view.width, view.height);
  return (360 / Math.PI) * Math.atan((view.width / long) * Math.tan(((view.hfov ?? HFOV_DEG) * Math.PI) / 360));
}

/** The sticks both of whose ends are marked. */
export const laid = (view) => view.sticks.filter(([from, to]) => from && to);

const round = (value) => Math.round(value * 10) / 10;

function viewDocument(kind, view) {
  const frames = taken(view).map((name) => {
    const frame = view.frames[name];
    const marks = Object.entries(frame.points);
    const points = Object.fromEntries(marks.map(([point, mark]) => [point, mark.found ? [round(mark.u), round(mark.v), mark.sd] : [round(mark.u), round(mark.v)]]));
    const found = marks.filter(([, mark]) => mark.found).map(([point]) => point);
    return { checkpoint: name, time_s: Math.round(((frame.picture + 0.5) / view.fps) * 1e4) / 1e4, points, ...(found.length ? { found } : {}) };
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
  const views = VIEWS.filter((kind) => draft.views[kind] && taken(draft.views[kind]).length > 0);
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
  VIEWS.filter((kind) => draft.views[kind]).flatMap((kind) => taken(draft.views[kind])
    .map((checkpoint) => ({ view: kind, checkpoint, blob: draft.views[kind].frames[checkpoint].still })));

export const marksOf = (draft, kinds = VIEWS) =>
  kinds.reduce((sum, kind) => sum + Object.values(draft.views[kind]?.frames ?? {}).reduce((n, frame) => n + (frame.sure ? ownMarks(frame).length : 0), 0), 0);

/** Whether there is anything to send. */
export const worthSending = (draft) => marksOf(draft) > 0 || Object.keys(draft.weight ?? {}).length > 0 || (draft.seen ?? []).length > 0;
