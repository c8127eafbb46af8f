// Who agreed to what for a student, for everybody who may see it: what stands, since when, and taking it back or giving it.

import { call, get, newKey } from "./api.js";
import { announce, busy, el, field, show } from "./dom.js";
import { day } from "./units.js";
import { say, sayProblem } from "./words.js";

const SCOPES = ["store_pictures", "share_with_club", "teach_with"];
const STAFF = ["head", "coach"];

const fail = (problem) => announce(sayProblem(problem), { urgent: true });

/** What stands of one scope, in a sentence. newest: undefined when nothing was ever said. */
function standing(scope, newest, pictures) {
  if (!newest) return say(scope === "store_pictures" && pictures ? "consent.notNeeded" : "consent.never");
  const values = { who: newest.by ?? "", day: day(newest.given_at ?? newest.withdrawn_at), until: newest.expires ? day(newest.expires) : "" };
  if (newest.counts) return say(newest.expires ? "consent.until" : "consent.given", values);
  if (newest.withdrawn_at) return say("consent.withdrawn", { day: day(newest.withdrawn_at) });
  return say(newest.expires && new Date(newest.expires) < new Date() ? "consent.over" : "consent.grown", values);
}

/** A guardian's yes that counts no longer because the student has come of age. */
const outgrown = (newest) => Boolean(newest) && !newest.counts && !newest.withdrawn_at && !(newest.expires && new Date(newest.expires) < new Date());

/** Asking for a yes: the team says whose word it was, the family gives its own. */
function giveForm(scope, path, staff, again) {
  const by = staff ? el("input", { name: "by", required: true, maxlength: "200", autocomplete: "off" }) : null;
  const until = el("input", { name: "expires", type: "date" });
  const button = el("button", { "data-key": `give-${scope}` }, say(staff ? "consent.record" : "consent.agree"));
  let key = newKey();
  const give = async () => {
    const body = { scope };
    if (by) body.by = by.value.trim();
    if (until.value) body.expires = `${until.value}T23:59:59Z`;
    await call("POST", path, { body, key });
    announce(say("consent.kept"));
    await again(scope);
  };
  const submit = (event) => {
    event.preventDefault();
    busy(button, give).catch((problem) => {
      if (problem.slug === "key-reused") key = newKey(); // what was pressed before was kept: this is another
      fail(problem);
    });
  };
  return el("form", { onsubmit: submit }, by ? field(say("consent.by"), by) : null, field(say("consent.expires"), until), el("p", {}, button));
}

/** What the team has asked the family for: told to both, and asked by staff with a button. request: the one that is not answered. */
function askedPart(scope, request, { path, staff, counts }, again) {
  if (request) return el("p", { class: "asked" }, say("consent.asked", { who: request.asked_by_name ?? "", day: day(request.asked_at) }), request.note ? [" ", el("q", {}, request.note)] : null);
  if (!staff || counts) return null;
  const key = newKey();
  const ask = async () => {
    await call("POST", path.replace(/consents$/, "requests"), { body: { scope }, key });
    announce(say("consent.askedNow"));
    await again(scope);
  };
  return el("p", {}, el("button", { type: "button", "data-key": `ask-${scope}`, onclick: (event) => busy(event.currentTarget, ask).catch(fail) }, say("consent.ask")));
}

function scopePart(scope, told, { path, role, junior, title }, again) {
  const newest = told.consents.find((item) => item.scope === scope);
  const staff = STAFF.includes(role);
  const counts = newest?.counts || (!newest && scope === "store_pictures" && told.pictures);
  const withdraw = async () => {
    await call("DELETE", `${path}/${scope}`);
    announce(say("consent.gone"));
    await again(scope);
  };
  const back = () => el("p", {}, el("button", { type: "button", "data-key": `withdraw-${scope}`, onclick: (event) => busy(event.currentTarget, withdraw).catch(fail) },
    say(newest ? "consent.withdraw" : "consent.refuse")));
  const may = staff || role === "guardian" || !junior;
  return el("div", { class: "consent", "data-scope": scope }, el(title, { tabindex: "-1" }, say(`consent.${scope}`)),
    el("p", {}, standing(scope, newest, told.pictures)), askedPart(scope, told.requests.find((item) => item.scope === scope && !item.answered_at), { path, staff, counts }, again), !may ? null : counts ? back() : giveForm(scope, path, staff, again));
}

/** The part for a page, with data-anew where a grown-up is asked what a guardian agreed to, data-asked where the team waits for a word of the reader: of a student as the server sends one, for an account of this role. heading: "h2" or "h3"; drawn(pictures): told each time, whether pictures may be kept. */
export async function consentPart(student, role, { heading = "h3", drawn } = {}) {
  const path = `/v1/students/${student.id}/consents`;
  const list = el("div");
  const why = role === "student" && student.junior ? "consent.guardianDecides" : student.junior ? "consent.why" : "consent.own";
  const place = el("section", { class: "consents no-print" }, el(heading, {}, say("consent.title")), el("p", { class: "hint" }, say(why)), list);
  const draw = async (focused) => {
    const [consents, requests] = await Promise.all([get(path), get(path.replace(/consents$/, "requests"))]);
    const told = { ...consents, ...requests };
    const newest = (scope) => told.consents.find((item) => item.scope === scope);
    place.dataset.anew = String(!student.junior && SCOPES.some((scope) => outgrown(newest(scope))));
    place.dataset.asked = String(told.requests.some((item) => !item.answered_at) && (role === "guardian" || !student.junior));
    show(list, SCOPES.map((scope) => scopePart(scope, told, { path, role, junior: student.junior, title: heading === "h2" ? "h3" : "h4" }, draw)));
    drawn?.(told.pictures);
    if (focused) list.querySelector(`[data-scope=${focused}] [tabindex]`).focus();
  };
  await draw();
  return place;
}
