// The drills' figures as data: for each a player of lines at the start and at the end, drawn for a right-hander, and the things
// the drill needs. No page in it, so that it can be checked without one. Our own drawings.
//
// front: seen from the front, the target to the right. behind: seen along the line, the ball to the right. The ground is at 93 of 100:
// p hip, l lean in degrees to the right, w half the shoulders' width, s how much lower the trail shoulder is (degrees), h the lead
// hand and the club, t the trail hand where it is elsewhere, c where the club points (degrees from right, down is 90), n no club,
// g the club's length, f trail foot and lead foot, bar what lies across the shoulders, back what lies along the spine.

const VIEWS = {
  front: { p: [50, 54], l: 0, w: 9, s: 8, h: [52, 56], c: 93, g: 33, f: [[37, 90], [63, 90]], k: 6, knees: [-1, 1] },
  behind: { p: [36, 54], l: 36, w: 3, s: 25, h: [54, 58], c: 55, g: 34, f: [[34, 90], [40, 90]], k: 2, knees: [1, 1] },
};
const ARM = 15;
const LEG = 18.5;
const TRUNK = 24;

// What many drills begin or end with.
const HALF_BACK = { h: [25, 40], c: 262, w: 6, s: -6 };
const LEVEL_BACK = { h: [35, 55], c: 180, w: 5, s: 2, l: -3 };
const TOP = { h: [33, 21], c: 345, w: 5, s: -10, l: -3 };
const LEVEL_THROUGH = { h: [69, 54], c: 0, w: 5, s: 14, p: [53, 54], l: 2 };
const HALF_THROUGH = { h: [76, 40], c: -78, w: 6, s: 10, p: [54, 54] };
const FINISH = { h: [62, 24], c: -165, w: 5, s: 4, p: [57, 53], f: [[42, 88], [63, 90]] };
const CROSSED = { n: 1, h: [42, 38], t: [58, 38] };
const BEHIND_TOP = { h: [35, 23], c: 235, g: 14 };
const BEHIND_LEVEL = { h: [49, 60], c: 20, g: 6 };
const SEATED = { p: [50, 66], f: [[38, 90], [62, 90]] };

const FRAMES = {
  "top-check-in-a-mirror": ["front", {}, { ...TOP, h: [34, 24], c: 338 }, ["mirror", 4]],
  "far-side-hand-takeaway": ["front", { t: [52, 56], h: [50, 62] }, { ...LEVEL_BACK, t: [35, 55], h: [32, 57] }],
  "waist-high-level-swings": ["front", { ...LEVEL_BACK, h: [30, 50] }, { ...LEVEL_THROUGH, h: [70, 50] }],
  "glove-under-the-lead-arm": ["front", LEVEL_BACK, { ...LEVEL_THROUGH, h: [67, 52] }, ["glove", 60, 40]],
  "hand-on-the-triceps": ["front", { h: [38, 54], c: 170, t: [51, 43], w: 5, l: -3 }, { h: [67, 50], c: -40, t: [60, 42], w: 5 }],
  "foot-to-foot-steps": ["front", { ...CROSSED, p: [44, 54], w: 6, f: [[37, 90], [61, 87]] }, { ...CROSSED, h: [48, 38], t: [62, 38], p: [57, 54], w: 6, f: [[41, 87], [63, 90]] }, ["rail", 90]],
  "sidearm-throw": ["front", { n: 1, t: [24, 44], h: [58, 50], w: 6, p: [46, 54] }, { n: 1, t: [76, 50], h: [54, 48], w: 5, l: 5, p: [55, 54], f: [[37, 89], [70, 90]] }],
  "four-count-half-swings": ["front", { ...HALF_BACK, h: [24, 44], c: 250 }, { h: [37, 54], c: 195, w: 5, s: -2, l: -2 }, ["count", 84, 20]],
  "hip-hinge-with-a-club-on-the-back": ["behind", { l: 4, p: [40, 52], n: 1, h: [34, 46], back: 1 }, { l: 40, n: 1, h: [36, 42], back: 1 }],
  "reach-check": ["behind", {}, { h: [53, 60], c: 215, g: 12, l: 38 }, ["ball", 75, 88]],
  "rounded-finish": ["front", HALF_BACK, { ...FINISH, f: [[38, 90], [63, 90]], h: [62, 30], c: -200 }],
  "pause-and-drop": ["front", TOP, { h: [36, 50], c: 235, w: 6, s: -4 }, ["ball", 50, 89]],
  "chair-behind-the-hips": ["behind", { n: 1, h: [46, 42], t: [50, 42] }, { n: 1, h: [50, 40], t: [44, 40], p: [37, 54], w: 5, s: -10 }, ["chair", 31]],
  "stick-along-the-toes": ["behind", {}, BEHIND_LEVEL, ["stick", 44, 60]],
  "towel-outside-the-takeaway": ["behind", { c: 58 }, { ...BEHIND_LEVEL, h: [48, 57] }, ["towel", 84, 88]],
  "three-quarter-stops": ["behind", {}, { h: [38, 34], c: 240, g: 22 }, ["phone", 4, 52]],
  "clock-face-half-swings": ["front", HALF_BACK, HALF_THROUGH, ["ball", 50, 89]],
  "count-one-two-three": ["front", { ...LEVEL_BACK, h: [33, 52], c: 200 }, { h: [53, 57], c: 88 }, ["count", 84, 20], ["rail", 92]],
  "towel-under-both-arms": ["front", { h: [40, 54], c: 150, w: 8 }, { h: [64, 54], c: 30, w: 8 }, ["towel", 47, 38]],
  "lead-foot-back": ["behind", { f: [[34, 90], [28, 90]] }, { h: [46, 48], c: 100, g: 20, l: 30, f: [[34, 90], [28, 90]], p: [34, 54] }, ["ball", 75, 88]],
  "seat-on-the-wall": ["behind", { n: 1, h: [47, 44], t: [52, 44], l: 34 }, { n: 1, h: [53, 46], t: [47, 40], l: 36, s: 60, p: [35, 55] }, ["wall", 29]],
  "hip-fold-with-support": ["behind", { l: 8, p: [42, 52], n: 1, h: [68, 44] }, { l: 52, p: [32, 55], n: 1, h: [72, 46] }, ["rail", 76]],
  "shoulder-down-the-shaft": ["behind", { n: 1, h: [50, 44], t: [54, 44], bar: 1, s: 30 }, { n: 1, h: [50, 42], t: [52, 44], bar: 1, s: 62, w: 6 }],
  "trail-hip-by-the-rail": ["front", CROSSED, { ...CROSSED, h: [38, 38], t: [50, 40], w: 5, s: -8 }, ["rail", 27]],
  "step-through-swings": ["front", { ...CROSSED, h: [38, 38], t: [50, 40], w: 6, p: [46, 54] }, { ...CROSSED, h: [56, 36], t: [68, 38], p: [62, 53], w: 6, f: [[74, 90], [63, 90]] }, ["rail", 92]],
  "long-arms-to-level": ["front", HALF_BACK, { ...LEVEL_THROUGH, h: [70, 53], c: 2 }],
  "phone-behind-the-hands": ["behind", { h: [36, 25], c: 238, g: 12 }, { h: [47, 52], c: 238, g: 26 }, ["phone", 4, 44]],
  "feet-by-the-stick": ["behind", { p: [26, 54], l: 4, h: [36, 56], c: 80, g: 30, f: [[20, 90], [30, 90]] }, {}, ["stick", 44, 60], ["tee", 74, 88]],
  "arms-hang-free": ["behind", { l: 4, p: [40, 52], n: 1, h: [42, 56] }, { n: 1, h: [51, 61] }],
  "rock-and-settle": ["behind", { n: 1, h: [56, 60], p: [40, 54], l: 38 }, { n: 1, h: [51, 60], p: [35, 54] }, ["rail", 88]],
  "palms-turn-to-level": ["front", { n: 1, h: [51, 57] }, { n: 1, h: [34, 54], w: 5, s: 2, l: -3 }],
  "crossed-arms-turn": ["front", CROSSED, { ...CROSSED, h: [36, 38], t: [48, 41], w: 5, s: -8, p: [47, 54], l: -4 }],
  "seated-turn": ["front", { ...SEATED, ...CROSSED, h: [42, 50], t: [58, 50] }, { ...SEATED, ...CROSSED, h: [40, 50], t: [50, 52], w: 5, s: -4 }, ["stool", 50]],
  "tray-hand-at-the-top": ["front", { n: 1, h: [51, 57] }, { n: 1, h: [40, 46], t: [30, 24], w: 5, s: -8, l: -3 }, ["tray", 30, 21]],
  "towel-across-the-shoulders": ["behind", { n: 1, h: [49, 42], t: [54, 42], bar: 2, s: 20 }, { n: 1, h: [50, 42], t: [52, 44], bar: 2, s: 58, w: 5 }],
  "lead-shoulder-over-the-spot": ["behind", { n: 1, h: [52, 60], t: [70, 50] }, { n: 1, h: [60, 62], t: [70, 50], s: 58, w: 6 }, ["table", 76]],
  "hands-fall-first": ["front", { n: 1, h: [34, 27], w: 6, s: -8 }, { n: 1, h: [38, 56], w: 6, s: -4 }],
  "clap-the-count": ["front", { n: 1, h: [36, 44], t: [26, 42], w: 8 }, { n: 1, h: [51, 44], t: [49, 44] }, ["count", 84, 20]],
  "chest-carries-the-hands": ["front", { n: 1, h: [46, 38], t: [45, 40], w: 7, s: -4, p: [48, 54] }, { n: 1, h: [57, 38], t: [56, 40], w: 7, s: 6, p: [53, 54] }],
  "palms-through": ["front", { n: 1, h: [37, 55], w: 7 }, { n: 1, h: [70, 50], w: 7, p: [53, 54] }],
  "scarf-over-the-shoulder": ["front", { n: 1, h: [50, 56] }, { n: 1, h: [64, 29], w: 6, p: [55, 54], s: 4 }, ["towel", 66, 32]],
  "fist-behind-the-grip": ["behind", { c: 56 }, { t: [47, 60] }, ["ball", 74, 88]],
  "club-on-the-belt": ["front", { h: [51, 62], c: 93, g: 28 }, { h: [44, 58], c: 180, g: 28, w: 6, s: 0, l: -2 }],
  "chair-beside-the-trail-hip": ["front", {}, { ...HALF_BACK, h: [27, 42] }, ["chair", 22]],
  "narrow-feet-swings": ["front", { ...LEVEL_BACK, f: [[46, 90], [54, 90]] }, { ...LEVEL_THROUGH, p: [50, 54], f: [[46, 90], [54, 90]] }],
  "heel-down-first": ["front", { ...HALF_BACK, p: [46, 54], f: [[37, 90], [60, 86]] }, { h: [36, 52], c: 220, w: 6, s: 0, p: [53, 54] }],
  "slow-chain": ["front", { ...HALF_BACK, h: [26, 43] }, { h: [40, 55], c: 205, w: 6, s: 12, p: [55, 54], l: -4 }, ["snail", 84, 86]],
  "split-hands-at-the-top": ["behind", { t: [57, 63] }, { h: [37, 31], c: 236, g: 20, t: [34, 27] }],
  "two-drops-and-through": ["front", { h: [29, 32], c: 300, w: 6, s: -8 }, { h: [37, 54], c: 240, w: 6, s: -6 }, ["arrow", 20, 50]],
  "finish-first": ["front", { ...FINISH, h: [61, 25] }, { ...TOP, h: [34, 23], c: 330 }],
  "step-away-balls": ["behind", { p: [20, 54], l: 2, h: [30, 56], c: 85, g: 30, f: [[12, 90], [26, 90]] }, { c: 54 }, ["ball", 75, 88]],
  "stop-level-then-hit": ["front", LEVEL_BACK, { ...HALF_THROUGH, h: [75, 43] }, ["ball", 50, 89]],
  "narrow-feet-balls": ["front", { ...HALF_BACK, f: [[46, 90], [54, 90]] }, { ...HALF_THROUGH, p: [51, 54], f: [[46, 90], [54, 90]] }, ["ball", 50, 89]],
  "heel-down-balls": ["front", { ...HALF_BACK, p: [46, 54], f: [[37, 90], [60, 86]] }, { h: [51, 57], c: 95, p: [54, 54], s: 12 }, ["ball", 50, 89]],
  "three-quarter-balls": ["behind", { h: [37, 33], c: 240, g: 20 }, { c: 55 }, ["ball", 75, 88], ["phone", 4, 52]],
  "shoulder-down-balls": ["behind", { n: 1, h: [50, 42], t: [52, 45], s: 60, w: 6 }, { h: [55, 58] }, ["ball", 75, 88]],
  "bottom-back-balls": ["behind", { n: 1, h: [47, 44], t: [52, 44], p: [32, 54] }, { l: 37, h: [55, 57], c: 54, p: [38, 54], f: [[36, 90], [42, 90]] }, ["wall", 25], ["ball", 77, 88]],
  "hip-to-hip-balls": ["front", { ...LEVEL_BACK, h: [36, 54] }, { ...LEVEL_THROUGH, h: [69, 53] }, ["ball", 50, 89]],
  "hold-the-finish-balls": ["front", {}, { ...FINISH, h: [63, 26], c: -172 }, ["ball", 90, 60]],
  "walk-in-set-up": ["behind", { p: [22, 54], l: 2, h: [32, 55], c: 88, g: 30, f: [[14, 90], [28, 90]] }, { c: 56 }, ["ball", 75, 88], ["flag", 94]],
  "look-at-level": ["behind", { h: [48, 59], c: 20, g: 7 }, { c: 55 }, ["ball", 75, 88], ["flag", 94]],
  "finish-and-watch": ["front", { h: [52, 56] }, { ...FINISH, f: [[41, 89], [63, 90]] }, ["ball", 92, 30], ["flag", 94]],
  "brush-then-play": ["behind", { c: 58, p: [30, 54], f: [[28, 90], [34, 90]], h: [48, 58] }, { c: 55 }, ["ball", 75, 88], ["grass", 62], ["flag", 94]],
  "three-quarters-one-club-more": ["front", { h: [27, 33], c: 300, w: 6, s: -8 }, { ...HALF_THROUGH, h: [75, 40] }, ["ball", 50, 89], ["flag", 94]],
  "count-on-the-course": ["front", { ...TOP, h: [32, 24], c: 335 }, { h: [52, 57], c: 90 }, ["ball", 50, 89], ["count", 80, 44], ["flag", 94]],
  "push-the-glove-back": ["front", { h: [50, 57], c: 99, f: [[27, 90], [63, 90]] }, { h: [45, 58], c: 109, w: 8, s: 6, l: -1, f: [[27, 90], [63, 90]] }, ["glove", 33, 88]],
  "hands-to-shoulder-height": ["front", { h: [51, 57], c: 95, g: 26 }, { h: [27, 32], c: 290, w: 6, s: -8, l: -2, g: 26 }],
  "halfway-down-stops": ["behind", BEHIND_TOP, { ...BEHIND_LEVEL, l: 34, p: [35, 54] }, ["stick", 44, 60]],
  "buckle-first-turns": ["behind", { n: 1, h: [47, 44], t: [51, 43], f: [[36, 90], [28, 90]] }, { n: 1, h: [42, 40], t: [52, 44], p: [34, 54], w: 6, s: 150, f: [[36, 88], [28, 90]] }],
  "brow-by-the-wall": ["behind", { n: 1, h: [48, 44], t: [52, 44] }, { n: 1, h: [52, 46], t: [46, 40], w: 5, s: 62 }, ["wall", 73]],
  "stay-bent-brushes": ["front", HALF_BACK, { ...LEVEL_THROUGH, h: [70, 54] }, ["grass", 50], ["phone", 4, 52]],
  "towel-beyond-the-ball": ["behind", { h: [40, 40], c: 250, g: 20 }, { c: 55 }, ["ball", 74, 88], ["towel", 86, 88]],
  "chest-carried-balls": ["front", { h: [37, 53], c: 172, w: 7, s: 2, l: -2 }, { h: [66, 53], c: 8, w: 7, s: 12, p: [53, 54] }, ["ball", 50, 89]],
  "halfway-down-balls": ["behind", BEHIND_LEVEL, { c: 55, p: [37, 54] }, ["ball", 75, 88]],
  "clip-the-tee": ["front", { ...HALF_BACK, h: [26, 42] }, { h: [53, 57], c: 88, s: 12, p: [53, 54] }, ["ball", 50, 86], ["tee", 50, 89]],
  "halfway-down-look": ["behind", { h: [40, 38], c: 250, g: 18 }, { ...BEHIND_LEVEL, h: [49, 59] }, ["ball", 75, 88], ["flag", 94]],
};

const between = (a, b, share) => (Array.isArray(a) ? a.map((one, i) => between(one, b[i], share)) : a + (b - a) * share);
const at = ([x, y], degrees, far) => [x + far * Math.cos((degrees * Math.PI) / 180), y + far * Math.sin((degrees * Math.PI) / 180)];

/** The joint between two ends with two equal bones: the one of the two places that lies farther toward [x, y]. Ends too far apart: halfway. */
function joint([ax, ay], [bx, by], bone, [x, y]) {
  const far = Math.hypot(bx - ax, by - ay);
  const out = Math.sqrt(Math.max(0, bone * bone - (far * far) / 4)) / (far || 1);
  const side = (by - ay) * x - (bx - ax) * y >= 0 ? 1 : -1;
  return [(ax + bx) / 2 + side * out * (by - ay), (ay + by) / 2 - side * out * (bx - ax)];
}

/** A player's points at a share of the way from start to end. */
export function jointsOf(id, share) {
  const [view, start, end] = FRAMES[id] ?? ["front", {}, LEVEL_BACK];
  const whole = (frame) => ({ ...VIEWS[view], t: frame.h ?? VIEWS[view].h, ...frame });
  const [from, to] = [whole(start), whole(end)];
  const now = Object.fromEntries(["p", "l", "w", "s", "h", "t", "c", "g", "f", "k"].map((key) => [key, between(from[key], to[key], share)]));
  const along = now.l - 90;
  const neck = at(now.p, along, TRUNK);
  const shoulders = [at(neck, 180 - now.s, now.w), at(neck, -now.s, now.w)]; // trail, lead
  const hips = [[now.p[0] - now.k, now.p[1]], [now.p[0] + now.k, now.p[1]]];
  const { knees } = VIEWS[view];
  const elbows = [joint(shoulders[0], now.t, ARM, [-0.3, 1]), joint(shoulders[1], now.h, ARM, [view === "front" ? 0.3 : -0.3, 1])];
  return {
    neck, shoulders, hips, elbows, hands: [now.t, now.h], feet: now.f, hip: now.p,
    head: at(neck, along - (view === "behind" ? 12 : 0), 9),
    knees: hips.map((hip, i) => joint(hip, now.f[i], LEG, [knees[i], 0])),
    toes: now.f.map(([x, y], i) => [x + (view === "front" ? [-4, 4][i] : 8), y + 1]),
    club: from.n && to.n ? null : at(now.h, now.c, (from.n || to.n ? (from.n ? share : 1 - share) : 1) * now.g),
    bar: from.bar ? [at(neck, 180 - now.s, now.w + 12), at(neck, -now.s, now.w + 12)] : null,
    back: from.back ? [at(at(now.p, along, -4), along - 90, 4), at(at(now.p, along, 40), along - 90, 4)] : null,
  };
}

/** The things of a drill: [kind, x, y]. */
export const thingsOf = (id) => (FRAMES[id] ?? []).slice(3);
