// Fixes in a coach's hands: the drills of one that may be given, giving it, and ending one that is open.

import { all, call, newKey } from "../lib/api.js";
import { $, announce, busy, el, field, show } from "../lib/dom.js";
import { drillFigure } from "../lib/figures.js";
import { day, joined } from "../lib/units.js";
import { againstPlace, leftWords } from "../lib/care.js";
import { confirmWords, drillName, drillWords, faultName, levelWords } from "../lib/speech.js";
import { capital, say, sayProblem } from "../lib/words.js";

/** Another coach was first. */
export const isLate = ({ slug }) => ["fix-open", "two-fixes-open"].includes(slug);

const MOST_OPEN = 2; // the server opens no third

export const fail = (problem) => announce(sayProblem(problem), { urgent: true });

/** Every drill by its id, the retired too: a fix may still have one. */
export const allDrills = async () => new Map((await all("/v1/drills?limit=200&retired=true", "drills")).map((drill) => [drill.id, drillWords(drill)]));
export const openFixes = (student) => all(`/v1/students/${student}/fixes?status=open`, "fixes");

/** The open fixes of a student have changed: every place of the report that speaks of them is drawn anew. */
function nowOpen(context, open) {
  context.open = open;
  for (const draw of context.places) draw();
}

const isFull = (context) => context.open.length >= MOST_OPEN;

/** What the student is working on already; nothing when that is nothing. */
export function workedOn(context) {
  const place = el("div", { class: "worked" });
  const draw = () => show(place, context.open.length
    ? el("p", {}, say("report.working", { name: context.student.name, list: joined(context.open.map(faultName)) })) : "");
  context.places.push(draw);
  draw();
  return place;
}

/** In place of giving: that no more can be open, and the ends of those that are. */
function fullPlace(context, ended) {
  return el("div", { class: "full no-print" }, el("p", { tabindex: "-1" }, el("strong", {}, say("report.full"))),
    context.open.map((fix) => el("div", { role: "group", "data-fault": fix.fault, "aria-label": capital(faultName(fix)) },
      el("p", {}, say("report.full.open", { fault: capital(faultName(fix)), day: day(fix.opened_at) })),
      endings(fix, ["closed", "changed"], ended))));
}

/** A place where something may be given while fewer than two fixes are open: free() is what it then
 * shows, handed what to call when another coach was first. */
export function whileFree(context, free) {
  const place = el("div");
  let full = false;
  const draw = () => {
    if (!full && !isFull(context) && place.querySelector("input")?.value) return; // what was begun there stays
    full = isFull(context);
    show(place, full ? fullPlace(context, again) : free(again));
  };
  const again = async () => {
    nowOpen(context, await openFixes(context.student.id));
    place.querySelector("p[tabindex], select").focus();
  };
  context.places.push(draw);
  draw();
  return place;
}

/** Gives a fix; the fix as the server made it. */
export async function give(student, body) {
  const { data } = await call("POST", `/v1/students/${student}/fixes`, { body, key: newKey() });
  announce(say("report.given", { fault: faultName(data) }));
  return data;
}

/** How a drill is done, with its figure. drill: as the club keeps it; hand: whose it is. */
export function howTo(id, name, drill, hand) {
  return [drillFigure(id, name, hand)].concat(drill ? [
    el("p", {}, el("strong", {}, levelWords(drill.level)), drill.entry ? [" ", say("drill.entry", { entry: drill.entry })] : null),
    el("p", { class: "row" }, drill.ball ? null : el("strong", { class: "tag" }, say("home.rehearsal")), drill.balance || drill.kit.includes("support") ? el("strong", { class: "tag" }, say("home.support")) : null),
    el("p", {}, drill.how_to),
    drill.feel ? el("p", { class: "feel" }, el("q", {}, drill.feel)) : "",
    drill.pass ? el("p", {}, el("strong", {}, say("drill.pass", drill.pass)), " ", drill.pass.what) : "",
    drill.easier ? el("p", {}, el("strong", {}, say("drill.easier")), " ", drill.easier) : "",
    drill.cautions ? el("p", {}, el("strong", {}, say("home.mind")), " ", drill.cautions) : ""] : []);
}

/** What of a student's that hurts now a drill loads: more may hurt than when the report was made. */
const loadsOf = (id, context) => (context.drills.get(id)?.loads ?? []).filter((area) => context.student.pain?.includes(area));

/** A drill with how often; tick: whether it is given, when that is still to be said; word: why all the same, where it loads
 * what is sore or asks for balance. */
function drillPart(item, drill, hand, tick, word, sore = []) {
  const name = drillName(item.drill, item.name);
  return el("article", { class: "card drill" },
    el("h4", {}, name), howTo(item.drill, name, drill, hand),
    el("p", {}, say("student.dose", { n: item.dose.sessions_per_week, minutes: item.dose.minutes })),
    word ? [el("p", {}, el("strong", { class: "tag" }, say("report.word"))), item.confirm ? el("p", {}, confirmWords(item.confirm)) : item.confirm_why ? el("p", { class: "hint", lang: "en" }, item.confirm_why) : sore.length ? el("p", {}, say("report.word.sore", { areas: joined(sore.map((area) => say(`area.${area}`))) })) : null,
      field(say("report.word.why"), word)] : null,
    tick ? el("label", { class: "tick" }, tick, say("report.drill.give")) : null);
}

/** The drills of a fix with the last question: {node, focus()}. context: {student, source, open, drills, first}. */
function asking(fix, context, given, notNow, again) {
  const sore = fix.drills.map(({ drill }) => loadsOf(drill, context));
  const needs = fix.drills.map((drill, i) => drill.needs_confirmation || sore[i].length > 0);
  const words = needs.map((needed) => (needed ? el("input", { required: true, maxlength: "500" }) : null));
  const ticks = needs.map((needed) => (fix.drills.length > 1 ? el("input", { type: "checkbox", checked: !needed }) : null));
  const chosen = () => fix.drills.map(({ drill }, i) => ({ drill, ...(words[i] ? { confirm_reason: words[i].value.trim() } : {}) }))
    .filter((_, i) => ticks[i]?.checked ?? true);
  const second = fix.fault !== context.first;
  const why = second ? el("input", { required: true, maxlength: "500", value: context.open.some(({ fault }) => fault === context.first) ? say("report.secondWhy.open") : "" }) : null;
  const both = context.open.length > 0 ? el("input", { maxlength: "500" }) : null;
  const against = againstPlace();
  const told = el("p", { class: "hint", role: "status" });
  const sure = el("button", { class: "main", "data-key": "sure" }, say("report.sure"));
  const fit = () => {
    sure.disabled = chosen().length === 0;
    told.textContent = sure.disabled ? say("report.drill.one") : "";
    for (const [i, word] of words.entries()) if (word) word.required = ticks[i]?.checked ?? true;
  };
  for (const tick of ticks) tick?.addEventListener("change", fit);
  const send = async () => {
    const some = chosen().length < fix.drills.length || words.some(Boolean) ? { drills: chosen() } : {};
    given(await give(context.student.id, { fault: fix.fault, ...some, ...(both?.value.trim() ? { together: both.value.trim() } : {}), ...(why ? { overrule: why.value.trim() } : against.overrule()), ...context.source }));
  };
  const submit = (event) => {
    event.preventDefault();
    busy(sure, send).catch((problem) => {
      fail(problem);
      against.told(problem);
      return isLate(problem) ? again() : undefined;
    }).catch(fail);
  };
  if (fix.drills.length === 0 || needs.some(Boolean)) fit();
  const hurts = context.student.pain ?? [];
  const node = el("form", { onsubmit: submit },
    hurts.length ? el("p", { class: "sore" }, el("strong", {}, say("care.sore", { areas: joined(hurts.map((area) => say(`area.${area}`))) })), context.student.pain_note ? ` ${context.student.pain_note}` : "") : null,
    leftWords(context.left),
    fix.no_drill ? el("p", {}, el("strong", {}, say("report.noDrill"))) : null,
    el("div", { class: "drills" }, fix.drills.map((item, i) => drillPart(item, context.drills.get(item.drill), context.student.hand, ticks[i], words[i], sore[i]))),
    why ? field(say("report.secondWhy"), why) : null,
    both ? field(say("report.together"), both, say("report.together.why")) : null, against, told,
    el("p", { class: "row" }, sure, el("button", { type: "button", "data-key": "notNow", onclick: notNow }, say("report.notNow"))));
  const first = $("p, h4", node); // what hurts stands there, and the drills' names: to be read before yes is said
  first.tabIndex = -1;
  return { node, focus: () => first.focus() };
}

const runningDrills = (fix) => fix.homework.filter((item) => !item.ended_at);

/** A drill that may not be done now: it hurt, or loads what hurts and no coach has given his word. */
const isHeld = (item, context) => Boolean(item.paused_at) || (!item.confirmed && loadsOf(item.drill, context).length > 0);

/** The drills of an open fix, to show the student at once. */
function givenDrills(fix, context) {
  return el("div", { class: "drills no-print" }, runningDrills(fix)
    .map((item) => drillPart({ drill: item.drill, name: item.drill_name, dose: item }, context.drills.get(item.drill), context.student.hand)));
}

/** The place where a suggested fix is given, is said to be given, and can be taken back. */
export function givePlace(fix, context) {
  const place = el("div");
  let shown = null;
  const draw = (focus) => {
    const open = context.open.find(({ fault }) => fault === fix.fault);
    shown = open ? "open" : isFull(context) ? "full" : "free";
    if (open) {
      const line = el("p", { class: "given", tabindex: "-1" }, el("strong", {}, open.waiting ? say("report.isWaiting", { day: day(open.opened_at) })
        : runningDrills(open).some((item) => isHeld(item, context)) ? say("report.isHeld", { day: day(open.opened_at) })
          : say("report.isGiven", { n: runningDrills(open).length, day: day(open.opened_at) })));
      show(place, line, givenDrills(open, context), endings(open, ["changed"], again));
      if (focus) line.focus();
      return;
    }
    if (isFull(context)) {
      show(place, fullPlace(context, again));
      if (focus) place.querySelector("p[tabindex]").focus();
      return;
    }
    const begin = el("button", { type: "button", class: fix.fault === context.first ? "main" : "", "data-key": "give", onclick: ask }, say("report.give"));
    show(place, el("p", { class: "no-print" }, begin));
    if (focus) begin.focus();
  };
  const again = async () => {
    nowOpen(context, await openFixes(context.student.id));
    draw(true);
  };
  const given = (made) => {
    nowOpen(context, [...context.open, made]);
    draw(true);
  };
  const ask = () => {
    const { node, focus } = asking(fix, context, given, () => draw(true), again);
    show(place, el("div", { class: "no-print" }, node));
    focus();
  };
  context.places.push(() => {
    const free = !isFull(context) && !context.open.some(({ fault }) => fault === fix.fault);
    if (!free || shown !== "free") draw(false); // drills that are being looked at stay
  });
  draw(false);
  return place;
}

/** Why a fix is taken back, as it mostly is. */
const REASONS = ["marks", "first", "student"];

/** Ready reasons that fill the field, and leave the last question to be pressed. */
function readyReasons(why, sure) {
  const fill = (reason) => () => {
    why.value = reason;
    sure.focus();
  };
  return el("p", { class: "row", role: "group", "aria-label": say("student.why.ready") }, REASONS.map((reason) => say(`student.reason.${reason}`))
    .map((reason) => el("button", { type: "button", "data-key": "reason", onclick: fill(reason) }, reason)));
}

/** Buttons that end an open fix, each asking once more and for the reason. kinds: "closed" it is better, "changed" taken
 * back. ended: shows the open fixes anew. */
export function endings(fix, kinds, ended) {
  const place = el("div", { class: "no-print" });
  const draw = (focus) => {
    const buttons = kinds.map((kind) => el("button", { type: "button", "data-key": kind, onclick: () => ask(kind) }, say(`student.${kind}`)));
    show(place, el("p", { class: "row" }, buttons));
    if (focus) buttons[kinds.indexOf(focus)].focus();
  };
  const ask = (kind) => {
    const why = el("input", { required: true, maxlength: "500" });
    const sure = el("button", { class: "main", "data-key": `${kind}-sure` }, say(`student.sure.${kind}`));
    const end = async () => {
      await call("PATCH", `/v1/fixes/${fix.id}`, { body: { status: kind, reason: why.value.trim() }, etag: `"${fix.version}"` });
      announce(say("student.ended", { fault: faultName(fix) }));
      await ended();
    };
    const submit = (event) => {
      event.preventDefault();
      busy(sure, end).catch((problem) => {
        fail(problem);
        return problem.slug === "stale" ? ended() : undefined; // another coach was first: shown as it stands now
      }).catch(fail);
    };
    show(place, el("form", { onsubmit: submit }, field(say("student.why"), why, say("student.why.needed")), kind === "changed" ? readyReasons(why, sure) : null,
      el("p", { class: "row" }, sure, el("button", { type: "button", "data-key": "notNow", onclick: () => draw(kind) }, say("report.notNow")))));
    why.focus();
  };
  draw(null);
  return place;
}
