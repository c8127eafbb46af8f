// A measured value as people read it: its name, the value with its error and unit in words, its range, and a word that the
// error allows. Every page that shows a measure takes it from here.

import { el } from "./dom.js";
import { margin, measure, WITHIN } from "./units.js";
import { apart, say } from "./words.js";

/** The measure alone, beside a picture that says which moment; the server's words for one that the page doesn't know. */
export function measureName(item) {
  const key = `measure.${item.measure}`;
  const name = say(key);
  return name === key ? item.words ?? item.measure : name;
}

/** The measure and its moment. */
export const fullName = (item) =>
  (item.checkpoint ? say("measure.at", { what: measureName(item), when: say(`checkpoint.${item.checkpoint}`) }) : measureName(item));

/** In words where the measure is a share of a length, or no length at all: its unit has words then. */
function inUnit(item, value) {
  const key = `unit.${item.measure}`;
  const said = say(key, { value });
  return said === key ? value : said;
}

/** "20.7° ± 8.3°", "0.17 ± 0.04 stance widths" */
export const valueWithError = (item) => inUnit(item, apart(`${measure(item.value, item.unit)} ${margin(item.sd, item.unit)}`));

/** Both limits that count: a side on which nothing is ever wrong has none. */
function limits(item) {
  return item.ok ? item.ok.map((limit, side) => (item.strong?.[side] ?? null) === null ? null : limit) : [null, null];
}

/** "30.0° to 45.0°"; empty when there is no range. */
export function rangeWords(item) {
  const [low, high] = limits(item);
  if (low === null && high === null) return "";
  if (low === null) return say("measure.to", { value: measure(high, item.unit) });
  if (high === null) return say("measure.from", { value: measure(low, item.unit) });
  return say("measure.between", { low: measure(low, item.unit), high: measure(high, item.unit) });
}

const MIDDLE_HALF = 1.349; // sds that the middle half of normal values spans

/** What may be said of a value, given its error: {word, sure}. Fine is only sure when all that the error allows is fine, a
 * severity when none of it is. The word is null for a value that is beyond fine by too little, and where even the middle of the
 * range would more likely be missed than not. Null without a range. */
function judged(item) {
  const [low, high] = limits(item);
  if (!item.word || (low === null && high === null)) return null;
  const least = item.value - WITHIN * item.sd;
  const most = item.value + WITHIN * item.sd;
  const inside = (low === null || least >= low) && (high === null || most <= high);
  const outside = (low !== null && most < low) || (high !== null && least > high);
  const within = (low === null || item.value >= low) && (high === null || item.value <= high);
  const even = low === null || high === null || high - low >= MIDDLE_HALF * item.sd;
  return { word: within ? (even ? "fine" : null) : item.word === "none" ? null : item.word, sure: inside || outside };
}

/** The word as a page shows it, with its bar of the severity ramp. Null when there is nothing to say. */
export function wordMark(item) {
  const found = judged(item);
  if (!found) return null;
  if (!found.word) return el("span", { class: "unsure-word" }, say("measure.unsure"));
  if (found.word === "fine") return el("span", { class: "severity fine" }, say(found.sure ? "measure.fine" : "measure.probably"));
  const word = say(`severity.${found.word}`);
  return el("span", { class: `severity ${found.word}` }, found.sure ? word : say("measure.perhaps", { word }));
}
