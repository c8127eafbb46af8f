// A fix's main measure over time: the value with what 19 of 20 lie within, the good range shaded, named directly. Coaches read its
// numbers; whose swing it is reads where it stands, in plain words.

import { el, svg } from "./dom.js";
import { fullName, valueWithError } from "./measures.js";
import { faultName, plainWords } from "./speech.js";
import { day, measure, WITHIN } from "./units.js";
import { capital, say } from "./words.js";

const WIDE = 360;
const HIGH = 220;
const LEFT = 56;
const RIGHT = 12;
const TOP = 12;
const BOTTOM = 34;

const extent = (values) => [Math.min(...values), Math.max(...values)];

/** Where a value and an instant stand in the picture. */
function scales(series, range) {
  const bounds = series.flatMap((point) => [point.value - WITHIN * point.sd, point.value + WITHIN * point.sd]);
  let [low, high] = extent([...bounds, ...range.filter((limit) => limit !== null)]);
  const room = (high - low || 1) * 0.08;
  low -= room;
  high += room;
  const [first, last] = extent(series.map((point) => Date.parse(point.at)));
  const span = last - first;
  return {
    low,
    high,
    x: (at) => (first === last ? (LEFT + WIDE - RIGHT) / 2 : LEFT + 14 + ((Date.parse(at) - first) / span) * (WIDE - LEFT - RIGHT - 28)),
    y: (value) => TOP + ((high - value) / (high - low)) * (HIGH - TOP - BOTTOM),
  };
}

function rangeBand(range, scale) {
  const high = range[1] === null ? scale.high : Math.min(range[1], scale.high);
  const low = range[0] === null ? scale.low : Math.max(range[0], scale.low);
  if (high <= low) return null;
  return [
    svg("rect", { x: LEFT, y: scale.y(high), width: WIDE - LEFT - RIGHT, height: scale.y(low) - scale.y(high), fill: "currentColor", opacity: 0.12 }),
    svg("text", { x: WIDE - RIGHT - 4, y: scale.y(high) + 14, "text-anchor": "end", "font-size": 12, fill: "currentColor" }, say("home.chart.range")),
  ];
}

function pointMarks(point, scale, label, last) {
  const x = scale.x(point.at);
  const y = scale.y(point.value);
  return [
    svg("line", { x1: x, x2: x, y1: scale.y(point.value - WITHIN * point.sd), y2: scale.y(point.value + WITHIN * point.sd), stroke: "currentColor", "stroke-width": 2 }),
    svg("circle", { cx: x, cy: y, r: 5, fill: last ? "#cc79a7" : "#0072b2", stroke: "currentColor", "stroke-width": 1.5 }),
    last ? svg("text", { x: Math.min(x, WIDE - 60), y: y - 10, "text-anchor": "middle", "font-size": 14, "font-weight": 700, fill: "currentColor" }, label) : null,
  ];
}

/** What the picture shows, in words: for everybody, and all there is for who cannot see it. */
function sentence(progress, fix) {
  const last = progress.series.at(-1);
  const first = progress.series[0];
  const parts = [capital(say("home.chart.now", { what: fullName(progress), value: valueWithError({ ...progress, ...last }) }))];
  if (progress.series.length > 1) parts.push(say("home.chart.before", { value: measure(first.value, progress.unit), day: day(first.at) }));
  if (progress.change) parts.push(say("home.chart.moved", { value: measure(Math.abs(progress.change.difference), progress.unit), needed: measure(progress.change.needed, progress.unit) }));
  if (progress.verdict) parts.push(say(`home.verdict.${progress.verdict}`));
  if (fix.status !== "open") parts.push(say("home.chart.closed"));
  return parts.join(" ");
}

/** Where the last check lies, given its error: all of it in the good range, none of it, or neither. Null without a range. */
function whereItStands({ series, range }) {
  const [low, high] = range?.ok ?? [null, null];
  if (low === null && high === null) return null;
  const { value, sd } = series.at(-1);
  const [least, most] = [value - WITHIN * sd, value + WITHIN * sd];
  if ((low === null || least >= low) && (high === null || most <= high)) return "in";
  return (low !== null && most < low) || (high !== null && least > high) ? "out" : "near";
}

/** The same for the player: what it is about, where it stands and whether that is a change. */
function plainSentence(progress, fix, hand) {
  const stands = whereItStands(progress);
  const parts = [plainWords(fix.fault, hand)];
  if (stands) parts.push(say(`home.stands.${stands}`, { day: day(progress.series.at(-1).at) }));
  if (progress.verdict) parts.push(say(`home.verdict.${progress.verdict}`));
  else if (progress.series.length === 1) parts.push(say("home.stands.first"));
  if (fix.status !== "open") parts.push(say("home.chart.closed"));
  return parts;
}

/** hand: of the player who reads it; without one it is for a coach. */
export function chart(progress, fix, hand) {
  const range = progress.range?.ok ?? [null, null];
  const scale = scales(progress.series, range);
  const title = `chart-${fix.id}`;
  const axis = hand ? [] : [scale.low, scale.high].map((value) =>
    svg("text", { x: LEFT - 6, y: scale.y(value) + (value === scale.low ? 0 : 10), "text-anchor": "end", "font-size": 12, fill: "currentColor" }, measure(value, progress.unit)));
  const dates = [progress.series[0], progress.series.at(-1)].filter((point, i, both) => i === 0 || point !== both[0]);
  const days = dates.map((point, i) =>
    svg("text", { x: scale.x(point.at), y: HIGH - 12, "text-anchor": i === 0 ? "start" : "end", "font-size": 12, fill: "currentColor" }, day(point.at)));
  const joined = progress.series.map((point) => `${scale.x(point.at)},${scale.y(point.value)}`).join(" ");
  const picture = svg("svg", { viewBox: `0 0 ${WIDE} ${HIGH}`, class: "chart", role: "img", "aria-labelledby": title },
    rangeBand(range, scale),
    svg("line", { x1: LEFT, x2: LEFT, y1: TOP, y2: HIGH - BOTTOM, stroke: "currentColor" }),
    svg("polyline", { points: joined, fill: "none", stroke: "#0072b2", "stroke-width": 2, "stroke-dasharray": "6 4" }),
    progress.series.map((point, i) => pointMarks(point, scale, hand ? say("home.chart.last") : measure(point.value, progress.unit), i === progress.series.length - 1)),
    axis, days);
  const [head, ...told] = hand ? plainSentence(progress, fix, hand) : [capital(faultName(fix)), sentence(progress, fix)];
  return el("figure", { class: "card" }, el("h3", { id: title }, head), picture, el("figcaption", {}, told.join(" ")));
}
