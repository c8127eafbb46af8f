// A student's phone: the sheet, ticking off, the guardian of several, paper, and the second language.
import { accessible, browser, check, club, finish, keep, open, phone, quiet, signIn, targets } from "./support.mjs";

const house = await club();
const chromium = await browser();
const page = await open(chromium, house.origin, { size: phone, touch: true });

await signIn(page, house.origin, "student05", house.password);
await page.waitForSelector(".drill");
const drills = await page.locator(".drill").count();
check(drills >= 1 && drills <= 2, `one or two drills (${drills})`);
check((await page.locator("#care li").count()) >= 5, "the cautions stand above the drills");
check((await page.locator(".drill svg.figure").count()) === drills, "every drill has its figure");
await page.waitForSelector("#progress figure");
check((await page.textContent("#progress figcaption")).includes("±"), "progress is a picture and a sentence, with its margin");
await accessible(page, "home");
await targets(page, "home");
const wide = await page.evaluate(() => document.documentElement.scrollWidth <= window.innerWidth);
check(wide, "nothing sticks out sideways on a phone");

const before = await page.locator(".ticks").first().textContent();
await page.locator(".drill input").first().fill("ten minutes in the garden");
await page.locator(".drill form button").first().tap();
await page.waitForFunction((old) => document.querySelector(".ticks").textContent !== old, before);
check(true, `ticked off: ${before.trim()} became ${(await page.locator(".ticks").first().textContent()).trim()}`);
await keep(page, "home-phone");
quiet(page, "home");

await page.locator("#calendar").tap();
await page.waitForSelector("#feed a");
const feed = await page.evaluate(async () => {
  const answer = await fetch(document.querySelector("#feed a").getAttribute("href"));
  return { type: answer.headers.get("Content-Type"), text: await answer.text() };
});
check(feed.type.startsWith("text/calendar") && feed.text.startsWith("BEGIN:VCALENDAR\r\n"), "the practice days are a calendar");
check((feed.text.match(/BEGIN:VEVENT/g) ?? []).length >= 2, "with days in it");

await page.emulateMedia({ media: "print" });
check(!(await page.locator("#out").isVisible()), "paper shows no buttons");
check(await page.locator("#care").isVisible(), "paper carries the cautions");
await page.emulateMedia({ media: null });

const german = await open(chromium, house.origin, { size: phone, locale: "de-DE" });
await signIn(german, house.origin, "student05", house.password);
await german.waitForSelector(".drill");
check((await german.textContent("h1")) === "Hausaufgaben", "the sheet's own words are German for a German");
quiet(german, "home in German");

await chromium.close();
await house.end();
finish("pages_home");
