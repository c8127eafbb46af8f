// Coming of age: who is grown up is asked what a guardian agreed to before; a guardian whose right has ended is told so.

import { $, el, show } from "../lib/dom.js";
import { say } from "../lib/words.js";

const tell = (...parts) => {
  show($("#notice"), el("div", { class: "card" }, parts));
  $("#notice").hidden = false;
};

/** consents: the part of the page with them, which knows whether something is asked, or asked anew. */
export function showOfAge(consents) {
  $("#notice").hidden = true;
  show($("#notice"));
  const key = consents.dataset.anew === "true" ? "home.ofAge" : consents.dataset.asked === "true" ? "home.asked" : null;
  if (!key) return;
  const decide = () => {
    $("#more").open = true;
    consents.querySelector("[tabindex]").focus();
  };
  tell(el("h2", { id: "notice-title" }, say(key)), el("p", {}, say(`${key}.why`)),
    el("p", {}, el("button", { type: "button", class: "main", "data-key": "decide", onclick: decide }, say("home.ofAge.decide"))));
}

/** In place of a page: nobody is left whose page this account may see. */
export function showEnded() {
  for (const part of ["#whose", "#care", "#drills", "#notes", "#progress", "#round", "#more"]) $(part).hidden = true;
  tell(el("h2", { id: "notice-title" }, say("home.ended")), ["home.ended.why", "home.ended.consent", "home.ended.ask"].map((key) => el("p", {}, say(key))));
}
