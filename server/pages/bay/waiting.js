// Swings that the server has not answered yet: the report as the tablet itself makes it on one, or on all of a student's together,
// marked as such. The server's takes its place as soon as the swing is sent (bay.js).

import { get } from "../lib/api.js";
import { el, show } from "../lib/dom.js";
import { takeList } from "../lib/storage.js";
import { day, moment } from "../lib/units.js";
import { say } from "../lib/words.js";
import { scoreHere } from "./core.js";
import { outbox } from "./outbox.js";

/** The student as the server says, or as the list keeps one without a network. */
async function known(id) {
  try {
    return await get(`/v1/students/${id}`);
  } catch {
    return (await takeList("students"))?.students.find((student) => student.id === id) ?? null;
  }
}

/** An entry's swing is not at the server, and may yet be. */
const waits = (entry) => !entry.swing && entry.state !== "refused";

/** A student's swings that wait, the newest first, as the server is asked for a lesson. */
export const waitingOf = async (student) => (await outbox()).filter((entry) => entry.student.id === student && waits(entry))
  .map((entry) => ({ ...entry, document: JSON.parse(entry.document) })).sort((a, b) => (a.document.recorded_at < b.document.recorded_at ? 1 : -1));

/** The report on these swings together as the tablet makes it; null where none can be made here. */
async function drawn(documents, student, question, of) {
  const [{ provisionalSheet }, { viewsOf }] = await Promise.all([import("./report.js"), import("./pictures.js")]);
  const report = await scoreHere(documents, await known(student)).catch(() => null);
  return report && [el("p", { class: "row" }, el("a", { class: "button", href: `#student/${student}` }, say("common.back"))),
    el("p", { class: "card", role: "status" }, say("report.provisional")),
    provisionalSheet(report, documents.map((document) => viewsOf({ document })), of(report), question)];
}

/** Where no report can be made here, the student's room says that the swing waits. */
export async function waitingRoom(place, id) {
  const entry = (await outbox()).find((item) => item.id === id);
  const document = entry && JSON.parse(entry.document);
  const parts = entry && await drawn([document], entry.student.id, entry.question, () => say("report.of", { name: entry.student.name, at: moment(document.recorded_at) }));
  if (parts) show(place, parts);
  else location.replace(entry ? `#student/${entry.student.id}` : "#students");
}

/** One report on what waits of a student. */
export async function togetherRoom(place, id) {
  const entries = await waitingOf(id);
  const parts = entries.length > 0 && await drawn(entries.map(({ document }) => document), id, null,
    (report) => say("report.ofLesson", { name: entries[0].student.name, day: day(report.recorded_at), n: report.swings }));
  if (parts) show(place, parts);
  else location.replace(`#student/${id}`);
}
