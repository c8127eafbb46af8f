// The front door in a real browser: signing in by role, a wrong password, a first password, the second language.
import { accessible, browser, check, club, finish, keep, open, phone, quiet, settled, signIn, targets } from "./support.mjs";

const house = await club();
const chromium = await browser();

const page = await open(chromium, house.origin, { size: phone, touch: true });
await page.goto(house.origin);
await page.waitForSelector("#language option", { state: "attached" });
check((await page.title()) === "Sign in · Leadside", "the front door has its title");
await accessible(page, "front");
await targets(page, "front");
await keep(page, "front-phone");

await page.fill("#name", "coach1");
await page.fill("#password", "not this one");
await page.click("#enter button");
await page.waitForFunction(() => document.querySelector("#wrong").textContent !== "");
check((await page.textContent("#wrong")) === "The name or the password is wrong.", "a wrong password is said so");

const head = await house.token("head");
const made = await house.call("POST", "/v1/accounts", head, { role: "coach", name: "Wren Halloway", sign_in: "wren" });
await signIn(page, house.origin, "wren", made.data.password);
await page.waitForSelector("#fresh:not([hidden])");
check(true, "a password that somebody else chose must be changed first");
await page.fill("#new", "password1234");
await page.click("#fresh button");
await page.waitForFunction(() => document.querySelector("#wrong").textContent !== "");
check((await page.textContent("#wrong")).includes("12 characters"), "a common password is refused, and why");
await page.fill("#new", "four tidy larks");
await page.click("#fresh button");
await page.waitForURL("**/bay.html");
check(true, "and then the coach is at the bay");
quiet(page, "front");

// ---- a slow line ----

const slow = await open(chromium, house.origin);
let answer;
const late = new Promise((resolve) => { answer = resolve; });
await slow.route("**/v1/me", async (route) => {
  await late;
  await route.continue();
});
await slow.goto(house.origin);
await slow.waitForSelector("#language option", { state: "attached" });
await slow.fill("#name", "coach1");
await slow.focus("#password");
await slow.keyboard.type("half a pass");
const told = slow.waitForResponse("**/v1/me");
answer();
await told;
await slow.waitForTimeout(300);
await slow.keyboard.type("word");
check((await slow.inputValue("#name")) === "coach1" && (await slow.inputValue("#password")) === "half a password", "who types the password is not moved to another field by a late answer");
quiet(slow, "a slow line");

for (const [name, place] of [["head", "desk"], ["coach1", "bay"], ["student01", "home"], ["guardian01", "home"]]) {
  const other = await open(chromium, house.origin);
  await signIn(other, house.origin, name, house.password);
  await other.waitForURL(`**/${place}.html`);
  check(true, `${name} comes to ${place}.html`);
  await other.context().close();
}

// A student joins by a one-time link on a phone.
const student = await house.call("POST", "/v1/students", head, { name: "Linnet Tallowmere", hand: "right" });
const fresh = await house.call("POST", "/v1/accounts", head, { role: "student", name: "Linnet Tallowmere", sign_in: "linnet", student_id: student.data.id });
const link = await house.call("POST", `/v1/accounts/${fresh.data.id}/link`, head, {});
check(link.status === 201 || link.status === 200, `a one-time link is made (${link.status})`);
const linnet = await open(chromium, house.origin, { size: phone, touch: true });
await linnet.goto(house.origin + link.data.url_path);
await linnet.waitForSelector("#fresh:not([hidden])");
await accessible(linnet, "joining");
check(!linnet.url().includes("join"), "the token leaves the address at once");
await linnet.fill("#new", "a password of my own");
await linnet.tap("#fresh button");
await linnet.waitForSelector("#joined:not([hidden])");
check((await linnet.textContent("#joined-name")) === "linnet", "she is told the name that she signs in with from now on");
await accessible(linnet, "joined");
await linnet.tap("#joined button");
await linnet.waitForURL("**/home.html");
check(true, "a student joins by a one-time link and is at the homework");
quiet(linnet, "joining");
const again = await open(chromium, house.origin, { size: phone });
await again.goto(house.origin + link.data.url_path);
await again.waitForSelector("#fresh:not([hidden])");
await again.fill("#new", "another password");
await again.click("#fresh button");
await again.waitForFunction(() => document.querySelector("#wrong").textContent !== "");
check(true, `the link opens once: ${await again.textContent("#wrong")}`);
check((await again.isVisible("#enter")) && !(await again.isVisible("#fresh")), "and who has a password already can sign in there");
check((await again.evaluate(() => document.activeElement.id)) === "name", "the name is where one types");
check((await again.textContent("#forgot")).includes("new link"), "a forgotten password: the page says whom to ask");

const german = await open(chromium, house.origin, { locale: "de-DE", size: phone });
await german.goto(house.origin);
await german.waitForFunction(() => document.documentElement.lang === "de");
check((await german.textContent("#enter button")) === "Anmelden", "a German browser is spoken to in German");
await german.selectOption("#language", "en");
await german.waitForFunction(() => document.documentElement.lang === "en");
check((await german.textContent("#enter button")) === "Sign in", "and the reader may choose");
quiet(german, "front in German");

// German words are longer: no page is wider than the phone it is read on.
for (const [name, place, rooms] of [
  ["head", "desk", ["inbox", "coaches", "students", "accounts", "devices", "drills", "standard", "audit"]], ["coach1", "bay", ["students", "outbox"]], ["student01", "home", [""]],
]) {
  const long = await open(chromium, house.origin, { locale: "de-DE", size: phone });
  await signIn(long, house.origin, name, house.password);
  await long.waitForURL(`**/${place}.html`);
  for (const room of rooms) {
    await long.goto(`${house.origin}/${place}.html#${room}`);
    await long.reload();
    await settled(long);
    await long.waitForSelector("#room h2, #drills > *");
    const over = await long.evaluate(() => document.documentElement.scrollWidth - innerWidth);
    check(over <= 0, `${place}${room && ` ${room}`} in German fits a phone${over > 0 ? ` -- ${over} px too wide` : ""}`);
  }
  quiet(long, `${place} in German`);
  await long.context().close();
}

await chromium.close();
await house.end();
finish("pages_front");
