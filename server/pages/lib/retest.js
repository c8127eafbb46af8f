// When what is worked on is looked at again, what that look showed and proposes, and moving it. The bay and the desk share it.

import { all, call } from "./api.js";
import { announce, el, field, show } from "./dom.js";
import { sendForm } from "./forms.js";
import { faultName } from "./speech.js";
import { day } from "./units.js";
import { capital, say } from "./words.js";

const AHEAD_DAYS = 732;
const dateOf = (time) => new Date(time).toISOString().slice(0, 10);

/** What stands of it: planned, due, or seen with what it proposes and why. */
function told(retest) {
  if (retest.state !== "looked") return el("p", {}, retest.state === "due" ? el("strong", {}, say("care.retest.due", { day: day(retest.due_at) })) : say(`care.retest.${retest.state}`, { day: day(retest.due_at) }));
  return [el("p", {}, el("strong", {}, say(`care.retest.outcome.${retest.outcome}`)), " ", say(`care.retest.reason.${retest.reason}`)),
    el("p", {}, say(`care.retest.propose.${retest.proposal}`))];
}

function moveForm(retest, again) {
  const date = el("input", { name: "due_at", type: "date", required: true, min: dateOf(Date.now()), max: dateOf(Date.now() + AHEAD_DAYS * 86400000), value: retest.due_at.slice(0, 10) });
  const why = el("input", { name: "reason", required: true, maxlength: "500", autocomplete: "off" });
  const send = async () => {
    await call("PATCH", `/v1/retests/${retest.id}`, { body: { due_at: `${date.value}T12:00:00Z`, reason: why.value.trim() }, etag: `"${retest.version}"` });
    announce(say("care.retest.moved", { day: day(`${date.value}T12:00:00Z`) }));
    await again();
  };
  return el("details", {}, el("summary", {}, say("care.retest.move")), sendForm("retest", say("common.save"), send, field(say("care.retest.day"), date), field(say("care.retest.why"), why)));
}

/** The looks that are still to come or to be acted on; empty when nothing is worked on. changed: called when one was moved. */
export async function retestPart(student, changed) {
  const place = el("section", { class: "retests", "data-part": "retests" });
  const load = async () => {
    const open = (await all(`/v1/students/${student}/retests?limit=200`, "retests")).filter((retest) => !retest.ended_at);
    show(place, open.length ? [el("h3", { tabindex: "-1" }, say("care.retest")), open.map((retest) => el("article", { class: "card", "data-retest": retest.id },
      el("h4", {}, capital(faultName({ fault: retest.fault }))), told(retest),
      retest.moved_reason ? el("p", { class: "hint" }, say("care.retest.since", { day: day(retest.moved_at), why: retest.moved_reason })) : null, moveForm(retest, again)))] : "");
  };
  const again = async () => {
    await load();
    place.querySelector("h3")?.focus();
    await changed?.();
  };
  await load();
  place.again = load;
  return place;
}
