// A report where there is no network: the same code as the server's, by the rules last seen.
//
//     void keepRules();                                     once the coach is known, and when a network comes back
//     const report = await scoreHere(document, student);    "leadside.report/1"; null: it can't be done here
//
// scoreHere rejects with the server's Problem (path and all) where the document is refused. student: as the server answers one,
// or what the list keeps of one; null where nobody is known. The server's report is the record: what the player's own earlier
// swings say of his spread is not known here.

import { all, get, Problem } from "../lib/api.js";
import { putList, takeList } from "../lib/storage.js";

let worker = null;
let given = null; // the rules that the worker has
let last = 0;
const waiting = new Map(); // what was asked: id to {resolve, reject}

/** Nothing more is to be had from it; the next question begins another. */
function drop() {
  worker?.terminate();
  worker = given = null;
  for (const { resolve } of waiting.values()) resolve(null);
  waiting.clear();
}

function answered({ data: { id, output, problem } }) {
  const { resolve, reject } = waiting.get(id) ?? {};
  waiting.delete(id);
  if (!output && !problem) drop();
  if (problem) reject?.(new Problem(problem.status, problem.type.split(":").pop(), problem.detail, problem.path));
  else resolve?.(output ?? null);
}

function running() {
  if (worker) return worker;
  worker = new Worker("/bay/core_worker.js");
  worker.addEventListener("message", answered);
  worker.addEventListener("error", drop);
  return worker;
}

function ask(message) {
  return new Promise((resolve, reject) => {
    const id = ++last;
    running();
    waiting.set(id, { resolve, reject });
    worker.postMessage({ ...message, id });
  });
}

/** The club's standard and drills as they are now; without a network those last seen stay. */
export async function keepRules() {
  try {
    const [{ standard, number }, list] = await Promise.all([get("/v1/standard"), all("/v1/drills?limit=200", "drills")]);
    const drills = list.map(({ built_in: _, created: __, retired: ___, version: ____, ...drill }) => drill);
    await putList("rules", { standard, number, drills });
    given = null;
  } catch {
    // no network, or no room on the device: a report is then the server's alone
  }
}

export async function scoreHere(document, student) {
  const rules = await takeList("rules").catch(() => undefined);
  if (!rules || typeof WebAssembly === "undefined") return null;
  running();
  if (given !== rules.number) {
    const { standard, number, drills } = rules;
    worker.postMessage({ ask: "rules", standard, number, drills });
    given = number;
  }
  return ask({ ask: "score", document, student, now: Date.now() });
}
