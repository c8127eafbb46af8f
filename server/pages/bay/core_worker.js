// The core, as the server runs it, in a thread of its own (server/module/module.h). Asked through core.js: a message
// {id, ask, ...} is answered by {id, output} or {id, problem}; one without id gives what stays until it is given anew.

const encoder = new TextEncoder();
const decoder = new TextDecoder();

async function load() {
  const { instance } = await WebAssembly.instantiateStreaming(fetch("/core.wasm"), {});
  instance.exports._initialize();
  return instance.exports;
}

let loading = null;

/** Writes the module's input; how many bytes it is. */
function put(core, text) {
  const bytes = encoder.encode(text);
  const at = core.module_room(bytes.length);
  if (at === 0) throw new Error("too much for the module");
  new Uint8Array(core.memory.buffer, at, bytes.length).set(bytes);
  return bytes.length;
}

const output = (core) => JSON.parse(decoder.decode(new Uint8Array(core.memory.buffer, core.module_output(), core.module_output_length())));

/** What each kind of message does: whether the module took it. */
const ASKED = {
  rules: (core, { standard, number, drills }) => core.module_standard(put(core, JSON.stringify(standard)), number) &&
    core.module_drills(put(core, JSON.stringify({ schema: "leadside.drills/1", drills }))),
  score: (core, { document, student, now }) => core.module_student(put(core, student ? JSON.stringify(student) : ""), now) &&
    core.module_score(put(core, JSON.stringify(document))),
};

self.addEventListener("message", async ({ data }) => {
  const { id, ask } = data;
  try {
    loading ??= load();
    const core = await loading;
    const good = ASKED[ask](core, data);
    if (id === undefined) return;
    self.postMessage(good ? { id, output: output(core) } : { id, problem: output(core) });
  } catch {
    loading = null; // no network yet, perhaps; or a call that stopped half way
    if (id !== undefined) self.postMessage({ id });
  }
});
