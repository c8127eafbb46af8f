// The contact sheet: all pictures that were read of a view, small, with skeleton and shaft. One word confirms those that nothing speaks
// against; the others are named, and asked by themselves. A tap on a picture looks closer.

import { addressOf, el, svg } from "../../lib/dom.js";
import { say } from "../../lib/words.js";
import { cropOf } from "../drawings.js";
import { doubtWords } from "./doubts.js";
import { strokes } from "./skeleton.js";

const ACROSS_PX = 220; // about so wide a picture is shown

export class ContactPanel {
  constructor(sheet) {
    this.sheet = sheet;
    const { width, height } = sheet.view;
    const frames = sheet.pictures().map((name) => ({ points: Object.fromEntries(Object.entries(sheet.frame(name).points).map(([id, { u, v }]) => [id, [u, v]])) }));
    this.crop = cropOf({ image: { width, height }, frames });
  }

  node() {
    const { sheet } = this;
    const told = [...(sheet.view.crowd ? [say("bay.read.crowd")] : []), ...sheet.doubts.filter(({ checkpoint }) => !checkpoint).map(doubtWords)];
    return el("section", { class: "contact", "aria-label": say("bay.contact") }, told.length ? el("div", { class: "wrong", role: "alert" }, told.map((text) => el("p", {}, text))) : null,
      el("ol", { class: "plain tiles" }, sheet.checkpoints.map((name) => el("li", {}, this.tile(name)))));
  }

  tile(name) {
    const { sheet } = this;
    const frame = sheet.frame(name);
    const doubts = sheet.doubtsIn(name);
    const state = !frame ? say("bay.contact.none") : doubts.length ? doubtWords(doubts[0]) : say(sheet.confirmed(name) ? "bay.contact.right" : "bay.contact.found");
    const looks = !frame ? "none" : doubts.length ? "asked" : sheet.confirmed(name) ? "done" : "";
    return el("button", { type: "button", class: looks, "data-key": `look-${name}`, onclick: () => sheet.open(name, { lead: true }) }, frame ? this.picture(frame, doubts) : el("span", { class: "blank" }),
      el("strong", {}, say(`checkpoint.${name}`)), el("span", { class: "state" }, state));
  }

  picture(frame, doubts) {
    const { crop } = this;
    const { width, height } = this.sheet.view;
    const pixel = Math.max(crop.width, crop.height) / ACROSS_PX;
    const rings = doubts.map(({ point }) => frame.points[point]).filter(Boolean)
      .flatMap(({ u, v }) => ["under", "over"].map((name) => svg("circle", { cx: u, cy: v, r: 12 * pixel, class: name, "stroke-width": (name === "under" ? 5 : 2.5) * pixel })));
    return svg("svg", { viewBox: [crop.x, crop.y, crop.width, crop.height].join(" "), class: "marks", "aria-hidden": "true" },
      svg("image", { href: addressOf(frame.still), width, height }), strokes((id) => frame.points[id] ?? frame.seen?.[id], 0.7 * pixel), svg("g", { class: "mark on" }, rings));
  }

  /** The one next action: what nothing speaks against is right; then what is asked by itself; then sending. */
  bar() {
    const { sheet } = this;
    const [sound, asked] = [sheet.sound().length, sheet.checkpoints.filter((name) => sheet.pending(name) && sheet.doubtsIn(name).length)];
    sheet.foot.asked.textContent = sound ? say("bay.contact.how") : asked.length ? say("bay.contact.left", { n: asked.length }) : say("bay.contact.done");
    sheet.foot.set({
      more: [sheet.readButton()],
      next: sound ? ["found", say("bay.allFound"), () => sheet.allFound()] : asked.length ? ["ask", say("bay.onward", { checkpoint: say(`checkpoint.${asked[0]}`) }), () => sheet.open(asked[0], { lead: true })] : null,
    });
  }
}
