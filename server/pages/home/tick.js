// Ticking a drill off in two taps: that it was done and how many of ten came off, or that it hurts, where and how much. What was
// ticked by mistake is taken back; more than the dose is asked about first.

import { call, newKey } from "../lib/api.js";
import { AREAS } from "../lib/body.js";
import { announce, busy, el, field, show } from "../lib/dom.js";
import { say, sayProblem } from "../lib/words.js";

const TEN = 10;
const upTo = (most) => Array.from({ length: most + 1 }, (_, n) => n);

let last = null; // what was ticked off here last, and may be taken back: {homework, tick}

const fail = (problem) => announce(sayProblem(problem), { urgent: true });

/** Buttons to choose one of; pressed: called with the value and its button. */
const choice = (label, values, name, pressed) => el("div", { class: "choice", role: "group", "aria-label": label }, values.map((value) =>
  el("button", { type: "button", [`data-${name}`]: String(value), onclick: (event) => pressed(value, event.currentTarget) }, typeof value === "number" ? String(value) : say(`area.${value}`))));

const question = (text) => el("p", { class: "asks", tabindex: "-1" }, el("strong", {}, text));

/** homework: one that runs. again: shows the sheet anew. */
export function tickPart(homework, again) {
  const panel = el("div", { class: "panel" });
  const comment = el("input", { type: "text", maxlength: "500", autocomplete: "off" });
  let key = newKey(); // one for each press, kept until it went through, so that a lost answer doubles nothing

  const send = (button, said) => busy(button, async () => {
    const body = { ...said, ...(comment.value.trim() ? { comment: comment.value.trim() } : {}) };
    const { data } = await call("POST", `/v1/homework/${homework.id}/done`, { body, key });
    last = { homework: homework.id, tick: data.pain ? null : data.id };
    await again();
    if (data.paused) announce(say("home.paused.said", { drill: homework.drill.name }), { urgent: true });
    document.getElementById(data.paused ? `drill-${homework.id}` : `said-${homework.id}`)?.focus(); // what to do now stands there
  }).catch((problem) => {
    const arrived = problem.slug === "key-reused"; // the first press was heard after all: this one says more
    if (arrived) key = newKey();
    announce(arrived ? say("home.again") : sayProblem(problem), { urgent: true });
  });

  const close = () => {
    show(panel);
    did.focus();
  };
  const open = (...parts) => {
    show(panel, ...parts);
    panel.querySelector(".asks").focus();
  };
  const notNow = (key = "home.notNow") => el("button", { type: "button", "data-key": "not-now", onclick: close }, say(key));

  const { pass } = homework.drill;
  const { of: tries = TEN } = homework.dose.pass ?? {};
  const of = tries <= 20 ? tries : TEN;
  const askCount = () => open(question(say("home.passed", { of })), pass ? el("p", {}, pass.what) : null,
    choice(say("home.passed", { of }), upTo(of), "passed", (n, button) => send(button, { passed: { of, n } })),
    el("p", { class: "row" }, el("button", { type: "button", "data-key": "uncounted", onclick: (event) => send(event.currentTarget, {}) }, say("home.uncounted")), notNow()),
    field(say("home.comment"), comment, say("home.comment.first")));

  const askMore = () => open(question(say("home.enough", { n: homework.dose.sessions_per_week })),
    el("p", { class: "row" }, el("button", { type: "button", "data-key": "more-still", onclick: askCount }, say("home.enough.still")), notNow("home.enough.leave")));

  const askPain = () => {
    let area = null;
    const levels = choice(say("home.pain.level"), upTo(TEN), "level", (level, button) => send(button, { pain: { area, level } }));
    levels.querySelectorAll("button").forEach((button) => { button.disabled = true; });
    const areas = choice(say("home.pain.where"), AREAS, "area", (chosen, button) => {
      area = chosen;
      areas.querySelectorAll("button").forEach((other) => other.setAttribute("aria-pressed", String(other === button)));
      levels.querySelectorAll("button").forEach((other) => { other.disabled = false; });
    });
    open(question(say("home.pain.where")), areas, el("p", {}, el("strong", {}, say("home.pain.level")), " ", say("home.pain.level.why")), levels,
      el("p", {}, notNow()), field(say("home.comment"), comment, say("home.comment.first")));
  };

  const undo = (event) => busy(event.currentTarget, async () => {
    await call("DELETE", `/v1/homework/${homework.id}/done/${last.tick}`);
    last = null;
    await again();
    announce(say("home.undone", { drill: homework.drill.name }));
    document.querySelector(`[data-done="${homework.id}"]`)?.focus();
  }).catch(fail);

  const did = el("button", { type: "button", class: "main", "data-done": homework.id, onclick: () => (homework.done.this_week < homework.dose.sessions_per_week ? askCount() : askMore()) }, say("home.done"));
  const hurts = el("button", { type: "button", "data-key": "hurts", onclick: askPain }, say("home.pain"));
  const said = last?.homework === homework.id ? el("p", { class: "row", id: `said-${homework.id}`, role: "status", tabindex: "-1" }, say("home.done.said", { drill: homework.drill.name }),
    last.tick ? el("button", { type: "button", "data-key": "undo", onclick: undo }, say("home.undo")) : null) : null;
  return el("div", { class: "do no-print" }, panel, said, el("p", { class: "row" }, did, hurts));
}
