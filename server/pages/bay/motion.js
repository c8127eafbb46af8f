// What a motion record says of the order in which the parts of the body turned fastest, part by part. A part that is still gaining where
// the record is read to is told so: a lesser peak before is none.

import { el } from "../lib/dom.js";
import { number, WITHIN } from "../lib/units.js";
import { capital, say } from "../lib/words.js";

const MS = 1000;

/** What times are told from: impact, else the hands' low point, else the record's start. */
function reference({ checkpoints, hands_low_s: low }) {
  const impact = checkpoints.find(({ checkpoint }) => checkpoint === "impact");
  if (impact) return { ...impact, key: "motion.impact" };
  return low === null ? { time_s: 0, sd: 0, key: "motion.start" } : { time_s: low, sd: 0, key: "motion.hands_low" };
}

/** "95 ms ± 27 ms before impact" */
function when(peak, from) {
  const ms = MS * (peak.time_s - from.time_s);
  const error = Math.max(1, WITHIN * MS * Math.hypot(peak.sd, from.sd));
  const size = Math.abs(Math.round(ms));
  const key = size === 0 ? "motion.lag.same" : ms < 0 ? "motion.lag.before" : "motion.lag.after";
  return say(key, { lag: `${number(size)} ms ± ${number(error)} ms`, what: say(from.key) });
}

const the = (segment) => say(`segment.the.${segment}`);

/** What is out of the usual order, or can't be told. */
function order({ segment, code, of }) {
  if (code === "before") return capital(`${say("motion.order.swapped", { first: the(segment), second: the(of) })}.`);
  return code === "too_close" ? say("motion.order.close", { list: say("list.and", { list: the(of), more: the(segment) }) }) : null;
}

function line(motion, item) {
  const peak = motion.peaks.find(({ segment }) => segment === item.segment);
  const text = peak ? say("report.motion.fastest", { when: when(peak, reference(motion)) }) : say(`report.motion.${item.code}`);
  return el("li", { "data-segment": item.segment, "data-code": item.code }, el("strong", {}, capital(say(`segment.${item.segment}`))), ": ", [text, order(item)].filter(Boolean).join(" "));
}

/** motions: of a report. Null where no swing of it was a motion record. */
export const motionPart = (motions = []) => (motions.length === 0 ? null : el("section", { class: "motion" }, el("h3", {}, say("report.motion")), motions.map((motion) => [
  motions.length > 1 ? el("h4", {}, say("report.swing.short", { n: motion.swing + 1 })) : null,
  el("ul", {}, motion.order.map((item) => line(motion, item)))])));
