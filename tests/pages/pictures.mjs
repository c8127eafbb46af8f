// The README's pictures, made anew from the invented club: node tests/pages/pictures.mjs BUILD. Four of them, none above 60 KB, into
// docs/pictures: the bay with a film it has read (a drawn one), a report, the student's sheet, the desk. Needs the pose library and ffmpeg.
import { execFileSync } from "node:child_process";
import { mkdirSync, readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { fileURLToPath } from "node:url";

import { browser, build, check, club, finish, open, phone, settled, signIn, tablet } from "./support.mjs";
import { en } from "./words.mjs";

const LARGEST = 60 * 1024;
const local = (path) => fileURLToPath(new URL(path, import.meta.url));
const into = local("../../docs/pictures");
mkdirSync(into, { recursive: true });

/** Keeps what the window shows as NAME.webp, as good as fits. */
async function picture(page, name) {
  await settled(page);
  const session = await page.context().newCDPSession(page);
  let bytes;
  for (let quality = 90; quality >= 30 && !(bytes?.length <= LARGEST); quality -= 10) {
    bytes = Buffer.from((await session.send("Page.captureScreenshot", { format: "webp", quality })).data, "base64");
  }
  check(bytes.length <= LARGEST, `${name} is ${(bytes.length / 1024).toFixed(0)} KB of 60`);
  writeFileSync(join(into, `${name}.webp`), bytes);
}

const films = join(build, "films", "pictures");
mkdirSync(films, { recursive: true });
const film = join(films, "behind.mp4");
execFileSync("/usr/bin/python3", [local("../films/render.py"), "--seed", "9", "--view", "down_the_line", "--club", "7 iron", "--fault", "inside_takeaway", "--severity", "0.9", "--size", "540x960",
  "--fps", "60", "--film", film, "--out", films], { stdio: "inherit" });
const { truth } = JSON.parse(readFileSync(join(films, "truth.json"), "utf8"));

const house = await club(["--no-throttle", "--pose", local("../../deploy/pose/node_modules/@mediapipe/pose")]);
const chromium = await browser({ args: ["--use-gl=angle", "--use-angle=swiftshader", "--enable-unsafe-swiftshader"] });
const coach = await house.token("coach1");
const { students } = (await house.call("GET", "/v1/students?limit=200", coach)).data;

const bay = await open(chromium, house.origin, { size: tablet, touch: true });
await signIn(bay, house.origin, "coach1", house.password);
await bay.waitForSelector(".names a");
await bay.locator(".names a", { hasText: students.find(({ hand, junior, archived }) => hand === "right" && !junior && !archived).name }).first().tap();
await bay.locator("button", { hasText: en["bay.newSwing"] }).tap();
await bay.waitForSelector(".bench [data-key=choose]");
await bay.evaluate(() => window.addEventListener("leadside-read", ({ detail }) => { window.read ??= detail.outcome; }));
await bay.setInputFiles("input[type=file]", film);
await bay.waitForFunction(() => window.read, null, { timeout: 600000 });
await bay.waitForSelector(".contact .tiles");
await picture(bay, "bay");

// What was not found is marked where it was drawn; what the tablet still asks about is sent as it is.
await bay.evaluate(async ({ points, sticks }) => {
  const { findDraft, keepDraft } = await import("/bay/draft.js");
  const draft = await findDraft(location.hash.split("/")[1]);
  const view = draft.views.down_the_line;
  view.sticks = sticks.map((ends) => ends.map(([u, v]) => ({ u, v })));
  for (const { picture, points: found } of Object.values(view.frames)) {
    for (const [id, at] of Object.entries(points)) if (at[picture]) found[id] = { u: at[picture][0], v: at[picture][1] };
  }
  await keepDraft(draft);
}, truth);
await bay.reload();
await bay.waitForSelector(".bench .strip, .contact .tiles");
if (await bay.locator(".contact .tiles").count()) await bay.locator(".foot .next button").tap();
await bay.locator("[data-key=send]").tap();
for (let n = 0; n < 3 && !(await bay.evaluate(() => location.hash.startsWith("#report/"))); n++) {
  await bay.waitForFunction(() => location.hash.startsWith("#report/") || document.querySelector(".suspect"), null, { timeout: 60000 });
  if (await bay.locator(".suspect").count()) await bay.locator("[data-key=send]").tap();
}
await bay.waitForSelector("#room h2");
await bay.waitForTimeout(12000); // what the reading said is gone
await picture(bay, "report");

const home = await open(chromium, house.origin, { size: phone, touch: true });
await signIn(home, house.origin, "student05", house.password);
await home.waitForSelector("main h2");
await home.locator("button", { hasText: en["home.care.read"] }).first().tap();
await picture(home, "sheet");

const desk = await open(chromium, house.origin, { size: { width: 1280, height: 800 } });
await signIn(desk, house.origin, "head", house.password);
await desk.locator("a[href='#students']").first().click();
await desk.waitForSelector("tbody tr");
await picture(desk, "desk");

await chromium.close();
await house.end();
finish("pictures");
