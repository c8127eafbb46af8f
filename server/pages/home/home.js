// A student's or guardian's homework: the drills, what to mind, ticking off, and whether it is moving.

import { AREAS } from "../lib/body.js";
import { all, call, get, newKey } from "../lib/api.js";
import { consentPart } from "../lib/consent.js";
import { $, announce, busy, el, field, show } from "../lib/dom.js";
import { begin, leave as signOff } from "../lib/session.js";
import { day, joined } from "../lib/units.js";
import { cautionItem, doseWords, drillWords } from "../lib/speech.js";
import { say, sayProblem, speak } from "../lib/words.js";
import { drillFigure, ticks } from "../lib/figures.js";
import { chart } from "../lib/chart.js";

const state = { student: null, shown: null, role: null };

const asked = () => (state.student ? `?student=${state.student}` : "");

function leave(problem) {
  if (problem.slug === "not-signed-in") location.replace("/");
  else $("#wrong").textContent = sayProblem(problem);
}

/** Ticking off: one key for each press, kept until it went through, so that a lost answer doubles nothing. */
function doneForm(homework) {
  const comment = el("input", { type: "text", maxlength: "500", autocomplete: "off" });
  const area = el("select", {}, el("option", { value: "" }, say("home.pain.none")), AREAS.map((name) => el("option", { value: name }, say(`area.${name}`))));
  const level = el("select", {}, el("option", { value: "" }, "–"), Array.from({ length: 10 }, (_, i) => el("option", { value: String(i + 1) }, String(i + 1))));
  const howMuch = field(say("home.pain.level"), level, say("home.pain.level.why"));
  const fit = () => {
    howMuch.hidden = area.value === "";
    level.required = area.value !== "";
  };
  area.addEventListener("input", fit);
  fit();
  const button = el("button", { type: "submit", class: "main" }, say("home.done"));
  let key = newKey();
  const send = async () => {
    const body = {
      ...(comment.value.trim() ? { comment: comment.value.trim() } : {}),
      ...(area.value ? { pain: { area: area.value, level: Number(level.value) } } : {}),
    };
    const { data } = await call("POST", `/v1/homework/${homework.id}/done`, { body, key });
    key = newKey();
    announce(say(data.paused ? "home.paused.said" : "home.done.said", { drill: homework.drill.name }), { urgent: data.paused });
    await load();
    if (data.paused) document.getElementById(`drill-${homework.id}`)?.focus(); // what to do now stands there
  };
  const submit = (event) => {
    event.preventDefault();
    busy(button, send).catch((problem) => {
      const arrived = problem.slug === "key-reused"; // the first press was heard after all: this one says more
      if (arrived) key = newKey();
      announce(arrived ? say("home.again") : sayProblem(problem), { urgent: true });
    });
  };
  return el("form", { class: "no-print", onsubmit: submit }, field(say("home.comment"), comment), field(say("home.pain"), area), howMuch, el("p", {}, button));
}

/** A drill that stands still: why, whom to see, and no more. */
function pausedCard({ id, drill, paused }) {
  const areas = joined(paused.areas.map((name) => say(`area.${name}`)));
  return el("article", { class: "card drill paused", "aria-labelledby": `drill-${id}` },
    el("h2", { id: `drill-${id}`, tabindex: "-1" }, drill.name),
    el("p", {}, el("strong", { class: "tag" }, say("home.paused"))),
    el("p", {}, paused.why === "pain" ? say("home.paused.pain", { level: paused.level, areas, day: day(paused.since) }) : say("home.paused.sore", { areas })),
    el("p", {}, say("home.paused.see")));
}

function drillCard(homework) {
  if (homework.paused) return pausedCard(homework);
  const { drill, dose, done } = homework;
  const only = drill.rehearsal_only ? el("p", {}, el("strong", { class: "tag" }, say("home.rehearsal"))) : null;
  const support = drill.beside_a_support ? el("p", {}, el("strong", { class: "tag" }, say("home.support"))) : null;
  return el("article", { class: "card drill", "aria-labelledby": `drill-${homework.id}` },
    el("h2", { id: `drill-${homework.id}` }, drill.name),
    el("p", { class: "fault" }, say("home.for", { fault: say(`fault.${homework.fault}`) })),
    drillFigure(drill.id, drill.name),
    only, support,
    el("p", {}, drill.how_to),
    drill.feel ? el("p", { class: "feel" }, `“${drill.feel}”`) : null,
    drill.cautions ? el("p", {}, el("strong", {}, say("home.mind")), " ", drill.cautions) : null,
    el("p", {}, doseWords(dose)),
    el("p", { class: "ticks" }, ticks(done.this_week, dose.sessions_per_week),
      say("home.week", { n: done.this_week, of: dose.sessions_per_week })),
    el("p", { class: "hint" }, say("home.retest", { day: day(homework.retest_at) })),
    doneForm(homework));
}

async function showProgress(student) {
  const fixes = await all(`/v1/students/${student}/fixes`, "fixes");
  const charts = [];
  for (const fix of fixes.slice(0, 4)) {
    try {
      const progress = await get(`/v1/students/${student}/progress?fix=${fix.id}`);
      if (progress.series.length > 0) charts.push(chart(progress, fix));
    } catch (problem) {
      if (problem.status !== 404) throw problem; // nothing was measured for this fix
    }
  }
  $("#progress").hidden = charts.length === 0;
  show($("#progress div"), charts);
}

async function load() {
  const sheet = await get(`/v1/me/homework${asked()}`);
  const student = await get(`/v1/students/${sheet.student_id}`);
  state.shown = sheet.student_id;
  $("#whom").textContent = say("home.whom", { name: student.name, day: day(Date.now()) });
  show($("#care ul"), sheet.cautions.map(cautionItem));
  $("#care").hidden = $("#tools").hidden = false;
  const cards = sheet.homework.filter((item) => !item.ended_at).map((item) => ({ ...item, drill: drillWords(item.drill) }))
    .sort((a, b) => Number(b.paused !== null) - Number(a.paused !== null)).map(drillCard); // what is paused is told first
  show($("#drills"), cards.length ? [el("p", { class: "hint" }, say("home.sides")), cards] : el("p", {}, say("home.nothing")));
  await showProgress(sheet.student_id);
  show($("#consents"), await consentPart(student, state.role, "h2"));
}

async function offerStudents(me) {
  if (me.role !== "guardian" || me.students.length < 2) return;
  const select = $("#whose");
  const names = await Promise.all(me.students.map((id) => get(`/v1/students/${id}`)));
  select.append(...names.map((student) => el("option", { value: student.id }, student.name)));
  select.hidden = false;
  state.student = select.value;
  select.addEventListener("change", () => {
    state.student = select.value;
    load().catch(leave);
  });
}

/** Everything the club keeps about the student, as a file. */
async function saveCopy() {
  const { data } = await call("GET", `/v1/students/${state.shown}/export`);
  const address = URL.createObjectURL(new Blob([JSON.stringify(data, null, 1)], { type: "application/json" }));
  el("a", { href: address, download: "leadside.json" }).click();
  setTimeout(() => URL.revokeObjectURL(address), 60000);
  announce(say("home.copy.saved"));
}

async function makeCalendar() {
  const { data } = await call("POST", "/v1/me/calendar", { body: state.student ? { student: state.student } : {}, key: newKey() });
  const link = el("a", { href: data.url_path }, location.origin + data.url_path);
  show($("#feed"), say("home.calendar.made"), " ", link);
  $("#feed").hidden = false;
  link.focus();
}

await speak();
$("#out").addEventListener("click", signOff);
$("#print").addEventListener("click", () => window.print());
$("#copy").addEventListener("click", (event) => busy(event.currentTarget, saveCopy).catch(leave));
$("#calendar").addEventListener("click", (event) => busy(event.currentTarget, makeCalendar).catch(leave));
try {
  const me = await get("/v1/me");
  state.role = me.role;
  begin(me);
  await offerStudents(me);
  await load();
} catch (problem) {
  leave(problem);
}
