// A note on a student: for the team, and for whom it names besides.

import { call, newKey } from "./api.js";
import { announce, el, field } from "./dom.js";
import { sendForm } from "./forms.js";
import { say } from "./words.js";

const READERS = ["student", "guardian"];

/** again: called when one was written. */
export function notePart(student, again) {
  const text = el("textarea", { name: "text", required: true, maxlength: "20000" });
  const ticks = READERS.map((who) => el("input", { type: "checkbox", value: who }));
  let key = newKey();
  const send = async () => {
    const body = { text: text.value.trim(), readers: ticks.filter((tick) => tick.checked).map((tick) => tick.value) };
    await call("POST", `/v1/students/${student.id}/notes`, { body, key });
    key = newKey();
    text.value = "";
    announce(say("note.kept"));
    await again();
  };
  return el("section", { class: "note", "data-part": "note" }, el("h3", {}, say("note.title")), sendForm("note", say("note.write"), send,
    field(say("note.text"), text, student.junior ? say("note.junior") : undefined),
    el("fieldset", {}, el("legend", {}, say("note.readers")), ticks.map((tick, i) => el("label", { class: "tick" }, tick, say(`role.${READERS[i]}`))))));
}
