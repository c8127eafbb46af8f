// Sentences of the codes that reports and homework carry: what to take care of, how often, what the camera check found. A
// report of an older version holds English sentences in the place of some codes; they are shown as they stand.

import { el } from "./dom.js";
import { joined, number } from "./units.js";
import { say, translated } from "./words.js";

const areaNames = (areas) => joined(areas.map((area) => say(`area.${area}`)));

let contested = []; // faults, by the house standard in use

/** names: as /v1/me says them. */
export function knowContested(names = []) {
  contested = names;
}

export const isContested = ({ fault, evidence }) => (evidence === undefined ? contested.includes(fault) : evidence === "contested");

/** What a fault is called, and that it is contested: by its evidence, of a report, a fix or a homework; else by the standard in use. */
export const faultName = (named) => (isContested(named) ? say("fault.contested", { fault: say(`fault.${named.fault}`) }) : say(`fault.${named.fault}`));

/** A caution: a code, {code, hours} or {code, areas}; or an older report's sentence. */
export function cautionItem(caution) {
  const { code, hours, areas = [] } = typeof caution === "object" ? caution : { code: caution };
  const key = `caution.${code}`;
  const text = say(key, { hours, areas: areaNames(areas) });
  return text === key ? el("li", { lang: "en" }, code) : el("li", {}, text);
}

/** A drill in the reader's language: what the club has written or changed stays as it is. */
export const drillWords = (drill) => ({
  ...drill,
  ...Object.fromEntries(["name", "how_to", "feel", "cautions", "entry", "easier", "why"].map((part) => [part, translated(`drill.${drill.id}.${part}`, drill[part])])),
  ...(drill.pass ? { pass: { ...drill.pass, what: translated(`drill.${drill.id}.pass`, drill.pass.what) } } : {}),
});

/** How far a drill is from a shot on the course. */
export const levelWords = (level) => say(["drill.level.1", "drill.level.2", "drill.level.3", "drill.level.4"][level - 1]);

/** The name alone. */
export const drillName = (id, name) => translated(`drill.${id}.name`, name);

/** A fault in one sentence for the player, with the sides as this hand has them. */
export function plainWords(fault, hand) {
  const [lead, trail] = hand === "left" ? ["right", "left"] : ["left", "right"];
  return say(`plain.${fault}`, { lead: say(`plain.side.${lead}`), trail: say(`plain.side.${trail}`) });
}

/** How often a drill is to be done and checked. */
export const doseWords = ({ sessions_per_week: n, minutes, self_check_every: every }) =>
  `${say("student.dose", { n, minutes })}. ${every === 2 ? say("dose.check.second") : say("dose.check", { n: every })}`;

/** Why a drill needs a coach's word: of a report's {ruled_out, loads, balance}. */
export const confirmWords = ({ ruled_out: ruledOut, loads, balance }) => [
  ruledOut.length ? say("report.word.ruledOut", { areas: areaNames(ruledOut) }) : null,
  loads.length ? say("report.word.sore", { areas: areaNames(loads) }) : null,
  balance ? say("report.word.balance") : null,
].filter(Boolean).join(" ");

const side = (value) => say(value < 0 ? "flight.left" : "flight.right");
const metres = (value) => number(Math.abs(value), 1);
const degrees = (value) => number(Math.abs(value));

function found({ issue, kind, value, move, checkpoint }) {
  const { right_m: right, up_m: up, turn_right_deg: turn, roll_clockwise_deg: roll } = move;
  if (issue === "no_reference" && kind === "face_on") return say("camera.no_reference.front");
  if (issue === "yaw") return say("camera.yaw", { value: degrees(value), side: side(value), move: degrees(turn), other: side(turn) });
  if (issue === "off_line") return say("camera.off_line", { value: metres(value), side: side(value), move: metres(right), other: side(right) });
  if (issue === "roll" || issue === "roll_slight") {
    return say("camera.roll", { value: metres(value), move: metres(roll), way: say(roll < 0 ? "camera.way.anticlockwise" : "camera.way.clockwise") });
  }
  if (issue === "clipped") return checkpoint ? say("camera.clipped", { checkpoint: say(`checkpoint.${checkpoint}`) }) : say("camera.long");
  return say(`camera.${issue}`, { value: metres(value), move: metres(up) });
}

/** Which mark does not fit the others, and how. */
export const markWords = ({ view_kind: view, code, point, checkpoint, by }) => say(`camera.${view}`, {
  what: say(`mark.${code}`, { point: point ? say(`point.${point}`) : "", checkpoint: checkpoint ? say(`checkpoint.${checkpoint}`) : "", by: number(Math.abs(by)) }),
});

/** What the camera check found and what to move. */
export const cameraWords = (finding) => say(`camera.${finding.kind}`, { what: found(finding) });
