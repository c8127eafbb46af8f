// What the pages weigh, what the worker keeps, how soon something shows, and the main job by keyboard alone.
import { existsSync, readFileSync, readdirSync } from "node:fs";
import { join, relative } from "node:path";
import { fileURLToPath } from "node:url";
import { gzipSync } from "node:zlib";

import { browser, build, check, club, finish, open, phone, quiet, settled, signIn, tablet } from "./support.mjs";

const LIMIT = 150 * 1024;
const root = fileURLToPath(new URL("../../server/pages/", import.meta.url));

const files = (folder) => readdirSync(folder, { withFileTypes: true }).flatMap((entry) =>
  entry.isDirectory() ? files(join(folder, entry.name)) : [join(folder, entry.name)]);
const names = [...[root, join(build, "joined")].flatMap((folder) => files(folder).map((path) => `/${relative(folder, path)}`)), "/"];
const shell = [.../const SHELL = \[[^\]]*\]/.exec(readFileSync(join(build, "joined/worker.js"), "utf8"))[0].matchAll(/"(\/[\w./-]+)"/g)].map((match) => match[1]);
for (const name of shell) {
  if (!names.includes(name)) check(false, `the worker keeps ${name}, which is not there`);
}
const needed = names.filter((name) => /^\/(bay|lib|words)\//.test(name) && name !== "/bay/reading/pose.js");
const missing = needed.filter((name) => !shell.includes(name));
check(missing.length === 0, `the worker keeps all that the bay needs${missing.length ? ` -- not ${missing.join(", ")}` : ""}`);

const house = await club();
const chromium = await browser();
for (const [who, place, size] of [["coach1", "bay", tablet], ["student05", "home", phone], ["head", "desk", tablet]]) {
  const page = await open(chromium, house.origin, { size, workers: "block" }); // all of a first visit
  await signIn(page, house.origin, who, house.password);
  await page.waitForURL(`**/${place}.html`);
  const got = new Set();
  page.on("response", (response) => {
    const { pathname } = new URL(response.url());
    if (names.includes(pathname) && !response.fromServiceWorker()) got.add(pathname);
  });
  const client = await page.context().newCDPSession(page);
  await client.send("Emulation.setCPUThrottlingRate", { rate: 4 });
  await page.reload();
  await settled(page);
  const weight = [...got].reduce((sum, name) => sum + gzipSync(readFileSync([root, join(build, "joined")].map((folder) => join(folder, name)).find(existsSync))).length, 0);
  check(weight > 1000 && weight <= LIMIT, `${place}: ${(weight / 1024).toFixed(0)} KiB compressed of ${LIMIT / 1024}`);
  const paint = await page.evaluate(() => performance.getEntriesByName("first-contentful-paint")[0]?.startTime ?? null);
  check(paint !== null, `${place}: something shows after ${Math.round(paint)} ms on a processor slowed four times`);
  quiet(page, place);
  await page.context().close();
}

// By keyboard alone: in, to a student, a new swing; and the homework ticked off.
const page = await open(chromium, house.origin, { size: tablet });
await page.goto(house.origin);
await page.waitForFunction(() => document.activeElement?.id === "name");
await page.keyboard.type("student05");
await page.keyboard.press("Tab");
await page.keyboard.type(house.password);
await page.keyboard.press("Enter");
await page.waitForURL("**/home.html");
await page.waitForSelector("[data-done] >> visible=true");
const before = await page.locator(".ticks").first().textContent();
for (let i = 0; i < 40; i++) {
  await page.keyboard.press("Tab");
  if (await page.evaluate(() => document.activeElement?.matches("[data-done]"))) break;
}
check(await page.evaluate(() => document.activeElement.matches("[data-done]:focus-visible")), "the tick is reached by keyboard, and one sees where one is");
await page.keyboard.press("Enter");
for (let i = 0; i < 9; i++) await page.keyboard.press("Tab");
await page.keyboard.press("Enter");
await page.waitForFunction((old) => document.querySelector(".ticks").textContent !== old, before);
check(true, "homework is ticked off by keyboard alone");
await page.context().close();

const coach = await open(chromium, house.origin, { size: tablet });
await signIn(coach, house.origin, "coach1", house.password);
await coach.waitForSelector(".names a");
const reach = async (selector) => {
  for (let i = 0; i < 80; i++) {
    await coach.keyboard.press("Tab");
    if (await coach.evaluate((wanted) => document.activeElement?.matches(wanted), selector)) return true;
  }
  return false;
};
check(await reach(".names a"), "a student is reached by keyboard");
await coach.keyboard.press("Enter");
await coach.waitForSelector("button.main");
check(await reach("button.main"), "a new swing is reached by keyboard");
await coach.keyboard.press("Enter");
await coach.waitForSelector(".view");
check((await coach.evaluate(() => location.hash)).startsWith("#swing/"), "and begun by keyboard");
await coach.emulateMedia({ reducedMotion: "reduce" });
check(await coach.evaluate(() => getComputedStyle(document.querySelector("#said") ?? document.body).transitionDuration === "0s"), "nothing moves for who asked for stillness");
await coach.evaluate(() => { document.documentElement.dir = "rtl"; });
check(await coach.evaluate(() => document.documentElement.scrollWidth <= window.innerWidth + 1), "written from right to left nothing sticks out");
quiet(coach, "bay by keyboard");

await chromium.close();
await house.end();
finish("pages_weight");
