// What is said once and holds for the rest of a lesson: the club, the hand, which picture, and of each view where the camera stood, its
// sticks (or that there are none) and its slow motion. Only a film of the same size is taken to be from the same place.

import { putList, takeList } from "../lib/storage.js";

const LASTS_MS = 3 * 3600 * 1000;

const idOf = (student) => `lesson-${student}`;

/** After a swing was sent. A full tablet keeps none, and then it is asked again. */
export function remember(draft) {
  const views = Object.fromEntries(Object.entries(draft.views).map(([kind, { rate, fps, hfov, distance, sticks, target, bare, width, height }]) =>
    [kind, { slow: rate ? fps / rate : 1, rate, hfov, distance, sticks, target, bare, width, height }]));
  return putList(idOf(draft.student.id), { at: Date.now(), club: draft.club, hand: draft.student.hand, open: draft.open, views: { ...draft.before, ...views } }).catch(() => {});
}

/** What the lesson of a student that is under way has said already; nothing when there is none. */
export async function remembered(student) {
  const kept = await takeList(idOf(student));
  return kept && Date.now() - kept.at < LASTS_MS && kept.at <= Date.now() ? kept : undefined;
}

const TODAY = "today";
const MOST = 8; // students of a day that are remembered
const dayOf = () => new Date().toDateString();

/** The ids of those who were on this tablet's tee today, the last first. */
export async function onTee() {
  const kept = await takeList(TODAY);
  return kept?.day === dayOf() ? kept.ids : [];
}

/** A student has come to the tee. A full tablet forgets it. */
export async function toTee(student) {
  const others = (await onTee()).filter((id) => id !== student);
  await putList(TODAY, { day: dayOf(), ids: [student, ...others].slice(0, MOST) }).catch(() => {});
}

/** A film has come: what the lesson knows of this view's camera holds for it too, where it may be the same camera. */
export function carryOver(draft, kind, view) {
  const before = draft.before?.[kind];
  if (!before || before.width !== view.width || before.height !== view.height) return;
  if (before.rate === view.rate) view.fps = view.rate * before.slow;
  view.hfov ??= before.hfov;
  view.distance ??= before.distance;
  if (view.sticks.length === 0) view.sticks = before.sticks.map((stick) => [...stick]);
  view.target ??= before.target;
  view.bare ||= Boolean(before.bare);
}

/** The address of a swing's report, and of the question that it was filmed for. */
export const reportOf = (swing, question) => `#report/${swing}${question ? `/${question}` : ""}`;
