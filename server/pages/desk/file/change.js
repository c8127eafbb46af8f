// What is known of a student, for the head to set right: the name, how they play, what they want. What hurts and when they were
// born have forms of their own.

import { call } from "../../lib/api.js";
import { announce, el, field } from "../../lib/dom.js";
import { sendForm } from "../../lib/forms.js";
import { say } from "../../lib/words.js";

const HANDS = ["right", "left"];
const SEXES = ["female", "male"];

const numberOf = (input) => (input.value === "" ? null : Number(input.value));

/** again: called when it was changed. */
export function changePart(student, again) {
  const input = (name, properties) => el("input", { name, autocomplete: "off", value: String(student[name] ?? ""), ...properties });
  const name = input("name", { required: true, maxlength: "200" });
  const hand = el("select", { name: "hand" }, HANDS.map((value) => el("option", { value }, say(`hand.${value}`))));
  const sex = el("select", { name: "sex" }, el("option", { value: "" }, say("desk.birth.unknown")), SEXES.map((value) => el("option", { value }, say(`desk.sex.${value}`))));
  const height = input("height_m", { type: "number", min: "0.5", max: "2.6", step: "0.01" });
  const handicap = input("handicap", { type: "number", min: "-10", max: "54", step: "0.1" });
  const number = input("member_number", { maxlength: "40" });
  const email = input("email", { type: "email", maxlength: "254" });
  const phone = input("phone", { type: "tel", maxlength: "40" });
  const wants = el("textarea", { name: "wants", maxlength: "2000" }, student.wants ?? "");
  const tendencies = el("textarea", { name: "tendencies", maxlength: "2000" }, student.tendencies ?? "");
  hand.value = student.hand;
  sex.value = student.sex ?? "";
  const send = async () => {
    const body = { name: name.value.trim(), hand: hand.value, sex: sex.value || null, height_m: numberOf(height), handicap: numberOf(handicap),
      member_number: number.value.trim() || null, email: email.value.trim() || null, phone: phone.value.trim() || null,
      wants: wants.value.trim() || null, tendencies: tendencies.value.trim() || null };
    await call("PATCH", `/v1/students/${student.id}`, { body, etag: `"${student.version}"` });
    announce(say("desk.change.kept"));
    await again();
  };
  return el("details", { class: "change", "data-part": "change" }, el("summary", {}, say("desk.change")), sendForm("change", say("common.save"), send,
    field(say("desk.change.name"), name),
    el("div", { class: "filters" }, field(say("desk.story.hand"), hand), field(say("desk.change.sex"), sex), field(say("desk.change.height"), height), field(say("desk.change.handicap"), handicap)),
    el("div", { class: "filters" }, field(say("desk.change.number"), number), field(say("desk.change.email"), email), field(say("desk.change.phone"), phone)),
    field(say("desk.story.wants"), wants), field(say("desk.change.tendencies"), tendencies)));
}
