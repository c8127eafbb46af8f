// The tablet's storage is full: what is kept in the page alone, and how to make room.

import { announce, busy, el, show } from "../lib/dom.js";
import { number } from "../lib/units.js";
import { say } from "../lib/words.js";
import { dropFilms, keepLoose, looseParts, otherFilms } from "./draft.js";

const MEGABYTE = 1e6;

/** Asks the browser once not to clear what is kept when the device runs short. */
export const askToStay = () => navigator.storage?.persist?.().catch(() => false);

async function again(draft) {
  await keepLoose(draft);
  announce(say(looseParts(draft).length ? "bay.full.still" : "bay.full.over"), { urgent: true });
}

/** A card that stands above a swing as long as something of it is not on the device. */
export function roomNotice(draft) {
  const place = el("div", { role: "alert" });
  const button = (text, key, act) => el("button", { type: "button", "data-key": key, onclick: (event) => busy(event.currentTarget, act) }, text);
  const draw = async () => {
    const parts = looseParts(draft);
    if (parts.length === 0) {
      show(place);
      return;
    }
    const films = await otherFilms(draft);
    show(place, el("div", { class: "card full" },
      el("p", { class: "wrong" }, say(parts.every((name) => name.startsWith("film")) ? "bay.film.unkept" : "bay.full")), el("p", {}, say("bay.full.how")),
      el("div", { class: "row" },
        films.ids.length ? button(say("bay.full.films", { n: films.ids.length, size: number(films.bytes / MEGABYTE, films.bytes < 10 * MEGABYTE ? 1 : 0) }), "films",
          () => dropFilms(films.ids).then(() => again(draft)).then(draw)) : null,
        button(say("bay.full.again"), "again-room", () => again(draft)))));
  };
  const told = ({ detail }) => { if (detail.id === draft.id) void draw(); };
  window.addEventListener("leadside-room", told);
  void draw();
  return { place, end: () => window.removeEventListener("leadside-room", told) };
}
