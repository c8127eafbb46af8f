// Points found for the coach: on a drawn figure whose joints are known, through the real server and the real page.
import { execFileSync } from "node:child_process";
import { existsSync, mkdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { fileURLToPath } from "node:url";

import { en } from "./words.mjs";
import { accessible, browser, build, check, club, finish, keep, open, quiet, signIn, skip, tablet } from "./support.mjs";

const library = process.env.LEADSIDE_POSE ?? fileURLToPath(new URL("../../deploy/pose/node_modules/@mediapipe/pose", import.meta.url));
const WIDE = 960;
const HIGH = 720;

/** An invented figure face on, at address: joints in pixels. The camera sees the person's right side on the left. */
const FIGURE = {
  head: [480, 130], shoulder: [[525, 215], [435, 215]], elbow: [[530, 300], [430, 300]], wrist: [[492, 372], [468, 378]],
  hip: [[508, 385], [452, 385]], knee: [[520, 500], [440, 500]], ankle: [[528, 620], [432, 620]],
};

/** What lies between the joints: the neck's base above the shoulders, the grip where the hands are. */
const WITHIN = { head: FIGURE.head, neck: [480, 195], grip: [480, 392] };

async function film(where) {
  const text = await where.evaluate(async ({ figure, wide, high }) => {
    const canvas = document.createElement("canvas");
    canvas.width = wide;
    canvas.height = high;
    const pen = canvas.getContext("2d");
    const limb = (colour, width, ...joints) => {
      pen.strokeStyle = colour;
      pen.lineWidth = width;
      pen.lineCap = pen.lineJoin = "round";
      pen.beginPath();
      joints.forEach(([u, v], i) => (i ? pen.lineTo(u, v) : pen.moveTo(u, v)));
      pen.stroke();
    };
    const draw = (i) => {
      pen.fillStyle = "#b9d3e6";
      pen.fillRect(0, 0, wide, high);
      pen.fillStyle = "#7fae6f";
      pen.fillRect(0, 560, wide, 160);
      for (const side of [0, 1]) {
        limb("#2b3a55", 46, figure.hip[side], figure.knee[side]);
        limb("#2b3a55", 34, figure.knee[side], figure.ankle[side]);
        const [u, v] = figure.ankle[side];
        limb("#eeeeee", 22, [u, v + 12], [u + (side ? -14 : 14), v + 26]);
      }
      pen.fillStyle = "#c94f3d";
      pen.beginPath();
      pen.moveTo(figure.shoulder[1][0] - 12, 200);
      pen.lineTo(figure.shoulder[0][0] + 12, 200);
      pen.lineTo(figure.hip[0][0] + 24, 400);
      pen.lineTo(figure.hip[1][0] - 24, 400);
      pen.fill();
      limb("#d9a883", 26, [480, 205], [480, 165]);
      pen.fillStyle = "#d9a883";
      pen.beginPath();
      pen.ellipse(...figure.head, 31, 42, 0, 0, 7);
      pen.fill();
      pen.fillStyle = "#3a2a1c";
      pen.beginPath();
      pen.ellipse(480, 104, 33, 24, 0, Math.PI, 7);
      pen.fill();
      for (const [u, v] of [[468, 126], [492, 126]]) pen.fillRect(u - 4, v - 2, 8, 5);
      pen.fillRect(477, 132, 5, 14);
      pen.fillRect(468, 154, 24, 4);
      for (const side of [0, 1]) {
        limb("#a83f30", 28, figure.shoulder[side], figure.elbow[side]);
        limb("#d9a883", 20, figure.elbow[side], figure.wrist[side]);
      }
      limb("#d9a883", 24, ...figure.wrist, [480, 392]);
      pen.fillText(String(i), 20, 40);
    };
    const recorder = new MediaRecorder(canvas.captureStream(30), { mimeType: "video/webm", videoBitsPerSecond: 8e6 });
    const parts = [];
    recorder.ondataavailable = (event) => parts.push(event.data);
    const stopped = new Promise((resolve) => recorder.addEventListener("stop", resolve));
    recorder.start();
    for (let i = 0; i < 30; i++) {
      draw(i);
      await new Promise((resolve) => setTimeout(resolve, 33));
    }
    recorder.stop();
    await stopped;
    const bytes = new Uint8Array(await new Blob(parts).arrayBuffer());
    return btoa(Array.from(bytes, (byte) => String.fromCharCode(byte)).join(""));
  }, { figure: FIGURE, wide: WIDE, high: HIGH });
  return { name: "swing.webm", mimeType: "video/webm", buffer: Buffer.from(text, "base64") };
}

async function takeAddress(page, origin) {
  await page.goto(`${origin}/bay.html#students`);
  await page.locator(".names a").first().click();
  await page.locator("button", { hasText: "New swing" }).click();
  await page.waitForSelector("input[type=file]", { state: "attached" });
  await page.locator("button", { hasText: "From the front" }).click();
  await page.waitForFunction(() => document.querySelector("section[aria-label='From the front']"));
  await page.setInputFiles("input[type=file]", await film(page));
  await page.waitForSelector("input[type=range]");
  await page.locator("button", { hasText: "+10" }).click();
  await page.locator("button", { hasText: "Use this frame for: address" }).click();
  await page.waitForFunction(() => document.querySelectorAll(".strip .taken").length === 1);
  await page.locator(".strip button").first().click();
  await page.waitForSelector(".stage img");
}

/** The draft as the page keeps it on the device. */
const address = (page) => page.evaluate(async () => {
  const { findDraft } = await import("/bay/draft.js");
  const draft = await findDraft(location.hash.split("/")[1]);
  return { hand: draft.student.hand, student: draft.student.id, points: draft.views.face_on.frames.address.points };
});

/** The film is read from its beginning on, or once more; what was said of it. */
async function findPoints(page, again = true) {
  if (again) await page.locator("[data-key=read]").click();
  await page.waitForFunction(() => /points found|by hand/.test(document.querySelector("#said")?.textContent ?? ""), null, { timeout: 240000 });
  return page.evaluate(() => {
    const said = document.querySelector("#said").textContent;
    document.querySelector("#said").textContent = "";
    return said;
  });
}

// Without the library the page offers nothing, and the address is not there.
const plain = await club();
const chromium = await browser({ args: ["--use-gl=angle", "--use-angle=swiftshader", "--enable-unsafe-swiftshader"] });
{
  const page = await open(chromium, plain.origin, { size: tablet });
  await signIn(page, plain.origin, "coach1", plain.password);
  await page.waitForSelector(".names a");
  await takeAddress(page, plain.origin);
  const offered = await page.evaluate(async () => (await import("/bay/reading/pose.js")).poseOffered());
  check(offered === false, "the page knows that no library is offered");
  check((await page.locator("[data-key=read]").count()) === 0, "without --pose no reading is offered");
  check((await fetch(`${plain.origin}/pose/pose.js`)).status === 404, "and no such address");
  await page.context().close();
}
await plain.end();

if (!existsSync(library)) {
  skip("the pose library is not installed (deploy/fetch-pose)");
} else {
  const house = await club(["--pose", library]);
  const page = await open(chromium, house.origin, { size: tablet });
  const asked = [];
  page.on("request", (request) => asked.push(new URL(request.url()).pathname));
  await signIn(page, house.origin, "coach1", house.password);
  await page.waitForSelector(".names a");
  await takeAddress(page, house.origin);
  const posted = asked.length;
  await findPoints(page, false); // it was begun when the film was chosen
  const first = await address(page);
  const body = FIGURE.ankle[0][1] - FIGURE.head[1] + 60;
  const far = Object.entries(first.points).map(([id, mark]) => {
    const [word, joint] = id.split("_");
    const [u, v] = WITHIN[id] ?? FIGURE[joint][(word === "lead") === (first.hand === "right") ? 0 : 1];
    return { id, px: Math.hypot(mark.u - u, mark.v - v), sd: mark.sd };
  });
  console.log(far.map(({ id, px, sd }) => `${id} ${px.toFixed(0)} px of sd ${sd}`).join(", "));
  check(far.length >= 8, `${far.length} points are found`);
  check(far.every(({ px, sd }) => px < 3 * sd), "each lies within three of its errors of the joint drawn");
  check(far.map(({ px }) => px).sort((a, b) => a - b)[far.length >> 1] < 0.05 * body, "and half of them within a twentieth of the body's height");
  check(Object.values(first.points).every((mark) => mark.found && mark.sd >= 0.03 * body), "all are kept as found, with an error of centimetres");
  check(["grip", "head"].every((id) => first.points[id]?.found) && !first.points.clubhead, "head and grip lie between what was found; nothing is made up for the club");
  check(!asked.slice(posted).some((path) => path.startsWith("/v1/")), "the picture is looked at on the tablet: nothing is sent");
  await page.waitForSelector(".mark.found");
  check((await page.locator(".mark.found circle[stroke-dasharray]").count()) === far.length, "found marks are drawn dashed");
  await accessible(page, "bay found points");
  await keep(page, "bay-found");

  await findPoints(page);
  const second = await address(page);

  // No guess makes a fault: guesses go along named as such, are measured with their error, and no verdict rests on them.
  const token = await house.token("coach1");
  const documentOf = () => page.evaluate(async () => {
    const { documentOf, findDraft } = await import("/bay/draft.js");
    return documentOf(await findDraft(location.hash.split("/")[1]));
  });
  const judged = async (swing) => {
    const kept = await house.call("POST", `/v1/students/${first.student}/swings`, token, swing);
    if (kept.status !== 201) return { status: kept.status, present: [], refused: kept.data.detail };
    const report = (await house.call("GET", `/v1/swings/${kept.data.id}/report`, token)).data;
    const by = (verdict) => report.faults.filter((fault) => fault.verdict === verdict).map((fault) => fault.fault);
    return { status: 201, measures: report.measures.length, guessed: report.measures.filter((item) => item.guessed).length, present: by("present"), absent: by("absent"),
      settle: report.faults.filter((fault) => fault.settle?.includes("confirm")).map((fault) => fault.fault) };
  };
  const guessed = await documentOf();
  const sent = guessed.views[0].frames[0];
  check(sent.found.length === far.length && far.every(({ id, sd }) => sent.points[id][2] === sd), `${sent.found.length} guesses go along, each with its own error`);
  const verdict = await judged(guessed);
  check(verdict.status === 201 && verdict.guessed === verdict.measures && verdict.present.length + verdict.absent.length === 0, `guesses alone decide nothing: ${JSON.stringify(verdict)}`);
  check(await page.locator("button", { hasText: "Send it" }).isDisabled(), "and with nothing confirmed there is nothing to send yet");
  // A bent arm whose joints are guesses: by their large error alone it would be called a fault.
  const bent = JSON.parse(readFileSync(fileURLToPath(new URL("../data/face_on.json", import.meta.url)), "utf8"));
  for (const frame of bent.views[0].frames) {
    frame.points = Object.fromEntries(Object.entries(frame.points).filter(([id]) => /_(shoulder|elbow|wrist|hip|knee|ankle)$/.test(id)).map(([id, [u, v]]) => [id, [u, v, 40]]));
  }
  const control = await judged(bent);
  check(control.present.length > 0, `a large error alone would not have been enough: ${JSON.stringify(control)}`);
  for (const frame of bent.views[0].frames) frame.found = Object.keys(frame.points);
  const named = await judged(bent);
  check(named.present.length === 0 && control.present.every((fault) => named.settle.includes(fault)), `named as guesses they ask for a look: ${JSON.stringify(named)}`);
  const moved = Math.max(...Object.keys(first.points).map((id) => Math.hypot(first.points[id].u - second.points[id].u, first.points[id].v - second.points[id].v)));
  check(moved < 0.5, `looking again gives the same points (moved ${moved.toFixed(2)} px)`);

  // A found point that is dragged is the coach's own, and stays where it was put.
  const target = "trail_knee"; // no other ring lies near
  const box = await page.locator(".stage img").boundingBox();
  const chosen = second.points[target];
  const at = { x: box.x + (chosen.u / WIDE) * box.width, y: box.y + (chosen.v / HIGH) * box.height };
  await page.mouse.move(at.x, at.y);
  await page.mouse.down();
  await page.mouse.move(at.x + 20, at.y + 6, { steps: 3 });
  await page.mouse.up();
  await page.waitForTimeout(300);
  const third = await address(page);
  const own = Object.entries(third.points).filter(([, mark]) => !mark.found);
  check(own.length === 1 && own[0][1].sd === undefined && own[0][1].u !== second.points[own[0][0]].u, `a dragged point is the coach's: ${own.map(([id]) => id)} (first found: ${target})`);
  await findPoints(page);
  const fourth = await address(page);
  check(own.length === 1 && fourth.points[own[0][0]].u === own[0][1].u, "looking again leaves it alone");
  // What is confirmed counts, with the error it was found with.
  await page.locator("[data-key=right]").click();
  await page.waitForFunction(() => !document.querySelector("[data-key=send]").disabled && document.querySelectorAll(".strip .done").length === 1);
  const confirmed = (await documentOf()).views[0].frames[0];
  check(!confirmed.found && far.every(({ id }) => id === target || confirmed.points[id][2] === fourth.points[id].sd), "“All right” confirms each with the error it was found with");
  check(Object.keys(confirmed.film ?? {}).join() === target && confirmed.film[target][2] === chosen.sd && confirmed.points[target].length === 2,
    `beside the one that was dragged goes where it was found, and no other: ${JSON.stringify(confirmed.film)}`);
  const counted = await judged(await documentOf());
  check(counted.status === 201 && counted.measures > 0 && counted.guessed === 0, `and then nothing is a guess any more: ${JSON.stringify(counted)}`);
  quiet(page, "pose");

  // Films that can't be used as they are: two people, and a swing that is lost in a long film. It is told, with what to do.
  const folder = join(build, "films", "pose");
  mkdirSync(folder, { recursive: true });
  const player = join(folder, "alone.mp4");
  execFileSync("/usr/bin/python3", [fileURLToPath(new URL("../films/render.py", import.meta.url)), "--seed", "5", "--view", "down_the_line", "--size", "360x640", "--fps", "30", "--film", player, "--out", folder]);
  const made = (name, ...options) => {
    const file = join(folder, `${name}.mp4`);
    execFileSync("ffmpeg", ["-loglevel", "error", "-y", ...options, "-c:v", "libx264", "-preset", "ultrafast", "-pix_fmt", "yuv420p", file]);
    return file;
  };
  const films = { "bay.read.crowd": made("two", "-i", player, "-i", player, "-filter_complex", "[1:v]tpad=start_duration=0.4:start_mode=clone[b];[0:v][b]hstack=shortest=1"),
    "bay.moments.long": made("late", "-i", player, "-vf", "fps=10,tpad=start_duration=177:start_mode=clone") };
  const another = await open(chromium, house.origin, { size: tablet });
  await signIn(another, house.origin, "coach1", house.password);
  await another.waitForSelector(".names a");
  for (const [why, film] of Object.entries(films)) {
    await another.goto(`${house.origin}/bay.html#students`);
    await another.waitForSelector(".names a");
    await another.locator(".names a").first().click();
    await another.locator("button", { hasText: en["bay.newSwing"] }).click();
    await another.waitForSelector(".bench [data-key=choose]");
    await another.setInputFiles("input[type=file]", film);
    const wanted = en[why].split("{n}")[0];
    const said = await another.waitForFunction((text) => document.querySelector("#said")?.textContent.includes(text), wanted, { timeout: 240000 }).then(() => true, () => false);
    check(said, `told, with what to do: ${en[why]}`);
    if (why === "bay.read.crowd") check((await another.locator(".contact [role=alert]").innerText()).includes(wanted), "and it stands over the pictures as long as they are looked at");
  }
  quiet(another, "films that can't be used");
  await another.context().close();

  // On the range without a network: what was loaded once is on the tablet.
  await page.evaluate(() => navigator.serviceWorker.ready);
  await page.reload();
  await page.waitForSelector("[data-key=read]");
  await house.stop("SIGKILL");
  await page.reload();
  await page.waitForSelector("[data-key=read]");
  const alone = await findPoints(page);
  check(alone === en["bay.moments.none"], `the film is looked through without a network too, and in a player who stands still no swing is seen: ${alone}`);
  await house.start();
  await house.end();
}
await chromium.close();
finish("pose");
