// Marking a still: the points are asked for one after the other; a tap places, a drag moves with a magnifier beside the finger,
// arrow keys or buttons nudge, undo takes back. A closer look shows the player large.

import { addressOf, el, show, svg } from "../../lib/dom.js";
import { say } from "../../lib/words.js";

const LENS = 150; // px across on the screen
const ZOOM = 4;
const SIZE = 8; // px on the screen: a mark's radius
const WIDE = 800; // of a picture that has not been laid out
const NEAR = 36; // px: a touch this near takes the chosen mark up
const ON = 6; // px: a touch this near to a guess accepts it where it is; farther off the mark goes where it was touched
const PULL = 10; // px: a finger that moves so far from a mark pulls that mark
const CLOSER = 2.4; // at the most
const MARGIN = 1.5; // round what is known of the player

/** A found mark that a coach has touched is the coach's: neither found nor with the finder's error. */
const own = (mark) => mark && { u: mark.u, v: mark.v };

export class Marker {
  /** targets: [{id, label}]; read(id) gives {u, v} or null; write(id, mark or null) takes it, settled() comes when a finger was
   * lifted or a key has done. Pixels of the picture. look: {close, around()}: whether it is shown large, and the known marks
   * that tell where the player stands. */
  constructor({ picture, width, height, targets, read, write, settled, look }) {
    Object.assign(this, { width, height, targets, read, write, settled, look });
    this.history = [];
    this.skipped = new Set();
    this.image = el("img", { src: addressOf(picture), alt: say("bay.still"), draggable: "false" });
    this.layer = svg("svg", { viewBox: `0 0 ${width} ${height}`, class: "marks", "aria-hidden": "true" });
    this.inner = el("div", { class: "inner" }, this.image, this.layer);
    this.lens = el("canvas", { class: "lens", width: LENS, height: LENS, "aria-hidden": "true", hidden: true });
    this.stage = el("div", { class: "stage", tabindex: "0", "data-key": "stage", role: "application", "aria-label": say("bay.stage") }, this.inner, this.lens);
    this.list = el("div", { class: "targets", role: "listbox", "aria-label": say("bay.points") });
    this.asked = el("p", { class: "asked", role: "status" });
    this.stage.style.setProperty("--ratio", String(width / height)); // the whole picture fits the window
    new ResizeObserver(() => this.draw()).observe(this.stage);
    this.stage.addEventListener("pointerdown", (event) => this.down(event));
    this.stage.addEventListener("pointermove", (event) => this.move(event));
    this.stage.addEventListener("pointerup", () => this.up());
    this.stage.addEventListener("pointercancel", () => this.cancel());
    this.stage.addEventListener("keydown", (event) => this.key(event));
    this.chosen = targets.find((target) => this.open(target.id))?.id ?? targets[0]?.id;
    this.zoom();
    this.draw();
  }

  /** Still to be marked by a person. */
  open(id) {
    const mark = this.read(id);
    return !mark || Boolean(mark.found);
  }

  /** head stands above the points' names, foot below the buttons. */
  node(head, foot) {
    const nudge = (label, du, dv) => el("button", { type: "button", "aria-label": say(`bay.nudge.${label}`), onclick: () => this.nudge(du, dv) }, { left: "←", right: "→", up: "↑", down: "↓" }[label]);
    this.nearer = el("button", { type: "button", "data-key": "closer", "aria-pressed": String(this.look.close), onclick: () => this.toggle() }, say("bay.closer"));
    const bar = this.targets.length === 0 ? null : el("div", { class: "row now" }, this.asked,
      el("button", { type: "button", "data-key": "skip", onclick: () => this.skip() }, say("bay.skip")),
      el("button", { type: "button", "data-key": "undo", onclick: () => this.undo() }, say("bay.undo")), this.nearer);
    return el("div", { class: "marking" }, el("div", { class: "screen" }, bar, this.stage),
      el("div", { class: "side" }, head, this.list, this.targets.length === 0 ? null : el("div", { class: "row" },
        nudge("left", -1, 0), nudge("up", 0, -1), nudge("down", 0, 1), nudge("right", 1, 0),
        el("button", { type: "button", onclick: () => this.set(this.chosen, null) }, say("bay.unmark"))), foot));
  }

  toggle() {
    this.look.close = !this.look.close;
    this.nearer.setAttribute("aria-pressed", String(this.look.close));
    this.zoom();
    this.draw();
  }

  /** Shows the whole picture, or the part round the player. */
  zoom() {
    const known = this.look.around();
    const span = (of, size) => {
      const values = known.map(of);
      return known.length ? { middle: (Math.min(...values) + Math.max(...values)) / 2 / size, size: (Math.max(...values) - Math.min(...values)) / size } : { middle: 0.5, size: 0 };
    };
    const [across, along] = [span((mark) => mark.u, this.width), span((mark) => mark.v, this.height)];
    const scale = this.look.close ? Math.max(1, Math.min(CLOSER, 1 / (MARGIN * Math.max(across.size, along.size, 1e-6)))) : 1;
    // Shares of the picture at the left and top edge of what is shown.
    const edge = ({ middle }) => Math.min(Math.max(middle - 0.5 / scale, 0), 1 - 1 / scale);
    this.inner.style.transform = `scale(${scale}) translate(${-100 * edge(across)}%, ${-100 * edge(along)}%)`;
  }

  at(event) {
    const box = this.image.getBoundingClientRect();
    this.scale = this.width / box.width;
    return this.inside({ u: (event.clientX - box.left) * this.scale, v: (event.clientY - box.top) * this.scale });
  }

  /** A mark lies in its picture: the server takes no other. */
  inside({ u, v }) {
    const clamp = (value, limit) => Math.min(Math.max(0, value), limit);
    return { u: clamp(u, this.width), v: clamp(v, this.height) };
  }

  /** The mark of another point under a touch, which a finger may be about to pull. */
  under(place) {
    return this.targets.map(({ id }) => ({ id, mark: this.read(id) }))
      .filter(({ id, mark }) => id !== this.chosen && mark && !mark.found && Math.hypot(mark.u - place.u, mark.v - place.v) / this.scale <= NEAR / 2)
      .sort((a, b) => Math.hypot(a.mark.u - place.u, a.mark.v - place.v) - Math.hypot(b.mark.u - place.u, b.mark.v - place.v))[0];
  }

  /** A touch serves the point that is asked for. Its guess is accepted where it is, its own mark is only pulled; a mark that
   * stands is moved by a tap only when it was asked for by its name. */
  down(event) {
    event.preventDefault();
    if (!event.isPrimary) { // a second finger: not a mark but a closer look
      this.cancel();
      return;
    }
    this.stage.focus({ preventScroll: true });
    this.stage.setPointerCapture?.(event.pointerId);
    const place = this.at(event);
    const mark = this.chosen && this.read(this.chosen);
    const far = mark ? Math.hypot(mark.u - place.u, mark.v - place.v) / this.scale : Infinity;
    const held = mark && (mark.found ? far <= ON : far < NEAR && !this.named);
    this.from = { x: event.clientX, y: event.clientY, place, other: this.under(place) };
    this.fresh = Boolean(this.chosen) && this.open(this.chosen);
    this.grip = null;
    if (this.chosen && (held || this.fresh || this.named)) {
      this.grip = held ? { du: mark.u - place.u, dv: mark.v - place.v } : { du: 0, dv: 0 };
      this.remember(this.chosen);
      this.write(this.chosen, held ? own(mark) : place);
      this.magnify(this.read(this.chosen), event);
    }
    this.named = false;
    this.draw();
  }

  move(event) {
    if (!this.from) return;
    if (this.from.other && Math.hypot(event.clientX - this.from.x, event.clientY - this.from.y) > PULL) this.pull();
    if (!this.grip) return;
    const place = this.at(event);
    const mark = this.inside({ u: place.u + this.grip.du, v: place.v + this.grip.dv });
    this.write(this.chosen, mark);
    this.magnify(mark, event);
    this.draw();
  }

  /** The finger began on another mark and moves: that one is meant. */
  pull() {
    const { other, place } = this.from;
    if (this.grip) this.undo();
    this.from.other = null;
    this.chosen = other.id;
    this.fresh = true; // afterwards on to what is still open
    this.grip = { du: other.mark.u - place.u, dv: other.mark.v - place.v };
    this.remember(other.id);
  }

  /** What the finger did since it came down is taken back. */
  cancel() {
    const marked = this.grip;
    this.from = this.grip = null;
    this.lens.hidden = true;
    if (marked) this.undo();
  }

  up() {
    const marked = this.grip;
    this.from = this.grip = null;
    if (!marked) return;
    this.settled();
    this.lens.hidden = true;
    if (this.fresh) this.advance();
    else this.draw();
  }

  /** On to the first point that is still open and was not skipped. */
  advance() {
    this.chosen = this.targets.find(({ id }) => this.open(id) && !this.skipped.has(id))?.id ?? this.chosen;
    this.draw();
  }

  skip() {
    this.skipped.add(this.chosen);
    this.advance();
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
    if (mark) this.set(this.chosen, this.inside({ u: mark.u + du, v: mark.v + dv }));
  }

  remember(id) {
    this.history.push([id, this.read(id)]);
  }

  set(id, mark) {
    if (!id) return;
    this.remember(id);
    if (!mark) this.skipped.delete(id);
    this.write(id, mark);
    this.settled();
    this.draw();
  }

  undo() {
    const last = this.history.pop();
    if (!last) return;
    this.chosen = last[0];
    this.write(last[0], last[1]);
    this.settled();
    this.draw();
  }

  magnify({ u, v }, event) {
    const pen = this.lens.getContext("2d");
    const part = LENS / ZOOM;
    const natural = this.image.naturalWidth / this.width;
    pen.fillRect(0, 0, LENS, LENS);
    pen.drawImage(this.image, u * natural - part / 2, v * natural - part / 2, part, part, 0, 0, LENS, LENS);
    pen.strokeStyle = "#fff";
    pen.strokeRect(LENS / 2 - 8, LENS / 2 - 8, 16, 16);
    this.lens.hidden = false;
    // In the corner away from the finger.
    const box = this.stage.getBoundingClientRect();
    this.lens.classList.toggle("far", event.clientX < box.left + box.width / 2);
  }

  draw() {
    const size = (SIZE * this.width) / (this.image.getBoundingClientRect().width || WIDE);
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
    const chosen = this.targets.find((target) => target.id === this.chosen);
    const done = this.targets.every(({ id }) => !this.open(id) || this.skipped.has(id));
    const guess = chosen && this.read(chosen.id)?.found;
    const asked = !chosen || done ? say("bay.asked.done") : say(guess ? "bay.asked.guess" : "bay.asked", { point: chosen.label });
    if (this.asked.textContent !== asked) this.asked.textContent = asked;
    const focused = document.activeElement?.dataset?.point;
    show(this.list, this.targets.map(({ id, label }) => el("button", {
      type: "button", role: "option", "aria-selected": String(id === this.chosen), class: this.open(id) ? "" : "done", "data-point": id,
      onclick: () => { this.chosen = id; this.named = true; this.draw(); this.stage.focus({ preventScroll: true }); },
    }, this.read(id)?.found ? say("bay.found.point", { point: label }) : `${this.read(id) ? "✓ " : ""}${label}`)));
    if (focused) this.list.querySelector(`[data-point="${focused}"]`)?.focus({ preventScroll: true });
  }
}
