// The server's own core on the tablet: a report where there is no network, and the club found in a film.
//
//     void keepRules();                                     once the coach is known, and when a network comes back
//     const report = await scoreHere(documents, student);   "leadside.report/1" of one swing, or of several together; null: it can't be done here
//
// scoreHere rejects with the server's Problem (path and all) where a document is refused. student: as the server answers one,
// or what the list keeps of one; null where nobody is known. The server's report is the record: what the player's own earlier
// swings say of his spread is not known here.
//
//     const reader = new FilmReader();
//     await reader.keep(n, bitmap);                         a picture that comes before it is known what is to be found in it
//     await reader.begin({view, hand, width, height, rate_hz, ground: 9, frames: [{club_px, points: {grip: [u, v, sd]}}]});
//     await reader.ground(n or bitmap);                     nine pictures spread over the film, or fewer; n: one that was kept
//     await reader.frame(i, n or bitmap);                   each picture that is to be looked at; the others count as not found
//     const {frames, instants} = await reader.path();       server/module/film.c says what they hold; null: it can't be done here
//     reader.end();
//
// Bitmaps are of the size told, and are handed over.

import { all, get, Problem } from "../lib/api.js";
import { putList, takeList } from "../lib/storage.js";

/** The core in one thread. What is asked resolves to its output, or to null where the module can't be had. */
class Core {
  waiting = new Map(); // id to {resolve, reject}
  last = 0;

  tell(message, id, transfer = []) {
    if (!this.worker) {
      this.worker = new Worker("/bay/core_worker.js");
      this.worker.addEventListener("message", ({ data }) => this.answered(data));
      this.worker.addEventListener("error", () => this.end());
    }
    this.worker.postMessage(id ? { ...message, id } : message, transfer);
  }

  ask(message, transfer) {
    return new Promise((resolve, reject) => {
      const id = ++this.last;
      this.waiting.set(id, { resolve, reject });
      this.tell(message, id, transfer);
    });
  }

  answered({ id, output, problem }) {
    const { resolve, reject } = this.waiting.get(id) ?? {};
    this.waiting.delete(id);
    if (problem) reject?.(new Problem(problem.status, String(problem.type).split(":").pop(), problem.detail, problem.path));
    else resolve?.(output ?? null);
    if (!output && !problem) this.end();
  }

  /** Its memory is given back; the next question begins it anew. */
  end() {
    this.worker?.terminate();
    this.worker = null;
    for (const { resolve } of this.waiting.values()) resolve(null);
    this.waiting.clear();
  }
}

// ---- reports ----

const core = new Core();
let given = null; // the worker and the rules that it has
let kept = 0;

/** The club's standard and drills as they are now; without a network those last seen stay. */
export async function keepRules() {
  try {
    const [{ standard, number }, list] = await Promise.all([get("/v1/standard"), all("/v1/drills?limit=200", "drills")]);
    const drills = list.map(({ built_in: _, created: __, retired: ___, version: ____, ...drill }) => drill);
    await putList("rules", { standard, number, drills });
    kept++;
  } catch {
    // no network, or no room on the device: a report is then the server's alone
  }
}

export async function scoreHere(documents, student) {
  const rules = await takeList("rules").catch(() => undefined);
  if (!rules || typeof WebAssembly === "undefined") return null;
  if (!core.worker || given !== kept) {
    const { standard, number, drills } = rules;
    core.tell({ ask: "rules", standard, number, drills });
    given = kept;
  }
  return core.ask({ ask: "score", documents, student, now: Date.now() });
}

// ---- films ----

/** In a thread of its own, so that no report waits for it. */
export class FilmReader {
  core = new Core();

  keep(number, picture) {
    return this.core.ask({ ask: "keep", number, picture }, [picture]);
  }

  begin(about) {
    return this.core.ask({ ask: "film", about });
  }

  /** picture: a bitmap, or the number of one that was kept. */
  ground(picture) {
    return this.core.ask({ ask: "ground", picture }, typeof picture === "number" ? [] : [picture]);
  }

  frame(frame, picture) {
    return this.core.ask({ ask: "frame", frame, picture }, typeof picture === "number" ? [] : [picture]);
  }

  path() {
    return this.core.ask({ ask: "path" });
  }

  end() {
    this.core.end();
  }
}
