// What differs between two house standards, line by line in words: what it is, how it was, how it is then.

import { el } from "../lib/dom.js";
import { fullName } from "../lib/measures.js";
import { faultName } from "../lib/speech.js";
import { measure, number } from "../lib/units.js";
import { capital, say } from "../lib/words.js";

export const LIMITS = ["strong_low", "ok_low", "ok_high", "strong_high"];
const TOP = ["threshold", "present_from", "absent_to"];
const NONE = "–";

/** "Forward bend at address, fairway wood" */
export const nameOf = (rule) => capital([fullName(rule), rule.club && say(`club.${rule.club}`), rule.sex && say(`desk.of.${rule.sex}`),
  rule.age_band && say(`desk.of.${rule.age_band}`)].filter(Boolean).join(", "));

const keyOf = (item, names) => names.map((name) => item[name] ?? "").join("|");
const PLACE = ["measure", "checkpoint", "club", "sex", "age_band"];

/** Entries of two lists, side by side by what they are about: [before or undefined, after or undefined]. */
function pairs(before, after, names) {
  const found = new Map((before ?? []).map((item) => [keyOf(item, names), [item, undefined]]));
  for (const item of after ?? []) found.set(keyOf(item, names), [found.get(keyOf(item, names))?.[0], item]);
  return [...found.values()].filter(([a, b]) => JSON.stringify(a) !== JSON.stringify(b));
}

const plain = (value) => (value === undefined ? NONE : number(value, 2));

/** One line for each value that differs; said how by show. */
const values = (what, names, [a, b], label, show) => names.filter((name) => a?.[name] !== b?.[name])
  .map((name) => ({ what: [what, label(name)].filter(Boolean).join(": "), was: show(a?.[name]), is: show(b?.[name]) }));

/** More than numbers: signs, sources, words. Said to differ, shown in the whole text. */
const other = (what, [a, b]) => ({ what, was: a ? say("desk.changes.there") : NONE, is: b ? say(a ? "desk.changes.another" : "desk.changes.there") : NONE });

function rangeLines(before, after, units) {
  return pairs(before.ranges, after.ranges, PLACE).flatMap((pair) => {
    const rule = pair[1] ?? pair[0];
    const show = (value) => (value === undefined ? NONE : measure(value, units[rule.measure]));
    const lines = values(nameOf(rule), LIMITS, pair, (name) => say(`desk.standard.${name}`), show);
    return lines.length ? lines : [other(nameOf(rule), pair)];
  });
}

function spreadLines(before, after, units) {
  return pairs(before.spread, after.spread, PLACE).map(([a, b]) => {
    const show = (item) => (item ? measure(item.sd, units[item.measure]) : NONE);
    return { what: `${nameOf(b ?? a)}: ${say("desk.changes.spread")}`, was: show(a), is: show(b) };
  });
}

function faultLines(before, after) {
  return pairs(before.faults, after.faults, ["fault"]).flatMap((pair) => {
    const name = capital(faultName(pair[1] ?? pair[0]));
    const lines = pair[0] && pair[1] ? values(name, ["importance"], pair, () => say("desk.changes.importance"), plain) : [];
    const rest = pair.map((item) => item && JSON.stringify({ ...item, importance: 0 }));
    return rest[0] === rest[1] ? lines : [...lines, other(`${name}: ${say("desk.changes.signs")}`, pair)];
  });
}

const causeLines = (before, after) => pairs(before.causes, after.causes, ["from", "to"]).flatMap((pair) => {
  const { from, to } = pair[1] ?? pair[0];
  return values(say("desk.changes.cause", { from: faultName({ fault: from }), to: faultName({ fault: to }) }), ["share"], pair, () => "", plain);
});

const flightLines = (before, after) => pairs(before.ball_flight, after.ball_flight, ["fault", "start", "curve", "strike"])
  .flatMap((pair) => values(say("desk.changes.flight", { fault: faultName(pair[1] ?? pair[0]) }), ["match"], pair, () => "", plain));

/** Of a table of numbers by name: each that differs. */
const tableLines = (what, before, after, label) =>
  values(what, [...new Set([...Object.keys(before ?? {}), ...Object.keys(after ?? {})])].filter((name) => typeof (after?.[name] ?? before?.[name]) === "number"), [before, after], label, plain);

/** [{what, was, is}], from before to after. */
export const changesOf = (before, after, units) => [
  ...rangeLines(before, after, units), ...spreadLines(before, after, units), ...faultLines(before, after), ...causeLines(before, after), ...flightLines(before, after),
  ...values("", TOP, [before, after], (name) => say(`desk.changes.${name}`), plain),
  ...tableLines(say("desk.changes.ease"), before.ease, after.ease, (name) => name),
  ...tableLines(say("desk.changes.face"), before.face_share, after.face_share, (name) => (name === "any" ? "" : say(`club.${name}`))),
  ...tableLines(say("desk.changes.balance"), before.balance, after.balance, () => ""),
];

/** The same as a table; heads: over the two columns. */
export function changesTable(caption, lines, heads) {
  if (!lines.length) return el("p", {}, say("desk.changes.none"));
  const row = (line) => el("tr", {}, el("th", { scope: "row" }, line.what), el("td", { "data-head": heads[0] }, line.was), el("td", { "data-head": heads[1] }, line.is));
  return el("table", { class: "rows" }, el("caption", {}, caption),
    el("thead", {}, el("tr", {}, [say("desk.changes.what"), ...heads].map((head) => el("th", { scope: "col" }, head)))), el("tbody", {}, lines.map(row)));
}
