// Work that was kept on this tablet before it was kept under its coach's name: nobody sees it sent until somebody says that it
// is theirs. A student is named only to who has that student anyway.

import { busy, el } from "../lib/dom.js";
import { claim, unclaimed } from "../lib/storage.js";
import { moment } from "../lib/units.js";
import { say } from "../lib/words.js";
import { partsOf } from "./draft.js";
import { fail } from "./fix.js";

function line({ id, student, at }, students, claimed) {
  const own = students.some((item) => item.id === student?.id);
  const take = async () => {
    const parts = [["outbox", id], ...partsOf(id)];
    await claim(parts.filter(([store]) => store !== "films"));
    await claim(parts.filter(([store]) => store === "films")).catch(() => {}); // no room: it goes on without its film
    await claimed();
  };
  return el("li", { class: "row", "data-unclaimed": id }, own ? say("bay.draftOf", { name: student.name, at: moment(at) }) : say("bay.unclaimed.other", { at: moment(at) }), " ",
    own ? el("button", { type: "button", onclick: (event) => busy(event.currentTarget, take).catch(fail) }, say("bay.unclaimed.mine")) : null);
}

/** A card when there is such work, else null. claimed: called when some of it was taken. */
export async function unclaimedCard(students, claimed) {
  const { drafts, outbox } = await unclaimed();
  const items = [...outbox.map(({ id, student, added }) => ({ id, student, at: added })),
    ...drafts.filter((draft) => !outbox.some(({ id }) => id === draft.id)).map(({ id, student, recorded_at }) => ({ id, student, at: recorded_at }))];
  if (items.length === 0) return null;
  return el("section", { class: "card unclaimed" }, el("h3", {}, say("bay.unclaimed")), el("p", {}, say("bay.unclaimed.why")),
    el("ul", { class: "plain" }, items.map((item) => line(item, students, claimed))));
}
