// A student's phone: whose sheet, the one thing, what to mind, ticking off, the calendar, paper, the second language; and the
// guardian of several.
import { de, en } from "./words.mjs";
import { accessible, browser, check, club, finish, keep, open, phone, quiet, signIn, targets } from "./support.mjs";

const house = await club();
const chromium = await browser();
const page = await open(chromium, house.origin, { size: phone, touch: true });

await signIn(page, house.origin, "student05", house.password);
await page.waitForSelector(".drill");
const drills = await page.locator(".drill").count();
check(drills >= 1 && drills <= 2, `one or two drills (${drills})`);
const sheetOf = await house.call("GET", "/v1/me/homework", await house.token("student05"));
const student = (await house.call("GET", `/v1/students/${sheetOf.data.student_id}`, await house.token("student05"))).data;
const head = await page.locator("#whose").innerText();
check(head.includes(student.name) && head.includes(sheetOf.data.coaches[0].name), `whose sheet and whose coach are on the screen: ${head.replace(/\s+/g, " ")}`);
await page.evaluate(() => scrollTo(0, document.body.scrollHeight));
check(await page.evaluate(() => document.querySelector("#whose").getBoundingClientRect().top >= 0), "and stay in sight at the foot of the page");
const shown = (where) => page.locator(`${where} >> visible=true`).count();
check((await shown("#care li")) >= 5 && (await shown(".drill .body")) === 1, "the cautions stand above the drills until they are read, and one drill stands at a time");
check((await page.locator(".thing.first .order").textContent()) === en["home.first"] && (await page.locator(".thing.first > .feel").count()) === 1, "what to do first says so, with its one cue");
check((await page.locator("#drills").innerText()).includes("right-handed: lead means your left side"), "lead and trail are said as this player's left and right");
const sentences = await page.locator("#drills .thing > .plain").allTextContents();
check(sentences.length > 0 && sentences.every((text) => /^[A-Z][^{}_\d]*\.$/.test(text) && !/\b(lead|trail)\b/.test(text)), `each fix is one plain sentence, without number or side but left and right: ${sentences.join(" | ")}`);
check((await page.locator("[data-key=terms] li").count()) > 5, "the trade's words are explained");
check(/Was due to be checked on .*: ask your coach/.test(await page.locator(".drill").first().innerText()), "a check that is late says so");
check((await page.locator(".drill svg.figure").count()) === drills, "every drill has its figure");
await page.waitForSelector("#progress figure");
const better = await page.locator("#progress figure").first().innerText();
check([en["home.verdict.improved"], en["home.verdict.no_real_change"], en["home.verdict.worse"], en["home.verdict.not_comparable"], en["home.stands.first"]].some((text) => better.includes(text))
  && ["in", "near", "out"].some((where) => better.includes(en[`home.stands.${where}`].split("{day}")[1])), `progress is a picture and plain sentences: ${better.replace(/\s+/g, " ")}`);
check(!/[±°%]|\d[.,]\d/.test(better) && !/\b(lead|trail)\b/.test(better), "without a measured number, and with the player's own left and right");
await accessible(page, "home");
await targets(page, "home");
const wide = await page.evaluate(() => document.documentElement.scrollWidth <= window.innerWidth);
check(wide, "nothing sticks out sideways on a phone");

await page.locator("[data-key=read]").tap();
check((await shown("#care li")) === 0 && (await page.evaluate(() => document.activeElement.dataset.key)) === "care", "read, they are one line, and the focus is there");
await page.locator("[data-key=care]").tap();
check((await shown("#care li")) >= 5, "which opens again");
await page.reload();
await page.waitForSelector(".drill");
check((await shown("#care li")) === 0, "they stay folded for this reader on this device");
const order = await page.evaluate(() => ["#care", ".thing.first", ".drill", ".figure"].map((part) => document.querySelector(part).getBoundingClientRect().top));
check(order.every((top, i) => i === 0 || top > order[i - 1]) && order.at(-1) < phone.height * 0.75, `and the first drill's figure begins on the first screen (${Math.round(order.at(-1))} px)`);
await keep(page, "home-read");
// One drill at a time: by what stands above it, by a finger across, by the arrow keys.
const at = async () => [await page.textContent(".where"), await page.locator(".drill h3 >> visible=true").allTextContents()];
const start = await at();
const last = start[1][0];
check(drills === 2 && start[0] === `${en["home.first"]} · Drill 1 of 2` && start[1].length === 1 && (await page.locator("[data-key=drill-before]").isDisabled()), `two drills, and which one this is: ${start[0]}`);
await page.locator("[data-key=drill-next]").tap();
const next = await at();
check(next[0] === `${en["home.next"]} · Drill 2 of 2` && next[1].length === 1 && next[1][0] !== last && (await page.evaluate(() => document.activeElement.textContent)) === next[1][0], "the next one takes its place, and the focus is there");
check((await page.locator("[data-key=drill-next]").isDisabled()) && (await page.getAttribute("[data-key=drill-before]", "aria-label")).includes(last), "what comes is named, and there is nothing beyond");
await accessible(page, "home, the second drill");
/** A finger goes over the card. */
const swipe = (from, to) => page.locator(".thing >> visible=true").first().evaluate((node, [[x0, y0], [x1, y1]]) => {
  const point = (type, x, y) => node.dispatchEvent(new PointerEvent(type, { bubbles: true, isPrimary: true, pointerType: "touch", clientX: x, clientY: y }));
  point("pointerdown", x0, y0);
  point("pointerup", x1, y1);
}, [from, to]);
await swipe([200, 400], [215, 100]);
check((await at())[0] === `${en["home.next"]} · Drill 2 of 2`, "up and down is scrolling");
await swipe([100, 400], [220, 410]);
check((await at())[1][0] === last, "a finger to the right brings the one before");
await swipe([300, 400], [180, 410]);
check((await at())[1][0] === next[1][0], "a finger to the left the next one");
await page.keyboard.press("ArrowLeft");
check((await at())[1][0] === last, "and so do the arrow keys");
check((await page.getAttribute(".pager", "class")) === "pager" && (await page.evaluate(() => getComputedStyle(document.querySelector(".pager")).touchAction)).includes("pan-y"), "the page leaves the finger across to the drills");

const before = await page.locator(".ticks").first().textContent();
const done = page.locator("[data-done]").first();
const tickIn = page.locator(".do").first();
const ticked = async (n) => page.waitForFunction((sign) => document.querySelector(".ticks").textContent.startsWith(sign), `${n} of`);
const kept = async () => (await house.call("GET", `/v1/students/${student.id}/homework`, staff)).data.homework;
const staff = await house.token("head");
const many = async () => (await kept()).reduce((sum, item) => sum + item.done.count, 0);
const first = await many();
check((await done.evaluate((node) => node.getBoundingClientRect().bottom)) <= phone.height, "what is to be pressed is on the first screen");
await done.tap();
check((await page.evaluate(() => document.activeElement.className)) === "asks", "how many came off is asked, and the focus is at the question");
await tickIn.getByLabel(en["home.comment"]).fill("ten minutes in the garden");
await accessible(page, "home, a tick");
await targets(page, "home, a tick");
await keep(page, "home-tick");
await tickIn.locator("[data-passed='8']").tap();
await ticked(1);
const [tick] = (await kept()).map((item) => item.ticks[0]).filter(Boolean);
check(tick.passed.n === 8 && tick.passed.of === 10 && tick.comment === "ten minutes in the garden", `two taps: ${before.trim()} became ${(await page.locator(".ticks").first().textContent()).trim()}, with 8 of 10 and the words`);
await page.locator("[data-key=undo]").first().tap();
await ticked(0);
check((await many()) === first, "undone, it is gone");
for (let n = 1; n <= 4; n++) {
  await done.tap();
  await tickIn.locator("[data-key=uncounted]").tap();
  await ticked(n);
}
await done.tap();
check((await tickIn.locator(".asks").textContent()) === en["home.enough"].other.replace("{n}", "4") && (await tickIn.locator("[data-passed]").count()) === 0, "after the week's dose another one is asked about first");
await keep(page, "home-enough");
await page.locator("[data-key=not-now]").first().tap();
check((await many()) === first + 4 && (await page.evaluate(() => "done" in document.activeElement.dataset)), "left, nothing was counted");
await page.locator("[data-key=hurts]").first().tap();
check(await tickIn.locator("[data-level='3']").isDisabled(), "how much waits for where");
await tickIn.locator("[data-area='low back']").tap();
await tickIn.locator("[data-level='1']").tap();
await page.waitForFunction(() => document.activeElement.id.startsWith("said-"));
check((await page.textContent(".ticks")).startsWith("4 of"), "that it hurts is no session done");
check((await kept())[0].ticks[0].pain.level === 1 && (await page.locator("[data-key=undo]").count()) === 0, "that it hurts is told whatever the dose, and is not undone");
await keep(page, "home-phone");
quiet(page, "home");

for (let n = 1; n <= 4; n++) await house.call("POST", `/v1/students/${student.id}/notes`, staff, { text: `Note ${n}:\nkeep the grip light.`, readers: ["student"] });
await house.call("POST", `/v1/students/${student.id}/notes`, staff, { text: "between coaches" });
await page.reload();
await page.waitForSelector("#notes:not([hidden]) li");
const notes = () => page.locator("#notes li").allTextContents();
check((await notes()).length === 3 && (await notes())[0].includes("Note 4") && !(await page.textContent("#notes")).includes("between coaches"), "what coaches wrote to the student stands there, newest first, and nothing else");
await page.locator("[data-key=older]").tap();
await page.waitForFunction(() => document.querySelectorAll("#notes li").length > 3);
check((await page.textContent("#notes")).includes("Note 1"), "older ones when they are wanted");
await page.locator("#more summary").tap();
await accessible(page, "home, the rest");
await page.locator("#calendar").tap();
await page.waitForSelector("#feed a");
const [webcal, plain] = await page.locator("#feed a").evaluateAll((links) => links.map((link) => link.href));
check(webcal === plain.replace("http:", "webcal:") && plain.startsWith(house.origin), "the phone's calendar opens the address by itself");
await page.context().grantPermissions(["clipboard-read", "clipboard-write"]);
await page.locator("[data-key=copy-feed]").tap();
await page.waitForFunction((text) => document.querySelector("#feed [role=status]").textContent === text, en["home.calendar.copied"]);
check((await page.evaluate(() => navigator.clipboard.readText())) === plain, "or it is copied");
await accessible(page, "home with a calendar");
await targets(page, "home with a calendar");
const planned = (await house.call("GET", `/v1/students/${student.id}/retests`, staff)).data.retests.find((retest) => !retest.ended_at);
check(planned && new Date(planned.due_at) < new Date(), "a look that was planned is late");
const ahead = new Date(Date.now() + 9 * 86400000).toISOString().slice(0, 10);
await house.call("PATCH", `/v1/retests/${planned.id}`, staff, { due_at: `${ahead}T12:00:00Z`, reason: "the lesson is set" }, { "If-Match": `"${planned.version}"` });
const feed = await page.evaluate(async () => {
  const answer = await fetch(document.querySelector("#feed a[href^='/']").getAttribute("href"));
  return { type: answer.headers.get("Content-Type"), text: await answer.text() };
});
check(feed.type.startsWith("text/calendar") && feed.text.startsWith("BEGIN:VCALENDAR\r\n"), "the practice days are a calendar");
const days = [...feed.text.matchAll(/DTSTART;VALUE=DATE:(\d{8})/g)].map(([, date]) => date).sort();
check(days.length >= 2 && days.at(-1) <= ahead.replaceAll("-", "") && days.some((date) => date > new Date().toISOString().slice(0, 10).replaceAll("-", "")), `with days in it, up to the look again (${days.at(-1)})`);

await page.emulateMedia({ media: "print" });
check(!(await page.locator("#out").isVisible()), "paper shows no buttons");
check((await shown("#care li")) >= 5 && (await shown(".drill .body")) === drills, "paper carries the cautions and every drill in full");
check((await page.locator("#whose").innerText()).includes(student.name), "and whose it is");
await page.emulateMedia({ media: null });

const german = await open(chromium, house.origin, { size: phone, locale: "de-DE" });
await signIn(german, house.origin, "student05", house.password);
await german.waitForSelector(".drill");
check((await german.textContent("h1")) === "Hausaufgaben", "the sheet's own words are German for a German");
quiet(german, "home in German");

/** All that the drills say, one after the other. */
const drillText = async (one) => {
  let text = await one.locator("#drills").innerText();
  while (await one.locator("[data-key=drill-next]:enabled").count()) {
    await one.locator("[data-key=drill-next]").click();
    text += await one.locator("#drills").innerText();
  }
  return text;
};

/** The texts of a language's shipped drills that a text holds. */
const drillsIn = (text, table) => Object.entries(table).filter(([key, words]) => key.startsWith("drill.") && text.includes(words)).map(([key]) => key);
const sheet = await drillText(german);
const english = await drillText(page);
const ids = drillsIn(english, en).filter((key) => key.endsWith(".how_to")).map((key) => key.split(".")[1]);
const texts = ids.flatMap((id) => Object.keys(en).filter((key) => key.startsWith(`drill.${id}.`)));
const missing = (text, table) => texts.filter((key) => !text.includes(table[key]));
check(ids.length === drills && drillsIn(english, de).length === 0 && missing(english, en).length === 0, `an English sheet shows the ${texts.length} texts of ${ids.length} drills in English`);
check(drillsIn(sheet, en).length === 0 && missing(sheet, de).length === 0, `a German one in German (${[...drillsIn(sheet, en), ...missing(sheet, de)].join(", ") || "all of them"})`);

// The club changes one text of a drill: that stays as it is written, the rest of it is still German.
const headToken = await house.token("head");
const [id] = ids;
const { data: shipped } = await house.call("GET", `/v1/drills/${id}`, headToken);
const changed = await fetch(`${house.origin}/v1/drills/${id}`, { method: "PATCH", headers: { Authorization: `Bearer ${headToken}`, "Content-Type": "application/json", "If-Match": `"${shipped.version}"` }, body: JSON.stringify({ feel: "As our club says it." }) });
check(changed.ok, `the club changes ${id} (${changed.status})`);
await german.reload();
await german.waitForSelector(".drill");
const mixed = await drillText(german);
check(mixed.includes("As our club says it.") && mixed.includes(de[`drill.${id}.how_to`]) && drillsIn(mixed, en).length === 0, "what the club wrote stays as it is, the rest is said in German");

// A guardian of two: whose page it is can be chosen, and stays chosen.
const { accounts } = (await house.call("GET", "/v1/accounts?limit=200", headToken)).data;
const guardian = accounts.find((row) => row.sign_in === "guardian01");
const already = (await house.call("GET", "/v1/me", await house.token("guardian01"))).data.students;
const { data: sibling } = await house.call("POST", "/v1/students", headToken, { name: "Fenn Testing", hand: "left", birth_year: new Date().getUTCFullYear() - 7, consent: { by: "Rowan Testing" } });
const tied = await house.call("PATCH", `/v1/accounts/${guardian.id}`, headToken, { students: [...already, sibling.id] }, { "If-Match": `"${guardian.version}"` });
check(tied.status === 200, `a guardian of two (${tied.status})`);
const family = await open(chromium, house.origin, { size: phone, touch: true });
await signIn(family, house.origin, "guardian01", house.password);
await family.waitForSelector("[data-student]");
await family.locator(`[data-student="${sibling.id}"]`).tap();
await family.waitForSelector(`[data-student="${sibling.id}"][aria-pressed=true]`);
check((await family.textContent("#drills")) === en["home.nothing"] && (await family.textContent("#whose")).includes(en["home.coach.none"]), "the other one's page: no homework, no coach yet");
check((await family.evaluate(() => document.activeElement.dataset.student)) === sibling.id, "the focus stays at the name");
await family.reload();
await family.waitForSelector(`[data-student="${sibling.id}"][aria-pressed=true]`);
check(true, "after a reload it is still that one's page");

// A small child's sheet: fewer tries, a club of one's own size; and what is contested is told in a sentence.
const small = await house.call("POST", `/v1/students/${sibling.id}/fixes`, headToken, { fault: "across_the_line", reason: "asked for", drills: [{ drill: "split-hands-at-the-top" }] });
check(small.status === 201, "the small child gets a drill");
await family.reload();
await family.waitForSelector(".drill");
const childs = await family.innerText("#drills");
check(childs.includes("Passed with 4 of 5:") && childs.includes(en["home.fewer"]), "half the tries are enough, and it says so");
check((await family.innerText("#care")).includes(en["caution.own_size"]), "it asks for a club of the child's own size");
check(childs.includes(`${en["fault.across_the_line"]}. ${en["home.contested"]}`) && childs.includes("too far to the left of the target"), "what is contested says so in a sentence; a left-hander's trail side is the left");
await family.locator("[data-done]").first().tap();
await family.waitForSelector(".asks");
check((await family.textContent(".asks")) === en["home.passed"].replace("{of}", "5"), "so many are asked for");
await family.locator("[data-key=not-now]").tap();
await accessible(family, "home of a guardian of two");
await targets(family, "home of a guardian of two");
await keep(family, "home-two-juniors");
quiet(family, "home of a guardian of two");

await chromium.close();
await house.end();
finish("pages_home");
