// How far the points that the pose library finds are from the true ones, on drawn players whose joints are known, and whether the errors
// told with them hold: through the real page, which alone knows how the library is asked.
import { execFile } from "node:child_process";
import { existsSync, mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { promisify } from "node:util";

import { browser, check, club, finish, open, quiet, signIn, skip, tablet } from "./support.mjs";

const library = process.env.LEADSIDE_POSE ?? fileURLToPath(new URL("../../deploy/pose/node_modules/@mediapipe/pose", import.meta.url));
const SCENES = Number(process.env.LEADSIDE_SCENES ?? 4); // ten pictures each; docs/finder.md tells of 24
const HELD = [0.93, 0.99]; // of the places lie within 1.96 of the error told, by axis; 0.95 if it were the error itself
const WRONG = 0.04; // of them may lie beyond 2.58 of it
const NEAR = 0.03; // of the body's height: half of the points are nearer

if (!existsSync(library)) {
  skip("the pose library is not installed (deploy/fetch-pose)");
  finish("joints");
}

const folder = mkdtempSync(join(tmpdir(), "leadside-joints-"));
const drawn = promisify(execFile)("/usr/bin/python3", [fileURLToPath(new URL("../films/stills.py", import.meta.url)), folder, String(SCENES)]);
const house = await club(["--pose", library]);
const chromium = await browser({ args: ["--use-gl=angle", "--use-angle=swiftshader", "--enable-unsafe-swiftshader"] });
const page = await open(chromium, house.origin, { size: tablet });
await signIn(page, house.origin, "coach1", house.password);
await page.waitForSelector(".names a");
await drawn;

const rows = [];
for (const still of JSON.parse(readFileSync(join(folder, "stills.json"), "utf8"))) {
  const found = await page.evaluate(async ([base64, { view: kind, hand, width, height, points, checkpoint }]) => {
    const { landmarks, suggest } = await import("/bay/reading/pose.js");
    const bytes = Uint8Array.from(atob(base64), (letter) => letter.charCodeAt(0));
    const marks = await landmarks(await createImageBitmap(new Blob([bytes], { type: "image/png" })));
    return marks ? suggest(marks, { kind, points: Object.keys(points), hand, width, height, checkpoint }) : {};
  }, [readFileSync(join(folder, still.file)).toString("base64"), still]);
  for (const [point, { u, v, sd }] of Object.entries(found)) {
    const off = [u - still.points[point][0], v - still.points[point][1]];
    rows.push({ view: still.view, checkpoint: still.checkpoint, joint: point.replace(/^(lead|trail)_/, ""), share: Math.hypot(...off) / still.body_px, z: off.map((px) => Math.abs(px) / sd) });
  }
}
const within = (list, most) => list.flatMap(({ z }) => z).filter((z) => z <= most).length / (2 * list.length);
const percent = (share) => `${(100 * share).toFixed(1)} %`;
const median = (list) => list.map(({ share }) => share).sort((a, b) => a - b)[list.length >> 1];
const told = (list) => `${list.length} points, half within ${percent(median(list))} of the body's height, errors hold ${percent(within(list, 1.96))}`;
for (const key of ["view", "joint", "checkpoint"]) {
  for (const name of new Set(rows.map((row) => row[key]))) console.log(`${name}: ${told(rows.filter((row) => row[key] === name))}`);
}
check(rows.length > 100 * SCENES && median(rows) < NEAR, told(rows));
check(within(rows, 1.96) >= HELD[0] && within(rows, 1.96) <= HELD[1] && 1 - within(rows, 2.58) <= WRONG,
  `${percent(within(rows, 1.96))} lie within 1.96 of their stated error by axis, ${percent(within(rows, 2.58))} within 2.58`);
quiet(page, "the bay");

await chromium.close();
await house.end();
rmSync(folder, { recursive: true, force: true });
finish("joints");
