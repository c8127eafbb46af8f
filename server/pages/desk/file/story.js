// What happened with a student, newest first: fixes, lessons, notes, homework, what the student said of it, and who handed over.

import { all, get } from "../../lib/api.js";
import { chart } from "../../lib/chart.js";
import { el, show } from "../../lib/dom.js";
import { drillName, faultName } from "../../lib/speech.js";
import { day } from "../../lib/units.js";
import { say } from "../../lib/words.js";
import { reopenPlace } from "./reopen.js";

const CHARTS = 6;

function told(at, text, more, mark, deed) {
  return { at, node: el("li", { class: mark }, el("time", { datetime: at }, day(at)), el("div", {}, text), more ? el("div", { class: "hint" }, more) : null, deed) };
}

/** reopen: what opens one again that has ended. */
function fixEvents(fix, names, reopen) {
  const by = names.get(fix.opened_by) ?? "?";
  const events = [told(fix.opened_at, say("desk.story.fix", { fault: faultName(fix), who: by }), [fix.history[0]?.reason, fix.overrule, fix.together, fix.waiting ? say("student.fix.waits") : null].filter(Boolean).join(" · "))];
  for (const item of fix.homework) events.push(told(item.given_at, say("desk.story.homework", { drill: drillName(item.drill, item.drill_name), n: item.done })));
  if (fix.ended_at) events.push(told(fix.ended_at, say("desk.story.ended", { fault: faultName(fix) }), fix.history.at(-1)?.reason, undefined, reopen));
  return events;
}

/** What was said with a tick, where something was. */
function tickEvents(item) {
  return item.ticks.filter((tick) => tick.comment || tick.pain?.level).map((tick) => told(tick.done_at,
    say("desk.story.said", { drill: drillName(item.drill.id, item.drill.name) }),
    [tick.pain?.level ? say("care.pain", { area: say(`area.${tick.pain.area}`), level: tick.pain.level }) : null, tick.comment ? `“${tick.comment}”` : null].filter(Boolean).join(" "),
    tick.pain?.level ? "hurt" : undefined));
}

/** The main measure of the newest fixes over time; of one that can't be drawn there is none. */
export async function chartsOf(id, fixes) {
  const made = await Promise.all(fixes.slice(0, CHARTS).map(async (fix) => {
    try {
      const progress = await get(`/v1/students/${id}/progress?fix=${fix.id}`);
      return progress.series.length > 0 ? chart(progress, fix) : null;
    } catch (problem) {
      if (problem.status !== 404) throw problem;
      return null;
    }
  }));
  return made.filter(Boolean);
}

/** names: of coaches, by id. reopened: called when a fix is open again. */
export function storyPart(id, names, reopened) {
  const path = `/v1/students/${id}`;
  const place = el("section", { "data-part": "story" });
  const load = async () => {
    const [fixes, lessons, notes, homework, handovers] = await Promise.all([all(`${path}/fixes?limit=200`, "fixes"), all(`${path}/lessons?limit=200`, "lessons"), all(`${path}/notes?limit=200`, "notes"),
      get(`${path}/homework?all=true`), all(`${path}/handovers?limit=200`, "handovers")]);
    const events = [
      ...fixes.flatMap((fix, i) => fixEvents(fix, names, fix.ended_at && !fixes.slice(0, i).some(({ fault }) => fault === fix.fault) ? reopenPlace(fix, reopened) : null)),
      ...homework.homework.flatMap(tickEvents),
      ...lessons.map((lesson) => told(lesson.held_at, say("desk.story.lesson", { who: names.get(lesson.coach) ?? "?", n: lesson.swings }), lesson.note)),
      ...notes.map((note) => told(note.created, say("desk.story.note", { who: names.get(note.author) ?? "?" }), note.text)),
      ...handovers.map((item) => told(item.created, say("desk.team.offered", { from: item.from_name ?? "?", to: item.to_name ?? "?", day: day(item.created) }), item.note)),
    ].sort((a, b) => (a.at < b.at ? 1 : -1));
    show(place, el("h3", { tabindex: "-1" }, say("desk.story")), events.length ? el("ol", { class: "plain story" }, events.map((event) => event.node)) : el("p", {}, say("common.none")));
    return fixes;
  };
  return { place, load };
}
