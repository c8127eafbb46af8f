// Marks that do not fit the others, told before a swing is sent: the core on the tablet checks them as the server will (core.js).

import { el } from "../../lib/dom.js";
import { markWords } from "../../lib/speech.js";
import { say } from "../../lib/words.js";
import { scoreHere } from "../core.js";
import { documentOf, keepDraft } from "../draft.js";

const WAIT_MS = 3000; // so long sending waits for the check

const keyOf = ({ view_kind: kind, checkpoint, point, code }) => [kind, checkpoint, point, code].join();

/** The first mark that does not fit and was not told yet; nothing where it can't be checked here. told: what was, by this page. */
export async function suspectOf(draft, told) {
  const late = new Promise((resolve) => setTimeout(resolve, WAIT_MS, null));
  const report = await Promise.race([scoreHere(documentOf(draft), null).catch(() => null), late]);
  const found = report?.marks?.find((mark) => !told.has(keyOf(mark)));
  if (found) told.add(keyOf(found));
  return found;
}

/** What is said of it, and the word that it lies right all the same; done() after that. */
export function suspectCard(draft, { view_kind: kind, checkpoint, point, ...rest }, done) {
  const frame = draft.views[kind]?.frames[checkpoint];
  const right = async () => {
    frame.confirmed = [...new Set([...(frame.confirmed ?? []), point])];
    await keepDraft(draft);
    done();
  };
  return el("div", { class: "card suspect" }, el("p", {}, el("strong", {}, say("bay.suspect")), " ", markWords({ view_kind: kind, checkpoint, point, ...rest })),
    el("p", { class: "row" }, frame && point ? el("button", { type: "button", "data-key": "confirm", onclick: right }, say("bay.suspect.right")) : null, el("span", { class: "hint" }, say("bay.suspect.send"))));
}
