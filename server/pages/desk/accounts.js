// Accounts: found by name, a new one, and what can be done to one. What was made for somebody stands beside the name; what ends
// something asks first or can be undone.

import { call, get, newKey } from "../lib/api.js";
import { announce, el, field, show } from "../lib/dom.js";
import { actButton, ask, fail, sendForm, undoable } from "../lib/forms.js";
import { day } from "../lib/units.js";
import { say } from "../lib/words.js";
import { pickStudents } from "./pick.js";

const ROLES = ["coach", "student", "guardian", "head"];
const FAMILY = ["student", "guardian"];
const WAIT_MS = 250;
const STATES = { "": "desk.all", false: "desk.account.inUse", true: "desk.account.off" };

const secret = (title, text) => el("p", { class: "card", role: "status" }, title, " ", el("code", {}, text));
const isJunior = (student) => student.junior;
const pickFor = (role, chosen) => (role === "guardian" ? pickStudents(say("desk.account.juniors"), { several: true, fits: isJunior, chosen }) : pickStudents(say("desk.account.student")));

/** What can be done to an account. redraw(account, told): draws its row again, with something to give to the person. */
function actions(account, redraw) {
  const path = `/v1/accounts/${account.id}`;
  const change = async (body) => (await call("PATCH", path, { body, etag: `"${account.version}"` })).data;
  const password = async () => {
    if (!(await ask({ title: say("desk.account.newPasswordSure", { name: account.name }), text: say("desk.account.newPasswordWhy"), sure: say("desk.account.newPassword") }))) return;
    const now = await change({ new_password: true });
    redraw(now, secret(say("desk.account.password", { name: account.name }), now.password));
  };
  const link = async () => {
    const { data } = await call("POST", `${path}/link`, { body: {}, key: newKey() });
    redraw(account, secret(say("desk.account.link", { name: account.name }), location.origin + data.url_path));
  };
  const toggle = async () => {
    const now = await change({ disabled: !account.disabled });
    redraw(now);
    undoable(say(now.disabled ? "desk.account.isOff" : "desk.account.isOn", { name: account.name }), async () => {
      redraw((await call("PATCH", path, { body: { disabled: Boolean(account.disabled) }, etag: `"${now.version}"` })).data);
    });
  };
  const unguard = async () => {
    if (await ask({ title: say("desk.account.unguardSure", { name: account.name }), text: say("desk.account.unguardWhy"), sure: say("desk.account.unguard") })) redraw(await change({ second_factor: false }));
  };
  const rename = () => {
    const name = el("input", { required: true, maxlength: "200", value: account.name });
    redraw(account, sendForm("rename-sure", say("common.save"), async () => redraw(await change({ name: name.value.trim() })), field(say("desk.account.newName"), name)));
  };
  const juniors = async () => {
    const pick = pickFor("guardian", await Promise.all(account.students.map((id) => get(`/v1/students/${id}`))));
    redraw(account, sendForm("juniors-sure", say("common.save"), async () => redraw(await change({ students: pick.ids() })), pick.node));
  };
  const erase = async () => {
    if (!(await ask({ title: say("desk.record.eraseSure", { name: account.name }), text: say("desk.account.eraseWhy"), sure: say("desk.record.erase"), typed: account.name }))) return;
    await call("DELETE", path);
    redraw(null);
  };
  return el("details", {}, el("summary", { "aria-label": say("desk.account.doOf", { name: account.name }) }, say("desk.edit")), el("div", { class: "row" },
    account.disabled ? null : actButton("link", say("desk.account.newLink"), link), actButton("password", say("desk.account.newPassword"), password),
    actButton("rename", say("desk.account.rename"), rename), account.role === "guardian" ? actButton("juniors", say("desk.account.juniors"), juniors) : null,
    account.second_factor ? actButton("unguard", say("desk.account.unguard"), unguard) : null,
    actButton("toggle", say(account.disabled ? "desk.account.enable" : "desk.account.disable"), toggle), actButton("erase", say("desk.record.erase"), erase, { class: "danger" })));
}

/** Its state in a word or two. */
function state(account) {
  const words = [account.disabled ? say("desk.account.off") : null, account.password_temporary ? say("desk.account.temporary") : null, account.second_factor ? say("desk.account.guarded") : null].filter(Boolean);
  return [words.join(", ") || say("desk.account.inUse"), el("div", { class: "hint" }, account.last_seen ? say("desk.account.seen", { day: day(account.last_seen) }) : say("desk.account.unused"))];
}

function line(account, told) {
  const row = el("tr", {});
  const redraw = (now, more) => {
    const shown = document.querySelector(`tr[data-id="${account.id}"]`); // it may have been drawn again since
    if (!now) return shown?.remove();
    shown?.replaceWith(line(now, more));
    return document.querySelector(`tr[data-id="${now.id}"] :is(input, summary)`)?.focus();
  };
  row.dataset.id = account.id;
  row.append(el("th", { scope: "row" }, account.name, el("div", { class: "hint" }, account.sign_in), told ?? ""),
    el("td", { "data-head": say("desk.account.role") }, say(`role.${account.role}`)), el("td", { "data-head": say("desk.account.state") }, state(account)), el("td", {}, actions(account, redraw)));
  return row;
}

/** made(account, told): one was made. */
function newForm(made) {
  const name = el("input", { name: "name", required: true, maxlength: "200", autocomplete: "off" });
  const signIn = el("input", { name: "sign_in", required: true, autocapitalize: "none", autocomplete: "off", maxlength: "60" });
  const role = el("select", { name: "role" }, ROLES.map((r) => el("option", { value: r }, say(`role.${r}`))));
  const whose = el("div");
  let pick = null;
  let key = newKey();
  const fit = () => {
    pick = FAMILY.includes(role.value) ? pickFor(role.value, []) : null;
    show(whose, pick?.node ?? "");
  };
  role.addEventListener("change", fit);
  const make = async () => {
    const body = { role: role.value, name: name.value.trim(), sign_in: signIn.value.trim() };
    if (pick && pick.ids().length === 0) return announce(say("desk.pick.needed"), { urgent: true });
    if (role.value === "student") [body.student_id] = pick.ids();
    if (role.value === "guardian") body.students = pick.ids();
    const { data } = await call("POST", "/v1/accounts", { body, key });
    key = newKey();
    name.value = "";
    signIn.value = "";
    fit();
    return made(data, secret(say("desk.account.password", { name: data.name }), data.password));
  };
  return el("details", { class: "new" }, el("summary", {}, say("desk.account.new")), sendForm("make", say("desk.account.make"), make,
    el("div", { class: "filters" }, field(say("desk.account.name"), name), field(say("desk.account.signIn"), signIn), field(say("desk.account.role"), role)), whose));
}

export async function accountsRoom(place, id, asked) {
  const body = el("tbody");
  const search = el("input", { name: "seek", type: "search", autocomplete: "off", value: asked.get("name") ?? "" });
  const only = el("select", { name: "disabled" }, Object.entries(STATES).map(([value, key]) => el("option", { value }, say(key))));
  const more = actButton("more", say("care.more"), () => load(false));
  let next = null;
  let turn = 0;
  only.value = ["true", "false"].includes(asked.get("disabled")) ? asked.get("disabled") : "";

  async function load(anew) {
    const mine = anew ? ++turn : turn;
    const said = new URLSearchParams([["name", search.value.trim()], ["disabled", only.value]].filter(([, value]) => value));
    const page = await call("GET", anew ? `/v1/accounts?limit=50&${said}` : next);
    if (mine !== turn) return;
    if (anew) body.replaceChildren();
    body.append(...page.data.accounts.map((account) => line(account)));
    if (anew && page.data.accounts.length === 0) body.append(el("tr", {}, el("td", { colspan: "4" }, say("desk.pick.none"))));
    next = page.next;
    more.hidden = !next;
    if (anew && place.isConnected) history.replaceState(history.state, "", `#accounts${said.size ? `?${said}` : ""}`);
  }

  let timer = 0;
  const later = () => {
    clearTimeout(timer);
    timer = setTimeout(() => load(true).catch(fail), WAIT_MS);
  };
  for (const control of [search, only]) control.addEventListener("input", later);
  await load(true);
  show(place, el("h2", {}, say("desk.accounts")), newForm((account, told) => body.prepend(line(account, told))),
    el("div", { class: "filters" }, field(say("desk.search"), search), field(say("desk.account.state"), only)),
    el("div", { class: "wide whole", tabindex: "0", role: "region", "aria-label": say("desk.accounts") },
      el("table", { class: "rows" }, el("thead", {}, el("tr", {}, ["name", "role", "state", "do"].map((c) => el("th", { scope: "col" }, say(`desk.account.${c}`))))), body)),
    el("p", {}, more));
}
