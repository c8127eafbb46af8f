// A student's phone: the sheet, ticking off, the guardian of several, paper, and the second language.
import { de, en } from "./words.mjs";
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

/** The texts of a language's shipped drills that a text holds. */
const drillsIn = (text, table) => Object.entries(table).filter(([key, words]) => key.startsWith("drill.") && text.includes(words)).map(([key]) => key);
const sheet = await german.locator("#drills").innerText();
const english = await page.locator("#drills").innerText();
const ids = drillsIn(english, en).filter((key) => key.endsWith(".how_to")).map((key) => key.split(".")[1]);
const texts = ids.flatMap((id) => Object.keys(en).filter((key) => key.startsWith(`drill.${id}.`)));
const missing = (text, table) => texts.filter((key) => !text.includes(table[key]));
check(ids.length === drills && drillsIn(english, de).length === 0 && missing(english, en).length === 0, `an English sheet shows the ${texts.length} texts of ${ids.length} drills in English`);
check(drillsIn(sheet, en).length === 0 && missing(sheet, de).length === 0, `a German one in German (${[...drillsIn(sheet, en), ...missing(sheet, de)].join(", ") || "all of them"})`);

// The club changes one text of a drill: that stays as it is written, the rest of it is still German.
const head = await house.token("head");
const [id] = ids;
const { data: shipped } = await house.call("GET", `/v1/drills/${id}`, head);
const changed = await fetch(`${house.origin}/v1/drills/${id}`, { method: "PATCH", headers: { Authorization: `Bearer ${head}`, "Content-Type": "application/json", "If-Match": `"${shipped.version}"` }, body: JSON.stringify({ feel: "As our club says it." }) });
check(changed.ok, `the club changes ${id} (${changed.status})`);
await german.reload();
await german.waitForSelector(".drill");
const mixed = await german.locator("#drills").innerText();
check(mixed.includes("As our club says it.") && mixed.includes(de[`drill.${id}.how_to`]) && drillsIn(mixed, en).length === 0, "what the club wrote stays as it is, the rest is said in German");

await chromium.close();
await house.end();
finish("pages_home");
