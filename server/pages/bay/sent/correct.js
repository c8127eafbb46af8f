// The marks of a swing that was sent, back in the coach's hands: a draft made of its document and its stills, which goes out again as a
// correction of the same swing (outbox.js).

import { newDraft, keepDraft, keepStill } from "../draft.js";

const within = (object, names) => Object.keys(object ?? {}).every((name) => names.includes(name));
const ofMarking = (view) => within(view, ["view", "fps", "image", "camera", "frames", "sticks", "target"]) && view.fps && within(view.camera, ["hfov_deg", "distance_m"]) &&
  view.frames.every((frame) => Number.isFinite(frame.time_s) && Object.keys(frame.film ?? {}).every((name) => frame.points[name]?.length === 2));

/** Could the marking have made this document, and has the server each of its pictures? Else something of it would be lost. */
export const isCorrectable = ({ document }, stills) => Boolean(document?.views?.length) && document.club &&
  within(document, ["schema", "recorded_at", "shot", "hand", "club", "views", "flight", "weight", "seen"]) &&
  within(document.flight, ["start", "curve", "strike"]) && (document.weight ?? []).every(({ source }) => source === "scale") &&
  document.views.every((view) => ofMarking(view) && view.frames.every(({ checkpoint }) => stills.some((still) => still.view === view.view && still.checkpoint === checkpoint)));

const spot = ([u, v, sd]) => ({ u, v, ...(sd === undefined ? {} : { sd }) });

/** The camera's view is known across its long side (draft.js, across). */
function longSide({ camera, image }) {
  if (!camera?.hfov_deg) return null;
  return (360 / Math.PI) * Math.atan((Math.max(image.width, image.height) / image.width) * Math.tan((camera.hfov_deg * Math.PI) / 360));
}

function frameOf({ time_s: time, points, found = [], confirmed = [], film = {} }, fps, still) {
  const marks = Object.entries(points).map(([name, at]) => [name, { ...spot(at), ...(found.includes(name) ? { found: true } : {}) }]);
  return { picture: time * fps, still, points: Object.fromEntries(marks), confirmed, film: Object.fromEntries(Object.entries(film).map(([name, at]) => [name, spot(at)])), sure: true, kept: true };
}

async function stillOf(swing, view, checkpoint) {
  const response = await fetch(`/v1/swings/${swing.id}/stills/${view}-${checkpoint}`, { credentials: "same-origin", cache: "no-store" });
  if (!response.ok) throw new Error(`still ${view} ${checkpoint}: ${response.status}`);
  return response.blob();
}

async function viewOf(swing, view) {
  const frames = await Promise.all(view.frames.map(async (frame) => [frame.checkpoint, frameOf(frame, view.fps, await stillOf(swing, view.view, frame.checkpoint))]));
  return { read: true, rate: null, fps: view.fps, width: view.image.width, height: view.image.height, hfov: longSide(view), distance: view.camera?.distance_m ?? null,
    frames: Object.fromEntries(frames), sticks: (view.sticks ?? []).map((stick) => stick.map(spot)), target: view.target ? spot(view.target) : null };
}

/** The draft's id: its sheet is where the marks are corrected. */
export async function draftOf(swing, student, reason, question) {
  const { document } = swing;
  const views = await Promise.all(document.views.map(async (view) => [view.view, await viewOf(swing, view)]));
  const draft = Object.assign(newDraft(student, { hand: document.hand, club: document.club, open: document.views[0].view }), {
    recorded_at: document.recorded_at, question: question ?? null, views: Object.fromEntries(views), flight: document.flight, seen: document.seen,
    weight: Object.fromEntries((document.weight ?? []).map(({ checkpoint, lead_share: share }) => [checkpoint, Math.round(share * 100)])),
    correct: { swing: swing.id, etag: `"${swing.version}"`, reason },
  });
  for (const [kind, view] of views) for (const checkpoint of Object.keys(view.frames)) await keepStill(draft, kind, checkpoint);
  await keepDraft(draft);
  return draft.id;
}
