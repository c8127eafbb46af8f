// Marking a still: tap to place, drag to move with a magnifier beside the finger, arrow keys or buttons to nudge, undo.

import { el, show, svg } from "../lib/dom.js";
import { say } from "../lib/words.js";

const LENS = 150; // px across on the screen
const ZOOM = 4;
const SIZE = 8; // px on the screen: a mark's radius
const WIDE = 800; // of a stage that has not been laid out
const NEAR = 36; // px: a touch this near takes the mark up

/** A found mark that a coach has touched is the coach's: neither found nor with the finder's error. */
const own = (mark) => mark && { u: mark.u, v: mark.v };

export class Marker {
  /** targets: [{id, label}]; read(id) gives {u, v} or null; write(id, mark or null) stores it. Pixels of the picture. */
  constructor({ picture, width, height, targets, read, write }) {
    Object.assign(this, { width, height, targets, read, write });
    this.history = [];
    this.image = el("img", { src: URL.createObjectURL(picture), alt: say("bay.still"), draggable: "false" });
    this.layer = svg("svg", { viewBox: `0 0 ${width} ${height}`, class: "marks", "aria-hidden": "true" });
    this.lens = el("canvas", { class: "lens", width: LENS, height: LENS, "aria-hidden": "true", hidden: true });
    this.stage = el("div", { class: "stage", tabindex: "0", "data-key": "stage", role: "application", "aria-label": say("bay.stage") }, this.image, this.layer, this.lens);
    this.list = el("div", { class: "targets", role: "listbox", "aria-label": say("bay.points") });
    this.stage.style.setProperty("--ratio", String(width / height)); // the whole picture fits the window
    new ResizeObserver(() => this.draw()).observe(this.stage);
    this.stage.addEventListener("pointerdown", (event) => this.down(event));
    this.stage.addEventListener("pointermove", (event) => this.move(event));
    this.stage.addEventListener("pointerup", () => this.up());
    this.stage.addEventListener("pointercancel", () => this.cancel());
    this.stage.addEventListener("keydown", (event) => this.key(event));
    this.chosen = targets.find((target) => !read(target.id))?.id ?? targets[0]?.id;
    this.draw();
  }

  /** head stands above the points' names, foot below the buttons. */
  node(head, foot) {
    const nudge = (label, du, dv) => el("button", { type: "button", "aria-label": say(`bay.nudge.${label}`), onclick: () => this.nudge(du, dv) }, { left: "←", right: "→", up: "↑", down: "↓" }[label]);
    return el("div", { class: "marking" }, this.stage,
      el("div", { class: "side" }, head, this.list,
        el("div", { class: "row" }, nudge("left", -1, 0), nudge("up", 0, -1), nudge("down", 0, 1), nudge("right", 1, 0)),
        el("div", { class: "row" },
          el("button", { type: "button", onclick: () => this.undo() }, say("bay.undo")),
          el("button", { type: "button", onclick: () => this.set(this.chosen, null) }, say("bay.unmark"))), foot));
  }

  at(event) {
    const box = this.image.getBoundingClientRect();
    this.scale = this.width / box.width;
    const clamp = (value, limit) => Math.min(Math.max(0, value), limit);
    return { u: clamp((event.clientX - box.left) * this.scale, this.width), v: clamp((event.clientY - box.top) * this.scale, this.height) };
  }

  down(event) {
    event.preventDefault();
    if (!event.isPrimary) { // a second finger: not a mark but a closer look
      this.cancel();
      return;
    }
    this.stage.focus({ preventScroll: true });
    this.stage.setPointerCapture?.(event.pointerId);
    const place = this.at(event);
    const near = this.targets
      .map((target) => ({ id: target.id, mark: this.read(target.id) }))
      .filter(({ mark }) => mark)
      .map(({ id, mark }) => ({ id, mark, far: Math.hypot(mark.u - place.u, mark.v - place.v) / this.scale }))
      .sort((a, b) => a.far - b.far)[0];
    // A mark under the finger is taken up where it is, so that a touch alone never moves it; but a point that was just asked
    // for by its name is the one that is meant.
    if (near && near.far < NEAR && (near.id === this.chosen || (!this.named && this.read(this.chosen)))) {
      this.chosen = near.id;
      this.grip = { du: near.mark.u - place.u, dv: near.mark.v - place.v };
      this.remember(this.chosen);
      if (near.mark.found) this.write(this.chosen, own(near.mark));
    } else {
      this.grip = { du: 0, dv: 0 };
      this.set(this.chosen, place);
    }
    this.named = false;
    this.magnify(this.read(this.chosen) ?? place);
    this.draw();
  }

  move(event) {
    if (!this.grip) return;
    const place = this.at(event);
    const mark = { u: place.u + this.grip.du, v: place.v + this.grip.dv }; // a coach's own: what was found is dropped
    this.write(this.chosen, mark);
    this.magnify(mark);
    this.draw();
  }

  /** What the finger did since it came down is taken back. */
  cancel() {
    if (!this.grip) return;
    this.grip = null;
    this.lens.hidden = true;
    this.undo();
  }

  up() {
    if (!this.grip) return;
    this.grip = null;
    this.lens.hidden = true;
    const next = this.targets.findIndex((target) => target.id === this.chosen) + 1;
    const open = [...this.targets.slice(next), ...this.targets].find((target) => !this.read(target.id));
    if (open && this.fresh) this.chosen = open.id;
    this.fresh = false;
    this.draw();
  }

  key(event) {
    const step = event.shiftKey ? 10 : 1;
    const moves = { ArrowLeft: [-step, 0], ArrowRight: [step, 0], ArrowUp: [0, -step], ArrowDown: [0, step] };
    if (moves[event.key]) this.nudge(...moves[event.key]);
    else if (event.key === "Enter" || event.key === " ") this.set(this.chosen, own(this.read(this.chosen)) ?? { u: this.width / 2, v: this.height / 2 });
    else if (event.key === "Delete" || event.key === "Backspace") this.set(this.chosen, null);
    else if (event.key === "PageDown" || event.key === "PageUp") this.choose(event.key === "PageDown" ? 1 : -1);
    else if (event.key === "z" && (event.ctrlKey || event.metaKey)) this.undo();
    else return;
    event.preventDefault();
  }

  /** The next point of the list, or the one before. */
  choose(by) {
    const n = this.targets.length;
    const now = this.targets.findIndex((target) => target.id === this.chosen);
    this.chosen = this.targets[(now + by + n) % n]?.id;
    this.draw();
  }

  nudge(du, dv) {
    const mark = this.read(this.chosen);
    if (mark) this.set(this.chosen, { u: mark.u + du, v: mark.v + dv });
  }

  remember(id) {
    this.history.push([id, this.read(id)]);
  }

  set(id, mark) {
    if (!id) return;
    this.remember(id);
    this.fresh = !this.read(id) && mark !== null;
    this.write(id, mark);
    this.draw();
  }

  undo() {
    const last = this.history.pop();
    if (!last) return;
    this.chosen = last[0];
    this.write(last[0], last[1]);
    this.draw();
  }

  magnify({ u, v }) {
    const pen = this.lens.getContext("2d");
    const part = LENS / ZOOM;
    const natural = this.image.naturalWidth / this.width;
    pen.fillRect(0, 0, LENS, LENS);
    pen.drawImage(this.image, u * natural - part / 2, v * natural - part / 2, part, part, 0, 0, LENS, LENS);
    pen.strokeStyle = "#fff";
    pen.strokeRect(LENS / 2 - 8, LENS / 2 - 8, 16, 16);
    this.lens.hidden = false;
    // In the corner away from the finger.
    this.lens.classList.toggle("far", u < this.width / 2);
  }

  draw() {
    const size = (SIZE * this.width) / (this.stage.clientWidth || WIDE);
    const marks = this.targets.map(({ id, label }) => {
      const mark = this.read(id);
      if (!mark) return null;
      const on = id === this.chosen;
      return svg("g", { class: `mark${on ? " on" : ""}${mark.found ? " found" : ""}` },
        svg("circle", { cx: mark.u, cy: mark.v, r: mark.found ? mark.sd : size, fill: "none", "stroke-width": size / 3, ...(mark.found ? { "stroke-dasharray": `${size * 0.7} ${size * 0.5}` } : {}) }),
        svg("path", { d: `M${mark.u - size * 1.6} ${mark.v} h${size * 3.2} M${mark.u} ${mark.v - size * 1.6} v${size * 3.2}`, "stroke-width": size / 8 }),
        on ? svg("text", { x: mark.u + size * 1.8, y: mark.v - size, "font-size": size * 2.2 }, label) : null);
    });
    this.layer.replaceChildren(...marks.filter(Boolean));
    show(this.list, this.targets.map(({ id, label }) => el("button", {
      type: "button", role: "option", "aria-selected": String(id === this.chosen), class: this.read(id) ? "done" : "",
      onclick: () => { this.chosen = id; this.named = true; this.draw(); this.stage.focus({ preventScroll: true }); },
    }, this.read(id)?.found ? say("bay.found.point", { point: label }) : `${this.read(id) ? "✓ " : ""}${label}`)));
  }
}
