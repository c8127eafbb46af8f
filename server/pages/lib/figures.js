// Small figures for the drills: a player of lines in a few postures, with the thing the drill needs. Our own drawings.

import { svg } from "./dom.js";
import { say } from "./words.js";

// Joints in a square of 100: head, neck, hip, hands, clubhead, knees and feet. Side: the player looks to the right.
const POSTURES = {
  address: { head: [50, 22], neck: [46, 31], hip: [36, 54], hands: [56, 56], club: [78, 86], knee: [44, 70], foot: [38, 88] },
  level: { head: [49, 22], neck: [45, 31], hip: [36, 54], hands: [44, 58], club: [12, 58], knee: [44, 70], foot: [38, 88] },
  top: { head: [49, 22], neck: [45, 31], hip: [37, 54], hands: [30, 24], club: [56, 17], knee: [44, 70], foot: [38, 88] },
  through: { head: [48, 20], neck: [46, 30], hip: [44, 53], hands: [58, 46], club: [88, 40], knee: [46, 70], foot: [42, 88] },
  finish: { head: [50, 16], neck: [49, 26], hip: [47, 52], hands: [38, 24], club: [18, 40], knee: [47, 70], foot: [45, 88] },
  hinge: { head: [62, 26], neck: [55, 32], hip: [34, 50], hands: [46, 40], club: [26, 62], knee: [42, 68], foot: [36, 88] },
  throw: { head: [50, 18], neck: [47, 28], hip: [42, 52], hands: [66, 60], club: null, knee: [52, 68], foot: [52, 88] },
};

const line = (a, b, more = {}) => svg("line", { x1: a[0], y1: a[1], x2: b[0], y2: b[1], ...more });

const PROPS = {
  mirror: () => svg("rect", { x: 88, y: 8, width: 6, height: 80, fill: "none", "stroke-width": 2 }),
  wall: () => line([18, 6], [18, 92], { "stroke-width": 4 }),
  chair: () => svg("path", { d: "M14 30 V88 M14 58 H30 V88", fill: "none", "stroke-width": 3 }),
  rail: () => svg("path", { d: "M20 44 V88 M12 44 H28", fill: "none", "stroke-width": 3 }),
  stick: () => line([10, 92], [92, 92], { "stroke-width": 3, "stroke-dasharray": "7 4" }),
  towel: () => svg("path", { d: "M44 36 q6 10 0 20 q8 -2 10 -10", fill: "none", "stroke-width": 4 }),
  clock: () => svg("circle", { cx: 42, cy: 46, r: 38, fill: "none", "stroke-width": 1.5, "stroke-dasharray": "2 6" }),
  phone: () => svg("rect", { x: 2, y: 50, width: 8, height: 14, rx: 1.5, fill: "none", "stroke-width": 2 }),
  back: () => line([58, 22], [30, 60], { "stroke-width": 4 }),
};

const DRILLS = {
  "top-check-in-a-mirror": ["top", "mirror"],
  "far-side-hand-takeaway": ["level"],
  "waist-high-level-swings": ["level", "clock"],
  "glove-under-the-lead-arm": ["through", "towel"],
  "hand-on-the-triceps": ["through"],
  "foot-to-foot-steps": ["through", "rail"],
  "sidearm-throw": ["throw"],
  "four-count-half-swings": ["level", "clock"],
  "hip-hinge-with-a-club-on-the-back": ["hinge", "back"],
  "reach-check": ["address"],
  "rounded-finish": ["finish"],
  "pause-and-drop": ["top"],
  "chair-behind-the-hips": ["address", "chair"],
  "stick-along-the-toes": ["level", "stick"],
  "towel-outside-the-takeaway": ["level", "stick"],
  "three-quarter-stops": ["top", "clock"],
  "clock-face-half-swings": ["through", "clock"],
  "count-one-two-three": ["top"],
  "towel-under-both-arms": ["through", "towel"],
  "lead-foot-back": ["address", "stick"],
  "seat-on-the-wall": ["address", "wall"],
  "hip-fold-with-support": ["hinge", "rail"],
  "shoulder-down-the-shaft": ["hinge", "back"],
  "trail-hip-by-the-rail": ["address", "rail"],
  "step-through-swings": ["finish"],
  "long-arms-to-level": ["through"],
  "phone-behind-the-hands": ["top", "phone"],
  "feet-by-the-stick": ["address", "stick"],
};

/** A drill's picture; a drill of the club's own gets the player at address. */
export function drillFigure(id, name) {
  const [posture, ...props] = DRILLS[id] ?? ["address"];
  const p = POSTURES[posture];
  return svg("svg", { viewBox: "0 0 100 96", class: "figure", role: "img", "aria-label": say("home.figure", { drill: name }), stroke: "currentColor", "stroke-linecap": "round", fill: "none" },
    props.map((prop) => PROPS[prop]()),
    svg("circle", { cx: p.head[0], cy: p.head[1], r: 6.5, "stroke-width": 2.5 }),
    line(p.neck, p.hip, { "stroke-width": 4 }),
    line(p.hip, p.knee, { "stroke-width": 4 }),
    line(p.knee, p.foot, { "stroke-width": 4 }),
    line(p.foot, [p.foot[0] + 9, p.foot[1]], { "stroke-width": 4 }),
    line([p.neck[0] + 1, p.neck[1] + 3], p.hands, { "stroke-width": 3 }),
    p.club ? line(p.hands, p.club, { "stroke-width": 2 }) : null,
    p.club ? svg("circle", { cx: p.club[0], cy: p.club[1], r: 2.2, fill: "currentColor" }) : null);
}

/** This week's sessions as boxes: ticked and still to do. */
export function ticks(done, of) {
  return Array.from({ length: Math.max(done, of) }, (_, i) =>
    svg("svg", { viewBox: "0 0 24 24", "aria-hidden": "true", fill: "none", stroke: "currentColor", "stroke-width": 2 },
      svg("rect", { x: 2, y: 2, width: 20, height: 20, rx: 4 }),
      i < done ? svg("path", { d: "M6 12 l4 5 l8 -10", "stroke-width": 3 }) : null));
}
