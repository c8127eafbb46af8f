// The head's desk: what waits, 500 students and fast filters, a coach's page, a story, accounts, tablets, drills, the standard.
import { writeFileSync } from "node:fs";

import { accessible, browser, check, club, finish, keep, open, phone, quiet, settled, signIn, tablet, targets } from "./support.mjs";
import { en } from "./words.mjs";

const STUDENTS = 500;
const PAGE = 100;
const MANY = 20000;
const FILTER_MS = 200;

const house = await club();
const token = await house.token("head");
const { students } = (await house.call("GET", "/v1/students?limit=200", token)).data;
const first = students[0];
const kept = async (path) => (await house.call("GET", path, token)).etag;
await house.call("PATCH", `/v1/students/${first.id}`, token, { pain: ["knee"] }, { "If-Match": await kept(`/v1/students/${first.id}`) });
let made = students.length;
while (made < STUDENTS) {
  const answer = await house.call("POST", "/v1/students", token, { name: `Invented Student ${made}`, hand: made % 2 ? "left" : "right" });
  if (answer.status === 201) made++;
  else await new Promise((resolve) => setTimeout(resolve, 1000 * Number(answer.status === 429)));
}

const chromium = await browser();
const page = await open(chromium, house.origin);
await signIn(page, house.origin, "head", house.password);

// First what waits, and who needs a look.
const looks = (test) => page.locator(`.looks a[href="#students?test=${test}"]`);
await looks("nobody").filter({ hasNotText: "…" }).waitFor(); // all are read
check((await page.locator("#rooms [aria-current=page]").textContent()) === en["desk.inbox"], "the first page is what waits");
check(parseInt(await looks("nobody").textContent(), 10) >= STUDENTS - students.length, "and says how many students have no coach");
await accessible(page, "desk inbox");
await targets(page, "desk inbox");
await keep(page, "desk-first");
await looks("pain").click();
await page.waitForSelector("tbody tr");
check((await page.textContent("tbody")).includes(first.name), "who is sore is one click away");
check((await page.inputValue(".filters [name=test]")) === "pain", "as a filter that the address carries");

// Then people: a hundred rows at a time, filters and order that are there again on the way back.
const rows = () => page.locator("tbody tr").count();
await page.goto(`${house.origin}/desk.html#students`);
await page.waitForFunction((text) => document.querySelector("[role=status]")?.textContent === text, `${STUDENTS} students of ${STUDENTS}`);
check((await rows()) === PAGE, `${PAGE} of ${STUDENTS} students stand in the table`);
await page.getByRole("button", { name: en["desk.after"] }).click();
check((await page.textContent("#room")).includes(`Page 2 of ${STUDENTS / PAGE}`), "and the next ones a page further");
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
const choose = (test) => page.locator(".filters [name=test]").selectOption(test);
await choose("never");
const never = await page.textContent("[role=status]");
await choose("forgotten");
const forgotten = await page.textContent("[role=status]");
check(parseInt(never, 10) >= STUDENTS - students.length && parseInt(forgotten, 10) < parseInt(never, 10), `who never began (${never}) is not forgotten (${forgotten})`);
await choose("nobody");
check((await rows()) > 0 && (await page.textContent("tbody tr")).includes(en["desk.nobody"]), "nobody's students are a filter");
await choose("");
await page.getByRole("button", { name: en["desk.column.since"] }).click();
check((await page.locator("th[aria-sort=ascending]").textContent()) === en["desk.column.since"] && !(await page.locator("tbody tr td").nth(2).textContent()).includes("–"),
  "sorted by how long, who has no fix comes last");
await page.getByRole("button", { name: en["desk.column.since"] }).press("Enter");
check((await page.locator("th[aria-sort=descending]").count()) === 1 && !(await page.locator("tbody tr td").nth(2).textContent()).includes("–"), "the other way too");
await page.locator(".filters [name=coach]").selectOption({ index: 2 });
const asked = new URL(page.url()).hash;
await keep(page, "desk-students");
await page.locator("tbody a").first().click();
await page.waitForSelector(".story");
await page.goBack();
await page.waitForSelector("tbody tr");
check(new URL(page.url()).hash === asked && (await page.locator(".filters [name=coach]").inputValue()) !== "" && (await page.locator("th[aria-sort=descending]").count()) === 1,
  "filters and order are there again on the way back");

// Twenty thousand students: the page's own share, with pages of the list that the test makes up.
const real = (await house.call("GET", "/v1/overview?limit=1", token)).data;
const invented = (i) => ({ ...real.students[0], student_id: `02a06c00-0000-7000-8000-${String(i).padStart(12, "0")}`, name: `Invented ${String((i * 7919) % MANY).padStart(5, "0")}` });
const crowd = await open(chromium, house.origin);
await signIn(crowd, house.origin, "head", house.password);
await crowd.waitForSelector(".looks a");
await crowd.route("**/v1/overview?limit=200*", (route) => {
  const from = Number(new URL(route.request().url()).searchParams.get("after") ?? 0);
  const next = from + 200 < MANY ? { Link: `</v1/overview?limit=200&after=${from + 200}>; rel="next"` } : {};
  return route.fulfill({ status: 200, headers: { "Content-Type": "application/json", ...next }, body: JSON.stringify({ coaches: real.coaches, students: Array.from({ length: 200 }, (_, i) => invented(from + i)) }) });
});
await crowd.goto(`${house.origin}/desk.html#students`);
await crowd.reload();
await crowd.waitForSelector("tbody tr");
check((await crowd.textContent("[role=status]")).includes("on their way"), "of many the first are shown while the others come");
await crowd.waitForFunction((text) => document.querySelector("[role=status]").textContent === text, "20,000 students of 20,000");
const wait = (act, of) => crowd.evaluate(([sort, value]) => {
  const begun = performance.now();
  const search = document.querySelector("input[type=search]");
  if (sort) document.querySelectorAll("th button")[4].click();
  else search.value = value;
  if (!sort) search.dispatchEvent(new Event("input", { bubbles: true }));
  document.querySelector("tbody").getBoundingClientRect();
  return performance.now() - begun;
}, [act, of]);
for (const [name, sort, value] of [["filter", false, "invented 1"], ["order", true, ""]]) {
  const best = Math.min(await wait(sort, value), await wait(sort, value), await wait(sort, value));
  check(best < FILTER_MS, `a ${name} over ${MANY} students takes ${best.toFixed(0)} ms of ${FILTER_MS}`);
}
await crowd.context().close();

// A coach who is out of use, and students in the archive.
const accounts = (await house.call("GET", "/v1/accounts?limit=200", token)).data.accounts;
const coach = accounts.find((account) => account.sign_in === "coach1");
await house.call("POST", "/v1/me/confirm", token, { password: house.password });
await house.call("PATCH", `/v1/accounts/${coach.id}`, token, { disabled: true }, { "If-Match": `"${coach.version}"` });
await house.call("PATCH", `/v1/students/${first.id}`, token, { archived: true }, { "If-Match": await kept(`/v1/students/${first.id}`) });
await page.goto(`${house.origin}/desk.html#students?test=unled`);
await page.reload();
await page.waitForSelector("tbody tr");
check((await page.textContent("tbody")).includes(coach.name), "whose only coach is out of use stands apart");
await choose("archived");
await page.waitForFunction((name) => document.querySelector("tbody").textContent.includes(name), first.name);
check((await rows()) === 1, "so does who is in the archive");

// A coach's page.
await page.goto(`${house.origin}/desk.html#coaches`);
await page.getByRole("link", { name: coach.name }).click();
await page.waitForSelector(".bars li");
check((await page.textContent("#room")).includes(en["desk.coach.isOff"]), "a coach's page says that the account is out of use");
await accessible(page, "desk coach");
await targets(page, "desk coach");
await keep(page, "desk-coach");
await page.locator("#room li a").first().press("Enter");
await page.waitForSelector("tbody tr");
check((await page.inputValue(".filters [name=coach]")) === coach.id, "from the figure to whose they are");

// On a phone the table begins within the first screen.
await page.setViewportSize(phone);
await page.goto(`${house.origin}/desk.html#students`);
await page.reload();
await page.waitForSelector("tbody tr");
await settled(page); // the rows are drawn anew as more of them come
check((await page.locator("tbody tr").first().boundingBox()).y < phone.height, "on a phone the first student is in sight");
await accessible(page, "desk students on a phone");
await targets(page, "desk students on a phone");
await keep(page, "desk-students-phone");
await page.setViewportSize(tablet);

await page.goto(`${house.origin}/desk.html#students?test=retest`);
await page.waitForSelector("tbody tr");
await page.locator("tbody a").first().click();
await page.waitForSelector(".story");
await accessible(page, "desk story");
await keep(page, "desk-story");

for (const room of ["agreement", "figures", "import", "accounts", "devices", "drills", "standard", "audit"]) {
  await page.goto(`${house.origin}/desk.html#${room}`);
  await page.waitForSelector("#room h2");
  await page.waitForFunction((text) => document.querySelector("#room h2")?.textContent === text, en[`desk.${room}`]);
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
await page.locator("#room p", { hasText: en["desk.job.done"] }).waitFor();
const trial = page.locator("#room table", { has: page.locator("caption") });
check((await trial.locator("tbody tr").count()) >= 1, "a trial says what would change");
// Leaving with what is not saved is asked about.
await page.locator("#rooms a[href='#drills']").click();
await page.locator("dialog.ask").waitFor();
check(page.url().endsWith("#standard"), "changes that are not saved are not left without a question");
await page.keyboard.press("Escape");
await page.waitForFunction(() => !document.querySelector("dialog"));
check((await limit.inputValue()) === "-20", "a no stays with them");
await page.getByLabel("Name of this version").fill("ours-2");
await page.locator("#room button.main").click();
await page.locator("dialog.ask tbody tr").waitFor();
check((await page.locator("dialog.ask tbody tr").allTextContents()).join("; ") === "Shaft above level, top: fine from-8.0°-20.0°", `saving asks back what changes, in words and units (${await page.locator("dialog.ask tbody").textContent()})`);
await accessible(page, "desk standard, asked");
await page.locator("[data-key=ask-sure]").click();
await page.waitForFunction(() => document.querySelector("#room").textContent.includes("Version 2 is in use"));
check((await house.call("GET", "/v1/standard", token)).data.standard.ranges.some((rule) => rule.ok_low === -20), "and the new standard counts");
// Its versions: who made each, one beside the one in use, and the way back, which is a third version.
const versions = page.locator("#room section, #room .wide").last().locator("tbody tr");
const listed = async () => (await versions.allTextContents()).map((text) => text.slice(0, 1)).join("");
check((await listed()) === "21" && (await versions.first().textContent()).includes(en["desk.version.inForce"]), "the versions are listed, newest first");
await page.getByRole("button", { name: "Compare version 1 with the one in use" }).click();
await page.locator("#room caption", { hasText: en["desk.changes"] }).waitFor();
check((await page.locator("#room table", { has: page.locator("caption", { hasText: en["desk.changes"] }) }).locator("tbody").textContent()).includes("fine from-8.0°-20.0°"), "two are compared in words with units");
await accessible(page, "desk standard, versions");
await page.getByRole("button", { name: "Go back to version 1" }).click();
await page.locator("dialog.ask").waitFor();
await page.keyboard.press("Escape");
await page.waitForFunction(() => !document.querySelector("dialog"));
check((await listed()) === "21", "a no goes back nowhere");
await page.getByRole("button", { name: "Go back to version 1" }).click();
await page.locator("[data-key=ask-sure]").click();
await page.waitForFunction(() => document.querySelector("#room").textContent.includes("Version 3 is in use"));
check((await limit.inputValue()) === "-8" && (await listed()) === "321", "going back is a third version, and the second stays");
// A wrong row is named in words.
await limit.fill("90");
await limit.press("Tab");
await page.locator("#room button", { hasText: "Try it" }).click();
await page.waitForFunction(() => document.querySelector("#said")?.textContent.startsWith("Shaft above level, top: "));
check(!(await page.textContent("#said")).includes("ranges["), `a wrong row is named in words (${await page.textContent("#said")})`);
await limit.fill("-8");
await limit.press("Tab");
// The club is scored anew, in the background and with a question first.
await page.locator("[data-key=rescore]").click();
await page.locator("[data-key=ask-sure]").click();
await page.locator("#room h3", { hasText: "Scoring anew by version 3" }).waitFor();
await page.locator("#room p", { hasText: en["desk.job.done"] }).waitFor({ timeout: 120000 });
check(parseInt((await page.locator("#room p", { hasText: "New reports" }).textContent()).replace(/\D+/, ""), 10) > 0, "every swing gets a further report");
await page.waitForFunction(() => parseInt(document.querySelector("#room table.rows tbody tr td:nth-child(5)").textContent, 10) > 0);
check(true, "and the versions' table, which counted none by this one, counts them");
await keep(page, "desk-standard");
// What a version that is past said of a swing and of a lesson stands below what holds now.
const seen = students.find((row) => row.id === first.id) ?? first;
const judged = (await house.call("GET", `/v1/students/${seen.id}/swings?limit=1`, token)).data.swings[0];
const held = (await house.call("GET", `/v1/students/${seen.id}/lessons?limit=1`, token)).data.lessons[0];
for (const address of [`report/${judged.id}`, `lesson/${held.id}/${seen.id}`]) {
  await page.goto(`${house.origin}/bay.html#${address}`);
  await page.waitForSelector("[data-part=earlier]");
  await page.locator("[data-part=earlier] summary").click();
  await page.locator("[data-key=then-2]").click();
  await page.locator("[data-part=earlier] [role=status]", { hasText: en["report.then.none"] }).waitFor();
  await page.locator("[data-key=then-1]").click();
  await page.waitForSelector(".then");
  check((await page.textContent(".then")).includes("version 1") && (await page.locator("[data-part=earlier], .other, [data-key=give]").count()) === 0, `${address.split("/")[0]}: as judged then, with nothing to be given from it`);
  await page.locator("[data-key=newest]").click();
  await page.waitForSelector("[data-part=earlier]");
}

await page.goto(`${house.origin}/desk.html#devices`);
await page.waitForFunction(() => document.querySelector("#room h2")?.textContent === "Tablets");
await page.fill("#room input", "Bay 3");
await page.click("#room form button");
await page.waitForFunction(() => localStorage.getItem("leadside.device"));
check(true, "the tablet in hand is enrolled");

// Accounts: found by name; what was made stands beside the name; nothing ends by one click.
await page.goto(`${house.origin}/desk.html#accounts`);
await page.waitForFunction(() => document.querySelector("#room h2")?.textContent === "Accounts");
await page.locator("#room .new summary").click();
await page.locator("#room form [name=name]").fill("Teasel Brook");
await page.locator("#room form [name=sign_in]").fill("teasel");
await page.locator("[data-key=make]").click();
await page.waitForSelector("code");
check((await page.textContent("code")).length >= 8, "a new coach's first password is shown once");
check((await page.locator("tr", { has: page.locator("code") }).textContent()).includes("Teasel Brook"), "beside the name");
const teasel = (await house.call("GET", "/v1/accounts?name=teasel&limit=5", token)).data.accounts[0];
const { students: juniors } = (await house.call("GET", "/v1/students?limit=200", token)).data;
const [one, two] = juniors.filter((student) => student.junior && !student.archived);
await page.locator("#room form [name=name]").fill("Sorrel Brook");
await page.locator("#room form [name=sign_in]").fill("sorrel");
await page.locator("#room form [name=role]").selectOption("guardian");
for (const junior of [one, two]) {
  await page.locator("#room form input[type=search]").fill(junior.name);
  await page.locator(`.picks input[value="${junior.id}"]`).check();
}
await accessible(page, "a guardian of two");
await page.locator("[data-key=make]").click();
await page.waitForFunction(() => document.querySelector("tbody tr").textContent.includes("Sorrel Brook"));
const guardian = (await house.call("GET", "/v1/accounts?name=sorrel&limit=5", token)).data.accounts[0];
check(guardian.students.length === 2 && guardian.students.includes(two.id), "a guardian stands for two juniors");
await page.locator("[name=seek]").fill("teasel");
await page.waitForFunction(() => document.querySelectorAll("tbody tr").length === 1);
check(page.url().endsWith("#accounts?name=teasel"), "an account is found by its name, which the address keeps");
const row = page.locator("tbody tr");
await row.locator("summary").click();
await row.locator("[data-key=link]").click();
await row.locator("code").waitFor();
check((await row.locator("code").textContent()).includes("/#join="), "a one-time link stands in the row it is for");
check((await row.locator("code").boundingBox()).y < tablet.height, "and in sight");
await row.locator("summary").click();
await row.locator("[data-key=password]").click();
await page.locator("[data-key=ask-stop]").click();
check((await house.call("GET", `/v1/accounts/${teasel.id}`, token)).data.version === teasel.version, "a new password is not made by one click");
await row.locator("[data-key=toggle]").click();
await page.locator("[data-key=undo]").click();
await page.waitForFunction(() => !document.querySelector("#undo"));
check((await house.call("GET", `/v1/accounts/${teasel.id}`, token)).data.disabled === null && !(await row.textContent()).includes(en["desk.account.off"]), "who was turned off by a wrong click is back");
await keep(page, "desk-accounts-found");
// Students out of a spreadsheet: every bad row is named, nobody is kept before it is said, and then all.
// The same file is chosen again when it was put right, as a person does.
const csv = async (text) => {
  writeFileSync(`${house.data}.csv`, text);
  const [chooser] = await Promise.all([page.waitForEvent("filechooser"), page.locator("[name=file]").click()]);
  await chooser.setFiles(`${house.data}.csv`);
};
const found = async (name) => (await house.call("GET", `/v1/students?name=${name}&limit=5`, token)).data.students.length;
await page.goto(`${house.origin}/desk.html#import`);
await page.waitForSelector("[name=file]");
await csv("name;hand\r\nMeadow Larkin;right\r\nPip Larkin;sideways\r\n");
await page.waitForSelector(".bad li");
check((await page.textContent(".bad")).includes("Row 3") && (await page.locator("[data-key=take]").count()) === 0, "a bad row is named, and nothing can be taken in");
await accessible(page, "desk import with a bad row");
await keep(page, "desk-import");
await csv("name;hand\r\nMeadow Larkin;right\r\nPip Larkin;left\r\n");
await page.locator("[data-key=take]").waitFor();
check((await found("Larkin")) === 0, "a look keeps nobody");
await page.locator("[data-key=take]").click();
await page.waitForFunction((text) => document.querySelector("#room [role=status]").textContent === text, "2 students were taken in.");
check((await found("Larkin")) === 2, "then all are there");
const another = accounts.find((account) => account.sign_in === "coach3");

// What is contested says so wherever it is named: in the figures, in the table of students, in its filter, on a coach's page, in a file and in the bay.
const [disputed] = (await house.call("GET", "/v1/students?limit=5&name=Meadow", token)).data.students;
await house.call("PUT", `/v1/students/${disputed.id}/team/${another.id}`, token);
check((await house.call("POST", `/v1/students/${disputed.id}/fixes`, token, { fault: "across_the_line", reason: "asked for", drills: [{ drill: "split-hands-at-the-top" }] })).status === 201, "a contested fix is opened");
const marked = en["fault.contested"].replace("{fault}", en["fault.across_the_line"]);
const bare = async (selector) => (await page.locator(selector).allTextContents()).filter((text) => text.toLowerCase().includes(en["fault.across_the_line"]) && !text.toLowerCase().includes(marked)).length;
const says = async (selector) => (await page.locator(selector).allTextContents()).some((text) => text.toLowerCase().includes(marked));
for (const [address, selector, where] of [["desk.html#students", "tbody tr, .filters option", "the table of students and its filter"], [`desk.html#coach/${another.id}`, ".bars li", "a coach's page"],
  [`desk.html#story/${disputed.id}`, ".story li, .story p", "a file"], [`bay.html#student/${disputed.id}`, "[data-fault] h4", "the student's room in the bay"]]) {
  await page.goto(`${house.origin}/${address}`);
  await page.reload();
  await page.waitForFunction(([room, text]) => [...document.querySelectorAll(room)].some((node) => node.textContent.toLowerCase().includes(text)), [selector, en["fault.across_the_line"]]);
  check((await says(selector)) && (await bare(selector)) === 0, `contested is said in ${where}`);
}
await page.goto(`${house.origin}/desk.html#figures`);
await page.waitForSelector("#room ul li");
check((await says("#room ul li")) && (await bare("#room ul li")) === 0, "and in the club's figures");
const often = (await page.locator("#room ul li").allTextContents()).map((line) => Number(line.split(": ").at(-1)));
check(often.length > 1 && often.every((n, i) => i === 0 || n <= often[i - 1]), "what is worked on most stands first");
await page.goto(`${house.origin}/desk.html#coaches`);
await page.locator("#room a[href='#accounts']").click();
await page.waitForSelector("#room details.new");
check(page.url().endsWith("#accounts"), "a new coach is found from the coaches");

// The swings that divide coaches, with their pictures.
const divided = (await house.call("GET", "/v1/overview?limit=200", token)).data.students.find((student) => student.team.includes(another.id) && student.last_swing);
const [swing] = (await house.call("GET", `/v1/students/${divided.student_id}/swings?limit=1`, token)).data.swings;
await house.call("PUT", `/v1/swings/${swing.id}/opinion`, await house.token("coach3"), { chicken_wing: "present" });
const opinion = await house.call("PUT", `/v1/swings/${swing.id}/opinion`, token, { chicken_wing: "absent" });
check(opinion.status < 300, "two have said what they see");
const dot = Buffer.from("iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNk+M9QDwADhgGAWjR9awAAAABJRU5ErkJggg==", "base64");
const put = await fetch(`${house.origin}/v1/swings/${swing.id}/stills/face_on-top`, { method: "PUT", headers: { Authorization: `Bearer ${token}`, "Content-Type": "image/png" }, body: dot });
let turned = 0; // away, for somebody else's long look goes on
await page.route("**/v1/drills/effect", (route) => (turned++ ? route.continue()
  : route.fulfill({ status: 429, headers: { "Retry-After": "1" }, contentType: "application/problem+json", body: JSON.stringify({ type: "urn:leadside:problem:busy", detail: "busy" }) })));
await page.goto(`${house.origin}/desk.html#agreement`);
await page.waitForSelector(".divided li");
check(turned === 2 && (await page.textContent("#wrong")) === "", "what the server was too busy for is asked for again by itself");
check((await page.textContent(".divided")).includes(another.name) && (await page.textContent(".divided")).includes(en["desk.agree.absent"]), "a swing that divides names who sees what");
check(put.ok && (await page.locator(".divided img").evaluate((image) => image.decode().then(() => image.naturalWidth))) === 1, `with its picture (${put.status})`);
await accessible(page, "desk agreement with a swing that divides");
await keep(page, "desk-divided");

// A coach leaves by the name written out; the students have somebody.
const leaving = accounts.find((account) => account.sign_in === "coach2");
await page.goto(`${house.origin}/desk.html#coach/${leaving.id}`);
await page.locator("#room summary").click();
await page.locator("[data-key=leave]").click();
await page.locator("dialog input").fill(leaving.name);
await page.locator("[data-key=ask-sure]").click();
await page.waitForFunction((text) => document.querySelector("#room").textContent.includes(text), en["desk.coach.isOff"]);
check((await house.call("GET", `/v1/accounts/${leaving.id}`, token)).data.disabled !== null, "a coach who leaves can sign in no more");
quiet(page, "desk");

await chromium.close();
await house.end();
finish("pages_desk");
