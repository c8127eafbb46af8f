// A round on the course, in two taps a shot: how the ball flew, how it was hit. It is kept on the phone after each tap, so that it goes
// on after the page was closed, without a network too; it is sent once, when it is over and as soon as there is one.

import { call, newKey } from "../lib/api.js";
import { $, announce, busy, el, show, svg } from "../lib/dom.js";
import { keepPages } from "../lib/storage.js";
import { transferPart } from "./transfer.js";
import { say, sayProblem } from "../lib/words.js";

const HOLES = 9;
const MOST = 150; // shots of a round
const SIDES = ["left", "straight", "right"];
const STRIKES = ["flush", "thin", "topped", "fat", "heel", "toe"];
const UNSEEN = "unknown";
const OPEN = "leadside.round.open"; // whose round is under way here: {account, student}
const stored = ({ account, student }) => `leadside.round.${account}.${student}`;

let whose = null; // {account, student, own}; own: the page is the family's
let round = null; // {key, begun, hole, shots, seen: {start, curve} or null, over}; null = none is under way
let transfer = null;

const read = (name) => {
  try {
    return JSON.parse(localStorage.getItem(name));
  } catch {
    return null; // not ours
  }
};

/** Keeps the round as it now is; false: the phone has no room. */
function keep() {
  try {
    if (round) localStorage.setItem(stored(whose), JSON.stringify(round));
    else localStorage.removeItem(stored(whose));
    if (round && whose.own) localStorage.setItem(OPEN, JSON.stringify(whose));
    else localStorage.removeItem(OPEN);
    return true;
  } catch {
    announce(say("round.full"), { urgent: true });
    return false;
  }
}

function change(next, focus = "h3") {
  round = next;
  keep();
  draw();
  $(`#round ${focus}`)?.focus();
}

function begin() {
  void keepPages();
  change({ key: newKey(), begun: new Date().toISOString(), hole: 1, shots: [], seen: null, over: false });
}

async function send(button) {
  const { key, begun, shots } = round;
  const sent = whose;
  try {
    await busy(button, () => call("POST", `/v1/students/${whose.student}/rounds`, { body: { played_at: begun, shots }, key }));
  } catch (problem) {
    announce(problem.status === 0 ? say("round.waits") : sayProblem(problem), { urgent: problem.status !== 0 });
    return;
  }
  announce(say("round.sent"));
  if (whose !== sent || !$("#round")) { // another student stands here by now
    localStorage.removeItem(stored(sent));
    if (whose === sent) round = null;
    return;
  }
  change(null, "[data-key=round]");
  await transfer?.load();
}

/** A flight as a line from the player's feet, seen from behind. */
function flightFigure(start, curve) {
  const side = { left: -1, straight: 0, right: 1 };
  const [x, bend] = [side[start] * 8, side[curve] * 12];
  return svg("svg", { viewBox: "0 0 60 60", "aria-hidden": "true", class: "flight" },
    svg("path", { d: `M30 56 Q${30 + x} 30 ${30 + x * 1.7 + bend} 8`, fill: "none", stroke: "currentColor", "stroke-width": "4", "stroke-linecap": "round" }),
    svg("circle", { cx: String(30 + x * 1.7 + bend), cy: "8", r: "5", fill: "currentColor" }));
}

const flightWords = (start, curve) => say(curve === "straight" ? "round.straight" : "round.curves", { start: say(`flight.${start}`), curve: say(`flight.${curve}`) });

const target = (key, onclick, ...content) => el("button", { type: "button", "data-key": key, onclick }, content);

/** First tap: a column for where the ball started, a row for how it curved. */
const flights = () => el("div", { class: "nine", role: "group", "aria-label": say("round.flight") }, SIDES.map((curve) => SIDES.map((start) =>
  target(`${start}-${curve}`, () => change({ ...round, seen: { start, curve } }), flightFigure(start, curve), el("span", {}, flightWords(start, curve))))));

/** Second tap. */
function strikes() {
  const hit = (strike) => change({ ...round, seen: null, shots: [...round.shots, { hole: round.hole, ...round.seen, strike }] });
  return el("div", { class: "nine", role: "group", "aria-label": say("round.strike") }, STRIKES.map((strike) => target(strike, () => hit(strike), el("span", {}, say(`round.${strike}`)))),
    target(UNSEEN, () => hit(UNSEEN), el("span", {}, say("round.unseen"))));
}

function undo() {
  const last = round.shots.at(-1);
  if (round.seen) change({ ...round, seen: null });
  else if (last && last.hole === round.hole) change({ ...round, shots: round.shots.slice(0, -1) });
  else change({ ...round, hole: round.hole - 1 });
}

/** Is the round to go? Asked once more, for a round can't be played again. */
const askAway = () => {
  const place = $("#round .sure");
  show(place, el("p", { tabindex: "-1" }, say("round.away.sure")), el("p", { class: "row" },
    target("away-yes", () => change(null, "[data-key=round]"), say("round.away")), target("away-no", () => change(round), say("home.notNow"))));
  place.firstChild.focus();
};

const away = () => [el("p", {}, el("button", { type: "button", class: "quiet", "data-key": "away", onclick: askAway }, say("round.away"))), el("div", { class: "sure" })];

function playing() {
  const here = round.shots.filter(({ hole }) => hole === round.hole).length;
  const full = round.shots.length >= MOST;
  const finish = (event) => {
    change({ ...round, seen: null, over: true });
    void send(event.currentTarget.isConnected ? event.currentTarget : $("#round [data-key=send]"));
  };
  return [el("h3", { tabindex: "-1" }, say("round.hole", { hole: round.hole, of: HOLES, n: here + 1 })),
    el("p", { class: "asks" }, el("strong", {}, say(full ? "round.most" : round.seen ? "round.strike" : "round.flight")), round.seen && round.seen.start !== UNSEEN ? ` (${flightWords(round.seen.start, round.seen.curve)})` : null),
    full ? null : round.seen ? strikes() : flights(),
    round.seen || full ? null : el("p", {}, target("unseen", () => change({ ...round, seen: { start: UNSEEN, curve: UNSEEN } }), say("round.notSeen"))),
    el("p", { class: "row" },
      el("button", { type: "button", "data-key": "round-undo", disabled: !round.seen && round.shots.length === 0 && round.hole === 1, onclick: undo }, say("home.undo")),
      round.hole < HOLES ? el("button", { type: "button", "data-key": "next-hole", disabled: Boolean(round.seen), onclick: () => change({ ...round, hole: round.hole + 1 }) }, say("round.next")) : null,
      el("button", { type: "button", class: "main", "data-key": "finish", disabled: round.shots.length === 0, onclick: finish }, say("round.finish"))),
    away()];
}

const waiting = () => [el("h3", { tabindex: "-1" }, say("round.over")), el("p", { role: "status" }, say("round.kept", { n: round.shots.length })),
  el("p", {}, el("button", { type: "button", class: "main", "data-key": "send", onclick: (event) => send(event.currentTarget) }, say("round.send"))), away()];

const nothing = () => [el("p", {}, say(whose.own ? "round.why" : "round.why.coach")), el("p", {}, el("button", { type: "button", "data-key": "round", onclick: begin }, say("round.begin")))];

function draw() {
  show($("#round"), el("h2", { id: "round-title" }, say("round.title")), round ? (round.over ? waiting() : playing()) : nothing(), transfer);
  $("#round").hidden = false;
}

/** Of this student, by this account, in the place #round: what is under way goes on, what is over is sent. own: a family's page. */
export function showRound(now) {
  if (whose?.account === now.account && whose.student === now.student && $("#round").firstChild) { // the sheet was drawn anew: a tap under way stays
    if (!round) void transfer?.load();
    return;
  }
  whose = { account: now.account, student: now.student, own: now.own };
  round = read(stored(whose));
  transfer = transferPart(whose.student);
  draw();
  void transfer.load();
  if (round?.over) void send($("#round [data-key=send]"));
}

/** Without a network: the round that is under way on this phone goes on by itself. False: there is none. */
export function roundAlone() {
  whose = read(OPEN);
  round = whose && read(stored(whose));
  if (!round) return false;
  draw();
  return true;
}

/** Whoever leaves takes the round out of sight; it goes on when the same account is back. */
export const hideRound = () => localStorage.removeItem(OPEN);

window.addEventListener("online", () => {
  if (round && !transfer) location.reload(); // opened without a network
  else if (round?.over && $("#round")) void send($("#round [data-key=send]"));
});
