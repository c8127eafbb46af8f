// A new student, on the tee: name, hand, and what else is known; then, for the head, a sign-in with a one-time link.

import { call, get, newKey } from "../lib/api.js";
import { busy, el, field, show } from "../lib/dom.js";
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

/** A link into the homework: the student's, or for a junior a guardian's. Only the head may make an account. */
function accountForm(student, place) {
  const signIn = el("input", { name: "sign_in", required: true, autocapitalize: "none", autocomplete: "off", maxlength: "60" });
  const whose = student.junior ? el("input", { required: true, maxlength: "200", value: student.consent?.by ?? "" }) : null;
  const button = el("button", { "data-key": "link" }, say("student.account.make"));
  const make = async () => {
    const who = whose ? { role: "guardian", name: whose.value.trim(), students: [student.id] } : { role: "student", name: student.name, student_id: student.id };
    const account = (await call("POST", "/v1/accounts", { body: { ...who, sign_in: signIn.value.trim() }, key: newKey() })).data;
    const link = (await call("POST", `/v1/accounts/${account.id}/link`, { body: {} })).data;
    const told = el("p", { class: "card", tabindex: "-1" }, say("desk.account.link", { name: account.name ?? who.name }), " ", el("code", {}, location.origin + link.url_path));
    show(place, told);
    told.focus();
  };
  const submit = (event) => {
    event.preventDefault();
    busy(button, make).catch(fail);
  };
  return el("form", { class: "account", onsubmit: submit }, el("h3", {}, say(student.junior ? "student.account.guardian" : "student.account", { name: student.name })),
    whose ? field(say("student.account.whose"), whose) : null, field(say("student.account.signIn"), signIn), el("p", {}, button));
}

/** What follows: on to the student, and how the student gets at the homework. */
async function afterward(student, place) {
  const { role } = await get("/v1/me");
  const link = el("a", { class: "button main", href: `#student/${student.id}` }, student.name);
  const access = el("div");
  show(access, role === "head" ? accountForm(student, access) : el("p", { class: "hint" }, say("student.account.head")));
  show(place, el("div", { class: "card" }, el("p", { role: "status" }, say("student.added", { name: student.name })), el("p", {}, link), access));
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
    await afterward(data, told);
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
