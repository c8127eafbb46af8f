// The way out: every swing waits on the device until the server has it. A resend carries the same key, so nothing is doubled;
// an entry goes only when the server has answered, so nothing is lost.

import { call, Problem } from "../lib/api.js";
import { drop, list, put } from "../lib/keep.js";

const AGAIN_MS = 20000;
const listeners = new Set();
let running = false;

export const onOutbox = (listener) => listeners.add(listener);

async function tell() {
  const entries = await list("outbox");
  listeners.forEach((listener) => listener(entries));
}

/** Takes a swing over: when this returns it is on the device. id is the key that makes a resend harmless. */
export async function enqueue({ id, student, document, stills }) {
  await put("outbox", { id, student, document: JSON.stringify(document), stills, added: new Date().toISOString(), state: "waiting", swing: null, problem: null });
  await tell();
  void sendAll();
}

async function sendStills(entry) {
  while (entry.stills.length > 0) {
    const { view, checkpoint, blob } = entry.stills[0];
    await call("PUT", `/v1/swings/${entry.swing}/stills/${view}-${checkpoint}`, { body: blob, type: blob.type });
    entry.stills.shift();
    await put("outbox", entry);
  }
}

async function sendOne(entry) {
  if (!entry.swing) {
    const { data } = await call("POST", `/v1/students/${entry.student.id}/swings`, { body: entry.document, type: "application/json", key: entry.id });
    entry.swing = data.id;
    await put("outbox", entry);
  }
  try {
    await sendStills(entry);
  } catch (problem) {
    if (problem.status === 0 || problem.status >= 500 || problem.status === 429 || problem.status === 401) throw problem;
    entry.stills = []; // a picture that is refused does not hold the swing back
    entry.refusal = problem.message;
  }
  await drop("outbox", entry.id);
  return entry;
}

const worthAnother = (problem) => !(problem instanceof Problem) || problem.status === 0 || problem.status >= 500 || problem.status === 429 || problem.status === 401;

/** Sends what waits, oldest first. What the server refuses for good stays, with its reason, for a person to see. */
async function sendAll() {
  if (running) return;
  running = true;
  try {
    const waiting = (await list("outbox")).filter((entry) => entry.state === "waiting").sort((a, b) => (a.added < b.added ? -1 : 1));
    for (const entry of waiting) {
      try {
        const { swing, refusal } = await sendOne(entry);
        window.dispatchEvent(new CustomEvent("leadside-sent", { detail: { id: entry.id, swing, student: entry.student, refusal } }));
      } catch (problem) {
        if (worthAnother(problem)) break; // the link: all the others would meet it too
        await put("outbox", { ...entry, state: "refused", problem: problem.path ? `${problem.path}: ${problem.message}` : problem.message });
      }
      await tell();
    }
  } finally {
    running = false;
    await tell();
  }
}

export const discard = (id) => drop("outbox", id).then(tell);

export function watch() {
  window.addEventListener("online", () => void sendAll());
  setInterval(() => void sendAll(), AGAIN_MS);
  void tell();
  void sendAll();
}
