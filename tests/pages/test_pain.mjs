// Pain told on a phone: the drill rests, the coach finds it in the bay and the head at the desk, and a coach's word sets it
// going again. What hurts is entered by staff. In both languages.
import { accessible, browser, check, club, finish, keep, open, phone, quiet, signIn, tablet, targets } from "./support.mjs";
import { readFileSync } from "node:fs";
import { de, en } from "./words.mjs";

const house = await club();
const chromium = await browser();
const head = await house.token("head");
for (const who of ["head", "coach1", "coach2", "coach3", "coach4"]) { // what the invented club's coaches told each other is read
  const reader = await house.token(who);
  for (const item of (await house.call("GET", "/v1/inbox?limit=200", reader)).data.inbox) await house.call("POST", `/v1/inbox/${item.id}/seen`, reader, {});
}

const home = await open(chromium, house.origin, { size: phone, touch: true });
await signIn(home, house.origin, "student05", house.password);
await home.waitForSelector(".drill");
const drill = (await home.locator(".drill h3").first().textContent()).trim();
const first = home.locator(".drill").first();
check((await first.locator("[data-area], [data-level]").count()) === 0, "how much is asked only when something hurts");
await first.locator("[data-key=hurts]").tap();
await first.locator("[data-area=knee]").tap();
await first.getByLabel(en["home.comment"]).fill("it pinches on the stairs too");
await targets(home, "telling pain");
await accessible(home, "telling pain");
await keep(home, "home-pain");
await first.locator("[data-level='5']").tap();
await home.waitForSelector(".drill.paused");
const told = await home.textContent(".drill.paused");
check(told.includes(drill) && told.includes("Pain 5 of 10 (knee)") && told.includes("physiotherapist"), "the drill rests, and the sheet says whom to see");
check((await home.locator(".drill.paused [data-done]").count()) === 0, "it can't be ticked off");
await accessible(home, "home with a paused drill");
await keep(home, "home-paused");
quiet(home, "home with a paused drill");

const student = (await house.call("GET", "/v1/inbox", head)).data.inbox[0];
const team = (await house.call("GET", "/v1/overview?limit=200", head)).data;
const name = team.coaches.find((coach) => coach.account_id === team.students.find((row) => row.student_id === student.student_id).team[0]).name;
const account = (await house.call("GET", "/v1/accounts?limit=200", head)).data.accounts.find((row) => row.name === name);
const bay = await open(chromium, house.origin, { size: tablet, touch: true });
await signIn(bay, house.origin, account.sign_in, house.password);
await bay.waitForSelector(".inbox:not([hidden]) li");
const item = bay.locator(".inbox li").first();
const text = await item.textContent();
check(text.includes(student.student_name) && text.includes("pain 5 of 10") && text.includes("it pinches on the stairs too") && text.includes(drill),
  "the coach finds who, which drill, how much and the words in the bay");
await accessible(bay, "bay with an inbox");
await targets(bay, "bay with an inbox");
await keep(bay, "bay-inbox");
await item.locator("a").tap();
await bay.waitForSelector(".care article");
check((await bay.textContent(".care")).includes("it pinches on the stairs too"), "and on the student's page");
await targets(bay, "bay student with pain");

// A junior's pain stands on the guardian's page.
const { accounts } = (await house.call("GET", "/v1/accounts?limit=200", head)).data;
let junior = null;
for (const guardian of accounts.filter((row) => row.role === "guardian")) {
  const reader = await house.token(guardian.sign_in);
  const who = (await house.call("GET", "/v1/me", reader)).data.students[0];
  const sheet = (await house.call("GET", `/v1/me/homework?student=${who}`, reader)).data;
  if (!junior && sheet.homework.length > 0) junior = { guardian, who, work: sheet.homework[0] };
}
const child = accounts.find((row) => row.student_id === junior.who) ?? junior.guardian;
await house.call("POST", `/v1/homework/${junior.work.id}/done`, await house.token(child.sign_in), { pain: { area: "wrist", level: 6 } });
const family = await open(chromium, house.origin, { size: phone, touch: true });
await signIn(family, house.origin, junior.guardian.sign_in, house.password);
await family.waitForSelector(".drill.paused");
check((await family.textContent(".drill.paused")).includes("Pain 6 of 10 (wrist)"), "what a junior told stands on the guardian's page");
quiet(family, "guardian");

// A note, written on the tee.
await bay.locator("details.write summary").tap();
await bay.locator("details.write textarea").fill("Away until the new year.");
await bay.locator("details.write [data-key=note]").tap();
await bay.waitForFunction(() => document.querySelector(".left")?.textContent.includes("Away until the new year."));
check((await bay.inputValue("details.write textarea")) === "", "a coach writes the team a note, which stands there at once");
await bay.locator("details.write summary").tap();

// What hurts, entered on the tee. What was told of pain lately stands there already.
const toldThere = await bay.textContent(".sore");
check(toldThere.includes("pain ") && toldThere.includes(" of 10") && !toldThere.includes(en["care.notSore"]), `nobody is called free of pain above a fresh report of it (${toldThere})`);
await bay.locator("[data-key=sore]").tap();
await bay.getByLabel(en["area.knee"], { exact: true }).check();
await bay.getByLabel(en["care.note"]).fill("sees a physiotherapist");
await accessible(bay, "bay student, what hurts");
await bay.locator("[data-key=sore-sure]").tap();
await bay.waitForFunction((note) => document.querySelector(".sore").textContent.includes(note), "sees a physiotherapist");
check((await bay.textContent(".sore")).includes("knee") && (await bay.textContent(".sore")).includes("sees a physiotherapist"), "what hurts is kept with its note");
const kept = (await house.call("GET", `/v1/students/${student.student_id}`, head)).data;
check(kept.pain.join() === "knee" && kept.pain_note === "sees a physiotherapist", "on the server too");

await bay.locator("[data-key=resume]").first().tap();
await bay.locator(".care input").fill("seen her: fine with half the steps");
await bay.locator("[data-key=resume-sure]").tap();
await bay.waitForFunction(() => !document.querySelector("[data-key=resume], [data-key=resume-sure]"));
await home.reload();
await home.waitForSelector(".drill");
check((await home.locator(".drill.paused h2", { hasText: drill }).count()) === 0, "with a coach's word it goes on");
check(!(await home.textContent("main")).includes("half the steps"), "the word is not on the student's sheet");

// Where every drill loads what is sore the report says so, and a drill is given only with the coach's reason.
const token = await house.token(account.sign_in);
const mine = (await house.call("GET", "/v1/students?limit=200", token)).data.students;
let back = null;
for (const one of mine) {
  const open = (await house.call("GET", `/v1/students/${one.id}/fixes?status=open`, token)).data.fixes;
  if (!back && !one.junior && one.hand === "right" && open.length === 0) back = one;
}
const path = `/v1/students/${back.id}`;
const { etag } = await house.call("GET", path, token);
await house.call("PATCH", path, token, { pain: ["low back"] }, { "If-Match": etag });
const document = JSON.parse(readFileSync(new URL("../data/two_views.json", import.meta.url)));
const swing = (await house.call("POST", `${path}/swings`, token, document)).data;
const report = (await house.call("GET", `/v1/swings/${swing.id}/report`, token)).data;
const stuck = report.first_fixes.find((fix) => fix.no_drill);
check(stuck.no_drill === "needs_word" && stuck.drills.every((item) => item.needs_confirmation && item.confirm.loads.concat(item.confirm.ruled_out).includes("low back")),
  `the report says plainly that no drill for ${stuck.fault} fits a sore low back`);
// What coaches left for each other stands there too.
const other = accounts.find((row) => row.role === "coach" && row.id !== account.id);
const left = [await house.call("POST", `${path}/notes`, token, { text: "tires after twenty balls", readers: [] }), await house.call("POST", `${path}/handovers`, token, { to: other.id, note: "one cue at a time" })];
check(left.every(({ status }) => status === 201), "(a note and a hand-over)");
await bay.goto(`${house.origin}/bay.html#report/${swing.id}`);
const card = bay.locator(`.card[data-fault=${stuck.fault}]`);
await card.locator("[data-key=give]").tap();
const form = card.locator("form");
check((await form.textContent()).includes(en["report.noDrill"]) && (await form.locator("[data-key=sure]").isDisabled()), "so does the bay, and nothing is chosen for the coach");
const warned = await form.textContent();
check(["tires after twenty balls", "one cue at a time", en["care.sore"].replace("{areas}", en["area.low back"])].every((words) => warned.includes(words)), "the last note, the hand-over's and what hurts are told where a fix is given");
await form.locator("label.tick input").first().check();
await accessible(bay, "a drill that needs the coach's word");
for (const input of await form.locator("input[required]").all()) await input.fill("small bends only, agreed with her");
await form.locator("[data-key=sure]").tap();
await card.locator(".given").waitFor();
const given = (await house.call("GET", `${path}/fixes?status=open`, token)).data.fixes[0];
check(given.homework.length === 1 && given.homework[0].confirmed === "small bends only, agreed with her", "with the coach's reason one is given, and the reason is kept");
// What began to hurt after the report was made counts as well.
const fresh = (await house.call("POST", "/v1/students", token, { name: "Ottoline Farrow", hand: "right", birth_year: 1990 })).data;
const later = (await house.call("POST", `/v1/students/${fresh.id}/swings`, token, { ...document, recorded_at: "2026-05-03T09:14:05Z" })).data;
const offered = (await house.call("GET", `/v1/swings/${later.id}/report`, token)).data.first_fixes.find(({ fault }) => fault === stuck.fault); // each of its drills loads something
check(offered.drills.length > 0 && !offered.drills.some((item) => item.needs_confirmation), "a report from before anything hurt offers its drills freely");
const drills = (await house.call("GET", "/v1/drills?limit=200", token)).data.drills;
const loaded = drills.find((item) => item.id === offered.drills[0].drill).loads[0];
const record = await house.call("GET", `/v1/students/${fresh.id}`, token);
await house.call("PATCH", `/v1/students/${fresh.id}`, token, { pain: [loaded] }, { "If-Match": record.etag });
await bay.goto(`${house.origin}/bay.html#report/${later.id}`);
const early = bay.locator(`.card[data-fault=${offered.fault}]`).first();
await early.locator("[data-key=give]").tap();
const ask = early.locator("form .drill").first();
check((await ask.textContent()).includes(en["report.word"]) && (await ask.textContent()).includes(en["report.word.sore"].replace("{areas}", en[`area.${loaded}`])),
  `now it says that the first of them loads the ${loaded}`);
check(offered.drills.length === 1 || !(await ask.locator("label.tick input").isChecked()), "and it isn't ticked beforehand");
// A second fix waits: the student goes on with one thing.
const second = (await house.call("POST", `${path}/fixes`, token, { fault: "crowding", overrule: "seen" })).data;
check(second.waiting === true, "a second one waits");
await bay.goto(`${house.origin}/bay.html#student/${back.id}`);
await bay.waitForSelector(".card[data-fault=crowding]");
check((await bay.textContent(".card[data-fault=crowding]")).includes(en["student.fix.waits"]), "and the bay says so");
check((await bay.textContent(".left")).includes("one cue at a time"), "beside what was left for whoever coaches next");

await bay.goto(`${house.origin}/bay.html#students`);
await bay.waitForSelector(".inbox:not([hidden]) li");
await bay.locator(".inbox [data-key=seen]").first().tap();
await bay.waitForFunction(() => document.querySelector(".inbox")?.hidden);
check(true, "seen, it waits no longer in this coach's bay");
await bay.waitForSelector(".today:not([hidden]) li");
const there = await bay.locator(".today li").allInnerTexts();
check(there[0].includes(back.name) && there[0].includes(en[`fault.${stuck.fault}`].slice(1)) && !there[0].includes(en["fault.crowding"].slice(1)) && there[0].includes("tires after twenty balls") && there.some((line) => line.includes(student.student_name)),
  `who was on the tee today stands first, with the one fix and what was left: ${there[0].replace(/\s+/g, " ")}`);
await accessible(bay, "bay with today's students");
await targets(bay, "bay with today's students");
// A drill that was passed on three days: the bay proposes what comes next; three times on one day are no three days.
let days = [1, 1, 1];
await bay.route("**/v1/students/*/homework", async (route) => {
  const response = await route.fetch();
  const sheet = await response.json();
  Object.assign(sheet.homework[0], { paused: null, ticks: days.map((n) => ({ done_at: `2026-05-0${n}T10:00:00Z`, account_id: null, comment: null, passed: { of: 10, n: 8 }, pain: null })) });
  sheet.homework[0].dose.pass = { n: 8, of: 10 };
  Object.assign(sheet.homework[0].drill, { pass: { n: 8, of: 10, what: "turns" }, next: { id: "stick-along-the-toes", name: "Stick along the toes" } });
  await route.fulfill({ response, json: sheet });
});
const proposed = en["care.nextStep"].other.replace("{n}", "3").replace("{drill}", "Stick along the toes");
for (const wanted of [false, true]) {
  await bay.goto(`${house.origin}/bay.html#students`);
  await bay.waitForSelector(".today:not([hidden]) li");
  await bay.goto(`${house.origin}/bay.html#student/${back.id}`);
  await bay.waitForSelector(".care h3");
  check((await bay.textContent(".care")).includes(proposed) === wanted, `passed on the days ${days.join(", ")}, the next step is ${wanted ? "" : "not "}proposed`);
  days = [1, 2, 3];
}
await bay.unroute("**/v1/students/*/homework");
await bay.goto(`${house.origin}/bay.html#students`);
await bay.waitForSelector(".today:not([hidden]) li");
quiet(bay, "bay");

const desk = await open(chromium, house.origin, { locale: "de-DE" });
await signIn(desk, house.origin, "head", house.password);
await desk.waitForSelector(".inbox:not([hidden]) li");
check((await desk.textContent("#inbox-title")) === de["care.waits"].other.replace("{n}", "4"), "at the desk it waits still, beside two fixes that were opened against something, in German for a German");
await accessible(desk, "desk with an inbox");
await targets(desk, "desk with an inbox");
await keep(desk, "desk-inbox");
await desk.locator(".inbox li a", { hasText: student.student_name }).first().click();
await desk.waitForSelector(".care article");
check((await desk.textContent(".care")).includes("it pinches on the stairs too"), "the story has the words");
await desk.locator("[data-key=sore]").click();
await desk.getByLabel(de["area.hip"], { exact: true }).check();
await desk.locator("[data-key=sore-sure]").click();
await desk.waitForFunction((word) => document.querySelector(".sore strong")?.textContent.includes(word), de["area.hip"]);
check(true, "and the head enters what hurts there");
await accessible(desk, "desk story with pain");
await targets(desk, "desk story with pain");
await keep(desk, "desk-story-pain");
quiet(desk, "desk");

// What others do in the meantime comes by itself, to the bay and to the desk.
await bay.waitForSelector(".today:not([hidden]) li");
await bay.evaluate(() => { window.stayed = true; });
const watching = await open(chromium, house.origin, { locale: "en-GB" });
await signIn(watching, house.origin, "head", house.password);
await watching.waitForSelector(".inbox:not([hidden]) li");
const waiting = await watching.locator(".inbox li").count();
await watching.locator(".inbox [data-key=seen]").first().focus();
const stood = await watching.evaluate(() => document.activeElement.getAttribute("aria-label"));
await house.call("POST", `/v1/students/${back.id}/notes`, token, { text: "Told while you were looking.", readers: [] });
await bay.waitForFunction(() => document.querySelector(".today")?.textContent.includes("Told while you were looking."));
const theirs = (await house.call("GET", `/v1/students/${student.student_id}/homework`, head)).data.homework.find((work) => !work.ended);
await house.call("POST", `/v1/homework/${theirs.id}/done`, await house.token("student05"), { comment: "Told while you were looking." });
await bay.waitForSelector(".inbox:not([hidden]) li");
check((await bay.textContent(".inbox")).includes("Told while you were looking.") && (await bay.evaluate(() => window.stayed)), "what a student tells meanwhile stands in the open bay by itself, and so does another coach's note");
await watching.waitForFunction((before) => document.querySelectorAll(".inbox li").length > before, waiting);
check((await watching.textContent(".inbox")).includes("Told while you were looking."), "and on the open desk");
check((await watching.evaluate(() => document.activeElement.getAttribute("aria-label"))) === stood, "where whoever stood on a button still stands on it");
quiet(watching, "a desk that is told");
await watching.context().close();
quiet(bay, "a bay that is told");

// The other coach answers from the inbox: before that there is no page of the student to open, and after it there is.
const next = await open(chromium, house.origin, { size: tablet, touch: true });
await signIn(next, house.origin, other.sign_in, house.password);
const offer = next.locator(".inbox li.card", { hasText: "one cue at a time" });
await offer.waitFor();
check((await offer.locator("a.who, [data-key=seen]").count()) === 0 && (await offer.textContent()).includes(back.name), "what is offered names the student, whose page is not open yet");
await accessible(next, "a hand-over in the inbox");
await targets(next, "a hand-over in the inbox");
await next.goto(`${house.origin}/bay.html#student/${back.id}`);
await next.waitForFunction(() => document.querySelector("#wrong").textContent !== "");
await next.locator("#room a.button").tap();
await offer.locator("[data-key=hand-accepted]").tap();
await offer.waitFor({ state: "detached" });
const heir = (await house.call("GET", path, await house.token(other.sign_in))).status;
const former = (await house.call("GET", path, token)).status;
check(heir === 200 && former === 404, `one tap takes the student on (${heir}, ${former})`);
const late = (await house.call("POST", `${path}/handovers`, await house.token(other.sign_in), { to: account.id, note: "back to you", stays: true })).data;
const returned = bay.locator(".inbox li.card", { hasText: "back to you" });
await bay.goto(`${house.origin}/bay.html#students`);
await returned.waitFor();
await house.call("PATCH", `/v1/handovers/${late.id}`, head, { status: "declined" }, { "If-Match": '"1"' });
await returned.locator("[data-key=hand-accepted]").tap();
await returned.waitFor({ state: "detached" });
check((await house.call("GET", path, token)).status === 404, "what the head has answered meanwhile is told, and goes");
quiet(next, "a hand-over");

await chromium.close();
await house.end();
finish("pages_pain");
