// One student on the tee: what is being worked on, today's swings, a new swing, and the lesson judged together.

import { all, call, get, newKey } from "../lib/api.js";
import { carePlace, leftFor, leftWords, sorePlace } from "../lib/care.js";
import { consentPart } from "../lib/consent.js";
import { $, busy, el, face, show } from "../lib/dom.js";
import { familyPart } from "../lib/family.js";
import { notePart } from "../lib/note.js";
import { retestPart } from "../lib/retest.js";
import { drillName, faultName } from "../lib/speech.js";
import { keeper, takeList } from "../lib/storage.js";
import { day, moment } from "../lib/units.js";
import { capital, say, sayProblem } from "../lib/words.js";
import { newDraft } from "./draft.js";
import { allDrills, endings, fail, howTo, openFixes } from "./fix.js";
import { remembered, toTee } from "./lesson.js";
import { outbox } from "./outbox.js";
import { askToStay } from "./room.js";
import { waitingOf } from "./waiting.js";

const DAY_MS = 86400000;
const EARLIER = 12; // so many swings and lessons of other days are listed

async function known(id) {
  try {
    return await get(`/v1/students/${id}`);
  } catch (problem) {
    const kept = problem.status === 0 ? await takeList("students") : null;
    const student = kept?.students.find((item) => item.id === id);
    if (!student) throw problem;
    return student;
  }
}

/** A drill with how often and how often it was done; how it goes is folded beneath. */
const drillLine = (item, drills, hand) => el("details", { class: "card drill" }, el("summary", {}, drillName(item.drill, item.drill_name),
  `: ${say("student.dose", { n: item.sessions_per_week, minutes: item.minutes })}; ${item.done ? say("student.done", { n: item.done, week: item.done_this_week }) : say("student.notDone")}`),
howTo(item.drill, drillName(item.drill, item.drill_name), drills.get(item.drill), hand));

/** An open fix with its drills, how they are done, and its two ends. */
function fixCard(fix, drills, hand, again) {
  const homework = fix.homework.filter((item) => !item.ended_at);
  const retest = homework.map((item) => item.retest_at).sort().at(-1);
  return el("article", { class: "card", "data-fault": fix.fault }, el("h4", {}, capital(faultName(fix))),
    fix.waiting ? el("p", {}, el("strong", { class: "tag" }, say("student.fix.waits"))) : null,
    homework.map((item) => drillLine(item, drills, hand)),
    retest ? el("p", { class: "hint" }, say(Date.parse(retest) <= Date.now() ? "student.sinceDue" : "student.since", { day: day(fix.opened_at), retest: day(retest) })) : null,
    endings(fix, ["closed", "changed"], again));
}

const newestFirst = (items, at) => [...items].sort((a, b) => (a[at] < b[at] ? 1 : -1));

function linkList(items, linkOf) {
  if (items.length === 0) return el("p", { class: "hint" }, say("bay.noSwings"));
  return el("ul", { class: "plain names" }, items.map((item) => {
    const { href, text, still } = linkOf(item);
    return el("li", {}, el("a", { class: "button", href }, still ? face(still, text) : null, text));
  }));
}

const swingLink = (swing) => ({ href: `#report/${swing.id}`, still: swing.still, text: say(swing.voided ? "student.swingAside" : "student.swingAt", { at: moment(swing.recorded_at) }) });

export async function studentRoom(place, id) {
  const student = await known(id);
  void toTee(id);
  const begin = async () => {
    void askToStay();
    const draft = newDraft(student, await remembered(student.id));
    location.hash = `#swing/${draft.id}`;
  };
  const fresh = el("button", { type: "button", class: "main", onclick: (event) => busy(event.currentTarget, begin) }, say("bay.newSwing"));
  const agreed = el("div"); // filled last: the room does not wait for it
  const unasked = el("p", { class: "wrong", "data-part": "unasked" }, say("bay.unasked"), " ",
    el("button", { type: "button", class: "quiet", onclick: () => $("[data-scope=store_pictures] [tabindex]", agreed)?.focus() }, say("bay.unasked.go")));
  const mayFilm = (pictures) => { // of a child without a guardian's yes the server takes no swing: nobody films it for nothing
    unasked.hidden = !(fresh.hidden = student.junior && pictures === false);
  };
  mayFilm(student.pictures);
  let care;
  const soreHere = sorePlace(student, () => care?.again());
  const unsent = (await outbox()).filter((entry) => entry.student.id === id);
  const refused = unsent.filter((entry) => entry.state === "refused").length;
  const waiting = unsent.length - refused;
  const together = (await waitingOf(id)).length;
  show(place, el("div", { class: "whose" }, el("a", { class: "button quiet", href: "#students" }, say("common.back")), el("h2", { tabindex: "-1" }, student.name), fresh),
    unasked, soreHere, waiting ? el("p", { role: "status" }, say("bay.waitingHere", { n: waiting })) : null,
    together > 1 ? el("p", {}, el("a", { class: "button", href: `#together/${id}` }, say("student.judge", { n: together }))) : null,
    refused ? el("p", { class: "wrong" }, el("a", { href: "#outbox" }, say("bay.refusedHere", { n: refused }))) : null);
  let fixes;
  let drills;
  let swings;
  let lessons;
  let left;
  let retests;
  try {
    [fixes, drills, care, retests, swings, lessons, left] = await Promise.all([openFixes(id), allDrills(), carePlace(id), retestPart(id, async () => drawFixes(await openFixes(id))),
      all(`/v1/students/${id}/swings?limit=200`, "swings"), get(`/v1/students/${id}/lessons?limit=${EARLIER}`), leftFor(id)]);
  } catch (problem) {
    if (problem.status !== 0) throw problem;
    place.append(el("p", { class: "hint" }, sayProblem(problem)));
    return;
  }
  soreHere.heard(care.told);
  const worked = el("div");
  const drawFixes = (open) => show(worked, open.length ? [...open].sort((a, b) => Number(a.waiting) - Number(b.waiting)).map((fix) => fixCard(fix, drills, student.hand, async () => {
    drawFixes(await openFixes(id));
    await Promise.all([care.again(), retests.again()]);
    heading.focus();
  })) : el("p", { class: "hint" }, say("bay.noFix")));
  const heading = el("h3", { tabindex: "-1" }, say("bay.fixes"));
  drawFixes(fixes);
  const told = el("div");
  const drawLeft = (now) => show(told, leftWords(now) ?? "");
  drawLeft(left);
  const write = el("details", { class: "write" }, el("summary", {}, say("note.write")), notePart(student, async () => drawLeft(await leftFor(id))));
  const course = el("section", { id: "round", "aria-labelledby": "round-title", hidden: true });
  const sorted = newestFirst(swings, "recorded_at");
  const recent = sorted.filter((swing) => Date.now() - Date.parse(swing.recorded_at) < DAY_MS);
  const loose = recent.filter((swing) => !swing.lesson_id && !swing.voided);
  const judge = async () => {
    const { data } = await call("POST", `/v1/students/${id}/lessons`, { body: { swings: loose.map((swing) => swing.id) }, key: newKey() });
    location.hash = `#lesson/${data.id}/${id}`;
  };
  const lessonLink = (lesson) => ({ href: `#lesson/${lesson.id}/${id}`, text: say("student.lessonOf", { day: day(lesson.held_at), n: lesson.swings }) });
  place.append(
    told, write, care, heading, worked, retests, course,
    el("h3", {}, say("bay.today")), linkList(recent, swingLink),
    loose.length ? el("p", {}, el("button", { type: "button", "data-key": "judge", onclick: (event) => busy(event.currentTarget, judge).catch(fail) },
      say("student.judge", { n: loose.length }))) : "",
    ...(lessons.lessons.length ? [el("h3", {}, say("student.lessons")), linkList(newestFirst(lessons.lessons, "held_at"), lessonLink)] : []),
    el("h3", {}, say("bay.earlier")), linkList(sorted.filter((swing) => !recent.includes(swing)).slice(0, EARLIER), swingLink), familyPart(student), agreed);
  import("../home/round.js").then(({ showRound }) => { // the list of students does without it, and nothing here waits for it
    if (course.isConnected) showRound({ account: keeper(), student: id, own: false });
  }).catch(fail);
  show(agreed, await consentPart(student, "coach", { drawn: mayFilm }));
}
