// Marking the picture of the open checkpoint: its points, and at address from behind the sticks, the flag and the camera check.

import { announce, busy, el, field, show } from "../../lib/dom.js";
import { say } from "../../lib/words.js";
import { cameraCheck } from "./check.js";
import { Marker } from "./marker.js";
import { canRun, canvasOf, landmarks, suggest } from "../reading/pose.js";

const STICKS = ["feetNear", "feetFar", "ballNear", "ballFar"]; // two sticks, both ends of each

export class MarkPanel {
  constructor(sheet) {
    this.sheet = sheet;
    this.ground = sheet.kind === "down_the_line" && sheet.checkpoint === "address";
    this.told = this.ground ? el("div", { class: "check card", role: "status" }) : null;
  }

  targets() {
    const out = this.sheet.points[this.sheet.checkpoint].map((id) => ({ id, label: say(`point.${id}`) }));
    if (!this.ground) return out;
    out.push(...STICKS.map((name, i) => ({ id: `stick-${i >> 1}-${i & 1}`, label: say(`bay.stick.${name}`) })));
    out.push({ id: "target", label: say("bay.flag") });
    return out;
  }

  node() {
    const { sheet } = this;
    const frame = sheet.frame();
    const targets = this.targets();
    this.marker = new Marker({
      picture: frame.still, width: sheet.view.width, height: sheet.view.height, targets,
      read: (id) => this.read(frame, id),
      write: (id, mark) => this.write(frame, id, mark),
      settled: () => { void sheet.save(); this.check(); sheet.counted(); },
      look: sheet.look,
    });
    const head = [el("h3", {}, say(`checkpoint.${sheet.checkpoint}`)), el("div", { class: "row" }, this.onward(), this.again()), targets.length === 0 ? el("p", { class: "hint" }, say("bay.nothingToMark")) : this.finder(frame)];
    this.check();
    return this.marker.node(head, sheet.checkpoint === "address" ? this.camera() : null);
  }

  /** Back into the film for another picture of this checkpoint. */
  again() {
    const { sheet } = this;
    if (!sheet.film.ready) return null;
    return el("button", { type: "button", "data-key": "again", onclick: () => sheet.open(sheet.checkpoint, { stepping: true, lead: true }) }, say("bay.again"));
  }

  onward() {
    const { sheet } = this;
    const name = sheet.checkpoints.slice(sheet.checkpoints.indexOf(sheet.checkpoint) + 1).find((checkpoint) => sheet.frame(checkpoint));
    if (!name) return null;
    return el("button", { type: "button", class: "main", "data-key": "onward", onclick: () => sheet.open(name, { lead: true }) },
      say("bay.onward", { checkpoint: say(`checkpoint.${name}`) }));
  }

  /** Where the tablet stood: asked at address, where the cameras are read. */
  camera() {
    const { view } = this.sheet;
    const number = (key, name, limits) => {
      const input = el("input", { type: "number", ...limits, value: view[name] ? String(view[name]) : "" });
      input.addEventListener("change", () => { view[name] = Number(input.value) || null; void this.sheet.save(); this.check(); });
      return field(say(key), input, say(`${key}.why`));
    };
    return [this.told, el("details", {}, el("summary", {}, say("bay.camera")),
      number("bay.distance", "distance", { min: "1", max: "20", step: "0.1" }), number("bay.hfov", "hfov", { min: "20", max: "120", step: "1" }))];
  }

  /** The camera check, spoken before anything is sent. */
  check() {
    if (!this.told) return;
    const findings = cameraCheck(this.sheet.view, this.sheet.draft.club.length_m, this.sheet.draft.student.hand);
    show(this.told, findings.length ? findings.map(({ key, values }) => el("p", {}, say(key, values))) : el("p", {}, say("check.good")));
  }

  /** Points found in the picture: offered where the server has the library, and never over a coach's own mark. */
  finder(frame) {
    if (!this.sheet.pose) return null;
    const find = el("button", { type: "button", class: "find", "data-key": "find", onclick: (event) => busy(event.currentTarget, () => this.find()) }, say("bay.find.points"));
    const found = Object.values(frame.points).some((mark) => mark.found);
    return [el("p", {}, find), found ? el("p", { class: "hint" }, say("bay.found.how")) : null];
  }

  /** Looks for the body in every picture that was taken of this view, the open one first. */
  async find() {
    const { sheet } = this;
    if (!canRun()) {
      announce(say("bay.find.noWebgl"), { urgent: true });
      return;
    }
    announce(say("bay.find.working"));
    const open = sheet.checkpoint;
    const names = [open, ...sheet.checkpoints.filter((name) => name !== open && sheet.frame(name)?.sure)];
    let n = 0;
    try {
      for (const name of names) {
        n += await this.findIn(name);
        if (names.length > 1) announce(say("bay.find.progress", { n: names.indexOf(name) + 1, of: names.length }));
      }
    } catch {
      announce(say("bay.find.failed"), { urgent: true });
      return;
    }
    announce(n ? say("bay.found", { n }) : say("bay.find.nobody"), { urgent: true });
    await sheet.save();
    sheet.draw("stage");
  }

  async findIn(name) {
    const { sheet } = this;
    const frame = sheet.frame(name);
    const marks = await landmarks(await canvasOf(frame.still));
    const { width, height } = sheet.view;
    const found = marks ? suggest(marks, { kind: sheet.kind, points: sheet.points[name], hand: sheet.draft.student.hand, width, height }) : {};
    const open = Object.entries(found).filter(([id]) => !frame.points[id] || frame.points[id].found);
    for (const [id, mark] of open) frame.points[id] = mark;
    return open.length;
  }

  read(frame, id) {
    if (id === "target") return this.sheet.view.target;
    const [word, stick, end] = id.split("-");
    return word === "stick" ? this.sheet.view.sticks[stick]?.[end] ?? null : frame.points[id] ?? null;
  }

  write(frame, id, mark) {
    const { view } = this.sheet;
    const [word, stick, end] = id.split("-");
    if (id === "target") view.target = mark;
    else if (word === "stick") {
      const sticks = [0, 1].map((i) => view.sticks[i] ?? [null, null]);
      sticks[stick][end] = mark;
      view.sticks = sticks;
    } else if (mark) frame.points[id] = mark;
    else delete frame.points[id];
  }
}
