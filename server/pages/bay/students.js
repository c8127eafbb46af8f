// Who is on the tee: the coach's students by name, and a new one; the list last seen serves when there is no network.

import { all } from "../lib/api.js";
import { inboxPlace } from "../lib/care.js";
import { addressOf, announce, el, field, show } from "../lib/dom.js";
import { isFull, putList, takeList } from "../lib/storage.js";
import { byName, moment } from "../lib/units.js";
import { say } from "../lib/words.js";
import { VIEWS } from "./catalogue.js";
import { marksOf, openDrafts, pictureOf } from "./draft.js";
import { newStudent } from "./new_student.js";
import { readingOf } from "./reading/reader.js";
import { unclaimedCard } from "./unclaimed.js";

async function fetchStudents() {
  try {
    const students = (await all("/v1/students?limit=200", "students")).filter((student) => !student.archived);
    const least = students.map(({ id, name, hand, sex, junior, pain }) => ({ id, name, hand, sex, junior, pain })); // what the bay needs without a network
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

/** A swing that was begun: its picture, whose it is, how far it is. */
async function draftRow(draft) {
  const still = await pictureOf(draft);
  const job = VIEWS.map((kind) => readingOf(draft, kind)).find(Boolean);
  const state = job ? say("bay.draft.reading") : say("bay.marked", { n: marksOf(draft) });
  return el("li", {}, el("a", { class: "button", href: `#swing/${draft.id}` }, still ? el("img", { src: addressOf(still), alt: "" }) : el("span", { class: "blank" }),
    el("span", {}, el("strong", {}, draft.student.name), el("br", {}), `${moment(draft.recorded_at)} · ${state}`)));
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
    drafts.length ? el("section", { class: "card" }, el("h3", {}, say("bay.drafts")), el("ul", { class: "plain drafts" }, await Promise.all(drafts.map(draftRow)))) : null,
    unclaimed, fetched.stale ? null : newStudent(added), field(say("bay.find"), search), names);
  draw();
}
