// The coaches, by name, and one coach's work: whom, what is worked on, what was practised and what is to be looked at again. No
// coach is set beside another.

import { call } from "../lib/api.js";
import { el, field, show } from "../lib/dom.js";
import { ask, sendForm } from "../lib/forms.js";
import { faultName } from "../lib/speech.js";
import { byName, day, moment, number } from "../lib/units.js";
import { capital, say } from "../lib/words.js";
import { forgetRoll, roll } from "./roll.js";
import { TESTS } from "./tests.js";

const SOON_DAYS = 7;

export async function coachesRoom(place) {
  const body = el("tbody");
  const draw = ({ coaches }) => show(body, [...coaches].sort((a, b) => byName(a.name, b.name)).map((coach) => el("tr", {},
    el("th", { scope: "row" }, el("a", { href: `#coach/${coach.account_id}` }, coach.name)),
    el("td", { "data-head": say("desk.coach.students") }, number(coach.students)),
    el("td", { "data-head": say("desk.coach.seen") }, coach.last_seen ? moment(coach.last_seen) : say("desk.never")),
    el("td", { "data-head": say("desk.coach.state") }, coach.disabled ? el("strong", {}, say("desk.coach.off")) : say("desk.coach.on")))));
  show(place, el("h2", {}, say("desk.coaches")), el("p", {}, el("a", { class: "button quiet", href: "#accounts" }, say("desk.coach.new"))),
    el("div", { class: "wide whole", tabindex: "0", role: "region", "aria-label": say("desk.coaches") }, el("table", { class: "rows" },
      el("thead", {}, el("tr", {}, ["name", "students", "seen", "state"].map((name) => el("th", { scope: "col" }, say(`desk.coach.${name}`))))), body)));
  await roll(place, draw);
}

/** How many of the students work on what, the most first: bars beside words. */
function faultBars(rows) {
  const counts = new Map();
  for (const fault of rows.flatMap((row) => row.faults)) counts.set(fault, (counts.get(fault) ?? 0) + 1);
  const most = Math.max(1, ...counts.values());
  return el("ul", { class: "plain bars" }, [...counts].sort(([, a], [, b]) => b - a).map(([fault, n]) =>
    el("li", {}, el("span", {}, capital(faultName({ fault }))), el("meter", { min: 0, max: most, value: n, "aria-label": capital(faultName({ fault })) }), el("strong", {}, number(n)))));
}

/** Whose drills are to be looked at again, the longest overdue first. */
function retests(rows) {
  const until = new Date(Date.now() + SOON_DAYS * 86400000).toISOString();
  const due = rows.filter((row) => row.retest_at && row.retest_at <= until).sort((a, b) => (a.retest_at < b.retest_at ? -1 : 1));
  return due.length === 0 ? el("p", {}, say("desk.coach.noRetests")) : el("ul", {}, due.map((row) =>
    el("li", {}, el("a", { href: `#story/${row.student_id}` }, row.name), ", ", row.retest_due ? el("strong", {}, say("desk.coach.dueSince", { day: day(row.retest_at) })) : day(row.retest_at))));
}

/** A coach leaves: every student goes to one who stays, in one step. */
function leaveForm(coach, coaches, again) {
  const heir = el("select", { name: "heir" }, coaches.filter((one) => !one.disabled && one !== coach).map((one) => el("option", { value: one.account_id }, one.name)));
  const leave = async () => {
    if (!(await ask({ title: say("desk.leave.sure", { name: coach.name }), text: say("desk.leave.why"), sure: say("desk.leave"), typed: coach.name }))) return;
    await call("POST", `/v1/accounts/${coach.account_id}/leave`, { body: { heirs: [{ account_id: heir.value }] } });
    forgetRoll();
    await again();
  };
  return el("details", {}, el("summary", {}, say("desk.leave.open")), sendForm("leave", say("desk.leave"), leave, field(say("desk.leave.heir"), heir, say("desk.leave.why"))));
}

export async function coachRoom(place, id) {
  const draw = ({ coaches, rows, off, whole }) => {
    const coach = coaches.find((one) => one.account_id === id);
    if (!coach) return show(place, el("h2", {}, say("desk.coaches")), el("p", {}, say("problem.not-found")));
    const own = rows.filter((row) => row.team.includes(id));
    const count = (test) => own.filter((row) => TESTS[test](row, off)).length;
    const to = (test, text) => el("li", {}, el("a", { href: `#students?coach=${id}${test ? `&test=${test}` : ""}` }, text));
    return show(place, el("p", {}, el("a", { class: "button quiet", href: "#coaches" }, say("common.back"))), el("h2", {}, coach.name),
      coach.disabled ? el("p", { class: "card" }, el("strong", {}, say("desk.coach.isOff"))) : null, whole ? null : el("p", { role: "status" }, say("desk.more")),
      el("ul", {}, to("", say("desk.coach.load", { n: coach.students })), to("unfixed", say("desk.coach.unfixed", { n: count("unfixed") })),
        ["pain", "stuck", "forgotten", "never"].filter((test) => count(test) > 0).map((test) => to(test, `${capital(say(`desk.test.${test}`))}: ${number(count(test))}`)),
        el("li", {}, say("desk.coach.done", { n: coach.homework_done_this_week }))),
      el("h3", {}, say("desk.coach.faults")), own.some((row) => row.faults.length) ? faultBars(own) : el("p", {}, say("common.none")),
      el("h3", {}, say("desk.coach.retests")), retests(own), coach.disabled || !whole ? null : leaveForm(coach, coaches, () => coachRoom(place, id)));
  };
  await roll(place, draw);
}
