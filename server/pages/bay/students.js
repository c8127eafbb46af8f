// Who is on the tee: the coach's students by name, and a new one; the list last seen serves when there is no network.

import { all } from "../lib/api.js";
import { inboxPlace } from "../lib/care.js";
import { announce, el, field, show } from "../lib/dom.js";
import { isFull, putList, takeList } from "../lib/storage.js";
import { byName, moment } from "../lib/units.js";
import { say } from "../lib/words.js";
import { openDrafts } from "./draft.js";
import { newStudent } from "./new_student.js";
import { unclaimedCard } from "./unclaimed.js";

async function fetchStudents() {
  try {
    const students = (await all("/v1/students?limit=200", "students")).filter((student) => !student.archived);
    const least = students.map(({ id, name, hand, pain }) => ({ id, name, hand, pain })); // what the bay needs without a network
    await putList("students", { students: least, at: new Date().toISOString() }).catch((error) => {
      if (isFull(error)) announce(say("bay.full.list"), { urgent: true });
      else throw error;
    });
    return { students, stale: null };
  } catch (problem) {
    const kept = problem.status === 0 ? await takeList("students") : null;
    if (!kept) throw problem;
    return { students: kept.students, stale: kept.at };
  }
}

export async function studentsRoom(place) {
  const fetched = await fetchStudents();
  let students = fetched.students;
  const drafts = await openDrafts();
  const unclaimed = await unclaimedCard(students, () => studentsRoom(place));
  const search = el("input", { type: "search", autocomplete: "off" });
  const names = el("ul", { class: "plain names" });
  const draw = () => {
    const wanted = search.value.trim().toLocaleLowerCase();
    show(names, students.filter((student) => student.name.toLocaleLowerCase().includes(wanted)).sort((a, b) => byName(a.name, b.name))
      .map((student) => el("li", {}, el("a", { class: "button", href: `#student/${student.id}` }, student.name))));
  };
  const added = async () => {
    students = (await fetchStudents()).students;
    draw();
  };
  search.addEventListener("input", draw);
  show(place, el("h2", {}, say("bay.students")),
    fetched.stale ? el("p", { class: "hint" }, say("bay.stale", { at: moment(fetched.stale) })) : null,
    fetched.stale ? null : inboxPlace((id) => `#student/${id}`),
    drafts.length ? el("section", { class: "card" }, el("h3", {}, say("bay.drafts")), el("ul", { class: "plain names" },
      drafts.map((draft) => el("li", {}, el("a", { class: "button", href: `#swing/${draft.id}` }, say("bay.draftOf", { name: draft.student.name, at: moment(draft.recorded_at) })))))) : null,
    unclaimed, fetched.stale ? null : newStudent(added), field(say("bay.find"), search), names);
  draw();
}
