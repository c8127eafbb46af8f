// Who is on the tee: the coach's students by name, and a new one; the list last seen serves when there is no network.

import { all, get } from "../lib/api.js";
import { inboxPlace, leftWords } from "../lib/care.js";
import { addressOf, announce, el, face, field, show } from "../lib/dom.js";
import { hear, redraw } from "../lib/live.js";
import { isFull, putList, takeList } from "../lib/storage.js";
import { faultName } from "../lib/speech.js";
import { byName, day, joined, moment } from "../lib/units.js";
import { capital, say } from "../lib/words.js";
import { VIEWS } from "./catalogue.js";
import { marksOf, openDrafts, pictureOf } from "./draft.js";
import { fail } from "./fix.js";
import { onTee } from "./lesson.js";
import { newStudent } from "./new_student.js";
import { readingOf } from "./reading/reader.js";
import { unclaimedCard } from "./unclaimed.js";

async function fetchStudents() {
  try {
    const students = (await all("/v1/students?limit=200", "students")).filter((student) => !student.archived);
    const least = students.map(({ id, name, hand, sex, junior, pictures, pain }) => ({ id, name, hand, sex, junior, pictures, pain })); // what the bay needs without a network
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

const fixWords = (fix) => (fix ? capital(faultName(fix)) : say("bay.noFix"));

/** One of today's: the one thing that is worked on, what hurts, what was left for whoever coaches, what waits. */
const todayRow = ({ id, name, pain, fix, note, handover, waiting, urgent, still }) => el("li", { class: urgent ? "card urgent" : "card" },
  el("p", { class: "person" }, face(still, name), el("span", {}, el("a", { href: `#student/${id}` }, name), el("span", { class: "hint" }, fixWords(fix)))),
  pain.length ? el("p", {}, el("strong", {}, say("care.sore", { areas: joined(pain.map((area) => say(`area.${area}`))) }))) : null,
  leftWords({ handed: handover?.note ? handover : undefined, note: note ?? undefined }), waiting ? el("p", {}, say("bay.waitsOf", { n: waiting })) : null);

const FAR = "2999-01-01T00:00:00Z"; // nobody was there since then: whom the tablet names, and nobody else
const NAMED = 50; // so many may be named at once

/** What stands beside a name: the newest picture, the one open fix, when the last swing was; asked for of those who come into sight, once each. It
 * stays away without a network. */
function besides() {
  const known = new Map();
  const byNode = new Map();
  const fill = (place, { name, fix, still, last_swing: last }) => {
    place.querySelector(".face").replaceWith(face(still, name));
    place.querySelector(".hint").textContent = [fixWords(fix), last ? day(last) : null].filter(Boolean).join(" · ");
  };
  const told = async (rows) => {
    const asked = rows.filter(({ id }) => !known.has(id)).map(({ id }) => id);
    for (const id of asked) known.set(id, null);
    for (let from = 0; from < asked.length; from += NAMED) {
      const { students } = await get(`/v1/students/today?since=${FAR}&students=${asked.slice(from, from + NAMED).join()}`);
      for (const row of students) known.set(row.id, row);
    }
    for (const [node, id] of byNode) if (known.get(id) && !node.querySelector(".hint").textContent) fill(node, known.get(id));
  };
  const sight = new IntersectionObserver((entries) => {
    const seen = entries.filter(({ isIntersecting }) => isIntersecting).map(({ target }) => ({ id: byNode.get(target) })).filter(({ id }) => id);
    if (seen.length) told(seen).catch(() => {}); // the names do
  }, { rootMargin: "50%" });
  return (rows) => {
    sight.disconnect();
    byNode.clear();
    for (const { id, node } of rows) {
      byNode.set(node, id);
      sight.observe(node);
    }
  };
}

const READY_MS = 1000; // so long the room waits for what stands above it, that nothing moves under a finger

/** Who was on the tee today, on this tablet or another; nothing while nobody was. place.ready when it is there. */
function todayPlace() {
  const place = el("section", { class: "today", hidden: true });
  const load = async () => {
    const midnight = new Date(new Date().setHours(0, 0, 0, 0)).toISOString();
    const { students } = await get(`/v1/students/today?since=${midnight}&students=${(await onTee()).join()}`);
    if (students.length === 0) return;
    redraw(place, el("h3", {}, say("bay.onTee")), el("ul", { class: "plain" }, students.map(todayRow)));
    place.hidden = false;
  };
  place.ready = load().catch((problem) => (problem.status === 0 ? undefined : fail(problem)));
  hear(place, ["swing", "lesson", "fix", "note", "handover", "homework", "inbox", "student", "students"], load);
  return place;
}

export async function studentsRoom(place) {
  const fetched = await fetchStudents();
  let students = fetched.students;
  const drafts = await openDrafts();
  const unclaimed = await unclaimedCard(students, () => studentsRoom(place));
  const search = el("input", { type: "search", autocomplete: "off" });
  const names = el("ul", { class: "plain names" });
  const others = el("div"); // what is no name: out of the way of who is sought
  const beside = besides();
  const draw = () => {
    const wanted = search.value.trim().toLocaleLowerCase();
    const rows = students.filter((student) => student.name.toLocaleLowerCase().includes(wanted)).sort((a, b) => byName(a.name, b.name))
      .map(({ id, name }) => ({ id, node: el("li", { class: "person" }, face(null, name), el("span", {}, el("a", { href: `#student/${id}` }, name), el("span", { class: "hint" }))) }));
    show(names, rows.length || !wanted ? rows.map(({ node }) => node) : el("li", {}, say("desk.pick.none")));
    others.hidden = wanted !== "" && rows.length > 0;
    if (!fetched.stale) beside(rows);
  };
  const added = async () => {
    students = (await fetchStudents()).students;
    draw();
  };
  search.addEventListener("input", draw);
  const above = fetched.stale ? [] : [inboxPlace((id) => `#student/${id}`), todayPlace()];
  await Promise.race([Promise.all(above.map(({ ready }) => ready)), new Promise((late) => setTimeout(late, READY_MS))]);
  show(others, fetched.stale ? el("p", { class: "hint" }, say("bay.stale", { at: moment(fetched.stale) })) : null, above,
    drafts.length ? el("section", { class: "card" }, el("h3", {}, say("bay.drafts")), el("ul", { class: "plain drafts" }, await Promise.all(drafts.map(draftRow)))) : null,
    unclaimed, fetched.stale ? null : newStudent(added));
  show(place, el("div", { class: "whose" }, el("h2", {}, say("bay.students")), field(say("bay.find"), search)), others, names);
  draw();
}
