// The pictures suggested as checkpoints, from paths of the wrists: a made-up one whose moments are known, and measured swings.
import { existsSync, readFileSync } from "node:fs";
import { join } from "node:path";

import { check, finish, skip } from "./support.mjs";

// What the page keeps to itself is reached too: the module with two more names given out.
const folder = new URL("../../server/pages/bay/reading/", import.meta.url);
const module = readFileSync(new URL("moments.js", folder), "utf8").replace('"../catalogue.js"', `"${new URL("../catalogue.js", folder)}"`);
const { checkpoints, coarse, inOrder, lookThrough, moments, slowMotion, withStrike, wristsOf } = await import(`data:text/javascript,${encodeURIComponent(`${module}\nexport { moments };`)}`);

/** Hands of 120 pictures: at rest to 30, up to 60, down to 75, up to 100, at rest. v is downward, the body 1 high. */
const smooth = (share) => (1 - Math.cos(Math.PI * Math.min(Math.max(0, share), 1))) / 2;
const made = Array.from({ length: 120 }, (_, frame) => {
  const back = smooth((frame - 30) / 30) - smooth((frame - 60) / 15);
  const through = smooth((frame - 75) / 25);
  return { frame, u: 0.4 * through - 0.4 * back, v: 0.55 - 0.7 * back - 0.6 * through, body: 1 };
});
const near = (got, wanted, within) => got !== undefined && Math.abs(got - wanted) <= within;
const wanted = { address: [30, 4], top: [60, 1], impact: [75, 1], finish: [100, 5] };
const said = moments(made);
for (const [name, [frame, within]] of Object.entries(wanted)) check(near(said[name], frame, within), `${name} at ${said[name]}, made at ${frame}`);

// With shoulders at .2 the arms are level where the hands are: half way up (45), half way down (67.5), .583 of the way through (88.8).
const armed = checkpoints(made.map((place) => ({ ...place, shoulder: 0.2 })));
check(near(armed.arm_back, 45, 1) && near(armed.arm_down, 67.5, 1) && near(armed.arm_through, 88.8, 1), `arms level at ${armed.arm_back}, ${armed.arm_down}, ${armed.arm_through}`);
check(Object.keys(armed).length === 10 && Object.values(armed).every((frame, i, all) => i === 0 || frame > all[i - 1]), `every checkpoint, in swing order: ${Object.values(armed)}`);
check(checkpoints(made).arm_back === undefined && checkpoints(made).top === 60, "without shoulders no arm is said to be level");
const lower = wristsOf(Array.from({ length: 33 }, (_, i) => ({ x: 0.5, y: i === 12 ? 0.4 : 0.3, visibility: 1 })), 100, 100);
check(lower.shoulder === 40, "the lower shoulder counts");
check(slowMotion({ top: 60, impact: 75 }, 60) === null, "a downswing of 15 pictures at 60 a second is as it happened");
check(slowMotion({ top: 183, impact: 220 }, 30) === 120 && slowMotion({ top: 0, impact: 60 }, 30) === 240, "1.2 s at 30 was taken at 120, 2 s at 240");
check(slowMotion({}, 30) === null && coarse(1) === 20 && coarse(8) === 40 && coarse(90) === 60, "a film is looked at 20 to 60 times by its length");

// What the club tells stands, what the hands tell fits between or is left out.
const both = inOrder({ address: 57, top: 75, arm_down: 79, impact: 90, finish: 130 }, { shaft_back: 39, arm_back: 57, top: 73, impact: 91 });
check(JSON.stringify(both) === '{"shaft_back":39,"arm_back":57,"top":73,"arm_down":79,"shaft_down":87,"impact":91,"finish":130}', `moments of club and hands together: ${JSON.stringify(both)}`);

const heard = (found) => withStrike(found, { at: 2, sd: 0.03 }, 60).impact;
check(heard({ impact: 117 }) === 117 && heard({ impact: 90 }) === 120 && heard({}) === 120, "a strike that was heard is impact, but for a picture near it");
check(withStrike({ impact: 90 }, null, 60).impact === 90 && withStrike({ top: 3 }, undefined, 60).impact === undefined, "without one what was found stands");

let asked = 0;
const looked = await lookThrough(120, async (frame) => { asked++; return made[frame]; }, () => {});
check(asked <= 32 && near(looked.top, 60, 2) && near(looked.impact, 75, 2), `with ${asked} pictures: top at ${looked.top}, lowest hands at ${looked.impact}`);
const blind = await lookThrough(120, async (frame) => (frame % 3 ? made[frame] : null), () => {});
check(near(blind.top, 60, 4) && near(blind.impact, 75, 4), `a third of the pictures without a body: top at ${blind.top}, lowest hands at ${blind.impact}`);
check(Object.keys(moments(made.map((place) => ({ ...place, u: 0, v: 0.5 })))).length === 0, "hands that don't move are no swing");
check(Object.keys(moments([])).length === 0, "nor is an empty film");
check(wristsOf(Array.from({ length: 33 }, () => ({ x: 0.5, y: 0.5, visibility: 0.1 })), 100, 100) === null, "wrists that can't be seen give no place");

// Measured swings (120 Hz), where they are at hand: against the highest and lowest hands of all samples.
const shared = process.env.LEADSIDE_SHARED || "/dev/null";
for (const n of [1, 2, 3, 4, 5]) {
  const file = join(shared, "data/cmu64", `64_0${n}.trc`);
  if (!existsSync(file)) {
    skip(`measured swing ${n} is not at hand`);
    continue;
  }
  const lines = readFileSync(file, "utf8").split(/\r?\n/).map((line) => line.split("\t"));
  const names = lines[3];
  const rows = lines.slice(5).filter((row) => /^\d+$/.test(row[0])).map((row) => row.map(Number));
  const mean = (row, axis) => ["LWrist", "RWrist"].reduce((sum, name) => sum + row[names.indexOf(name) + axis] / 2, 0);
  const body = rows[0][names.indexOf("Head") + 1];
  const height = (row, name) => row[names.indexOf(name) + 1];
  const path = rows.map((row, frame) => ({ frame, u: mean(row, 2), v: -mean(row, 1), body, shoulder: -Math.min(height(row, "LShoulder"), height(row, "RShoulder")) }));
  const got = await lookThrough(path.length, async (frame) => path[frame], () => {});
  const about = (middle, better) => path.slice(Math.max(0, middle - 40), middle + 40).reduce((best, place) => (better(place, best) ? place : best)).frame;
  const top = about(got.top, (a, b) => a.v < b.v);
  const low = about(got.impact, (a, b) => a.v > b.v);
  check(near(got.top, top, 6) && near(got.impact, low, 6) && got.address < got.top - 40 && got.finish > got.impact + 20,
    `measured swing ${n}: address ${got.address}, top ${got.top} (highest hands ${top}), lowest hands ${got.impact} (${low}), finish ${got.finish}`);
  // The arm itself: where its wrist passes its shoulder's height.
  const level = (side, from, to) => rows.findIndex((row, frame) => frame > from && frame <= to &&
    (height(row, `${side}Wrist`) >= height(row, `${side}Shoulder`)) !== (height(rows[frame - 1], `${side}Wrist`) >= height(rows[frame - 1], `${side}Shoulder`)));
  const arms = { arm_back: level("L", got.address, top), arm_down: level("L", top, low), arm_through: level("R", low, got.finish) };
  check(Object.entries(arms).every(([name, frame]) => near(got[name], frame, 6)),
    `measured swing ${n}: arms level within .05 s: ${Object.entries(arms).map(([name, frame]) => `${name} ${got[name]} (${frame})`).join(", ")}`);
}
finish("moments");
