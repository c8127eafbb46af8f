// The range beside the course: a sentence for what is surely another pattern, and the counts behind it. Home, bay and desk share it.

import { get } from "../lib/api.js";
import { el, show } from "../lib/dom.js";
import { number } from "../lib/units.js";
import { say, sayProblem } from "../lib/words.js";

/** Of each aspect and what stands out: more often on the course, less often. */
const SAID = {
  start: {
    left: ["transfer.start.left.more", "transfer.start.left.less"],
    straight: ["transfer.start.straight.more", "transfer.start.straight.less"],
    right: ["transfer.start.right.more", "transfer.start.right.less"],
  },
  curve: {
    left: ["transfer.curve.left.more", "transfer.curve.left.less"],
    straight: ["transfer.curve.straight.more", "transfer.curve.straight.less"],
    right: ["transfer.curve.right.more", "transfer.curve.right.less"],
  },
  strike: {
    flush: ["transfer.strike.flush.more", "transfer.strike.flush.less"],
    thin: ["transfer.strike.thin.more", "transfer.strike.thin.less"],
    fat: ["transfer.strike.fat.more", "transfer.strike.fat.less"],
    off_centre: ["transfer.strike.off.more", "transfer.strike.off.less"],
  },
};
const KINDS = {
  left: "flight.left", straight: "flight.straight", right: "flight.right",
  flush: "round.flush", thin: "transfer.thin", fat: "round.fat", off_centre: "transfer.off",
};
const ASPECTS = { start: "transfer.start", curve: "transfer.curve", strike: "transfer.strike" };

/** What stands out, and how often that was. */
function sentences({ aspect, stands_out: kind, difference, course, range }) {
  const [more, less] = SAID[aspect][kind];
  return el("p", {}, el("strong", {}, say(difference.value > 0 ? more : less)), " ", say("transfer.beside", { n: course[kind], of: course.of, m: range[kind], om: range.of }));
}

const hundred = (share) => number(Math.round(share * 100), 0);

/** One aspect's counts, and how far apart course and range may truly be in what stands out. */
function counts(finding) {
  const kinds = Object.keys(finding.course).filter((name) => name !== "of");
  return [el("table", { class: "rows" }, el("caption", {}, say(ASPECTS[finding.aspect])),
    el("thead", {}, el("tr", {}, el("td"), ["transfer.course", "transfer.range"].map((key) => el("th", { scope: "col" }, say(key))))),
    el("tbody", {}, kinds.map((kind) => el("tr", {}, el("th", { scope: "row" }, say(KINDS[kind])), [finding.course, finding.range].map((row) => el("td", {}, say("transfer.of", { n: row[kind], of: row.of }))))))),
  finding.difference ? el("p", { class: "hint" }, say("transfer.limits", { kind: say(KINDS[finding.stands_out]), low: hundred(finding.difference.low), high: hundred(finding.difference.high) })) : null];
}

function told({ verdict, needed, course, range, aspects }) {
  const others = aspects.filter((finding) => finding.verdict === "another_pattern");
  if (verdict === "too_few") return el("p", {}, say("transfer.few", { shots: needed.shots, days: needed.days, rounds: course.rounds, swings: range.swings }));
  return others.length ? others.map(sentences) : el("p", {}, say("transfer.none"));
}

/** A place that fills itself, and again when asked to (place.load); it stays empty until a round was played. */
export function transferPart(student, heading = "h3") {
  const place = el("section", { class: "transfer", "data-part": "transfer" });
  place.load = async () => {
    try {
      const transfer = await get(`/v1/students/${student}/transfer`);
      show(place, transfer.course.rounds === 0 ? "" : [el(heading, {}, say("transfer.title")), told(transfer),
        el("details", {}, el("summary", {}, say("transfer.counts")), transfer.aspects.map(counts))]);
    } catch (problem) {
      show(place, problem.status === 0 ? "" : el("p", { class: "hint" }, sayProblem(problem)));
    }
  };
  return place;
}
