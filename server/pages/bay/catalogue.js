// Names of the swing document and what is asked for of a film: taken from what the measures themselves read (needs.js).

import { NEEDS, SIGNS } from "./needs.js";

/** Checkpoints by the part of the swing they belong to, in the order of time. */
const PHASES = {
  back: ["address", "shaft_back", "arm_back", "top"],
  down: ["arm_down", "shaft_down", "impact"],
  through: ["shaft_through", "arm_through", "finish"],
};
export const CHECKPOINTS = Object.values(PHASES).flat();
export const VIEWS = ["down_the_line", "face_on"];
export const FAULTS = Object.keys(SIGNS);

/** Points in the order in which they are asked for: the club first, then down the body. */
const ORDER = ["grip", "clubhead", "ball", "butt", "head", "neck", "lead_shoulder", "trail_shoulder", "lead_elbow", "trail_elbow", "lead_wrist", "trail_wrist",
  "trail_hip", "lead_hip", "trail_knee", "lead_knee", "trail_ankle", "lead_ankle", "trail_toe", "lead_toe"];

/** From behind the near leg hides the other: its points are not asked for. */
const BEHIND_A_LEG = ["lead_knee", "lead_ankle"];

const nameOf = ({ measure, checkpoint }) => (checkpoint ? `${measure}@${checkpoint}` : measure);

/** The measures that a fault is judged by, or all that any picture is taken for. */
const measuresFor = (fault) => NEEDS.filter((need) => (fault ? SIGNS[fault].includes(nameOf(need)) : !need.shownOnly));

/** What a view's pictures are read for: {checkpoint: [points]}, in swing order; fewer marks are fine: what can't be computed is not observed.
 * fault: for that one question; both: whether the other view is filmed too. */
export function asked(kind, { fault = null, both = true } = {}) {
  const points = new Map();
  for (const { from } of measuresFor(fault)) {
    for (const { reads } of [from[kind], both ? from.both : null].filter(Boolean)) {
      for (const [checkpoint, names] of Object.entries(reads[kind] ?? {})) points.set(checkpoint, new Set([...(points.get(checkpoint) ?? []), ...names]));
    }
  }
  const seen = (point) => kind !== "down_the_line" || !BEHIND_A_LEG.includes(point);
  return Object.fromEntries(CHECKPOINTS.filter((name) => points.has(name)).map((name) => [name, ORDER.filter((point) => points.get(name).has(point) && seen(point))]));
}

/** Whether sticks or a flag make the answer surer: to a question, or to all. */
export const targetLine = (fault) => measuresFor(fault).some(({ from }) => Object.values(from).some(({ line }) => line));

/** The same by part of the swing: [[part, checkpoints]]. */
export const byPart = (names) => Object.entries(PHASES).map(([part, all]) => [part, all.filter((name) => names.includes(name))]);

const iron = (number) => ({ kind: "iron", number, length_m: Math.round((0.94 + (7 - number) * 0.0127) * 100) / 100 });

/** What a tablet takes a club to be long until the coach says otherwise: irons half an inch apart (common practice), m. */
export const CLUBS = [
  { kind: "driver", length_m: 1.14 }, { kind: "wood", length_m: 1.07 }, { kind: "hybrid", length_m: 1.0 },
  ...[3, 4, 5, 6, 7, 8, 9].map(iron), { kind: "wedge", length_m: 0.9 },
];
export const USUAL_CLUB = iron(7);
export const BUTT_TO_GRIP_M = 0.1;

/** The views in which a question can be answered; joined: it takes both at once. */
export function viewsFor(fault) {
  const alone = VIEWS.filter((kind) => Object.keys(asked(kind, { fault, both: false })).length > 0);
  return alone.length ? { kinds: alone, joined: false } : { kinds: VIEWS.filter((kind) => Object.keys(asked(kind, { fault })).length > 0), joined: true };
}

/** The signs of a fault whose verdict says none: those of the shipped standard. */
export const signsOf = (fault) => SIGNS[fault].map((name) => ({ measure: name.split("@")[0], checkpoint: name.split("@")[1], weight: 1 }));

/** The faults that a picture can answer. */
export const QUESTIONS = FAULTS.filter((fault) => viewsFor(fault).kinds.length > 0);
