// Marking a still: what is missing is asked for, one point after the other; what was found lies in rings over the picture, and a touch
// accepts it or pulls it right. A tap places, a drag moves with a lens beside the finger, arrow keys nudge, undo takes back.

import { addressOf, el, svg } from "../../lib/dom.js";
import { say } from "../../lib/words.js";
import { Figure } from "./figure.js";
import { strokes } from "./skeleton.js";

const LENS = 150; // px across on the screen
const ZOOM = 4;
const SIZE = 8; // px on the screen: a mark's radius
const NEAR = 36; // px: a touch this near takes the chosen mark up
const RING = 22; // px: at the least so far reaches a guess's ring
const PULL = 10; // px: a finger that moves so far from a mark pulls that mark
const STICK = 40; // px: a finger that moves so far draws a whole stick
const CLOSER = 4; // at the most
const BODY = 3; // so many points of the picture are known before it is shown large by itself
const MARGIN = 1.1; // round what is known of the player,
const [BESIDE, ABOVE] = [0.3, 0.35]; // and so much of its height for the club

/** A mark that a coach has set or moved is the coach's own. */
const own = (mark) => mark && { u: mark.u, v: mark.v };
/** One that was found and that a coach has found right: a mark with the error it was found with. */
export const accepted = (mark) => (mark?.found ? { u: mark.u, v: mark.v, sd: mark.sd } : mark);

export class Marker {
  /** targets: [{id, label, end}], end: of a stick's first end the other one; read(id) gives {u, v, sd, found} or null; write(id, mark or null) takes
   * it; settled() comes when a finger was lifted or a key has done. Pixels of the picture. look: {close, around()}: whether it is shown large, and the
   * known marks that tell where the player stands. asked: the place that says what is asked for. */
  constructor({ picture, width, height, hand, targets, read, write, settled, look, asked }) {
    Object.assign(this, { width, height, targets, read, write, settled, look, asked });
    this.history = [];
    this.skipped = new Set();
    this.image = el("img", { src: addressOf(picture), alt: say("bay.still"), draggable: "false" });
    this.layer = svg("svg", { viewBox: `0 0 ${width} ${height}`, class: "marks", "aria-hidden": "true" });
    this.inner = el("div", { class: "inner" }, this.image, this.layer);
    this.lens = el("canvas", { class: "lens", width: LENS, height: LENS, "aria-hidden": "true", hidden: true });
    this.stage = el("div", { class: "stage", tabindex: "0", "data-key": "stage", role: "application", "aria-label": say("bay.stage") }, this.inner, this.lens);
    this.figure = targets.length ? new Figure(targets, hand, (id) => this.name(id)) : null;
    new ResizeObserver(() => { this.zoom(); this.draw(); }).observe(this.stage);
    this.stage.addEventListener("pointerdown", (event) => this.down(event));
    this.stage.addEventListener("pointermove", (event) => this.move(event));
    this.stage.addEventListener("pointerup", () => this.up());
    this.stage.addEventListener("pointercancel", () => this.cancel());
    this.stage.addEventListener("touchend", (event) => { if (event.cancelable) event.preventDefault(); }); // no click on what comes in its place
    this.stage.addEventListener("keydown", (event) => this.key(event));
    this.chosen = this.next();
  }

  /** Nothing is known of it yet, and it was not left out. */
  missing(id) {
    return !this.read(id) && !this.skipped.has(id);
  }

  /** The point to ask for: what was found is asked about as a whole. */
  next() {
    return this.targets.find(({ id }) => this.missing(id))?.id ?? null;
  }

  /** Picked by its name: the next touch is for it. */
  name(id) {
    this.chosen = id;
    this.named = true;
    this.draw();
    this.stage.focus({ preventScroll: true });
  }

  toggle() {
    this.look.close = !this.close;
    this.zoom();
    this.draw();
  }

  /** Shows the whole picture, or the part round the player. */
  zoom() {
    const { width: wide, height: high } = this.stage.getBoundingClientRect();
    if (!wide || !high) return;
    const known = this.look.around();
    this.close = this.look.close ?? (known.length > 0 && this.targets.filter(({ id }) => this.read(id)).length >= BODY);
    const span = (of, size) => {
      const values = known.map(of);
      return known.length ? { middle: (Math.min(...values) + Math.max(...values)) / 2, size: Math.max(...values) - Math.min(...values) } : { middle: size / 2, size };
    };
    const [across, along] = [span((mark) => mark.u, this.width), span((mark) => mark.v, this.height)];
    if (known.length) { // the club reaches beyond the player
      across.size += 2 * BESIDE * along.size;
      along.middle -= (ABOVE * along.size) / 2;
      along.size *= 1 + ABOVE;
    }
    const whole = Math.min(wide / this.width, high / this.height);
    const fit = Math.min(wide / Math.max(1, across.size), high / Math.max(1, along.size)) / MARGIN;
    const scale = this.close ? Math.min(Math.max(whole, fit), CLOSER * whole) : whole;
    const edge = (room, size, middle) => (size * scale <= room ? (room - size * scale) / 2 : Math.min(0, Math.max(room - size * scale, room / 2 - middle * scale)));
    Object.assign(this.inner.style, { width: `${this.width * scale}px`, height: `${this.height * scale}px`,
      left: `${edge(wide, this.width, across.middle)}px`, top: `${edge(high, this.height, along.middle)}px` });
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

  /** Of the marks that fit the nearest to a place, within so many pixels of the screen. */
  nearest(place, fits, within) {
    return this.targets.map(({ id }) => ({ id, mark: this.read(id) })).filter(({ id, mark }) => mark && fits(id, mark))
      .map((item) => ({ ...item, far: Math.hypot(item.mark.u - place.u, item.mark.v - place.v) / this.scale }))
      .filter(({ mark, far }) => far <= within(mark)).sort((a, b) => a.far - b.far)[0];
  }

  /** A touch serves the point that is asked for. In the ring of a guess it accepts the guess where it is; what stands is moved by a
   * tap only when it was asked for by its name. */
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
    const ring = this.chosen && !mark ? null : this.nearest(place, (id, { found }) => found && (!this.named || id === this.chosen), ({ sd }) => Math.max(RING, sd / this.scale));
    this.from = { x: event.clientX, y: event.clientY, place, other: ring ? null : this.nearest(place, (id, { found }) => id !== this.chosen && !found, () => NEAR / 2) };
    this.grip = null;
    if (ring) this.take(ring.id, place, accepted(ring.mark));
    else if (mark && far < NEAR && !this.named) this.take(this.chosen, place, mark);
    else if (this.chosen && (!mark || this.named)) this.take(this.chosen, place, place);
    if (this.grip) this.magnify(this.read(this.grip.id), event);
    this.fresh = Boolean(ring) || !mark || this.named; // afterwards on to what is still missing
    this.named = false;
    this.draw();
  }

  /** The finger has hold of a mark, which stands as given until the finger moves. */
  take(id, place, mark) {
    this.grip = { id, du: mark.u - place.u, dv: mark.v - place.v, still: true };
    this.remember(id);
    this.write(id, mark);
    this.chosen = id;
  }

  move(event) {
    if (!this.from) return;
    const far = Math.hypot(event.clientX - this.from.x, event.clientY - this.from.y);
    if (this.from.other && far > PULL) this.pull();
    if (!this.grip) return;
    const end = this.fresh && this.targets.find(({ id }) => id === this.grip.id)?.end;
    if (end && !this.read(end) && far > STICK) this.along(end);
    if (this.grip.still && far < PULL && this.read(this.grip.id).sd) return; // a finger trembles: what was accepted stays
    this.grip.still = false;
    const place = this.at(event);
    const mark = this.inside({ u: place.u + this.grip.du, v: place.v + this.grip.dv });
    this.write(this.grip.id, mark);
    this.magnify(mark, event);
    this.draw();
  }

  /** The finger draws a stick from end to end. */
  along(end) {
    this.write(this.grip.id, this.from.place);
    this.take(end, this.from.place, this.from.place);
    this.from.other = null;
  }

  /** The finger began on another mark and moves: that one is meant. */
  pull() {
    const { other, place } = this.from;
    if (this.grip) this.undo();
    this.from.other = null;
    this.fresh = true;
    this.take(other.id, place, own(other.mark));
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
    this.lens.hidden = true;
    if (!marked) return;
    if (this.fresh) this.chosen = this.next();
    this.settled();
    this.draw();
  }

  skip() {
    if (this.chosen) this.skipped.add(this.chosen);
    this.chosen = this.next();
    this.draw();
  }

  key(event) {
    const step = event.shiftKey ? 10 : 1;
    const moves = { ArrowLeft: [-step, 0], ArrowRight: [step, 0], ArrowUp: [0, -step], ArrowDown: [0, step] };
    if (moves[event.key]) this.nudge(...moves[event.key]);
    else if (event.key === "Enter" || event.key === " ") this.set(this.chosen, accepted(this.read(this.chosen)) ?? { u: this.width / 2, v: this.height / 2 });
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
    this.chosen = this.targets[(now + by + n) % n]?.id ?? null;
    this.draw();
  }

  nudge(du, dv) {
    const mark = this.chosen && this.read(this.chosen);
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

  /** Everything that was found is right. */
  acceptAll() {
    for (const { id } of this.targets) if (this.read(id)?.found) this.write(id, accepted(this.read(id)));
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
    // Beside the finger, and never beneath it.
    const box = this.stage.getBoundingClientRect();
    const [x, y] = [event.clientX - box.left, event.clientY - box.top];
    const left = x > LENS + NEAR ? x - LENS - NEAR : x + NEAR;
    Object.assign(this.lens.style, { left: `${left}px`, top: `${Math.min(Math.max(0, y - LENS), Math.max(0, box.height - LENS))}px` });
  }

  /** What is asked for now, in words. */
  question() {
    const chosen = this.targets.find((target) => target.id === this.chosen);
    const guesses = this.targets.some(({ id }) => this.read(id)?.found);
    if (!chosen) return say(guesses ? "bay.asked.look" : this.targets.length ? "bay.asked.done" : "bay.nothingToMark");
    const mark = this.read(chosen.id);
    if (mark && !mark.found) return say("bay.asked.set", { point: chosen.label });
    return say(mark ? "bay.asked.guess" : chosen.end ? "bay.asked.pull" : "bay.asked", { point: chosen.label });
  }

  draw() {
    const pixel = this.width / (this.image.getBoundingClientRect().width || this.width); // of the screen, in the picture's
    const size = SIZE * pixel;
    const marks = this.targets.map(({ id, label }) => {
      const mark = this.read(id);
      if (!mark) return null;
      const on = id === this.chosen;
      const r = mark.found ? Math.max(mark.sd, size) : size;
      return svg("g", { class: `mark${on ? " on" : ""}${mark.found ? " found" : ""}` },
        svg("circle", { cx: mark.u, cy: mark.v, r, class: "under", "stroke-width": pixel * 4.5 }),
        svg("circle", { cx: mark.u, cy: mark.v, r, class: "over", "stroke-width": pixel * 2.2, ...(mark.found ? { "stroke-dasharray": `${size * 0.7} ${size * 0.5}` } : {}) }),
        on ? svg("text", { x: mark.u + size * 1.8, y: mark.v - size, "font-size": size * 2.4, "stroke-width": pixel * 5 }, label) : null);
    });
    this.layer.replaceChildren(...strokes((id) => this.read(id), pixel), ...marks.filter(Boolean));
    const asked = this.question();
    if (this.asked.textContent !== asked) this.asked.textContent = asked;
    this.figure?.draw(this.chosen, (id) => this.read(id));
  }
}
