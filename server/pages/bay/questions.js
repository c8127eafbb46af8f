// What the coach wants to know: one question for each fault that pictures can answer, or a look at everything. A question says which view,
// which moments and which points it takes, by what its measures read.

import { el, show } from "../lib/dom.js";
import { joined } from "../lib/units.js";
import { capital, say } from "../lib/words.js";
import { asked, QUESTIONS, viewsFor } from "./catalogue.js";

/** "From behind: address and top. Grip, clubhead." */
function needs(fault) {
  const { kinds, joined: both } = viewsFor(fault);
  const told = kinds.map((kind) => {
    const points = asked(kind, { fault, both });
    const names = [...new Set(Object.values(points).flat())];
    const moments = joined(Object.keys(points).map((name) => say(`checkpoint.${name}`)));
    return say(names.length ? "bay.question.takes" : "bay.question.takesTime", { view: say(`view.${kind}`), moments, points: joined(names.map((name) => say(`point.${name}`))) });
  });
  return both ? [say("bay.question.both"), ...told] : told.flatMap((text, i) => (i ? [say("bay.question.or"), text] : [text]));
}

/** Buttons to choose from; chosen(fault or null) when one was. */
export function questions(draft, chosen) {
  const told = el("div", { class: "hint takes", role: "status" });
  const button = (fault) => el("button", { type: "button", class: fault ? "" : "all", "data-question": fault ?? "all", onclick: () => { draft.question = fault; draw(); chosen(fault); } },
    say(fault ? `question.${fault}` : "bay.question.all"));
  const buttons = [null, ...QUESTIONS].map((fault) => ({ fault, node: button(fault) }));
  const draw = () => {
    for (const { fault, node } of buttons) node.setAttribute("aria-pressed", String((draft.question ?? null) === fault));
    show(told, draft.question ? needs(draft.question).map((text) => el("p", {}, capital(text))) : el("p", {}, say("bay.question.all.why")));
  };
  draw();
  return el("section", { "aria-label": say("bay.question") }, el("h3", {}, say("bay.question")), told, el("div", { class: "questions" }, buttons.map(({ node }) => node)));
}
