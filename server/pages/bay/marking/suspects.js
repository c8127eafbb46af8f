// Marks that do not fit the others, told before a swing is sent: the core on the tablet checks them as the server will (core.js).

import { el } from "../../lib/dom.js";
import { markWords } from "../../lib/speech.js";
import { say } from "../../lib/words.js";
import { scoreHere } from "../core.js";
import { documentOf, keepDraft } from "../draft.js";

const WAIT_MS = 3000; // so long sending waits for the check

const MOST = 3; // beside the first

export const keyOf = ({ view_kind: kind, checkpoint, point, code }) => [kind, checkpoint, point, code].join();

/** The marks of a draft that do not fit; none where it can't be checked here, or not soon. */
export async function suspectsIn(draft) {
  const late = new Promise((resolve) => setTimeout(resolve, WAIT_MS, null));
  const report = await Promise.race([scoreHere([documentOf(draft)], null).catch(() => null), late]);
  return report?.marks ?? [];
}

/** Those that were not told yet. told: what was, by this page. */
export async function suspectsOf(draft, told) {
  const found = (await suspectsIn(draft)).filter((mark) => !told.has(keyOf(mark)));
  for (const mark of found) told.add(keyOf(mark));
  return found;
}

/** The coach has said that a point lies right all the same. */
export function confirmPoint(frame, point) {
  frame.confirmed = [...new Set([...(frame.confirmed ?? []), point])];
}

/** What is said of them, and the word that the first lies right all the same; done() after that. */
export function suspectCard(draft, [first, ...others], done) {
  const { view_kind: kind, checkpoint, point } = first;
  const frame = draft.views[kind]?.frames[checkpoint];
  const right = async () => {
    confirmPoint(frame, point);
    await keepDraft(draft);
    done();
  };
  return el("div", { class: "card suspect" }, el("p", {}, el("strong", {}, say("bay.suspect")), " ", markWords(first)), others.slice(0, MOST).map((mark) => el("p", {}, markWords(mark))),
    el("p", { class: "row" }, frame && point ? el("button", { type: "button", "data-key": "confirm", onclick: right }, say("bay.suspect.right")) : null, el("span", { class: "hint" }, say("bay.suspect.send"))));
}
