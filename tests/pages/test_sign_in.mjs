// My sign-in in a real browser: a second factor from its QR picture to the sign-in that asks for it, saying the password again
// before a link or a copy is given, a change of password and ending another phone. The picture is read by zbarimg, as a
// phone's camera would, and the codes are computed here (RFC 4226, RFC 6238).
import { execFileSync } from "node:child_process";
import { createHmac } from "node:crypto";
import { join } from "node:path";

import { accessible, browser, check, club, finish, keep, open, phone, quiet, shots, signIn, targets } from "./support.mjs";

const house = await club();
const chromium = await browser();

function bytesOf(base32) {
  const bits = [...base32].map((c) => "ABCDEFGHIJKLMNOPQRSTUVWXYZ234567".indexOf(c).toString(2).padStart(5, "0")).join("");
  return Buffer.from(bits.match(/.{8}/g).map((byte) => parseInt(byte, 2)));
}

function codeAt(secret, step) {
  const counter = Buffer.alloc(8);
  counter.writeBigUInt64BE(BigInt(step));
  const mac = createHmac("sha1", bytesOf(secret)).update(counter).digest();
  return String((mac.readUInt32BE(mac[19] & 15) & 0x7fffffff) % 1000000).padStart(6, "0");
}

let used = 0;
/** Codes of three steps are right at once, each a single time: the earliest that was not used. */
async function nextCode(secret) {
  const now = () => Math.floor(Date.now() / 30000);
  used = Math.max(used + 1, now() - 1);
  while (used > now() + 1) await new Promise((resolve) => setTimeout(resolve, 500));
  return codeAt(secret, used);
}

/** As if every session had been confirmed long ago. */
const stale = () => execFileSync("/usr/bin/python3", ["-c", `import sqlite3, sys
with sqlite3.connect(sys.argv[1] + "/leadside.db", timeout=10) as file: file.execute("UPDATE session SET confirmed_at = confirmed_at - 601000")`, house.data]);

const said = (page, place, text) => page.waitForFunction(([p, t]) => [...document.querySelectorAll(p)].some((node) => node.textContent.includes(t)), [place, text]);
const focused = (page) => page.evaluate(() => document.activeElement.type ?? document.activeElement.tagName);

// ---- setting it up ----

const desk = await open(chromium, house.origin);
await signIn(desk, house.origin, "head", house.password);
await desk.waitForURL("**/desk.html");
await desk.waitForSelector("#unguarded:not([hidden])");
check((await desk.textContent("#unguarded")).includes("second factor"), "a head without a second factor is reminded");
await desk.focus("#mine");
await desk.keyboard.press("Enter");
await desk.waitForSelector("dialog #factor");
await accessible(desk, "my sign-in");
await targets(desk, "my sign-in");
await desk.click("#factor button");
await desk.waitForSelector("img.qr");
await desk.waitForFunction(() => document.querySelector("img.qr").naturalWidth > 0);
check((await desk.evaluate(() => document.activeElement.tagName)) === "H3", "what is to be done is where the reader is");
await accessible(desk, "setting a second factor up");
await keep(desk, "second-factor");
const shot = join(shots, "second-factor-qr.png");
await desk.emulateMedia({ colorScheme: "dark" });
await desk.locator("img.qr").screenshot({ path: shot });
await desk.emulateMedia({ colorScheme: "light" });
const address = execFileSync("zbarimg", ["--quiet", "--raw", "-Sdisable", "-Sqrcode.enable", shot], { encoding: "utf8" }).trim();
const url = new URL(address);
const secret = url.searchParams.get("secret");
check(address.startsWith("otpauth://totp/Larkfield%20Heath:head?"), `a reader of QR pictures reads it, in dark mode too: ${address.replace(secret, "…")}`);
check((await desk.textContent("code.secret")).replaceAll(" ", "") === secret, "the text below is the same secret");
check(["SHA1", "6", "30"].join() === ["algorithm", "digits", "period"].map((name) => url.searchParams.get(name)).join(), "as apps expect it");
await desk.fill("#factor input", "12345");
await desk.click("#factor form button");
await said(desk, "#factor .wrong", "wrong");
check(true, "a wrong first code is said so");
await desk.fill("#factor input", await nextCode(secret));
await desk.keyboard.press("Enter");
await desk.waitForSelector("#recovery");
const recovery = await desk.locator("#recovery code").allTextContents();
check(recovery.length === 10 && new Set(recovery).size === 10, "ten recovery codes are shown");
await accessible(desk, "recovery codes");
await keep(desk, "recovery-codes");
await desk.click("#factor button");
await said(desk, "#factor p", "It is on");
check((await desk.locator("#recovery").count()) === 0, "and shown once");
await desk.keyboard.press("Escape");
await desk.waitForSelector("dialog", { state: "detached" });
await desk.waitForSelector("#unguarded", { state: "hidden" });
check(true, "the reminder is gone");
check((await desk.evaluate(() => document.activeElement.id)) === "mine", "closed, the reader is where they were");
quiet(desk, "setting up");

// ---- signing in with it ----

const second = await open(chromium, house.origin, { size: phone, touch: true });
await signIn(second, house.origin, "head", house.password);
await second.waitForSelector("#second:not([hidden])");
check((await second.evaluate(() => document.activeElement.id)) === "code", "the second step asks for the code, and is where one types");
await accessible(second, "the second step");
await targets(second, "the second step");
await second.fill("#code", "abcdef");
await second.click("#enter button");
await said(second, "#wrong", "This code is wrong");
check(true, "a wrong code is said so");
await second.fill("#code", await nextCode(secret));
await second.keyboard.press("Enter");
await second.waitForURL("**/desk.html");
check(true, "password and code open the desk");
quiet(second, "signing in");
const third = await open(chromium, house.origin, { locale: "de-DE" });
await signIn(third, house.origin, "head", house.password);
await third.waitForSelector("#second:not([hidden])");
await third.fill("#code", recovery[0].toUpperCase());
await third.click("#enter button");
await third.waitForURL("**/desk.html");
check(true, "so does a recovery code");

// ---- saying it again ----

stale();
await third.goto(`${house.origin}/desk.html#accounts`);
const linkOf = (page, row) => page.locator("tbody tr", { hasText: row }).locator("[data-key=link]");
await third.reload();
await third.locator("tbody tr", { hasText: "student01" }).locator("summary").click();
await linkOf(third, "student01").focus();
await third.keyboard.press("Enter");
await third.waitForSelector("dialog[open] #confirm-title");
check((await third.textContent("#confirm-title")) === "Sind Sie es?", "a link asks for the password again, in German too");
check((await focused(third)) === "password", "which is where one types");
await third.waitForFunction(() => [...document.querySelectorAll("dialog .field")].every((field) => !field.hidden));
await accessible(third, "saying it again");
await targets(third, "saying it again");
await keep(third, "confirm-german");
await third.keyboard.press("Escape");
await said(third, "#said", "Nichts wurde getan");
check((await third.locator("#room code").count()) === 0, "left, nothing is given");
check(await linkOf(third, "student01").evaluate((node) => node === document.activeElement), "and the reader is where they were");
await third.keyboard.press("Enter");
await third.waitForSelector("dialog[open] input[type=password]");
await third.keyboard.type("not this one at all");
await third.keyboard.press("Tab");
await third.keyboard.type(recovery[1]);
await third.keyboard.press("Enter");
await said(third, "dialog .wrong", "nicht Ihr Passwort");
check(true, "a wrong password is said so");
await third.fill("dialog input[type=password]", house.password);
await third.fill("dialog input[autocomplete=one-time-code]", await nextCode(secret));
await third.keyboard.press("Enter");
await third.waitForSelector("#room code");
check((await third.textContent("#room code")).includes("/#join="), "password and code: the link is there, without pressing again");
await third.locator("tbody tr", { hasText: "student02" }).locator("summary").click();
await linkOf(third, "student02").click();
await third.locator("tbody tr", { hasText: "student02" }).locator("code").waitFor();
check(true, "the next one within ten minutes asks nothing");
quiet(third, "saying it again");

// ---- a student's phone ----

const home = await open(chromium, house.origin, { size: phone, touch: true });
await signIn(home, house.origin, "student03", house.password);
await home.waitForURL("**/home.html");
await home.waitForSelector("#more:not([hidden])");
await home.tap("#more summary");
const lost = await house.call("POST", "/v1/sign-in", null, { sign_in: "student03", password: house.password });
stale();
await home.tap("#copy");
await home.waitForSelector("dialog[open] input[type=password]");
await home.fill("dialog input[type=password]", house.password);
const [file] = await Promise.all([home.waitForEvent("download"), home.tap("dialog button.main")]);
check((await file.suggestedFilename()) === "leadside.json", "a student saves a copy of everything, after saying the password again");
await home.tap("#mine");
await home.waitForSelector("dialog #elsewhere");
await accessible(home, "my sign-in on a phone");
await targets(home, "my sign-in on a phone");
await keep(home, "my-sign-in-phone");
check((await home.evaluate(() => document.documentElement.scrollWidth - innerWidth)) <= 0, "it fits the phone");
await home.tap("#elsewhere button");
await said(home, "#elsewhere", "Nowhere else");
check((await house.call("GET", "/v1/me", lost.data.token)).status === 401, "another phone is signed out from this one");
const fields = home.locator("dialog form").first().locator("input[type=password]");
await fields.nth(0).fill("not this one at all");
await fields.nth(1).fill("seven slow herons");
await home.locator("dialog form").first().locator("button").tap();
await said(home, "dialog .wrong", "you have now is wrong");
await fields.nth(0).fill(house.password);
await fields.nth(1).fill("password1234");
await home.locator("dialog form").first().locator("button").tap();
await said(home, "dialog .wrong", "not taken");
check(true, "a wrong old password and a common new one are said so");
await fields.nth(1).fill("seven slow herons");
await home.locator("dialog form").first().locator("button").tap();
await said(home, "dialog [role=status]", "Changed");
const now = await house.call("POST", "/v1/sign-in", null, { sign_in: "student03", password: "seven slow herons" });
check(now.status === 200, "the new password signs in");
quiet(home, "a student's sign-in");

const bay = await open(chromium, house.origin);
await signIn(bay, house.origin, "coach1", house.password);
await bay.waitForURL("**/bay.html");
await bay.click("#mine");
await bay.waitForSelector("dialog #factor");
check(true, "a coach reaches it from the bay");
quiet(bay, "the bay");

await chromium.close();
await house.end();
finish("pages_sign_in");
