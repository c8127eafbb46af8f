// The contact sheet of one view: ten checkpoints, one picture each, taken from the film and marked; then sticks and flag.

import { $, announce, busy, el, field, show } from "../lib/dom.js";
import { say } from "../lib/words.js";
import { cameraCheck } from "./check.js";
import { keepDraft, ownMarks, viewOf } from "./draft.js";
import { Film, rateField, record } from "./film.js";
import { Marker } from "./mark.js";
import { lookThrough, wristsOf } from "./moments.js";
import { canRun, canvasOf, landmarks, poseOffered, suggest } from "./pose.js";
import { CHECKPOINTS, POINTS } from "./trade.js";

const STICKS = [[0, 0], [0, 1], [1, 0], [1, 1]];

export class Sheet {
  constructor(draft, kind, changed) {
    Object.assign(this, { draft, kind, changed });
    this.view = viewOf(draft, kind);
    this.checkpoint = CHECKPOINTS.find((name) => !this.view.frames[name]) ?? "address";
    this.film = new Film(this.view, (film) => this.stepped(film));
    this.place = el("section", { "aria-label": say(`view.${kind}`) });
    this.draw();
    void poseOffered().then((yes) => { if (yes) { this.pose = true; this.draw(); this.stepped(this.film); } });
  }

  async save() {
    await keepDraft(this.draft);
    this.changed();
  }

  stepped(film) {
    const slider = $("input[type=range]", this.place);
    if (slider) {
      slider.max = String(film.frames - 1);
      slider.value = String(film.frame);
      slider.setAttribute("aria-valuetext", say("bay.frame", { n: film.frame + 1, of: film.frames }));
      $(".at", this.place).textContent = say("bay.frame", { n: film.frame + 1, of: film.frames });
    }
  }

  async takeFilm(blob, fps) {
    if (fps) this.view.fps = fps;
    try {
      await this.film.load(blob);
    } catch {
      announce(say("bay.film.unreadable"), { urgent: true });
      return;
    }
    this.offers = {};
    this.draw();
    this.stepped(this.film);
    await this.save();
  }

  chooser() {
    const file = el("input", { type: "file", accept: "video/*", hidden: true, "aria-label": say("bay.choose") });
    file.addEventListener("change", () => file.files[0] && this.takeFilm(file.files[0]));
    const camera = el("button", { type: "button", onclick: () => this.recordFilm() }, say("bay.record"));
    return el("div", { class: "row" }, el("button", { type: "button", class: "main", onclick: () => file.click() }, say("bay.choose")), file,
      navigator.mediaDevices?.getUserMedia ? camera : null);
  }

  async recordFilm() {
    const preview = el("video", { muted: true, playsinline: true, "aria-label": say("bay.preview") });
    const stop = el("button", { type: "button", class: "main" }, say("bay.record.stop"));
    show(this.place, preview, el("p", {}, stop));
    try {
      const { blob, fps } = await record(preview, new Promise((resolve) => stop.addEventListener("click", resolve)));
      await this.takeFilm(blob, fps);
    } catch {
      announce(say("bay.record.failed"), { urgent: true });
      this.draw();
    }
  }

  stepper() {
    const step = (n, label) => el("button", { type: "button", "aria-label": say("bay.step", { n }), onclick: () => this.film.go(this.film.frame + n) }, label);
    const slider = el("input", { type: "range", min: "0", step: "1", value: "0", "aria-label": say("bay.position") });
    slider.addEventListener("input", () => this.film.go(Number(slider.value)));
    const take = el("button", { type: "button", class: "main", onclick: (event) => busy(event.currentTarget, () => this.takeStill()) },
      say("bay.take", { checkpoint: say(`checkpoint.${this.checkpoint}`) }));
    return [this.film.video, slider, el("p", { class: "at hint", "aria-hidden": "true" }),
      el("div", { class: "row" }, step(-10, "−10"), step(-1, "−1"), step(1, "+1"), step(10, "+10"), take), this.pose ? this.moments() : null];
  }

  /** Pictures that may be the checkpoints: looked for when asked, taken by the coach one by one. */
  moments() {
    const look = el("button", { type: "button", class: "moments", onclick: (event) => busy(event.currentTarget, () => this.findMoments()) }, say("bay.moments"));
    const offers = Object.entries(this.offers ?? {}).map(([name, frame]) => el("button", {
      type: "button", class: "offer", onclick: () => { this.checkpoint = name; this.draw(); void this.film.go(frame); },
    }, say("bay.moments.go", { checkpoint: say(`checkpoint.${name}`), n: frame + 1 })));
    return [el("div", { class: "row" }, look, offers), offers.length ? el("p", { class: "hint" }, say("bay.moments.how")) : null];
  }

  async findMoments() {
    if (!canRun()) {
      announce(say("bay.find.noWebgl"), { urgent: true });
      return;
    }
    const film = this.film;
    const told = $(".at", this.place);
    try {
      this.offers = await lookThrough(film.frames, async (frame) => {
        await film.go(frame);
        const canvas = film.canvas(640);
        const marks = await landmarks(canvas);
        return marks ? wristsOf(marks, canvas.width, canvas.height) : null;
      }, (done, of) => { if (told) told.textContent = say("bay.moments.working", { n: done, of }); });
    } catch {
      announce(say("bay.find.failed"), { urgent: true });
      return;
    }
    const n = Object.keys(this.offers).length;
    announce(n ? say("bay.moments.found", { n }) : say("bay.moments.none"), { urgent: !n });
    this.draw();
    this.stepped(film);
  }

  async takeStill() {
    const still = await this.film.still();
    const before = this.view.frames[this.checkpoint];
    this.view.frames[this.checkpoint] = { time: this.film.time, still, points: before?.points ?? {} };
    announce(say("bay.taken", { checkpoint: say(`checkpoint.${this.checkpoint}`) }));
    this.checkpoint = CHECKPOINTS.find((name) => !this.view.frames[name]) ?? this.checkpoint;
    await this.save();
    this.draw();
    this.stepped(this.film);
  }

  strip() {
    return el("ol", { class: "plain strip" }, CHECKPOINTS.map((name) => {
      const frame = this.view.frames[name];
      const label = say(`checkpoint.${name}`);
      const state = frame ? say("bay.marked", { n: ownMarks(frame).length }) : say("bay.empty");
      return el("li", {}, el("button", {
        type: "button", "aria-pressed": String(name === this.checkpoint), onclick: () => { this.checkpoint = name; this.draw(); this.stepped(this.film); },
      }, frame ? el("img", { src: URL.createObjectURL(frame.still), alt: "" }) : null, el("span", {}, label), el("span", { class: "hint" }, state)));
    }));
  }

  marker() {
    const frame = this.view.frames[this.checkpoint];
    if (!frame) return el("p", { class: "hint" }, say(this.film.ready ? "bay.takeFirst" : "bay.filmFirst"));
    const targets = POINTS[this.kind][this.checkpoint].map((id) => ({ id, label: say(`point.${id}`) }));
    const ground = this.kind === "down_the_line" && this.checkpoint === "address";
    if (ground) {
      targets.push(...STICKS.map(([stick, end]) => ({ id: `stick-${stick}-${end}`, label: say("bay.stick", { n: stick + 1, end: end + 1 }) })));
      targets.push({ id: "target", label: say("bay.flag") });
    }
    if (targets.length === 0) return el("p", { class: "hint" }, say("bay.nothingToMark"));
    const marker = new Marker({
      picture: frame.still, width: this.view.width, height: this.view.height, targets,
      read: (id) => this.readMark(frame, id),
      write: (id, mark) => { this.writeMark(frame, id, mark); void this.save(); this.check(); this.count(frame); },
    });
    return [this.finder(frame), marker.node(), ground ? el("p", { class: "hint" }, say("bay.sticks.how")) : null];
  }

  /** Points found in the picture: offered where the server has the library, and never over a coach's own mark. */
  finder(frame) {
    if (!this.pose) return null;
    const find = el("button", { type: "button", class: "find", onclick: (event) => busy(event.currentTarget, () => this.find(frame)) }, say("bay.find.points"));
    const found = Object.values(frame.points).some((mark) => mark.found);
    return el("div", { class: "row" }, find, found ? el("p", { class: "hint" }, say("bay.found.how")) : null);
  }

  async find(frame) {
    const checkpoint = this.checkpoint;
    if (!canRun()) {
      announce(say("bay.find.noWebgl"), { urgent: true });
      return;
    }
    announce(say("bay.find.working"));
    let marks;
    try {
      marks = await landmarks(await canvasOf(frame.still));
    } catch {
      announce(say("bay.find.failed"), { urgent: true });
      return;
    }
    const { width, height } = this.view;
    const points = marks ? suggest(marks, { kind: this.kind, checkpoint, hand: this.draft.student.hand, width, height }) : {};
    let n = 0;
    for (const [id, mark] of Object.entries(points)) {
      if (frame.points[id] && !frame.points[id].found) continue;
      frame.points[id] = mark;
      n++;
    }
    announce(n ? say("bay.found", { n }) : say("bay.find.nobody"), { urgent: !n });
    await this.save();
    this.draw();
    this.stepped(this.film);
  }

  readMark(frame, id) {
    if (id === "target") return this.view.target;
    const [word, stick, end] = id.split("-");
    return word === "stick" ? this.view.sticks[stick]?.[end] ?? null : frame.points[id] ?? null;
  }

  writeMark(frame, id, mark) {
    const [word, stick, end] = id.split("-");
    if (id === "target") this.view.target = mark;
    else if (word === "stick") {
      this.view.sticks[stick] ??= [];
      this.view.sticks[stick][end] = mark ?? undefined;
      if (!mark) this.view.sticks[stick] = this.view.sticks[stick].filter(Boolean);
      this.view.sticks = [0, 1].map((i) => this.view.sticks[i] ?? []);
    } else if (mark) frame.points[id] = mark;
    else delete frame.points[id];
  }

  count(frame) {
    const told = $(".strip [aria-pressed=true] .hint", this.place);
    if (told) told.textContent = say("bay.marked", { n: ownMarks(frame).length });
  }

  /** The camera check, spoken before anything is sent. */
  check() {
    const told = $(".check", this.place);
    if (!told) return;
    const findings = cameraCheck(this.view, this.draft.club.length_m);
    show(told, findings.length ? findings.map(({ key, values }) => el("p", {}, say(key, values))) : el("p", {}, say("check.good")));
  }

  draw() {
    const distance = el("input", { type: "number", min: "1", max: "20", step: "0.1", value: this.view.distance ? String(this.view.distance) : "" });
    distance.addEventListener("change", () => { this.view.distance = Number(distance.value) || null; void this.save(); });
    show(this.place, this.chooser(), this.film.ready ? this.stepper() : null, this.strip(), this.marker(),
      this.kind === "down_the_line" ? el("div", { class: "check card", role: "status" }) : null,
      el("div", { class: "pair" }, rateField(this.view, () => void this.save()), field(say("bay.distance"), distance, say("bay.distance.why"))));
    this.check();
  }
}
