// Children on the pages: a guardian sees, takes back and gives consent on a phone; the head sets a birth date right, sees who comes
// of age and who read what; a coach takes a child on by the date and records a consent; and a guardian whose child has grown up.
import { en } from "./words.mjs";
import { accessible, browser, check, club, finish, keep, open, phone, quiet, signIn, targets } from "./support.mjs";

const house = await club();
const head = await house.token("head");
const chromium = await browser();
const students = (await house.call("GET", "/v1/students?limit=200", head)).data.students;
const guardianName = "guardian01";
const guardian = await house.token(guardianName);
const [childId] = (await house.call("GET", "/v1/me", guardian)).data.students;
const child = students.find((student) => student.id === childId);
check(child.junior && /^\d{4}-\d\d-\d\d$/.test(child.birth_date), "the invented club's children have birth dates");
const consents = async () => (await house.call("GET", `/v1/students/${childId}/consents`, head)).data;

/** The part's scope. */
const scope = (page, name = "store_pictures") => page.locator(`[data-scope=${name}]`);

// The guardian, on a phone.
const page = await open(chromium, house.origin, { size: phone, touch: true });
await signIn(page, house.origin, guardianName, house.password);
await page.waitForSelector("#more:not([hidden])");
await page.locator("#more summary").tap();
await page.waitForSelector("[data-scope]");
check((await scope(page).textContent()).includes("Guardian (invented) said yes on"), "who agreed stands there");
await accessible(page, "home with consents");
await targets(page, "home with consents");
await keep(page, "home-consents");
await page.locator("[data-key=withdraw-store_pictures]").tap();
await page.waitForSelector("[data-key=give-store_pictures]");
check((await scope(page).textContent()).includes("Taken back on") && !(await consents()).pictures, "taken back with one tap");
check(await page.evaluate(() => document.activeElement.closest("[data-scope]")?.dataset.scope === "store_pictures"), "and the focus stays at it");
await page.locator("[data-key=give-store_pictures]").tap();
await page.waitForSelector("[data-key=withdraw-store_pictures]");
const given = await consents();
check(given.pictures && given.consents[0].counts && given.consents[0].by.startsWith("Guardian of"), "and given again in the account's own name");
quiet(page, "guardian's phone");

// The child itself may look, and is told who decides.
const own = await open(chromium, house.origin, { size: phone, locale: "de-DE" });
const childSignIn = (await house.call("GET", "/v1/accounts?limit=200", head)).data.accounts.find((account) => account.student_id === childId).sign_in;
await signIn(own, house.origin, childSignIn, house.password);
await own.waitForSelector("#more:not([hidden])");
await own.locator("#more summary").click();
await own.waitForSelector("[data-scope]");
check((await own.locator("[data-scope] button").count()) === 0 && (await own.textContent(".consents")).includes("Das entscheiden Ihre Sorgeberechtigten"), "a junior sees it and decides nothing alone, in German too");
quiet(own, "the child's own");

// The coach takes a child on by the date, and records what was said.
const desk = await open(chromium, house.origin);
const coach = await open(chromium, house.origin, { touch: true });
await signIn(coach, house.origin, "coach1", house.password);
await coach.waitForSelector("[data-key=newStudent]");
await coach.locator("[data-key=newStudent]").tap();
const form = coach.locator(".new-student");
await form.locator("input").first().fill("Fenn Testing");
const day = (years, days = 0) => {
  const date = new Date();
  date.setUTCFullYear(date.getUTCFullYear() - years);
  date.setUTCDate(date.getUTCDate() + days);
  return date.toISOString().slice(0, 10);
};
const agrees = coach.locator("label", { hasText: en["student.consent"] });
await form.locator("input[type=date]").fill(day(18));
check(!(await agrees.isVisible()), "18 today: nobody need agree");
await form.locator("input[type=date]").fill(day(18, 1));
check(await agrees.isVisible(), "18 tomorrow: a guardian is asked for");
await form.locator("input[type=date]").fill("");
await form.locator("input[type=number]").fill(String(new Date().getUTCFullYear() - 18));
check(await agrees.isVisible(), "nor is the year enough for it");
await form.locator("input[type=date]").fill(day(12));
await coach.locator("[data-key=add]").tap();
await coach.waitForSelector(".card .button.main");
const made = (await house.call("GET", "/v1/students?limit=200", head)).data.students.find((student) => student.name === "Fenn Testing");
check(made?.junior && made.birth_date === day(12) && made.consent === null, "the child is on the list, with the date");
await coach.locator(".card .button.main").tap();
await coach.waitForSelector("[data-key=give-store_pictures]");
const mayFilm = async () => [await coach.isVisible(".whose button.main"), await coach.isVisible("[data-part=unasked]")].join();
check((await mayFilm()) === "false,true", "a child whom nobody said yes for is not filmed: the page says so in the button's place");
await coach.locator("[data-part=unasked] button").tap();
check(await coach.evaluate(() => document.activeElement.closest("[data-scope]")?.dataset.scope === "store_pictures"), "and leads to the yes");
await accessible(coach, "bay with consents");
await targets(coach, "bay with consents");
await scope(coach).locator("input").first().fill("Rowan Testing");
await scope(coach).locator("input[type=date]").fill(`${new Date().getUTCFullYear() + 1}-12-31`);
await coach.locator("[data-key=give-store_pictures]").tap();
await coach.waitForSelector("[data-key=withdraw-store_pictures]");
check((await scope(coach).textContent()).includes("Rowan Testing said yes on") && (await scope(coach).textContent()).includes(", until"), "whose word it was, and until when");
check((await mayFilm()) === "true,false", "with the yes a swing can be taken at once");
const sound = students.find((student) => student.name === "Ivo Ashlark"); // the invented club's: all that could be judged is fine
const [{ id: fine }] = (await house.call("GET", `/v1/students/${sound.id}/lessons?limit=1`, head)).data.lessons;
await coach.goto(`${house.origin}/bay.html#lesson/${fine}/${sound.id}`);
await coach.waitForSelector(".lead");
check((await coach.textContent(".lead")) === en["report.nothing.fine"], "a swing in which nothing is wrong is called so, and not uncertain");
quiet(coach, "coach");

// The head.
await signIn(desk, house.origin, "head", house.password);
await desk.waitForSelector("#room h2");
await desk.goto(`${house.origin}/desk.html#story/${made.id}`);
await desk.waitForSelector(".birth summary");
await desk.locator(".birth summary").click();
await accessible(desk, "desk story with birth and consents");
await targets(desk, "desk story with birth and consents");
await keep(desk, "desk-child");
await desk.locator(".birth input[type=date]").fill("");
await desk.locator(".birth input[type=number]").fill(String(new Date().getUTCFullYear() - 18));
await desk.locator("[data-key=birth]").click();
await desk.waitForFunction((year) => document.querySelector(".birth summary")?.textContent.includes(year), String(new Date().getUTCFullYear() - 18));
const changed = (await house.call("GET", `/v1/students/${made.id}`, head)).data;
check(changed.junior && changed.birth_date === null && changed.birth_year === new Date().getUTCFullYear() - 18, "the head leaves the year alone");
await desk.goto(`${house.origin}/desk.html#students`);
await desk.waitForSelector("tbody tr");
await desk.locator(".filters [name=test]").selectOption("ofAge");
check((await desk.textContent("tbody")).includes("Fenn Testing") && (await desk.textContent("tbody")).includes("of age from"), "and sees who comes of age this year");
await house.call("GET", `/v1/students/${made.id}/export`, head);
const practice = students.find((student) => student.name === "Perrin Hazelmere");
const who = (await house.call("GET", "/v1/accounts?limit=200", head)).data.accounts.find((account) => account.student_id === practice.id);
const pupil = await house.token(who.sign_in);
const [drill] = (await house.call("GET", "/v1/me/homework", pupil)).data.homework;
const tick = (await house.call("POST", `/v1/homework/${drill.id}/done`, pupil, {})).data.id;
await house.call("DELETE", `/v1/homework/${drill.id}/done/${tick}`, pupil);
await desk.goto(`${house.origin}/desk.html#audit`);
await desk.waitForFunction(() => document.querySelector("#room table th"));
await desk.waitForTimeout(200);
const audit = await desk.textContent("#room table");
for (const words of ["exported everything", "consent given", "consent taken back", "read the list", "Fenn Testing", "date of birth and year of birth"]) check(audit.includes(words), `the audit says: ${words}`);
const undone = (await desk.locator("#room tbody tr").allTextContents()).find((row) => row.includes(en["desk.deed.untick"]));
check(undone?.includes(practice.name) && !undone.includes("consent"), `a tick that was taken back is no consent taken back (${undone})`);
await accessible(desk, "desk audit with whose");
quiet(desk, "desk");

// The child grows up: the guardian is told so.
const now = (await house.call("GET", `/v1/students/${childId}`, head)).data;
const grown = await house.call("PATCH", `/v1/students/${childId}`, head, { birth_date: day(18) }, { "If-Match": `"${now.version}"` });
check(grown.status === 200 && !grown.data.junior, "18 today");
await page.reload();
await page.waitForSelector("#notice:not([hidden])");
const over = await page.textContent("#notice");
check(["home.ended", "home.ended.why", "home.ended.consent"].every((key) => over.includes(en[key])) && (await page.textContent("#wrong")) === "", "the guardian's page says in plain words why it is empty");
check((await page.locator("main > :visible").count()) === 1, "and shows nothing else");
await accessible(page, "home of a guardian whose right has ended");
await keep(page, "home-ended");
check(!(await page.textContent("body")).includes("?student="), "and not in the server's");

// And the grown-up is asked what the guardian agreed to.
const adult = await open(chromium, house.origin, { size: phone, touch: true });
await signIn(adult, house.origin, childSignIn, house.password);
await adult.waitForSelector("#notice:not([hidden])");
check((await adult.textContent("#notice")).includes(en["home.ofAge"]), "who is of age is told so");
await accessible(adult, "home of somebody who came of age");
await targets(adult, "home of somebody who came of age");
await keep(adult, "home-of-age");
await adult.locator("[data-key=decide]").tap();
await adult.locator("[data-key=give-store_pictures]").tap();
await adult.waitForSelector("[data-key=withdraw-store_pictures]");
check((await consents()).pictures, "and decides");
await adult.reload();
await adult.waitForSelector("#more:not([hidden])");
check(await adult.locator("#notice").isHidden(), "after that nothing is asked any more");
quiet(adult, "somebody who came of age");

await chromium.close();
await house.end();
finish("pages_children");
