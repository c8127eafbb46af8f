// The watching camera in the bay: what it sees before there is a film, the swings it has caught, and that it is on. It goes on while a swing
// is read and its report is looked at; it stops when the page is hidden or another student is on the tee.

import { $, announce, busy, el, show } from "../../lib/dom.js";
import { clock } from "../../lib/units.js";
import { say } from "../../lib/words.js";
import { newDraft } from "../draft.js";
import { remembered } from "../lesson.js";
import { turned } from "./mp4.js";
import { canWatch, Watch } from "./watch.js";

const WAITING = 3; // swings that wait to be read; more would fill the memory
const WHY = { refused: "bay.watch.refused", busy: "bay.watch.busy", none: "bay.watch.none", failed: "bay.watch.failed", hidden: "bay.watch.hidden", lost: "bay.watch.lost" };
const BY = { sound: "bay.watch.by.sound", motion: "bay.watch.by.motion" };
const OF_STUDENT = /^#(swing|student|report|waiting|lesson)\//;

let watch = null; // the one that runs: {kind, student, camera}
let sheet = null; // the one on the screen
let handed = null; // what was chosen out of those that wait: {draft id, kind, film}
const waiting = []; // {student, kind, film}
const bar = el("section", { class: "watching", hidden: true });

const own = (of) => Boolean(watch) && watch.kind === of.kind && watch.student.id === of.draft.student.id;
const empty = (of) => !of.film.ready && of.pictures().length === 0;
const button = (text, key, act, style = "") => el("button", { type: "button", class: style, "data-key": key, onclick: (event) => busy(event.currentTarget, act) }, text);

function stop() {
  watch?.camera.stop();
  watch = null;
  if (sheet && empty(sheet)) sheet.draw();
  draw();
}

/** It has stopped by itself. */
function ended(why) {
  watch = null;
  announce(say(WHY[why]), { urgent: true });
  if (sheet && empty(sheet)) sheet.draw();
  draw();
}

/** A swing: at once the film of the sheet that waits for it, else one of those that wait. */
async function caught(film) {
  const { kind, student } = watch;
  if (sheet && own(sheet) && empty(sheet)) {
    await take(sheet, film);
    return;
  }
  if (waiting.length < WAITING) waiting.push({ student, kind, film });
  announce(say(waiting.length < WAITING ? "bay.watch.another" : "bay.watch.enough"));
  draw();
}

async function take(of, film) {
  of.caught = film.blob;
  if (await of.takeFilm(film.blob, film.rate, film.strike)) announce(say("bay.watch.caught", { at: clock(film.when) }));
  draw();
}

/** The coach says that it was none: the film goes, and the sheet waits again. */
async function dismiss() {
  const of = sheet;
  of.caught = null;
  of.film.drop();
  await of.clear();
  of.draw();
  draw();
}

async function readNext() {
  const { student, kind, film } = waiting.shift();
  const draft = newDraft(student, await remembered(student.id));
  draft.open = kind;
  handed = { id: draft.id, kind, film };
  location.hash = `#swing/${draft.id}`;
  draw();
}

function throwNext() {
  waiting.shift();
  draw();
}

const untouched = (of) => of.caught && of.caught === of.blob && !Object.values(of.view.frames).some((frame) => frame.sure);

/** The line at the foot of the page; away where the preview itself is on the screen. */
function draw() {
  if (!bar.isConnected) document.body.append(bar);
  bar.setAttribute("aria-label", say("bay.watch.bar"));
  const seen = watch?.camera.video.isConnected;
  const [next] = waiting;
  const rejected = sheet && untouched(sheet);
  bar.hidden = !((watch && !seen) || next || rejected);
  const held = bar.contains(document.activeElement) ? document.activeElement.dataset.key : null;
  show(bar,
    watch && !seen ? el("p", {}, say("bay.watch.on", { name: watch.student.name })) : null,
    rejected ? button(say("bay.watch.not"), "not-a-swing", dismiss) : null,
    next ? el("p", {}, say("bay.watch.waits", { n: waiting.length, name: next.student.name, at: clock(next.film.when) })) : null,
    next ? [button(say("bay.watch.read"), "read-next", readNext), button(say("bay.watch.throw"), "throw-next", throwNext)] : null,
    watch && !seen ? button(say("bay.watch.stop"), "unwatch", stop) : null);
  if (held) ($(`[data-key="${held}"]`, bar) ?? $("button", bar))?.focus({ preventScroll: true });
}

window.addEventListener("hashchange", () => {
  if (watch && !OF_STUDENT.test(location.hash)) stop();
  else draw();
});

async function begin(of) {
  stop();
  const changed = () => { if (sheet && own(sheet) && empty(sheet)) sheet.draw(); };
  const camera = new Watch({ caught: (film) => void caught(film), ended, changed });
  watch = { kind: of.kind, student: of.draft.student, camera };
  try {
    await camera.start();
    of.draw("unwatch");
    draw();
  } catch ({ reason }) {
    if (watch?.camera === camera) watch = null;
    announce(say(WHY[reason]), { urgent: true });
  }
}

/** The button that begins to watch for a sheet without a film; none where the browser can't. */
export const watchButton = (of) => (canWatch() ? button(say("bay.watch"), "watch", () => begin(of), "quiet") : null);

/** What a sheet without a film shows while the camera watches for it; null when it does not. */
export function watchPanel(of) {
  if (!own(of) || !watch.camera.by) return null;
  const { video, by } = watch.camera;
  video.setAttribute("aria-label", say("bay.preview"));
  return {
    node: () => el("div", { class: "marking watch" }, el("div", { class: "screen" }, video), el("div", { class: "side" }, el("p", { class: "lead" }, say(BY[by])), el("p", {}, say("bay.watch.how")))),
    bar: () => {
      of.foot.asked.textContent = say(BY[by]);
      of.foot.set({ next: ["unwatch", say("bay.watch.stop"), stop] });
      void video.play().catch(() => {}); // it rests when it is moved
      draw();
    },
  };
}

/** The player lies across the picture: the film is turned, what was taken from it goes. */
export function offerTurn(of) {
  const turn = async (quarters) => {
    const upright = await turned(of.blob, quarters);
    if (!upright) {
      announce(say("bay.read.across"), { urgent: true });
      return;
    }
    const { rate, strike } = of.view;
    await of.clear();
    await of.useFilm(upright, rate, strike);
  };
  const card = el("div", { class: "card turn", role: "alert" }, el("p", {}, say("bay.turn")), el("div", { class: "row" },
    button(say("bay.turn.left"), "turn-left", () => turn(3)), button(say("bay.turn.right"), "turn-right", () => turn(1)), button(say("bay.turn.leave"), "turn-leave", () => card.remove())));
  of.place.prepend(card);
  $("button", card).focus();
}

/** A sheet has come to the screen, or leaves it. */
export function onScreen(of) {
  sheet = of;
  if (handed && handed.id === of.draft.id && handed.kind === of.kind && empty(of)) {
    const { film } = handed;
    handed = null;
    void take(of, film);
  }
}

export function offScreen(of) {
  if (sheet === of) sheet = null;
}
