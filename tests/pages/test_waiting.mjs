// Without a network the tablet makes the report itself, by the rules it saw last, and says so; the server's takes its place, and
// says the same. Where there are no rules yet the swing only waits.
import { accessible, browser, build, check, club, finish, keep, open, quiet, signIn, skip, targets } from "./support.mjs";
import { existsSync } from "node:fs";
import { join } from "node:path";
import { de, en } from "./words.mjs";

if (!existsSync(join(build, "joined/core.wasm"))) {
  skip("core.wasm: no Debian clang for WebAssembly when this was built");
  finish("pages_waiting");
}

const house = await club(["--no-throttle"]);
const chromium = await browser();
const page = await open(chromium, house.origin, { touch: true });
const context = page.context();
const token = await house.token("coach1");
const students = (await house.call("GET", "/v1/students?limit=200", token)).data.students.filter((item) => !item.junior && !item.archived);
const findings = [];
for (const { id } of students) {
  for (const swing of (await house.call("GET", `/v1/students/${id}/swings?limit=200`, token)).data.swings.filter(({ media_type: type }) => type === "application/json")) {
    const report = (await house.call("GET", `/v1/swings/${swing.id}/report`, token)).data;
    if (report.first_fixes.length && report.swings === 1) findings.push({ id: swing.id, of: report.first_fixes[0].fault });
  }
}
const document = (await house.call("GET", `/v1/swings/${findings[0].id}`, token)).data.document;
// Somebody of whom no swing is known: the server has no spread of his own to go by.
const made = await house.call("POST", "/v1/students", token, { name: "Wren Tallow", hand: document.hand, sex: "female", birth_year: 1990, pain: ["low back"] });
const student = made.data;
check(made.status === 201, "a student without swings");

await signIn(page, house.origin, "coach1", house.password);
await page.waitForSelector(".names a");
await page.evaluate(() => navigator.serviceWorker.ready);
await page.reload();
await page.waitForSelector(".names a");
const rules = () => page.evaluate(async () => (await (await import("/lib/storage.js")).takeList("rules"))?.drills.length ?? 0);
for (let i = 0; i < 100 && !(await rules()); i++) await page.waitForTimeout(100);
check((await rules()) > 0, "the rules last seen lie on the tablet");

/** A draft with the marks of a document, as the swing's room keeps it, without stills. */
const draftOf = () => page.evaluate(async ([document, student]) => {
  const { keepDraft, newDraft, viewOf } = await import("/bay/draft.js");
  const draft = newDraft(student);
  draft.club = document.club;
  for (const { view: kind, fps, image, camera, frames, sticks, target } of document.views) {
    const view = viewOf(draft, kind);
    Object.assign(view, { read: true, rate: fps, fps, ...image, hfov: camera.hfov_deg });
    const end = ([u, v]) => ({ u, v });
    if (sticks) view.sticks = sticks.map((stick) => stick.map(end));
    if (target) view.target = end(target);
    for (const { checkpoint, time_s: time, points } of frames) {
      view.frames[checkpoint] = { picture: Math.round((time + 1) * fps), points: Object.fromEntries(Object.entries(points).map(([name, place]) => [name, end(place)])), sure: true };
    }
  }
  await keepDraft(draft);
  return draft.id;
}, [document, student]);

const send = async () => {
  const id = await draftOf();
  await page.goto(`${house.origin}/bay.html#swing/${id}`);
  await page.locator("button", { hasText: en["bay.send"] }).tap();
  return id;
};
const hash = () => page.evaluate(() => location.hash);
const lead = () => page.textContent(".lead");
const cards = () => page.$$eval(".card[data-fault]", (nodes) => nodes.map((node) => node.dataset.fault));
const table = () => page.$$eval("details.numbers tbody tr", (rows) => rows.map((row) => row.innerText));

await page.goto(`${house.origin}/bay.html#students`);
await page.waitForSelector(".names a");
await context.setOffline(true);
await house.stop("SIGKILL");
const id = await send();
await page.waitForSelector(".lead", { timeout: 15000 });
check((await hash()) === `#waiting/${id}`, "without a network the report is there as soon as the swing is sent");
check((await page.textContent("#room [role=status]")) === en["report.provisional"], "it says whose it is");
const before = { lead: await lead(), cards: await cards(), table: await table() };
check(before.cards.length > 0 && before.table.length > 3, `it holds ${before.cards.join(", ")} and ${before.table.length} measures`);
check((await page.$$("[data-key=give]")).length === 0, "nothing can be given from it yet");
await accessible(page, "a report of the tablet's own");
await targets(page, "a report of the tablet's own");
await keep(page, "bay-waiting");

await page.reload();
await page.waitForSelector(".lead");
check((await lead()) === before.lead, "it is there again when the page is opened anew, still without a network");
await page.evaluate(() => { location.hash = "#outbox"; });
await page.locator(`a[href="#waiting/${id}"]`).tap();
await page.waitForSelector(".lead");
check(true, "and from the outbox");

// A lesson: what waits of a student is judged together as well.
await send();
await page.waitForSelector(".lead");
await send();
await page.waitForSelector(".lead");
await page.evaluate((hash) => { location.hash = hash; }, `#student/${student.id}`);
await page.locator(`a[href="#together/${student.id}"]`, { hasText: en["student.judge"].other.replace("{n}", "3") }).tap();
await page.waitForFunction(() => location.hash.startsWith("#together/") && document.querySelector(".lead"));
const lesson = { lead: await lead(), cards: await cards(), table: await table() };
check((await page.textContent("#room [role=status]")) === en["report.provisional"] && (await page.textContent("#room")).includes("3 swings"), `three swings, one report without a network: ${lesson.lead}`);
await accessible(page, "a lesson's report of the tablet's own");
await targets(page, "a lesson's report of the tablet's own");
await keep(page, "bay-waiting-lesson");
await page.evaluate((hash) => { location.hash = hash; }, `#waiting/${id}`);
await page.waitForFunction((hash) => location.hash === hash && document.querySelector(".lead"), `#waiting/${id}`);

await page.evaluate(() => localStorage.setItem("leadside.language", "de"));
await page.reload();
await page.waitForSelector(".lead");
check((await page.textContent("#room [role=status]")) === de["report.provisional"], "in German too");
await page.evaluate(() => localStorage.setItem("leadside.language", "en"));
await page.reload();
await page.waitForSelector(".lead");

await context.setOffline(false);
await house.start();
await page.evaluate(() => window.dispatchEvent(new Event("online")));
await page.waitForFunction(() => location.hash.startsWith("#report/"), null, { timeout: 30000 });
await page.waitForSelector("details.numbers", { state: "attached" });
const after = { lead: await lead(), cards: await cards(), table: await table() };
check(JSON.stringify(after) === JSON.stringify(before), `the server's report takes its place and says the same: ${after.lead}`);
check((await page.$$("[data-key=give]")).length > 0, "now the fix can be given");

// The server's lesson of the three says what the tablet's did.
for (let i = 0; i < 100 && (await page.evaluate(async () => (await (await import("/bay/outbox.js")).outbox()).length)); i++) await page.waitForTimeout(100);
await page.evaluate((hash) => { location.hash = hash; }, `#student/${student.id}`);
await page.locator("[data-key=judge]", { hasText: "3" }).tap();
await page.waitForFunction(() => location.hash.startsWith("#lesson/") && document.querySelector(".lead"), null, { timeout: 30000 });
await page.waitForSelector("details.numbers", { state: "attached" });
const judged = { lead: await lead(), cards: await cards(), table: await table() };
check(JSON.stringify(judged) === JSON.stringify(lesson), `and so does its lesson's: ${judged.lead}`);

// Rules that were never seen: the swing waits, as it did.
await page.evaluate(async () => (await import("/lib/storage.js")).dropAll([["lists", "rules"]]));
await context.setOffline(true);
await house.stop("SIGKILL");
await send();
await page.waitForFunction((hash) => location.hash === hash, `#student/${student.id}`, { timeout: 15000 });
check(true, "without rules the student's room says that the swing waits");
page.complaints = page.complaints.filter((text) => !text.includes("net::ERR_"));
quiet(page, "the bay");

await chromium.close();
await house.start();
await house.end();
finish("pages_waiting");
