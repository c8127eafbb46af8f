// A swing that the server has not answered yet: the report as the tablet itself makes it, marked as such. The server's takes its
// place as soon as the swing is sent (bay.js).

import { get } from "../lib/api.js";
import { el, show } from "../lib/dom.js";
import { takeList } from "../lib/storage.js";
import { moment } from "../lib/units.js";
import { say } from "../lib/words.js";
import { scoreHere } from "./core.js";
import { outbox } from "./outbox.js";
import { viewsOf } from "./pictures.js";
import { provisionalSheet } from "./report.js";

/** The student as the server says, or as the list keeps one without a network. */
async function known(id) {
  try {
    return await get(`/v1/students/${id}`);
  } catch {
    return (await takeList("students"))?.students.find((student) => student.id === id) ?? null;
  }
}

/** Where no report can be made here, the student's room says that the swing waits. */
export async function waitingRoom(place, id) {
  const entry = (await outbox()).find((item) => item.id === id);
  const document = entry && JSON.parse(entry.document);
  const report = entry && await scoreHere(document, await known(entry.student.id)).catch(() => null);
  if (!report) {
    location.replace(entry ? `#student/${entry.student.id}` : "#students");
    return;
  }
  show(place, el("p", { class: "row" }, el("a", { class: "button", href: `#student/${entry.student.id}` }, say("common.back"))),
    el("p", { class: "card", role: "status" }, say("report.provisional")),
    provisionalSheet(report, [viewsOf({ document })], say("report.of", { name: entry.student.name, at: moment(document.recorded_at) }), entry.question));
}
