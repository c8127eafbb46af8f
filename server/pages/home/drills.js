// The drills of a sheet, one at a time: its fix, the cue (one alone: Gucciardi & Dimmock 2008), the drill. What is paused is told before all else.

import { el } from "../lib/dom.js";
import { movingFigure, ticks } from "../lib/figures.js";
import { doseWords, drillName, drillWords, isContested, levelWords, plainWords } from "../lib/speech.js";
import { day, joined } from "../lib/units.js";
import { say } from "../lib/words.js";
import { pager } from "./pager.js";
import { tickPart } from "./tick.js";

/** A drill that stands still: why, whom to see, and no more. */
function pausedCard({ id, drill, paused }) {
  const areas = joined(paused.areas.map((name) => say(`area.${name}`)));
  return el("article", { class: "card drill paused", "aria-labelledby": `drill-${id}` },
    el("h2", { id: `drill-${id}`, tabindex: "-1" }, drill.name),
    el("p", {}, el("strong", { class: "tag" }, say("home.paused"))),
    el("p", {}, paused.why === "pain" ? say("home.paused.pain", { level: paused.level, areas, day: day(paused.since) }) : say("home.paused.sore", { areas })),
    el("p", {}, say("home.paused.see")));
}

const tag = (wanted, key) => (wanted ? el("p", {}, el("strong", { class: "tag" }, say(key))) : null);

const retestWords = (at) => say(new Date(at) < new Date() ? "home.overdue" : "home.retest", { day: day(at) });

/** Which step it is: who may begin here, when it is passed, an easier way, why, and what comes next. */
const stepParts = ({ level, entry, pass, easier, why, source, next }, { pass: tries = pass }) => [
  el("p", {}, el("strong", {}, levelWords(level)), entry ? [" ", say("drill.entry", { entry })] : null),
  pass ? el("p", {}, el("strong", {}, say("drill.pass", tries)), " ", pass.what, tries.of < pass.of ? [". ", say("home.fewer")] : null) : null,
  next ? el("p", {}, say("drill.next", { drill: drillName(next.id, next.name) })) : null,
  easier ? el("p", {}, el("strong", {}, say("drill.easier")), " ", easier) : null,
  why ? el("p", { class: "hint" }, why, " ", source === "practice" ? say("drill.practice") : null) : null];

/** cue: its feel stands above it already. */
function drillCard(homework, { cue, again, hand }) {
  const { id, drill, dose, done } = homework;
  const body = el("div", { class: "body", id: `body-${id}` },
    tickPart(homework, again),
    movingFigure(drill.id, drill.name, hand),
    tag(drill.rehearsal_only, "home.rehearsal"), tag(drill.beside_a_support, "home.support"),
    el("p", {}, drill.how_to),
    drill.feel && !cue ? el("p", { class: "feel" }, el("q", {}, drill.feel)) : null,
    drill.cautions ? el("p", {}, el("strong", {}, say("home.mind")), " ", drill.cautions) : null,
    stepParts(drill, dose),
    el("p", {}, doseWords(dose)),
    el("p", { class: "hint" }, retestWords(homework.retest_at)));
  return el("article", { class: "card drill", "aria-labelledby": `drill-${id}` },
    el("h3", { id: `drill-${id}`, tabindex: "-1" }, drill.name),
    el("p", { class: "ticks" }, ticks(done.this_week, dose.sessions_per_week), say("home.week", { n: done.this_week, of: dose.sessions_per_week })), body);
}

const orderOf = (i) => say(i ? "home.next" : "home.first");

/** One drill with what it is for: the fix in one sentence, and what coaches call it. i: its place on the sheet; same: of the same fix as the one before, which on paper
 * has said so. */
function thing(homework, i, same, hand, again) {
  const { id, drill, fault, evidence } = homework;
  return el("section", { class: `thing${i ? "" : " first"}${same ? " same" : ""}`, "aria-labelledby": `fix-${id} drill-${id}` },
    el("p", { class: "order" }, orderOf(i)),
    el("h2", { id: `fix-${id}`, class: "plain" }, plainWords(fault, hand)),
    i === 0 && drill.feel ? el("p", { class: "feel" }, el("q", {}, drill.feel)) : null,
    drillCard(homework, { cue: i === 0, again, hand }),
    el("p", { class: "hint" }, say("home.for", { fault: say(`fault.${fault}`) }), isContested({ fault, evidence }) ? ` ${say("home.contested")}` : null));
}

/** Lead and trail as this player's left and right. own: the reader is the player. */
function sides({ name, hand }, own) {
  const [lead, trail] = hand === "left" ? ["right", "left"] : ["left", "right"];
  return el("p", { class: "hint" }, say(own ? "home.sides.you" : "home.sides", { name, hand: say(`home.hand.${hand}`), lead: say(`home.side.${lead}`), trail: say(`home.side.${trail}`) }));
}

const TERMS = ["target", "shaft", "clubhead", "address", "backswing", "top", "downswing", "impact", "rehearsal", "takeaway", "finish", "tee", "stick", "range", "physiotherapist", "guardian"];

/** Words that not everybody knows: nothing else on a sheet goes beyond tests/data/words/basic.en.txt. */
const terms = () => el("details", { class: "no-print", "data-key": "terms" }, el("summary", {}, say("home.terms")), el("ul", {}, TERMS.map((term) => el("li", {}, say(`term.${term}`)))));

/** homework: as the server sends it. again: called when something was ticked off. */
export function drillGroups(homework, { student, own, again }) {
  const items = homework.filter((item) => !item.ended_at).map((item) => ({ ...item, drill: drillWords(item.drill) }));
  if (items.length === 0) return [el("p", {}, say("home.nothing"))];
  const fixes = [...new Set(items.map((item) => item.fix_id))];
  const running = items.filter((item) => !item.paused).sort((a, b) => fixes.indexOf(a.fix_id) - fixes.indexOf(b.fix_id));
  const parts = running.map((item, i) => ({ id: item.id, name: item.drill.name, order: orderOf(i), node: thing(item, i, running[i - 1]?.fix_id === item.fix_id, student.hand, again) }));
  return [items.filter((item) => item.paused).map(pausedCard), pager(parts), sides(student, own), terms()];
}
