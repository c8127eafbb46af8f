// Stepping through the film to the open checkpoint and taking its picture.

import { $, announce, busy, el } from "../../lib/dom.js";
import { say } from "../../lib/words.js";
import { keepStill } from "../draft.js";

export class StepPanel {
  constructor(sheet) {
    this.sheet = sheet;
    this.place = el("div", { class: "marking" });
  }

  node() {
    const { film, checkpoint, foot } = this.sheet;
    foot.asked.textContent = say(film.ready ? `bay.when.${checkpoint}` : "bay.filmAgain");
    const side = el("div", { class: "side" }, this.sheet.strip(), el("h3", {}, say(`checkpoint.${checkpoint}`)));
    if (film.ready) {
      const step = (n, label) => el("button", { type: "button", "aria-label": say("bay.step", { n }), "data-key": `step${n}`, onclick: () => film.go(film.frame + n) }, label);
      const slider = el("input", { type: "range", min: "0", step: "1", value: "0", "aria-label": say("bay.position"), "data-key": "position" });
      slider.addEventListener("input", () => film.go(Number(slider.value)));
      this.place.append(el("div", { class: "screen" }, film.video, slider));
      side.append(el("p", { class: "hint" }, say(`bay.when.${checkpoint}`)), el("p", { class: "at hint", "aria-hidden": "true" }),
        el("div", { class: "row" }, step(-10, "−10"), step(-1, "−1"), step(1, "+1"), step(10, "+10"), this.player()));
    } else this.place.append(el("div", { class: "screen" }));
    this.place.append(side);
    return this.place;
  }

  bar() {
    const { sheet } = this;
    const take = say("bay.take", { checkpoint: say(`checkpoint.${sheet.checkpoint}`) });
    sheet.foot.set({ more: [sheet.readButton(), sheet.view.read && sheet.pictures().length > 1 ? el("button", { type: "button", class: "quiet", "data-key": "contact", onclick: () => sheet.lookOver() }, say("bay.contact")) : null],
      next: sheet.film.ready ? ["take", take, (event) => busy(event.currentTarget, () => this.take())] : null });
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

  /** Takes the picture that is shown. What was found in another picture does not lie right in this one. */
  async take() {
    const { sheet } = this;
    const still = await sheet.film.still();
    const before = sheet.frame();
    const same = before?.picture === sheet.film.frame;
    const points = Object.fromEntries(Object.entries(before?.points ?? {}).filter(([, mark]) => same || mark.sd === undefined));
    sheet.view.frames[sheet.checkpoint] = { picture: sheet.film.frame, still, points, sure: true };
    await keepStill(sheet.draft, sheet.kind, sheet.checkpoint);
    await sheet.save();
    announce(say("bay.taken", { checkpoint: say(`checkpoint.${sheet.checkpoint}`) }));
    sheet.lookAt(sheet.checkpoint);
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
}
