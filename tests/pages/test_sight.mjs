// What every page keeps on every size of window: nothing moves after it was first seen, nothing lies beyond the edge, and the next
// action is in sight without scrolling. And the head's week and the family's week by keys alone.
import { accessible, browser, check, club, finish, open, phone, quiet, signIn, tablet, targets } from "./support.mjs";

const SIZES = { desktop: { width: 1440, height: 900 }, tablet, upright: { width: 820, height: 1180 }, phone };
const house = await club();
const head = await house.token("head");
const { students } = (await house.call("GET", "/v1/overview?limit=200", head)).data;
const worked = students.find((row) => row.last_swing && row.faults.length && !row.comes_of_age);
const chromium = await browser();

/** Counts what moves by itself from the first picture on. */
const watch = (page) => page.addInitScript(() => {
  window.moved = [];
  new PerformanceObserver((list) => {
    for (const { value, hadRecentInput, sources } of list.getEntries()) {
      if (!hadRecentInput) window.moved.push(`${value.toFixed(4)} ${sources.map(({ node }) => node?.id || node?.className || node?.nodeName).join("+")}`);
    }
  }).observe({ type: "layout-shift", buffered: true });
});

/** Opens an address anew and looks once it is quiet; next: one of these is what to do. */
async function look(page, name, address, next) {
  await page.goto("about:blank");
  await page.goto(house.origin + address);
  await page.locator(next).first().waitFor();
  await page.waitForTimeout(200); // what comes later is what would move it
  const { moved, beyond, top } = await page.evaluate((of) => ({
    moved: window.moved, beyond: document.documentElement.scrollWidth - innerWidth,
    top: Math.min(...[...document.querySelectorAll(of)].filter((node) => node.checkVisibility()).map((node) => node.getBoundingClientRect().bottom)),
  }), next);
  const high = page.viewportSize().height;
  check(moved.length === 0 && beyond <= 0 && top <= high, `${name}: nothing moves, nothing is beyond the edge, the next action is in sight (${Math.round(top)} of ${high} px)${moved.length ? ` -- ${moved.slice(0, 3).join(" | ")}` : ""}`);
}

const ROOMS = { inbox: ".inbox [data-key=seen]", students: "tbody tr a", [`story/${worked.student_id}`]: ".file .now button", coaches: "tbody tr a", agreement: "#room h2", figures: "[name=from]",
  accounts: "tbody tr summary", devices: "#room form button", drills: "#room button.main", audit: "tbody tr" };

for (const [kind, size] of Object.entries(SIZES)) {
  const page = await open(chromium, house.origin, { size, locale: kind === "desktop" || kind === "phone" ? "de-DE" : "en-GB" });
  await watch(page);
  await look(page, `front, ${kind}`, "/", "#enter .main");
  await signIn(page, house.origin, "head", house.password);
  await page.waitForURL("**/desk.html");
  for (const [room, next] of Object.entries(ROOMS)) {
    if (kind === "phone" || ["inbox", "students", `story/${worked.student_id}`].includes(room)) await look(page, `desk ${room.split("/")[0]}, ${kind}`, `/desk.html#${room}`, next);
  }
  if (kind === "desktop") await look(page, "desk file beside the list", `/desk.html#students/${worked.student_id}`, ".beside-sheet .now button");
  await look(page, `bay, ${kind}`, "/bay.html", ".names a, .inbox [data-key=seen]");
  await page.context().close();
  const family = await open(chromium, house.origin, { size, locale: "de-DE" });
  await watch(family);
  await signIn(family, house.origin, "student05", house.password);
  await family.waitForURL("**/home.html");
  await family.locator("[data-key=read]").click(); // what to mind is read first
  await look(family, `home, ${kind}`, "/home.html", "[data-done]");
  await family.context().close();
}

// The head's week by keys: what waits, who needs a look, the file beside the list, a note, and back to the list where it was.
const page = await open(chromium, house.origin, { size: SIZES.desktop });
/** Tabs on until the focus stands at what is meant. */
async function to(selector, on = page) {
  for (let n = 0; n < 200; n++) {
    if (await on.evaluate((of) => document.activeElement.matches(of), selector)) return true;
    await on.keyboard.press("Tab");
  }
  return false;
}
await signIn(page, house.origin, "head", house.password);
await page.waitForSelector(".inbox [data-key=seen]");
const waited = await page.textContent("#inbox-title");
check(await to(".inbox [data-key=seen]"), "a message is reached by keys");
await page.keyboard.press("Enter");
await page.waitForFunction((before) => document.querySelector("#inbox-title").textContent !== before, waited);
check((await page.evaluate(() => document.activeElement.id)) === "inbox-title", "seen, the focus is at what waits still");
check(await to(".looks a[href='#students?test=stuck']"), "who needs a look is reached");
await page.keyboard.press("Enter");
await page.waitForSelector("tbody tr .spark svg");
check((await page.locator("tbody tr .spark:has(svg)").first().getAttribute("aria-label"))?.includes("±"), "each row has its measure's way, in words too");
check(await to("tbody tr a"), "a student is reached");
const name = await page.evaluate(() => document.activeElement.textContent);
await page.keyboard.press("Enter");
await page.waitForFunction((text) => document.activeElement.matches(".beside-sheet h2") && document.activeElement.textContent === text, name);
check(new URL(page.url()).hash.match(/^#students\/[\w-]{36}\?test=stuck$/) && (await page.locator("tbody tr").count()) > 1, "the file opens beside the list, which stays, under its own address");
await accessible(page, "a file beside the list");
await targets(page, "a file beside the list");
check(await to(".beside-sheet .note textarea"), "the note is reached");
await page.keyboard.type("Asked for a second look.");
check(await to(".beside-sheet [data-key=note]"), "and sending it");
await page.keyboard.press("Enter");
await page.waitForFunction(() => document.querySelector(".beside-sheet .story").textContent.includes("Asked for a second look."));
await page.keyboard.press("Escape");
await page.waitForFunction((text) => document.activeElement.matches("tbody a") && document.activeElement.textContent === text, name);
check(new URL(page.url()).hash === "#students?test=stuck" && !(await page.locator(".beside-sheet").isVisible()), "Escape closes it: the list with its filter, and the focus at the student");
await page.goBack();
await page.waitForSelector(".beside-sheet h2");
check((await page.textContent(".beside-sheet h2")) === name, "the way back opens it again");
quiet(page, "the head's week");

// And on a phone, where a file has the page to itself.
const small = await open(chromium, house.origin, { size: phone, touch: true });
await signIn(small, house.origin, "head", house.password);
await small.waitForSelector(".inbox [data-key=seen]");
const left = await small.textContent("#inbox-title");
check(await to(".inbox [data-key=seen]", small), "on a phone a message is reached by keys");
await small.keyboard.press("Enter");
await small.waitForFunction((before) => document.querySelector("#inbox-title").textContent !== before, left);
check(await to(".looks a[href='#students?test=stuck']", small), "and who needs a look");
await small.keyboard.press("Enter");
await small.waitForSelector("tbody tr a");
check(await to("tbody tr a", small), "and a student");
const whose = await small.evaluate(() => document.activeElement.textContent);
await small.keyboard.press("Enter");
await small.waitForFunction((text) => [...document.querySelectorAll("#room h2")].some((node) => node.checkVisibility() && node.textContent === text), whose);
check(!(await small.locator("tbody tr a").first().isVisible()) && (await small.evaluate(() => document.documentElement.scrollWidth <= innerWidth)), "whose file is alone on the page, and nothing lies beyond its edge");
await accessible(small, "a file on a phone");
await targets(small, "a file on a phone");
check(await to(".note textarea", small), "the note is reached");
await small.keyboard.type("Rang on the way home.");
check(await to("[data-key=note]", small), "and sending it");
await small.keyboard.press("Enter");
await small.waitForFunction(() => document.querySelector(".story").textContent.includes("Rang on the way home."));
check((await small.getAttribute("#room p a", "href")) === "#students?test=stuck", "its own way back leads to the list as it was");
await small.goBack();
await small.waitForFunction(() => document.querySelector("tbody tr a")?.checkVisibility());
check(new URL(small.url()).hash === "#students?test=stuck", "and the way back is the list with its filter");
quiet(small, "the head's week on a phone");

// A club without a student yet: what to begin with stands on the first page and in the empty list.
const empty = await open(chromium, house.origin, { size: phone });
await empty.route("**/v1/overview*", async (route) => {
  const answer = await route.fetch();
  return route.fulfill({ response: answer, json: { ...(await answer.json()), students: [] }, headers: { "Content-Type": "application/json" } });
});
await signIn(empty, house.origin, "head", house.password);
await empty.waitForSelector(".begin li");
check((await empty.locator(".begin a").evaluateAll((links) => links.map((link) => link.getAttribute("href")).join(" "))) === "#accounts #import /bay.html #students?test=nobody #devices", "a club without students is told what to begin with");
await accessible(empty, "a club that begins");
await empty.goto(`${house.origin}/desk.html#students`);
await empty.waitForSelector("#room .filters");
check(await empty.locator(".begin").isVisible(), "in the empty list too");
quiet(empty, "a club that begins");

// The family's week by keys on a phone: what to mind, the movement, a tick with how many came off, and taking it back.
const home = await open(chromium, house.origin, { size: phone });
await signIn(home, house.origin, "student09", house.password);
await home.waitForSelector(".drill");
check(await to("[data-key=read]", home), "what to mind is reached");
await home.keyboard.press("Enter");
check(await to("[data-done]", home), "then the drill");
const before = await home.locator(".ticks").first().textContent();
await home.keyboard.press("Enter");
check(await to("[data-passed='7']", home), "how many came off");
await home.keyboard.press("Enter");
await home.waitForFunction((text) => document.querySelector(".ticks").textContent !== text, before);
check(await to("[data-key=undo]", home), "taking it back is reached");
await accessible(home, "home after a tick");
await home.keyboard.press("Enter");
await home.waitForFunction((text) => document.querySelector(".ticks").textContent === text, before);
check(true, "and it is gone");
// The figure goes from the beginning to the end, and stays still for who wants that.
check(await to("[data-key=play]", home), "the movement can be seen again");
const arm = () => home.evaluate(() => [...document.querySelector(".figure .moves").querySelectorAll("path")].map((path) => getComputedStyle(path).d).join() + document.querySelector(".figure .moves circle").cx.animVal.value);
const rest = await arm();
await home.keyboard.press("Enter");
let moved = false;
for (let i = 0; i < 40 && !moved; i++) {
  await home.waitForTimeout(50);
  moved = (await arm()) !== rest;
}
check(moved, "the player moves");
quiet(home, "the family's week");
await home.emulateMedia({ reducedMotion: "reduce" });
await home.reload();
await home.waitForSelector(".figure");
await home.locator(".figure").first().scrollIntoViewIfNeeded();
const stands = await arm();
await home.waitForTimeout(400);
check((await arm()) === stands && (await home.locator("[data-key=play]").count()) === 0 && (await home.locator(".figure .begins").count()) > 0, "who wants less motion sees where it begins and where it ends, and nothing moves");

// And on a desktop.
const large = await open(chromium, house.origin, { size: SIZES.desktop });
await signIn(large, house.origin, "student05", house.password);
await large.waitForSelector(".drill");
check(await to("[data-key=read]", large), "on a desktop what to mind is reached");
await large.keyboard.press("Enter");
check(await to("[data-done]", large), "then the drill");
const one = await large.locator(".drill h3 >> visible=true").textContent();
await large.keyboard.press("Enter");
check(await to("[data-passed='7']", large), "how many came off");
await large.keyboard.press("Enter");
check(await to("[data-key=undo]", large), "taking it back");
await large.keyboard.press("Enter");
await large.waitForSelector("[data-key=undo]", { state: "detached" });
await large.keyboard.press("ArrowRight");
const two = await large.locator(".drill h3 >> visible=true").allTextContents();
check(two.length === 1 && two[0] !== one && (await large.evaluate(() => document.activeElement.textContent)) === two[0], "and the next drill by an arrow");
await accessible(large, "the second drill on a desktop");
await targets(large, "the second drill on a desktop");
quiet(large, "the family's week on a desktop");

// Sunlight in the bay: black on white, kept on this device.
const bay = await open(chromium, house.origin, { dark: true });
await signIn(bay, house.origin, "coach2", house.password);
await bay.waitForSelector(".names a");
await bay.locator("#sun").click();
const colours = () => bay.evaluate(() => [document.body, document.querySelector(".names li")].flatMap((node) => [getComputedStyle(node).color, getComputedStyle(node).backgroundColor]).join());
check((await colours()) === "rgb(0, 0, 0),rgb(255, 255, 255),rgb(0, 0, 0),rgb(255, 255, 255)", `in the sun all is black on white (${await colours()})`);
await accessible(bay, "the bay in the sun");
await targets(bay, "the bay in the sun");
await bay.reload();
await bay.waitForSelector(".names a");
check((await bay.getAttribute("#sun", "aria-pressed")) === "true" && (await colours()).startsWith("rgb(0, 0, 0),rgb(255, 255, 255)"), "it stays so on this device");
await bay.locator("#sun").click();
check(!(await colours()).startsWith("rgb(0, 0, 0),rgb(255, 255, 255)"), "until it is turned off");
quiet(bay, "sunlight");

await chromium.close();
await house.end();
finish("pages_sight");
