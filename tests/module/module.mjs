// What the module's tests share: core.wasm as a page uses it, its calls compiled for this machine, and how reports are compared.
import { spawn } from "node:child_process";
import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { createInterface } from "node:readline";

const DOCUMENTS = new URL("../data/", import.meta.url).pathname;
const STANDARD = new URL("../../server/standard/", import.meta.url).pathname;

export const read = (path) => readFileSync(path, "utf8");
export const standardFile = join(STANDARD, "default.json");
export const drillsFile = join(STANDARD, "drills.json");

/** core.wasm in node: call(name, text, number) gives [good, output]; memory() its bytes; exact(on) writes numbers unrounded. */
export async function moduleOf(path) {
  const compiled = new WebAssembly.Module(readFileSync(path));
  const { exports } = await WebAssembly.instantiate(compiled, {});
  exports._initialize();
  const call = (name, text, number) => {
    const bytes = Buffer.from(text);
    const at = exports.module_room(bytes.length);
    if (at === 0) return [0, null];
    Buffer.from(exports.memory.buffer, at, bytes.length).set(bytes);
    const good = exports[`module_${name}`](bytes.length, number);
    return [good, Buffer.from(exports.memory.buffer, exports.module_output(), exports.module_output_length()).toString()];
  };
  return { call, imports: WebAssembly.Module.imports(compiled), memory: () => exports.memory.buffer.byteLength, exact: exports.exact_set };
}

/** The same calls, compiled natively (tests/module/native.c): ask(line) gives the line it answers, without its end. */
export function nativeOf(program) {
  const child = spawn(program, { stdio: ["pipe", "pipe", "inherit"] });
  const waiting = [];
  createInterface({ input: child.stdout }).on("line", (line) => waiting.shift()?.(line));
  const ask = (line) => new Promise((resolve) => {
    waiting.push(resolve);
    child.stdin.write(`${line}\n`);
  });
  const tell = (line) => child.stdin.write(`${line}\n`);
  const end = () => new Promise((resolve) => {
    child.once("exit", resolve);
    child.stdin.end();
  });
  return { ask, tell, end };
}

/** The tests' own documents: [name, path]. */
export function ownDocuments() {
  const plain = readdirSync(DOCUMENTS).filter((name) => name.endsWith(".json")).map((name) => [name, join(DOCUMENTS, name)]);
  const faults = readdirSync(join(DOCUMENTS, "faults")).map((name) => [`faults/${name}`, join(DOCUMENTS, "faults", name, "swing.json")]);
  return [...plain, ...faults];
}

const GOOD = { swing: join(DOCUMENTS, "every_part.json"), standard: standardFile, drills: drillsFile };

/** One JSON Patch operation. */
function change(root, { path, value }) {
  const keys = path.slice(1).split("/");
  const last = keys.pop();
  const at = keys.reduce((node, key) => node[key], root);
  if (Array.isArray(at)) at.splice(last === "-" ? at.length : Number(last), last === "-" ? 0 : 1, value);
  else if (value === undefined) delete at[last];
  else at[last] = value;
}

/** What must be refused, of one kind: [{name, bytes, path, words}]. */
export function badInput(kind) {
  const folder = join(DOCUMENTS, "bad_input", kind);
  return readdirSync(folder).map((name) => {
    const files = readdirSync(join(folder, name));
    let bytes;
    if (files.includes("input.json")) bytes = readFileSync(join(folder, name, "input.json"));
    else {
      const root = JSON.parse(read(GOOD[kind]));
      JSON.parse(read(join(folder, name, "change.json"))).forEach((operation) => change(root, operation));
      bytes = Buffer.from(JSON.stringify(root));
    }
    const [path, ...words] = read(join(folder, name, "error")).split("\n");
    return { name, bytes, path, words };
  });
}

/** The places where two reports say something else than nearly the same number: [[path, a, b]]; close(a, b) judges numbers. */
export function differences(a, b, close, path = "") {
  if (typeof a === "number" && typeof b === "number") return close(a, b) ? [] : [[path, a, b]];
  if (a === null || b === null || typeof a !== "object" || typeof b !== "object") return a === b ? [] : [[path, a, b]];
  const keys = Object.keys(a);
  if (Array.isArray(a) !== Array.isArray(b) || keys.join() !== Object.keys(b).join()) return [[path, keys.join(), Object.keys(b).join()]];
  return keys.flatMap((key) => differences(a[key], b[key], close, `${path}.${key}`));
}

/** A film as tests/films/render.py writes it: {about, ground, picture(i), rgba(i)}; about and ground as the module wants them. */
export function filmOf(path) {
  const bytes = readFileSync(path);
  const start = bytes.indexOf("\n") + 1;
  const header = JSON.parse(bytes.subarray(0, start));
  const { view, hand, width, height, fps, frames, joints, hands, club_px: club } = header;
  const usual = header.hands_sd ?? 0.015 * (header.body_px ?? 200);
  const mark = (place) => (place ? [place[0], place[1], place[2] ?? usual] : null);
  const points = (i) => Object.fromEntries([["grip", hands], ...Object.entries(joints ?? {})].map(([name, series]) => [name, mark(series?.[i])]).filter(([, place]) => place));
  const count = header.ground === false ? 0 : Math.min(frames, 15);
  const about = { view, hand: hand === "left" ? "left" : "right", width, height, rate_hz: fps, ground: count,
    frames: Array.from({ length: frames }, (_, i) => ({ club_px: Array.isArray(club) ? club[i] : club, points: points(i) })) };
  const picture = (i) => bytes.subarray(start + i * width * height, start + (i + 1) * width * height);
  const rgba = (i) => Buffer.from(picture(i).reduce((out, value, k) => { out.fill(value, 4 * k, 4 * k + 3); out[4 * k + 3] = 255; return out; }, Buffer.alloc(4 * width * height)));
  return { about, ground: Array.from({ length: count }, (_, k) => Math.floor(((k + 0.5) * frames) / count)), picture, rgba };
}
