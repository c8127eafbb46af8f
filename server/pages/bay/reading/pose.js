// Points found for the coach by the general pose library, which works in a thread of its own (pose_worker.js) and comes from this server
// alone. What it finds are suggestions, two-dimensional, with a large error, and count for nothing until a coach has confirmed or moved them.

const VISIBLE = 0.6; // the library's own word for how surely a landmark can be seen; below it nothing is suggested
const SHARE = 0.04; // standard deviation as a share of the body's height in the picture: 4 to 7 cm on drawn figures
const WIDER = { shoulder: [0.055, 0.075], elbow: [0.05, 0.063] }; // from the front and from behind: found less well, as test_joints.mjs measures
const TURNED = { shoulder: 1.25, hip: 1.15, knee: 1.5 }; // times that at the finish seen from behind: a back is taken for a front, and its sides for one another
const NECK_SHARE = 0.05; // of what no landmark stands for, between those that do
const LEAST_PX = 6;
const LIMIT_MS = 90000; // the first picture compiles the library

/** The library's landmark numbers by joint: [left, right] of the person. */
const JOINTS = {
  shoulder: [11, 12], elbow: [13, 14], wrist: [15, 16], hip: [23, 24], knee: [25, 26], ankle: [27, 28], toe: [31, 32],
};
const EARS = [7, 8];
const SHOULDERS = [11, 12];
const FINGERS = [19, 20];
const NECK_UP = 0.25; // of the way from the middle of the shoulders to the middle of the ears: on drawn figures
const ONE_HAND = 0.06; // of the grip where one hand hides the other
const APART = 0.5; // hands that are seen so many of their errors apart make the grip's error larger by that share

/** Whether this club's server offers the library at all. */
let offered = null;
export const poseOffered = () =>
  (offered ??= fetch("/pose/ready").then((answer) => answer.ok, () => { offered = null; return false; }));

export const canRun = () => typeof OffscreenCanvas === "function" && Boolean(new OffscreenCanvas(1, 1).getContext("webgl2"));

let worker = null;
let asked = 0;
const waiting = new Map();

function end(error) {
  worker?.terminate();
  worker = null;
  for (const { reject } of waiting.values()) reject(error);
  waiting.clear();
}

function begin() {
  worker = new Worker(new URL("./pose_worker.js", import.meta.url));
  worker.onmessage = ({ data: { id, marks, error } }) => {
    const { resolve, reject } = waiting.get(id) ?? {};
    waiting.delete(id);
    if (error) reject?.(new Error(error));
    else resolve?.(marks);
  };
  worker.onerror = (event) => end(new Error(event.message));
}

/** The 33 landmarks of a picture (which is used up), in shares of its width and height, or null when nobody is found. follow: it is a
 * later picture of the same film, where only the rough place matters. */
export function landmarks(picture, follow = false) {
  if (!worker) begin();
  return new Promise((resolve, reject) => {
    const id = ++asked;
    const timer = setTimeout(() => end(new Error("pose: no answer")), LIMIT_MS);
    const done = (act) => (value) => { clearTimeout(timer); act(value); };
    waiting.set(id, { resolve: done(resolve), reject: done(reject) });
    worker.postMessage({ id, picture, follow }, [picture]);
  });
}

/** Height of what is seen of the body, px: head to the lowest foot. */
function bodyHeight(marks, height) {
  const seen = marks.filter((mark) => mark.visibility >= VISIBLE).map((mark) => mark.y * height);
  return seen.length ? Math.max(...seen) - Math.min(...seen) : 0;
}

/** The person's left (0) or right (1) for "lead" and "trail". */
const sideOf = (word, hand) => ((word === "lead") === (hand === "right") ? 0 : 1);

/** From behind, a right-hander turns the right side to the camera: of the lead side only the shoulder can be made out. */
const hidden = (kind, word, joint) => kind === "down_the_line" && word === "lead" && joint !== "shoulder";

/** The middle of two landmarks, with how far they are apart and how surely both are seen; null unless both are. */
function between(marks, [a, b], width, height, visible = VISIBLE) {
  const [one, two] = [marks[a], marks[b]];
  if (!one || !two || Math.max(one.visibility, two.visibility) < visible) return null;
  return { u: ((one.x + two.x) / 2) * width, v: ((one.y + two.y) / 2) * height, apart: Math.hypot((one.x - two.x) * width, (one.y - two.y) * height) };
}

/** What no landmark stands for: the head's middle between the ears, the neck above the shoulders, the grip between the forefingers, and
 * the wider their error the less the hands agree; at the one that is seen where it hides the other. */
const MADE = {
  head: (marks, size, body) => {
    const ears = between(marks, EARS, ...size);
    return ears && { ...ears, sd: SHARE * body };
  },
  neck: (marks, size, body) => {
    const [shoulders, ears] = [between(marks, SHOULDERS, ...size), between(marks, EARS, ...size)];
    return shoulders && ears && { u: shoulders.u + NECK_UP * (ears.u - shoulders.u), v: shoulders.v + NECK_UP * (ears.v - shoulders.v), sd: NECK_SHARE * body };
  },
  grip: (marks, size, body) => {
    const fingers = between(marks, FINGERS, ...size);
    if (fingers) return { ...fingers, sd: Math.max(SHARE * body, APART * fingers.apart) };
    const seen = FINGERS.map((i) => marks[i]).find((mark) => mark?.visibility >= VISIBLE);
    return seen && { u: seen.x * size[0], v: seen.y * size[1], sd: (ONE_HAND * body) / seen.visibility };
  },
};

const tenth = (value) => Math.round(value * 10) / 10;

/** Suggestions for the points asked for in one picture: {point: {u, v, sd, found: true}} in pixels of the picture.
 * checkpoint: which moment it shows, where that is known. */
export function suggest(marks, { kind, points, hand, width, height, checkpoint }) {
  const body = bodyHeight(marks, height);
  const out = {};
  const inside = ({ u, v }) => u >= 0 && u <= width && v >= 0 && v <= height;
  for (const point of points) {
    const made = MADE[point]?.(marks, [width, height], body);
    if (made && inside(made)) out[point] = { u: made.u, v: made.v, sd: tenth(Math.max(LEAST_PX, made.sd)), found: true };
    const [word, joint] = point.split("_");
    const pair = JOINTS[joint];
    if (!pair || hidden(kind, word, joint)) continue;
    const mark = marks[pair[sideOf(word, hand)]];
    const place = mark && { u: mark.x * width, v: mark.y * height };
    if (!mark || !inside(place) || !(mark.visibility >= VISIBLE)) continue;
    const behind = kind === "down_the_line";
    const share = (WIDER[joint]?.[behind ? 1 : 0] ?? SHARE) * (behind && checkpoint === "finish" ? TURNED[joint] ?? 1 : 1);
    out[point] = { ...place, sd: tenth(Math.max(LEAST_PX, share * body) / mark.visibility), found: true };
  }
  return out;
}

const MOST_OF_IT = 16; // landmarks that make a person
const AS_TALL = 0.6; // who is smaller stands far behind
const ROUND = 0.12; // of the height: so far round the joints the body reaches

/** The part of a picture that a person takes; null where too little is seen of one. */
function boxOf(marks, width, height) {
  const seen = (marks ?? []).filter((mark) => mark.visibility >= VISIBLE);
  if (seen.length < MOST_OF_IT) return null;
  const [xs, ys] = [seen.map(({ x }) => x * width), seen.map(({ y }) => y * height)];
  const high = Math.max(...ys) - Math.min(...ys);
  const [x, y] = [Math.min(...xs) - ROUND * high, Math.min(...ys) - ROUND * high];
  return { x, y, wide: Math.max(...xs) + ROUND * high - x, tall: Math.max(...ys) + ROUND * high - y, high };
}

/** Whether somebody about as tall stands beside the person that is found in a picture (which is used up): that one is painted over, and who is then found? */
export async function secondPerson(picture) {
  const { width, height } = picture;
  const canvas = new OffscreenCanvas(width, height);
  const pen = canvas.getContext("2d");
  pen.drawImage(picture, 0, 0);
  const first = boxOf(await landmarks(picture), width, height);
  if (!first) return false;
  pen.fillStyle = "#808080";
  pen.fillRect(first.x, first.y, first.wide, first.tall);
  const other = boxOf(await landmarks(canvas.transferToImageBitmap()), width, height);
  const middle = other && other.x + other.wide / 2;
  return Boolean(other) && other.high >= AS_TALL * first.high && (middle < first.x || middle > first.x + first.wide);
}

/** Whether the body lies across the picture: the film was turned on its side. */
export function liesAcross(marks, width, height) {
  const [ears, feet] = [between(marks, EARS, width, height), between(marks, JOINTS.ankle, width, height)];
  return Boolean(ears && feet) && Math.abs(feet.u - ears.u) > Math.abs(feet.v - ears.v);
}
