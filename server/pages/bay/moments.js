// Which pictures of a film may be the checkpoints: read from the path of the wrists. Suggestions, confirmed by the coach.

const COARSE = 20; // pictures over the whole film
const FINE = 6; // more around the top, and again around the lowest hands
const STILL = 0.04; // of the body's height: the hands are at rest within this

/** Middle of what is seen of the wrists, and the body's height, in one unit; null when neither wrist is seen. */
export function wristsOf(marks, width, height, visible = 0.5) {
  const seen = [15, 16].map((i) => marks[i]).filter((mark) => mark.visibility >= visible);
  const body = marks.filter((mark) => mark.visibility >= visible).map((mark) => mark.y * height);
  if (seen.length === 0 || body.length < 4) return null;
  const mean = (of) => seen.reduce((sum, mark) => sum + of(mark), 0) / seen.length;
  return { u: mean((mark) => mark.x * width), v: mean((mark) => mark.y * height), body: Math.max(...body) - Math.min(...body) };
}

const far = (a, b) => Math.hypot(a.u - b.u, a.v - b.v);

/** path: [{frame, u, v, body}] by frame, v downward. {address, top, impact, finish} as frames; {} when no swing is seen.
 * The downswing is the highest hands from which they fall by a fifth of the body soonest; its lowest hands are near impact. */
export function moments(path) {
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

const spread = (from, to, n) => Array.from({ length: n }, (_, i) => Math.round(from + ((to - from) * (i + 0.5)) / n));

/** Looks through the film: at(frame) gives the wrists or null; tell(done, of) says how far it is. */
export async function lookThrough(frames, at, tell) {
  const seen = new Map();
  const look = async (list) => {
    for (const frame of list) {
      if (!seen.has(frame)) seen.set(frame, await at(frame));
      tell(seen.size, COARSE + 2 * FINE);
    }
    return [...seen].filter(([, place]) => place).map(([frame, place]) => ({ frame, ...place })).sort((a, b) => a.frame - b.frame);
  };
  const first = moments(await look(spread(0, frames - 1, COARSE)));
  if (first.top === undefined) return {};
  const around = frames / COARSE;
  const clamp = (frame) => Math.min(Math.max(0, frame), frames - 1);
  const near = [first.top, first.impact].flatMap((frame) => spread(frame - around, frame + around, FINE).map((n) => clamp(n)));
  return moments(await look(near));
}
