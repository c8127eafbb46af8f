// The main job on a tablet by touch: a film, checkpoints, points, sticks, the camera check, sending, the report, the fix; and
// a range without network, with a server that is cut off in the middle.
import { en } from "./words.mjs";
import { accessible, browser, check, club, finish, keep, open, quiet, signIn, tablet, targets } from "./support.mjs";

const house = await club();
const chromium = await browser();
const page = await open(chromium, house.origin, { size: tablet, touch: true });

/** A film made in the browser: two seconds of a drawn player at 30 pictures a second. */
async function film(where) {
  const text = await where.evaluate(async () => {
    const canvas = document.createElement("canvas");
    canvas.width = 1280;
    canvas.height = 720;
    const pen = canvas.getContext("2d");
    const stream = canvas.captureStream(30);
    const recorder = new MediaRecorder(stream, { mimeType: "video/webm" });
    const parts = [];
    recorder.ondataavailable = (event) => parts.push(event.data);
    const stopped = new Promise((resolve) => recorder.addEventListener("stop", resolve));
    recorder.start();
    for (let i = 0; i < 60; i++) {
      pen.fillStyle = "#9fc79f";
      pen.fillRect(0, 0, 1280, 720);
      pen.fillStyle = "#222";
      pen.fillRect(560, 200, 60, 300);
      pen.fillRect(620, 330, 20 + i * 4, 12);
      pen.fillText(String(i), 20, 40);
      await new Promise((resolve) => setTimeout(resolve, 33));
    }
    recorder.stop();
    await stopped;
    const bytes = new Uint8Array(await new Blob(parts).arrayBuffer());
    return btoa(Array.from(bytes, (byte) => String.fromCharCode(byte)).join(""));
  });
  return { name: "swing.webm", mimeType: "video/webm", buffer: Buffer.from(text, "base64") };
}

/** Chooses a target by its words and taps the picture at a share of its width and height. */
async function mark(label, x, y) {
  await page.locator(".targets button", { hasText: label }).first().tap();
  const box = await page.locator(".stage img").boundingBox();
  await page.touchscreen.tap(box.x + x * box.width, box.y + y * box.height);
}

async function swingOf(name) {
  await page.goto(`${house.origin}/bay.html#students`);
  await page.locator(".names a", { hasText: name }).first().tap();
  await page.locator("button", { hasText: "New swing" }).tap();
  await page.waitForSelector("input[type=file]", { state: "attached" });
}

async function takeAddress() {
  await page.setInputFiles("input[type=file]", await film(page));
  await page.waitForSelector("input[type=range]");
  await page.locator("button", { hasText: "+10" }).tap();
  await page.locator("button", { hasText: "Use this frame for: address" }).tap();
  await page.waitForFunction(() => document.querySelectorAll(".strip .taken").length === 1);
  await page.locator(".strip button").first().tap();
  await page.waitForSelector(".stage img");
  await page.waitForFunction(() => document.querySelector(".inner").style.width);
}

// A row is a picture, a name, what is worked on: of who waits, and of everybody.
const token = await house.token("coach1");
const item = (await house.call("GET", "/v1/inbox", token)).data.inbox.find(({ open_fault: fault }) => fault);
const [newest] = (await house.call("GET", `/v1/students/${item.student_id}/swings?limit=1`, token)).data.swings;
const dot = Buffer.from("iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNk+M9QDwADhgGAWjR9awAAAABJRU5ErkJggg==", "base64");
const put = await fetch(`${house.origin}/v1/swings/${newest.id}/stills/face_on-top`, { method: "PUT", headers: { Authorization: `Bearer ${token}`, "Content-Type": "image/png" }, body: dot });
await signIn(page, house.origin, "coach1", house.password);
await page.waitForSelector(".names a");
const faces = (where) => page.locator(where, { hasText: item.student_name }).locator("img.face");
await faces(".names li").waitFor();
check(put.ok && (await faces(".inbox li").evaluate((image) => image.decode().then(() => image.naturalWidth))) === 1, `who waits has a picture (${put.status})`);
const beside = await page.locator(".names li", { hasText: item.student_name }).innerText();
check(beside.toLowerCase().includes(en[`fault.${item.open_fault}`].toLowerCase()) && /\d{4}/.test(beside), `a name does not stand alone: ${beside.replace(/\s+/g, " ")}`);
check((await page.locator(".names li span.face").count()) > 3, "who has no picture has letters");
await page.locator("input[type=search]").fill(item.student_name);
check((await page.locator(".names li").count()) === 1 && !(await page.locator(".inbox").isVisible()) && (await page.locator(".names a").boundingBox()).y < 300, "who is sought stands at the top, alone");
await page.locator("input[type=search]").fill("");
await accessible(page, "bay students");
await targets(page, "bay students");
await keep(page, "bay-students");
const who = (await page.locator(".names a").first().textContent()).trim();

await swingOf(who);
await accessible(page, "bay new swing");
check((await page.locator("[data-club][aria-pressed=true]").count()) === 0 && (await page.textContent(".settings > summary")).includes(en["bay.club.unsaid"].split(":")[0]), "no club is taken in silence");
check(await page.evaluate(() => {
  const head = document.querySelector(".bench-head");
  const tabs = [...head.querySelectorAll(".row > button")];
  const [said, high] = [tabs.map((tab) => tab.textContent), head.offsetHeight];
  for (const tab of tabs) tab.textContent += " (142)";
  const same = head.offsetHeight === high;
  tabs.forEach((tab, i) => { tab.textContent = said[i]; });
  return same;
}), "the head keeps its one line however many marks it counts: a picture that moves gets marks in a wrong place");
await page.locator('[data-club="iron 7"]').tap();
check((await page.locator("[data-club][aria-pressed=true]").count()) === 1 && !(await page.textContent(".settings > summary")).includes(en["bay.club.unsaid"].split(":")[0]), "once it is said it stands so");
await takeAddress();
check((await page.textContent(".check")).includes("sticks"), "without sticks the check asks for them");
await mark("grip", 0.52, 0.55);
await mark("clubhead", 0.6, 0.85);
await mark("stick at the feet, near end", 0.47, 0.93);
await mark("stick at the feet, far end", 0.494, 0.6);
await mark("stick at the ball, near end", 0.36, 0.93);
await mark("stick at the ball, far end", 0.469, 0.6);
const spoken = await page.textContent(".check");
check(/camera is well placed|Turn the tablet|Move the tablet|the tablet by/.test(spoken), `the camera check speaks before anything is sent: ${spoken.trim()}`);
await page.locator("[data-key=undo]").tap();
await mark("stick at the ball, far end", 0.469, 0.6);
await page.locator(".stage").press("ArrowLeft");
for (const [label, x, y] of [["neck", 0.47, 0.35], ["trail hip", 0.4, 0.52], ["lead hip", 0.42, 0.52], ["trail knee", 0.44, 0.7], ["trail ankle", 0.41, 0.88], ["upper end of the grip", 0.51, 0.5]]) {
  await mark(label, x, y);
}
await accessible(page, "bay marking");
await targets(page, "bay marking");
await keep(page, "bay-marking");
check((await page.textContent(".strip button")).includes("12 marks"), `the sheet counts its marks: ${(await page.textContent(".strip button")).trim()}`);

await page.locator(".settings > summary").tap();
await page.locator("summary", { hasText: "What you saw" }).tap();
await page.locator("label", { hasText: "The ball started" }).locator("xpath=../select").selectOption("left");
const scale = page.locator("label", { hasText: "Weight on the lead foot" }).first().locator("xpath=../input");
await scale.fill("34");
await scale.dispatchEvent("change");
await page.locator(".settings > summary").tap();
await page.locator("button", { hasText: "Send it" }).tap();
await page.waitForFunction(() => location.hash.startsWith("#report/"), null, { timeout: 20000 });
await page.waitForSelector("table", { state: "attached" });
check((await page.locator("tbody tr").count()) >= 2, "measures come back with their errors");
check(/weight on the lead foot/i.test(await page.textContent("main")), "the scale's reading is among them");
check((await page.textContent("main")).includes("±"), "no number without its margin");
await page.waitForFunction(() => document.querySelectorAll("#waiting:not([hidden])").length === 0, null, { timeout: 10000 });
await page.reload();
await page.waitForSelector(".still image");
const shown = await page.evaluate(async () => (await fetch(document.querySelector(".still image").getAttribute("href"))).ok);
check(shown, "the still came along, and the measured line stands on it");
check((await page.locator(".still .over").count()) >= 1 && (await page.locator(".still .range").count()) >= 1, "with the good range as a wedge");
await accessible(page, "bay report");
await targets(page, "bay report");
await keep(page, "bay-report");

// Another fix, with the coach's reason.
await page.locator(".other summary").tap();
await page.locator(".other select").selectOption("chicken_wing");
await page.locator(".other input").fill("seen on the tee all morning");
await page.locator(".other button").tap();
await page.waitForFunction(() => location.hash.startsWith("#student/") || document.querySelector("#said.urgent.shown"), null, { timeout: 10000 });
check((await page.evaluate(() => location.hash)).startsWith("#student/"), "a fix of the coach's own choice is given with its reason");
quiet(page, "bay");

// No network: the swing waits on the tablet, survives a closed page, and goes out once.
const student = (await house.call("GET", "/v1/students?limit=200", token)).data.students.find((item) => item.name === who);
const swings = async () => (await house.call("GET", `/v1/students/${student.id}/swings?limit=200`, token)).data.swings.length;
const before = await swings();
await page.waitForFunction(() => navigator.serviceWorker.controller !== null || navigator.serviceWorker.ready, null, { timeout: 10000 });
await page.evaluate(() => navigator.serviceWorker.ready);
await page.reload();
await page.waitForSelector("#room h2");
await swingOf(who);
await takeAddress();
await mark("grip", 0.52, 0.55);
await mark("clubhead", 0.6, 0.85);
await page.context().setOffline(true);
await house.stop("SIGKILL");
await page.locator("button", { hasText: "Send it" }).tap();
await page.waitForSelector("#waiting:not([hidden])");
check((await page.textContent("#waiting")) === "1 waiting", "without a network the swing waits and says so");
await page.reload();
await page.waitForSelector("#waiting:not([hidden])");
check(true, "the page opens without a network and the queue is still there");
await page.goto(`${house.origin}/bay.html#students`);
await page.waitForSelector(".names a");
check((await page.textContent("main")).includes("No network"), "the students last seen are shown, and their age");
await page.context().setOffline(false);
await house.start();
await page.evaluate(() => window.dispatchEvent(new Event("online")));
await page.waitForSelector("#waiting", { state: "hidden", timeout: 30000 });
check((await swings()) === before + 1, "the swing is there exactly once");

await chromium.close();
await house.end();
finish("pages_bay");
