// Finding students by a part of the name, one or several: the club's list is never fetched whole for it.

import { get } from "../lib/api.js";
import { el, field, show } from "../lib/dom.js";
import { fail } from "../lib/forms.js";
import { say } from "../lib/words.js";

const WAIT_MS = 250;
const FOUND = 8;

/** {node, ids(), clear()}. fits: which of the students found may be taken; chosen: students that are taken already. */
export function pickStudents(label, { several = false, fits = () => true, chosen = [] } = {}) {
  const taken = new Map(chosen.map((student) => [student.id, student]));
  const search = el("input", { type: "search", autocomplete: "off" });
  const list = el("div", { class: "picks", role: "group", "aria-label": label });
  let found = [];
  let turn = 0;
  let timer = 0;
  const choose = (student, on) => {
    if (!several) taken.clear();
    if (on) taken.set(student.id, student);
    else taken.delete(student.id);
    draw();
  };
  const line = (student) => el("label", { class: "tick" }, el("input", { type: "checkbox", value: student.id, checked: taken.has(student.id), onchange: (event) => choose(student, event.currentTarget.checked) }), student.name);
  const draw = () => show(list, [...taken.values(), ...found.filter((student) => !taken.has(student.id))].map(line));
  const look = async () => {
    const mine = ++turn;
    const name = search.value.trim();
    const students = name ? (await get(`/v1/students?archived=false&limit=50&name=${encodeURIComponent(name)}`)).students : [];
    if (mine !== turn) return;
    found = students.filter(fits).slice(0, FOUND);
    draw();
    if (name && found.length === 0) list.append(el("p", { class: "hint" }, say("desk.pick.none")));
  };
  search.addEventListener("input", () => {
    clearTimeout(timer);
    timer = setTimeout(() => look().catch(fail), WAIT_MS);
  });
  draw();
  const clear = () => {
    taken.clear();
    found = [];
    search.value = "";
    draw();
  };
  return { node: el("div", {}, field(label, search, say("desk.pick.how")), list), ids: () => [...taken.keys()], clear };
}
