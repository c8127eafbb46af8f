// A report that a coach can turn round and show: the first fix and why, what to leave alone, then the numbers on the pictures.

import { call, get, newKey } from "../lib/api.js";
import { announce, busy, el, field, show } from "../lib/dom.js";
import { day, margin, measure, moment } from "../lib/units.js";
import { say, sayProblem } from "../lib/words.js";
import { lessonPictures, pictures } from "./pictures.js";
import { FAULTS } from "./trade.js";

const nameOf = (item) => item.words;

/** Gives a fix; answers what the server made of it. */
async function give(student, body) {
  const { data } = await call("POST", `/v1/students/${student}/fixes`, { body, key: newKey() });
  announce(say("report.given", { fault: data.words }));
  location.hash = `#student/${student}`;
}

const fail = (problem) => announce(problem.slug === "offline" ? sayProblem(problem) : problem.message || sayProblem(problem), { urgent: true });

function fixCard(fix, student, source) {
  const drills = el("ul", {}, fix.drills.map((drill) => el("li", {}, `${drill.name}${drill.ball ? "" : ` (${say("report.noBall")})`}`)));
  const sure = el("button", { type: "button", class: "main", hidden: true, onclick: (event) => busy(event.currentTarget, () => give(student, { fault: fix.fault, ...source })).catch(fail) }, say("report.sure"));
  const first = el("button", { type: "button", class: "main", onclick: () => { first.hidden = true; sure.hidden = drills.hidden = false; sure.focus(); } }, say("report.give"));
  drills.hidden = true;
  return el("article", { class: fix.order === 1 ? "card first" : "card" },
    el("h3", {}, say(fix.order === 1 ? "report.first" : "report.second", { fault: fix.words })), el("p", { class: "lead" }, fix.why),
    el("div", { class: "no-print" }, drills, el("p", {}, first, sure)));
}

/** Another fix than the report's, with the coach's reason. */
function otherForm(report, student, source) {
  const select = el("select", {}, FAULTS.map((fault) => el("option", { value: fault }, say(`fault.${fault}`))));
  const why = el("input", { required: true, maxlength: "500" });
  const button = el("button", {}, say("report.other.give"));
  const submit = (event) => {
    event.preventDefault();
    busy(button, () => give(student, { fault: select.value, overrule: why.value.trim(), ...source })).catch(fail);
  };
  return el("details", { class: "no-print" }, el("summary", {}, say("report.other")),
    el("form", { onsubmit: submit }, field(say("report.other.fault"), select), field(say("report.other.why"), why), el("p", {}, button)));
}

function measureTable(report) {
  return el("div", { class: "wide", tabindex: "0", role: "region", "aria-label": say("report.measures") },
    el("table", {}, el("thead", {}, el("tr", {}, ["what", "value", "fine", "word"].map((head) => el("th", { scope: "col" }, say(`report.column.${head}`))))),
      el("tbody", {}, report.measures.map((item) => el("tr", {},
        el("th", { scope: "row" }, nameOf(item)),
        el("td", {}, `${measure(item.value, item.unit)} ${margin(item.sd, item.unit)}`),
        el("td", {}, item.ok ? rangeText(item) : "–"),
        el("td", {}, item.word ? el("span", { class: `severity ${item.word}` }, say(`severity.${item.word}`)) : "–", item.guessed ? ` (${say("report.guessed")})` : null))))));
}

function rangeText({ ok: [low, high], unit }) {
  if (low === null) return say("report.to", { value: measure(high, unit) });
  if (high === null) return say("report.from", { value: measure(low, unit) });
  return say("report.between", { low: measure(low, unit), high: measure(high, unit) });
}

function unsure(report) {
  const open = report.faults.filter((fault) => fault.verdict === "cant_tell" || fault.verdict === "can't tell");
  if (open.length === 0) return null;
  return [el("h3", {}, say("report.unsure")), el("ul", {}, open.map((fault) => el("li", {}, fault.settle_sentence ? say("report.settle", { fault: fault.words, what: fault.settle_sentence }) : fault.words)))];
}

function sheet(report, student, source, drawn, of) {
  const nothing = report.first_fixes.length === 0 ? el("p", { class: "lead" }, say("report.nothing")) : null;
  return [
    el("p", { class: "no-print row" }, el("a", { class: "button", href: `#student/${student}` }, say("common.back")),
      el("button", { type: "button", onclick: () => window.print() }, say("report.print"))),
    el("h2", {}, say("report.title")), el("p", {}, of), el("p", { class: "hint" }, report.scope), nothing,
    report.first_fixes.map((fix) => fixCard(fix, student, source)),
    report.leave_alone.length ? [el("h3", {}, say("report.leave")), el("ul", {}, report.leave_alone.map((item) => el("li", {}, item.sentence ?? item.words ?? say(`fault.${item}`))))] : null,
    otherForm(report, student, source), unsure(report),
    report.camera.length ? [el("h3", {}, say("report.camera")), el("ul", {}, report.camera.map((finding) => el("li", {}, finding.sentence)))] : null,
    drawn, el("h3", {}, say("report.measures")), measureTable(report),
    el("h3", {}, say("home.care")), el("ul", {}, report.cautions.map((text) => el("li", {}, text))),
  ];
}

export async function reportRoom(place, id) {
  const [swing, report] = await Promise.all([get(`/v1/swings/${id}`), get(`/v1/swings/${id}/report`)]);
  const [student, drawn] = await Promise.all([get(`/v1/students/${swing.student_id}`), pictures(swing, report)]);
  const of = say("report.of", { name: student.name, at: moment(swing.recorded_at) });
  show(place, sheet(report, student.id, { from_swing: id }, drawn, of));
}

/** Of a lesson; its student stands in the address. */
export async function lessonRoom(place, id, studentId) {
  const [student, report] = await Promise.all([get(`/v1/students/${studentId}`), get(`/v1/lessons/${id}/report`)]);
  const of = say("report.ofLesson", { name: student.name, day: day(report.recorded_at), n: report.swings });
  show(place, sheet(report, studentId, { from_lesson: id }, await lessonPictures(id, studentId, report.swings), of));
}
