// The stills of a report: what belongs to the first fix comes first; each with its lines, and a caption that says every value
// with its error and its word.

import { call, get } from "../lib/api.js";
import { announce, busy, el, show, svg } from "../lib/dom.js";
import { measureName, valueWithError, wordMark } from "../lib/measures.js";
import { moment } from "../lib/units.js";
import { capital, say, sayProblem } from "../lib/words.js";
import { signsOf } from "./catalogue.js";
import { cropOf, drawings, hasLine } from "./drawings.js";

/** Measures that the picture from the front shows; the others are seen from behind. */
const FRONT = ["trunk_lean", "head_shift", "pelvis_shift", "lead_share", "lead_elbow_bend", "lead_elbow_gap", "fold_match", "hands_height"];
const viewOf = (item) => (FRONT.includes(item.measure) ? "face_on" : "down_the_line");

/** How much a measure has to do with what was asked and what is worked on: signs of the question first, then of the first fix, then of the second, strong
 * before weak. */
function rankOf(report, question) {
  const asked = question ? report.faults.find(({ fault }) => fault === question)?.signs ?? signsOf(question) : [];
  const ranks = new Map(asked.map((sign) => [`${sign.measure}@${sign.checkpoint}`, 2000 + sign.weight]));
  report.first_fixes.forEach(({ fault: name }, i) => {
    for (const sign of report.faults.find(({ fault }) => fault === name)?.signs ?? []) {
      const key = `${sign.measure}@${sign.checkpoint}`;
      if (sign.observed && sign.severity > 0 && !ranks.has(key)) ranks.set(key, 1000 - 100 * i + sign.weight * sign.severity);
    }
  });
  return (item) => ranks.get(`${item.measure}@${item.checkpoint}`) ?? 0;
}

function caption(item, key) {
  return el("li", {}, key ? [el("span", { class: "key" }, String(key)), " "] : null, `${capital(measureName(item))}: ${valueWithError(item)} `, wordMark(item),
    item.guessed ? ` (${say("report.guessed")})` : null);
}

function note({ changes, space }) {
  const key = changes && space ? "report.both" : changes ? "report.change" : space ? "report.space" : null;
  return key ? el("p", { class: "hint" }, say(key)) : null;
}

function picture(swing, view, frame, items, name) {
  const { width, height } = view.image;
  const crop = cropOf(view);
  const drawn = drawings(items, frame, crop, swing.document.hand);
  const label = `${name ? `${name}: ` : ""}${say(`view.${view.view}`)}, ${say(`checkpoint.${frame.checkpoint}`)}`;
  return el("figure", { class: "card still" },
    svg("svg", { viewBox: [crop.x, crop.y, crop.width, crop.height].join(" "), role: "img", "aria-label": label },
      svg("image", { href: `/v1/swings/${swing.id}/stills/${view.view}-${frame.checkpoint}`, width, height }), drawn.nodes),
    el("figcaption", {}, el("strong", {}, label), el("ul", {}, items.map((item) => caption(item, drawn.keys.get(item)))), note(drawn)));
}

/** The views that pictures were given of, a set for each swing: from its document, or from its stills. */
export const viewsOf = ({ document }) => new Set((document?.views ?? []).filter(({ frames }) => frames.length > 0).map(({ view }) => view));
const viewsSent = (stills) => new Set(stills.map(({ view }) => view));

/** The stills that were sent of a swing; none when the server knows of none. */
async function sent(id) {
  try {
    return (await get(`/v1/swings/${id}/stills`)).stills;
  } catch (problem) {
    if (problem.status === 404) return [];
    throw problem;
  }
}

/** A picture is shown for what has a line in it, and for every sign of a fix. */
function drawn(swing, report, stills, rank, name) {
  const there = new Set(stills.map((still) => `${still.view}-${still.checkpoint}`));
  const shown = (swing.document?.views ?? []).flatMap((view) => view.frames
    .filter((frame) => there.has(`${view.view}-${frame.checkpoint}`))
    .map((frame) => ({ view, frame, items: report.measures
      .filter((item) => item.checkpoint === frame.checkpoint && item.word && viewOf(item) === view.view && (hasLine(item) || rank(item) > 0))
      .sort((a, b) => rank(b) - rank(a)) }))
    .filter(({ items }) => items.length > 0));
  return shown.sort((a, b) => rank(b.items[0]) - rank(a.items[0])).map(({ view, frame, items }) => picture(swing, view, frame, items, name));
}

/** The stills of one swing that show something measured: {first, others}, first the one of what matters most, which on paper stands
 * among the others. Without stills nothing is drawn. */
export async function pictures(swing, report, question) {
  const [first, ...others] = drawn(swing, report, await sent(swing.id), rankOf(report, question));
  return first ? { first, others: [el("h3", { class: others.length ? "" : "print-only" }, say("report.stills")), el("div", { class: "stills" }, others)] } : { first: null, others: null };
}

/** On paper the first picture stands among the others. */
window.addEventListener("beforeprint", () => {
  const [first, all] = [document.querySelector(".shown > .still"), document.querySelector(".stills")];
  if (!first || !all) return;
  const home = first.parentNode;
  all.prepend(first);
  window.addEventListener("afterprint", () => home.prepend(first), { once: true });
});

/** A lesson's swings that count, the newest first; only as many pages of the student's list are read as it takes. */
async function swingsOf(lesson, student, count) {
  const found = [];
  for (let next = `/v1/students/${student}/swings?limit=50`; next && found.length < count; ) {
    const page = await call("GET", next);
    found.push(...page.data.swings.filter((swing) => swing.lesson_id === lesson && !swing.voided));
    next = page.next;
  }
  return found;
}

/** The stills of a lesson, one swing at a time: its own report's values, fetched when it is chosen; what comes first is what
 * the lesson's report puts first. {nodes, views}: views of each swing, as far as stills were sent of them. */
export async function lessonPictures(lesson, student, report) {
  const swings = await swingsOf(lesson, student, report.swings);
  const stills = await Promise.all(swings.map((swing) => sent(swing.id)));
  const shown = swings.map((swing, i) => ({ id: swing.id, stills: stills[i], short: say("report.swing.short", { n: swings.length - i }), name: say("report.swing", { n: swings.length - i, of: swings.length, at: moment(swing.recorded_at) }) }))
    .filter((item) => item.stills.length > 0);
  const views = stills.map(viewsSent);
  if (shown.length === 0) return { nodes: null, views };
  const place = el("div", { class: "stills" });
  const open = async (item) => {
    item.parts ??= drawn(...(await Promise.all([get(`/v1/swings/${item.id}`), get(`/v1/swings/${item.id}/report`)])), item.stills, rankOf(report), item.short);
    show(place, el("h4", { class: shown.length > 1 ? "print-only" : "" }, item.name), item.parts.length ? item.parts : el("p", { class: "hint" }, say("report.swing.bare")));
    buttons.forEach((button, i) => button.setAttribute("aria-pressed", String(shown[i] === item)));
  };
  const choose = (item) => async (event) => {
    const button = event.currentTarget;
    try {
      await busy(button, () => open(item));
      button.focus();
      announce(item.name);
    } catch (problem) {
      announce(sayProblem(problem), { urgent: true });
    }
  };
  const buttons = shown.length > 1 ? shown.map((item) => el("button", { type: "button", onclick: choose(item) }, item.name)) : [];
  await open(shown[0]);
  const choice = buttons.length ? el("div", { class: "row choice no-print", role: "group", "aria-label": say("report.swing.which") }, buttons) : null;
  return { nodes: [el("h3", {}, say("report.stills")), choice, place], views };
}
