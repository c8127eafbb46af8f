// The head's desk: 500 students in one table and fast filters, a story, accounts, tablets, drills, the standard.
import { accessible, browser, check, club, finish, keep, open, quiet, signIn, targets } from "./support.mjs";

const STUDENTS = 500;
const FILTER_MS = 200;

const house = await club();
const token = await house.token("head");
let made = (await house.call("GET", "/v1/students?limit=200", token)).data.students.length;
while (made < STUDENTS) {
  const answer = await house.call("POST", "/v1/students", token, { name: `Invented Student ${made}`, hand: made % 2 ? "left" : "right" });
  if (answer.status === 201) made++;
  else await new Promise((resolve) => setTimeout(resolve, 1000 * Number(answer.status === 429)));
}

const chromium = await browser();
const page = await open(chromium, house.origin);
await signIn(page, house.origin, "head", house.password);
await page.waitForSelector("tbody tr");
check((await page.locator("tbody tr").count()) === STUDENTS, `${STUDENTS} students stand in one table`);
await accessible(page, "desk students");
await targets(page, "desk students");

const tell = async (act) => page.evaluate(async (text) => {
  const [selector, value] = text;
  const control = document.querySelector(selector);
  const begun = performance.now();
  control.value = value;
  control.dispatchEvent(new Event("input", { bubbles: true }));
  document.querySelector("tbody").getBoundingClientRect(); // the layout belongs to it
  return performance.now() - begun;
}, act);
const filters = { name: ["input[type=search]", "invented student 4"], nothing: ["input[type=search]", ""] };
for (const [name, act] of Object.entries(filters)) {
  const times = [];
  for (let i = 0; i < 9; i++) times.push(await tell(act));
  const best = Math.min(...times); // what else the machine does meanwhile is not the page's
  check(best < FILTER_MS, `a filter by ${name} takes ${best.toFixed(0)} ms of ${FILTER_MS}`);
}
const selects = await page.locator(".filters select").count();
check(selects === 3, "coach, fix and who needs a look can be chosen");
await page.locator(".filters select").nth(2).selectOption("forgotten");
const forgotten = await page.locator("tbody tr").count();
check(forgotten > 0 && forgotten < STUDENTS, `${forgotten} forgotten students`);
await page.locator(".filters select").nth(2).selectOption("");
await page.locator("th button").nth(3).click();
check((await page.locator("th").nth(3).getAttribute("aria-sort")) === "ascending", "a column is sorted by its heading");
await page.fill("input[type=search]", "a");
await keep(page, "desk-students");

await page.locator("tbody a").first().click();
await page.waitForSelector(".story, ol");
await accessible(page, "desk story");
await keep(page, "desk-story");

for (const room of ["accounts", "devices", "drills", "standard", "audit"]) {
  await page.goto(`${house.origin}/desk.html#${room}`);
  await page.waitForSelector("#room h2");
  await page.waitForFunction((name) => document.querySelector(`#rooms [aria-current]`)?.hash === `#${name}`, room);
  await page.waitForTimeout(200);
  await accessible(page, `desk ${room}`);
  await targets(page, `desk ${room}`);
  await keep(page, `desk-${room}`);
}

// A range is changed, tried on the club's swings, and kept as the next version.
await page.goto(`${house.origin}/desk.html#standard`);
await page.waitForFunction(() => document.querySelector("#room h2")?.textContent === "House standard");
const limit = page.getByLabel("Shaft above level, top, fine from");
check((await limit.inputValue()) === "-8", "the ranges that count are shown");
await limit.fill("-20");
await limit.press("Tab");
await page.locator("#room button", { hasText: "Try it" }).click();
await page.waitForSelector("#room caption");
check((await page.locator("#room table").last().locator("tbody tr").count()) >= 1, "a trial says what would change");
await page.getByLabel("Name of this version").fill("ours-2");
await page.locator("#room button.main").click();
await page.waitForFunction(() => document.querySelector("#room").textContent.includes("Version 2 is in use"));
check((await house.call("GET", "/v1/standard", token)).data.standard.ranges.some((rule) => rule.ok_low === -20), "and the new standard counts");

await page.goto(`${house.origin}/desk.html#devices`);
await page.waitForFunction(() => document.querySelector("#room h2")?.textContent === "Tablets");
await page.fill("#room input", "Bay 3");
await page.click("#room form button");
await page.waitForFunction(() => localStorage.getItem("leadside.device"));
check(true, "the tablet in hand is enrolled");

await page.goto(`${house.origin}/desk.html#accounts`);
await page.waitForFunction(() => document.querySelector("#room h2")?.textContent === "Accounts");
await page.locator("#room form input").first().fill("Teasel Brook");
await page.locator("#room form input").nth(1).fill("teasel");
await page.click("#room form button.main");
await page.waitForSelector("code");
check((await page.textContent("code")).length >= 8, "a new coach's first password is shown once");
quiet(page, "desk");

await chromium.close();
await house.end();
finish("pages_desk");
