// Confirming and marking the picture of the open checkpoint: its points, and at address from behind the sticks, the flag and the camera check.

import { el, show } from "../../lib/dom.js";
import { say } from "../../lib/words.js";
import { cameraCheck } from "./check.js";
import { against, doubtWords, hiddenHip } from "./doubts.js";
import { Marker } from "./marker.js";
import { confirmPoint, keyOf } from "./suspects.js";

const STICKS = [["feetNear", "feetFar"], ["ballNear", "ballFar"]]; // two sticks, both ends of each
const ARROWS = { left: ["←", -1, 0], up: ["↑", 0, -1], down: ["↓", 0, 1], right: ["→", 1, 0] };

export class MarkPanel {
  constructor(sheet) {
    this.sheet = sheet;
    this.ground = sheet.kind === "down_the_line" && sheet.checkpoint === "address";
    this.told = this.ground ? el("div", { class: "check", role: "status" }) : null;
  }

  targets() {
    const out = (this.sheet.points[this.sheet.checkpoint] ?? []).map((id) => ({ id, label: say(`point.${id}`) }));
    if (!this.ground) return out;
    STICKS.forEach((ends, i) => ends.forEach((name, end) => out.push({ id: `stick-${i}-${end}`, label: say(`bay.stick.${name}`), end: end ? null : `stick-${i}-1` })));
    out.push({ id: "target", label: say("bay.flag") });
    return out;
  }

  node() {
    const { sheet } = this;
    const frame = sheet.frame();
    this.marker = new Marker({
      picture: frame.still, width: sheet.view.width, height: sheet.view.height, hand: sheet.draft.student.hand, targets: this.targets(),
      read: (id) => this.read(frame, id),
      write: (id, mark) => this.write(frame, id, mark),
      settled: () => { void sheet.save(); this.check(); sheet.counted(); this.bar(); this.complete(); },
      look: sheet.look, asked: sheet.foot.asked,
    });
    if (this.ground && !sheet.view.target && sheet.laid()) this.marker.skipped.add("target"); // the sticks do
    if (hiddenHip(sheet.kind, frame)) this.marker.skipped.add("lead_hip");
    this.marker.chosen = this.marker.next();
    const doubts = sheet.doubtsIn(sheet.checkpoint).filter(against); // what is missing is asked for by its name
    const asked = doubts[0]?.point;
    if (asked) Object.assign(this.marker, { chosen: asked, named: true });
    this.check();
    return el("div", { class: "marking" }, el("div", { class: "screen" }, this.marker.stage),
      el("div", { class: "side" }, sheet.strip(), el("h3", {}, say(`checkpoint.${sheet.checkpoint}`)), doubts.length ? el("div", { class: "doubt", role: "status" }, doubts.map((doubt) => el("p", {}, doubtWords(doubt)))) : null, this.told, this.marker.figure?.node ?? null, this.fine()));
  }

  /** Fine movement, and what takes back or away. */
  fine() {
    const { marker } = this;
    if (marker.targets.length === 0) return null;
    const quiet = (key, act) => el("button", { type: "button", class: "quiet", "data-key": key, onclick: act }, say(`bay.${key}`));
    return [el("div", { class: "row fine" }, quiet("undo", () => marker.undo()), quiet("skip", () => marker.skip()), quiet("unmark", () => marker.set(marker.chosen, null))),
      el("div", { class: "row fine" }, Object.entries(ARROWS).map(([name, [arrow, du, dv]]) =>
        el("button", { type: "button", "aria-label": say(`bay.nudge.${name}`), onclick: () => marker.nudge(du, dv) }, arrow)), quiet("closer", () => marker.toggle()))];
  }

  /** What can be done now: the foot of the page. */
  bar() {
    const { sheet, marker } = this;
    const quiet = (key, text, act) => el("button", { type: "button", class: "quiet", "data-key": key, onclick: act }, text);
    const onward = sheet.following();
    const next = !sheet.confirmed() ? ["right", say("bay.right"), () => this.allRight()]
      : sheet.view.read && sheet.pending(sheet.checkpoint) ? ["leave", say(this.asksGround() ? "bay.bare" : "bay.leave"), () => this.leave()]
        : onward ? ["onward", say("bay.onward", { checkpoint: say(`checkpoint.${onward}`) }), () => sheet.open(onward, { lead: true })] : null;
    sheet.foot.set({
      more: [sheet.film.ready ? quiet("again", say("bay.again"), () => sheet.open(sheet.checkpoint, { stepping: true, lead: true })) : null, sheet.readButton(),
        sheet.view.read && sheet.pictures().length > 1 ? quiet("contact", say("bay.contact"), () => sheet.lookOver()) : null],
      next, aside: next?.[0] === "leave",
    });
    marker?.draw(); // none until the picture is there
  }

  /** What was missing is marked and the rest was confirmed with the others: on to the next picture. Where the camera check speaks it is to be read. */
  complete() {
    const { sheet } = this;
    if (this.ground || !sheet.frame().swept || !sheet.confirmed() || sheet.pending(sheet.checkpoint)) return;
    sheet.frame().swept = false;
    sheet.onward();
  }

  /** Nothing but sticks or a flag is still to be marked. */
  asksGround() {
    return this.sheet.doubtsIn(this.sheet.checkpoint).every(({ why }) => why === "ground");
  }

  /** What is not marked can't be seen; that there is nothing on the ground holds for the lesson. */
  async leave() {
    const { sheet } = this;
    sheet.frame().swept = false;
    if (this.ground && !sheet.laid() && !sheet.view.target) sheet.view.bare = true;
    await sheet.save();
    sheet.onward();
  }

  /** The picture is the right one, and what was found in it lies right, also what did not fit the other marks; what is still missing is asked for. */
  async allRight() {
    const { sheet } = this;
    const frame = sheet.frame();
    for (const { mark, point } of sheet.doubtsIn(sheet.checkpoint)) {
      if (!mark || frame.points[point]?.sd === undefined) continue;
      confirmPoint(frame, point);
      sheet.told.add(keyOf(mark));
    }
    this.marker.acceptAll();
    frame.sure = frame.swept = true;
    await sheet.save();
    if (sheet.view.read && sheet.pending(sheet.checkpoint)) sheet.draw("stage");
    else await this.leave();
  }

  /** The camera check, spoken before anything is sent. */
  check() {
    if (!this.told) return;
    const findings = cameraCheck(this.sheet.view, this.sheet.draft.club.length_m, this.sheet.draft.student.hand);
    show(this.told, findings.length ? findings.map(({ key, values }) => el("p", {}, say(key, values))) : el("p", {}, say("check.good")));
  }

  read(frame, id) {
    if (id === "target") return this.sheet.view.target;
    const [word, stick, end] = id.split("-");
    return word === "stick" ? this.sheet.view.sticks[stick]?.[end] ?? null : frame.points[id] ?? null;
  }

  write(frame, id, mark) {
    const { view } = this.sheet;
    const [word, stick, end] = id.split("-");
    if (id === "target") {
      view.target = mark;
      return;
    }
    if (word === "stick") {
      const sticks = [0, 1].map((i) => view.sticks[i] ?? [null, null]);
      sticks[stick][end] = mark;
      view.sticks = sticks;
      if (this.sheet.laid()) this.marker.skipped.add("target");
      return;
    }
    if (mark) frame.points[id] = mark;
    else delete frame.points[id];
    frame.confirmed = (frame.confirmed ?? []).filter((point) => point !== id); // it is another mark now
  }
}
