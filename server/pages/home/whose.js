// Whose page this is, always in sight, and who teaches; a guardian of several juniors chooses one here.

import { get } from "../lib/api.js";
import { $, el, show } from "../lib/dom.js";
import { day, joined } from "../lib/units.js";
import { say } from "../lib/words.js";

/** The juniors to choose among; none where there is no choice. */
export async function juniorsOf(me) {
  if (me.role !== "guardian" || me.students.length < 2) return [];
  return Promise.all(me.students.map((id) => get(`/v1/students/${id}`)));
}

const nameOf = (student) => el("strong", { class: "name" }, student.name);

function choice(juniors, shown, choose) {
  return el("div", { class: "row no-print", role: "group", "aria-label": say("home.choose") }, juniors.map((junior) =>
    el("button", { type: "button", "data-student": junior.id, "aria-pressed": String(junior.id === shown.id), onclick: () => choose(junior.id) }, junior.name)));
}

/** coaches: [{name}]. choose: called with the id of a junior. */
export function showWhose(student, coaches, juniors, choose) {
  const place = $("#whose");
  const focused = place.contains(document.activeElement);
  const names = coaches.map(({ name }) => name);
  show(place, juniors.length ? [choice(juniors, student, choose), el("p", { class: "print-only" }, nameOf(student))] : el("p", {}, nameOf(student)),
    el("p", { class: "hint" }, names.length ? say("home.coach", { n: names.length, names: joined(names) }) : say("home.coach.none")),
    el("p", { class: "print-only" }, day(Date.now())));
  place.hidden = false;
  if (focused) place.querySelector("[aria-pressed=true]")?.focus();
}
