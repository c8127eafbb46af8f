// The club in a film: the hands' and joints' places in every picture, interpolated between those that were looked at, then the finder of the core
// (core.js). What it gives are the shaft by picture and the moments of the swing; what it did not find is left out.

import { FilmReader } from "../core.js";
import { suggest } from "./pose.js";

const JOINTS = ["shoulder", "elbow", "wrist", "hip", "knee", "ankle"].flatMap((joint) => [`lead_${joint}`, `trail_${joint}`]);
const POINTS = ["head", "grip", ...JOINTS];
const GROUND = 9; // pictures of the ground, spread over the film
const LONG_PX = 1280; // the longer side of the pictures that are looked at
const KEEP_BYTES = 160e6; // of pictures of one film, grey; what is more is gone to twice
const BODY_M = 1.63; // from the eyes to the feet of who stands upright (1.75 m tall; common practice)
const BUTT_M = 0.1; // from the grip's middle to its upper end
const WIDER = 0.25; // of its error a point is less sure for each picture that it lies from one that was looked at
export const AROUND_S = 0.45; // so much of the film before address and after the finish belongs to the swing

/** Every joint of one pose, in pixels: {name: {u, v, sd}}. */
export const jointsOf = (marks, hand, width, height) => suggest(marks, { kind: "face_on", points: POINTS, hand, width, height });

/** The joints in a picture, from the poses of others: between two in a straight line, the farther away the less sure. */
function between(poses, frame) {
  let [before, after] = [null, null];
  for (const pose of poses) {
    if (pose.frame <= frame) before = pose;
    else after ??= pose;
  }
  const out = {};
  for (const name of POINTS) {
    const [a, b] = [before?.joints[name], after?.joints[name]];
    const far = Math.min(a ? frame - before.frame : Infinity, b ? after.frame - frame : Infinity);
    const mark = a && b ? { u: a.u + ((b.u - a.u) * (frame - before.frame)) / (after.frame - before.frame), v: a.v + ((b.v - a.v) * (frame - before.frame)) / (after.frame - before.frame), sd: Math.max(a.sd, b.sd) } : far <= 2 ? a ?? b : null;
    if (mark) out[name] = [mark.u, mark.v, mark.sd * (1 + WIDER * far)];
  }
  return out;
}

const inside = ([u, v], width, height) => u >= 0 && v >= 0 && u <= width && v <= height;

/** The pictures of a film as the finder takes them: kept when the film stands at one anyway, so that it need not be gone to twice. */
export class Pictures {
  constructor(film) {
    this.film = film;
    this.scale = Math.min(1, LONG_PX / Math.max(film.width, film.height));
    [this.width, this.height] = [film.width, film.height].map((side) => Math.round(side * this.scale));
    this.most = typeof WebAssembly === "undefined" ? 0 : Math.floor(KEEP_BYTES / (this.width * this.height));
    this.kept = new Set();
    this.reader = new FilmReader();
  }

  taken() {
    return createImageBitmap(this.film.video, { resizeWidth: this.width, resizeHeight: this.height });
  }

  /** Keeps the picture at which the film stands, where there is room. */
  async keep() {
    const { frame } = this.film;
    if (this.kept.has(frame) || this.kept.size >= this.most) return;
    this.kept.add(frame);
    await this.reader.keep(frame, await this.taken());
  }

  /** What the reader takes for a picture. */
  async of(frame) {
    if (this.kept.has(frame)) return frame;
    await this.film.go(frame);
    return this.taken();
  }

  /** Pictures spread over the film: of each part the kept one that lies nearest. */
  spread(n) {
    const all = [...this.kept];
    return all.length ? Array.from({ length: n }, (_, i) => ((i + 0.5) * this.film.frames) / n).map((at) => all.reduce((best, frame) => (Math.abs(frame - at) < Math.abs(best - at) ? frame : best))) : [];
  }

  end() {
    this.reader.end();
  }
}

/** Looks for the club in the pictures from..to. pictures: the film's; poses: [{frame, joints}] in pixels of the film, in order of time; body: the tallest
 * that the player was seen, px; tell() after each picture; stopped() whether to end. {shafts: Map of picture to shaft, moments: {checkpoint: picture},
 * metre: px}; null where it can't be done here. */
export async function findClub({ pictures, kind, hand, fps, club, poses, body, from, to, tell, stopped }) {
  if (typeof WebAssembly === "undefined" || poses.length < 3) return null;
  const { scale, width, height, reader } = pictures;
  const reach = ((club.length_m - BUTT_M) * body) / BODY_M; // hands to clubhead, px of the film
  const frames = Array.from({ length: to - from + 1 }, (_, i) => ({
    club_px: reach * scale,
    points: Object.fromEntries(Object.entries(between(poses, from + i)).map(([name, mark]) => [name, mark.map((value) => value * scale)]).filter(([, mark]) => inside(mark, width, height))),
  }));
  const ground = [...new Set(pictures.spread(GROUND))];
  try {
    await reader.begin({ view: kind, hand, width, height, rate_hz: fps, ground: ground.length, frames });
    for (const frame of ground) await reader.ground(frame);
    for (let i = 0; i < frames.length; i++) {
      if (stopped()) return null;
      await reader.frame(i, await pictures.of(from + i));
      tell();
    }
    const found = await reader.path();
    if (!found) return null;
    const shafts = new Map(found.frames.map((shaft, i) => [from + i, { ...shaft, head: shaft.head?.map((value) => value / scale) }]));
    const moments = Object.fromEntries(Object.entries(found.instants).map(([name, { time_s }]) => [name, from + Math.round(time_s * fps)]));
    return { shafts, moments, metre: body / BODY_M };
  } catch {
    return null; // the picture is then read without its club
  }
}

const NEIGHBOURS = 3; // pictures
const BEND = 0.28; // of the way between two places of the clubhead: its path is no straight line (on drawn players)

const tenth = (value) => Math.round(value * 10) / 10;

/** Where the clubhead is in a picture: seen in it, or between two near pictures, the less sure the farther it went between them. */
function headAt(shafts, frame) {
  const seen = (by) => Array.from({ length: NEIGHBOURS }, (_, i) => frame + by * (i + 1)).find((at) => shafts.get(at)?.head);
  const [before, after] = [seen(-1), seen(1)];
  if (shafts.get(frame)?.head) return shafts.get(frame).head;
  if (before === undefined || after === undefined) return null;
  const [a, b] = [shafts.get(before).head, shafts.get(after).head];
  const share = (frame - before) / (after - before);
  return [a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share, Math.max(a[2], b[2]) + BEND * Math.hypot(b[0] - a[0], b[1] - a[1])];
}

/** The club's points in one picture, as far as they were seen: the clubhead, and the upper end of the grip beyond the hands. club: of findClub. */
export function clubPoints(club, frame, grip, points) {
  if (!club) return {};
  const { shafts, metre } = club;
  const [shaft, head] = [shafts.get(frame), headAt(shafts, frame)];
  const out = {};
  if (head && points.includes("clubhead")) out.clubhead = { u: head[0], v: head[1], sd: tenth(Math.max(2, head[2])), found: true };
  if (shaft?.found && grip && points.includes("butt")) {
    const way = (shaft.angle_deg * Math.PI) / 180;
    out.butt = { u: grip.u - Math.cos(way) * BUTT_M * metre, v: grip.v - Math.sin(way) * BUTT_M * metre, sd: grip.sd, found: true };
  }
  return out;
}
