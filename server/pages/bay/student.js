// One student on the tee: what is being worked on, today's swings, a new swing, and the lesson judged together.

import { all, call, get, newKey } from "../lib/api.js";
import { announce, busy, el, show } from "../lib/dom.js";
import { list, take } from "../lib/keep.js";
import { moment } from "../lib/units.js";
import { say, sayProblem } from "../lib/words.js";
import { keepDraft, newDraft } from "./draft.js";

const DAY_MS = 86400000;

async function known(id) {
  try {
    return await get(`/v1/students/${id}`);
  } catch (problem) {
    const kept = problem.status === 0 ? await take("lists", "students") : null;
    const student = kept?.students.find((item) => item.id === id);
    if (!student) throw problem;
    return student;
  }
}

function fixCard(fix) {
  return el("article", { class: "card" }, el("h3", {}, fix.words),
    el("ul", {}, fix.homework.filter((item) => !item.ended_at).map((item) =>
      el("li", {}, say("bay.homework", { drill: item.drill_name, n: item.done })))));
}

function swingList(swings) {
  if (swings.length === 0) return el("p", { class: "hint" }, say("bay.noSwings"));
  return el("ul", { class: "plain names" }, swings.map((swing) =>
    el("li", {}, el("a", { class: "button", href: `#report/${swing.id}` }, say("bay.swingAt", { at: moment(swing.recorded_at) })))));
}

export async function studentRoom(place, id) {
  const student = await known(id);
  const begin = async () => {
    const draft = newDraft(student);
    await keepDraft(draft);
    location.hash = `#swing/${draft.id}`;
  };
  const fresh = el("button", { type: "button", class: "main", onclick: (event) => busy(event.currentTarget, begin) }, say("bay.newSwing"));
  const waiting = (await list("outbox")).filter((entry) => entry.student.id === id).length;
  show(place, el("p", {}, el("a", { class: "button", href: "#students" }, say("common.back"))), el("h2", {}, student.name),
    student.pain?.length ? el("p", {}, el("strong", {}, say("bay.sore", { areas: student.pain.join(", ") }))) : null,
    el("p", {}, fresh), waiting ? el("p", { role: "status" }, say("bay.waitingHere", { n: waiting })) : null);
  let fixes;
  let swings;
  try {
    [fixes, swings] = await Promise.all([all(`/v1/students/${id}/fixes?status=open`, "fixes"), all(`/v1/students/${id}/swings?limit=200`, "swings")]);
  } catch (problem) {
    if (problem.status !== 0) throw problem;
    place.append(el("p", { class: "hint" }, sayProblem(problem)));
    return;
  }
  const recent = swings.filter((swing) => Date.now() - Date.parse(swing.recorded_at) < DAY_MS);
  const loose = recent.filter((swing) => !swing.lesson_id);
  const judge = async () => {
    const { data } = await call("POST", `/v1/students/${id}/lessons`, { body: { swings: loose.map((swing) => swing.id) }, key: newKey() });
    location.hash = `#lesson/${data.id}/${id}`;
  };
  place.append(
    el("h3", {}, say("bay.fixes")), ...(fixes.length ? fixes.map(fixCard) : [el("p", { class: "hint" }, say("bay.noFix"))]),
    el("h3", {}, say("bay.today")), swingList(recent),
    loose.length ? el("p", {}, el("button", { type: "button", onclick: (event) => busy(event.currentTarget, judge).catch((problem) => announce(sayProblem(problem), { urgent: true })) },
      say("bay.judge", { n: loose.length }))) : el("span"),
    el("h3", {}, say("bay.earlier")), swingList(swings.filter((swing) => !recent.includes(swing)).slice(0, 12)));
}
