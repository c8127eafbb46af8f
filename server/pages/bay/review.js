// What the server would refuse of a swing, said before it is sent; and where in the sheet a refusal of the server points.

import { across, laid, secondsAfterFirst, takenOf } from "./draft.js";
import { say } from "../lib/words.js";
import { VIEWS } from "./catalogue.js";

// The server's own limits (docs/openapi.json, "leadside.swing/1").
export const CLUB_M = [0.3, 1.5];
const FILM_S = 60;
const DISTANCE_M = [0.5, 30];
const ACROSS_DEG = [10, 150];
const RATE = [1, 1000];
const SIZE_PX = [16, 16384];

const outside = (value, [low, high]) => !(value >= low && value <= high); // also what is no number

function viewProblems(view, kind) {
  const names = takenOf(view);
  const late = names.find((name) => secondsAfterFirst(view, name) > FILM_S);
  const spot = laid(view).some(([a, b]) => a.u === b.u && a.v === b.v);
  const checkpoint = "address"; // where sticks and cameras are asked for
  return [
    late && { key: "bay.mend.time", values: { checkpoint: say(`checkpoint.${late}`), seconds: FILM_S }, kind, checkpoint: late },
    spot && { key: "bay.mend.stick", values: {}, kind, checkpoint },
    view.distance && outside(view.distance, DISTANCE_M) && { key: "bay.mend.distance", values: { low: DISTANCE_M[0], high: DISTANCE_M[1] }, kind, checkpoint },
    outside(across(view), ACROSS_DEG) && { key: "bay.mend.hfov", values: {}, kind, checkpoint },
    outside(view.fps, RATE) && { key: "bay.mend.rate", values: {}, kind, checkpoint: names[0] },
    [view.width, view.height].some((side) => outside(side, SIZE_PX)) && { key: "bay.mend.size", values: {}, kind, checkpoint: names[0] },
  ].filter(Boolean);
}

/** What is to be mended first: [{key, values, kind, checkpoint, field}], the place as far as there is one. */
export function problemsOf(draft) {
  const club = outside(draft.club.length_m, CLUB_M) ? [{ key: "bay.mend.length", values: { low: CLUB_M[0], high: CLUB_M[1] }, field: "length" }] : [];
  return [...club, ...VIEWS.filter((kind) => draft.views[kind] && takenOf(draft.views[kind]).length > 0).flatMap((kind) => viewProblems(draft.views[kind], kind))];
}

/** Where in the sheet a path of the document lies: "views[0].frames[2].time_s" → {kind, checkpoint}. */
export function placeOf(path, text) {
  const [, view, frame] = /^views\[(\d+)\](?:\.frames\[(\d+)\])?/.exec(path ?? "") ?? [];
  if (view !== undefined) {
    const found = JSON.parse(text).views?.[view];
    return { kind: found?.view, checkpoint: found?.frames?.[frame]?.checkpoint ?? "address" };
  }
  if (/^club/.test(path ?? "")) return { field: "length" };
  return /^(weight|flight|seen)/.test(path ?? "") ? { field: "more" } : {};
}

const FIELDS = { length: "bay.club.length", more: "bay.more" };

/** "From behind, top of the backswing: …" */
export function withPlace({ kind, checkpoint, field, why }) {
  const sentence = why.replace(/[.\s]*$/, ".");
  if (kind) return say("bay.refused.at", { place: `${say(`view.${kind}`)}, ${say(`checkpoint.${checkpoint}`)}`, why: sentence });
  return field ? say("bay.refused.at", { place: say(FIELDS[field]), why: sentence }) : sentence;
}
