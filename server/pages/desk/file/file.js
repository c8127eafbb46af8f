// A student's file: what is known, what hurts and was said, the team, notes, consents, swings, the record, and what happened.

import { get } from "../../lib/api.js";
import { carePlace, sorePlace } from "../../lib/care.js";
import { consentPart } from "../../lib/consent.js";
import { el, face, show } from "../../lib/dom.js";
import { faultName } from "../../lib/speech.js";
import { familyPart } from "../../lib/family.js";
import { notePart } from "../../lib/note.js";
import { retestPart } from "../../lib/retest.js";
import { transferPart } from "../../home/transfer.js";
import { day, daysSince, number } from "../../lib/units.js";
import { capital, say } from "../../lib/words.js";
import { listAddress } from "../roll.js";
import { changePart } from "./change.js";
import { birthForm } from "./birth.js";
import { recordPart } from "./records.js";
import { chartsOf, storyPart } from "./story.js";
import { swingsPart } from "./swings.js";
import { teamPart } from "./team.js";

function facts(student) {
  const rows = [
    [say("desk.change.number"), student.member_number],
    [say("desk.story.hand"), say(`hand.${student.hand}`)],
    [say("desk.change.height"), student.height_m ? number(student.height_m, 2) : null],
    [say("desk.change.handicap"), student.handicap === null ? null : number(student.handicap, 1)],
    [say("desk.story.wants"), student.wants],
    [say("desk.change.tendencies"), student.tendencies],
    [say("desk.story.junior"), student.junior ? [student.consent ? say("desk.story.consent") : say("desk.story.noConsent"), student.comes_of_age ? ` · ${say("desk.ofAge", { day: day(student.comes_of_age) })}` : null] : null],
  ];
  return el("dl", { class: "facts" }, rows.filter(([, value]) => value).map(([name, value]) => el("div", {}, el("dt", {}, name), el("dd", {}, value))));
}

const FAR = "2999-01-01T00:00:00Z"; // of whom is named alone, whoever is on the tee today

/** Who it is, and what is worked on; of who is in the archive the name alone. */
function whose(student, { students: [row] }) {
  const fix = row?.fix && [capital(faultName(row.fix)), " · ", say("desk.days", { n: daysSince(row.fix.opened_at) })];
  return el("div", { class: "who-row" }, face(row?.still, student.name), el("div", {}, el("h2", { tabindex: "-1" }, student.name), row ? el("p", {}, fix || say("bay.noFix")) : null));
}

/** beside: it stands at the side of the list, which has its own way back. */
export async function fileRoom(place, id, { beside = false } = {}) {
  const path = `/v1/students/${encodeURIComponent(id ?? "")}`;
  const [student, { coaches }, me, care, retests, today] = await Promise.all([get(path), get("/v1/overview?limit=1"), get("/v1/me"), carePlace(id), retestPart(id),
    get(`/v1/students/today?since=${FAR}&students=${encodeURIComponent(id ?? "")}`)]);
  const names = new Map(coaches.map((coach) => [coach.account_id, coach.name]));
  const again = () => fileRoom(place, id, { beside });
  const team = teamPart(id, coaches, me.id);
  const reopened = async () => {
    await again();
    place.querySelector("[data-part=story] h3")?.focus();
  };
  const story = storyPart(id, names, reopened);
  const swings = swingsPart(id, names);
  const charts = el("div");
  const course = transferPart(id);
  void course.load();
  const [consents] = await Promise.all([consentPart(student, "head"), story.load().then((fixes) => chartsOf(id, fixes)).then((made) => show(charts, made)), team.load(), swings.load()]);
  show(place,
    beside ? null : el("p", {}, el("a", { class: "button quiet", href: listAddress() }, say("common.back"))),
    whose(student, today), student.archived ? el("p", {}, el("strong", {}, say("desk.archivedSince", { day: day(student.archived) }))) : null, facts(student),
    el("div", { class: "file" },
      el("div", { class: "now", "data-part": "care", tabindex: "-1" }, sorePlace(student, care.again, care.told), care, retests),
      el("div", { class: "side" }, team.place, notePart(student, story.load), changePart(student, again), birthForm(student, again), familyPart(student), consents, swings.place, recordPart(student, again)),
      el("div", { class: "then" }, charts, course, story.place)));
}
