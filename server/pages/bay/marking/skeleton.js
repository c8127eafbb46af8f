// The lines between marks: the body in two tones, lead and trail, and the club.

import { svg } from "../../lib/dom.js";

const SIDE = [["shoulder", "elbow"], ["elbow", "wrist"], ["shoulder", "hip"], ["hip", "knee"], ["knee", "ankle"], ["ankle", "toe"]];
const SIDES = ["lead", "trail"].flatMap((side) => SIDE.map(([a, b]) => [`${side}_${a}`, `${side}_${b}`, side]));
const ACROSS = [["lead_shoulder", "trail_shoulder", "middle"], ["lead_hip", "trail_hip", "middle"], ["head", "neck", "middle"]];
const CLUB = [["butt", "grip", "club"], ["grip", "clubhead", "club"]];
const GROUND = [["stick-0-0", "stick-0-1", "ground"], ["stick-1-0", "stick-1-1", "ground"]];
const LINES = [...GROUND, ...ACROSS, ...SIDES, ...CLUB];

/** The lines whose ends are both known, each over a darker one. read: a point's mark, or nothing; pixel: of the screen, in the picture's. */
export function strokes(read, pixel) {
  const lines = LINES.map(([a, b, tone]) => ({ from: read(a), to: read(b), tone })).filter(({ from, to }) => from && to);
  const line = ({ from, to, tone }, wide, name) => svg("line", { x1: from.u, y1: from.v, x2: to.u, y2: to.v, "stroke-width": wide * pixel, class: `${name} ${tone}`,
    ...(name === "over" && (from.found || to.found) ? { "stroke-dasharray": `${6 * pixel} ${4 * pixel}` } : {}) });
  return [...lines.map((item) => line(item, 7, "under")), ...lines.map((item) => line(item, 3, "over"))];
}
