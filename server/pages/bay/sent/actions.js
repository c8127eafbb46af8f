// What a coach may do with a swing that was sent: correct its marks, set it aside as not to be counted, give it to the student whose it is.

import { all, call, get } from "../../lib/api.js";
import { announce, busy, el, field, show } from "../../lib/dom.js";
import { day } from "../../lib/units.js";
import { say } from "../../lib/words.js";
import { fail } from "../fix.js";
import { draftOf, isCorrectable } from "./correct.js";

/** One of the three, folded: why, and what else it takes. run(why) does it. */
function action(key, run, ...fields) {
  const why = el("input", { required: true, maxlength: "500" });
  const button = el("button", {}, say(`sent.do.${key}`));
  const submit = (event) => {
    event.preventDefault();
    busy(button, () => run(why.value.trim())).catch(fail);
  };
  return el("details", { "data-key": key }, el("summary", {}, say(`sent.${key}`)), el("form", { onsubmit: submit }, fields, field(say("sent.why"), why), el("p", {}, button)));
}

/** Says above the report that the swing is not counted. */
export const setAside = ({ voided }) => (voided ? el("p", { class: "card wrong", role: "status" }, say("sent.voided", { day: day(voided.at), why: voided.reason })) : null);

function moveTo(swing, student) {
  const select = el("select", { required: true }, el("option", { value: "" }, "…"));
  const others = async () => {
    const students = (await all("/v1/students?limit=200&archived=false", "students")).filter(({ id }) => id !== student.id);
    show(select, el("option", { value: "" }, "…"), students.map(({ id, name }) => el("option", { value: id }, name)));
  };
  const run = async (reason) => {
    await call("POST", `/v1/swings/${swing.id}/move`, { body: { student_id: select.value, reason } });
    announce(say("sent.moved", { name: select.selectedOptions[0].textContent }));
    location.hash = `#student/${student.id}`;
  };
  const node = action("move", run, field(say("sent.to"), select));
  node.addEventListener("toggle", () => { if (node.open) others().catch(fail); }, { once: true });
  return node;
}

/** All three. again(): the report as it then is. */
export async function afterSending(swing, student, question, again) {
  const { stills } = await get(`/v1/swings/${swing.id}/stills`);
  const setVoid = (value) => async (reason) => {
    await call("POST", `/v1/swings/${swing.id}/void`, { body: { void: value, reason } });
    await again();
  };
  const correct = async (reason) => { location.hash = `#swing/${await draftOf(swing, student, reason, question)}`; };
  return el("section", { class: "sent no-print" }, el("h3", {}, say("sent.title")),
    stills.length ? el("p", {}, el("a", { class: "button", "data-key": "opinion", href: `#opinion/${swing.id}` }, say("opinion.open"))) : null,
    isCorrectable(swing, stills) ? action("correct", correct) : null,
    swing.voided ? action("count", setVoid(false)) : action("void", setVoid(true)), moveTo(swing, student));
}
