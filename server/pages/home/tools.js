// What a family takes along: everything the club keeps as a file, and the practice days in a calendar of their own.

import { call, newKey } from "../lib/api.js";
import { $, announce, el, show } from "../lib/dom.js";
import { say } from "../lib/words.js";

/** Everything the club keeps about the student, as a file. */
export async function saveCopy(student) {
  const { data } = await call("GET", `/v1/students/${student}/export`);
  const address = URL.createObjectURL(new Blob([JSON.stringify(data, null, 1)], { type: "application/json" }));
  el("a", { href: address, download: "leadside.json" }).click();
  setTimeout(() => URL.revokeObjectURL(address), 60000);
  announce(say("home.copy.saved"));
}

/** A calendar's address: to be opened by the phone's calendar, or copied. student: null where there is no choice. */
export async function makeCalendar(student) {
  const { data } = await call("POST", "/v1/me/calendar", { body: student ? { student } : {}, key: newKey() });
  const address = location.origin + data.url_path;
  const open = el("a", { class: "button main", href: address.replace(/^https?:/, "webcal:") }, say("home.calendar.open"));
  const text = el("a", { href: data.url_path }, address);
  const copied = el("span", { role: "status" });
  const copy = async () => {
    try {
      await navigator.clipboard.writeText(address);
      copied.textContent = say("home.calendar.copied");
    } catch { // no clipboard here: the address is marked, to be copied by hand
      getSelection().selectAllChildren(text);
      copied.textContent = say("home.calendar.byHand");
    }
  };
  show($("#feed"), el("p", {}, say("home.calendar.made")), el("p", { class: "row" }, open, el("button", { type: "button", "data-key": "copy-feed", onclick: copy }, say("home.calendar.copy")), copied), el("p", {}, text));
  $("#feed").hidden = false;
  open.focus();
}
