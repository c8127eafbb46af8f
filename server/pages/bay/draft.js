// One swing in the making: its pictures, points and sticks; kept on the device at every change; and the document it becomes.

import { put, take } from "../lib/keep.js";
import { CHECKPOINTS, LENGTHS, VIEWS } from "./trade.js";

const HFOV_DEG = 62; // of a tablet's main camera across the long side, until somebody knows better (common practice)

export function newDraft(student) {
  return {
    id: crypto.randomUUID(),
    student: { id: student.id, name: student.name, hand: student.hand },
    recorded_at: new Date().toISOString(),
    club: { kind: "iron", number: 7, length_m: LENGTHS.iron },
    views: {},
  };
}

export const viewOf = (draft, kind) =>
  (draft.views[kind] ??= { fps: 60, width: 0, height: 0, hfov: HFOV_DEG, distance: null, frames: {}, sticks: [], target: null });

export const keepDraft = (draft) => put("drafts", draft);
export const findDraft = (id) => take("drafts", id);

/** What counts in a picture: a coach's own marks. Guesses are left out, for no error given with them would keep a guess from
 * calling a fault: a bend is never below zero, so that the wider its error, the more of it lies beyond what is fine. */
export const ownMarks = (frame) => Object.entries(frame.points).filter(([, mark]) => !mark.found);

const round = (value) => Math.round(value * 10) / 10;

function viewDocument(kind, view) {
  const frames = CHECKPOINTS.filter((name) => view.frames[name]).map((name) => {
    const frame = view.frames[name];
    const points = Object.fromEntries(ownMarks(frame).map(([point, mark]) =>
      [point, mark.sd ? [round(mark.u), round(mark.v), mark.sd] : [round(mark.u), round(mark.v)]]));
    return { checkpoint: name, time_s: Math.round(frame.time * 1000) / 1000, points };
  });
  const camera = { hfov_deg: view.hfov };
  if (view.distance) camera.distance_m = view.distance;
  const out = { view: kind, fps: view.fps, image: { width: view.width, height: view.height }, camera, frames };
  const sticks = view.sticks.filter((stick) => stick.length === 2);
  if (sticks.length) out.sticks = sticks.map((stick) => stick.map((end) => [round(end.u), round(end.v)]));
  if (view.target) out.target = [round(view.target.u), round(view.target.v)];
  return out;
}

/** The swing document ("leadside.swing/1"). */
export function documentOf(draft) {
  const views = VIEWS.filter((kind) => draft.views[kind] && Object.keys(draft.views[kind].frames).length > 0);
  const club = { kind: draft.club.kind, length_m: draft.club.length_m };
  if (draft.club.kind === "iron" && draft.club.number) club.number = draft.club.number;
  const flight = Object.fromEntries(Object.entries(draft.flight ?? {}).filter(([, value]) => value));
  const weight = Object.entries(draft.weight ?? {}).map(([checkpoint, share]) => ({ checkpoint, lead_share: share / 100, source: "scale" }));
  return {
    schema: "leadside.swing/1",
    recorded_at: draft.recorded_at,
    shot: "full",
    hand: draft.student.hand,
    club,
    views: views.map((kind) => viewDocument(kind, draft.views[kind])),
    ...(Object.keys(flight).length ? { flight } : {}),
    ...(weight.length ? { weight } : {}),
  };
}

/** The stills that go with it: [{view, checkpoint, blob}]. */
export const stillsOf = (draft) =>
  VIEWS.flatMap((view) => Object.entries(draft.views[view]?.frames ?? {}).map(([checkpoint, frame]) => ({ view, checkpoint, blob: frame.still })))
    .filter((still) => still.blob);

export const marksOf = (draft) =>
  VIEWS.reduce((sum, kind) => sum + Object.values(draft.views[kind]?.frames ?? {}).reduce((n, frame) => n + ownMarks(frame).length, 0), 0);
