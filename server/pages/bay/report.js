// A report that a coach can turn round and show: what to work on and how sure, why, what to leave alone, then the pictures
// and the numbers.

import { get } from "../lib/api.js";
import { leftFor } from "../lib/care.js";
import { busy, el, field, show } from "../lib/dom.js";
import { fullName, measureName, rangeWords, valueWithError, wordMark } from "../lib/measures.js";
import { cameraWords, cautionItem, doseWords, drillName, faultName as nameOf, isContested, markWords, plainWords } from "../lib/speech.js";
import { day, joined, moment, number, WITHIN } from "../lib/units.js";
import { capital, say } from "../lib/words.js";
import { allDrills, fail, give, givePlace, isLate, openFixes, whileFree, workedOn } from "./fix.js";
import { lessonPictures, pictures, viewsOf } from "./pictures.js";
import { FAULTS, signsOf } from "./catalogue.js";
import { afterSending, setAside } from "./sent/actions.js";
import { earlierPart, thenNotice } from "./sent/versions.js";

const judgementOf = (report, name) => report.faults.find(({ fault }) => fault === name);
const faultName = (report, fault) => nameOf({ fault, evidence: judgementOf(report, fault)?.evidence });

/** How sure only: how strong is said of each measure, not of the fault. */
function sureness({ basis, p }) {
  const values = { sure: `${number(p > 0.99 ? 99 : 100 * p)} %` };
  return say(basis === "seen" ? "report.sureness.seen" : p > 0.99 ? "report.sureness.all" : "report.sureness", values);
}

/** What to say first to the student who stands beside. */
function opening(report) {
  const judged = report.faults.filter(({ verdict }) => verdict === "present" || verdict === "absent").length;
  const [first, second] = report.first_fixes;
  const scope = report.scope.code ? say(`report.scope.${report.scope.code}`, { n: report.scope.swings }) : report.scope;
  const nothing = report.leave_alone.length ? "report.nothing.contested"
    : judged && report.faults.every(({ verdict }) => verdict === "absent" || verdict === "not observed") ? "report.nothing.fine" : "report.nothing";
  const words = first ? [say("report.lead", { fault: faultName(report, first.fault) }), sureness(judgementOf(report, first.fault)),
    second ? say("report.lead.second", { fault: faultName(report, second.fault) }) : ""] : [say(nothing)];
  return [el("p", { class: "lead" }, words.join(" ")),
    el("p", { class: "hint" }, `${say("report.judged", { n: judged, of: report.faults.length })} ${scope}`)];
}

/** The measures that these signs are read from. */
const told = (report, signs) => signs.map((sign) => report.measures.find((item) => item.measure === sign.measure && (item.checkpoint ?? null) === (sign.checkpoint ?? null))).filter(Boolean);

/** The measures a fault was judged by, those that speak loudest first. */
function evidence(report, fault) {
  const signs = (judgementOf(report, fault).signs ?? []).filter((sign) => sign.observed && sign.severity > 0);
  return told(report, signs.sort((a, b) => b.weight * b.severity - a.weight * a.severity)).map((item) => el("li", {}, `${capital(say("report.evidence", { what: fullName(item), value: valueWithError(item), range: rangeWords(item) }))} `, wordMark(item)));
}

/** What we think a fix causes besides. */
function explains(report, { explains: faults }) {
  const found = faults.filter(({ code }) => code);
  return found.length ? say("report.explains", { list: joined(found.map(({ code, fault }) => say(`report.share.${code}`, { fault: faultName(report, fault) }))) }) : null;
}

const MIRROR = { left: "right", right: "left" };

/** A part of what the ball did, as the player sees it: a report's sides are a right-hander's. */
const way = ({ flight }, part) => say(`flight.${(flight.mirrored && MIRROR[flight[part]]) || flight[part]}`);

/** What of the ball speaks against a fault; null where nothing does. */
function against(report, fault) {
  const parts = judgementOf(report, fault)?.ball?.against ?? [];
  const list = parts.map((part) => (part === "strike" ? say(`report.against.${report.flight.strike}`) : say(`report.against.${part}`, { way: way(report, part) })));
  return list.length ? say("report.against", { list: joined(list) }) : null;
}

/** What of the ball fits a fix, and what doesn't: sentences. An older report says only that it fits. */
function ball(report, { fault, why }) {
  const told = judgementOf(report, fault).ball?.fits ?? (why.fits_ball ? ["start", "curve", "strike"] : []);
  const parts = told.filter((part) => report.flight[part]).map((part) => say(`report.ball.${part}`, { way: way(report, part) }));
  return [parts.length ? say("report.ball", { list: joined(parts) }) : null, against(report, fault)];
}

/** What a fix explains and how it goes with the ball; an older report's own sentence stands for all of it. */
function thought(report, fix) {
  if (typeof fix.why === "string") return el("li", { lang: "en" }, fix.why);
  const said = [explains(report, fix), ...ball(report, fix)].filter(Boolean);
  return said.length ? el("li", {}, [...said, say("report.experience")].join(" ")) : null;
}

/** Where nothing can be given yet: what would be. */
const drillNames = (fix) => el("ul", {}, fix.drills.map((item) => el("li", {}, `${drillName(item.drill, item.name)}: ${doseWords(item.dose)}`)));

function fixCard(fix, report, context) {
  return el("article", { class: fix.order === 1 ? "card first" : "card", "data-fault": fix.fault },
    el("h3", {}, say(fix.order === 1 ? "report.first" : "report.second", { fault: faultName(report, fix.fault) })),
    el("p", {}, el("span", { class: "plain" }, plainWords(fix.fault, report.player?.hand)), fix.order === 1 ? null : ` ${sureness(judgementOf(report, fix.fault))}`),
    el("ul", {}, evidence(report, fix.fault), thought(report, fix)), context && !context.setAside ? givePlace(fix, context) : drillNames(fix));
}

function leaveAlone(report) {
  if (report.leave_alone.length === 0) return null;
  const left = ({ fault, code, cause, share, sentence }) => {
    if (!code) return el("li", { lang: "en" }, sentence);
    const values = { fault: faultName(report, fault), cause: cause ? faultName(report, cause) : "" };
    return el("li", {}, capital(say(`report.leave.${code === "explained" ? share : code}`, values)));
  };
  return [el("h3", {}, say("report.leave")), el("ul", {}, report.leave_alone.map(left))];
}

/** Another fix than the report's, with the coach's reason: of what isn't being worked on yet. */
function otherForm({ student, source, open, report }, again) {
  const select = el("select", {}, FAULTS.filter((name) => !open.some(({ fault }) => fault === name)).map((fault) => el("option", { value: fault }, faultName(report, fault))));
  const why = el("input", { required: true, maxlength: "500" });
  const button = el("button", {}, say("report.other.give"));
  const send = async () => {
    await give(student.id, { fault: select.value, overrule: why.value.trim(), ...source });
    location.hash = `#student/${student.id}`;
  };
  const submit = (event) => {
    event.preventDefault();
    busy(button, send).catch((problem) => {
      fail(problem);
      return isLate(problem) ? again() : undefined;
    }).catch(fail);
  };
  return el("form", { onsubmit: submit }, field(say("report.other.fault"), select), field(say("report.other.why"), why), el("p", {}, button));
}

/** What would settle a fault; null when nothing would. Pictures of a view that were given already are not asked for again, only more marks in them.
 * views: of each swing, the set of views that there are pictures of. */
function missing({ settle }, views) {
  if (!settle?.length) return null;
  const has = (...wanted) => views.some((swing) => wanted.every((view) => swing.has(view)));
  const behind = settle.includes("down_the_line") && has("down_the_line");
  const front = settle.includes("face_on") && has("face_on");
  const both = (behind && front) || (settle.includes("both_views") && has("down_the_line", "face_on"));
  const marks = both ? "marks_both" : behind ? "marks_behind" : front ? "marks_front" : null;
  const given = [behind && "down_the_line", front && "face_on", both && "both_views"];
  return joined([...(marks ? [marks] : []), ...settle.filter((what) => !given.includes(what))].map((what) => say(`settle.${what}`)), true);
}

function unsure(report, views) {
  const open = report.faults.filter(({ verdict }) => verdict === "can't tell");
  if (open.length === 0) return null;
  const line = (fault) => {
    const what = missing(fault, views);
    const name = faultName(report, fault.fault);
    return [what ? say("report.settle", { fault: name, what }) : name, against(report, fault.fault)].filter(Boolean).join(" ");
  };
  return el("section", { class: "unsure" }, el("h3", {}, say("report.unsure")), el("ul", {}, open.map((fault) => el("li", {}, capital(line(fault))))));
}

/** What a fault's question is answered with, and the numbers behind it. */
function answer(report, name, views) {
  const fault = judgementOf(report, name);
  if (!fault) return null;
  const { verdict } = fault;
  const key = { present: "yes", absent: "no", "can't tell": "unsure" }[verdict] ?? "unseen";
  const what = verdict === "present" || verdict === "absent" ? null : missing(fault, views);
  return el("article", { class: "card answer", "data-answer": key }, el("h3", {}, say(`question.${name}`)),
    el("p", { class: "lead" }, [say(`answer.${key}`), verdict === "present" ? sureness(fault) : "", verdict === "present" && isContested(fault) ? say("answer.contested") : ""].join(" ").trim()),
    el("ul", {}, told(report, fault.signs ?? signsOf(name)).filter((item) => !item.adult_only).map((item) => el("li", {}, `${capital(say("report.evidence", { what: fullName(item), value: valueWithError(item), range: rangeWords(item) }))} `, wordMark(item)))),
    what ? el("p", {}, say("answer.settle", { what })) : null);
}

/** Other faults that are there, beside what is worked on and what is left for now. */
function alsoSeen(report) {
  const named = [...report.first_fixes, ...report.leave_alone].map(({ fault }) => fault);
  const more = report.faults.filter(({ fault, verdict }) => verdict === "present" && !named.includes(fault));
  return more.length ? el("section", { class: "also" }, el("h3", {}, say("report.also")), el("ul", {}, more.map(({ fault }) => el("li", {}, capital(faultName(report, fault)))))) : null;
}

/** What was looked at and is not there, each with its number; on paper the table of numbers says it. */
function lookedAt(report) {
  const fine = report.faults.filter(({ verdict }) => verdict === "absent");
  const line = ({ fault, signs }) => {
    const values = told(report, signs ?? signsOf(fault)).filter((item) => !item.adult_only).map((item) => `${measureName(item)} ${valueWithError(item)}`);
    return el("li", {}, say("answer.fine", { question: say(`question.${fault}`) }), values.length ? el("span", { class: "hint" }, ` ${values.join("; ")}`) : null);
  };
  return fine.length ? el("section", { class: "looked no-print" }, el("h3", {}, say("report.looked")), el("ul", {}, fine.map(line))) : null;
}

/** What was not checked, for nothing was seen of it, by what would show it. */
function unjudged(report, views) {
  const groups = new Map();
  for (const fault of report.faults.filter(({ verdict }) => verdict === "not observed")) {
    const what = missing(fault, views);
    const adults = told(report, signsOf(fault.fault)).some(({ adult_only: only }) => only);
    const need = what ? say("report.unjudged.need", { what }) : say(adults ? "report.unjudged.adults" : "report.unjudged.nothing");
    groups.set(need, [...(groups.get(need) ?? []), fault.fault]);
  }
  if (groups.size === 0) return null;
  const lists = [...groups].sort((a, b) => b[1].length - a[1].length);
  return el("section", { class: "unjudged" }, el("h3", {}, say("report.unjudged")), lists.map(([need, faults]) =>
    [el("p", {}, need), el("ul", {}, faults.map((fault) => el("li", {}, capital(say(`topic.${fault}`)))))]));
}

function measureTable(report) {
  const heads = ["what", "value", "fine", "word"].map((head) => el("th", { scope: "col" }, say(`report.column.${head}`)));
  const rows = report.measures.map((item) => el("tr", {}, el("th", { scope: "row" }, capital(fullName(item))), el("td", {}, valueWithError(item)),
    el("td", {}, rangeWords(item)), el("td", {}, wordMark(item), item.guessed ? ` (${say("report.guessed")})` : null)));
  return el("details", { class: "numbers" }, el("summary", {}, say("report.measures")), el("h3", { class: "print-only" }, say("report.measures")),
    el("div", { class: "wide", tabindex: "0", role: "region", "aria-label": say("report.measures") },
      el("table", {}, el("thead", {}, el("tr", {}, heads)), el("tbody", {}, rows))),
    el("p", { class: "hint" }, [say("report.error"), ...["guide", "height"].filter((whom) => report.measures.some((item) => item.made_for === whom)).map((whom) => say(`report.for.${whom}`))].join(" ")));
}

const MS = 1000;

/** What times are told from: impact, else the hands' low point, else the record's start. */
function reference({ checkpoints, hands_low_s: low }) {
  const impact = checkpoints.find(({ checkpoint }) => checkpoint === "impact");
  if (impact) return { ...impact, key: "motion.impact" };
  return low === null ? { time_s: 0, sd: 0, key: "motion.start" } : { time_s: low, sd: 0, key: "motion.hands_low" };
}

/** "95 ms ± 27 ms before impact" */
function lagWords(peak, from) {
  const ms = MS * (peak.time_s - from.time_s);
  const error = Math.max(1, WITHIN * MS * Math.hypot(peak.sd, from.sd));
  const size = Math.abs(Math.round(ms));
  const key = size === 0 ? "motion.lag.same" : ms < 0 ? "motion.lag.before" : "motion.lag.after";
  return say(key, { lag: `${number(size)} ms ± ${number(error)} ms`, what: say(from.key) });
}

const the = (segment) => say(`segment.the.${segment}`);

/** What is out of the usual order, or can't be told. */
function outOfOrder({ segment, code, of }) {
  if (code === "before") return say("report.motion.before", { of: the(of) });
  return code === "too_close" ? say("motion.order.close", { list: say("list.and", { list: the(of), more: the(segment) }) }) : null;
}

function partLine(motion, item) {
  const peak = motion.peaks.find(({ segment }) => segment === item.segment);
  const text = peak ? say("report.motion.fastest", { when: lagWords(peak, reference(motion)) }) : say(`report.motion.${item.code}`);
  return el("li", { "data-segment": item.segment, "data-code": item.code }, el("strong", {}, capital(say(`segment.${item.segment}`))), ": ", [text, outOfOrder(item)].filter(Boolean).join(" "));
}

/** What motion records say of the order in which the parts of the body turned fastest. A part that is still gaining where the record is read to
 * is told so: a lesser peak before is none. Null where no swing of the report was a record. */
const motionPart = (motions = []) => (motions.length === 0 ? null : el("section", { class: "motion" }, el("h3", {}, say("report.motion")), motions.map((motion) => [
  motions.length > 1 ? el("h4", {}, say("report.swing.short", { n: motion.swing + 1 })) : null,
  el("ul", {}, motion.order.map((item) => partLine(motion, item)))])));

/** The same, folded; where two fixes are open it says so instead. */
function otherPlace(context) {
  return context.setAside ? null : el("details", { class: "no-print other" }, el("summary", {}, say("report.other")), whileFree(context, (again) => otherForm(context, again)));
}

/** Marks that do not fit the others: nothing certain rests on them. A report from before they were checked has none. */
const suspects = ({ marks = [] }) => (marks.length ? el("section", { class: "marks" }, el("h3", {}, say("report.marks")),
  el("ul", {}, marks.map((mark) => el("li", {}, markWords(mark))))) : null);

/** What stands below the fixes: what else is there, what is fine, what could not be told, and the numbers. */
const rest = (report, views, drawn) => [
  alsoSeen(report), drawn, lookedAt(report), unsure(report, views), unjudged(report, views),
  report.camera.length ? [el("h3", {}, say("report.camera")), el("ul", {}, report.camera.map((finding) => el("li", {}, cameraWords(finding))))] : null,
  motionPart(report.motion), measureTable(report),
  el("h3", {}, say("home.care")), el("ul", {}, report.cautions.map(cautionItem)),
];

/** What the swing was filmed for, answered before everything else. */
const answered = (report, question, views, picture) => (question
  ? [el("div", { class: "shown" }, picture, el("div", {}, answer(report, question, views))), el("h3", {}, say("answer.else"))] : null);

/** The tablet is turned round: what is for the coach alone is out of sight, the rest is large. bay.js ends it with the room. */
function showButton() {
  const button = el("button", { type: "button", class: "quiet no-print", "data-key": "show", "aria-pressed": "false", onclick: () => {
    const on = document.body.classList.toggle("showing");
    button.setAttribute("aria-pressed", String(on));
    button.textContent = say(on ? "report.show.end" : "report.show");
    window.scrollTo(0, 0);
  } }, say("report.show"));
  return button;
}

/** first: the picture of what matters most; others: the rest of them. */
function sheet(report, context, { first, others }, views, of, question) {
  const fixes = report.first_fixes.map((fix) => fixCard(fix, report, context));
  return [
    el("div", { class: "whose" }, el("a", { class: "button quiet", href: `#student/${context.student.id}` }, say("common.back")), el("h2", {}, say("report.title")),
      showButton(), el("button", { type: "button", class: "quiet no-print", onclick: () => window.print() }, say("report.print"))), el("p", {}, of), workedOn(context), suspects(report), answered(report, question, views, first), opening(report),
    question || !first ? fixes : el("div", { class: "shown" }, first, el("div", {}, fixes)),
    leaveAlone(report), otherPlace(context), rest(report, views, others),
  ];
}

/** A report that the server knows nothing of yet: nothing can be given from it. */
export const provisionalSheet = (report, views, of, question) => [
  el("h2", { tabindex: "-1" }, say("report.title")), el("p", {}, of), suspects(report), answered(report, question, views, null), opening(report),
  report.first_fixes.map((fix) => fixCard(fix, report, null)), leaveAlone(report), rest(report, views, null),
];

/** What giving a fix needs to know. */
async function contextOf(studentId, report, source) {
  const [student, open, drills, left] = await Promise.all([get(`/v1/students/${studentId}`), openFixes(studentId), allDrills(), leftFor(studentId)]);
  return { student, open, drills, left, source, report, places: [], first: report.first_fixes[0]?.fault };
}

/** On paper the numbers are always there; afterward they are folded again as they were. */
window.addEventListener("beforeprint", () => document.querySelectorAll("details.numbers:not([open])").forEach((node) => {
  node.open = true;
  window.addEventListener("afterprint", () => { node.open = false; }, { once: true });
}));

/** standard: the number of an earlier version, which is then shown as it said it. */
export async function reportRoom(place, id, question, standard) {
  const again = (number) => reportRoom(place, id, question, number);
  const [swing, report] = await Promise.all([get(`/v1/swings/${id}`), get(`/v1/swings/${id}/report${standard ? `?standard=${standard}` : ""}`)]);
  const [context, drawn] = await Promise.all([contextOf(swing.student_id, report, { from_swing: id }), pictures(swing, report, question)]);
  context.setAside = Boolean(swing.voided || standard); // nothing new begins with it
  const after = standard ? null : await afterSending(swing, context.student, question, () => again());
  show(place, setAside(swing), standard ? thenNotice(report.standard, () => again()) : null,
    sheet(report, context, drawn, [viewsOf(swing)], say("report.of", { name: context.student.name, at: moment(swing.recorded_at) }), question), after, standard ? null : earlierPart(report.standard, again));
}

/** Of a lesson; its student stands in the address. */
export async function lessonRoom(place, id, studentId, standard) {
  const again = (number) => lessonRoom(place, id, studentId, number);
  const report = await get(`/v1/lessons/${id}/report${standard ? `?standard=${standard}` : ""}`);
  const [context, drawn] = await Promise.all([contextOf(studentId, report, { from_lesson: id }), lessonPictures(id, studentId, report)]);
  context.setAside = Boolean(standard);
  show(place, standard ? thenNotice(report.standard, () => again()) : null,
    sheet(report, context, { first: null, others: drawn.nodes }, drawn.views, say("report.ofLesson", { name: context.student.name, day: day(report.recorded_at), n: report.swings })), standard ? null : earlierPart(report.standard, again));
}
