// Ticking a drill off.

import { call, newKey } from "../lib/api.js";
import { AREAS } from "../lib/body.js";
import { announce, busy, el, field } from "../lib/dom.js";
import { say, sayProblem } from "../lib/words.js";

/** One key for each press, kept until it went through, so that a lost answer doubles nothing. */
export function tickPart(homework, again) {
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
    await again();
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
