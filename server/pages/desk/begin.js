// What a club that has just been made begins with, in the order in which one thing needs the other.

import { el } from "../lib/dom.js";
import { say } from "../lib/words.js";

const STEPS = { coaches: "#accounts", import: "#import", one: "/bay.html", team: "#students?test=nobody", tablets: "#devices" };

export const beginPart = () => el("section", { class: "begin" }, el("h3", {}, say("desk.begin")),
  el("ol", {}, Object.entries(STEPS).map(([step, href]) => el("li", {}, el("a", { href }, say(`desk.begin.${step}`)), " ", say(`desk.beginWhy.${step}`)))));
