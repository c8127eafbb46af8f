// Small figures for the drills: a player of lines going from where a drill begins to where it ends, with the things the drill needs.
// Our own drawings; the places are in frames.js.

import { el, svg } from "./dom.js";
import { jointsOf, thingsOf } from "./frames.js";
import { say } from "./words.js";

const ONCE_S = 2.4; // there and back
const TIMES = 2; // what moves by itself for longer would need a way to stop it
const SHARES = [0, 0, 0.125, 0.25, 0.375, 0.5, 0.625, 0.75, 0.875, 1, 1, 1, 0.75, 0.5, 0.25, 0]; // of the way, at even times

const n = (value) => Math.round(value * 10) / 10;
const way = (...points) => points.map(([x, y], i) => `${i ? "L" : "M"}${n(x)} ${n(y)}`).join(" ");
const ring = ([x, y], r) => `M${n(x - r)} ${n(y)}a${r} ${r} 0 1 0 ${2 * r} 0a${r} ${r} 0 1 0 ${-2 * r} 0`;
const drawn = (d, width, more = {}) => svg("path", { d, "stroke-width": width, ...more });

/** The strokes of a player, thickest first: trunk and legs, shoulders and arms, club and what lies on the body; each one line through its
 * joints, with the same joints at every share of the way. */
function strokes(id, share) {
  const { neck, shoulders: [trail, lead], hips: [trailHip, leadHip], hip, elbows, hands, knees, feet, toes, club, bar, back } = jointsOf(id, share);
  return [
    [4, `${way(neck, hip)} ${way(toes[0], feet[0], knees[0], trailHip, leadHip, knees[1], feet[1], toes[1])}`],
    [3, way(hands[0], elbows[0], trail, lead, elbows[1], hands[1])],
    ...(club ? [[2, `${way(hands[1], club)} ${ring(club, 1.6)}`]] : []),
    ...[bar, back].filter(Boolean).map((ends) => [2.5, way(...ends)]),
  ];
}

const THINGS = {
  mirror: (x) => drawn(`M${x} 10h7v72h-7z`, 1.5),
  wall: (x) => drawn(`M${x} 6V92`, 4),
  chair: (x) => drawn(`M${x} 46V91M${x} 68h-12v23`, 2.5),
  stool: (x) => drawn(`M${x - 15} 72h30M${x - 13} 72v19M${x + 13} 72v19`, 2.5),
  table: (x) => drawn(`M${x - 12} 54h26M${x - 6} 54v37M${x + 10} 54v37`, 2.5),
  rail: (x) => drawn(`M${x} 46V91M${x - 5} 46h10`, 2.5),
  stick: (x, to) => drawn(`M${x} 91H${to}`, 3),
  towel: (x, y) => drawn(`M${x} ${y}q5 -4 8 0t-2 6q-4 2 -7 -1z`, 2),
  glove: (x, y) => drawn(`M${x} ${y}l5 -3l3 6l-5 3z`, 2),
  phone: (x, y) => drawn(`M${x - 2} ${y}h7v13h-7z`, 2),
  tray: (x, y) => drawn(`M${x - 8} ${y}h16`, 2),
  ball: (x, y) => drawn(ring([x, y], 1.8), 1, { fill: "currentColor" }),
  tee: (x, y) => drawn(`M${x - 2} ${y}h4M${x} ${y}v4`, 1.5),
  flag: (x) => drawn(`M${x} 91V58l-9 4l9 4`, 1.5),
  grass: (x) => drawn(`M${x - 4} 91l-2 -5M${x} 91v-6M${x + 4} 91l2 -5`, 1.5),
  arrow: (x, y) => drawn(`M${x} ${y - 14}v24m-4 -5l4 5l4 -5`, 2),
  snail: (x, y) => drawn(`M${x - 10} ${y + 5}h16q4 0 4 -5M${x + 2} ${y + 5}a6 6 0 1 0 -9 0`, 1.5),
  count: (x, y) => [0, 1, 2, 3].map((i) => drawn(ring([x - 12 + 8 * i, y - 10], 2.2), 1.5, i === 3 ? { fill: "currentColor" } : {})),
};

/** The ground, and what a drill needs. */
const things = (id) => [drawn("M2 93H98", 1), thingsOf(id).map(([kind, ...where]) => THINGS[kind](...where))];

/** Drawn for a right-hander; a left-hander sees it in the mirror. */
const sided = (hand, ...inside) => svg("g", { transform: hand === "left" ? "translate(100 0) scale(-1 1)" : null }, inside);

const still = () => matchMedia("(prefers-reduced-motion: reduce)").matches;

/** One attribute on its way from the beginning to the end and back. of: its value at a share of the way. */
const move = (name, of) => svg("animate", { attributeName: name, values: SHARES.map(of).join(";"), dur: `${ONCE_S}s`, repeatCount: TIMES, begin: "indefinite" });

function player(id, share, moves) {
  const head = (at) => jointsOf(id, at).head.map(n);
  const [cx, cy] = head(share);
  return [
    svg("circle", { cx, cy, r: 6.5, "stroke-width": 2.5 }, moves ? [move("cx", (at) => head(at)[0]), move("cy", (at) => head(at)[1])] : null),
    strokes(id, share).map(([width, d], i) => svg("path", { d, "stroke-width": width }, moves ? move("d", (at) => strokes(id, at)[i][1]) : null)),
  ];
}

/** Shows the way from the beginning to the end, unless the reader wants things to be still. */
function play(figure) {
  if (!still()) for (const part of figure.querySelectorAll("animate")) part.beginElement();
}

/** A drill's picture: where it begins, faint, and where it ends; the player goes from one to the other when it comes in sight, and
 * when it is pressed. On paper the two stand side by side, each with the drill's things. hand: whose drill it is. A drill of the
 * club's own gets the first part of a swing. */
export function drillFigure(id, name, hand = "right") {
  const figure = svg("svg", { viewBox: "0 -4 100 100", class: "figure", role: "img", "aria-label": say("home.figure", { drill: name }), stroke: "currentColor", "stroke-linecap": "round", "stroke-linejoin": "round", fill: "none" },
    sided(hand, things(id)),
    svg("g", { class: "begins" }, sided(hand, player(id, 0))),
    svg("g", { class: "moves" }, sided(hand, player(id, 1, true)), svg("g", { class: "print-only" }, sided(hand, things(id)))));
  new IntersectionObserver((entries, sight) => {
    if (!entries.some((entry) => entry.isIntersecting)) return;
    sight.disconnect();
    play(figure);
  }, { threshold: 0.5 }).observe(figure);
  return figure;
}

/** The same with a button that shows the way again. */
export function movingFigure(id, name, hand) {
  const figure = drillFigure(id, name, hand);
  return el("div", { class: "moving" }, figure, still() ? null : el("button", { type: "button", class: "quiet no-print", "data-key": "play", "aria-label": say("home.figure.againOf", { drill: name }), onclick: () => play(figure) }, say("home.figure.again")));
}

/** This week's sessions as boxes: ticked and still to do. */
export function ticks(done, of) {
  return Array.from({ length: Math.max(done, of) }, (_, i) =>
    svg("svg", { viewBox: "0 0 24 24", "aria-hidden": "true", fill: "none", stroke: "currentColor", "stroke-width": 2 },
      svg("rect", { x: 2, y: 2, width: 20, height: 20, rx: 4 }),
      i < done ? svg("path", { d: "M6 12 l4 5 l8 -10", "stroke-width": 3 }) : null));
}
