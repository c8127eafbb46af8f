// What of a picture that was read is not confirmed with the others but asked by itself: a mark that the check finds suspect and one that was
// found with a large error speak against it; a point that was not found and the sticks on the ground are asked for when the rest is confirmed.

import { markWords } from "../../lib/speech.js";
import { say } from "../../lib/words.js";
import { targetLine } from "../catalogue.js";
import { laid } from "../draft.js";
import { accepted } from "./marker.js";
import { suspectsIn } from "./suspects.js";

const WIDE = 0.08; // of the body's height: 14 cm of a grown player

/** The lead hip from behind, which the near one hides, is not asked for. */
export const hiddenHip = (kind, frame) => kind === "down_the_line" && Boolean(frame.points.trail_hip?.sd) && !frame.points.lead_hip;

const unsure = (frame) => !frame.sure || Object.values(frame.points).some((mark) => mark.found);

/** The coach has not gone on from this picture by itself: what is missing in it is still asked for. */
const open = (frame) => unsure(frame) || Boolean(frame.swept);

/** Whether sticks or a flag are still to be asked for. */
const groundOpen = (kind, view, fault) => kind === "down_the_line" && Boolean(view.frames.address) && open(view.frames.address) &&
  laid(view).length < 2 && !view.target && !view.bare && targetLine(fault);

/** What is to be asked of one picture by itself: [{checkpoint, point, why}]. */
function ownDoubts(kind, view, checkpoint, points) {
  const frame = view.frames[checkpoint];
  const missing = !open(frame) ? [] : points.filter((point) => !frame.points[point] && !(point === "lead_hip" && hiddenHip(kind, frame)));
  const wide = points.filter((point) => frame.points[point]?.found && view.body && frame.points[point].sd > WIDE * view.body);
  return [...missing.map((point) => ({ checkpoint, point, why: "missing" })), ...wide.map((point) => ({ checkpoint, point, why: "wide" }))];
}

/** All doubts of a view, as far as its pictures are not confirmed. points: of each checkpoint; suspects: of the check. */
export function doubtsOf({ kind, view, points, fault, suspects }) {
  const there = Object.keys(points).filter((name) => view.frames[name]);
  const checked = suspects.filter((mark) => mark.view_kind === kind && (!mark.checkpoint || (there.includes(mark.checkpoint) && unsure(view.frames[mark.checkpoint]))))
    .map((mark) => ({ checkpoint: mark.checkpoint, point: mark.point, why: "suspect", mark }));
  return [...checked, ...there.flatMap((name) => ownDoubts(kind, view, name, points[name])), ...(groundOpen(kind, view, fault) ? [{ checkpoint: "address", why: "ground" }] : [])];
}

/** Whether it speaks against what was found. */
export const against = ({ why }) => why === "suspect" || why === "wide";

/** In a few words; the check's own sentence where it speaks of no single point. */
export const doubtWords = ({ why, mark, point }) => (why === "suspect" && !point ? markWords(mark) : say(`bay.doubt.${why}`, { point: point ? say(`point.${point}`) : "" }));

/** What the check says of a swing if all that was found is right. */
export function checkAsFound(draft) {
  const right = (frame) => ({ ...frame, sure: true, points: Object.fromEntries(Object.entries(frame.points).map(([id, mark]) => [id, accepted(mark)])) });
  const views = Object.fromEntries(Object.entries(draft.views).map(([kind, view]) =>
    [kind, { ...view, frames: Object.fromEntries(Object.entries(view.frames).map(([name, frame]) => [name, right(frame)])) }]));
  return suspectsIn({ ...draft, views });
}
