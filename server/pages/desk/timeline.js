// A student's whole story on one page: fixes, lessons, swings, notes and homework in the order they happened.

import { all, get } from "../lib/api.js";
import { carePlace, sorePlace } from "../lib/care.js";
import { consentPart } from "../lib/consent.js";
import { el, show } from "../lib/dom.js";
import { chart } from "../lib/chart.js";
import { drillName } from "../lib/speech.js";
import { day } from "../lib/units.js";
import { say } from "../lib/words.js";
import { birthForm } from "./birth.js";

function told(at, text, more) {
  return { at, node: el("li", {}, el("time", { datetime: at }, day(at)), el("div", {}, text), more ? el("div", { class: "hint" }, more) : null) };
}

function fixEvents(fix, names) {
  const by = names.get(fix.opened_by) ?? "?";
  const events = [told(fix.opened_at, say("desk.story.fix", { fault: say(`fault.${fix.fault}`), who: by }), [fix.history[0]?.reason, fix.overrule, fix.together, fix.waiting ? say("student.fix.waits") : null].filter(Boolean).join(" · "))];
  for (const item of fix.homework) events.push(told(item.given_at, say("desk.story.homework", { drill: drillName(item.drill, item.drill_name), n: item.done })));
  if (fix.ended_at) events.push(told(fix.ended_at, say("desk.story.ended", { fault: say(`fault.${fix.fault}`) }), fix.history.at(-1)?.reason));
  return events;
}

async function charts(id, fixes) {
  const made = [];
  for (const fix of fixes.slice(0, 6)) {
    try {
      const progress = await get(`/v1/students/${id}/progress?fix=${fix.id}`);
      if (progress.series.length > 0) made.push(chart(progress, fix));
    } catch (problem) {
      if (problem.status !== 404) throw problem;
    }
  }
  return made;
}

function facts(student) {
  const rows = [
    [say("desk.story.hand"), say(`hand.${student.hand}`)],
    [say("desk.story.wants"), student.wants],
    [say("desk.story.junior"), student.junior ? [student.consent ? say("desk.story.consent") : say("desk.story.noConsent"), student.comes_of_age ? ` · ${say("desk.ofAge", { day: day(student.comes_of_age) })}` : null] : null],
  ];
  return el("dl", {}, rows.filter(([, value]) => value).map(([name, value]) => [el("dt", {}, el("strong", {}, name)), el("dd", {}, value)]));
}

export async function timelineRoom(place, id) {
  const path = `/v1/students/${encodeURIComponent(id ?? "")}`;
  const [student, fixes, lessons, notes, accounts, care] = await Promise.all([
    get(path), all(`${path}/fixes`, "fixes"), all(`${path}/lessons`, "lessons"), all(`${path}/notes`, "notes"), all("/v1/accounts?limit=200", "accounts"), carePlace(id),
  ]);
  const names = new Map(accounts.map((account) => [account.id, account.name]));
  const events = [
    ...fixes.flatMap((fix) => fixEvents(fix, names)),
    ...lessons.map((lesson) => told(lesson.held_at, say("desk.story.lesson", { who: names.get(lesson.coach) ?? "?", n: lesson.swings }), lesson.note)),
    ...notes.map((note) => told(note.created, say("desk.story.note", { who: names.get(note.author) ?? "?" }), note.text)),
  ].sort((a, b) => (a.at < b.at ? 1 : -1));
  const agreed = el("div");
  show(place,
    el("p", {}, el("a", { class: "button", href: "#students" }, say("common.back"))),
    el("h2", {}, student.name), facts(student), birthForm(student, () => timelineRoom(place, id)), sorePlace(student, care.again), care, await charts(id, fixes),
    el("h3", {}, say("desk.story")),
    events.length ? el("ol", { class: "plain story" }, events.map((event) => event.node)) : el("p", {}, say("common.none")), agreed);
  show(agreed, await consentPart(student, "head"));
}
