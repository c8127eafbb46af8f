// When a student was born, for the head to set right: the day, or the year alone, or nothing.

import { call } from "../../lib/api.js";
import { announce, busy, el, field } from "../../lib/dom.js";
import { day } from "../../lib/units.js";
import { say, sayProblem } from "../../lib/words.js";

/** again: called when it was changed. */
export function birthForm(student, again) {
  const today = new Date().toISOString().slice(0, 10);
  const date = el("input", { name: "birth_date", type: "date", min: "1880-01-01", max: today, value: student.birth_date ?? "" });
  const year = el("input", { name: "birth_year", type: "number", inputmode: "numeric", min: "1880", max: today.slice(0, 4), step: "1", value: student.birth_date ? "" : String(student.birth_year ?? "") });
  const button = el("button", { "data-key": "birth" }, say("common.save"));
  const save = async () => {
    const body = date.value ? { birth_date: date.value } : year.value ? { birth_date: null, birth_year: Number(year.value) } : { birth_date: null, birth_year: null, junior: false };
    await call("PATCH", `/v1/students/${student.id}`, { body, etag: `"${student.version}"` });
    announce(say("desk.birth.kept"));
    await again();
  };
  const submit = (event) => {
    event.preventDefault();
    busy(button, save).catch((problem) => announce(sayProblem(problem), { urgent: true }));
  };
  const stands = student.birth_date ? day(student.birth_date) : student.birth_year ?? say("desk.birth.unknown");
  return el("details", { class: "card birth" }, el("summary", {}, say("desk.birth", { when: stands })),
    el("form", { onsubmit: submit }, el("p", { class: "hint" }, say("desk.birth.why")), el("div", { class: "filters" }, field(say("student.birth"), date), field(say("student.year"), year)), el("p", {}, button)));
}
