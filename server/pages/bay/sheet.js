// One view of a swing: its film, and one picture for each checkpoint that is read, in three groups. One of them is open: stepped to in the film
// until its picture is taken, then confirmed or marked.

import { $, announce, busy, el, field, show } from "../lib/dom.js";
import { say } from "../lib/words.js";
import { asked, byPart, CHECKPOINTS, VIEWS } from "./catalogue.js";
import { offerTurn, offScreen, onScreen, watchButton, watchPanel } from "./capture/panel.js";
import { record } from "./capture/watch.js";
import { dropStills, findFilm, keepDraft, keepFilm, laid, marksOf, ownMarks, viewOf } from "./draft.js";
import { carryOver } from "./lesson.js";
import { ContactPanel } from "./marking/contact.js";
import { against, checkAsFound, doubtsOf } from "./marking/doubts.js";
import { accepted } from "./marking/marker.js";
import { MarkPanel } from "./marking/mark_panel.js";
import { Film, rateField } from "./reading/film.js";
import { poseOffered } from "./reading/pose.js";
import { questions } from "./questions.js";
import { lookIn, readingOf, startReading, stopReading } from "./reading/reader.js";
import { StepPanel } from "./reading/step_panel.js";

const LONG_S = 40; // of a film: a swing in it may be overlooked

/** Everything that was found in a picture is right; it was confirmed with others, so what is missing in it is still asked for. */
function confirm(frame) {
  for (const [id, mark] of Object.entries(frame.points)) frame.points[id] = accepted(mark);
  frame.sure = frame.swept = true;
}

const isConfirmed = (frame) => Boolean(frame?.sure) && !Object.values(frame.points).some((mark) => mark.found);

export class Sheet {
  /** foot: the bar below; changed() after every change; done() when nothing of this view is left to do; asking() when another
   * question was chosen; told: the suspect marks that the coach knows of; clubs(): what the club is chosen from. */
  constructor(draft, kind, { foot, changed, done, asking, told, clubs }) {
    Object.assign(this, { draft, kind, foot, changed, done, asking, told, clubs, suspects: [], overview: false, pose: false, shown: false, look: { close: null, around: () => this.around() } });
    this.view = viewOf(draft, kind);
    this.film = new Film(() => this.panel.stepped?.());
    this.place = el("section", { class: "sheet", "aria-label": say(`view.${kind}`) });
    this.setup = el("div");
    this.file = el("input", { type: "file", accept: "video/*", hidden: true, "aria-label": say("bay.choose") });
    this.file.addEventListener("change", () => {
      const [blob] = this.file.files;
      this.file.value = ""; // the same one may be chosen again
      if (blob) void this.takeFilm(blob);
    });
    this.ask();
    this.checkpoint = this.checkpoints.includes(this.view.open) ? this.view.open : this.checkpoints[0];
    this.stepping = !this.frame();
    if (this.view.read) this.lookOver({ again: false });
    this.heard = ({ detail }) => { if (detail.id === draft.id && detail.kind === kind) this.hear(detail); };
    window.addEventListener("leadside-read", this.heard);
    void poseOffered().then((yes) => {
      this.pose = yes;
      if (this.shown) this.panel?.bar?.();
      void this.filmAgain();
    });
  }

  end() {
    window.removeEventListener("leadside-read", this.heard);
    this.film.drop();
    offScreen(this);
  }

  /** What the pictures are read for: the question's moments, or all; what takes both views once both are filmed. */
  ask() {
    const both = VIEWS.every((kind) => this.draft.views[kind]?.rate);
    const points = asked(this.kind, { fault: this.draft.question, both: both || Boolean(this.draft.question) });
    this.points = Object.keys(points).length ? points : asked(this.kind, { both });
    this.checkpoints = Object.keys(this.points);
    if (this.checkpoint && !this.checkpoints.includes(this.checkpoint)) this.checkpoint = this.checkpoints[0];
  }

  /** The film of a draft that was begun before. */
  async filmAgain() {
    const kept = await findFilm(this.draft, this.kind);
    if (!kept || this.film.ready) return;
    if (await this.loadFilm(kept.blob, kept.taken)) this.beginReading(kept.blob);
  }

  beginReading(blob) {
    this.blob = blob;
    if (this.pose && !this.view.read && !readingOf(this.draft, this.kind)) startReading(this.draft, this.kind, blob, () => { this.ask(); return this.points; });
  }

  /** The body is looked for in a picture that was taken by hand. */
  lookAt(checkpoint) {
    if (this.pose) lookIn(this.draft, this.kind, checkpoint, this.points[checkpoint] ?? []);
  }

  /** The reading has come on, or to its end. */
  hear({ checkpoint, outcome, n, slow, crowd }) {
    if (outcome === "found" && this.stepping) this.lookOver({ again: false });
    if (!this.shown) return;
    if (outcome) {
      const said = { found: say("bay.read.found", { n }), none: this.film.seconds > LONG_S ? say("bay.moments.long", { n: Math.round(this.film.seconds) }) : say("bay.moments.none"), nobody: say("bay.read.nobody"), across: say("bay.read.across"), blind: say("bay.find.noWebgl"), failed: say("bay.find.failed") }[outcome];
      if (said) announce([said, crowd ? say("bay.read.crowd") : "", slow ? say("bay.moments.slow", { n: slow }) : ""].join(" ").trim(), { urgent: true });
      this.changed();
      this.draw();
      if (this.overview) this.foot.lead();
      if (outcome === "across") offerTurn(this);
    } else if (checkpoint) {
      if (this.overview || (checkpoint === this.checkpoint && !this.stepping)) this.draw();
      else this.counted(checkpoint);
    } else {
      const button = $('[data-key="read"]', this.foot.node);
      const { done, of } = readingOf(this.draft, this.kind) ?? {};
      if (button && of) button.textContent = say("bay.read.stop", { n: done, of });
    }
  }

  readButton() {
    const job = readingOf(this.draft, this.kind);
    if (!job && (!this.pose || !this.film.ready)) return null;
    const act = () => {
      if (readingOf(this.draft, this.kind)) stopReading(this.draft, this.kind);
      else {
        this.view.read = false;
        this.beginReading(this.blob);
      }
      this.panel.bar();
    };
    return el("button", { type: "button", class: "quiet", "data-key": "read", "aria-busy": job ? "true" : null, onclick: act }, job ? say("bay.read.stop", { n: job.done, of: job.of || "…" }) : say("bay.read"));
  }

  async save() {
    await keepDraft(this.draft);
    this.changed();
  }

  frame(name = this.checkpoint) {
    return this.view.frames[name];
  }

  confirmed(name = this.checkpoint) {
    return isConfirmed(this.frame(name));
  }

  laid() {
    return laid(this.view).length === 2;
  }

  get doubts() {
    return doubtsOf({ kind: this.kind, view: this.view, points: this.points, fault: this.draft.question, suspects: this.suspects });
  }

  doubtsIn(name) {
    return this.doubts.filter(({ checkpoint }) => checkpoint === name);
  }

  /** A picture that waits for the coach, be it for a point that was not found or for the sticks on the ground. */
  pending(name) {
    return Boolean(this.frame(name)) && (!this.confirmed(name) || (this.view.read && this.doubtsIn(name).length > 0));
  }

  /** The pictures that nothing speaks against, as they were found. */
  sound() {
    return this.checkpoints.filter((name) => this.frame(name) && !this.confirmed(name) && !this.doubtsIn(name).some(against));
  }

  /** Shows all pictures at once, and has what was found in them checked against each other. again: also when all are confirmed. */
  lookOver({ again = true } = {}) {
    const waits = this.pictures().some((name) => this.pending(name));
    this.overview = this.pictures().length > 1 && (waits || again);
    if (waits) {
      this.checking = checkAsFound(this.draft).then((marks) => {
        this.suspects = marks;
        if (this.shown && this.overview) this.draw();
      });
    }
    if (this.shown) this.draw();
  }

  /** What was found in the pictures that nothing speaks against is right; the others are asked by themselves. */
  async allFound() {
    await this.checking;
    for (const name of this.sound()) confirm(this.frame(name));
    await this.save();
    this.onward();
  }

  /** Goes to a checkpoint: to its picture, or to its place in the film. lead: the focus goes along. */
  open(checkpoint, { stepping = !this.frame(checkpoint), lead = false } = {}) {
    this.checkpoint = checkpoint;
    if (this.view.open !== checkpoint) {
      this.view.open = checkpoint; // where a page that is opened again goes on
      void keepDraft(this.draft);
    }
    this.stepping = stepping;
    this.overview = false;
    const { strike, rate } = this.view;
    const at = this.frame()?.picture ?? (strike && checkpoint === "impact" ? Math.floor(strike.at * rate) : undefined);
    if (this.film.ready && stepping && at !== undefined) void this.film.go(at);
    this.draw(lead ? (stepping ? "take" : "stage") : undefined);
  }

  /** The next checkpoint whose picture is still to be taken; when all are, the first to mark. */
  next() {
    const after = this.checkpoints.slice(this.checkpoints.indexOf(this.checkpoint) + 1);
    const open = [...after, ...this.checkpoints].find((name) => !this.frame(name));
    this.open(open ?? this.checkpoints.find((name) => !this.confirmed(name)) ?? this.checkpoints[0], { lead: true });
  }

  /** From the open picture to the others: first those after it. */
  order() {
    return [...this.checkpoints.slice(this.checkpoints.indexOf(this.checkpoint) + 1), ...this.checkpoints];
  }

  /** The next picture to look at: of a film that was read one that waits, else the one that comes after. */
  following() {
    if (this.view.read) return this.order().find((name) => name !== this.checkpoint && this.pending(name));
    return this.checkpoints.slice(this.checkpoints.indexOf(this.checkpoint) + 1).find((name) => this.frame(name));
  }

  /** After a picture was confirmed: the next that is not; where the film was not read what is still to be taken; then there is nothing left to do. */
  onward() {
    const next = this.order().find((name) => this.pending(name)) ?? (this.view.read ? null : this.order().find((name) => !this.frame(name)));
    if (next) {
      this.open(next, { lead: true });
      return;
    }
    this.overview = this.view.read && this.pictures().length > 1;
    this.draw();
    this.done();
  }

  /** Loads a film for the pictures that are there; false when it can't be theirs or can't be read. */
  async loadFilm(blob, taken) {
    const { view, film } = this;
    try {
      await film.load(blob, taken, view.fps);
    } catch ({ message }) {
      announce(say(message === "no picture" ? "bay.film.blind" : "bay.film.unreadable"), { urgent: true });
      return false;
    }
    if (this.pictures().length > 0 && (film.width !== view.width || film.height !== view.height)) {
      film.drop();
      announce(say("bay.film.other"), { urgent: true });
      return false;
    }
    const another = view.rate !== film.rate;
    if (another) view.fps = film.rate; // what the coach said of this film holds
    Object.assign(view, { rate: film.rate, width: film.width, height: film.height });
    if (another) carryOver(this.draft, this.kind, view);
    if (!this.overview) this.open(this.checkpoint);
    if (film.seconds > LONG_S) announce(say("bay.film.long", { n: Math.round(film.seconds) }), { urgent: true });
    return true;
  }

  pictures() {
    return CHECKPOINTS.filter((name) => this.view.frames[name]);
  }

  /** A film that was chosen, recorded or caught; strike: when it tells when the ball was struck. Pictures of another film do not stay beside it: the coach is asked. */
  async takeFilm(blob, taken, strike) {
    if (this.pictures().length === 0) return this.useFilm(blob, taken, strike);
    const answer = (text, key, act) => el("button", { type: "button", "data-key": key, onclick: (event) => busy(event.currentTarget, act) }, text);
    const marks = marksOf(this.draft, [this.kind]);
    this.foot.set({});
    show(this.place, this.file, el("div", { class: "card", role: "alert" }, el("p", {}, say("bay.replace", { pictures: this.pictures().length, marks })),
      el("div", { class: "row" },
        answer(say("bay.replace.keep"), "keep", async () => this.draw()),
        this.film.ready ? null : answer(say("bay.replace.same"), "same", async () => { if (!(await this.useFilm(blob, taken))) this.draw(); }),
        answer(say("bay.replace.away"), "away", async () => {
          await this.clear();
          await this.useFilm(blob, taken);
        }))));
    $('[data-key="keep"]', this.place).focus();
    return false;
  }

  /** Throws away what was taken from a film: pictures, marks, sticks. */
  async clear() {
    stopReading(this.draft, this.kind);
    await dropStills(this.draft, this.kind);
    Object.assign(this.view, { frames: {}, sticks: [], target: null, bare: false, rate: null, read: false, crowd: false });
    this.overview = false;
    this.checkpoint = this.checkpoints[0];
    this.stepping = true;
    await this.save();
  }

  async useFilm(blob, taken, strike = null) {
    if (!(await this.loadFilm(blob, taken))) {
      if (this.pictures().length === 0) this.draw();
      return false;
    }
    this.view.strike = strike;
    this.beginReading(blob);
    await this.save();
    if (!(await keepFilm(this.draft, this.kind, blob, taken))) announce(say("bay.film.unkept"), { urgent: true });
    this.panel.bar();
    return true;
  }

  async recordFilm() {
    const preview = el("video", { muted: true, playsinline: true, "aria-label": say("bay.preview") });
    let stop;
    const stopped = new Promise((resolve) => { stop = resolve; });
    show(this.place, this.file, el("div", { class: "marking" }, el("div", { class: "screen" }, preview)));
    this.foot.set({ next: ["stop", say("bay.record.stop"), () => stop()] });
    this.foot.lead();
    try {
      const { blob, fps } = await record(preview, stopped);
      await this.takeFilm(blob, fps);
    } catch {
      announce(say("bay.record.failed"), { urgent: true });
      this.draw();
    }
  }

  /** Where the film comes from, how it was taken, and where the tablet stood: asked once, and kept for the lesson. */
  settings() {
    const { view } = this;
    const number = (key, name, limits) => {
      const input = el("input", { type: "number", ...limits, value: view[name] ? String(view[name]) : "" });
      input.addEventListener("change", () => { view[name] = Number(input.value) || null; void this.save(); this.panel.check?.(); });
      return field(say(key), input, say(`${key}.why`));
    };
    const some = this.film.ready || this.pictures().length > 0;
    return [some ? el("div", { class: "row" }, el("button", { type: "button", "data-key": "choose", onclick: () => this.file.click() }, say("bay.chooseOther")), this.recorder()) : null,
      some ? rateField(view, () => void this.save()) : null, number("bay.distance", "distance", { min: "1", max: "20", step: "0.1" }), number("bay.hfov", "hfov", { min: "20", max: "120", step: "1" })];
  }

  recorder(style = "") {
    return navigator.mediaDevices?.getUserMedia ? el("button", { type: "button", class: style, "data-key": "record", onclick: () => this.recordFilm() }, say("bay.record")) : null;
  }

  state(name) {
    const frame = this.frame(name);
    if (!frame) return say("bay.empty");
    if (!frame.sure) return say("bay.suggested");
    const ground = name === "address" ? [...this.view.sticks.flat(), this.view.target].filter(Boolean).length : 0;
    return say("bay.marked", { n: ownMarks(frame).length + ground });
  }

  looks(name) {
    const frame = this.frame(name);
    return !frame ? "" : !frame.sure ? "unsure" : isConfirmed(frame) && ownMarks(frame).length ? "taken done" : "taken";
  }

  strip() {
    const moment = (name) => el("li", {}, el("button", {
      type: "button", class: this.looks(name), title: say(`checkpoint.${name}`), "aria-pressed": String(name === this.checkpoint), "data-key": name, onclick: () => this.open(name),
    }, el("span", { class: "unseen" }, say(`checkpoint.${name}`), ": ", el("span", { class: "state" }, this.state(name)))));
    return el("div", { class: "strip" }, byPart(this.checkpoints).filter(([, names]) => names.length).map(([part, names]) => el("section", { "aria-label": say(`part.${part}`) },
      el("h3", {}, say(`part.${part}`)), el("ol", { class: "plain" }, names.map(moment)))));
  }

  /** Where the player stands, by every mark of this view's pictures; nobody where the ground is marked, which lies around. */
  around() {
    const ground = this.kind === "down_the_line" && this.checkpoint === "address" && !this.laid() && !this.view.target;
    return ground ? [] : this.pictures().flatMap((name) => Object.values(this.view.frames[name].points));
  }

  /** After a mark was set: the strip's count, without drawing everything anew. */
  counted(name = this.checkpoint) {
    const button = $(`.strip [data-key="${name}"]`, this.place);
    if (!button) return;
    button.className = this.looks(name);
    $(".state", button).textContent = this.state(name);
  }

  /** Before there is a film: how to take it. */
  begin() {
    const choose = ["choose", say("bay.choose"), () => this.file.click()];
    this.foot.asked.textContent = "";
    this.foot.set({ more: [watchButton(this), this.recorder("quiet")], next: choose });
    return el("div", { class: "start" }, el("p", { class: "lead" }, say(`bay.how.${this.kind}`)), this.clubs(), questions(this.draft, () => this.asking()));
  }

  /** Draws the open checkpoint; who had the focus keeps it. */
  draw(focus = document.activeElement?.dataset?.key) {
    if (!this.shown) return;
    onScreen(this);
    this.ask();
    const nothing = !this.film.ready && this.pictures().length === 0;
    this.panel = nothing ? watchPanel(this) ?? { node: () => this.begin(), bar: () => {} } : this.overview ? new ContactPanel(this) : this.stepping ? new StepPanel(this) : new MarkPanel(this);
    show(this.place, this.file, this.panel.node());
    this.panel.bar();
    show(this.setup, this.settings());
    this.panel.stepped?.();
    if (focus) ($(`[data-key="${focus}"]`, this.place) ?? $(`[data-key="${focus}"]`, this.foot.node))?.focus({ preventScroll: true });
  }
}
