// The main measure of what a student works on, at a glance: its way so far, what is fine shaded, the last value beside it. It is
// asked for when its row comes in sight, a few at a time, and kept while the desk is open.

import { get } from "../lib/api.js";
import { el, show, svg } from "../lib/dom.js";
import { fullName, rangeWords, valueWithError } from "../lib/measures.js";
import { measure } from "../lib/units.js";
import { capital, say } from "../lib/words.js";

const WIDE = 88;
const HIGH = 24;
const EDGE = 4;
const AT_ONCE = 3;

const kept = new Map(); // what was told, by student and the day the fix was opened; null: nothing was measured
const waiting = new Map(); // places in sight that nothing is known for yet, by the same
let asking = 0;

const keyOf = (row) => `${row.student_id} ${row.oldest_fix}`;

function picture(progress) {
  const points = progress.series;
  const limits = (progress.range?.ok ?? []).filter((limit) => limit !== null);
  const values = [...points.map((point) => point.value), ...limits];
  const [low, high] = [Math.min(...values), Math.max(...values)];
  const times = points.map((point) => Date.parse(point.at));
  const [first, span] = [times[0], times.at(-1) - times[0] || 1];
  const x = (at) => (points.length === 1 ? WIDE / 2 : EDGE + ((at - first) / span) * (WIDE - 2 * EDGE));
  const y = (value) => HIGH - EDGE - ((value - low) / (high - low || 1)) * (HIGH - 2 * EDGE);
  const [from, to] = progress.range?.ok ?? [null, null];
  const [top, foot] = [to === null ? 0 : y(to), from === null ? HIGH : y(from)];
  return svg("svg", { viewBox: `0 0 ${WIDE} ${HIGH}`, "aria-hidden": "true" },
    limits.length ? svg("rect", { x: 0, y: top, width: WIDE, height: Math.max(1, foot - top), class: "fine" }) : null,
    svg("polyline", { points: points.map((point, i) => `${x(times[i])},${y(point.value)}`).join(" ") }),
    svg("circle", { cx: x(times.at(-1)), cy: y(points.at(-1).value), r: 3.5 }));
}

function draw(place, progress) {
  if (!progress) return;
  const now = { ...progress, ...progress.series.at(-1) };
  const fine = rangeWords({ ...progress, ...progress.range });
  const said = [capital(fullName(now)), valueWithError(now), fine ? say("desk.spark.fine", { range: fine }) : null].filter(Boolean).join(", ");
  place.setAttribute("role", "img");
  place.setAttribute("aria-label", said);
  place.title = said;
  show(place, picture(progress), el("strong", {}, measure(now.value, now.unit)));
}

async function asked(student) {
  try {
    const progress = await get(`/v1/students/${student}/progress?fix=running`);
    return progress.series.length > 0 ? progress : null;
  } catch {
    return null; // ended meanwhile, or nothing was measured: the row stands without
  }
}

async function ask() {
  while (asking < AT_ONCE && waiting.size > 0) {
    const [key, places] = waiting.entries().next().value;
    waiting.delete(key);
    asking++;
    asked(key.split(" ")[0]).then((progress) => {
      kept.set(key, progress);
      places.forEach((place) => draw(place, progress));
    }).finally(() => {
      asking--;
      ask();
    });
  }
}

const sight = new IntersectionObserver((entries) => {
  for (const { isIntersecting, target } of entries) {
    const { key } = target.dataset;
    if (!isIntersecting) waiting.delete(key);
    else if (!kept.has(key)) waiting.set(key, [...(waiting.get(key) ?? []), target]);
  }
  ask();
});

/** The place of a row's spark, of one size from the beginning; none where nothing is worked on. */
export function sparkOf(row) {
  if (!row.oldest_fix) return null;
  const place = el("div", { class: "spark" });
  place.dataset.key = keyOf(row);
  if (kept.has(place.dataset.key)) draw(place, kept.get(place.dataset.key));
  else sight.observe(place);
  return place;
}
