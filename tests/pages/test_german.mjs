// The pages in German: what the server refuses is said from the table, a field by its label, and no page has English of its own,
// a raw name, or anything that lies beyond its edge.
import { accessible, browser, check, club, finish, keep, open, phone, quiet, settled, signIn, tablet } from "./support.mjs";
import { de, partial } from "./words.mjs";

const house = await club();
const chromium = await browser();
const head = await house.token("head");
const german = (size, touch = true) => open(chromium, house.origin, { size, touch, locale: "de-DE" });

/** What an announcement says once it has changed. */
async function said(page, act) {
  await page.evaluate(() => document.querySelector("#said")?.remove());
  await act();
  await page.waitForFunction(() => document.querySelector("#said")?.textContent);
  return page.textContent("#said");
}

async function room(page, path, ready) {
  await settled(page); // nothing under way is broken off
  await page.goto("about:blank");
  await page.goto(house.origin + path);
  await settled(page);
  await page.waitForSelector(ready);
}

// ---- refusals ----

const desk = await german(tablet);
await signIn(desk, house.origin, "head", house.password);
await desk.waitForSelector("#room h2");

await room(desk, "/desk.html#drills", "#room h2");
await desk.locator("#room button.main").first().click();
await desk.fill("[name=name]", "Eine Übung");
await desk.fill("[name=how_to]", "Langsam.");
await desk.fill("[name=feel]", "x".repeat(5000));
await desk.locator("fieldset[name=faults] input").first().check();
const wrong = await said(desk, () => desk.locator("form button.main").click());
check(wrong === `${de["desk.drill.feel"]}: ${de["problem.invalid"]}`, `a drill's field is named as the form has it: ${wrong}`);
await desk.fill("[name=feel]", "leicht");
await desk.locator("form button.main").click();
await desk.waitForFunction(() => !document.querySelector("#room form"));
const mine = (await house.call("GET", "/v1/drills?limit=200", head)).data.drills.find(({ name }) => name === "Eine Übung");
check(mine?.how_to === "Langsam." && !mine.cautions && mine.place[0] === "range" && mine.kit[0] === "club" && !mine.ball, "without cautions it is kept");
await desk.getByRole("button", { name: de["desk.drill.editOf"].replace("{drill}", "Eine Übung") }).click();
await house.call("PATCH", `/v1/drills/${mine.id}`, head, { minutes: 12 }, { "If-Match": `"${mine.version}"` });
check((await said(desk, () => desk.locator("form button.main").click())) === de["problem.stale"], "a drill that somebody else changed is not written over");

await room(desk, "/desk.html#accounts", "tbody tr");
await desk.locator("#room .new summary").click();
await desk.fill("[name=name]", "Wren Halloway");
await desk.fill("[name=sign_in]", "coach1");
const taken = await said(desk, () => desk.locator("[data-key=make]").click());
check(taken === `${de["desk.account.signIn"]}: ${de["problem.conflict"]}`, `a name that is taken: ${taken}`);

const rows = (await house.call("GET", "/v1/overview?limit=200", head)).data.students;
const student = rows.find((row) => row.open_fixes === 0 && row.last_swing);
await room(desk, `/desk.html#story/${student.student_id}`, ".consent");
const consent = desk.locator("[data-scope=teach_with] form");
if (await consent.locator("[name=by]").count()) await consent.locator("[name=by]").fill("Wren Halloway");
await consent.locator("[name=expires]").fill("2020-01-01");
const past = await said(desk, () => consent.locator("button").click());
check(past === `${de["consent.expires"]}: ${de["problem.invalid"]}`, `a consent that is over before it begins: ${past}`);

const bay = await german(tablet);
const coach = (await house.call("GET", "/v1/accounts?limit=200", head)).data.accounts.find(({ id }) => id === student.team[0]);
await signIn(bay, house.origin, coach.sign_in, house.password);
await bay.waitForSelector(".names a");
const swings = (await house.call("GET", `/v1/students/${student.student_id}/swings?limit=200`, head)).data.swings;
const reports = await Promise.all(swings.map(async ({ id }) => ({ id, report: (await house.call("GET", `/v1/swings/${id}/report`, head)).data })));
const { id: swing, report } = reports.find((item) => item.report.first_fixes?.length);
await room(bay, `/bay.html#report/${swing}`, ".numbers");
await bay.locator("[data-key=give]").first().click();
for (const input of await bay.locator(".card.first form input[required]").all()) await input.fill("Wir haben darüber gesprochen.");
await house.call("POST", `/v1/students/${student.student_id}/fixes`, head, { fault: report.first_fixes[0].fault, from_swing: swing });
const late = await said(bay, () => bay.locator("[data-key=sure]").click());
check(late === de["problem.fix-open"], `a fix that somebody else gave first: ${late}`);

// ---- every page, on a tablet and on a phone ----

/** English words that are no German ones, in text that is not the club's own. */
const ENGLISH = /\b(the|and|your|with|must|this|that|have|is|are|of|to|on|at|not yet|from)\b/;
const leftOver = (page) => page.evaluate(() => {
  const walker = document.createTreeWalker(document.querySelector("main"), NodeFilter.SHOW_TEXT);
  const texts = [];
  for (let node = walker.nextNode(); node; node = walker.nextNode()) {
    if (node.parentElement.closest("[lang=en], textarea, script, option") || !node.parentElement.checkVisibility()) continue;
    texts.push(node.textContent.trim());
  }
  return texts;
});

/** Words and rules are the same in either shape: they are held where lines break most, on the phone. */
async function look(page, name) {
  if (name.endsWith("phone")) {
    const english = (await leftOver(page)).filter((text) => ENGLISH.test(text) && !clubs.has(text) && !written.some((note) => text.includes(note)));
    check(english.length === 0, `${name}: nothing English is left${english.length ? ` -- ${[...new Set(english)].slice(0, 6).join(" | ")}` : ""}`);
    await accessible(page, name);
  }
  const beyond = await page.evaluate(() => [document.documentElement.scrollWidth - innerWidth, ...[...document.querySelectorAll("main *")]
    .filter((node) => node.checkVisibility() && !node.closest(".wide, svg, textarea") && node.getBoundingClientRect().right > innerWidth + 1)
    .map((node) => `${node.tagName} ${node.textContent.trim().slice(0, 30)}`)].filter((left) => typeof left === "string" || left > 0));
  check(beyond.length === 0, `${name}: nothing lies beyond the edge${beyond.length ? ` -- ${beyond.slice(0, 4).join(" | ")}` : ""}`);
  await keep(page, `german-${name.replaceAll(" ", "-")}`);
}

const drills = (await house.call("GET", "/v1/drills?limit=200&retired=true", head)).data.drills;
const { accounts } = (await house.call("GET", "/v1/accounts?limit=200", head)).data;
const { notes } = (await house.call("GET", `/v1/students/${student.student_id}/notes`, head)).data;
const clubs = new Set([...drills.flatMap((drill) => [drill.name, drill.how_to, drill.feel, drill.cautions]), ...accounts.map(({ name }) => name), ...notes.map(({ text }) => text)]);
const written = (await Promise.all([head, await house.token(coach.sign_in)].map((reader) => house.call("GET", "/v1/inbox?limit=200", reader)))).flatMap(({ data }) => data.inbox.map(({ note }) => note)).filter(Boolean);

for (const [size, kind] of [[tablet, "tablet"], [phone, "phone"]]) {
  for (const page of [desk, bay]) await page.setViewportSize(size);
  for (const [name, ready] of [["inbox", ".looks a"], ["coaches", "tbody tr"], ["agreement", "#room h2"], ["figures", "tbody tr"], ["import", "#room h2"], ["students", "tbody tr"], ["accounts", "tbody tr"], ["devices", "#room h2"], ["drills", "#room h2"], ["standard", "tbody tr"], ["audit", "tbody tr"]]) {
    await room(desk, `/desk.html#${name}`, ready);
    await look(desk, `desk ${name} ${kind}`);
  }
  await room(desk, `/desk.html#story/${student.student_id}`, ".consent");
  await look(desk, `desk story ${kind}`);
  await room(bay, "/bay.html", ".names a");
  await look(bay, `bay students ${kind}`);
  await room(bay, `/bay.html#student/${student.student_id}`, "#room h2");
  await look(bay, `bay student ${kind}`);
  await room(bay, `/bay.html#report/${swing}`, ".numbers");
  await bay.locator("details.numbers").evaluate((node) => { node.open = true; });
  await look(bay, `bay report ${kind}`);
  const home = await german(size);
  await signIn(home, house.origin, "student05", house.password);
  await home.waitForSelector(".drill");
  await settled(home);
  await look(home, `home ${kind}`);
  quiet(home, `home ${kind}`);
}

// ---- from right to left: a language that is data alone ----

const hebrew = await open(chromium, house.origin, { size: phone, touch: true, locale: "he-IL" });
await signIn(hebrew, house.origin, "student05", house.password);
await hebrew.waitForSelector(".drill");
await settled(hebrew);
const lies = await hebrew.evaluate(() => {
  const title = document.querySelector("h1").getBoundingClientRect();
  const out = document.querySelector("#out").getBoundingClientRect();
  return { lang: document.documentElement.lang, dir: document.documentElement.dir, rightward: title.right > out.right, note: document.querySelector("#translation").textContent,
    english: getComputedStyle(document.querySelector(".drill p")).unicodeBidi };
});
check(lies.lang === "he" && lies.dir === "rtl" && lies.rightward, `the home page lies from right to left (${lies.lang}, ${lies.dir}, ${lies.rightward})`);
check(/not checked/.test(lies.note) && /\d+.+\d+/.test(lies.note), `it says whose translation it is and counts what is missing (${lies.note})`);
check((await hebrew.textContent("#more summary")) === partial.he["home.tools"] && (await hebrew.locator("h2", { hasText: partial.he["home.care"] }).count()) === 1, "the sheet speaks it");
check(lies.english === "plaintext" && (await leftOver(hebrew)).some((text) => ENGLISH.test(text)), "a drill without its words there is English, written its own way");
check(/\u2068[A-Z][^\u2069]*\.\u2069/.test(await hebrew.locator(".drill").first().textContent()), "and keeps its full stop where it ends");
await accessible(hebrew, "home in Hebrew");
await look(hebrew, "home hebrew");
quiet(hebrew, "home in Hebrew");

// The standard: where a limit comes from, and a text that is refused, are told in German; its path stays as it is.
await room(desk, "/desk.html#standard", "tbody tr");
const sources = new Set(await desk.locator("#room .wide").first().locator("tbody td:last-child").allTextContents());
check([...sources].sort().join() === "gängige Praxis,umstritten", `where a limit comes from stands in German (${[...sources].join(", ")})`);
await desk.locator("#room summary").click();
const whole = desk.locator("#room textarea");
await whole.fill((await whole.inputValue()).replace('"ok_low": -8', '"ok_low": "-8"'));
await desk.locator("#room .row button").first().click();
await desk.waitForSelector("#said.shown");
const refused = await desk.textContent("#said");
check(/^ranges\[\d+\]\.ok_low: /.test(refused) && refused.endsWith(de["problem.invalid-standard"]), `so does what is refused in the whole text (${refused})`);
await whole.fill("{\n\"version\": oops\n}");
await desk.locator("#room .row button").first().click();
await desk.waitForFunction((before) => document.querySelector("#said").textContent !== before, refused);
await desk.waitForFunction(() => document.querySelector("#said").textContent !== "");
check((await desk.textContent("#said")) === de["desk.standard.notJson"], `and a text that is no JSON (${await desk.textContent("#said")})`);
quiet(desk, "desk");
quiet(bay, "bay");

await chromium.close();
await house.end();
finish("pages_german");
