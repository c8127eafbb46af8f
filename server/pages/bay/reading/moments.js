// Which pictures of a film may be the checkpoints: read from the path of the wrists. Suggestions, confirmed by the coach.

import { CHECKPOINTS } from "../catalogue.js";

const COARSE = [20, 60]; // pictures over the whole film, by its length
const APART_S = 0.2; // between these, so that no downswing is missed
const FINE = 6; // more around the top, and again around the lowest hands
const CREEP = 0.12; // of the time from there to the level arm (seen on drawn swings)
const STILL = 0.02; // of the body's height: the hands are at rest within this

/** Middle of what is seen of the wrists, the lower shoulder (the lead one going back, the trail one after the strike) and the
 * body's height, in one unit; null when neither wrist is seen. */
export function wristsOf(marks, width, height, visible = 0.5) {
  const seen = (numbers) => numbers.map((i) => marks[i]).filter((mark) => mark.visibility >= visible);
  const mean = (list, of) => list.reduce((sum, mark) => sum + of(mark), 0) / list.length;
  const wrists = seen([15, 16]);
  const shoulders = seen([11, 12]);
  const body = marks.filter((mark) => mark.visibility >= visible).map((mark) => mark.y * height);
  if (wrists.length === 0 || body.length < 4) return null;
  return {
    u: mean(wrists, (mark) => mark.x * width),
    v: mean(wrists, (mark) => mark.y * height),
    shoulder: shoulders.length ? Math.max(...shoulders.map((mark) => mark.y * height)) : null,
    body: Math.max(...body) - Math.min(...body),
  };
}

const far = (a, b) => Math.hypot(a.u - b.u, a.v - b.v);

/** path: [{frame, u, v, body}] by frame, v downward. {address, top, impact, finish} as frames; {} when no swing is seen.
 * The downswing is the highest hands from which they fall by a fifth of the body soonest; its lowest hands are near impact. */
function moments(path) {
  const body = Math.max(0, ...path.map((place) => place.body));
  let down = null;
  for (let i = 0; i < path.length; i++) {
    for (let j = i + 1; j < path.length; j++) {
      const drop = (path[j].v - path[i].v) / body;
      const speed = drop / (path[j].frame - path[i].frame);
      if (drop >= 0.2 && (!down || speed > down.speed)) down = { from: i, to: j, speed };
    }
  }
  if (!down) return {};
  // Outward from the fastest fall: up to the highest hands before it, down to the lowest after it.
  let top = down.from;
  while (top > 0 && path[top - 1].v <= path[top].v) top--;
  let low = down.to;
  while (low + 1 < path.length && path[low + 1].v >= path[low].v) low++;
  // Address: the last place before the top where the hands still are where they rested.
  let rest = 0;
  for (let i = 1; i < top; i++) if (path[i].v > path[rest].v) rest = i;
  const rested = path[rest];
  while (rest + 1 < top && far(path[rest + 1], rested) < STILL * body) rest++;
  const out = { top: path[top].frame, impact: path[low].frame };
  if (rest < top && path[rest].v - path[top].v >= 0.2 * body) out.address = path[rest].frame;
  // Finish: the first place after which the hands stay.
  let end = path.length - 1;
  while (end - 1 > low && far(path[end - 1], path[path.length - 1]) < STILL * body) end--;
  if (end > low && path[low].v - path[end].v >= 0.2 * body) out.finish = path[end].frame;
  return out;
}

/** Where between two frames the hands pass the shoulders' height, going up or down; null when that was not seen, or only in places more than `apart`. */
function armLevel(path, from, to, up, apart) {
  const part = path.filter((place) => place.frame >= from && place.frame <= to && place.shoulder !== null && place.shoulder !== undefined);
  for (let i = 0; i + 1 < part.length; i++) {
    const [a, b] = [part[i], part[i + 1]].map((place) => (place.v - place.shoulder) * (up ? 1 : -1));
    if (a > 0 && b <= 0) return part[i + 1].frame - part[i].frame > apart ? null : Math.round(part[i].frame + ((part[i + 1].frame - part[i].frame) * a) / (a - b));
  }
  return null;
}

// Where the shaft is level lies between two moments that the hands tell: shares of that time in common swings (common
// practice, no source). Rough, for the club is not looked for.
const SHAFT_LEVEL = { shaft_back: ["address", "arm_back", 0.5], shaft_down: ["arm_down", "impact", 0.65], shaft_through: ["impact", "arm_through", 0.5] };

/** The checkpoints as far as the path tells them, in swing order and no two alike. apart: frames over which nothing is told of an arm. */
export function checkpoints(path, apart = Infinity) {
  const out = moments(path);
  if (out.top === undefined) return {};
  const arms = {
    arm_back: out.address === undefined ? null : armLevel(path, out.address, out.top, true, apart),
    arm_down: armLevel(path, out.top, out.impact, false, apart),
    arm_through: out.finish === undefined ? null : armLevel(path, out.impact, out.finish, true, apart),
  };
  for (const [name, frame] of Object.entries(arms)) if (frame !== null) out[name] = frame;
  for (const [name, [from, to, share]] of Object.entries(SHAFT_LEVEL)) {
    if (out[from] !== undefined && out[to] !== undefined) out[name] = Math.round(out[from] + share * (out[to] - out[from]));
  }
  // Hands begin to move slowly: the last still picture lies a little before the first in which they are seen to have moved.
  if (out.address !== undefined && out.arm_back !== undefined) out.address -= Math.round(CREEP * (out.arm_back - out.address));
  const order = CHECKPOINTS.filter((name) => out[name] !== undefined);
  return Object.fromEntries(order.filter((name, i) => i === 0 || out[name] > out[order[i - 1]]).map((name) => [name, out[name]]));
}

/** Moments of two sources in the order of the swing: what the club tells stands, but at address nothing has moved yet, neither club nor hands; what the
 * hands tell where it fits between; level shafts that neither told lie at their usual shares. */
export function inOrder(hands, club) {
  const out = { ...club };
  if (hands.address < club.address) out.address = hands.address;
  const fits = (name, frame) => CHECKPOINTS.every((other, i) => out[other] === undefined || (i < CHECKPOINTS.indexOf(name) ? out[other] < frame : i === CHECKPOINTS.indexOf(name) || out[other] > frame));
  for (const name of CHECKPOINTS) {
    if (out[name] !== undefined || name in SHAFT_LEVEL) continue;
    if (hands[name] !== undefined && fits(name, hands[name])) out[name] = hands[name];
  }
  for (const [name, [from, to, share]] of Object.entries(SHAFT_LEVEL)) {
    if (out[name] === undefined && out[from] !== undefined && out[to] !== undefined) out[name] = Math.round(out[from] + share * (out[to] - out[from]));
  }
  return Object.fromEntries(CHECKPOINTS.filter((name) => out[name] !== undefined).map((name) => [name, out[name]]));
}

/** found, with the picture in which the strike was heard (strike: {at s, sd}) as impact where no picture near it was found. */
export function withStrike(found, strike, rate) {
  if (strike && !(Math.abs(found.impact / rate - strike.at) <= 2 * strike.sd + 1 / rate)) found.impact = Math.floor(strike.at * rate);
  return found;
}

const DOWNSWING_S = [0.2, 0.4]; // from the top to impact (common practice: about a quarter of a second)
const SLOW_RATES = [60, 120, 240];

/** The camera's pictures a second when the suggested downswing is far too slow for the film's own; else null. */
export function slowMotion(found, rate) {
  const down = found.top !== undefined && found.impact !== undefined ? (found.impact - found.top) / rate : 0;
  if (down <= 1.5 * DOWNSWING_S[1]) return null;
  return SLOW_RATES.find((taken) => taken > rate && (down * rate) / taken >= DOWNSWING_S[0] && (down * rate) / taken <= DOWNSWING_S[1]) ?? null;
}

const spread = (from, to, n) => Array.from({ length: n }, (_, i) => Math.round(from + ((to - from) * (i + 0.5)) / n));

/** How many pictures a film of so many seconds is first looked through with. */
export const coarse = (seconds) => Math.min(Math.max(COARSE[0], Math.round(seconds / APART_S)), COARSE[1]);

/** Looks through the film: at(frame, fresh) gives the wrists or null, fresh where it does not follow the one before; tell(done,
 * of) says how far it is; n pictures first, then some more near the top and the lowest hands. */
export async function lookThrough(frames, at, tell, n = COARSE[0]) {
  const seen = new Map();
  const look = async (list) => {
    let fresh = true;
    for (const frame of list) {
      if (!seen.has(frame)) seen.set(frame, await at(frame, fresh));
      fresh = false;
      tell(seen.size, n + 2 * FINE);
    }
    return [...seen].filter(([, place]) => place).map(([frame, place]) => ({ frame, ...place })).sort((a, b) => a.frame - b.frame);
  };
  const first = moments(await look(spread(0, frames - 1, n)));
  if (first.top === undefined) return {};
  const around = frames / n;
  const clamp = (frame) => Math.min(Math.max(0, frame), frames - 1);
  const near = [first.top, first.impact].flatMap((frame) => spread(frame - around, frame + around, FINE).map(clamp));
  return checkpoints(await look(near));
}
