// What to mind before one starts: open until it was read, then one line that opens again. On paper it always stands in full.

import { $, el, show } from "../lib/dom.js";
import { cautionItem } from "../lib/speech.js";
import { say } from "../lib/words.js";

/** A number for a text: what was read is told from what is new without keeping what hurts on the device. */
const mark = (text) => String([...text].reduce((sum, letter) => Math.imul(sum ^ letter.codePointAt(0), 16777619) >>> 0, 2166136261));

/** whose: {account, student}; it was read by this account about this student, on this device, as it now stands. */
export function showCautions(cautions, { account, student }) {
  const place = $("#care");
  const kept = `leadside.read.${account}.${student}`;
  const now = mark(JSON.stringify(cautions));
  const list = el("ul", { id: "care-list" }, cautions.map(cautionItem));
  const read = el("button", { type: "button", class: "main", "data-key": "read" }, say("home.care.read"));
  const open = el("button", { type: "button", "data-key": "care", "aria-controls": "care-list" }, say("home.care.open"));
  const fold = (folded) => {
    place.classList.toggle("folded", folded);
    open.setAttribute("aria-expanded", String(!folded));
    open.textContent = say(folded ? "home.care.open" : "home.care.close");
  };
  const known = localStorage.getItem(kept) === now;
  read.hidden = known;
  open.hidden = !known;
  fold(known);
  read.addEventListener("click", () => {
    localStorage.setItem(kept, now);
    read.hidden = true;
    open.hidden = false;
    fold(true);
    open.focus();
  });
  open.addEventListener("click", () => fold(!place.classList.contains("folded")));
  show(place, el("div", { class: "row" }, el("h2", { id: "care-title" }, say("home.care")), open), list, el("p", {}, read));
  place.hidden = false;
}
