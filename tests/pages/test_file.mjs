// A student's file at the desk: the team, a hand-over, a note, what is known, swings set right, the record out, away and erased.
// By mouse, by keys and on a phone.
import { readFileSync } from "node:fs";

import { accessible, browser, check, club, finish, keep, open, phone, quiet, settled, signIn, targets } from "./support.mjs";
import { en } from "./words.mjs";

const house = await club();
const head = await house.token("head");
const { accounts } = (await house.call("GET", "/v1/accounts?limit=200", head)).data;
const [first, second] = accounts.filter((account) => account.role === "coach");
const { students } = (await house.call("GET", "/v1/overview?limit=200", head)).data;
const student = students.find((row) => row.last_swing && row.team.length === 1 && row.team[0] === first.id && !row.comes_of_age);
const other = students.find((row) => row.student_id !== student.student_id && row.last_swing && row.team.length === 1);
const path = `/v1/students/${student.student_id}`;
const known = async () => (await house.call("GET", path, head)).data;

const chromium = await browser();
const page = await open(chromium, house.origin, { size: { width: 1440, height: 900 } });
await signIn(page, house.origin, "head", house.password);
await page.waitForSelector(".looks a");
await page.goto(`${house.origin}/desk.html#story/${student.student_id}`);
await page.waitForSelector(".story li");
await page.waitForSelector(".consent");
await settled(page);
await accessible(page, "student's file");
await targets(page, "student's file");
await keep(page, "file");
const side = page.locator(".file .side");
check((await side.boundingBox()).x > 700, "on a wide screen what is to be done stands beside what happened");

// The team.
await side.locator("[name=coach]").selectOption(second.id);
await side.locator("[data-key=team-add]").press("Enter");
await page.waitForFunction((name) => document.querySelector(".team ul").textContent.includes(name), second.name);
check((await known()).team.includes(second.id), "a coach is put on the team");
await page.getByRole("button", { name: en["desk.team.offOf"].replace("{name}", first.name) }).click();
check(await page.locator("dialog.ask").isVisible() && (await known()).team.includes(first.id), "nobody is taken off before it is meant");
await accessible(page, "a question before taking somebody off");
await page.keyboard.press("Escape");
await page.waitForFunction(() => !document.querySelector("dialog"));
check((await known()).team.includes(first.id), "Escape takes nobody off");
await page.getByRole("button", { name: en["desk.team.offOf"].replace("{name}", first.name) }).click();
await page.locator("[data-key=ask-sure]").click();
await page.locator("#undo").waitFor();
check(!(await known()).team.includes(first.id), "then a coach is taken off");
await page.locator("[data-key=undo]").click();
await page.waitForFunction((name) => document.querySelector(".team ul").textContent.includes(name), first.name);
check((await known()).team.includes(first.id), "and is back by undo");

// A hand-over: offered, and answered by the head.
await side.locator(".team summary").click();
await side.locator("[name=to]").selectOption(first.id);
await side.locator("[name=note]").fill("Keep the ball position; she asks about the short game.");
await side.locator("[data-key=hand]").click();
await page.waitForSelector("[data-key=accept]");
check((await page.textContent(".team")).includes("Keep the ball position"), "a hand-over waits with its note");
await page.locator("[data-key=decline]").click();
await page.waitForFunction(() => !document.querySelector("[data-key=accept]"));
check((await house.call("GET", `${path}/handovers`, head)).data.handovers[0].status === "declined", "and the head answers it");

// A note, and what is known.
await side.locator(".note textarea").fill("Called: back next week.");
await side.locator(".note input").first().check();
await side.locator("[data-key=note]").click();
await page.waitForFunction(() => document.querySelector(".story").textContent.includes("back next week"));
const note = (await house.call("GET", `${path}/notes`, head)).data.notes[0];
check(note.readers.join() === "student", "a note is written, and for whom");
await side.locator(".change summary").click();
await side.locator(".change [name=height_m]").fill("1.74");
await side.locator(".change [name=wants]").fill("To play with the grandchildren.");
await side.locator("[data-key=change]").click();
await page.waitForFunction(() => document.querySelector(".facts").textContent.includes("grandchildren"));
check((await known()).height_m === 1.74, "what is known is changed");

// What the student says is read here, flagged where it hurts.
const account = accounts.find((one) => one.student_id === student.student_id);
const work = (await house.call("GET", `${path}/homework`, head)).data.homework[0];
if (account && work) {
  await house.call("POST", `/v1/homework/${work.id}/done`, await house.token(account.sign_in), { comment: "my back hurts", pain: { area: "low back", level: 2 } });
  await page.reload();
  await page.waitForSelector(".story li.hurt");
  check((await page.textContent(".story li.hurt")).includes("my back hurts"), "a comment with pain stands out in what happened");
}

// A planned look is moved, with the reason.
for (const fix of (await house.call("GET", `${path}/fixes?status=open`, head)).data.fixes) {
  await house.call("PATCH", `/v1/fixes/${fix.id}`, head, { status: "closed", reason: "done" }, { "If-Match": "*" });
}
await house.call("POST", `${path}/fixes`, head, { fault: "hurried_tempo", reason: "seen on the tee", overrule: "for the test" });
await page.reload();
const planned = (await house.call("GET", `${path}/retests`, head)).data.retests.find((retest) => !retest.ended_at);
check(Boolean(planned), "the student's fix is to be looked at again");
const ahead = new Date(Date.now() + 9 * 86400000).toISOString().slice(0, 10);
const look = page.locator(`[data-retest="${planned.id}"]`);
await look.locator("summary").click();
await look.locator("[name=due_at]").fill(ahead);
await look.locator("[name=reason]").fill("away until then");
await look.locator("[data-key=retest]").press("Enter");
await page.waitForFunction(() => document.querySelector(".retests").textContent.includes("away until then"));
const after = (await house.call("GET", `${path}/retests`, head)).data.retests.find((retest) => retest.id === planned.id);
check(after.due_at.startsWith(ahead) && after.moved_reason === "away until then", "a look is moved at the desk, and why is told");

// A fix that has ended is opened again; what speaks against it asks why all the same.
await house.call("POST", `${path}/fixes`, head, { fault: "chicken_wing", reason: "seen on the tee", overrule: "for the test" });
const closing = (await house.call("GET", `${path}/fixes?status=open`, head)).data.fixes.find((fix) => fix.fault === "chicken_wing");
await house.call("PATCH", `/v1/fixes/${closing.id}`, head, { status: "closed", reason: "done" }, { "If-Match": "*" });
const stands = async () => (await house.call("GET", `${path}/fixes`, head)).data.fixes.find((fix) => fix.id === closing.id);
await page.reload();
const reopen = page.locator(`[data-fix="${closing.id}"]`);
await reopen.locator("[data-key=reopen]").click();
await reopen.locator("[data-key=notNow]").click();
check(await reopen.locator("[data-key=reopen]").evaluate((button) => button === document.activeElement), "not now, and the focus is where it was");
await reopen.locator("[data-key=reopen]").press("Enter");
await reopen.locator("[name=reason]").fill("it is back");
await reopen.locator("[data-key=reopen-sure]").press("Enter");
await reopen.locator(".against li").first().waitFor();
check((await stands()).status === "closed" && (await reopen.locator(".against input").evaluate((input) => input === document.activeElement)), "what speaks against opening a fix again is shown, and why all the same is asked");
await accessible(page, "a fix that is to be opened again");
await keep(page, "file-reopen");
await reopen.locator(".against input").fill("both hurry");
await reopen.locator("[data-key=reopen-sure]").press("Enter");
await reopen.waitFor({ state: "detached" });
const nowOpen = await stands();
check(nowOpen.status === "open" && nowOpen.overrule === "both hurry" && nowOpen.history.at(-1).reason === "it is back", "a fix that had ended is open again, with both reasons");
await page.waitForFunction(() => document.activeElement?.closest("[data-part=story]"));
check((await page.locator("[data-key=reopen]").count()) === new Set((await house.call("GET", `${path}/fixes?limit=200`, head)).data.fixes.map(({ fault }) => fault)).size - 2, "a fault that is being worked on is not offered again");

// Swings: one is not counted, and by undo it is; one is given to whose it is.
await page.waitForSelector(".swings li");
const swing = page.locator(".swings li").first();
await swing.locator("summary").click();
await swing.locator("[name=reason]").first().fill("topped on purpose");
await swing.locator("[data-key=aside]").click();
await page.waitForSelector(".swings .aside");
check((await page.textContent(".swings .aside")).includes("topped on purpose"), "a swing is set aside with its reason");
await page.locator("[data-key=undo]").click();
await page.waitForFunction(() => !document.querySelector(".swings .aside"));
check((await house.call("GET", `${path}/swings?limit=1`, head)).data.swings[0].voided === null, "and counts again by undo");
const moved = (await house.call("GET", `${path}/swings?limit=1`, head)).data.swings[0];
await swing.locator("summary").click();
await swing.locator("input[type=search]").fill(other.name.slice(0, 5));
await swing.locator(`.picks input[value="${other.student_id}"]`).check();
await swing.locator("[name=reason]").last().fill("hit by somebody else");
await swing.locator("[data-key=move]").click();
await page.waitForFunction((text) => document.querySelector("#said")?.textContent === text, en["desk.swing.moved"]);
check((await house.call("GET", `/v1/swings/${moved.id}`, head)).data.student_id === other.student_id, "a swing goes to whose it is");

// The record: out, away and back, erased only by its name.
const [download] = await Promise.all([page.waitForEvent("download"), page.locator("[data-key=export]").click()]);
const file = JSON.parse(readFileSync(await download.path(), "utf8"));
check(JSON.stringify(file).includes(student.name) && download.suggestedFilename() === `${student.name}.json`, "everything is saved as a file");
await page.locator("[data-key=archive]").click();
await page.waitForFunction((text) => document.querySelector("[data-key=archive]")?.textContent === text, en["desk.record.unarchive"]);
check((await known()).archived !== null, "into the archive");
await page.locator("[data-key=undo]").click();
await page.waitForFunction((text) => document.querySelector("[data-key=archive]")?.textContent === text, en["desk.record.archive"]);
check((await known()).archived === null, "and out again");
await page.locator("[data-key=erase]").click();
check(await page.locator("[data-key=ask-sure]").isDisabled(), "nobody is erased by one click");
await page.locator("dialog input").fill(student.name);
await accessible(page, "a question before erasing");
await keep(page, "file-erase");
await page.locator("[data-key=ask-sure]").press("Enter");
await page.waitForSelector("tbody tr");
check((await house.call("GET", path, head)).status === 404 && !(await page.textContent("tbody")).includes(student.name), "by the name written out a student is erased");

// On a phone.
await page.setViewportSize(phone);
await page.goto(`${house.origin}/desk.html#story/${other.student_id}/team`);
await page.waitForSelector(".team h3");
await page.waitForFunction(() => document.activeElement?.closest("[data-part]")?.dataset.part === "team");
check((await page.locator(".team h3").boundingBox()).y < phone.height, "an address of a part opens there");
await accessible(page, "student's file on a phone");
await targets(page, "student's file on a phone");
await keep(page, "file-phone");
check((await page.evaluate(() => document.documentElement.scrollWidth - innerWidth)) <= 0, "nothing lies beyond a phone's edge");
quiet(page, "desk");

await chromium.close();
await house.end();
finish("pages_file");
