// The drills of a sheet: one fix, its cue (one alone: Gucciardi & Dimmock 2008) and its first drill on top; whatever comes after is one line until it is wanted. What
// is paused is told before all else.

import { el } from "../lib/dom.js";
import { movingFigure, ticks } from "../lib/figures.js";
import { doseWords, drillName, drillWords, isContested, levelWords, plainWords } from "../lib/speech.js";
import { day, joined } from "../lib/units.js";
import { say } from "../lib/words.js";
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

/** unfolds: the card is one line until it is pressed. cue: its feel stands above it already. */
function drillCard(homework, { unfolds, cue, again, hand }) {
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
  const card = el("article", { class: unfolds ? "card drill folded" : "card drill", "aria-labelledby": `drill-${id}` },
    el("h3", { id: `drill-${id}`, tabindex: "-1" }, drill.name),
    el("p", { class: "ticks" }, ticks(done.this_week, dose.sessions_per_week), say("home.week", { n: done.this_week, of: dose.sessions_per_week })));
  if (unfolds) {
    const button = el("button", { type: "button", "data-key": "unfold", "aria-expanded": "false", "aria-controls": `body-${id}` }, say("home.unfold"));
    button.addEventListener("click", () => {
      const folded = card.classList.toggle("folded");
      button.setAttribute("aria-expanded", String(!folded));
      button.textContent = say(folded ? "home.unfold" : "home.fold");
    });
    card.append(el("p", { class: "no-print" }, button));
  }
  card.append(body);
  return card;
}

/** One fix: what it is in one sentence, its drills in their order, and what coaches call it. */
function group(items, first, hand, again) {
  const [{ drill, fault, evidence, fix_id: fix }] = items;
  return el("section", { class: first ? "thing first" : "thing", "aria-labelledby": `fix-${fix}` },
    el("p", { class: "order" }, say(first ? "home.first" : "home.next")),
    el("h2", { id: `fix-${fix}`, class: "plain" }, plainWords(fault, hand)),
    first && drill.feel ? el("p", { class: "feel" }, el("q", {}, drill.feel)) : null,
    items.map((item, i) => drillCard(item, { unfolds: !first || i > 0, cue: first && i === 0, again, hand })),
    el("p", { class: "hint" }, say("home.for", { fault: say(`fault.${fault}`) }), isContested({ fault, evidence }) ? ` ${say("home.contested")}` : null));
}

/** Lead and trail as this player's left and right. own: the reader is the player. */
function sides({ name, hand }, own) {
  const [lead, trail] = hand === "left" ? ["right", "left"] : ["left", "right"];
  return el("p", { class: "hint" }, say(own ? "home.sides.you" : "home.sides", { name, hand: say(`home.hand.${hand}`), lead: say(`home.side.${lead}`), trail: say(`home.side.${trail}`) }));
}

const TERMS = ["target", "shaft", "clubhead", "address", "backswing", "top", "downswing", "impact", "rehearsal", "physiotherapist", "guardian"];

/** Words that not everybody knows: nothing else on a sheet goes beyond tests/data/words/basic.en.txt. */
const terms = () => el("details", { class: "no-print", "data-key": "terms" }, el("summary", {}, say("home.terms")), el("ul", {}, TERMS.map((term) => el("li", {}, say(`term.${term}`)))));

/** homework: as the server sends it. again: called when something was ticked off. */
export function drillGroups(homework, { student, own, again }) {
  const items = homework.filter((item) => !item.ended_at).map((item) => ({ ...item, drill: drillWords(item.drill) }));
  if (items.length === 0) return [el("p", {}, say("home.nothing"))];
  const running = items.filter((item) => !item.paused);
  const fixes = [...new Set(running.map((item) => item.fix_id))];
  return [items.filter((item) => item.paused).map(pausedCard),
    fixes.map((fix, i) => group(running.filter((item) => item.fix_id === fix), i === 0, student.hand, again)), sides(student, own), terms()];
}
