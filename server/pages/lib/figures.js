// Small figures for the drills: a player of lines going from where a drill begins to where it ends, with the thing the drill needs.
// Our own drawings.

import { el, svg } from "./dom.js";
import { say } from "./words.js";

// Joints in a square of 100: head, neck, hip, hands, clubhead, knees and feet. Side: the player looks to the right.
const POSTURES = {
  stand: { head: [46, 13], neck: [45, 23], hip: [41, 52], hands: [50, 46], club: [50, 88], knee: [42, 70], foot: [39, 88] },
  address: { head: [50, 22], neck: [46, 31], hip: [36, 54], hands: [56, 56], club: [78, 86], knee: [44, 70], foot: [38, 88] },
  level: { head: [49, 22], neck: [45, 31], hip: [36, 54], hands: [44, 58], club: [12, 58], knee: [44, 70], foot: [38, 88] },
  top: { head: [49, 22], neck: [45, 31], hip: [37, 54], hands: [30, 24], club: [56, 17], knee: [44, 70], foot: [38, 88] },
  turned: { head: [49, 22], neck: [45, 31], hip: [36, 54], hands: [42, 42], club: [30, 34], knee: [44, 70], foot: [38, 88] },
  through: { head: [48, 20], neck: [46, 30], hip: [44, 53], hands: [58, 46], club: [88, 40], knee: [46, 70], foot: [42, 88] },
  finish: { head: [50, 16], neck: [49, 26], hip: [47, 52], hands: [38, 24], club: [18, 40], knee: [47, 70], foot: [45, 88] },
  hinge: { head: [62, 26], neck: [55, 32], hip: [34, 50], hands: [46, 40], club: [26, 62], knee: [42, 68], foot: [36, 88] },
  folded: { head: [60, 28], neck: [53, 34], hip: [33, 52], hands: [78, 54], club: [78, 54], knee: [43, 70], foot: [38, 88] },
  throw: { head: [50, 18], neck: [47, 28], hip: [42, 52], hands: [66, 60], club: [66, 60], knee: [52, 68], foot: [52, 88] },
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
  bench: () => svg("path", { d: "M80 56 V88 M76 56 H92", fill: "none", "stroke-width": 3 }),
};

// Where a drill begins and where it ends, and what it needs; "bare": without a club.
const DRILLS = {
  "top-check-in-a-mirror": ["address", "top", "mirror"],
  "far-side-hand-takeaway": ["address", "level"],
  "waist-high-level-swings": ["level", "through", "clock"],
  "glove-under-the-lead-arm": ["level", "through", "towel"],
  "hand-on-the-triceps": ["level", "through"],
  "foot-to-foot-steps": ["turned", "finish", "rail", "bare"],
  "sidearm-throw": ["turned", "throw", "bare"],
  "four-count-half-swings": ["level", "through", "clock"],
  "hip-hinge-with-a-club-on-the-back": ["stand", "hinge"],
  "reach-check": ["stand", "address"],
  "rounded-finish": ["level", "finish"],
  "pause-and-drop": ["top", "level"],
  "chair-behind-the-hips": ["address", "through", "chair"],
  "stick-along-the-toes": ["address", "level", "stick"],
  "towel-outside-the-takeaway": ["address", "level", "stick"],
  "three-quarter-stops": ["address", "top", "clock"],
  "clock-face-half-swings": ["level", "through", "clock"],
  "count-one-two-three": ["level", "through"],
  "towel-under-both-arms": ["level", "through", "towel"],
  "lead-foot-back": ["level", "through", "stick"],
  "seat-on-the-wall": ["stand", "turned", "wall", "bare"],
  "hip-fold-with-support": ["stand", "folded", "bench", "bare"],
  "shoulder-down-the-shaft": ["address", "turned"],
  "trail-hip-by-the-rail": ["address", "turned", "rail", "bare"],
  "step-through-swings": ["turned", "finish", "rail", "bare"],
  "long-arms-to-level": ["level", "through"],
  "phone-behind-the-hands": ["address", "top", "phone"],
  "feet-by-the-stick": ["stand", "address", "stick"],
};

const ONCE_S = 2.4; // there and back
const TIMES = 2; // what moves by itself for longer would need a way to stop it

/** The strokes of a posture, thickest first: trunk and leg, arm, club; each one line through its joints. */
const strokes = ({ neck, hip, knee, foot, hands, club }) => [
  [4, `M${neck} L${hip} L${knee} L${foot} L${[foot[0] + 9, foot[1]]}`], [3, `M${[neck[0] + 1, neck[1] + 3]} L${hands}`], [2, `M${hands} L${club}`]];

const still = () => matchMedia("(prefers-reduced-motion: reduce)").matches;

/** One attribute on its way from the beginning to the end and back. */
const move = (name, from, to) => svg("animate", { attributeName: name, values: [from, from, to, to, from].join(";"), keyTimes: "0;0.1;0.5;0.7;1", dur: `${ONCE_S}s`, repeatCount: TIMES, begin: "indefinite" });

function player(at, bare, from) {
  const [begin, end] = [strokes(from ?? at), strokes(at)];
  const round = (joint, r, more) => svg("circle", { cx: at[joint][0], cy: at[joint][1], r, ...more },
    from ? [move("cx", from[joint][0], at[joint][0]), move("cy", from[joint][1], at[joint][1])] : null);
  return svg("g", from ? { class: "moves" } : { class: "begins", opacity: 0.3 },
    round("head", 6.5, { "stroke-width": 2.5 }),
    end.slice(0, bare ? 2 : 3).map(([width, d], i) => svg("path", { d, "stroke-width": width, "stroke-linejoin": "round" }, from ? move("d", begin[i][1], d) : null)),
    bare ? null : round("club", 2.2, { fill: "currentColor" }));
}

/** Shows the way from the beginning to the end, unless the reader wants things to be still. */
function play(figure) {
  if (!still()) for (const part of figure.querySelectorAll("animate")) part.beginElement();
}

/** A drill's picture: where it begins, faint, and where it ends; the player goes from one to the other when it comes in sight, and
 * when it is pressed. A drill of the club's own gets the player taking address. */
export function drillFigure(id, name) {
  const [from, to, ...props] = DRILLS[id] ?? ["stand", "address"];
  const bare = props.includes("bare");
  const figure = svg("svg", { viewBox: "0 0 100 96", class: "figure", role: "img", "aria-label": say("home.figure", { drill: name }), stroke: "currentColor", "stroke-linecap": "round", fill: "none" },
    props.filter((prop) => prop in PROPS).map((prop) => PROPS[prop]()), player(POSTURES[from], bare), player(POSTURES[to], bare, POSTURES[from]));
  new IntersectionObserver((entries, sight) => {
    if (!entries.some((entry) => entry.isIntersecting)) return;
    sight.disconnect();
    play(figure);
  }, { threshold: 0.5 }).observe(figure);
  return figure;
}

/** The same with a button that shows the way again. */
export function movingFigure(id, name) {
  const figure = drillFigure(id, name);
  return el("div", { class: "moving" }, figure, still() ? null : el("button", { type: "button", class: "quiet no-print", "data-key": "play", "aria-label": say("home.figure.againOf", { drill: name }), onclick: () => play(figure) }, say("home.figure.again")));
}

/** This week's sessions as boxes: ticked and still to do. */
export function ticks(done, of) {
  return Array.from({ length: Math.max(done, of) }, (_, i) =>
    svg("svg", { viewBox: "0 0 24 24", "aria-hidden": "true", fill: "none", stroke: "currentColor", "stroke-width": 2 },
      svg("rect", { x: 2, y: 2, width: 20, height: 20, rx: 4 }),
      i < done ? svg("path", { d: "M6 12 l4 5 l8 -10", "stroke-width": 3 }) : null));
}
