// Paper: the student's sheet and the coach's report on A4 and Letter, and the sheet on a phone with text of twice the size.
// What is printed is measured from outside, in the PDF.
import { readFileSync } from "node:fs";

import { SIZES, darkest, print, seen, tint, untint, white } from "./paper.mjs";
import { en } from "./words.mjs";
import { accessible, browser, check, club, finish, keep, open, phone, quiet, settled, signIn, tablet } from "./support.mjs";

const MARGIN = 0.45 * 72; // what a common printer can't reach is less than this
const SMALLEST = 8; // a line's height, points

const house = await club();
const chromium = await browser();
const first = (items) => items.slice(0, 4).join(", ");

/** All that can be pressed or filled in says KNOB, so that it would be found on paper. */
const markKnobs = (page) => page.evaluate(() => {
  const knobs = [...document.querySelectorAll("button, .button, select, input, textarea, summary, label, nav a, .skip")];
  for (const knob of knobs) {
    if (knob.matches("input, textarea")) knob.value = "KNOB";
    else if (knob.matches("select")) knob.replaceChildren(new Option("KNOB"));
    else knob.textContent = "KNOB";
  }
  return knobs.length;
});

/** The words a reader of the page's paper version should find. */
const wanted = async (page) => {
  await page.emulateMedia({ media: "print" });
  const text = await page.evaluate(() => document.body.innerText);
  await page.emulateMedia({ media: null });
  return text.split(/\s+/).filter(Boolean);
};

const letters = (items) => items.join("").replace(/[\s\u00a0\u00ad-]/g, "").normalize("NFKC");

/** One document on one paper: everything that holds for both kinds. */
async function paper(page, name, format, css, most) {
  const what = `${name}, ${format}${css ? "" : ", size of the printer"}`;
  const parts = await tint(page, ".card, .figure, .chart, .still, tbody tr");
  const pages = await print(page, `print-${name.replaceAll(" ", "-")}-${format}-${css ? "css" : "own"}`, { format, preferCSSPageSize: css });
  await untint(page);
  const [width, height] = SIZES[format];
  check(pages.every((sheet) => Math.abs(sheet.width - width) < 1.5 && Math.abs(sheet.height - height) < 1.5), `${what}: every page is ${format} (${pages[0].width} x ${pages[0].height})`);
  check(pages.length >= 1 && pages.length <= most, `${what}: ${pages.length} of at most ${most} pages`);
  const all = pages.flatMap((sheet) => sheet.words);
  const out = pages.flatMap((sheet) => sheet.words.filter((word) => word.x0 < MARGIN || word.x1 > sheet.width - MARGIN || word.y0 < MARGIN || word.y1 > sheet.height - MARGIN));
  check(all.length > 100 && out.length === 0, `${what}: ${all.length} words, all within what a printer reaches${out.length ? ` -- ${first(out.map((word) => word.text))}` : ""}`);
  const text = letters(all.map((word) => word.text));
  const lost = (await wanted(page)).filter((word) => !text.includes(letters([word])));
  check(lost.length === 0, `${what}: no word is lost or cut${lost.length ? ` -- ${first(lost)}` : ""}`);
  const small = all.filter((word) => word.y1 - word.y0 < SMALLEST);
  check(small.length === 0, `${what}: no line lower than ${SMALLEST} points${small.length ? ` -- ${first(small.map((word) => word.text))}` : ""}`);
  check(!text.includes("KNOB"), `${what}: nothing to press or to fill in`);
  const places = parts.map((part) => ({ ...part, boxes: seen(pages, part.colour) }));
  const split = places.filter((part) => part.boxes.length !== 1);
  check(split.length === 0, `${what}: ${parts.length} cards, figures and rows, each whole on one page${split.length ? ` -- ${first(split.map((part) => `${part.text} on ${part.boxes.length}`))}` : ""}`);
  const cut = places.filter(({ boxes }) => boxes.some((box) => box.x0 < MARGIN || box.x1 > width - MARGIN || box.y1 > height - MARGIN));
  check(cut.length === 0, `${what}: none reaches past the margin${cut.length ? ` -- ${first(cut.map((part) => part.text))}` : ""}`);
  const last = Math.max(...pages.at(-1).words.map((word) => word.y1));
  check(pages.length === 1 || last > height * 0.2, `${what}: the last page is not begun for nothing (down to ${Math.round((last / height) * 100)} %)`);
  return { pages, places, all };
}

/** The same in dark colours: still black on white. */
async function dark(page, name, pictured) {
  await page.emulateMedia({ colorScheme: "dark" });
  const pages = await print(page, `print-${name}-dark`, { format: "A4", printBackground: true });
  await page.emulateMedia({ colorScheme: "light" });
  const least = Math.min(...pages.map(white));
  check(least > pictured, `${name} from a dark screen: paper stays white (${Math.round(least * 100)} % of it)`);
  const pale = pages.flatMap((sheet) => sheet.words.filter((word) => word.text.length > 2 && darkest(sheet, word) > 110));
  check(pale.length === 0, `${name} from a dark screen: ink is black${pale.length ? ` -- ${first(pale.map((word) => word.text))}` : ""}`);
}

// ---- the student's sheet ----
const home = await open(chromium, house.origin, { size: phone });
await signIn(home, house.origin, "student05", house.password);
await home.waitForSelector("#progress figure");
const drills = await home.locator(".drill").count();
check(drills === 2, `a homework of two drills (${drills})`);
const cautions = await home.locator("#care li").allTextContents();
const name = (await house.call("GET", "/v1/me", await house.token("student05"))).data.name;
await home.emulateMedia({ media: "print" });
await accessible(home, "sheet on paper");
await home.emulateMedia({ media: null });
check((await markKnobs(home)) >= 5, "the sheet's knobs are marked");
for (const format of Object.keys(SIZES)) {
  for (const css of [true, false]) {
    const { places, all } = await paper(home, "sheet", format, css, 2);
    const text = letters(all.map((word) => word.text));
    check(cautions.length >= 5 && cautions.every((caution) => text.includes(letters([caution]))), `sheet, ${format}: all ${cautions.length} cautions word for word`);
    check(text.includes(letters([name])), `sheet, ${format}: says whose it is`);
    const figures = places.filter((part) => part.text.startsWith("How it looks"));
    check(figures.length === drills && figures.every(({ boxes: [box] }) => box && box.x1 - box.x0 > 70 && box.y1 - box.y0 > 70), `sheet, ${format}: a figure for each drill, large enough to see`);
  }
}
await dark(home, "sheet", 0.75);

// The figures' own ink: without a figure the same place is empty.
{
  const [figure] = await tint(home, ".figure");
  const pages = await print(home, "print-sheet-figure", { format: "A4" });
  const [box] = seen(pages, figure.colour);
  const inside = box && { x0: box.x0 + 8, x1: box.x1 - 8, y0: box.y0 + 8, y1: box.y1 - 8 };
  check(box && darkest(pages[box.page], inside) < 60, "the drill's figure is drawn in ink");
  await untint(home);
}
quiet(home, "sheet");
const german = await open(chromium, house.origin, { size: phone, locale: "de-DE" });
await signIn(german, house.origin, "student05", house.password);
await german.waitForSelector("#progress figure");
await markKnobs(german);
const { all: printed } = await paper(german, "sheet in German", "A4", true, 2);
const onPaper = letters(printed.map((word) => word.text));
const foreign = Object.entries(en).filter(([key, text]) => key.startsWith("drill.") && onPaper.includes(letters([text]))).map(([key]) => key);
check(foreign.length === 0, `sheet in German: no drill in English${foreign.length ? ` -- ${first(foreign)}` : ""}`);

// ---- the coach's report ----
const token = await house.token("coach1");
const student = (await house.call("GET", "/v1/students?limit=200", token)).data.students.find((item) => !item.junior);
const bay = await open(chromium, house.origin, { size: tablet });
await signIn(bay, house.origin, "coach1", house.password);
await bay.waitForSelector(".names a");

/** A drawn picture as large as the document says. */
const jpeg = async (shade) => Buffer.from(await bay.evaluate(async (colour) => {
  const canvas = document.createElement("canvas");
  [canvas.width, canvas.height] = [1920, 1080];
  const pen = canvas.getContext("2d");
  pen.fillStyle = colour;
  pen.fillRect(0, 0, 1920, 1080);
  return canvas.toDataURL("image/jpeg", 0.6).split(",")[1];
}, shade), "base64");

const document = JSON.parse(readFileSync(new URL("../data/two_views.json", import.meta.url)));

/** A swing sent as the bay sends it, with a still for every checkpoint of it; its id. */
async function swing(at, shade, change = (copy) => copy) {
  const body = change({ ...structuredClone(document), recorded_at: new Date(at).toISOString().replace(/\.\d+/, "") });
  const made = await house.call("POST", `/v1/students/${student.id}/swings`, token, body);
  if (made.status !== 201) throw new Error(`${made.status}: ${JSON.stringify(made.data)}`);
  if (!shade) return made.data.id;
  const picture = await jpeg(shade);
  for (const view of body.views) {
    for (const frame of view.frames) {
      const answer = await fetch(`${house.origin}/v1/swings/${made.data.id}/stills/${view.view}-${frame.checkpoint}`,
        { method: "PUT", headers: { Authorization: `Bearer ${token}`, "Content-Type": "image/jpeg" }, body: picture });
      if (!answer.ok) throw new Error(`still: ${answer.status} ${await answer.text()}`);
    }
  }
  return made.data.id;
}

const now = Date.now() - 3600000;
const one = await swing(now, "#8fb98f");
await bay.goto(`${house.origin}/bay.html#report/${one}`);
await bay.waitForSelector(".still image");
await settled(bay);
await bay.emulateMedia({ media: "print" });
await accessible(bay, "report on paper");
await bay.emulateMedia({ media: null });
const notes = await bay.locator("#room ul").last().locator("li").allTextContents();
check((await markKnobs(bay)) >= 5, "the report's knobs are marked");
for (const format of Object.keys(SIZES)) {
  for (const css of [true, false]) {
    const { places, all } = await paper(bay, "report", format, css, 4);
    const text = letters(all.map((word) => word.text));
    check(notes.length >= 3 && notes.every((note) => text.includes(letters([note]))), `report, ${format}: all ${notes.length} cautions word for word`);
    check(text.includes(letters([student.name])), `report, ${format}: says whose swing it is`);
    const stills = await bay.locator(".still").count();
    check(stills >= 3 && places.filter((part) => /From behind|From the front/.test(part.text)).length >= stills, `report, ${format}: ${stills} stills`);
  }
}
await dark(bay, "report", 0.5);
quiet(bay, "report");

// ---- a lesson's report: one swing's stills at a time ----
const two = await swing(now + 600000, "#b9a08f", (copy) => {
  const neck = copy.views[0].frames[0].points.neck;
  neck[0] += 25; // leans further: the second swing's values are its own
  return copy;
});
const bare = await swing(now + 660000, null);
const lesson = (await house.call("POST", `/v1/students/${student.id}/lessons`, token, { swings: [one, two, bare] })).data.id;
const fetched = [];
bay.on("request", (request) => { if (/\/stills\/./.test(request.url())) fetched.push(request.url()); });
await bay.goto(`${house.origin}/bay.html#lesson/${lesson}/${student.id}`);
await bay.reload();
await bay.waitForSelector(".still image");
await settled(bay);
const buttons = bay.locator(".choice button");
const labels = await buttons.allTextContents();
check(labels.length === 2 && labels[0].startsWith("Swing 2 of 3,") && labels[1].startsWith("Swing 1 of 3,"), `a button for each swing that has stills, the newest first: ${labels.join(" | ")}`);
check(fetched.length > 0 && fetched.every((url) => url.includes(two)), `only the shown swing's pictures are fetched (${fetched.length})`);
const captions = () => bay.locator(".still figcaption").allTextContents();
const report = async (id) => (await house.call("GET", `/v1/swings/${id}/report`, token)).data;
const tilt = async (id) => (await report(id)).measures.find((item) => item.measure === "spine_tilt").value.toFixed(1);
const [tiltOne, tiltTwo] = [await tilt(one), await tilt(two)];
const newest = await captions();
check(newest.every((text) => text.startsWith("Swing 2:")), "each still says which swing it is");
check(tiltOne !== tiltTwo && newest.some((text) => text.includes(`${tiltTwo}°`)) && !newest.some((text) => text.includes(`${tiltOne}°`)), `its values are that swing's own (${tiltTwo}°, not ${tiltOne}°)`);
check((await bay.locator(".still .over").count()) >= newest.length, "the measured lines are drawn");
await accessible(bay, "lesson report");
await keep(bay, "bay-lesson-report");
const handed = letters((await print(bay, "print-lesson", { format: "A4" })).flatMap((sheet) => sheet.words.map((word) => word.text)));
check(handed.includes(letters(["Swing 2 of 3,"])) && !handed.includes(letters(["Swing 1 of 3,"])), "on paper it says which swing is shown, without the choice");
await buttons.nth(1).click();
await bay.waitForFunction(() => document.querySelector(".still figcaption").textContent.startsWith("Swing 1:"));
const older = await captions();
check(older.every((text) => text.startsWith("Swing 1:")) && older.some((text) => text.includes(`${tiltOne}°`)), "the older swing is shown when it is chosen");
check((await buttons.nth(1).getAttribute("aria-pressed")) === "true" && (await buttons.nth(0).getAttribute("aria-pressed")) === "false", "and its button says so");
const lone = await swing(now + 720000, "#9f9fc9");
const single = (await house.call("POST", `/v1/students/${student.id}/lessons`, token, { swings: [lone] })).data.id;
await bay.goto(`${house.origin}/bay.html#lesson/${single}/${student.id}`);
await bay.waitForFunction(() => /, 1 swing$/m.test(document.querySelector("#room").innerText) && document.querySelector(".still"));
check((await captions()).every((text) => text.startsWith("Swing 1:")) && (await buttons.count()) === 0, "a lesson of one swing shows it without buttons");
const blind = await swing(now + 780000, null);
const unseen = (await house.call("POST", `/v1/students/${student.id}/lessons`, token, { swings: [blind] })).data.id;
await bay.goto(`${house.origin}/bay.html#lesson/${unseen}/${student.id}`);
await bay.waitForFunction(() => document.querySelector("tbody tr") && !document.querySelector(".still"));
check((await bay.locator(".stills, .choice").count()) === 0, "a lesson without stills shows none");
quiet(bay, "lesson report");

// ---- a phone with text of twice the size ----
/** What is written or drawn: one box for each line of each text, and each control or picture. */
const crowd = (page) => page.evaluate(() => {
  const items = [];
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  for (let node = walker.nextNode(); node; node = walker.nextNode()) {
    const parent = node.parentElement;
    if (!node.data.trim() || parent.closest("svg, .skip, option") || !parent.checkVisibility()) continue;
    const range = document.createRange();
    range.selectNodeContents(node);
    for (const box of range.getClientRects()) items.push({ node: parent, text: node.data.trim().slice(0, 30), box });
  }
  for (const node of document.querySelectorAll("button, select, input, svg")) {
    if (node.checkVisibility()) items.push({ node, text: node.textContent.trim().slice(0, 30) || node.tagName, box: node.getBoundingClientRect() });
  }
  const overlap = (a, b) => Math.min(a.right, b.right) - Math.max(a.left, b.left) > 2 && Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top) > 4;
  const hits = [];
  items.forEach((a, i) => items.slice(i + 1).forEach((b) => {
    if (a.node !== b.node && !a.node.contains(b.node) && !b.node.contains(a.node) && overlap(a.box, b.box)) hits.push(`${a.text} / ${b.text}`);
  }));
  const wide = items.filter(({ box }) => box.left < -0.5 || box.right > window.innerWidth + 0.5).map((item) => item.text);
  const clipped = [...document.querySelectorAll("body *")].filter((node) => !(node instanceof SVGElement) && node.checkVisibility() && getComputedStyle(node).overflowX !== "visible" && node.scrollWidth > node.clientWidth + 1 && !node.matches("input")).map((node) => node.tagName);
  return { hits, wide, clipped, count: items.length, scroll: document.documentElement.scrollWidth - window.innerWidth };
});

for (const locale of ["en-GB", "de-DE"]) {
  const page = await open(chromium, house.origin, { size: phone, touch: true, locale });
  await signIn(page, house.origin, "student05", house.password);
  await page.waitForSelector("#progress figure");
  const heights = () => page.evaluate(() => [...document.querySelectorAll("h1, h2, h3, p, li, button, figcaption, label")].map((node) => parseFloat(getComputedStyle(node).fontSize)));
  const before = await heights();
  await page.evaluate(() => { document.documentElement.style.fontSize = "200%"; });
  const after = await heights();
  check(before.length > 20 && after.every((size, i) => size > before[i] * 1.99), `200 % text, ${locale}: all ${before.length} texts are twice as large`);
  const found = await crowd(page);
  check(found.scroll <= 0, `200 % text, ${locale}: nothing to scroll sideways (${found.scroll} px)`);
  check(found.count > 30 && found.wide.length === 0, `200 % text, ${locale}: ${found.count} texts and things within the width${found.wide.length ? ` -- ${first(found.wide)}` : ""}`);
  check(found.hits.length === 0, `200 % text, ${locale}: nothing lies over something else${found.hits.length ? ` -- ${first(found.hits)}` : ""}`);
  check(found.clipped.length === 0, `200 % text, ${locale}: nothing is cut off${found.clipped.length ? ` -- ${first(found.clipped)}` : ""}`);
  await keep(page, `home-phone-200-${locale}`);
  quiet(page, `200 % text, ${locale}`);
}

await chromium.close();
await house.end();
finish("print");
