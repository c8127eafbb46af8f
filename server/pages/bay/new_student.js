// A new student, on the tee: name, hand, and what else is known; then the way in for the family.

import { call, newKey } from "../lib/api.js";
import { busy, el, field, show } from "../lib/dom.js";
import { familyPart } from "../lib/family.js";
import { say } from "../lib/words.js";
import { fail } from "./fix.js";

const ADULT_AT = 18;

const option = (value, text) => el("option", { value }, text);
/** As the server has it: under 18 today (UTC), and with the year alone until the year of 18 is over. */
function isJunior(date, year) {
  const today = new Date().toISOString().slice(0, 10);
  if (date) return `${Number(date.slice(0, 4)) + ADULT_AT}${date.slice(4)}` > today;
  return year !== "" && Number(today.slice(0, 4)) - Number(year) <= ADULT_AT;
}

/** What follows: on to the student, and how the family gets at the homework. */
function afterward(student, place) {
  const link = el("a", { class: "button main", href: `#student/${student.id}` }, student.name);
  show(place, el("div", { class: "card" }, el("p", { role: "status" }, say("student.added", { name: student.name })), el("p", {}, link), familyPart(student, { open: true })));
  link.focus();
}

/** The form, behind its button. added: called when the list is to be fetched anew. */
export function newStudent(added) {
  const name = el("input", { required: true, maxlength: "200", autocomplete: "off" });
  const hand = el("select", {}, ["right", "left"].map((side) => option(side, say(`hand.${side}`))));
  const date = el("input", { name: "birth_date", type: "date", min: "1880-01-01", max: new Date().toISOString().slice(0, 10) });
  const year = el("input", { name: "birth_year", type: "number", inputmode: "numeric", min: "1880", max: String(new Date().getFullYear()), step: "1" });
  const sex = el("select", {}, option("", say("student.sex.unsaid")), ["female", "male"].map((which) => option(which, say(`student.sex.${which}`))));
  const consent = el("input", { maxlength: "200", autocomplete: "off" });
  const guardian = field(say("student.consent"), consent, say("student.consent.why"));
  const told = el("div");
  const button = el("button", { class: "main", "data-key": "add" }, say("student.add"));
  const fit = () => { guardian.hidden = !isJunior(date.value, year.value); };
  for (const control of [date, year]) control.addEventListener("input", fit);
  let key = newKey();
  const make = async () => {
    const body = { name: name.value.trim(), hand: hand.value };
    if (date.value) body.birth_date = date.value;
    else if (year.value) body.birth_year = Number(year.value);
    if (sex.value) body.sex = sex.value;
    if (!guardian.hidden && consent.value.trim()) body.consent = { by: consent.value.trim() };
    const { data } = await call("POST", "/v1/students", { body, key });
    key = newKey();
    form.reset();
    fit();
    form.hidden = true;
    begin.hidden = false;
    await added();
    afterward(data, told);
  };
  const submit = (event) => {
    event.preventDefault();
    busy(button, make).catch(fail);
  };
  const cancel = () => {
    form.hidden = true;
    begin.hidden = false;
    begin.focus();
  };
  const form = el("form", { class: "card new-student", hidden: true, onsubmit: submit }, el("h3", {}, say("student.new")),
    el("div", { class: "pair" }, field(say("student.name"), name), field(say("student.hand"), hand), field(say("student.birth"), date, say("student.birth.why")), field(say("student.year"), year, say("student.year.why")), field(say("student.sex"), sex), guardian),
    el("p", { class: "row" }, button, el("button", { type: "button", "data-key": "notNow", onclick: cancel }, say("report.notNow"))));
  const begin = el("button", { type: "button", "data-key": "newStudent", onclick: () => {
    begin.hidden = true;
    form.hidden = false;
    show(told);
    name.focus();
  } }, say("student.new"));
  fit();
  return el("section", {}, el("p", {}, begin), form, told);
}
