// Names of the swing document: checkpoints in swing order, points by view, and which of them a checkpoint's measures read.

/** Checkpoints by the part of the swing they belong to, in the order of time. */
const PHASES = {
  back: ["address", "shaft_back", "arm_back", "top"],
  down: ["arm_down", "shaft_down", "impact"],
  through: ["shaft_through", "arm_through", "finish"],
};
export const CHECKPOINTS = Object.values(PHASES).flat();
export const VIEWS = ["down_the_line", "face_on"];
export const FAULTS = ["upright_posture", "crowding", "reaching", "inside_takeaway", "outside_takeaway", "reverse_pivot", "hips_slide_away", "lift_before_turn",
  "level_shoulders", "across_the_line", "laid_off", "overswing", "turn_before_drop", "steep_delivery", "stuck_delivery", "standing_up",
  "hanging_back", "chicken_wing", "forced_high_finish", "hurried_tempo", "body_out_of_order"];

const HIPS = ["lead_hip", "trail_hip"];
const SHOULDERS = ["lead_shoulder", "trail_shoulder"];
const ANKLES = ["lead_ankle", "trail_ankle"];
const CLUB = ["grip", "clubhead"];
const BODY = ["head", "neck", ...SHOULDERS, "lead_wrist", "trail_wrist", ...HIPS, "lead_knee", "trail_knee", ...ANKLES];

/** What is worth marking, most telling first. Fewer is fine: what can't be computed is not observed. */
export const POINTS = {
  down_the_line: {
    address: [...CLUB, "ball", "butt", "neck", ...SHOULDERS, "trail_hip", "lead_hip", "trail_knee", "trail_ankle"],
    shaft_back: [...CLUB, ...SHOULDERS],
    arm_back: ["grip", ...SHOULDERS],
    top: [...CLUB, ...SHOULDERS],
    arm_down: [...CLUB, ...SHOULDERS],
    shaft_down: [...CLUB, ...SHOULDERS],
    impact: ["grip", "neck", ...HIPS, ...SHOULDERS],
    shaft_through: CLUB,
    arm_through: ["grip", ...SHOULDERS],
    finish: [],
  },
  face_on: {
    address: [...CLUB, ...BODY],
    shaft_back: ["grip", ...SHOULDERS],
    arm_back: ["grip", ...BODY, "trail_elbow"],
    top: [...CLUB, "head", "neck", ...SHOULDERS, ...HIPS],
    arm_down: ["grip", ...SHOULDERS],
    shaft_down: ["grip", ...SHOULDERS],
    impact: ["grip", ...SHOULDERS, "lead_elbow", "lead_wrist", ...HIPS],
    shaft_through: ["grip", ...SHOULDERS, "lead_elbow", "lead_wrist", "lead_hip"],
    arm_through: ["grip", ...BODY, "lead_elbow"],
    finish: BODY,
  },
};

/** The checkpoints that a view reads something at, by part of the swing: [[part, checkpoints]]. */
export const readBy = (kind) => Object.entries(PHASES).map(([part, names]) => [part, names.filter((name) => POINTS[kind][name].length > 0)]);

const iron = (number) => ({ kind: "iron", number, length_m: Math.round((0.94 + (7 - number) * 0.0127) * 100) / 100 });

/** What a tablet takes a club to be long until the coach says otherwise: irons half an inch apart (common practice), m. */
export const CLUBS = [
  { kind: "driver", length_m: 1.14 }, { kind: "wood", length_m: 1.07 }, { kind: "hybrid", length_m: 1.0 },
  ...[3, 4, 5, 6, 7, 8, 9].map(iron), { kind: "wedge", length_m: 0.9 },
];
export const USUAL_CLUB = iron(7);
export const BUTT_TO_GRIP_M = 0.1;
