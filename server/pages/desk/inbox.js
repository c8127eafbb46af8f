// The first page: what waits to be read, and who needs a look though nobody wrote.

import { inboxPlace } from "../lib/care.js";
import { el, show } from "../lib/dom.js";
import { say } from "../lib/words.js";
import { beginPart } from "./begin.js";
import { roll } from "./roll.js";
import { TESTS } from "./tests.js";

const LOOKS = ["pain", "retest", "nobody", "unled", "ofAge", "stuck", "forgotten"];

/** Where on the student's page it belongs. */
const link = (student, item) => `#story/${student}/${item.handover_id ? "team" : "care"}`;

export async function inboxRoom(place) {
  const looks = el("section");
  const line = ([test, n], whole) => el("li", {}, el("a", { href: `#students?test=${test}` }, el("strong", { class: "figure" }, whole ? String(n) : "…"), say(`desk.test.${test}`)));
  const draw = ({ rows, whole, off }) => {
    const found = LOOKS.map((test) => [test, rows.filter((row) => TESTS[test](row, off)).length]).filter(([, n]) => n > 0 || !whole);
    if (whole && rows.length === 0) show(looks, beginPart());
    else show(looks, el("h3", {}, say("desk.looks")), found.length ? el("ul", { class: "plain looks" }, found.map((look) => line(look, whole))) : el("p", {}, say("desk.looks.none")));
  };
  const inbox = inboxPlace(link, { whole: true });
  show(place, inbox, looks);
  await Promise.all([inbox.ready, roll(place, draw)]);
}
