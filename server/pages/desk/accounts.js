// Accounts: who there is, a new one, a new password or a one-time link, out of use and back.

import { all, call, newKey } from "../lib/api.js";
import { announce, busy, el, field, show } from "../lib/dom.js";
import { say, sayProblem } from "../lib/words.js";

const ROLES = ["coach", "student", "guardian", "head"];

const fail = (problem) => announce(sayProblem(problem), { urgent: true });

function secret(title, text) {
  return el("p", { class: "card", role: "status" }, title, " ", el("code", {}, text));
}

function actions(account, told, again) {
  const act = (label, task) => el("button", { type: "button", onclick: (event) => busy(event.currentTarget, task).catch(fail) }, label);
  const change = (body) => call("PATCH", `/v1/accounts/${account.id}`, { body, etag: `"${account.version}"` });
  const password = async () => {
    const { data } = await change({ new_password: true });
    show(told, secret(say("desk.account.password", { name: account.name }), data.password));
    await again();
  };
  const link = async () => {
    const { data } = await call("POST", `/v1/accounts/${account.id}/link`, { body: {}, key: newKey() });
    show(told, secret(say("desk.account.link", { name: account.name }), location.origin + data.url_path));
  };
  const toggle = async () => {
    await change({ disabled: !account.disabled });
    await again();
  };
  const unguard = async () => {
    await change({ second_factor: false });
    await again();
  };
  return el("div", { class: "row" },
    act(say("desk.account.newPassword"), password),
    act(say("desk.account.newLink"), link),
    account.second_factor ? act(say("desk.account.unguard"), unguard) : null,
    act(say(account.disabled ? "desk.account.enable" : "desk.account.disable"), toggle));
}

function newForm(students, told, again) {
  const name = el("input", { name: "name", required: true, maxlength: "200" });
  const signIn = el("input", { name: "sign_in", required: true, autocapitalize: "none", maxlength: "60" });
  const role = el("select", {}, ROLES.map((r) => el("option", { value: r }, say(`role.${r}`))));
  const student = el("select", {}, students.map((s) => el("option", { value: s.id }, s.name)));
  const whose = field(say("desk.account.student"), student);
  const button = el("button", { class: "main" }, say("desk.account.make"));
  const fit = () => { whose.hidden = !["student", "guardian"].includes(role.value); };
  role.addEventListener("change", fit);
  fit();
  let key = newKey();
  const make = async () => {
    const body = { role: role.value, name: name.value.trim(), sign_in: signIn.value.trim() };
    if (role.value === "student") body.student_id = student.value;
    if (role.value === "guardian") body.students = [student.value];
    const { data } = await call("POST", "/v1/accounts", { body, key });
    key = newKey();
    show(told, secret(say("desk.account.password", { name: data.name }), data.password));
    form.reset();
    fit();
    await again();
  };
  const submit = (event) => {
    event.preventDefault();
    busy(button, make).catch(fail);
  };
  const form = el("form", { class: "card", onsubmit: submit }, el("h3", {}, say("desk.account.new")),
    el("div", { class: "filters" }, field(say("desk.account.role"), role), field(say("desk.account.name"), name),
      field(say("desk.account.signIn"), signIn), whose), el("p", {}, button));
  return form;
}

export async function accountsRoom(place) {
  const told = el("div");
  const body = el("tbody");
  const again = async () => {
    const accounts = await all("/v1/accounts?limit=200", "accounts");
    show(body, accounts.map((account) => el("tr", {},
      el("th", { scope: "row" }, account.name), el("td", {}, say(`role.${account.role}`)), el("td", {}, account.sign_in),
      el("td", {}, account.disabled ? say("desk.account.off") : account.password_temporary ? say("desk.account.temporary") : ""),
      el("td", {}, actions(account, told, again)))));
  };
  const students = await all("/v1/students?limit=200", "students");
  await again();
  show(place, el("h2", {}, say("desk.accounts")), told, newForm(students, told, again),
    el("div", { class: "wide", tabindex: "0", role: "region", "aria-label": say("desk.accounts") },
      el("table", {}, el("thead", {}, el("tr", {}, ["name", "role", "signIn", "state", "do"].map((c) => el("th", { scope: "col" }, say(`desk.account.${c}`))))), body)));
}
