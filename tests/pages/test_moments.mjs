// The pictures suggested as checkpoints, from paths of the wrists: a made-up one whose moments are known, and measured swings.
import { existsSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { fileURLToPath } from "node:url";

import { lookThrough, moments, wristsOf } from "../../server/pages/bay/moments.js";
import { check, finish, skip } from "./support.mjs";

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

let asked = 0;
const looked = await lookThrough(120, async (frame) => { asked++; return made[frame]; }, () => {});
check(asked <= 32 && near(looked.top, 60, 2) && near(looked.impact, 75, 2), `with ${asked} pictures: top at ${looked.top}, lowest hands at ${looked.impact}`);
const blind = await lookThrough(120, async (frame) => (frame % 3 ? made[frame] : null), () => {});
check(near(blind.top, 60, 4) && near(blind.impact, 75, 4), `a third of the pictures without a body: top at ${blind.top}, lowest hands at ${blind.impact}`);
check(Object.keys(moments(made.map((place) => ({ ...place, u: 0, v: 0.5 })))).length === 0, "hands that don't move are no swing");
check(Object.keys(moments([])).length === 0, "nor is an empty film");
check(wristsOf(Array.from({ length: 33 }, () => ({ x: 0.5, y: 0.5, visibility: 0.1 })), 100, 100) === null, "wrists that can't be seen give no place");

// Measured swings (120 Hz), where they are at hand: against the highest and lowest hands of all samples.
const shared = process.env.LEADSIDE_SHARED ?? fileURLToPath(new URL("../../../shared", import.meta.url));
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
  const path = rows.map((row, frame) => ({ frame, u: mean(row, 2), v: -mean(row, 1), body }));
  const got = await lookThrough(path.length, async (frame) => path[frame], () => {});
  const about = (middle, better) => path.slice(Math.max(0, middle - 40), middle + 40).reduce((best, place) => (better(place, best) ? place : best)).frame;
  const top = about(got.top, (a, b) => a.v < b.v);
  const low = about(got.impact, (a, b) => a.v > b.v);
  check(near(got.top, top, 6) && near(got.impact, low, 6) && got.address < got.top - 40 && got.finish > got.impact + 20,
    `measured swing ${n}: address ${got.address}, top ${got.top} (highest hands ${top}), lowest hands ${got.impact} (${low}), finish ${got.finish}`);
}
finish("moments");
