// The design's own names: checkpoints in swing order, points by view, and which of them a checkpoint's measures read.

export const CHECKPOINTS = ["address", "shaft_back", "arm_back", "top", "arm_down", "shaft_down", "impact", "shaft_through", "arm_through", "finish"];
export const VIEWS = ["down_the_line", "face_on"];
export const FAULTS = ["upright_posture", "crowding", "reaching", "inside_takeaway", "outside_takeaway", "reverse_pivot", "sway", "lift_before_turn",
  "flat_shoulder_turn", "across_the_line", "laid_off", "overswing", "turn_before_drop", "steep_delivery", "stuck_delivery", "standing_up",
  "hanging_back", "chicken_wing", "forced_high_finish", "hurried_tempo", "body_out_of_order"];

const HIPS = ["lead_hip", "trail_hip"];
const SHOULDERS = ["lead_shoulder", "trail_shoulder"];
const ANKLES = ["lead_ankle", "trail_ankle"];
const CLUB = ["grip", "clubhead"];
const BODY = ["head", ...SHOULDERS, "lead_wrist", "trail_wrist", ...HIPS, "lead_knee", "trail_knee", ...ANKLES];

/** What is worth marking, most telling first. Fewer is fine: what can't be computed is not observed. */
export const POINTS = {
  down_the_line: {
    address: [...CLUB, "ball", "butt", "neck", "trail_hip", "lead_hip", "trail_knee", "trail_ankle", ...SHOULDERS],
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
    address: [...CLUB, "neck", ...BODY],
    shaft_back: ["grip", ...SHOULDERS],
    arm_back: ["grip", "neck", ...BODY, "trail_elbow"],
    top: [...CLUB, "head", "neck", ...HIPS, ...SHOULDERS],
    arm_down: ["grip", ...SHOULDERS],
    shaft_down: ["grip", ...SHOULDERS],
    impact: ["grip", ...SHOULDERS, "lead_elbow", "lead_wrist", ...HIPS],
    shaft_through: ["grip", ...SHOULDERS, "lead_elbow", "lead_wrist", "lead_hip"],
    arm_through: ["grip", "neck", ...BODY, "lead_elbow"],
    finish: ["neck", ...BODY],
  },
};

/** Mid-grip clubs by kind: what a tablet assumes until the coach says otherwise (common practice), m. */
export const LENGTHS = { driver: 1.14, wood: 1.07, hybrid: 1.0, iron: 0.94, wedge: 0.9 };
export const BUTT_TO_GRIP_M = 0.1;
