// What coaches wrote to the family, newest first, a few at a time.

import { call } from "../lib/api.js";
import { $, busy, el, show } from "../lib/dom.js";
import { day } from "../lib/units.js";
import { say } from "../lib/words.js";

const SHOWN = 3;

/** coaches: [{account_id, name}]. still: whether this student is the one who is shown. */
export async function showNotes(student, coaches, still) {
  const names = new Map(coaches.map((coach) => [coach.account_id, coach.name]));
  const line = (note) => el("li", { class: "card" }, el("p", { class: "hint" }, [names.get(note.author), day(note.created)].filter(Boolean).join(", ")), el("p", { class: "note" }, note.text));
  const list = el("ul", { class: "plain" });
  const older = el("button", { type: "button", "data-key": "older" }, say("home.notes.older"));
  let next = `/v1/students/${student}/notes?limit=${SHOWN}`;
  const load = async () => {
    const page = await call("GET", next);
    next = page.next;
    list.append(...page.data.notes.map(line));
    older.hidden = !next;
  };
  await load();
  if (!still()) return;
  older.addEventListener("click", () => void busy(older, load));
  $("#notes").hidden = list.childElementCount === 0;
  show($("#notes"), el("h2", { id: "notes-title" }, say("home.notes")), list, el("p", {}, older));
}
