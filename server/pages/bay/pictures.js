// Measures drawn where they were read: the measured line on the checkpoint's still, the good range as a wedge, value and word.

import { call, get } from "../lib/api.js";
import { announce, busy, el, show, svg } from "../lib/dom.js";
import { margin, measure, moment } from "../lib/units.js";
import { say, sayProblem } from "../lib/words.js";

const middle = (a, b) => (a && b ? { u: (a.u + b.u) / 2, v: (a.v + b.v) / 2 } : null);

/** The line of a measure in a frame's points: [from, to], or null when they were not marked. */
const LINES = {
  shaft_plan: (p) => [p.grip, p.clubhead],
  shaft_cross: (p) => [p.grip, p.clubhead],
  shaft_elevation: (p) => [p.grip, p.clubhead],
  shaft_steepness: (p) => [p.grip, p.clubhead],
  spine_tilt: (p) => [middle(p.lead_hip, p.trail_hip), p.neck],
  spine_change: (p) => [middle(p.lead_hip, p.trail_hip), p.neck],
  trunk_lean: (p) => [middle(p.lead_hip, p.trail_hip), p.neck],
  shoulder_plane: (p) => [p.trail_shoulder, p.lead_shoulder],
  lead_elbow_bend: (p) => [p.lead_shoulder, p.lead_elbow],
};
const VIEW_OF = { trunk_lean: "face_on", lead_elbow_bend: "face_on" };
/** Angles from the vertical, which a wedge can show; which way + leans in the picture of a right-hander. */
const WEDGES = { spine_tilt: 1, trunk_lean: -1 };

const marks = (frame) => Object.fromEntries(Object.entries(frame?.points ?? {}).map(([name, [u, v]]) => [name, { u, v }]));

function wedge(from, length, [low, high], sign) {
  const end = (deg) => {
    const a = (sign * deg * Math.PI) / 180;
    return `${from.u + length * Math.sin(a)} ${from.v - length * Math.cos(a)}`;
  };
  return svg("path", { d: `M${from.u} ${from.v} L${end(low)} A${length} ${length} 0 0 ${sign > 0 ? 1 : 0} ${end(high)} Z`, class: "range" });
}

function drawing(item, frame, document, view) {
  const line = LINES[item.measure]?.(marks(frame));
  if (!line?.[0] || !line[1]) return null;
  const [from, to] = line;
  const size = view.image.width / 30;
  const length = Math.hypot(to.u - from.u, to.v - from.v);
  const sign = (WEDGES[item.measure] ?? 0) * (document.hand === "left" ? -1 : 1);
  return svg("g", {},
    sign && item.ok?.[0] !== null && item.ok?.[1] !== null && item.ok ? wedge(from, length, item.ok, sign) : null,
    svg("line", { x1: from.u, y1: from.v, x2: to.u, y2: to.v, class: "under" }),
    svg("line", { x1: from.u, y1: from.v, x2: to.u, y2: to.v, class: "over" }),
    svg("text", { x: Math.min(to.u + size / 2, view.image.width * 0.7), y: Math.max(size, to.v), "font-size": size, class: "under" }, measure(item.value, item.unit)),
    svg("text", { x: Math.min(to.u + size / 2, view.image.width * 0.7), y: Math.max(size, to.v), "font-size": size }, measure(item.value, item.unit)));
}

function picture(swing, view, frame, items, name) {
  const drawn = items.map((item) => drawing(item, frame, swing.document, view)).filter(Boolean);
  if (drawn.length === 0) return null;
  const { width, height } = view.image;
  const label = `${name ? `${name}: ` : ""}${say(`checkpoint.${frame.checkpoint}`)}, ${say(`view.${view.view}`)}`;
  return el("figure", { class: "card still" },
    svg("svg", { viewBox: `0 0 ${width} ${height}`, role: "img", "aria-label": label },
      svg("image", { href: `/v1/swings/${swing.id}/stills/${view.view}-${frame.checkpoint}`, width, height }), drawn),
    el("figcaption", {}, el("strong", {}, label),
      el("ul", {}, items.map((item) => el("li", {}, `${item.words}: ${measure(item.value, item.unit)} ${margin(item.sd, item.unit)} `,
        item.word ? el("span", { class: `severity ${item.word}` }, say(`severity.${item.word}`)) : null)))));
}

/** The stills that were sent of a swing; none when the server knows of none. */
async function sent(id) {
  try {
    return (await get(`/v1/swings/${id}/stills`)).stills;
  } catch (problem) {
    if (problem.status === 404) return [];
    throw problem;
  }
}

function drawn(swing, report, stills, name) {
  const there = new Set(stills.map((still) => `${still.view}-${still.checkpoint}`));
  return (swing.document?.views ?? []).flatMap((view) => view.frames
    .filter((frame) => there.has(`${view.view}-${frame.checkpoint}`))
    .map((frame) => picture(swing, view, frame, report.measures.filter((item) =>
      item.checkpoint === frame.checkpoint && item.word && (VIEW_OF[item.measure] ?? "down_the_line") === view.view && LINES[item.measure]), name))
    .filter(Boolean));
}

/** Every still of one swing that shows something measured. Without stills nothing is drawn. */
export async function pictures(swing, report) {
  const found = drawn(swing, report, await sent(swing.id));
  return found.length ? [el("h3", {}, say("report.stills")), el("div", { class: "stills" }, found)] : null;
}

/** A lesson's swings, the newest first; only as many pages of the student's list are read as it takes. */
async function swingsOf(lesson, student, count) {
  const found = [];
  for (let next = `/v1/students/${student}/swings?limit=50`; next && found.length < count; ) {
    const page = await call("GET", next);
    found.push(...page.data.swings.filter((swing) => swing.lesson_id === lesson));
    next = page.next;
  }
  return found;
}

/** The stills of a lesson, one swing at a time: its own report's values, fetched when it is chosen. */
export async function lessonPictures(lesson, student, count) {
  const swings = await swingsOf(lesson, student, count);
  const stills = await Promise.all(swings.map((swing) => sent(swing.id)));
  const shown = swings.map((swing, i) => ({ id: swing.id, stills: stills[i], short: say("report.swing.short", { n: swings.length - i }), name: say("report.swing", { n: swings.length - i, of: swings.length, at: moment(swing.recorded_at) }) }))
    .filter((item) => item.stills.length > 0);
  if (shown.length === 0) return null;
  const place = el("div", { class: "stills" });
  const open = async (item) => {
    item.parts ??= drawn(...(await Promise.all([get(`/v1/swings/${item.id}`), get(`/v1/swings/${item.id}/report`)])), item.stills, item.short);
    show(place, el("h4", { class: shown.length > 1 ? "print-only" : "" }, item.name), item.parts.length ? item.parts : el("p", { class: "hint" }, say("report.swing.bare")));
    buttons.forEach((button, i) => button.setAttribute("aria-pressed", String(shown[i] === item)));
  };
  const choose = (item) => async (event) => {
    try {
      await busy(event.currentTarget, () => open(item));
      announce(item.name);
    } catch (problem) {
      announce(sayProblem(problem), { urgent: true });
    }
  };
  const buttons = shown.length > 1 ? shown.map((item) => el("button", { type: "button", onclick: choose(item) }, item.name)) : [];
  await open(shown[0]);
  return [el("h3", {}, say("report.stills")), buttons.length ? el("div", { class: "row choice no-print", role: "group", "aria-label": say("report.swing.which") }, buttons) : null, place];
}
