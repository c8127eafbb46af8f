// The core, as the server runs it, in a thread of its own (server/module/module.h). Asked through core.js: a message {id, ask, ...}
// is answered by {id, output} or {id, problem}, or by {id} where the module can't be had; one without id gives what stays until it is
// given anew.

const encoder = new TextEncoder();
const decoder = new TextDecoder();

async function load() {
  const { instance } = await WebAssembly.instantiateStreaming(fetch("/core.wasm"), {});
  instance.exports._initialize();
  return instance.exports;
}

let loading = null;

/** Writes the module's input; how many bytes it is. */
function putBytes(core, bytes) {
  const at = core.module_room(bytes.length);
  if (at === 0) throw new Error("too much for the module");
  new Uint8Array(core.memory.buffer, at, bytes.length).set(bytes);
  return bytes.length;
}

const put = (core, value) => putBytes(core, encoder.encode(JSON.stringify(value) ?? ""));

let canvas = null;

/** The bytes of an ImageBitmap, RGBA; it is used up. */
function bytesOf(picture) {
  const { width, height } = picture;
  if (canvas?.width !== width || canvas.height !== height) canvas = new OffscreenCanvas(width, height);
  const pen = canvas.getContext("2d", { willReadFrequently: true });
  pen.drawImage(picture, 0, 0);
  picture.close();
  return pen.getImageData(0, 0, width, height).data;
}

const kept = new Map(); // pictures by their number, grey

/** The same grey as the module makes of it (film.c). */
function greyOf(bytes) {
  const grey = new Uint8Array(bytes.length / 4);
  for (let i = 0, k = 0; i < grey.length; i++, k += 4) grey[i] = (77 * bytes[k] + 150 * bytes[k + 1] + 29 * bytes[k + 2] + 128) >> 8;
  return grey;
}

const putPicture = (core, picture) => putBytes(core, typeof picture === "number" ? kept.get(picture) : bytesOf(picture));

const output = (core) => {
  const text = decoder.decode(new Uint8Array(core.memory.buffer, core.module_output(), core.module_output_length()));
  return text === "" ? {} : JSON.parse(text);
};

/** What each kind of message does: whether the module took it. */
const ASKED = {
  rules: (core, { standard, number, drills }) => core.module_standard(put(core, standard), number) &&
    core.module_drills(put(core, { schema: "leadside.drills/1", drills })),
  score: (core, { documents, student, now }) => core.module_student(put(core, student ?? undefined), now) &&
    documents.slice(0, -1).every((document) => core.module_swing(put(core, document))) && core.module_score(put(core, documents.at(-1))),
  keep: (core, { number, picture }) => Boolean(kept.set(number, greyOf(bytesOf(picture)))),
  film: (core, { about }) => core.module_film(put(core, about)),
  ground: (core, { picture }) => core.module_ground(putPicture(core, picture)),
  frame: (core, { frame, picture }) => core.module_frame(putPicture(core, picture), frame),
  path: (core) => core.module_path(),
};

let turn = Promise.resolve(); // one call at a time, in the order they came

async function answer(data) {
  const { id, ask } = data;
  try {
    loading ??= load();
    const core = await loading;
    const good = ASKED[ask](core, data);
    if (id !== undefined) self.postMessage(good ? { id, output: output(core) } : { id, problem: output(core) });
  } catch {
    loading = null; // no network yet, perhaps; or a call that stopped half way
    if (id !== undefined) self.postMessage({ id });
  }
}

self.addEventListener("message", ({ data }) => { turn = turn.then(() => answer(data)); });
