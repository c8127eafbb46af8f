// What waits to be sent, and what the server did not take: why, and what can be done.

import { busy, el, show } from "../lib/dom.js";
import { take } from "../lib/storage.js";
import { moment } from "../lib/units.js";
import { say } from "../lib/words.js";
import { fail } from "./fix.js";
import { discard, outbox, reopen, sendAgain } from "./outbox.js";

/** What stands beside an entry's name. */
function stateOf(entry) {
  if (entry.state === "refused") return say(entry.swing ? "bay.stillsRefused" : "bay.refused", { why: entry.problem });
  if (entry.problem) return say("bay.waits.again", { why: entry.problem, at: moment(entry.again) });
  return say(entry.swing ? "bay.waits.stills" : "bay.waits");
}

/** Thrown away in two taps; the second is elsewhere. */
function twice(text, sureText, act) {
  const first = el("button", { type: "button", "data-key": "discard", onclick: () => ask(true) }, text);
  const not = el("button", { type: "button", hidden: true, onclick: () => ask(false) }, say("bay.discard.not"));
  const sure = el("button", { type: "button", "data-key": "sure", hidden: true, onclick: (event) => busy(event.currentTarget, act).catch(fail) }, sureText);
  const ask = (asking) => {
    first.hidden = asking;
    sure.hidden = not.hidden = !asking;
    (asking ? not : first).focus();
  };
  return [first, not, sure];
}

async function card(entry) {
  const button = (key, text, act) => el("button", { type: "button", "data-key": key, onclick: (event) => busy(event.currentTarget, act).catch(fail) }, text);
  const refused = entry.state === "refused";
  const mendable = refused && !entry.swing && (await take("drafts", entry.id));
  const open = async () => { location.hash = (await reopen(entry)) ? `#swing/${entry.id}` : "#outbox"; };
  return el("li", { class: "card", "data-entry": entry.id }, el("p", {}, el("strong", {}, entry.student.name), `, ${moment(entry.added)}`),
    el("p", refused ? { class: "wrong" } : {}, stateOf(entry)),
    entry.swing || refused ? null : el("p", {}, el("a", { class: "button", href: `#waiting/${entry.id}` }, say("bay.waits.report"))),
    refused || entry.problem ? el("div", { class: "row" },
      mendable ? button("mend", say("bay.mend"), open) : null,
      button("again", say(refused ? "bay.again.send" : "bay.again.now"), () => sendAgain(entry)),
      refused ? (entry.swing ? button("leave-stills", say("bay.stills.leave"), () => discard(entry.id)) : twice(say("bay.discard"), say("bay.discard.sure"), () => discard(entry.id))) : null) : null);
}

export async function outboxRoom(place) {
  const list = el("div");
  let drawn = 0;
  const draw = async () => {
    const mine = ++drawn;
    const entries = await outbox();
    const cards = await Promise.all(entries.map(card));
    if (mine !== drawn) return;
    show(list, entries.length === 0 ? el("p", {}, say("bay.outbox.empty"))
      : [el("p", { class: "hint" }, say("bay.outbox.yours")), el("ul", { class: "plain" }, cards)]);
  };
  show(place, el("p", {}, el("a", { class: "button", href: "#students" }, say("common.back"))), el("h2", {}, say("bay.outbox")), list);
  await draw();
  return { draw };
}
