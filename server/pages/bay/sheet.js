// The contact sheet of one view: one picture for each checkpoint that the view reads, in three groups. One of them is open: stepped to in the film until its
// picture is taken, then marked.

import { $, addressOf, announce, busy, el, show } from "../lib/dom.js";
import { say } from "../lib/words.js";
import { MarkPanel } from "./marking/mark_panel.js";
import { dropStills, findFilm, keepDraft, keepFilm, marksOf, ownMarks, viewOf } from "./draft.js";
import { Film, record } from "./reading/film.js";
import { poseOffered } from "./reading/pose.js";
import { StepPanel } from "./reading/step_panel.js";
import { asked, byPart, CHECKPOINTS } from "./catalogue.js";

export class Sheet {
  constructor(draft, kind, changed) {
    Object.assign(this, { draft, kind, changed, pose: false, look: { close: false, around: () => this.around() } });
    this.view = viewOf(draft, kind);
    this.points = asked(kind);
    this.checkpoints = Object.keys(this.points);
    this.parts = byPart(this.checkpoints);
    this.film = new Film(() => this.panel.stepped?.());
    this.place = el("section", { "aria-label": say(`view.${kind}`) });
    this.open(this.checkpoints.includes(this.view.open) ? this.view.open : this.checkpoints[0]);
    void poseOffered().then((yes) => { if (yes) { this.pose = true; this.draw(); } });
    void this.filmAgain();
  }

  /** The film of a draft that was begun before. */
  async filmAgain() {
    const kept = await findFilm(this.draft, this.kind);
    if (kept && !this.film.ready) await this.loadFilm(kept.blob, kept.taken);
  }

  async save() {
    await keepDraft(this.draft);
    this.changed();
  }

  frame(name = this.checkpoint) {
    return this.view.frames[name];
  }

  /** Goes to a checkpoint: to its marks where its picture is taken, else to its place in the film. lead: the focus goes along. */
  open(checkpoint, { stepping = !this.frame(checkpoint)?.sure, lead = false } = {}) {
    this.checkpoint = checkpoint;
    if (this.view.open !== checkpoint) {
      this.view.open = checkpoint; // where a page that is opened again goes on
      void keepDraft(this.draft);
    }
    this.stepping = stepping;
    const at = this.frame()?.picture;
    if (this.film.ready && stepping && at !== undefined) void this.film.go(at);
    this.draw(lead ? (stepping ? "take" : "stage") : undefined);
  }

  /** The next checkpoint whose picture is still to be taken; when all are, the first to mark. */
  next() {
    const after = this.checkpoints.slice(this.checkpoints.indexOf(this.checkpoint) + 1);
    const open = [...after, ...this.checkpoints].find((name) => !this.frame(name)?.sure);
    this.open(open ?? this.checkpoints[0], { lead: true });
  }

  /** Loads a film for the pictures that are there; false when it can't be theirs or can't be read. */
  async loadFilm(blob, taken) {
    const { view, film } = this;
    try {
      await film.load(blob, taken, view.fps);
    } catch {
      announce(say("bay.film.unreadable"), { urgent: true });
      return false;
    }
    if (this.pictures().length > 0 && (film.width !== view.width || film.height !== view.height)) {
      film.drop();
      announce(say("bay.film.other"), { urgent: true });
      return false;
    }
    if (view.rate !== film.rate) view.fps = film.rate; // what the coach said of this film holds
    Object.assign(view, { rate: film.rate, width: film.width, height: film.height });
    this.open(this.checkpoint);
    return true;
  }

  pictures() {
    return CHECKPOINTS.filter((name) => this.view.frames[name]);
  }

  /** A film that was chosen or recorded. Pictures of another film do not stay beside it: the coach is asked. */
  async takeFilm(blob, taken) {
    if (this.pictures().length === 0) {
      await this.useFilm(blob, taken);
      return;
    }
    const answer = (text, key, act) => el("button", { type: "button", "data-key": key, onclick: (event) => busy(event.currentTarget, act) }, text);
    const marks = marksOf(this.draft, [this.kind]);
    show(this.place, el("div", { class: "card", role: "alert" }, el("p", {}, say("bay.replace", { pictures: this.pictures().length, marks })),
      el("div", { class: "row" },
        answer(say("bay.replace.keep"), "keep", async () => this.draw()),
        this.film.ready ? null : answer(say("bay.replace.same"), "same", async () => { if (!(await this.useFilm(blob, taken))) this.draw(); }),
        answer(say("bay.replace.away"), "away", async () => {
          await this.clear();
          await this.useFilm(blob, taken);
        }))));
    $('[data-key="keep"]', this.place).focus();
  }

  /** Throws away what was taken from a film: pictures, marks, sticks. */
  async clear() {
    await dropStills(this.draft, this.kind);
    Object.assign(this.view, { frames: {}, sticks: [], target: null, rate: null });
    this.checkpoint = this.checkpoints[0];
    this.stepping = true;
    await this.save();
  }

  async useFilm(blob, taken) {
    if (!(await this.loadFilm(blob, taken))) {
      if (this.pictures().length === 0) this.draw();
      return false;
    }
    await this.save();
    if (!(await keepFilm(this.draft, this.kind, blob, taken))) announce(say("bay.film.unkept"), { urgent: true });
    return true;
  }

  async recordFilm() {
    const preview = el("video", { muted: true, playsinline: true, "aria-label": say("bay.preview") });
    const stop = el("button", { type: "button", class: "main" }, say("bay.record.stop"));
    show(this.place, preview, el("p", {}, stop));
    stop.focus();
    try {
      const { blob, fps } = await record(preview, new Promise((resolve) => stop.addEventListener("click", resolve)));
      await this.takeFilm(blob, fps);
    } catch {
      announce(say("bay.record.failed"), { urgent: true });
      this.draw();
    }
  }

  chooser() {
    const file = el("input", { type: "file", accept: "video/*", hidden: true, "aria-label": say("bay.choose") });
    file.addEventListener("change", () => file.files[0] && this.takeFilm(file.files[0]));
    const main = this.film.ready || this.pictures().length > 0 ? "" : "main";
    return el("div", { class: "row" },
      el("button", { type: "button", class: main, "data-key": "choose", onclick: () => file.click() }, say(main ? "bay.choose" : "bay.chooseOther")), file,
      navigator.mediaDevices?.getUserMedia ? el("button", { type: "button", "data-key": "record", onclick: () => this.recordFilm() }, say("bay.record")) : null);
  }

  state(name) {
    const frame = this.frame(name);
    if (!frame) return say("bay.empty");
    if (!frame.sure) return say("bay.suggested");
    const ground = name === "address" ? [...this.view.sticks.flat(), this.view.target].filter(Boolean).length : 0;
    return say("bay.marked", { n: ownMarks(frame).length + ground });
  }

  strip() {
    const moment = (name) => {
      const frame = this.frame(name);
      return el("li", {}, el("button", {
        type: "button", class: frame && !frame.sure ? "unsure" : "", "aria-pressed": String(name === this.checkpoint), "data-key": name, onclick: () => this.open(name),
      }, frame ? el("img", { src: addressOf(frame.still), alt: "" }) : null, el("span", {}, say(`checkpoint.${name}`)),
      el("span", { class: "hint" }, this.state(name))));
    };
    return el("div", { class: "strip" }, this.parts.map(([part, names]) => el("section", { "aria-label": say(`part.${part}`) },
      el("h3", {}, say(`part.${part}`)), el("ol", { class: "plain" }, names.map(moment)))));
  }

  /** The camera check once more: something beside the marks has changed. */
  checked() {
    this.panel.check?.();
  }

  /** Where the player stands, by every mark of this view's pictures. */
  around() {
    const marks = this.pictures().flatMap((name) => Object.values(this.view.frames[name].points));
    return [...marks, ...this.view.sticks.flat().filter(Boolean)];
  }

  /** After a mark was set: the strip's count, without drawing everything anew. */
  counted() {
    const told = $(".strip [aria-pressed=true] .hint", this.place);
    if (told) told.textContent = this.state(this.checkpoint);
  }

  /** Draws the open checkpoint; who had the focus keeps it. */
  draw(focus = document.activeElement?.dataset?.key) {
    this.panel = this.stepping ? new StepPanel(this) : new MarkPanel(this);
    const nothing = !this.film.ready && this.pictures().length === 0;
    show(this.place, nothing ? el("p", { class: "lead" }, say(`bay.how.${this.kind}`)) : null, this.chooser(),
      nothing ? null : [this.strip(), this.panel.node()]);
    this.panel.stepped?.();
    if (!focus) return;
    $(`[data-key="${focus}"]`, this.place)?.focus({ preventScroll: true });
    if (focus === "stage" || focus === "take") $(".marking", this.place)?.scrollIntoView({ block: "start" });
  }
}
