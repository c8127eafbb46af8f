// From two films to a report: a swing of known truth, filmed by two drawn cameras, goes through the bay as a coach would take
// it. By touch with every picture, then by keyboard alone. What comes back is held against the truth the films were drawn from.
import { execFileSync } from "node:child_process";
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { fileURLToPath } from "node:url";

import { en } from "./words.mjs";
import { asked } from "../../server/pages/bay/catalogue.js";
import { accessible, browser, build, check, club, finish, keep, open, phone, quiet, signIn, skip, tablet, targets } from "./support.mjs";

const FAULT = "inside_takeaway";
const folder = join(build, "films");
try {
  execFileSync("ffmpeg", ["-version"], { stdio: "ignore" });
} catch {
  skip("ffmpeg is not installed: no film can be made");
  finish("film");
}
execFileSync("/usr/bin/python3", [fileURLToPath(new URL("film.py", import.meta.url)), folder, FAULT], { stdio: "inherit" });
const truth = JSON.parse(readFileSync(join(folder, "truth.json"), "utf8"));
for (const kind of ["down_the_line", "face_on"]) {
  const read = Object.keys(asked(kind)); // the other pictures are not asked for
  truth[kind].frames = Object.fromEntries(read.map((checkpoint) => [checkpoint, truth[kind].frames[checkpoint]]));
}
const FILMS = { down_the_line: "behind.mp4", face_on: "front.mp4" };
const name = (key) => en[key];

const house = await club(); // without the pose library: by hand from end to end
const chromium = await browser();
const page = await open(chromium, house.origin, { size: tablet, touch: true });
let taps = 0;
let marks = 0;
const tap = (locator) => { taps++; return locator.tap(); };
const button = (text) => page.locator("button", { hasText: text }).first();
const key = (value) => page.locator(`[data-key="${value}"]`).first();
const settings = () => tap(page.locator(".settings > summary"));

/** The draft as the page keeps it. */
const draft = (where = page) => where.evaluate(async () => {
  const { findDraft } = await import("/bay/draft.js");
  const kept = await findDraft(location.hash.split("/")[1]);
  return Object.fromEntries(Object.entries(kept.views).map(([kind, { rate, fps, frames }]) =>
    [kind, { rate, fps, frames: Object.fromEntries(Object.entries(frames).map(([c, f]) => [c, { picture: f.picture, sure: f.sure }])) }]));
});

/** The number drawn into each still, read from its pixels. */
const numbers = (kind) => page.evaluate(async ({ view, square }) => {
  const { findDraft } = await import("/bay/draft.js");
  const kept = await findDraft(location.hash.split("/")[1]);
  const out = {};
  for (const [checkpoint, frame] of Object.entries(kept.views[view].frames)) {
    const picture = await createImageBitmap(frame.still);
    const canvas = new OffscreenCanvas(picture.width, picture.height);
    const pen = canvas.getContext("2d");
    pen.drawImage(picture, 0, 0);
    const bit = (n) => pen.getImageData(8 + (n + 0.5) * square, picture.height - 8 - square / 2, 1, 1).data[1] > 127;
    out[checkpoint] = Array.from({ length: 10 }, (_, n) => (bit(n) ? 2 ** n : 0)).reduce((a, b) => a + b);
  }
  return out;
}, { view: kind, square: truth.square });

async function choose(kind) {
  await tap(key(kind));
  const chooser = page.waitForEvent("filechooser");
  await tap(key("choose"));
  await (await chooser).setFiles(join(folder, FILMS[kind]));
  await page.waitForSelector(".view input[type=range]");
  await page.waitForFunction(() => document.querySelector(".at")?.textContent);
  await page.waitForFunction((kind) => document.querySelector(`.bench-head [data-key="${kind}"]`).getAttribute("aria-pressed") === "true", kind);
}

/** Steps from where the film stands to a picture, by the coach's buttons. */
async function stepTo(wanted) {
  for (;;) {
    const now = Number(/frame (\d+)/.exec(await page.locator(".at").textContent())[1]) - 1;
    if (now === wanted) return;
    const by = Math.abs(wanted - now) >= 6 ? 10 : 1;
    await tap(key(`step${wanted > now ? by : -by}`));
    await page.waitForFunction((before) => !document.querySelector(".at").textContent.startsWith(before), `frame ${now + 1} `);
  }
}

/** Taps the picture where the point lies that the page asks for, as it asks for one after the other: where it is drawn. */
async function markAll(kind, checkpoint) {
  const { width, height, points, sticks } = truth[kind];
  const at = Object.fromEntries(asked(kind)[checkpoint].map((point) => [name(`point.${point}`), points[checkpoint][point]]));
  if (kind === "down_the_line" && checkpoint === "address") {
    sticks.forEach((ends, i) => ends.forEach((uv, end) => { at[name(`bay.stick.${i ? "ball" : "feet"}${end ? "Far" : "Near"}`)] = uv; }));
  }
  let box = await page.locator(".stage img").boundingBox();
  const whole = await page.locator(".stage").boundingBox();
  const seen = ([u, v]) => box.x + (u / width) * box.width > whole.x && box.x + (u / width) * box.width < whole.x + whole.width && box.y + (v / height) * box.height > whole.y && box.y + (v / height) * box.height < whole.y + whole.height;
  if (!Object.values(at).every(seen)) { // the whole picture
    await tap(key("closer"));
    box = await page.locator(".stage img").boundingBox();
  }
  const count = Object.keys(at).length;
  for (let n = 0; n < count; n++) {
    const label = (await page.locator(".targets [aria-selected=true]").textContent()).replace(/^guess: |^✓ /, "");
    if (label === name("bay.flag")) return check(false, "a flag is asked for before the marks are done");
    const [u, v] = at[label] ?? [-1, -1];
    if (u < 0 || v < 0 || u > width || v > height) return check(false, `${kind}, ${checkpoint}: "${label}" is asked for and can't be seen`);
    taps++;
    await page.touchscreen.tap(box.x + (u / width) * box.width, box.y + (v / height) * box.height);
  }
  marks += count;
}

await signIn(page, house.origin, "coach1", house.password);
await page.waitForSelector(".names a");
const who = (await page.locator(".names a").first().textContent()).trim();
const token = await house.token("coach1");
const student = (await house.call("GET", "/v1/students?limit=200", token)).data.students.find((item) => item.name === who);
await house.call("PATCH", `/v1/students/${student.id}`, token, { hand: "right" });
const fresh = async (where = page) => {
  await where.goto(`${house.origin}/bay.html#students`);
  await where.locator(".names a", { hasText: who }).first().click();
  await where.locator("button", { hasText: name("bay.newSwing") }).click();
  await where.waitForSelector(".view");
};
await fresh();
await choose("down_the_line");
const alone = await page.locator(".strip button").evaluateAll((all) => all.map((node) => node.dataset.key));
check(alone.join() === Object.keys(asked("down_the_line", { both: false })).join(), `filmed from behind alone, ${alone.length} pictures are asked for`);
await choose("face_on");
for (const kind of ["down_the_line", "face_on"]) {
  const { taken, stored, frames } = truth[kind];
  await tap(key(kind));
  const shownParts = await page.locator(".strip section").evaluateAll((parts) => parts.map((part) => [...part.querySelectorAll("button")].map((button) => button.dataset.key)));
  check(shownParts.length === 3 && shownParts.flat().join() === Object.keys(frames).join(), `${kind}: asked for in three groups, and only what this view reads: ${shownParts.map((part) => part.length).join(" + ")}`);
  check((await draft())[kind]?.rate === stored, `${kind}: the film's own ${stored} pictures a second are read`);
  if (stored !== taken) {
    await settings();
    await page.locator("[data-field=rate]").selectOption(String(taken));
    await settings();
  }
  for (const [checkpoint, picture] of Object.entries(frames)) {
    await tap(key(checkpoint));
    await stepTo(picture);
    await tap(key("take"));
    await page.waitForFunction((text) => document.querySelector("#said")?.textContent === text, name("bay.taken").replace("{checkpoint}", name(`checkpoint.${checkpoint}`)));
  }
  if (kind === "down_the_line") {
    await accessible(page, "bay pictures taken");
    await targets(page, "bay pictures taken");
  }
  const shown = await numbers(kind);
  const wrong = Object.keys(frames).filter((c) => shown[c] !== frames[c]);
  check(wrong.length === 0, `${kind}: every picture taken is the very one stepped to${wrong.length ? ` -- ${wrong.map((c) => `${c} ${shown[c]} for ${frames[c]}`)}` : ""}`);
}

// A page that was closed: pictures and films are still there.
await page.reload();
await page.waitForFunction((n) => document.querySelectorAll(".strip .taken").length === n, Object.keys(truth.face_on.frames).length);
check((await key("face_on").getAttribute("aria-pressed")) === "true" && (await key("address").getAttribute("aria-pressed")) === "true", "after the page was closed the same picture is open");
await tap(key("down_the_line"));
await tap(key("top"));
await tap(key("again"));
await page.waitForFunction((n) => document.querySelector(".at")?.textContent.startsWith(`frame ${n} `), truth.down_the_line.frames.top + 1, { timeout: 20000 });
check(true, "and the film is at hand again, at its picture");

for (const kind of ["down_the_line", "face_on"]) {
  await tap(key(kind));
  for (const checkpoint of Object.keys(truth[kind].frames)) {
    await tap(key(checkpoint));
    await page.waitForFunction((label) => document.querySelector(".side > h3")?.textContent === label && document.querySelector(".inner")?.style.width, name(`checkpoint.${checkpoint}`));
    await markAll(kind, checkpoint);
    if (kind === "down_the_line" && checkpoint === "address") {
      const spoken = await page.textContent(".check");
      check(spoken.includes(name("check.good")), `two cameras that stand well are told so: ${spoken}`);
      await settings();
      await page.locator("[data-field=hand]").selectOption("left");
      check((await page.textContent(".check")) === name("check.rightHanded"), "a player of the other hand is told before anything is sent");
      await page.locator("[data-field=hand]").selectOption("right");
      await settings();
      check((await page.textContent(".check")) === name("check.good"), "and that it is right again");
      await keep(page, "bay-film-address");
    }
    if (kind === "face_on" && checkpoint === "impact") await keep(page, "bay-film-impact");
  }
}
console.log(`${marks} marks, ${taps} taps from the new swing on`);
await tap(button(name("bay.send")));
await page.waitForFunction(() => location.hash.startsWith("#report/"), null, { timeout: 30000 });
await page.waitForSelector(".still image");
check((await page.textContent(".card.first h3")).includes(name(`fault.${FAULT}`)), `what was drawn is found and is the first fix: ${await page.textContent(".card.first h3")}`);
await accessible(page, "bay film report");
await targets(page, "bay film report");
await keep(page, "bay-film-report");

const swing = (await page.evaluate(() => location.hash)).split("/")[1];
const sent = (await house.call("GET", `/v1/swings/${swing}`, token)).data.document;
for (const view of sent.views) {
  const { taken, width, height, frames } = truth[view.view];
  const long = Math.max(width, height);
  const across = (360 / Math.PI) * Math.atan((width / long) * Math.tan((31 * Math.PI) / 180));
  check(Math.abs(view.camera.hfov_deg - across) < 0.1, `${view.view}: ${across.toFixed(1)} degrees across a picture ${width} px wide`);
  const first = Math.min(...view.frames.map((frame) => frames[frame.checkpoint]));
  check(view.fps === taken && view.frames.every((frame) => Math.abs(frame.time_s - (frames[frame.checkpoint] - first) / taken) < 1e-3), `${view.view}: instants in real seconds, from the first picture taken`);
  const off = view.frames.flatMap((frame) => Object.entries(frame.points).map(([point, [u, v]]) => ({
    what: `${point} at ${frame.checkpoint}`,
    px: Math.hypot(u - truth[view.view].points[frame.checkpoint][point][0], v - truth[view.view].points[frame.checkpoint][point][1]),
  }))).sort((a, b) => b.px - a.px);
  check(off[0].px < 3, `${view.view}: ${off.length} marks land where they were tapped, ${off[0].px.toFixed(1)} px at worst (${off[0].what})`);
}
const report = (await house.call("GET", `/v1/swings/${swing}/report`, token)).data;
const held = report.measures.map((item) => ({ ...item, true: truth.measures[item.checkpoint ? `${item.measure}@${item.checkpoint}` : item.measure] })).filter((item) => item.true !== undefined);
const far = held.map((item) => ({ text: `${item.measure}@${item.checkpoint ?? ""} ${item.value.toFixed(2)} for ${item.true.toFixed(2)}`, z: Math.abs(item.value - item.true) / item.sd }));
check(held.length >= 25, `${held.length} measures of the report have a truth`);
check(far.every(({ z }) => z < 3), `each lies within three of its errors of it${far.filter(({ z }) => z >= 3).map(({ text }) => ` -- ${text}`)}`);
check(far.filter(({ z }) => z < 1.96).length >= 0.85 * far.length, `${far.filter(({ z }) => z < 1.96).length} of ${far.length} within the margin that is shown`);

// In two taps the student has the fix.
taps = 0;
await tap(button(name("report.give")));
await tap(button(name("report.sure")));
await page.waitForSelector(".given");
check(taps === 2 && (await house.call("GET", `/v1/students/${student.id}/fixes?status=open`, token)).data.fixes.some((fix) => fix.fault === FAULT), "the fix is given in two taps");
quiet(page, "film by touch");

// Another film after pictures were taken: the coach is asked, for they don't fit it.
await fresh();
await choose("down_the_line");
await tap(key("take"));
await page.waitForFunction(() => document.querySelectorAll(".strip .taken").length === 1);
const again = async (kind) => {
  const wanted = page.waitForEvent("filechooser");
  if (!(await page.locator(".settings").getAttribute("open"))) await settings();
  await tap(key("choose"));
  await (await wanted).setFiles(join(folder, FILMS[kind]));
  await page.waitForSelector('[data-key="keep"]');
  await settings();
};
await again("face_on");
await accessible(page, "bay another film");
await tap(key("keep"));
await page.waitForSelector(".strip");
check((await page.locator(".strip .taken").count()) === 1 && (await page.locator(".at").textContent()).endsWith(`of ${truth.down_the_line.pictures}`), "kept, the old film and its pictures stand");
await again("face_on");
await tap(key("away"));
await page.waitForFunction((n) => document.querySelector(".at")?.textContent.endsWith(`of ${n}`), truth.face_on.pictures, { timeout: 20000 });
check((await page.locator(".strip .taken").count()) === 0, "thrown away, the new film begins with no picture");
await tap(key("play"));
await page.waitForFunction((text) => document.querySelector('[data-key="play"]').textContent === text, name("bay.play.stop"));
await page.waitForTimeout(700);
await tap(key("play"));
await page.waitForFunction((text) => document.querySelector('[data-key="play"]').textContent === text, name("bay.play"));
await page.waitForFunction(() => Number(/frame (\d+)/.exec(document.querySelector(".at").textContent)[1]) > 5);
check((await page.locator(".at").textContent()).startsWith(`frame ${Number(await page.locator("input[type=range]").inputValue()) + 1} `), "played and stopped, the film stands at the picture shown");
await settings();
await tap(key("discard"));
await tap(key("sure"));
await page.waitForFunction(() => location.hash.startsWith("#student/"));
const left = await page.evaluate(async () => {
  const { list } = await import("/lib/storage.js");
  return [(await list("drafts")).length, (await list("stills")).length, (await list("films")).length];
});
check(left.every((n) => n === 0), `thrown away, nothing stays on the tablet (${left})`);
quiet(page, "another film");

// By keyboard alone: no pointer from here on.
const keys = await open(chromium, house.origin, { size: tablet });
await signIn(keys, house.origin, "coach1", house.password);
await keys.waitForSelector(".names a");
const focused = () => keys.evaluate(() => { const node = document.activeElement; return { key: node.dataset.key ?? "", text: (node.textContent || node.getAttribute("aria-label") || "").trim(), tag: node.tagName }; });
async function tabTo(fits, what) {
  for (let i = 0; i < 150; i++) {
    if (fits(await focused())) return true;
    await keys.keyboard.press("Tab");
  }
  check(false, `${what} can't be reached by Tab`);
  return false;
}
const press = async (text) => { if (await tabTo((node) => node.text === text && node.tag !== "DIV", text)) await keys.keyboard.press("Enter"); };
await press(who);
await keys.waitForSelector("button.main");
await press(name("bay.newSwing"));
await keys.waitForSelector(".view");
const chooser = keys.waitForEvent("filechooser");
await press(name("bay.choose"));
await (await chooser).setFiles(join(folder, FILMS.down_the_line));
await keys.waitForSelector(".view input[type=range]");
await keys.waitForFunction(() => document.querySelector(".at")?.textContent);
for (const checkpoint of ["address", "top"]) {
  if (checkpoint !== "address") await press(`${name(`checkpoint.${checkpoint}`)}: ${name("bay.empty")}`);
  await tabTo((node) => node.key === "position", "the slider");
  const wanted = truth.down_the_line.frames[checkpoint];
  for (let now = Number(await keys.locator("input[type=range]").inputValue()); now !== wanted; now += Math.sign(wanted - now)) await keys.keyboard.press(wanted > now ? "ArrowRight" : "ArrowLeft");
  await keys.waitForFunction((n) => document.querySelector(".at").textContent.startsWith(`frame ${n} `), wanted + 1);
  await press(name("bay.take").replace("{checkpoint}", name(`checkpoint.${checkpoint}`)));
  await keys.waitForFunction((text) => document.querySelector("#said")?.textContent === text, name("bay.taken").replace("{checkpoint}", name(`checkpoint.${checkpoint}`)));
  check((await focused()).key === "take", "after a picture is taken the focus is at the next one's button");
}
let off = 0;
for (const checkpoint of ["address", "top"]) {
  await tabTo((node) => node.key === checkpoint, checkpoint);
  await keys.keyboard.press("Enter");
  await tabTo((node) => node.key === "stage", "the picture");
  for (const point of ["grip", "clubhead"]) {
    await keys.keyboard.press("Enter"); // in the middle of the picture
    const { width, height, points } = truth.down_the_line;
    const move = async (by, more, less) => {
      for (let i = 0; i < Math.floor(Math.abs(by) / 10); i++) await keys.keyboard.press(`Shift+${by > 0 ? more : less}`);
      for (let i = 0; i < Math.round(Math.abs(by) % 10); i++) await keys.keyboard.press(by > 0 ? more : less);
    };
    await move(points[checkpoint][point][0] - width / 2, "ArrowRight", "ArrowLeft");
    await move(points[checkpoint][point][1] - height / 2, "ArrowDown", "ArrowUp");
    const mark = await keys.evaluate(async ({ checkpoint: c, point: p }) => {
      const { findDraft } = await import("/bay/draft.js");
      return (await findDraft(location.hash.split("/")[1])).views.down_the_line.frames[c].points[p];
    }, { checkpoint, point });
    off = Math.max(off, Math.hypot(mark.u - points[checkpoint][point][0], mark.v - points[checkpoint][point][1]));
    await keys.keyboard.press("PageDown");
  }
}
check(off < 1, `marks are set by arrow keys to ${off.toFixed(2)} px`);
await press(name("bay.send"));
await keys.waitForFunction(() => location.hash.startsWith("#report/"), null, { timeout: 30000 });
await keys.waitForSelector("table", { state: "attached" });
await keys.waitForFunction(() => document.activeElement.id === "room");
check(true, "the report opens with the focus at its beginning");
await press(name("report.other"));
await tabTo((node) => node.tag === "SELECT", "another fix");
await keys.keyboard.type("too hurried");
await tabTo((node) => node.tag === "INPUT", "the reason");
await keys.keyboard.type("rushed all morning");
await press(name("report.other.give"));
await keys.waitForFunction((text) => document.querySelector("#said")?.textContent === text, name("report.given").replace("{fault}", name("fault.hurried_tempo")));
check((await house.call("GET", `/v1/students/${student.id}/fixes?status=open`, token)).data.fixes.some((fix) => fix.fault === "hurried_tempo"), "another fix is given by keyboard, with its reason");
quiet(keys, "film by keyboard");

// On a phone the same pages hold together.
const small = await open(chromium, house.origin, { size: phone, touch: true });
await signIn(small, house.origin, "coach1", house.password);
await small.waitForSelector(".names a");
await fresh(small);
await small.setInputFiles("input[type=file]", join(folder, FILMS.down_the_line));
await small.waitForSelector(".view input[type=range]");
const wide = () => small.evaluate(() => document.documentElement.scrollWidth - window.innerWidth);
check((await wide()) <= 0, `on a phone nothing stands out to the side (${await wide()} px)`);
await small.locator("[data-key=take]").tap();
await small.waitForSelector(".strip .taken");
await small.locator("[data-key=address]").tap();
await small.waitForSelector(".stage");
check((await wide()) <= 0, "nor while marking");
await targets(small, "bay on a phone");
await keep(small, "bay-phone-marking");
await house.end();
await chromium.close();
finish("film");
