// The core as a tablet runs it says what the server says: over 500 documents scored natively and by core.wasm, under node and in
// chromium. The two have different mathematical libraries (glibc's, musl's), so numbers may differ in their last bits: before
// they are rounded for writing they agree to 1e-9, and then, where one falls on an edge, by one step of the last digit written.
import { execFile, execFileSync } from "node:child_process";
import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync, statSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { promisify } from "node:util";
import { gzipSync } from "node:zlib";

import { badInput, differences, drillsFile, filmOf, moduleOf, nativeOf, ownDocuments, read, standardFile } from "../module/module.mjs";
import { browser, build, check, club, finish, open, quiet, signIn, skip } from "./support.mjs";

const GENERATED = 490;
const LESSONS = 16;
const CALLS = 10000;
const MOST_BYTES = 400 * 1024; // compressed
const NEAR = 1e-9;
const run = promisify(execFile); // beside what is done here

const wasm = join(build, "joined/core.wasm");
if (!existsSync(wasm)) {
  skip("core.wasm: no Debian clang for WebAssembly when this was built");
  finish("module");
}

const core = await moduleOf(wasm);
check(core.imports.length === 0, "core.wasm imports nothing");
const packed = gzipSync(readFileSync(wasm), { level: 9 }).length;
check(packed <= MOST_BYTES, `core.wasm: ${statSync(wasm).size} bytes, ${packed} compressed`);

// ---- the documents ----

const folder = mkdtempSync(join(tmpdir(), "leadside-module-"));
const shot = join(folder, "film");
const drawn = run("/usr/bin/python3", [new URL("../films/render.py", import.meta.url).pathname, "--seed", "7", "--view", "face_on", "--size", "354x492", "--fps", "60", "--out", shot]);
const stage = Promise.all([club(["--no-throttle"]), browser()]);
await run("/usr/bin/python3", [new URL("../module/documents.py", import.meta.url).pathname, folder, String(GENERATED)]);
const documents = [...ownDocuments(), ...readdirSync(folder).filter((name) => name.endsWith(".json")).sort().map((name) => [name, join(folder, name)])];
const bad = badInput("swing");
check(documents.length >= 500, `${documents.length} documents, and ${bad.length} that must be refused`);
const texts = documents.map(([, path]) => read(path));

// ---- node against the program ----

const near = (a, b) => Math.abs(a - b) <= NEAR * Math.max(1, Math.abs(a));
const decimals = (number) => (String(number).split(".")[1] ?? "").length;
const step = (a, b) => Math.abs(a - b) <= 1.01 * 10 ** -Math.max(decimals(a), decimals(b)) || a === b;
const some = (list) => list.slice(0, 3).map((item) => item.join(" ")).join("; ");

check(core.call("score", "{}")[1].includes("no-rules"), "without rules nothing is scored");
check(core.call("standard", read(standardFile), 0)[0] === 1 && core.call("drills", read(drillsFile))[0] === 1, "it takes the house's standard and drills");

const program = run(join(build, "leadside"), ["score", "--json", ...documents.map(([, path]) => path)], { maxBuffer: 1 << 28 });
const here = texts.map((text) => core.call("score", text));
const said = (await program).stdout.trimEnd().split("\n");
check(said.length === documents.length, "the program scored every document");
check(here.every(([good]) => good === 1), "and so did the module");
const apart = documents.flatMap(([name], i) => differences(JSON.parse(said[i]), JSON.parse(here[i][1]), step, name));
check(apart.length === 0, `the same verdicts, order and words, and numbers within a step of the last digit${apart.length ? `: ${some(apart)}` : ""}`);
const same = documents.filter((_, i) => said[i] === here[i][1]).length;
check(same >= documents.length * 0.99, `the same bytes in ${same} of ${documents.length}`);

// ---- lessons ----

const hands = texts.map((text) => JSON.parse(text).hand);
const lessons = Array.from({ length: LESSONS }, (_, i) => [8 * i, 8 * i + 3, 8 * i + 6]).filter(([a, b, c]) => hands[a] === hands[b] && hands[b] === hands[c]);
const lessonHere = (module, lesson) => lesson.map((n, i) => module.call(i < lesson.length - 1 ? "swing" : "score", texts[n])).at(-1);
const lessonSaid = lessons.map((lesson) => execFileSync(join(build, "leadside"), ["score", "--json", "--lesson", ...lesson.map((n) => documents[n][1])], { encoding: "utf8" }).trimEnd());
const lessonApart = lessons.flatMap((lesson, i) => differences(JSON.parse(lessonSaid[i]), JSON.parse(lessonHere(core, lesson)[1]), step, lesson.join()));
check(lessons.length >= LESSONS / 2 && lessonApart.length === 0 && lessonSaid.every((line) => JSON.parse(line).swings === 3),
  `${lessons.length} lessons of three swings, one report each, are told alike${lessonApart.length ? `: ${some(lessonApart)}` : ""}`);
const otherHand = texts[hands.findIndex((hand) => hand !== hands[0])];
core.call("swing", texts[0]);
const [mixed, why] = core.call("score", otherHand);
check(mixed === 0 && JSON.parse(why).path === "hand", "a lesson of both hands is refused");
check(core.call("swing", "{}")[0] === 0 && core.call("score", otherHand)[0] === 1, "and what was refused is forgotten");
let held = 0;
while (core.call("swing", texts[0])[0] === 1) held++;
check(held === 50 && JSON.parse(core.call("score", texts[0])[1]).swings === 1, "of more than fifty there is none");

// ---- before rounding ----

const exact = await moduleOf(join(build, "module/exact.wasm"));
const native = nativeOf(join(build, "tests/module_native"));
exact.call("standard", read(standardFile), 0);
exact.call("drills", read(drillsFile));
exact.exact(1);
await native.ask(`standard ${standardFile} 0`);
await native.ask(`drills ${drillsFile}`);
native.tell("exact 1");
let worst = 0;
const nearer = (a, b) => {
  worst = Math.max(worst, Math.abs(a - b) / Math.max(1, Math.abs(a)));
  return near(a, b);
};
const asked = documents.map(([, path]) => native.ask(`score ${path}`));
const unrounded = texts.map((text) => exact.call("score", text)[1]);
const lines = await Promise.all(asked);
const wrong = documents.flatMap(([name], i) => differences(JSON.parse(lines[i].slice(2)), JSON.parse(unrounded[i]), nearer, name));
check(wrong.length === 0, `unrounded numbers agree to 1e-9 (the worst ${worst.toExponential(1)})${wrong.length ? `: ${some(wrong)}` : ""}`);
native.tell("exact 0");

// ---- what must be refused ----

const told = (name, text, number) => {
  const [good, output] = core.call(name, text, number);
  return good ? {} : JSON.parse(output);
};
const badly = (kind, name) => badInput(kind).filter(({ bytes, path, words }) => {
  const problem = told(name, bytes, 0);
  // a reader of trees says by itself what is no JSON at all; the words are the library's
  return problem.status !== 422 || problem.path !== path || !(words.every((word) => problem.detail.includes(word)) || problem.detail.startsWith("not JSON"));
}).map((item) => [kind, item.name]);
for (const [kind, name] of [["swing", "score"], ["standard", "standard"], ["drills", "drills"]]) {
  const failed = badly(kind, name);
  check(failed.length === 0, `each bad ${kind} is refused where the server refuses it${failed.length ? `: ${some(failed)}` : ""}`);
}
check(core.call("score", texts[0])[0] === 1, "and the rules that were there before stay");
check(told("score", " ".repeat(8 * 1024 * 1024 + 1)).status === 413 && core.call("score", " ".repeat(80 * 1024 * 1024))[1] === null, "more than the server takes is not taken");
check(core.call("score", `${texts[0]}${" ".repeat(7 * 1024 * 1024)}`)[0] === 1, "as much as it takes is");
check(told("score", "[".repeat(1 << 20)).status === 422 && told("standard", "[".repeat(1 << 20), 0).status === 422, "a deep pile of brackets is refused");

// ---- memory ----

const small = [...texts].sort((a, b) => a.length - b.length).slice(0, 40); // of one view and of two, with slips
const began = performance.now();
let settled = 0;
for (let i = 0; i < CALLS; i++) {
  core.call("score", i % 50 === 49 ? bad[i % bad.length].bytes : small[i % small.length]);
  if (i === CALLS / 10) settled = core.memory();
}
check(core.memory() === settled, `memory does not grow over ${CALLS} calls: ${core.memory()} bytes; ${((performance.now() - began) / CALLS).toFixed(2)} ms a call`);

// ---- a film ----

await drawn;
const film = filmOf(join(shot, "film.bin"));
const natively = execFileSync(join(build, "tests/external_finder_read"), [join(shot, "film.bin")], { encoding: "utf8", maxBuffer: 1 << 28 });
const wanted = natively.trim().split("\n").map((line) => JSON.parse(line));
const { instants: at } = wanted.pop();
check(core.call("film", JSON.stringify({ ...film.about, width: 8 }))[0] === 0 && core.call("frame", film.picture(0), 0)[0] === 0, "a film too small is refused, and a picture of none");
check(core.call("film", JSON.stringify(film.about))[0] === 1, `a film of ${film.about.frames.length} pictures is begun`);
for (const i of film.ground) core.call("ground", film.picture(i));
const looked = performance.now();
for (let i = 0; i < film.about.frames.length; i++) core.call("frame", i % 7 ? film.picture(i) : film.rgba(i), i);
const spent = (performance.now() - looked) / film.about.frames.length;
const path = JSON.parse(core.call("path", "")[1]);
const turned = (a, b) => Math.abs(a - b - 360 * Math.round((a - b) / 360));
const shafts = wanted.filter((line, i) => {
  const shaft = path.frames[i];
  return line.found !== shaft.found || (line.found && turned(line.angle_deg, shaft.angle_deg) > 0.002) || Boolean(line.head) !== Boolean(shaft.head) ||
    (line.head && Math.hypot(line.head[0] - shaft.head[0], line.head[1] - shaft.head[1]) > 0.03);
});
check(shafts.length === 0 && wanted.filter(({ found }) => found).length > wanted.length / 2, `the same shafts as natively in ${wanted.length} pictures (${shafts.length} differ), ${spent.toFixed(1)} ms a picture`);
check(Object.keys(at).join() === Object.keys(path.instants).join() && Object.entries(at).every(([name, { frame }]) => Math.abs(frame - path.instants[name].time_s * film.about.rate_hz) < 0.01),
  `and the same instants: ${Object.keys(at).join(", ")}`);
// A few pictures through the same calls compiled for this machine, under its sanitizers where the build has them.
const few = { ...film.about, ground: 2, frames: film.about.frames.slice(60, 72) };
const file = (name, bytes) => { writeFileSync(join(folder, name), bytes); return join(folder, name); };
const steps = [["film", JSON.stringify(few)], ["ground", film.picture(0)], ["ground", film.picture(150)],
  ...few.frames.map((_, i) => ["frame", i % 2 ? film.picture(60 + i) : film.rgba(60 + i), i]), ["frame", film.picture(0), few.frames.length], ["frame", "short", 0], ["path", ""], ["film", ""], ["path", ""]];
let unlike = 0;
for (const [name, bytes, number] of steps) {
  const answer = await native.ask(`${name} ${file("step", bytes)} ${number ?? 0}`);
  if (answer !== core.call(name, bytes, number).join(" ")) unlike++;
}
await native.end();
check(unlike === 0, `${steps.length} steps of a film are answered alike natively (${unlike} otherwise)`);
check(core.call("film", "")[0] === 1 && core.call("path", "")[0] === 0, "an ended film is gone");

// ---- the club's own rules, and chromium ----

const [house, chromium] = await stage;
const served = await fetch(`${house.origin}/core.wasm`);
check(served.headers.get("Content-Type") === "application/wasm" && served.headers.get("Content-Encoding") === "gzip" &&
  Buffer.from(await served.arrayBuffer()).equals(readFileSync(wasm)), "core.wasm is served as it was built, packed");
const kept = await fetch(`${house.origin}/core.wasm`, { headers: { "If-None-Match": served.headers.get("ETag") } });
check(kept.status === 304, "and not again to whoever has it");
const policy = async (path) => (await fetch(house.origin + path)).headers.get("Content-Security-Policy").includes("'wasm-unsafe-eval'");
check((await policy("/bay.html")) && (await policy("/bay/core_worker.js")) && !(await policy("/home.html")) && !(await policy("/lib/api.js")), "the bay and its workers alone may run it");
const head = await house.token("head");
const { data: standard, etag } = await house.call("GET", "/v1/standard", head);
const changed = { ...standard.standard, version: "stricter", threshold: standard.standard.threshold * 0.8 };
check((await house.call("PUT", "/v1/standard", head, changed, { "If-Match": etag })).status === 200, "the club sets a standard of its own");
const drill = { name: "Größer ausholen", how_to: "Langsam.", feel: "Schwer.", faults: JSON.parse(said.find((line) => JSON.parse(line).first_fixes.length)).first_fixes.map(({ fault }) => fault),
  ball: false, minutes: 5, kit: [], place: ["home"], loads: [] };
check((await house.call("POST", "/v1/drills", head, drill)).status === 201, "and a drill");
const made = await house.call("POST", "/v1/students", head, { name: "Wren Tallow", hand: "left", sex: "female", birth_year: new Date().getFullYear() - 40, pain: ["low back"] });
const coach = (await house.call("GET", "/v1/accounts?limit=200", head)).data.accounts.find(({ sign_in: name }) => name === "coach1");
await house.call("PUT", `/v1/students/${made.data.id}/team/${coach.id}`, head);
const { data: student } = await house.call("GET", `/v1/students/${made.data.id}`, head);

const page = await open(chromium, house.origin);
await signIn(page, house.origin, "coach1", house.password);
await page.waitForSelector(".names a");
const scoredTogether = (lessons, whose) => page.evaluate(async ([lessons, whose]) => {
  const { keepRules, scoreHere } = await import("/bay/core.js");
  await keepRules();
  return Promise.all(lessons.map((documents) => scoreHere(documents, whose).catch(({ slug, status, path, message }) => ({ slug, status, path, message }))));
}, [lessons, whose]);
const scored = (list, whose) => scoredTogether(list.map((document) => [document]), whose);

core.call("standard", JSON.stringify(changed), standard.number + 1);
const list = (await house.call("GET", "/v1/drills?limit=200", head)).data.drills;
core.call("drills", JSON.stringify({ schema: "leadside.drills/1", drills: list.map(({ built_in: _, created: __, retired: ___, version: ____, ...item }) => item) }));
core.call("student", JSON.stringify(student), Date.now());
let differ = 0;
for (let from = 0; from < documents.length; from += 50) {
  const part = texts.slice(from, from + 50).map((text) => JSON.parse(text));
  const there = scored(part, student);
  const wanted = part.map((document) => core.call("score", JSON.stringify(document))[1]);
  (await there).forEach((report, i) => { if (JSON.stringify(report) !== JSON.stringify(JSON.parse(wanted[i]))) differ++; });
}
check(differ === 0, `chromium's worker says the same as node of ${documents.length} documents, by the club's rules (${differ} differ)`);
const faulty = texts.filter((_, i) => JSON.parse(said[i]).first_fixes.length).map((text) => JSON.parse(text));
const sent = [...faulty.filter(({ hand }) => hand === "right").slice(0, 3), faulty.find(({ hand }) => hand === "left")];
const ids = [];
const answers = [];
for (const document of sent) {
  const { data: { id } } = await house.call("POST", `/v1/students/${student.id}/swings`, head, document);
  ids.push(id);
  answers.push((await house.call("GET", `/v1/swings/${id}/report`, head)).data);
}
const reports = await scored(sent, student);
const off = answers.flatMap((answer, i) => differences(answer, reports[i], step));
check(off.length === 0 && answers.every(({ standard: { version }, notes }) => version === "stricter" && notes.length <= 1) && answers.some(({ notes }) => notes.length === 1),
  `the server's reports are the worker's: standard, drills, pain, hand${off.length ? `: ${some(off)}` : ""}`);
const { data: { report: lesson } } = await house.call("POST", `/v1/students/${student.id}/lessons`, head, { swings: ids.slice(0, 3) });
const [lessonThere, refused] = await scoredTogether([sent.slice(0, 3), sent], student);
const lessonOff = differences(lesson, lessonThere, step);
check(lesson.swings === 3 && lessonOff.length === 0, `and so is its lesson's, of three swings${lessonOff.length ? `: ${some(lessonOff)}` : ""}`);
check(refused.status === 422 && refused.path === "hand", "and both hands in one lesson are refused");
const seen = await page.evaluate(async ([about, ground, pictures]) => {
  const { FilmReader } = await import("/bay/core.js");
  const reader = new FilmReader();
  await reader.begin({ ...about, ground: ground.length });
  const bitmap = (base64) => {
    const grey = Uint8Array.from(atob(base64), (letter) => letter.charCodeAt(0));
    const pixels = new Uint8ClampedArray(4 * grey.length);
    grey.forEach((value, i) => pixels.set([value, value, value, 255], 4 * i));
    return createImageBitmap(new ImageData(pixels, about.width, about.height));
  };
  for (const i of ground) await reader.ground(await bitmap(pictures[i]));
  for (const [i, picture] of pictures.entries()) await reader.frame(i, await bitmap(picture));
  const path = await reader.path();
  reader.end();
  return path;
}, [film.about, film.ground, film.about.frames.map((_, i) => film.picture(i).toString("base64"))]);
check(JSON.stringify(seen) === JSON.stringify(path), "the worker reads the film as node does");
check(JSON.stringify(answers).includes('"Größer ausholen"'), "the club's own drill is among them");

const parsed = bad.flatMap(({ name, bytes }) => {
  try {
    return [{ name, document: JSON.parse(bytes) }];
  } catch {
    return []; // no page sends that
  }
});
const refusals = await scored(parsed.map(({ document }) => document), student);
const otherwise = [];
for (const [i, { name, document }] of parsed.entries()) {
  const { status, data } = await house.call("POST", `/v1/students/${student.id}/swings`, head, document);
  const { slug, path, message, status: mine, schema } = refusals[i];
  if (status === 201 && schema) continue; // what made it bad did not survive being parsed here
  if (status !== mine || data.type !== `urn:leadside:problem:${slug}` || data.path !== path || data.detail !== message) otherwise.push([name, data.detail, "/", message]);
}
check(otherwise.length === 0, `of ${parsed.length} bad documents the worker says what the server answers${otherwise.length ? `: ${some(otherwise)}` : ""}`);
quiet(page, "the bay");

await chromium.close();
await house.end();
rmSync(folder, { recursive: true, force: true });
finish("module");
