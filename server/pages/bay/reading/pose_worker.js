// The general pose library in a thread of its own, so that the page answers while it works: a picture in, its landmarks out. What it
// finds are suggestions: two-dimensional, with a large error.
/* global importScripts, Pose */

// The library asks for a page to load its parts into and for a canvas; a worker has its own ways for both.
const script = () => ({ listeners: {}, setAttribute(name, value) { this[name] = value; }, addEventListener(name, act) { this.listeners[name] = act; } });
self.window = self;
self.document = {
  createElement: (tag) => (tag === "canvas" ? Object.assign(new OffscreenCanvas(1, 1), { style: {} }) : script()),
  body: { appendChild: ({ src, listeners }) => { importScripts(src); listeners.load(); } },
  addEventListener: () => {},
};

const STEP_MS = 150; // between two pictures, as the library is told, which smooths by it: by the clock it would find something else on a busy tablet
let stamp = 0;
let library = null;

/** Whether the picture is drawn by the processor itself: it then computes faster on its own account, by twenty times. */
function drawsItself() {
  const pen = new OffscreenCanvas(1, 1).getContext("webgl2");
  const about = pen?.getExtension("WEBGL_debug_renderer_info");
  const name = about ? pen.getParameter(about.UNMASKED_RENDERER_WEBGL) : "";
  pen?.getExtension("WEBGL_lose_context")?.loseContext();
  return /swiftshader|llvmpipe|softpipe|basic render|software/i.test(name);
}

function load() {
  library ??= (async () => {
    importScripts("/pose/pose.js");
    const pose = new Pose({ locateFile: (name) => `/pose/${name}` });
    pose.setOptions({ modelComplexity: 1, smoothLandmarks: false, enableSegmentation: false, minDetectionConfidence: 0.5, useCpuInference: drawsItself() });
    await pose.initialize();
    return pose;
  })();
  return library;
}

async function once(pose, picture) {
  let found = null;
  pose.onResults((result) => { found = result.poseLandmarks ?? null; });
  await pose.send({ image: picture }, (stamp += STEP_MS));
  return found;
}

let turn = Promise.resolve(); // one picture at a time

/** The library carries what it saw from one picture to the next. A blank one of the same size makes it forget. */
async function look({ id, picture, follow }) {
  try {
    const pose = await load();
    if (!follow) {
      const blank = new OffscreenCanvas(picture.width, picture.height);
      blank.getContext("2d").fillRect(0, 0, blank.width, blank.height);
      await once(pose, blank);
    }
    self.postMessage({ id, marks: await once(pose, picture) });
  } catch (error) {
    self.postMessage({ id, error: String(error) });
  } finally {
    picture.close();
  }
}

self.onmessage = ({ data }) => { turn = turn.then(() => look(data)); };
