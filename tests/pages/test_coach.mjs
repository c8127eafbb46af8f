// A coach with a person's delays: 2 s a tap, 3 s a new screen; waiting for the tablet is no attention, for the coach does something else meanwhile.
// One question, one whole view and a lesson of three swings, from choosing the film to the report: with the pose library and the finder, and by
// hand. The films are drawn (tests/films): they are no real ones.
import { execFileSync } from "node:child_process";
import { existsSync, mkdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { fileURLToPath } from "node:url";

import { accessible, browser, build, check, club, finish, keep, open, quiet, signIn, skip, tablet, targets } from "./support.mjs";
import { en } from "./words.mjs";

const TAP_S = 2;
const SCREEN_S = 3;
const READ_MS = 900000; // a machine that is shared by many reads slowly
const library = process.env.LEADSIDE_POSE ?? fileURLToPath(new URL("../../deploy/pose/node_modules/@mediapipe/pose", import.meta.url));
try {
  execFileSync("ffmpeg", ["-version"], { stdio: "ignore" });
} catch {
  skip("ffmpeg is not installed: no film can be made");
  finish("coach");
}
const folder = join(build, "films", "coach");
/** A drawn film and what is true of it. */
function drawn(name, ...options) {
  const [into, file] = [join(folder, name), join(folder, `${name}.mp4`)];
  mkdirSync(into, { recursive: true });
  execFileSync("/usr/bin/python3", [fileURLToPath(new URL("../films/render.py", import.meta.url)), ...options, "--film", file, "--out", into], { stdio: "inherit" });
  return { file, ...JSON.parse(readFileSync(join(into, "truth.json"), "utf8")) };
}
const behind = drawn("behind", "--seed", "9", "--view", "down_the_line", "--club", "7 iron", "--size", "540x960", "--fps", "60");
const { file: film, header, truth } = behind;
const frames = Object.fromEntries(Object.entries(truth.instants).map(([name, at]) => [name, Math.round(at)]));

const chromium = await browser({ args: ["--use-gl=angle", "--use-angle=swiftshader", "--enable-unsafe-swiftshader"] });

/** A coach at a tablet: counts taps and attention. */
async function coach(options, house) {
  house ??= await club(options);
  const page = await open(chromium, house.origin, { size: tablet, touch: true });
  const token = await house.token("coach1");
  const student = (await house.call("GET", "/v1/students?limit=200", token)).data.students.find(({ hand, junior, archived }) => hand === "right" && !junior && !archived);
  await signIn(page, house.origin, "coach1", house.password);
  await page.waitForSelector(".names a");
  const me = {
    house, page, token, student, taps: 0, seconds: 0,
    screen: () => { me.seconds += SCREEN_S; },
    did: () => { me.taps++; me.seconds += TAP_S; },
    tap: async (selector) => { me.did(); await page.locator(selector).first().tap(); },
    begin: async (name = student.name) => {
      await page.goto(`${house.origin}/bay.html#students`);
      await page.locator(".names a", { hasText: name }).first().tap();
      await page.locator("button", { hasText: en["bay.newSwing"] }).tap();
      await page.waitForSelector(".bench [data-key=choose]");
      [me.taps, me.seconds] = [0, SCREEN_S];
    },
    /** The foot and the picture stand in sight, whole, without scrolling. */
    insight: async (what) => {
      const { view, foot, next, send, picture } = await page.evaluate(() => {
        const box = (selector) => document.querySelector(selector)?.getBoundingClientRect().toJSON();
        return { view: { width: innerWidth, height: innerHeight }, foot: box(".foot"), next: box(".foot .main"), send: box("[data-key=send]"), picture: box(".screen") };
      });
      const within = (box) => box && box.left >= 0 && box.top >= 0 && box.right <= view.width + 1 && box.bottom <= view.height + 1;
      const share = picture ? (picture.width * picture.height) / (view.width * view.height) : 0;
      check([foot, next, send].every(within) && (!picture || (within(picture) && picture.bottom <= foot.top + 1 && share > 0.5)), `${what}: next action and sending are in sight, and the picture takes ${(100 * share).toFixed(0)} % of the window`);
    },
    view: (kind = "down_the_line") => page.evaluate(async (of) => (await (await import("/bay/draft.js")).findDraft(location.hash.split("/")[1])).views[of], kind),
    /** Where a point of the film stands on the screen; null where it is beyond what is shown. */
    spot: async ([u, v], { header: { width, height } } = behind) => page.evaluate(([x, y]) => {
      const [image, stage] = [".stage img", ".stage"].map((selector) => document.querySelector(selector).getBoundingClientRect());
      const at = [image.x + x * image.width, image.y + y * image.height];
      return at[0] > stage.x && at[0] < stage.right && at[1] > stage.y && at[1] < stage.bottom ? at : null;
    }, [u / width, v / height]),
    chosen: () => page.evaluate(() => document.querySelector(".targets [aria-selected=true]")?.dataset.point ?? null),
  };
  return me;
}

/** The report of the swing that was sent; the answer stands at its top. */
async function sentAnswer(me, question) {
  await me.tap("[data-key=send]");
  await me.page.waitForFunction(() => location.hash.startsWith("#report/") || document.querySelector(".suspect"), null, { timeout: 60000 });
  if (await me.page.locator(".suspect").count()) { // read, and sent as it is
    console.log(`told before sending: ${(await me.page.locator(".suspect").innerText()).replace(/\s+/g, " ")}`);
    me.screen();
    await me.tap("[data-key=send]");
    await me.page.waitForFunction(() => location.hash.startsWith("#report/"), null, { timeout: 60000 });
  }
  await me.page.waitForSelector("#room h2");
  me.screen();
  if (!question) return null;
  await me.page.waitForSelector(".answer");
  return (await me.page.locator(".answer").innerText()).replace(/\s+/g, " ");
}

/** Marks what is asked for where it is drawn, a stick by a pull along it; what was found and lies within .05 of the body's height is left. What can't be
 * made out is left out, and what comes after it. */
async function mark(me, picture, { of = behind, sticks = true, points = {}, while: here = () => true } = {}) {
  for (let id = await me.chosen(), before = null; id && id !== before && (await here()); id = await me.chosen()) {
    before = id;
    const [, stick] = /^stick-(\d)-0$/.exec(id) ?? [];
    const [from, to] = stick ? of.truth.sticks[stick] : [of.truth.points[id]?.[picture]];
    if (!from || (stick && !sticks) || (points[id] && Math.hypot(points[id].u - from[0], points[id].v - from[1]) < 0.05 * of.header.body_px)) return;
    const spots = await Promise.all([from, to ?? from].map((at) => me.spot(at, of)));
    if (!spots.every(Boolean)) return;
    me.did();
    if (!to) await me.page.touchscreen.tap(...spots[0]);
    else {
      await me.page.mouse.move(...spots[0]);
      await me.page.mouse.down();
      for (const share of [0.5, 1]) await me.page.mouse.move(...[0, 1].map((axis) => spots[0][axis] + share * (spots[1][axis] - spots[0][axis])));
      await me.page.mouse.up();
    }
  }
}

/** Chooses a film, which is read while the coach is elsewhere; done() waits for that: the outcome and the page's longest task, ms. */
async function readFilm(me, { file }, kind = "down_the_line") {
  const { page } = me;
  me.did();
  await page.evaluate((of) => {
    window.outcomes = { ...window.outcomes, [of]: null };
    window.longest = 0;
    if (window.listening) return;
    window.listening = new PerformanceObserver((list) => { for (const { duration } of list.getEntries()) window.longest = Math.max(window.longest, duration); });
    window.listening.observe({ entryTypes: ["longtask"] });
    window.addEventListener("leadside-read", ({ detail }) => { if (detail.outcome) window.outcomes[detail.kind] = detail; });
  }, kind);
  const began = Date.now();
  await page.locator("input[type=file]").setInputFiles(file);
  await page.waitForSelector("[data-key=read]");
  return { done: async () => {
    await page.waitForFunction((of) => window.outcomes[of], kind, { timeout: READ_MS });
    const [outcome, longest] = await page.evaluate((of) => [window.outcomes[of], window.longest], kind);
    console.log(`${kind} read in ${((Date.now() - began) / 1000).toFixed(1)} s: ${outcome.outcome}, ${outcome.n} points; longest task ${longest} ms`);
    return { ...outcome, longest };
  } };
}

/** The longest task of the pages' main threads, ms of the processor's own time: what else a shared machine did meanwhile is no part of it. */
function longestWork(trace) {
  const { traceEvents: events } = JSON.parse(trace);
  const at = ({ pid, tid }) => `${pid} ${tid}`;
  const main = new Set(events.filter(({ name, args }) => name === "thread_name" && args.name === "CrRendererMain").map(at));
  return Math.max(0, ...events.filter((event) => event.name.endsWith("RunTask") && main.has(at(event))).map(({ tdur = 0 }) => tdur / 1000));
}

/** Looks over all pictures, then at those that are asked by themselves, until nothing but sending is next: what was asked. */
async function lookOver(me, kind, of) {
  const { page } = me;
  await page.waitForSelector(".contact .tiles");
  me.screen();
  const asked = [];
  const gone = (of) => document.querySelector(".bench-head [aria-pressed=true]").dataset.key !== of; // on to the other view
  for (let n = 0; n < 20; n++) {
    if (await page.evaluate(gone, kind)) return asked;
    const key = await page.evaluate(() => document.querySelector(".foot .next button")?.dataset.key ?? null);
    if (!key) return asked;
    if (await page.locator(".contact").count()) {
      await me.tap(`[data-key=${key}]`);
      await page.waitForFunction((of) => document.querySelector(".bench-head [aria-pressed=true]").dataset.key !== of || !document.querySelector(".foot .next button") || document.querySelector(".inner")?.style.width, kind);
      continue;
    }
    const checkpoint = await page.evaluate(() => document.querySelector('.strip [aria-pressed="true"]').dataset.key);
    const { frames: read } = await me.view(kind);
    me.screen();
    asked.push(`${checkpoint}${(await page.locator(".doubt p").allInnerTexts()).map((text) => ` (${text})`).join("")}`);
    const away = (was) => document.querySelector(".contact") || document.querySelector('.strip [aria-pressed="true"]')?.dataset.key !== was;
    const next = () => page.evaluate(() => document.querySelector(".foot .next button")?.dataset.key ?? null);
    for (let before = null; !(await page.evaluate(away, checkpoint));) {
      await mark(me, read[checkpoint].picture, { of, points: read[checkpoint].points, while: async () => !(await page.evaluate(away, checkpoint)) });
      if (await page.evaluate(away, checkpoint)) break;
      before = await next(); // what was found is right; what is missing can't be seen; the camera check was read
      if (!before) return asked;
      await me.tap(`[data-key=${before}]`);
      await page.waitForFunction(([was, key]) => document.querySelector(".contact") || document.querySelector('.strip [aria-pressed="true"]')?.dataset.key !== was || document.querySelector(".foot .next button")?.dataset.key !== key, [checkpoint, before]);
    }
    await page.waitForFunction(() => document.querySelector(".contact") || document.querySelector(".inner")?.style.width);
  }
  return asked;
}

// ---- by hand, still led ----
{
  const me = await coach(["--no-throttle"]);
  const { page } = me;
  await me.begin();
  await page.waitForSelector("[data-question=across_the_line]");
  await accessible(page, "questions");
  await targets(page, "questions");
  await keep(page, "bay-questions");
  await me.tap("[data-question=across_the_line]");
  const takes = await page.textContent(".takes");
  check(takes.includes(en["view.down_the_line"]) && [en["checkpoint.address"], en["checkpoint.top"], en["point.clubhead"]].every((text) => takes.includes(text)), `the question says what it takes: ${takes}`);
  check((await page.locator(".bench-head [data-key=face_on]").count()) === 0, "and only the view that answers it is left");
  me.did();
  await page.setInputFiles("input[type=file]", film);
  await page.waitForSelector("input[type=range]");
  check((await page.locator(".strip button").evaluateAll((all) => all.map((node) => node.dataset.key))).join() === "address,top", "two pictures are asked for, not ten");
  await me.insight("stepping");
  for (const checkpoint of ["address", "top"]) {
    me.screen();
    me.did(); // the slider, to within a picture or two
    await page.locator("input[type=range]").evaluate((node, n) => { node.value = String(n); node.dispatchEvent(new Event("input")); }, frames[checkpoint] - 2);
    await page.waitForFunction((n) => document.querySelector(".at")?.textContent.startsWith(`frame ${n} `), frames[checkpoint] - 1);
    for (const n of [1, 2]) {
      await me.tap("[data-key=step1]");
      await page.waitForFunction((at) => document.querySelector(".at")?.textContent.startsWith(`frame ${at} `), frames[checkpoint] - 1 + n);
    }
    check((await page.locator(".foot .main").getAttribute("data-key")) === "take", `${checkpoint}: the foot leads to taking it`);
    await me.tap("[data-key=take]");
    await page.waitForFunction((n) => document.querySelectorAll(".strip .taken").length === n, checkpoint === "address" ? 1 : 2);
  }
  for (const checkpoint of ["address", "top"]) {
    await page.waitForFunction((text) => document.querySelector(".side > h3")?.textContent === text && document.querySelector(".inner")?.style.width, en[`checkpoint.${checkpoint}`]);
    me.screen();
    await mark(me, frames[checkpoint], { sticks: false });
    await me.insight(`marking ${checkpoint}`);
    if (checkpoint === "address") await me.tap("[data-key=onward]");
  }
  const answer = await sentAnswer(me, true);
  check(/^Is the club across the line at the top\? (Yes|No|It can't be told yet)\b.*±/.test(answer), `an answer in words, with its number: ${answer}`);
  console.log(`by hand, one question: ${me.taps} taps, ${me.seconds} s of attention`);
  check(me.taps <= 18 && me.seconds <= 70, `by hand one question takes ${me.taps} taps and ${me.seconds} s`);
  await page.goBack();
  await page.waitForSelector("#room h2");
  await page.goto(`${me.house.origin}/bay.html#students`);
  await page.waitForSelector(".names a");
  check((await page.locator(".drafts li").count()) === 0, "nothing is left begun");
  await me.begin();
  await page.goto(`${me.house.origin}/bay.html#students`);
  await page.waitForSelector(".names a");
  check((await page.locator(".drafts li").count()) === 0, "a swing that was begun and left empty is not kept");
  // A slip of the finger is told before anything is sent, at its place.
  const slipped = JSON.parse(readFileSync(fileURLToPath(new URL("../data/two_views.json", import.meta.url)), "utf8"));
  await page.evaluate(async ([document, of]) => {
    const { keepDraft, keepStill, newDraft, viewOf } = await import("/bay/draft.js");
    const draft = newDraft(of);
    Object.assign(draft.club, document.club);
    const canvas = Object.assign(window.document.createElement("canvas"), { width: 64, height: 36 });
    canvas.getContext("2d").fillRect(0, 0, 64, 36);
    const still = await new Promise((resolve) => canvas.toBlob(resolve, "image/jpeg"));
    for (const { view: kind, fps, image, camera, sticks, frames } of document.views) {
      const view = viewOf(draft, kind);
      Object.assign(view, { read: true, rate: fps, fps, ...image, distance: camera.distance_m ?? null, sticks: (sticks ?? []).map((ends) => ends.map(([u, v]) => ({ u, v }))) });
      for (const { checkpoint, time_s: at, points } of frames) {
        view.frames[checkpoint] = { picture: Math.round(at * fps), still, sure: true, points: Object.fromEntries(Object.entries(points).map(([id, [u, v]]) => [id, { u, v }])) };
        await keepStill(draft, kind, checkpoint);
      }
    }
    draft.views.face_on.frames.address.points.lead_hip.v += 200;
    await keepDraft(draft);
    location.hash = `#swing/${draft.id}`;
  }, [slipped, me.student]);
  const swings = async () => (await me.house.call("GET", `/v1/students/${me.student.id}/swings?limit=200`, me.token)).data.swings;
  const before = (await swings()).length;
  await page.waitForSelector(".bench .strip");
  await page.locator("[data-key=send]").tap();
  await page.waitForSelector(".suspect");
  const words = (await page.locator(".suspect p").first().innerText()).replace(/\s+/g, " ");
  check((await me.chosen()) === "lead_hip" && (await page.locator('.bench-head [data-key="face_on"]').getAttribute("aria-pressed")) === "true" && (await page.locator('.strip [data-key="address"]').getAttribute("aria-pressed")) === "true", `a slip is told at its place: ${words}`);
  check((await swings()).length === before, "and nothing was sent");
  await accessible(page, "a mark that does not fit");
  await targets(page, "a mark that does not fit");
  await keep(page, "bay-suspect");
  await page.locator("[data-key=confirm]").tap();
  await page.waitForSelector(".suspect", { state: "detached" });
  await page.locator("[data-key=send]").tap();
  await page.waitForFunction(() => location.hash.startsWith("#report/") || document.querySelector(".suspect [data-key=confirm]"), null, { timeout: 60000 });
  if (await page.locator(".suspect").count()) await page.locator("[data-key=send]").tap(); // another that was not told before
  await page.waitForFunction(() => location.hash.startsWith("#report/"), null, { timeout: 60000 });
  const stored = (await me.house.call("GET", `/v1/swings/${(await page.evaluate(() => location.hash)).split("/")[1]}`, me.token)).data.document;
  check(stored.views.find(({ view }) => view === "face_on").frames[0].confirmed?.includes("lead_hip"), "said to lie right, it is sent so named");
  quiet(page, "by hand");
  await me.house.end();
}

// ---- the film reads itself ----
if (!existsSync(library)) skip("the pose library is not installed (deploy/fetch-pose)");
else {
  const me = await coach(["--no-throttle", "--pose", library]);
  const { page } = me;
  const students = (await me.house.call("GET", "/v1/students?limit=200", me.token)).data.students.filter(({ hand, junior, archived }) => hand === "right" && !junior && !archived);

  // One question, the first of a lesson: with the sticks.
  await me.begin(students[0].name);
  await me.tap("[data-question=across_the_line]");
  await chromium.startTracing(page, { categories: ["toplevel"] });
  const one = await readFilm(me, behind);
  await one.done();
  const work = longestWork(await chromium.stopTracing());
  check(work > 0 && work <= 100, `while the film was read no task of the page took more than ${work.toFixed(0)} ms of the processor's time`);
  const told = await lookOver(me, "down_the_line", behind);
  const answer = await sentAnswer(me, true);
  console.log(`read, one question: ${me.taps} taps, ${me.seconds} s of attention; asked by themselves: ${told.join("; ")}; ${answer}`);
  check(me.taps <= 6, `with the sticks the question across the line takes ${me.taps} taps`);

  // One whole view, the first of a lesson: with the club and the sticks.
  await me.begin(students[1].name);
  await accessible(page, "before there is a film");
  await targets(page, "before there is a film");
  await me.tap('[data-club="iron 7"]');
  const id = await page.evaluate(() => location.hash.split("/")[1]);
  const two = await readFilm(me, behind);
  // Meanwhile the coach is with another student.
  await page.evaluate(() => { window.longest = 0; location.hash = "#students"; });
  await page.waitForSelector(".drafts li");
  check((await page.locator(".drafts li").innerText()).includes(students[1].name), "the swing that is being read stands among those begun, by its name");
  await keep(page, "bay-reading-students");
  const outcome = await two.done();
  check(outcome.outcome === "found", "the film was read while its room was left");
  await page.evaluate((id) => { location.hash = `#swing/${id}`; }, id);
  await page.waitForSelector(".contact .tiles image");
  const read = await me.view();
  const names = Object.keys(read.frames);
  const off = names.map((name) => Math.abs(read.frames[name].picture - truth.instants[name])).sort((a, b) => a - b);
  console.log(names.map((name) => `${name} ${read.frames[name].picture} (${truth.instants[name].toFixed(1)})`).join(", "));
  check(names.length >= 6 && off[off.length >> 1] <= 3, `${names.length} pictures were found, half of them within ${off[off.length >> 1].toFixed(1)}`);
  const found = names.flatMap((name) => Object.entries(read.frames[name].points).map(([point, mark]) => {
    const [u, v] = truth.points[point][read.frames[name].picture];
    return { what: `${point} at ${name}`, point, share: Math.hypot(mark.u - u, mark.v - v) / header.body_px, z: Math.hypot(mark.u - u, mark.v - v) / mark.sd };
  }));
  console.log(found.map(({ what, share, z }) => `${what} ${(100 * share).toFixed(1)} % (${z.toFixed(1)})`).join(", "));
  const sorted = found.map(({ share }) => share).sort((a, b) => a - b);
  check(found.length >= 15 && sorted[sorted.length >> 1] < 0.04, `${found.length} points were found, half of them within ${(100 * sorted[sorted.length >> 1]).toFixed(1)} % of the body's height`);
  check(found.some(({ point }) => point === "clubhead"), "the clubhead among them");
  const sheet = await page.evaluate(() => {
    const { bottom } = document.querySelector(".tiles").getBoundingClientRect();
    return { tiles: [...document.querySelectorAll(".tiles button")].map((node) => ({ inside: node.getBoundingClientRect().bottom <= bottom + 1, lines: node.querySelectorAll("line").length, high: node.querySelector("svg, .blank").getBoundingClientRect().height })), foot: document.querySelector(".foot").getBoundingClientRect().bottom <= innerHeight + 1 };
  });
  check(sheet.foot && sheet.tiles.length >= names.length && sheet.tiles.every(({ inside, high }) => inside && high >= 150), `all ${sheet.tiles.length} pictures are in sight at once, the smallest ${Math.min(...sheet.tiles.map(({ high }) => high)).toFixed(0)} px high`);
  check(sheet.tiles.filter(({ lines }) => lines > 4).length >= names.length - 1, "with skeleton and shaft");
  await accessible(page, "all pictures");
  await targets(page, "all pictures");
  await keep(page, "bay-contact");
  const asked = await lookOver(me, "down_the_line", behind);
  check(await page.evaluate(() => document.querySelector("[data-key=send]").classList.contains("main")), "after the last picture sending is next");
  const sure = (await me.view()).frames;
  check(names.every((name) => sure[name].sure && !Object.values(sure[name].points).some((mark) => mark.found)), "and every picture is confirmed");
  await sentAnswer(me, false);
  console.log(`read, one view: ${me.taps} taps, ${me.seconds} s of attention (${me.seconds + names.length} s with a second more for each picture of the sheet); asked by themselves: ${asked.join("; ")}`);
  check(me.taps <= 12 && me.seconds <= 60, `with club and sticks one view takes ${me.taps} taps and ${me.seconds} s of attention`);
  quiet(page, "reading");

  // A lesson: three swings of both views, and one report. The club, the sticks and the view are asked for with the first.
  const LESSON = { down_the_line: drawn("lesson-behind", "--seed", "9", "--view", "down_the_line", "--club", "7 iron", "--size", "360x640", "--fps", "30"),
    face_on: drawn("lesson-front", "--seed", "9", "--view", "face_on", "--club", "7 iron", "--size", "360x640", "--fps", "30") };
  await me.begin(students[2].name);
  await me.tap('[data-club="iron 7"]');
  const ground = [];
  const first = {}; // what each film gave when it was read first
  for (let n = 0; n < 3; n++) {
    const began = [me.taps, me.seconds];
    if (n) { // from the report on to the next swing
      await me.tap(`#room a.button[href="#student/${students[2].id}"]`);
      me.screen();
      await page.locator("button", { hasText: en["bay.newSwing"] }).waitFor();
      me.did();
      await page.locator("button", { hasText: en["bay.newSwing"] }).tap();
      await page.waitForSelector(".bench [data-key=choose]");
      me.screen();
    }
    const open = await page.evaluate(() => document.querySelector('.bench-head [aria-pressed="true"]').dataset.key);
    const kinds = open === "face_on" ? ["face_on", "down_the_line"] : ["down_the_line", "face_on"];
    const readings = [];
    for (const kind of kinds) {
      if (kind !== open) {
        await me.tap(`.bench-head [data-key=${kind}]`);
        await page.waitForSelector(".bench [data-key=choose]");
      }
      readings.push(await readFilm(me, LESSON[kind], kind));
    }
    for (const reading of readings) check((await reading.done()).outcome === "found", `swing ${n + 1}: the film is read while the next ball is hit`);
    for (const kind of kinds) {
      const { rate, frames: read } = await me.view(kind);
      const said = JSON.stringify([rate, Object.entries(read).map(([name, { picture, points }]) => [name, picture, Object.entries(points)])]);
      first[kind] ??= said;
      check(said.includes('"found":true') && said === first[kind], `swing ${n + 1}: the same film from ${kind} gives the same pictures and points each time it is read`);
    }
    const club = await page.locator(".settings > summary").innerText();
    const { sticks, fps } = await me.view("down_the_line");
    ground.push(sticks.flat().filter(Boolean).length);
    const asked = [];
    for (const kind of [kinds[1], kinds[0]]) {
      await page.waitForFunction((of) => document.querySelector(".bench-head [aria-pressed=true]").dataset.key === of, kind);
      asked.push(...await lookOver(me, kind, LESSON[kind]));
    }
    await sentAnswer(me, false);
    console.log(`lesson, swing ${n + 1}: ${me.taps - began[0]} taps, ${me.seconds - began[1]} s (${club}, ${fps} a second); asked by themselves: ${asked.join("; ")}`);
  }
  check(ground.join() === "0,4,4", `the sticks of the first swing lie there for the second and the third (${ground})`);
  await me.tap(`#room a.button[href="#student/${students[2].id}"]`);
  me.screen();
  await page.waitForSelector("[data-key=judge]");
  await me.tap("[data-key=judge]");
  await page.waitForFunction(() => location.hash.startsWith("#lesson/"));
  await page.waitForSelector("#room h2");
  me.screen();
  const { swings } = (await me.house.call("GET", `/v1/lessons/${(await page.evaluate(() => location.hash)).split("/")[1]}/report`, me.token)).data;
  check(swings === 3, `one report of ${swings} swings`);
  console.log(`read, three swings of two views: ${me.taps} taps, ${me.seconds} s of attention`);
  check(me.seconds <= 360, `three swings of two views and their report take ${me.seconds} s of attention`);
  quiet(page, "a lesson");
  await me.house.end();
}
await chromium.close();
finish("coach");
