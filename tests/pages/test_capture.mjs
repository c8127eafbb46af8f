// The camera that watches: the strike's ear and the eye for movement on made-up sounds and drawn swings, the ring and the file they are cut
// into, and all of it in a browser whose camera and microphone are files: a player who swings, talks, and swings without a ball.
import { execFileSync } from "node:child_process";
import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";

import { Motion } from "../../server/pages/bay/capture/motion.js";
import { film as fileOf, turned } from "../../server/pages/bay/capture/mp4.js";
import { Onset } from "../../server/pages/bay/capture/onset.js";
import { Ring } from "../../server/pages/bay/capture/ring.js";
import { accessible, browser, check, club, finish, keep, open, quiet, signIn, tablet, targets } from "./support.mjs";
import { RATE, Sound } from "./sounds.mjs";

const folder = mkdtempSync(join(tmpdir(), "leadside-capture-"));
const words = JSON.parse(readFileSync(new URL("../../server/words/en/bay.json", import.meta.url), "utf8"));
const ffmpeg = (...args) => execFileSync("ffmpeg", ["-loglevel", "error", "-y", ...args]);

// ---- the ear ----

function hear(sound) {
  const ear = new Onset(RATE);
  const strikes = [];
  for (let i = 0; i < sound.samples.length; i += 441) strikes.push(...ear.push(sound.samples.subarray(i, i + 441), i / RATE));
  return strikes;
}
const GROUNDS = { quiet: (s) => s.hiss(0.002), hissing: (s) => s.hiss(0.01), windy: (s) => s.hiss(0.002).wind(0.3), talking: (s) => s.hiss(0.002).talk(0.5, 4, 0.1) };
for (const [name, ground] of Object.entries(GROUNDS)) {
  let [found, of, off, falsely] = [0, 0, 0, 0];
  for (let seed = 1; seed <= 8; seed++) {
    for (const level of [0.9, 0.3]) {
      const strikes = hear(ground(new Sound(6, seed)).strike(5, level));
      const hit = strikes.find(({ at }) => Math.abs(at - 5) < 0.02);
      of++;
      if (hit) found++;
      if (hit) off = Math.max(off, Math.abs(hit.at - 5));
      falsely += strikes.length - (hit ? 1 : 0);
    }
  }
  check(found === of && falsely === 0 && off < 0.003, `${name}: ${found} of ${of} strikes heard, ${(1000 * off).toFixed(1)} ms off at worst, ${falsely} heard falsely`);
}
const SILENT = { "loud talk": (s) => s.hiss(0.002).talk(1, 10, 0.3), "talk in a quiet room": (s) => s.hiss(0.0005).talk(1, 10, 0.1), wind: (s) => s.hiss(0.002).wind(1),
  "dull thumps": (s) => s.hiss(0.002).thump(2).thump(4, 0.9).thump(7, 0.2), "a machine that is switched on": (s) => s.hiss(0.002).add(3, 6, () => 0.2 * s.noise()) };
for (const [name, make] of Object.entries(SILENT)) {
  const falsely = Array.from({ length: 8 }, (_, i) => hear(make(new Sound(12, 100 + i))).length).reduce((sum, n) => sum + n, 0);
  check(falsely === 0, `${name}: no strike in 96 s (${falsely})`);
}
check(hear(new Sound(8, 5).hiss(0.002).strike(3).strike(3.09, 0.4).strike(6)).length === 2, "the ball in the net right after is no second strike, the next swing's is");

// ---- the eye ----

const WIDE = 96;
const FPS = 30;

/** The grey pictures of a drawn swing, and when the ball is struck (s). */
function drawn(name, ...options) {
  const into = join(folder, name);
  mkdirSync(into);
  execFileSync("/usr/bin/python3", ["../films/render.py", "--fps", String(FPS), "--bits", "0", ...options, "--out", into].map(String), { cwd: new URL(".", import.meta.url) });
  const { header, truth } = JSON.parse(readFileSync(join(into, "truth.json"), "utf8"));
  const bytes = readFileSync(join(into, "film.bin"));
  const { width, height, frames } = header;
  const first = bytes.length - width * height * frames;
  return { width, height, impact: truth.instants.impact / FPS, pictures: Array.from({ length: frames }, (_, i) => bytes.subarray(first + i * width * height, first + (i + 1) * width * height)) };
}

function small({ width, height }, picture) {
  const scale = width / WIDE;
  return Uint8Array.from({ length: WIDE * Math.round(height / scale) }, (_, i) => {
    const [u, v] = [i % WIDE, Math.floor(i / WIDE)].map((at) => Math.floor((at + 0.5) * scale));
    return (picture[v * width + u] + picture[v * width + u + 1] + picture[(v + 1) * width + u] + picture[(v + 1) * width + u + 1]) >> 2;
  });
}

function watch(pictures) {
  const eye = new Motion();
  const swings = [];
  pictures.forEach((picture, i) => {
    eye.push(i / FPS, picture);
    const swing = eye.swing();
    if (swing) swings.push(swing.at);
  });
  return { eye, swings };
}
const rest = (pictures, seconds) => Array.from({ length: seconds * FPS }, (_, i) => pictures[i % 2]);
let worst = 0;
let seen = 0;
const SCENES = ["behind_60", "front_60", "behind_30_left", "front_60_fast", "behind_30_dim", "front_30_slow"];
for (const scene of SCENES) {
  const film = drawn(scene, "--scene", scene);
  const pictures = film.pictures.map((picture) => small(film, picture));
  const { swings, eye } = watch([...rest(pictures, 3), ...pictures, ...rest(pictures.slice(-2), 2)]);
  if (swings.length === 1 && eye.moved(3 + film.impact)) seen++;
  worst = Math.max(worst, ...swings.map((at) => Math.abs(at - 3 - film.impact)));
}
check(seen === SCENES.length && worst < 0.12, `by movement alone ${seen} of ${SCENES.length} drawn swings are seen, once each, the strike ${(1000 * worst).toFixed(0)} ms off at worst`);
const block = (at, size = 12) => Uint8Array.from({ length: WIDE * 128 }, (_, i) => (Math.abs((i % WIDE) - at) < size && Math.floor(i / WIDE) > 20 ? 200 : 90));
const still = Array.from({ length: 3 * FPS }, () => block(-50));
const walk = watch([...still, ...Array.from({ length: 4 * FPS }, (_, i) => block(-12 + i)), ...still]);
check(walk.swings.length === 0, "somebody who walks through the picture swings no club");
const texture = (shift) => Uint8Array.from({ length: WIDE * 128 }, (_, i) => 60 + 45 * Math.floor(((i + shift) % WIDE) / 3 % 4));
const shake = watch([...Array.from({ length: 3 * FPS }, () => texture(0)), ...Array.from({ length: FPS }, (_, i) => texture(i % 2 ? 3 : 0)), ...Array.from({ length: 3 * FPS }, () => texture(0))]);
check(shake.swings.length === 0 && !shake.eye.moved(3.3), "nor does a tablet that is touched");
check(watch([...still, ...still, ...still]).swings.length === 0 && !watch(still).eye.moved(2), "nor an empty tee");

// ---- the ring and the file ----

const ring = new Ring(8, 40000);
for (let i = 0; i < 3000; i++) ring.add({ time: i / 30, key: i % 15 === 0, data: new Uint8Array(100) });
const held = ring.pieces.flat();
check(held[0].key && 2999 / 30 - held[0].time >= 8 && 2999 / 30 - held[0].time <= 8.5 && ring.held === 100 * held.length, `the ring holds its last ${(2999 / 30 - held[0].time).toFixed(1)} s, from a key picture on`);
const part = ring.cut(95.2, 98);
check(part[0].key && part[0].time <= 95.2 && part[0].time > 94.7 && part.at(-1).time <= 98 && part.at(-1).time > 97.9, "a part begins at the key picture before it");
for (let i = 3000; i < 3100; i++) ring.add({ time: i / 30, key: i % 15 === 0, data: new Uint8Array(3000) });
check(ring.held <= 40000 && ring.pieces.length > 0 && ring.pieces[0][0].key, `whatever the camera gives, no more than its bytes (${ring.held})`);
for (let i = 0; i < 100; i++) ring.add({ time: 200 + i / 30, key: false, data: new Uint8Array(3000) });
check(ring.held <= 40000, "even without key pictures");
check(new Ring(8, 1000).cut(0, 1).length === 0, "an empty ring gives nothing");

ffmpeg("-f", "lavfi", "-i", "testsrc=size=320x180:rate=30:duration=1", "-c:v", "libx264", "-pix_fmt", "yuv420p", "-bf", "0", join(folder, "plain.mp4"));
const rotation = (file) => Number(execFileSync("ffprobe", ["-v", "error", "-select_streams", "v", "-show_entries", "stream_side_data=rotation", "-of", "csv=p=0", file], { encoding: "utf8" }).replace(/[^-\d]/g, "") || 0);
const angles = [];
let blob = new Blob([readFileSync(join(folder, "plain.mp4"))]);
for (let n = 0; n < 4; n++) {
  const bytes = Buffer.from(await (await turned(blob, 1)).arrayBuffer());
  blob = new Blob([bytes]); // node 18 reads a part of a blob made of parts wrongly
  writeFileSync(join(folder, `turned${n}.mp4`), bytes);
  angles.push(Math.abs(rotation(join(folder, `turned${n}.mp4`))));
}
check(angles.join() === "90,180,90,0", `a film is turned by its header, four times is once around (${angles})`);
check((await turned(new Blob(["no film at all"]), 1)) === null && (await turned(new Blob([]), 1)) === null, "what has no such header is not turned");

// ---- in the browser: the camera and the microphone are files ----

const MARK = 12; // px of one bit of a picture's number, drawn into it
const BITS = 11;
const swings = [1, 1.15, 0.9].map((pace) => drawn(`pace${pace}`, "--scene", "front_60", "--pace", pace));
const [{ width, height }] = swings;
const timeline = [];
const strikes = [];
const add = (swing, struck) => {
  timeline.push(...rest(swing.pictures, 3));
  if (struck) strikes.push(timeline.length / FPS + swing.impact);
  timeline.push(...swing.pictures, ...rest(swing.pictures.slice(-2), 1));
};
add(swings[0], true);
add(swings[0], false);
add(swings[1], true);
add(swings[2], true);
timeline.push(...rest(swings[0].pictures, 6));
const raw = Buffer.concat(timeline.map((picture, n) => {
  const copy = Buffer.from(picture);
  for (let i = 0; i < BITS; i++) for (let v = 0; v < MARK; v++) copy.fill((n >> i) & 1 ? 255 : 0, v * width + i * MARK, v * width + (i + 1) * MARK);
  return copy;
}));
writeFileSync(join(folder, "camera.gray"), raw);
ffmpeg("-f", "rawvideo", "-pix_fmt", "gray", "-s", `${width}x${height}`, "-r", String(FPS), "-i", join(folder, "camera.gray"), "-c:v", "mjpeg", "-q:v", "3", "-pix_fmt", "yuvj420p", join(folder, "camera.mjpeg"));
const WAY_S = 0.01; // of the sound
const seconds = timeline.length / FPS;
const sound = new Sound(seconds, 9).hiss(0.002);
for (let at = 0.3, i = 0; i <= strikes.length; i++) { // talk from after one strike until shortly before the next
  const until = (strikes[i] ?? seconds) - 1;
  if (until - at > 1) sound.talk(at, until - at - 0.8, 0.1);
  at = until + 3;
}
strikes.forEach((at) => sound.strike(at + WAY_S, 0.6));
writeFileSync(join(folder, "ear.wav"), sound.wav());

const house = await club();
const key = (page, name) => page.locator(`[data-key="${name}"]`);
const said = (page, text) => page.waitForFunction((wanted) => document.querySelector("#said")?.textContent.startsWith(wanted), text.split("{")[0], { timeout: 30000 }).then(() => true, () => false);

/** A browser of its own with an open sheet. */
async function bay(args, play, before) {
  const chromium = await browser({ args: ["--autoplay-policy=no-user-gesture-required", "--use-fake-ui-for-media-stream", ...args] });
  try {
    const page = await open(chromium, house.origin, { size: tablet });
    if (before) await page.addInitScript(before);
    await signIn(page, house.origin, "coach1", house.password);
    await page.waitForSelector(".names a");
    await page.locator(".names a").first().click();
    await page.locator("button", { hasText: words["bay.newSwing"] }).click();
    await page.waitForSelector(".view");
    await key(page, "face_on").click();
    await play(page);
  } finally {
    await chromium.close();
  }
}

/** What a film shows: the numbers drawn into its pictures at its beginning, at the strike and at its end. */
const numbersIn = (page, index, bits = BITS) => page.evaluate(async ({ of, MARK: size, BITS: bits }) => {
  const { Film } = await import("/bay/reading/film.js");
  const film = new Film(() => {});
  const { blob, rate, strike } = window.films[of];
  await film.load(blob, rate, 30);
  const at = async (time) => {
    await film.go(Math.min(film.frames - 1, Math.floor(time * rate)));
    const pen = film.canvas().getContext("2d");
    return Array.from({ length: bits }, (_, i) => (pen.getImageData(i * size + size / 2, size / 2, 1, 1).data[1] > 128 ? 2 ** i : 0)).reduce((sum, n) => sum + n, 0);
  };
  const near = [];
  for (let n = -4; n <= 4; n++) near.push([Math.floor(strike.at * rate + n) / rate, await at(strike.at + n / rate)]);
  const out = { rate, seconds: film.seconds, size: blob.size, strike, near, first: await at(0), last: await at(film.seconds) };
  film.drop();
  return out;
}, { of: index, MARK, BITS: bits });

// Picture and sound whose instants are known, each by a clock of its own, so that the strike's time can be judged: a picture carries its instant.
const RUN_S = 8;
const struck = [3.1, 6.4];
const clean = new Sound(RUN_S, 4).hiss(0.002);
struck.forEach((at) => clean.strike(at + WAY_S, 0.6));
await bay([], async (page) => {
  await page.evaluate(async ({ samples, rate, times, run, size, bits }) => {
    const [sight, ear] = ["video", "audio"].map((kind) => new MediaStreamTrackGenerator({ kind }));
    const [pictures, sounds] = [sight, ear].map((track) => track.writable.getWriter());
    const canvas = Object.assign(document.createElement("canvas"), { width: 480, height: 270 });
    const pen = canvas.getContext("2d");
    const draw = (ms) => {
      pen.fillStyle = "#404040";
      pen.fillRect(0, 0, 480, 270);
      pen.fillStyle = "#ffffff";
      if (times.some((time) => Math.abs(ms / 1000 - time) < 0.3)) pen.fillRect(150 + (ms % 200), 60, 80, 150); // somebody swings
      for (let i = 0; i < bits; i++) {
        pen.fillStyle = (ms >> i) & 1 ? "#ffffff" : "#000000";
        pen.fillRect(i * size, 0, size, size);
      }
    };
    navigator.mediaDevices.getUserMedia = async () => new MediaStream([sight, ear]);
    const piece = rate / 100;
    const began = performance.now() + 200;
    let [n, k] = [0, 0];
    window.played = new Promise((resolve) => {
      const tick = () => { // what is due, and what a busy machine left behind
        const now = performance.now() - began;
        for (; (n + 1) * 10 <= now && n < 100 * run; n++) {
          void sounds.write(new AudioData({ format: "f32-planar", sampleRate: rate, numberOfFrames: piece, numberOfChannels: 1, timestamp: 7e6 + n * 10000, data: Float32Array.from(samples.slice(n * piece, (n + 1) * piece), (value) => value / 32767) }));
        }
        for (; (k * 1000) / 60 <= now && k < 60 * run; k++) {
          const ms = Math.round((k * 1000) / 60);
          draw(ms);
          void pictures.write(new VideoFrame(canvas, { timestamp: 9e9 + ms * 1000 }));
        }
        if (n < 100 * run) setTimeout(tick, 4);
        else resolve();
      };
      tick();
    });
    const { Watch } = await import("/bay/capture/watch.js");
    window.films = [];
    window.watch = new Watch({ caught: (film) => window.films.push(film), ended: () => {}, changed: () => {} });
    await window.watch.start();
  }, { samples: Array.from(clean.samples, (value) => Math.round(32767 * value)), rate: RATE, times: struck, run: RUN_S, size: MARK, bits: 14 });
  await page.evaluate(() => window.played);
  await page.waitForTimeout(1500);
  const held = await page.evaluate(() => [window.films.length, window.watch.ring.held]);
  await page.evaluate(() => window.watch.stop());
  check(held[0] === struck.length && held[1] > 0 && held[1] < 32e6, `of camera and microphone with clocks of their own ${held[0]} films, ${Math.round(held[1] / 1000)} kB in the ring`);
  const errors = [];
  for (let i = 0; i < held[0]; i++) {
    const { near } = await numbersIn(page, i, 14);
    const ahead = near.map(([time, ms]) => ms / 1000 - time).sort((a, b) => a - b)[near.length >> 1]; // of the film's clock
    const { strike } = await page.evaluate((of) => ({ strike: window.films[of].strike }), i);
    errors.push(strike.at + ahead - struck[i]);
  }
  const off = Math.max(...errors.map(Math.abs));
  check(held[0] > 0 && off < 0.02, `the strike is told within 20 ms: ${errors.map((error) => `${(1000 * error).toFixed(0)} ms`).join(", ")}`);
  quiet(page, "clocks of their own");
});

// Chromium's own camera and microphone, as a coach meets them.
const devices = ["--use-fake-device-for-media-stream", `--use-file-for-fake-video-capture=${join(folder, "camera.mjpeg")}`, `--use-file-for-fake-audio-capture=${join(folder, "ear.wav")}%noloop`];
await bay(devices, async (page) => {
  await targets(page, "before watching");
  await key(page, "watch").click();
  await page.waitForSelector(".watch video");
  check((await page.textContent(".watch .lead")) === words["bay.watch.by.sound"], "it says that it goes by the sound");
  await accessible(page, "watching");
  await targets(page, "watching");
  await keep(page, "bay-watching");
  await page.waitForSelector('[data-key="take"]', { timeout: 60000 });
  check(await said(page, words["bay.watch.caught"]), "a swing shows at once as the film to be read");
  const kept = await page.evaluate(async () => (await import("/lib/storage.js")).list("films").then((films) => films.length));
  check(kept === 1, "and is kept on the tablet");
  await page.evaluate(async () => {
    const [{ blob, taken }] = await (await import("/lib/storage.js")).list("films");
    window.films = [{ blob, rate: taken, strike: (await (await import("/bay/draft.js")).findDraft(location.hash.split("/")[1])).views.face_on.strike }];
  });
  const film = await numbersIn(page, 0);
  const hit = strikes[0] * FPS;
  check(film.first <= hit - 1.6 * FPS && film.last >= hit + 0.6 * FPS && film.seconds < 4.5, `it holds the whole swing: pictures ${film.first} to ${film.last}, the strike at ${hit.toFixed(1)}; ${film.seconds.toFixed(1)} s, ${(film.size / 1e6).toFixed(1)} MB`);
  await accessible(page, "a swing caught");
  await targets(page, "a swing caught");
  await keep(page, "bay-caught");
  await key(page, "not-a-swing").click();
  await page.waitForSelector(".watch video");
  check((await page.evaluate(async () => (await import("/lib/storage.js")).list("films").then((films) => films.length))) === 0, "said to be none it is gone, and the camera watches on");
  await page.waitForSelector('[data-key="take"]', { timeout: 60000 });
  await key(page, "read-next").waitFor({ timeout: 60000 });
  check(true, "while a swing is read the next is caught");
  const before = await page.evaluate(() => location.hash);
  await key(page, "read-next").click();
  await page.waitForFunction((hash) => location.hash !== hash && document.querySelector('[data-key="take"]'), before, { timeout: 20000 });
  const strike = await page.evaluate(async () => (await (await import("/bay/draft.js")).findDraft(location.hash.split("/")[1])).views.face_on.strike);
  check(strike.by === "sound" && strike.sd > 0 && strike.at > 1.2 && strike.at < 3, `it is a swing of its own, and knows when the ball was struck: ${strike.at.toFixed(2)} s ± ${strike.sd}`);
  await page.waitForTimeout(8000);
  check((await key(page, "read-next").count()) === 0, "no more than three were caught");
  await page.evaluate(() => {
    Object.defineProperty(document, "hidden", { get: () => true, configurable: true });
    document.dispatchEvent(new Event("visibilitychange"));
  });
  check((await said(page, words["bay.watch.hidden"])) && (await key(page, "unwatch").count()) === 0, "out of sight the camera goes off, and says so");
  quiet(page, "watching by sound");
});

// Without a microphone, or without being allowed.
const noEar = () => {
  const ask = navigator.mediaDevices.getUserMedia.bind(navigator.mediaDevices);
  navigator.mediaDevices.getUserMedia = (wanted) => (wanted.audio ? Promise.reject(new DOMException("no", "NotFoundError")) : ask(wanted));
};
await bay(devices, async (page) => {
  await key(page, "watch").click();
  await page.waitForSelector(".watch video");
  check((await page.textContent(".watch .lead")) === words["bay.watch.by.motion"], "without a microphone it goes by the movement, and says so");
  await page.waitForSelector('[data-key="take"]', { timeout: 60000 });
  const strike = await page.evaluate(async () => (await (await import("/bay/draft.js")).findDraft(location.hash.split("/")[1])).views.face_on.strike);
  check(strike.by === "motion", "a swing is caught by its movement");
  await page.evaluate(() => { location.hash = "#students"; });
  await page.waitForSelector(".names a");
  check((await key(page, "unwatch").count()) === 0, "when another student may be next the camera is off");
  quiet(page, "watching by movement");
}, noEar);
for (const [error, why] of [["NotAllowedError", "refused"], ["NotReadableError", "busy"], ["NotFoundError", "none"]]) {
  await bay([], async (page) => {
    await page.evaluate((name) => { navigator.mediaDevices.getUserMedia = () => Promise.reject(new DOMException("no", name)); }, error);
    await key(page, "watch").click();
    check(await said(page, words[`bay.watch.${why}`]), `a camera that is ${why} is told in plain words`);
    check(await key(page, "choose").isVisible(), "and a film may be chosen");
  });
}
await bay([], async (page) => {
  check((await key(page, "watch").count()) === 0 && (await key(page, "record").count()) === 1, "a browser that can't watch offers to record by hand alone");
}, () => { delete window.MediaStreamTrackProcessor; });

// Films that can't be used as they are.
ffmpeg("-f", "lavfi", "-i", "testsrc=size=320x180:rate=10:duration=50", "-c:v", "libx264", "-preset", "ultrafast", "-pix_fmt", "yuv420p", join(folder, "long.mp4"));
ffmpeg("-f", "lavfi", "-i", "testsrc=size=320x180:rate=30:duration=1", "-f", "lavfi", "-i", "sine=duration=1", "-c:v", "libx265", "-x265-params", "log-level=none", "-tag:v", "hvc1", "-pix_fmt", "yuv420p", "-c:a", "aac", join(folder, "telephone.mp4"));
await bay([], async (page) => {
  await page.setInputFiles("input[type=file]", join(folder, "telephone.mp4"));
  check(await said(page, words["bay.film.blind"]), "pictures that can't be shown are told, with what to do");
  await page.setInputFiles("input[type=file]", join(folder, "long.mp4"));
  check(await said(page, words["bay.film.long"]), "so is a film that is too long");
  await page.evaluate(() => window.dispatchEvent(new CustomEvent("leadside-read", { detail: { id: location.hash.split("/")[1], kind: "face_on", outcome: "across" } })));
  await key(page, "turn-right").waitFor();
  await accessible(page, "a film that lies on its side");
  await targets(page, "a film that lies on its side");
  await key(page, "turn-right").click();
  await page.waitForFunction(() => document.querySelector(".sheet video")?.videoHeight === 320, null, { timeout: 20000 }).catch(() => {});
  const size = await page.evaluate(() => [document.querySelector(".sheet video").videoWidth, document.querySelector(".sheet video").videoHeight]);
  check(size.join() === "180,320", `a film that lies on its side is turned: ${size}`);
  quiet(page, "films that can't be used");
});
await house.end();
rmSync(folder, { recursive: true, force: true });
finish("capture");
