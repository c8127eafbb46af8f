// A small figure of the player from which a point is picked: a place for each point, seen from the front, so that a right-hander's
// lead side is on the right; for a left-hander it is turned round.

import { el, svg } from "../../lib/dom.js";
import { say } from "../../lib/words.js";

const UNIT = 44; // px: a finger's place
const [WIDE, FEET] = [6.2, 7.4]; // in units

/** Where the points lie; those of the ground lie beneath the feet. */
const PLACES = {
  head: [3.1, 0.55], neck: [3.1, 1.6], trail_shoulder: [1.8, 2.1], lead_shoulder: [4.4, 2.1], trail_elbow: [0.9, 3.2], lead_elbow: [5.3, 3.2],
  trail_wrist: [1.3, 4.4], lead_wrist: [4.9, 4.4], trail_hip: [2.4, 3.75], lead_hip: [3.8, 3.75], grip: [3.1, 4.8], butt: [3.1, 5.85],
  trail_knee: [2, 6.3], lead_knee: [4.2, 6.3], trail_ankle: [2, 7.4], lead_ankle: [4.2, 7.4], trail_toe: [0.9, 7.8], lead_toe: [5.3, 7.8],
  clubhead: [5.5, 6.6], ball: [5.6, 5.5], "stick-0-0": [0.6, 8.7], "stick-0-1": [1.8, 8.7], "stick-1-0": [4.4, 8.7], "stick-1-1": [5.6, 8.7], target: [5.6, 0.55],
};
const LIMBS = [["head", "neck"], ["trail_shoulder", "neck", "lead_shoulder"], ["trail_shoulder", "trail_elbow", "trail_wrist", "grip", "lead_wrist", "lead_elbow", "lead_shoulder"],
  ["trail_shoulder", "trail_hip", "lead_hip", "lead_shoulder"], ["trail_hip", "trail_knee", "trail_ankle"], ["lead_hip", "lead_knee", "lead_ankle"]];

export class Figure {
  /** targets: [{id, label}]; choose(id) when one was picked. */
  constructor(targets, hand, choose) {
    const at = (id) => { const [x, y] = PLACES[id]; return [hand === "left" ? WIDE - x : x, y]; };
    const trail = (ids) => ids.map((id) => at(id).map((value) => value * UNIT).join(",")).join(" ");
    const has = (id) => targets.some((target) => target.id === id);
    const club = has("clubhead") ? [svg("polyline", { points: trail(["grip", "clubhead"]), class: "club" })] : [];
    const sticks = [0, 1].filter((i) => has(`stick-${i}-0`)).map((i) => svg("polyline", { points: trail([`stick-${i}-0`, `stick-${i}-1`]), class: "ground" }));
    this.buttons = new Map(targets.map(({ id, label }) => {
      const words = el("span", { class: "unseen" }, label);
      const button = el("button", { type: "button", role: "option", title: label, "data-point": id, onclick: () => choose(id) }, words);
      const [x, y] = at(id);
      Object.assign(button.style, { left: `${(x - 0.5) * UNIT}px`, top: `${(y - 0.5) * UNIT}px` });
      return [id, { button, words, label }];
    }));
    const high = Math.max(...targets.map(({ id }) => PLACES[id][1]), FEET) + 0.6;
    const [cx, cy] = at("head").map((value) => value * UNIT);
    this.node = el("div", { class: "targets figure", role: "listbox", "aria-label": say("bay.points") },
      svg("svg", { viewBox: `0 0 ${WIDE * UNIT} ${high * UNIT}`, width: WIDE * UNIT, height: high * UNIT, "aria-hidden": "true" },
        LIMBS.map((ids) => svg("polyline", { points: trail(ids) })), svg("circle", { cx, cy, r: UNIT * 0.5 }), club, sticks),
      [...this.buttons.values()].map(({ button }) => button));
    this.node.style.height = `${high * UNIT}px`;
  }

  /** chosen: the point that is asked for; read: a point's mark, or nothing. */
  draw(chosen, read) {
    for (const [id, { button, words, label }] of this.buttons) {
      const mark = read(id);
      button.setAttribute("aria-selected", String(id === chosen));
      button.className = !mark ? "" : mark.found ? "guess" : "done";
      words.textContent = mark?.found ? say("bay.found.point", { point: label }) : `${mark ? "✓ " : ""}${label}`;
    }
  }
}
