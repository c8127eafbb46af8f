// The contact sheet of one view: ten checkpoints, one picture each. One of them is open: stepped to in the film until its
// picture is taken, then marked.

import { $, announce, el, show } from "../lib/dom.js";
import { say } from "../lib/words.js";
import { MarkPanel } from "./mark_panel.js";
import { findFilm, keepDraft, keepFilm, ownMarks, viewOf } from "./draft.js";
import { Film, record } from "./film.js";
import { poseOffered } from "./pose.js";
import { StepPanel } from "./step_panel.js";
import { CHECKPOINTS } from "./trade.js";

export class Sheet {
  constructor(draft, kind, changed) {
    Object.assign(this, { draft, kind, changed, pose: false });
    this.view = viewOf(draft, kind);
    this.film = new Film(this.view, () => this.panel.stepped?.());
    this.place = el("section", { "aria-label": say(`view.${kind}`) });
    this.open(CHECKPOINTS.find((name) => !this.view.frames[name]?.sure) ?? "address");
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

  /** Goes to a checkpoint: to its marks where its picture is taken, else to its place in the film. */
  open(checkpoint, stepping = !this.frame(checkpoint)?.sure) {
    this.checkpoint = checkpoint;
    this.stepping = stepping;
    const at = this.frame()?.picture;
    if (this.film.ready && stepping && at !== undefined) void this.film.go(at);
    this.draw();
  }

  /** The next checkpoint whose picture is still to be taken; when all are, the first to mark. */
  next() {
    const after = CHECKPOINTS.slice(CHECKPOINTS.indexOf(this.checkpoint) + 1);
    const open = [...after, ...CHECKPOINTS].find((name) => !this.frame(name)?.sure);
    this.open(open ?? CHECKPOINTS[0]);
  }

  async loadFilm(blob, taken) {
    const rate = this.view.fps;
    const known = this.view.rate !== null;
    try {
      await this.film.load(blob, taken);
    } catch {
      announce(say("bay.film.unreadable"), { urgent: true });
      return false;
    }
    if (known && rate > this.view.rate) this.view.fps = rate; // what the coach said of it holds
    this.open(this.checkpoint);
    return true;
  }

  /** A film that was chosen or recorded; taken: the camera's rate where it is known. */
  async takeFilm(blob, taken) {
    this.view.rate = null;
    if (!(await this.loadFilm(blob, taken))) return;
    await this.save();
    try {
      await keepFilm(this.draft, this.kind, blob, taken);
    } catch {
      announce(say("bay.film.unkept"), { urgent: true });
    }
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
    const main = this.film.ready || Object.keys(this.view.frames).length > 0 ? "" : "main";
    return el("div", { class: "row" },
      el("button", { type: "button", class: main, "data-key": "choose", onclick: () => file.click() }, say(main ? "bay.choose" : "bay.chooseOther")), file,
      navigator.mediaDevices?.getUserMedia ? el("button", { type: "button", "data-key": "record", onclick: () => this.recordFilm() }, say("bay.record")) : null);
  }

  state(frame) {
    if (!frame) return say("bay.empty");
    return frame.sure ? say("bay.marked", { n: ownMarks(frame).length }) : say("bay.suggested");
  }

  strip() {
    return el("ol", { class: "plain strip" }, CHECKPOINTS.map((name) => {
      const frame = this.frame(name);
      return el("li", {}, el("button", {
        type: "button", class: frame && !frame.sure ? "unsure" : "", "aria-pressed": String(name === this.checkpoint), "data-key": name, onclick: () => this.open(name),
      }, frame ? el("img", { src: URL.createObjectURL(frame.still), alt: "" }) : null, el("span", {}, say(`checkpoint.${name}`)),
      el("span", { class: "hint" }, this.state(frame))));
    }));
  }

  /** After a mark was set: the strip's count, without drawing everything anew. */
  counted() {
    const told = $(".strip [aria-pressed=true] .hint", this.place);
    if (told) told.textContent = this.state(this.frame());
  }

  /** Draws the open checkpoint; who had the focus keeps it. */
  draw(focus = document.activeElement?.dataset?.key) {
    this.panel = this.stepping ? new StepPanel(this) : new MarkPanel(this);
    const nothing = !this.film.ready && Object.keys(this.view.frames).length === 0;
    show(this.place, nothing ? el("p", { class: "lead" }, say(`bay.how.${this.kind}`)) : null, this.chooser(),
      nothing ? null : [this.strip(), this.panel.node()]);
    this.panel.stepped?.();
    if (focus) $(`[data-key="${focus}"]`, this.place)?.focus();
  }
}
