// The family's way in: who has an account, a one-time link into it, an account for who has none, and a guardian who stands for
// a brother or sister already.

import { all, call, get, newKey } from "./api.js";
import { announce, el, field, show } from "./dom.js";
import { actButton, fail, sendForm } from "./forms.js";
import { day } from "./units.js";
import { say } from "./words.js";

/** Takes an address along into a message; only where the browser lets a page do so. */
const copyButton = (address) => (navigator.clipboard ? actButton("family-copy", say("family.copy"), async () => {
  await navigator.clipboard.writeText(address);
  announce(say("family.copied"));
}) : null);

/** Makes a link, and shows it once with the focus on it, with the name that whoever opens it signs in with afterwards. */
async function showLink(account, place) {
  const { data } = await call("POST", `/v1/accounts/${account.id}/link`, { body: {} });
  const address = location.origin + data.url_path;
  const told = el("div", { class: "card", tabindex: "-1" }, el("p", {}, say("desk.account.link", { name: account.name }), " ", el("code", {}, address)),
    el("p", {}, say("family.signsIn", { name: account.name }), " ", el("strong", {}, account.sign_in)), copyButton(address));
  show(place, told);
  told.focus();
}

const accountLine = (account, linked) => el("li", {}, account.name, " ", account.last_seen ? say("family.seen", { day: day(account.last_seen) }) : say("family.notYet"), " ",
  account.disabled ? null : actButton("family-link", say("student.account.make"), () => showLink(account, linked), { "aria-label": say("family.linkFor", { name: account.name }) }));

/** An account for a guardian of a junior, or for the student; the link into it follows. */
function accountForm(student, made) {
  const signIn = el("input", { name: "sign_in", required: true, autocapitalize: "none", autocomplete: "off", maxlength: "60" });
  const whose = student.junior ? el("input", { required: true, maxlength: "200", autocomplete: "off", value: student.consent?.by ?? "" }) : null;
  const key = newKey();
  return sendForm("link", say("student.account.make"), async () => {
    const who = whose ? { role: "guardian", name: whose.value.trim(), students: [student.id] } : { role: "student", name: student.name, student_id: student.id };
    const { data } = await call("POST", "/v1/accounts", { body: { ...who, sign_in: signIn.value.trim() }, key });
    await made({ name: who.name, ...data });
  }, el("h4", {}, say(student.junior ? "student.account.guardian" : "student.account", { name: student.name })),
  whose ? field(say("student.account.whose"), whose) : null, field(say("student.account.signIn"), signIn));
}

/** A guardian of another junior whom the reader teaches. */
function siblingForm(student, juniors, added) {
  const sibling = el("select", {}, juniors.map(({ id, name }) => el("option", { value: id }, name)));
  const guardian = el("select", { required: true });
  const fill = async () => {
    const { accounts } = await get(`/v1/students/${sibling.value}/family`);
    show(guardian, accounts.filter(({ role, disabled }) => role === "guardian" && !disabled).map(({ id, name }) => el("option", { value: id }, name)));
  };
  sibling.addEventListener("change", () => fill().catch(fail));
  void fill().catch(fail);
  return el("details", {}, el("summary", {}, say("family.sibling")), sendForm("family-add", say("family.add"), async () => {
    await call("PUT", `/v1/students/${student.id}/family/${guardian.value}`, { body: {} });
    await added();
  }, field(say("family.of"), sibling), field(say("family.guardian"), guardian)));
}

/** How the student or the family is reached, as the club knows it. */
const reach = ({ phone, email }) => (phone || email ? el("p", { class: "row" }, phone ? el("a", { class: "button quiet", href: `tel:${phone.replace(/[^+\d]/g, "")}` }, phone) : null,
  email ? el("a", { class: "button quiet", href: `mailto:${email}` }, email) : null) : null);

/** The part of a student's page, behind its summary unless open; student: as the server sends one. */
export function familyPart(student, { open = false } = {}) {
  const list = el("div");
  const linked = el("div");
  const load = async () => {
    const [{ accounts }, juniors] = await Promise.all([get(`/v1/students/${student.id}/family`),
      student.junior ? all("/v1/students?limit=200&archived=false", "students") : []]);
    const others = juniors.filter(({ id, junior }) => junior && id !== student.id);
    show(list, accounts.length ? el("ul", { class: "plain" }, accounts.map((account) => accountLine(account, linked))) : el("p", { class: "hint" }, say("family.none")),
      student.junior || accounts.length === 0 ? accountForm(student, async (account) => {
        await load();
        await showLink(account, linked);
      }) : null,
      others.length ? siblingForm(student, others, async () => {
        await load();
        list.querySelector("button")?.focus();
      }) : null);
  };
  const place = el("details", { class: "family no-print", ontoggle: () => place.open && load().catch(fail) }, el("summary", {}, say("family.title")), reach(student), linked, list);
  place.open = open;
  return place;
}
