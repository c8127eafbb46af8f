// Stepping through the film to the open checkpoint and taking its picture; or having the pictures suggested.

import { $, announce, busy, el } from "../../lib/dom.js";
import { say } from "../../lib/words.js";
import { keepStill } from "../draft.js";
import { rateField } from "./film.js";
import { coarse, lookThrough, slowMotion, wristsOf } from "./moments.js";
import { canRun, landmarks } from "./pose.js";

const LOOK_WIDE = 640; // px across of the pictures that are looked through

export class StepPanel {
  constructor(sheet) {
    this.sheet = sheet;
    this.place = el("div", { class: "marking" });
  }

  node() {
    const { film, checkpoint } = this.sheet;
    if (!film.ready) {
      this.place.append(el("p", { class: "hint" }, say("bay.filmAgain")));
      return this.place;
    }
    const step = (n, label) => el("button", { type: "button", "aria-label": say("bay.step", { n }), "data-key": `step${n}`, onclick: () => film.go(film.frame + n) }, label);
    const slider = el("input", { type: "range", min: "0", step: "1", value: "0", "aria-label": say("bay.position"), "data-key": "position" });
    slider.addEventListener("input", () => film.go(Number(slider.value)));
    const take = el("button", { type: "button", class: "main", "data-key": "take", onclick: (event) => busy(event.currentTarget, () => this.take()) },
      say("bay.take", { checkpoint: say(`checkpoint.${checkpoint}`) }));
    this.place.append(
      el("div", { class: "screen" }, film.video, slider, el("p", { class: "at hint", "aria-hidden": "true" })),
      el("div", { class: "side" }, el("h3", {}, say(`checkpoint.${checkpoint}`)), el("p", { class: "hint" }, say(`bay.when.${checkpoint}`)),
        el("div", { class: "row" }, step(-10, "−10"), step(-1, "−1"), step(1, "+1"), step(10, "+10"), this.player()), el("p", {}, take), this.looking(),
        rateField(this.sheet.view, () => void this.sheet.save())));
    return this.place;
  }

  stepped() {
    const { film } = this.sheet;
    const slider = $("input[type=range]", this.place);
    if (!slider) return;
    const text = say("bay.frame", { n: film.frame + 1, of: film.frames });
    slider.max = String(film.frames - 1);
    slider.value = String(film.frame);
    slider.setAttribute("aria-valuetext", text);
    $(".at", this.place).textContent = text;
  }

  async take() {
    const { sheet } = this;
    const still = await sheet.film.still();
    sheet.view.frames[sheet.checkpoint] = { picture: sheet.film.frame, still, points: sheet.frame()?.points ?? {}, sure: true };
    await keepStill(sheet.draft, sheet.kind, sheet.checkpoint);
    await sheet.save();
    announce(say("bay.taken", { checkpoint: say(`checkpoint.${sheet.checkpoint}`) }));
    sheet.next();
  }

  player() {
    const { film } = this.sheet;
    const button = el("button", { type: "button", "data-key": "play", onclick: () => film.play().catch(() => announce(say("bay.film.unreadable"), { urgent: true })) }, say("bay.play"));
    film.video.onplay = () => { button.textContent = say("bay.play.stop"); };
    film.video.onpause = () => { button.textContent = say("bay.play"); };
    film.video.onended = () => void film.go(film.frames - 1);
    return button;
  }

  /** Offered where the server has the pose library. Pressed again it stops. */
  looking() {
    if (!this.sheet.pose) return null;
    const button = el("button", { type: "button", class: "moments", "data-key": "moments", onclick: async () => {
      this.stopped = button.ariaBusy === "true";
      if (this.stopped) return;
      button.ariaBusy = "true";
      await this.suggest(button);
      button.ariaBusy = null;
      button.textContent = say("bay.moments");
    } }, say("bay.moments"));
    return [el("p", {}, button),
      Object.values(this.sheet.view.frames).some((frame) => !frame.sure) ? el("p", { class: "hint" }, say("bay.moments.how")) : null];
  }

  async suggest(button) {
    const { film, view } = this.sheet;
    if (!canRun()) {
      announce(say("bay.find.noWebgl"), { urgent: true });
      return;
    }
    let found;
    try {
      found = await lookThrough(film.frames, async (frame, fresh) => {
        if (this.stopped) throw new Error("stopped");
        await film.go(frame);
        const canvas = film.canvas(LOOK_WIDE);
        const marks = await landmarks(canvas, !fresh);
        return marks ? wristsOf(marks, canvas.width, canvas.height) : null;
      }, (done, of) => { button.textContent = say("bay.moments.working", { n: done, of }); }, coarse(film.seconds));
    } catch {
      if (!this.stopped) announce(say("bay.find.failed"), { urgent: true });
      return;
    }
    await this.fill(found);
    const taken = slowMotion(found, view.rate);
    if (taken && view.fps === view.rate) view.fps = taken;
    await this.sheet.save();
    const n = Object.keys(found).length;
    announce([n ? say("bay.moments.found", { n }) : say("bay.moments.none"), taken && view.fps === taken ? say("bay.moments.slow", { n: taken }) : ""].join(" ").trim(), { urgent: true });
    this.sheet.open(this.sheet.checkpoints.find((name) => !this.sheet.frame(name)?.sure) ?? this.sheet.checkpoint, { lead: true });
  }

  /** Puts suggested pictures where the coach has taken none. */
  async fill(found) {
    const { film, view, draft, kind } = this.sheet;
    for (const [name, picture] of Object.entries(found)) {
      if (view.frames[name]?.sure || !this.sheet.checkpoints.includes(name)) continue;
      await film.go(picture);
      view.frames[name] = { picture, still: await film.still(), points: {}, sure: false };
      await keepStill(draft, kind, name);
    }
  }
}
