// Points found for the coach: the general pose library, loaded only when asked for, from this server alone. What it finds are
// suggestions to be dragged into place: two-dimensional, near side only, with a large error, and count for nothing until a coach has touched them.

import { el } from "../../lib/dom.js";

const VISIBLE = 0.6; // the library's own word for how surely a landmark can be seen; below it nothing is suggested
const SHARE = 0.04; // standard deviation as a share of the body's height in the picture: 4 to 7 cm on drawn figures
const LEAST_PX = 25;
const LIMIT_MS = 60000; // the first picture compiles the library

/** The library's landmark numbers by joint: [left, right] of the person. */
const JOINTS = {
  shoulder: [11, 12], elbow: [13, 14], wrist: [15, 16], hip: [23, 24], knee: [25, 26], ankle: [27, 28], toe: [31, 32],
};

let library = null;

/** Whether this club's server offers the library at all. */
let offered = null;
export const poseOffered = () =>
  (offered ??= fetch("/pose/ready").then((answer) => answer.ok, () => { offered = null; return false; }));

export function canRun() {
  return Boolean(el("canvas", {}).getContext("webgl2"));
}

const script = (src) => new Promise((resolve, reject) => {
  const node = el("script", { src });
  node.addEventListener("load", resolve, { once: true });
  node.addEventListener("error", () => { node.remove(); reject(new Error(src)); }, { once: true });
  document.head.append(node);
});

function load() {
  library ??= (async () => {
    if (!window.Pose) await script("/pose/pose.js");
    const pose = new window.Pose({ locateFile: (name) => `/pose/${name}` });
    pose.setOptions({ modelComplexity: 1, smoothLandmarks: false, enableSegmentation: false, minDetectionConfidence: 0.5 });
    await pose.initialize();
    return pose;
  })().catch((cause) => { library = null; throw cause; });
  return library;
}

const late = (promise) => new Promise((resolve, reject) => {
  const timer = setTimeout(() => { library = null; reject(new Error("pose: no answer")); }, LIMIT_MS);
  promise.then(resolve, reject).finally(() => clearTimeout(timer));
});

async function once(pose, picture) {
  let found = null;
  pose.onResults((result) => { found = result.poseLandmarks ?? null; });
  await late(pose.send({ image: picture }));
  return found;
}

let turn = Promise.resolve(); // one picture at a time

/** The 33 landmarks of a canvas, in shares of its width and height, or null when nobody is found. follow: the canvas is a
 * later picture of the same film, where only the rough place matters. */
export function landmarks(canvas, follow = false) {
  const work = async () => {
    const pose = await late(load());
    // The library carries what it saw from one picture to the next. A blank one of the same size makes it forget.
    if (!follow) {
      const blank = el("canvas", { width: canvas.width, height: canvas.height });
      blank.getContext("2d").fillRect(0, 0, blank.width, blank.height);
      await once(pose, blank);
    }
    return once(pose, canvas);
  };
  const answer = turn.then(work);
  turn = answer.catch(() => null);
  return answer;
}

export async function canvasOf(blob) {
  const picture = await createImageBitmap(blob);
  const canvas = el("canvas", { width: picture.width, height: picture.height });
  canvas.getContext("2d").drawImage(picture, 0, 0);
  picture.close();
  return canvas;
}

/** Height of what is seen of the body, px: head to the lowest foot. */
function bodyHeight(marks, height) {
  const seen = marks.filter((mark) => mark.visibility >= VISIBLE).map((mark) => mark.y * height);
  return seen.length ? Math.max(...seen) - Math.min(...seen) : 0;
}

/** The person's left (0) or right (1) for "lead" and "trail". */
const sideOf = (word, hand) => ((word === "lead") === (hand === "right") ? 0 : 1);

/** From behind, a right-hander turns the right side to the camera: trail is near at every checkpoint that is marked. */
const hidden = (kind, word) => kind === "down_the_line" && word === "lead";

/** Suggestions for the points asked for in one picture: {point: {u, v, sd, found: true}} in pixels of the picture. */
export function suggest(marks, { kind, points, hand, width, height }) {
  const least = Math.max(LEAST_PX, SHARE * bodyHeight(marks, height));
  const out = {};
  for (const point of points) {
    const [word, joint] = point.split("_");
    const pair = JOINTS[joint];
    if (!pair || hidden(kind, word)) continue;
    const mark = marks[pair[sideOf(word, hand)]];
    const inside = mark && mark.x >= 0 && mark.x <= 1 && mark.y >= 0 && mark.y <= 1;
    if (!inside || !(mark.visibility >= VISIBLE)) continue;
    out[point] = { u: mark.x * width, v: mark.y * height, sd: Math.round((least / mark.visibility) * 10) / 10, found: true };
  }
  return out;
}
