// Lines on a still: where a measure was read. A number stands beside a line only when the eye sees that very angle there;
// other lines get a short key, a number in a ring, that stands again in the caption.

import { svg } from "../lib/dom.js";
import { measure } from "../lib/units.js";

const middle = (a, b) => (a && b ? { u: (a.u + b.u) / 2, v: (a.v + b.v) / 2 } : null);

/** The lines that are drawn, in a frame's points. */
const PATHS = {
  shaft: (p) => [p.grip, p.clubhead],
  spine: (p) => [middle(p.lead_hip, p.trail_hip), p.neck],
  shoulders: (p) => [p.trail_shoulder, p.lead_shoulder],
  lead_arm: (p) => [p.lead_shoulder, p.lead_elbow, p.lead_wrist],
};
/** Which line a measure belongs to; several may share one. */
const LINE_OF = {
  shaft_direction: "shaft", shaft_cross: "shaft", shaft_elevation: "shaft", shaft_steepness: "shaft", spine_tilt: "spine", spine_change: "spine",
  trunk_lean: "spine", shoulder_plane: "shoulders", lead_elbow_bend: "lead_arm",
};
/** Angles from the vertical, which a wedge can show; which way + leans in the picture of a right-hander. */
const LEANS = { spine_tilt: 1, trunk_lean: -1 };
const CHANGES = ["spine_change"];
/** So near to what the picture shows must a value be to stand at its line, degrees. */
const AGREES_DEG = 1.5;

export const hasLine = (item) => item.measure in LINE_OF;

const degrees = (radians) => (radians * 180) / Math.PI;
const signOf = (item, hand) => (LEANS[item.measure] ?? 0) * (hand === "left" ? -1 : 1);

/** The angle that the eye sees in the picture; null when the measure is no angle of the picture. */
function seenAngle(item, path, hand) {
  const sign = signOf(item, hand);
  if (sign) return sign * degrees(Math.atan2(path[1].u - path[0].u, path[0].v - path[1].v));
  if (item.measure !== "lead_elbow_bend") return null;
  const [upper, lower] = [0, 1].map((i) => Math.atan2(path[i + 1].v - path[i].v, path[i + 1].u - path[i].u));
  const turn = Math.abs(degrees(upper - lower)) % 360;
  return Math.min(turn, 360 - turn);
}

function standsThere(item, path, hand) {
  const seen = seenAngle(item, path, hand);
  return seen !== null && Math.abs(seen - item.value) < AGREES_DEG;
}

function wedge(item, path, hand) {
  const sign = signOf(item, hand);
  const [low, high] = item.ok ?? [null, null];
  if (!sign || low === null || high === null) return null;
  const [from, to] = path;
  const length = Math.hypot(to.u - from.u, to.v - from.v);
  const end = (deg) => `${from.u + length * Math.sin((sign * deg * Math.PI) / 180)} ${from.v - length * Math.cos((deg * Math.PI) / 180)}`;
  return svg("path", { d: `M${from.u} ${from.v} L${end(low)} A${length} ${length} 0 0 ${sign > 0 ? 1 : 0} ${end(high)} Z`, class: "range" });
}

const STEPS = 24;

/** Points all along a line, so that a label can keep clear of it. */
const along = (path) => path.slice(1).flatMap((to, i) => Array.from({ length: STEPS + 1 }, (_, k) =>
  ({ u: path[i].u + ((to.u - path[i].u) * k) / STEPS, v: path[i].v + ((to.v - path[i].v) * k) / STEPS })));

/** The part of a view's picture that is shown: the player with the club, the same at every checkpoint. */
export function cropOf({ image, frames }) {
  const marks = frames.flatMap((frame) => Object.values(frame.points ?? {}));
  if (marks.length < 2) return { x: 0, y: 0, ...image };
  const [left, right, top, bottom] = [[0, Math.min], [0, Math.max], [1, Math.min], [1, Math.max]].map(([axis, most]) => most(...marks.map((mark) => mark[axis])));
  const side = Math.max((right - left) * 1.15, (bottom - top) * 1.15, image.height / 2, image.width / 4);
  const width = Math.min(side, image.width);
  const height = Math.min(side, image.height);
  const within = (middle, size, whole) => Math.max(0, Math.min(middle - size / 2, whole - size));
  return { x: within((left + right) / 2, width, image.width), y: within((top + bottom) / 2, height, image.height), width, height };
}

/** Finds room for labels beside their lines: inside what is shown, off one another, and off lines and marks where that can be. */
class Room {
  constructor(crop, paths, marks) {
    Object.assign(this, { crop, taken: [], lines: [...paths.flatMap(along), ...marks] });
  }

  cost({ x, y, w, h }) {
    const apart = (other) => x + w <= other.x || other.x + other.w <= x || y + h <= other.y || other.y + other.h <= y;
    const { crop } = this;
    const out = x < crop.x || y < crop.y || x + w > crop.x + crop.width || y + h > crop.y + crop.height;
    const crossed = this.lines.filter(({ u, v }) => u > x && u < x + w && v > y && v < y + h).length;
    return 1e6 * this.taken.filter((other) => !apart(other)).length + (out ? 1e4 : 0) + crossed;
  }

  /** The best free box of a size beside a path, from its end backward; it counts as taken from now on. */
  find(path, w, h) {
    const boxes = [];
    for (let i = path.length - 1; i > 0; i--) {
      const [a, b] = [path[i - 1], path[i]];
      const length = Math.hypot(b.u - a.u, b.v - a.v) || 1;
      const [x, y] = [(b.u - a.u) / length, (b.v - a.v) / length];
      const box = (u, v) => boxes.push({ x: u - w / 2, y: v - h / 2, w, h });
      const clear = (du, dv) => (Math.abs(du) * w) / 2 + (Math.abs(dv) * h) / 2 + h / 4;
      for (const share of [1, 0.75, 0.5, 0.25, 0]) {
        const [u, v] = [a.u + (b.u - a.u) * share, a.v + (b.v - a.v) * share];
        for (const times of [1, 2, 3]) for (const side of [1, -1]) box(u - side * y * clear(y, x) * times, v + side * x * clear(y, x) * times);
      }
    }
    const best = boxes.map((found, i) => ({ found, cost: this.cost(found) + i * 0.01 })).sort((one, two) => one.cost - two.cost)[0].found;
    this.taken.push(best);
    return best;
  }
}

function valueLabel(room, path, item, size) {
  const text = measure(item.value, item.unit);
  const { x, y, w, h } = room.find(path, text.length * size * 0.62, size * 1.1);
  return svg("text", { x: x + w / 2, y: y + h / 2, "font-size": size, "text-anchor": "middle", "dominant-baseline": "central", class: "value" }, text);
}

function keyLabel(room, path, key, size) {
  const { x, y, w, h } = room.find(path, size * 1.5, size * 1.5);
  return svg("g", { class: "key" },
    svg("circle", { cx: x + w / 2, cy: y + h / 2, r: size * 0.72 }),
    svg("text", { x: x + w / 2, y: y + h / 2, "font-size": size, "text-anchor": "middle", "dominant-baseline": "central" }, String(key)));
}

const trail = (path) => path.map(({ u, v }) => `${u},${v}`).join(" ");

/** What is drawn of these measures on the shown part of a frame's still: {nodes, keys: Map of measure to its key, changes, space: whether such
 * are among the keyed}. */
export function drawings(items, frame, crop, hand) {
  const marks = Object.fromEntries(Object.entries(frame.points ?? {}).map(([name, [u, v]]) => [name, { u, v }]));
  const lines = new Map();
  for (const item of items.filter(hasLine)) {
    const path = PATHS[LINE_OF[item.measure]](marks);
    if (!path.every(Boolean)) continue;
    const line = lines.get(LINE_OF[item.measure]) ?? { path, there: [], keyed: [] };
    line[standsThere(item, path, hand) ? "there" : "keyed"].push(item);
    lines.set(LINE_OF[item.measure], line);
  }
  const drawn = [...lines.values()];
  const room = new Room(crop, drawn.map(({ path }) => path), Object.values(marks));
  const size = Math.max(crop.width, crop.height) / 17;
  const keys = new Map();
  const keyed = drawn.filter((line) => line.keyed.length > 0);
  keyed.forEach((line, i) => line.keyed.forEach((item) => keys.set(item, i + 1)));
  const nodes = [
    drawn.map(({ path, there }) => there.map((item) => wedge(item, path, hand))),
    drawn.map(({ path }) => [svg("polyline", { points: trail(path), class: "under" }), svg("polyline", { points: trail(path), class: "over" })]),
    drawn.map(({ path, there }) => there.map((item) => valueLabel(room, path, item, size))),
    keyed.map(({ path }, i) => keyLabel(room, path, i + 1, size)),
  ];
  const all = [...keys.keys()];
  return { nodes: nodes.flat(3).filter(Boolean), keys, changes: all.some((item) => CHANGES.includes(item.measure)), space: all.some((item) => !CHANGES.includes(item.measure)) };
}
