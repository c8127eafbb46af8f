// The camera check before anything is sent: from two sticks on the ground along the target line, or a distant flag. The
// server checks again and has the last word (docs/measures.md); this says it while the tablet can still be moved.

import { across, laid } from "../draft.js";
import { BUTT_TO_GRIP_M } from "../catalogue.js";

const DEG = 180 / Math.PI;
const YAW_LIMIT_DEG = 10;
const OFF_LINE_M = 0.4;
const HEIGHT_M = 0.6;

const cross = (a, b) => [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
const through = (a, b) => cross([a.u, a.v, 1], [b.u, b.v, 1]);

/** Where two sticks meet far away; null when they do not. */
function vanishing(sticks) {
  const [one, two] = sticks;
  if (!two) return null;
  const p = cross(through(one[0], one[1]), through(two[0], two[1]));
  return Math.abs(p[2]) < 1e-9 ? null : { u: p[0] / p[2], v: p[1] / p[2] };
}

/** Whether the club lies where a player of the other hand has it: left of the hands for who plays right-handed. */
const otherHand = ({ grip, clubhead }, hand) => grip && clubhead && (hand === "left" ? clubhead.u > grip.u : clubhead.u < grip.u);

/** Findings of a view down the line: [{key, values}] for say(), worst first; empty = nothing to move. */
export function cameraCheck(view, clubLength, hand) {
  if (otherHand(view.frames.address?.points ?? {}, hand)) return [{ key: hand === "left" ? "check.rightHanded" : "check.leftHanded", values: {} }];
  const focal = view.width / 2 / Math.tan(across(view) / 2 / DEG);
  const meet = vanishing(laid(view));
  const far = view.target ?? meet;
  const address = view.frames.address?.points ?? {};
  if (!far) return [{ key: "check.noReference", values: {} }];
  const findings = [];
  const pitch = Math.atan((view.height / 2 - (meet ?? { v: view.height / 2 }).v) / focal);
  const yaw = Math.atan(((view.width / 2 - far.u) * Math.cos(pitch)) / focal) * DEG;
  if (Math.abs(yaw) > YAW_LIMIT_DEG) {
    findings.push({ key: yaw > 0 ? "check.turnLeft" : "check.turnRight", values: { deg: Math.round(Math.abs(yaw)) } });
  }
  const { grip, clubhead } = address;
  if (grip && clubhead) {
    const seen = Math.hypot(clubhead.u - grip.u, clubhead.v - grip.v);
    const depth = (focal * (clubLength - BUTT_TO_GRIP_M)) / Math.max(1, seen);
    const beside = (depth * (grip.u - far.u)) / focal;
    if (Math.abs(beside) > OFF_LINE_M) {
      findings.push({ key: beside > 0 ? "check.moveRight" : "check.moveLeft", values: { metres: Math.abs(beside).toFixed(1) } });
    }
    const above = meet ? (depth * (grip.v - meet.v)) / focal : 0;
    if (Math.abs(above) > HEIGHT_M) {
      findings.push({ key: above > 0 ? "check.lower" : "check.raise", values: { metres: Math.abs(above).toFixed(1) } });
    }
  }
  return findings;
}
