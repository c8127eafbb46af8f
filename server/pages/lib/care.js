// What staff do about pain: what waits to be read, what hurts, what students said of their drills, and setting a paused drill
// going again. The bay and the desk share it.

import { call, get } from "./api.js";
import { AREAS } from "./body.js";
import { announce, busy, el, face, field, show } from "./dom.js";
import { actButton } from "./forms.js";
import { hear, redraw } from "./live.js";
import { drillName, faultName } from "./speech.js";
import { day, joined, moment } from "./units.js";
import { capital, say, sayProblem } from "./words.js";


const fail = (problem) => announce(sayProblem(problem), { urgent: true });
const areasOf = (areas) => joined(areas.map((area) => say(`area.${area}`)));
const painOf = ({ area, level }) => say("care.pain", { area: say(`area.${area}`), level });

/** What was said with a tick: pain, how many came off, words. */
function saidOf(tick) {
  return [
    tick.pain?.level ? el("strong", { class: "pain" }, painOf(tick.pain)) : null,
    tick.passed ? el("span", {}, say("care.passed", tick.passed)) : null,
    tick.comment ? el("q", {}, tick.comment) : null,
  ].filter(Boolean).map((part) => [part, " "]);
}

/** One of what speaks against a fix, as the server lists it. */
const conflictWords = ({ kind, fault, drill, drill_name: name, areas }) => say(`care.conflict.${kind}`, {
  fault: fault ? capital(faultName({ fault })) : "", drill: drill ? drillName(drill, name) : "", areas: areasOf(areas) });
const conflictList = (conflicts) => el("ul", {}, conflicts.map((conflict) => el("li", {}, conflictWords(conflict))));

/** Where a fix is refused for what speaks against it: place.told(problem) shows that and asks why all the same, place.overrule() is what was said to it. */
export function againstPlace() {
  const place = el("div", { class: "against" });
  let why = null;
  place.overrule = () => (why ? { overrule: why.value.trim() } : {});
  place.told = ({ conflicts }) => {
    if (!conflicts) return;
    why = el("input", { required: true, maxlength: "500" });
    show(place, conflictList(conflicts), field(say("care.conflict.why"), why));
    why.focus();
  };
  return place;
}

/** What coaches tell each other: a hand-over, a fix that was opened against something, or is now open, closed or changed. */
const TOLD = ["handover", "handover_accepted", "handover_declined", "fix_conflict", "retest_due", "coming_of_age", "of_age", "consent_request"];
function toldOf({ kind, fix_status: status, by_name: name, note, fault, conflicts, scope, asked_at: asked, agreed, comes_of_age: adult }) {
  const parts = { by: name ?? say("care.told.somebody"), note: note ?? "", fault: fault ? faultName({ fault }) : "",
    scope: scope ? say(`consent.${scope}`) : "", day: adult || asked ? day(adult ?? asked) : "" };
  const told = TOLD.includes(kind) ? say(`care.told.${kind}`, parts) : kind === "consent_answered" ? say(`care.told.consent.${agreed ? "yes" : "no"}`, parts) : kind === "fix_changed" ? say(`care.changed.${status}`, parts) : null;
  return told ? [el("p", {}, told), conflicts ? conflictList(conflicts) : null] : null;
}

/** What coaches left for whoever comes after them: {handed, note}, the newest of each; undefined where there is none. */
export async function leftFor(student) {
  const [{ handovers }, { notes }] = await Promise.all([get(`/v1/students/${student}/handovers?limit=1`), get(`/v1/students/${student}/notes?limit=1`)]);
  return { handed: handovers[0]?.note ? handovers[0] : undefined, note: notes[0] };
}

/** The same in words; nothing where nothing was left. */
export const leftWords = ({ handed, note }) => (handed || note ? el("div", { class: "left" },
  handed ? el("p", {}, say("care.left.handed", { by: handed.from_name ?? say("care.told.somebody"), day: day(handed.created) }), " ", el("span", {}, handed.note)) : null,
  note ? el("p", {}, say("care.left.note", { day: day(note.created) }), " ", el("span", {}, note.text)) : null) : null);

/** The answer to a hand-over, in the inbox of the coach it is for, in the place of Seen: before yes is said there is no student's page
 * to open, and an offer that was only seen could be answered nowhere. What the head has answered meanwhile, or is gone, goes. */
function answerPart({ id, handover_id: handover, student_name: name }, again) {
  const answer = (status) => async () => {
    try {
      const { version } = await get(`/v1/handovers/${handover}`);
      await call("PATCH", `/v1/handovers/${handover}`, { body: { status }, etag: `"${version}"` });
      announce(say(`care.hand.${status}`, { name }));
    } catch (problem) {
      if (!["handover-answered", "not-found"].includes(problem.slug)) throw problem;
      fail(problem);
    }
    await call("POST", `/v1/inbox/${id}/seen`, { body: {} });
    await again();
  };
  return el("p", { class: "row" }, ["accepted", "declined"].map((status) => actButton(`hand-${status}`, say(status === "accepted" ? "desk.team.accept" : "desk.team.decline"), answer(status), { class: "" })));
}

/** What waits for the reader, place.ready when it is there: a count, and each with its Seen. link: the address of a student's page, for what the item is about.
 * whole: as a room of its own, which says so when nothing waits. */
export function inboxPlace(link, { whole = false } = {}) {
  let limit = whole ? 20 : 5;
  const place = el("section", { class: "inbox", "aria-labelledby": "inbox-title" });
  const line = (item) => {
    const offered = item.kind === "handover" && !whole;
    const button = el("button", { type: "button", "data-key": "seen" }, say("care.seen"));
    const answered = async () => {
      await load();
      place.querySelector("#inbox-title")?.focus();
    };
    const seen = async () => {
      await call("POST", `/v1/inbox/${item.id}/seen`, { body: {} });
      await answered();
    };
    button.addEventListener("click", () => busy(button, seen).catch(fail));
    button.setAttribute("aria-label", say("care.seenOf", { name: item.student_name, day: day(item.done_at ?? item.created) }));
    const about = item.drill_name ? drillName(item.drill, item.drill_name) : item.open_fault ? capital(faultName({ fault: item.open_fault })) : null;
    return el("li", { class: item.urgent ? "card urgent" : "card", "data-item": item.id }, face(item.still, item.student_name),
      el("div", {}, offered ? el("strong", { class: "who" }, item.student_name) : el("a", { class: "who", href: link(item.student_id, item) }, item.student_name), el("p", { class: "hint" }, [moment(item.done_at ?? item.created), about].filter(Boolean).join(" · "))),
      el("div", { class: "what" }, el("p", {}, saidOf(item)), toldOf(item), offered ? answerPart(item, answered) : null, item.paused ? el("p", {}, el("strong", {}, say("care.isPaused"))) : null), offered ? null : button);
  };
  const load = async () => {
    const { waiting, inbox } = await get(`/v1/inbox?limit=${limit}`);
    const more = () => {
      limit += 40;
      return load();
    };
    place.hidden = !whole && waiting === 0;
    redraw(place, el(whole ? "h2" : "h3", { id: "inbox-title", tabindex: "-1" }, waiting ? say("care.waits", { n: waiting }) : say("care.waitsNot")),
      el("ul", { class: "plain" }, inbox.map(line)),
      waiting > inbox.length && limit < 200 ? el("p", {}, el("button", { type: "button", onclick: (event) => busy(event.currentTarget, more).catch(fail) }, say("care.more"))) : null);
  };
  place.hidden = true;
  place.ready = load().catch((problem) => (problem.status === 0 ? undefined : fail(problem)));
  hear(place, ["inbox", "homework", "fix", "handover", "retest", "student", "students"], load);
  return place;
}

const FRESH_MS = 14 * 86400000; // so long what was told of pain stands beside what is known to be sore

/** The newest that was told of each area, where it hurt then: [{area, level, at}]. */
function toldOfPain(homework) {
  const newest = new Map();
  for (const { pain, done_at: at } of homework.flatMap(({ ticks }) => ticks)) {
    if (pain && !(newest.get(pain.area)?.at > at)) newest.set(pain.area, { ...pain, at });
  }
  return [...newest.values()].filter(({ level, at }) => level > 0 && Date.now() - Date.parse(at) < FRESH_MS);
}

/** What hurts, by area, with a note; behind a button. changed: called with the student as it then is. told: what the student
 * said of pain lately; place.heard(told) draws it when it comes later. */
export function sorePlace(student, changed, told = null) {
  const place = el("div", { class: "sore" });
  let heard = told;
  let shown = student;
  const draw = (now, focus) => {
    const begin = el("button", { type: "button", "data-key": "sore", onclick: () => ask(now) }, say("care.change"));
    shown = now;
    const known = now.pain?.length ? el("strong", {}, say("care.sore", { areas: areasOf(now.pain) })) : heard?.length === 0 ? say("care.notSore") : null;
    show(place, known || now.pain_note ? el("p", {}, known, now.pain_note ? ` ${now.pain_note}` : "") : null,
      heard?.length ? el("p", {}, el("strong", { class: "pain" }, heard.map((pain) => say("care.toldPain", { area: say(`area.${pain.area}`), level: pain.level, day: day(pain.at) })).join(" "))) : null,
      el("p", {}, begin));
    if (focus) begin.focus();
  };
  const ask = (now) => {
    const ticks = AREAS.map((area) => el("input", { type: "checkbox", checked: now.pain?.includes(area) ?? false, value: area }));
    const note = el("input", { maxlength: "500", value: now.pain_note ?? "", autocomplete: "off" });
    const sure = el("button", { class: "main", "data-key": "sore-sure" }, say("care.keep"));
    const send = async () => {
      const { etag } = await call("GET", `/v1/students/${now.id}`);
      const body = { pain: ticks.filter((tick) => tick.checked).map((tick) => tick.value), pain_note: note.value.trim() || null };
      const { data } = await call("PATCH", `/v1/students/${now.id}`, { body, etag });
      announce(say("care.kept"));
      draw(data, true);
      await changed?.(data);
    };
    const submit = (event) => {
      event.preventDefault();
      busy(sure, send).catch(fail);
    };
    show(place, el("form", { class: "card", onsubmit: submit }, el("fieldset", {}, el("legend", {}, say("care.where")),
      ticks.map((tick, i) => el("label", { class: "tick" }, tick, say(`area.${AREAS[i]}`)))), field(say("care.note"), note),
    el("p", { class: "row" }, sure, el("button", { type: "button", "data-key": "notNow", onclick: () => draw(now, true) }, say("report.notNow")))));
    ticks[0].focus();
  };
  draw(student, false);
  place.heard = (now) => {
    heard = now;
    if (!place.querySelector("form")) draw(shown, false);
  };
  return place;
}

/** Why a drill stands still. */
const pausedWords = (paused) => (paused.why === "pain"
  ? say("care.paused.pain", { level: paused.level, areas: areasOf(paused.areas), day: day(paused.since) })
  : say("care.paused.sore", { areas: areasOf(paused.areas) }));

/** Setting a paused drill going again, with a reason. */
function goOn(item, again) {
  const place = el("div");
  const draw = () => show(place, el("p", {}, el("button", { type: "button", "data-key": "resume", onclick: ask }, say("care.resume"))));
  const ask = () => {
    const why = el("input", { required: true, maxlength: "500" });
    const sure = el("button", { class: "main", "data-key": "resume-sure" }, say("care.resume.sure"));
    const send = async () => {
      await call("PATCH", `/v1/homework/${item.id}`, { body: { paused: false, reason: why.value.trim() }, etag: `"${item.version}"` });
      announce(say("care.resumed", { drill: drillName(item.drill.id, item.drill.name) }));
      await again();
    };
    const submit = (event) => {
      event.preventDefault();
      busy(sure, send).catch(fail);
    };
    show(place, el("form", { onsubmit: submit }, field(say("care.resume.why"), why, say("care.resume.mind")),
      el("p", { class: "row" }, sure, el("button", { type: "button", "data-key": "notNow", onclick: draw }, say("report.notNow")))));
    why.focus();
  };
  draw();
  return place;
}

const PASS_DAYS = 3; // one good day is luck

/** Passed on days enough, with a drill that comes after it: what to give next; nothing else. */
function nextStep({ drill: { next }, dose: { pass }, ticks }) {
  if (!pass || !next) return null;
  const days = new Set(ticks.filter(({ passed }) => passed && passed.n * pass.of >= pass.n * passed.of).map((tick) => day(tick.done_at)));
  return days.size >= PASS_DAYS ? el("p", {}, el("strong", {}, say("care.nextStep", { n: days.size, drill: drillName(next.id, next.name) }))) : null;
}

function drillCare(item, again) {
  const told = item.ticks.filter((tick) => tick.comment || tick.passed || tick.pain?.level);
  if (!item.paused && !item.resumed_at && told.length === 0) return null;
  return el("article", { class: "card" }, el("h4", {}, drillName(item.drill.id, item.drill.name)),
    item.paused ? [el("p", {}, el("strong", {}, pausedWords(item.paused))), goOn(item, again)] : null,
    !item.paused && item.resumed_at ? el("p", {}, say("care.resumed.since", { day: day(item.resumed_at), why: item.resumed_reason })) : null,
    item.paused || item.ended_at ? null : nextStep(item),
    told.length ? el("ul", { class: "plain" }, told.map((tick) => el("li", {}, day(tick.done_at), ": ", saidOf(tick)))) : null);
}

/** What the student said of the drills that stand, and those that are paused. Empty when there is nothing. place.told: of pain, lately. */
export async function carePlace(student) {
  const place = el("section", { class: "care" });
  const load = async () => {
    const { homework } = await get(`/v1/students/${student}/homework`);
    const cards = homework.map((item) => drillCare(item, again)).filter(Boolean);
    place.told = toldOfPain(homework);
    show(place, cards.length ? [el("h3", { tabindex: "-1" }, say("care.said")), cards] : "");
  };
  const again = async () => {
    await load();
    place.querySelector("h3[tabindex]")?.focus();
  };
  await load();
  place.again = load;
  return place;
}
