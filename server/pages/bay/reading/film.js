// A film on the tablet: chosen or recorded, stepped through picture by picture.

import { el, field } from "../../lib/dom.js";
import { say } from "../../lib/words.js";

const RATES = [24, 25, 30, 48, 50, 60, 100, 120, 240];
const STILL_BYTES = 500 * 1024;
const STILL_WIDE = 1920;
const LISTEN_MS = 1500; // how long a film is listened to for its rate,
const PATIENCE = 4; // and so many times as long while it is not told: a busy tablet shows few pictures, a slow film has few
const [LEAST, ENOUGH] = [3, 10]; // pictures that tell it
const SHOWN_MS = 2000; // a busy tablet shows a picture so late; taken sooner it would be the one before

const once = (target, event) => new Promise((resolve, reject) => {
  target.addEventListener(event, resolve, { once: true });
  target.addEventListener("error", () => reject(target.error ?? new Error(event)), { once: true });
});

/** Some recordings say their length only when they were read to the end. */
async function lengthOf(video) {
  if (Number.isFinite(video.duration)) return video.duration;
  video.currentTime = 1e9;
  await once(video, "seeked");
  return video.duration;
}

/** The common rate that a measured one stands for: films are stored at 29.97 for 30 and the like. */
export function commonRate(measured) {
  const near = RATES.find((rate) => Math.abs(measured / rate - 1) < 0.03);
  return near ?? Math.round(measured * 10) / 10;
}

/** Pictures a second as the file stores them: the film runs slowly for a moment and its pictures' own times are read. */
async function rateOf(video) {
  if (!video.requestVideoFrameCallback) return null;
  const gaps = [];
  let before = null;
  const heard = new Promise((resolve) => {
    let listened = 0;
    const timer = setInterval(() => {
      if (gaps.length < LEAST && ++listened < PATIENCE) return;
      clearInterval(timer);
      resolve();
    }, LISTEN_MS);
    const hear = (now, { mediaTime, presentedFrames }) => {
      const n = before ? presentedFrames - before.presentedFrames : 0;
      if (n > 0 && mediaTime > before.mediaTime) gaps.push((mediaTime - before.mediaTime) / n);
      before = { mediaTime, presentedFrames };
      if (gaps.length >= ENOUGH) {
        clearInterval(timer);
        resolve();
      } else video.requestVideoFrameCallback(hear);
    };
    video.requestVideoFrameCallback(hear);
  });
  video.playbackRate = 0.25;
  try {
    await video.play();
    await heard;
  } catch {
    return null;
  } finally {
    video.pause();
    video.playbackRate = 1;
  }
  // A picture that was dropped makes one gap longer, never one shorter: the middle of the shorter half.
  gaps.sort((a, b) => a - b);
  return gaps.length >= LEAST ? commonRate(1 / gaps[gaps.length >> 2]) : null;
}

export class Film {
  constructor(onFrame) {
    this.onFrame = onFrame;
    this.video = el("video", { muted: true, playsinline: true, preload: "auto", "aria-label": say("bay.film") });
    this.frame = 0;
    this.seconds = 0;
    this.rate = null; // pictures a second as the file stores them
    this.standing = null; // the picture that is shown; null where that is not known
  }

  get ready() {
    return this.seconds > 0;
  }

  get frames() {
    return Math.max(1, Math.round(this.seconds * this.rate));
  }

  /** taken: pictures a second of a film that was recorded here, as it happened. usual: where nothing tells them. */
  async load(blob, taken, usual) {
    this.seconds = 0;
    this.drop();
    this.url = URL.createObjectURL(blob);
    this.video.src = this.url;
    await once(this.video, "loadeddata");
    if (!this.video.videoWidth) throw new Error("no picture"); // a film whose pictures can't be decoded here
    const seconds = await lengthOf(this.video);
    this.video.currentTime = 0;
    await once(this.video, "seeked");
    this.rate = taken ?? (await rateOf(this.video)) ?? usual;
    this.seconds = seconds;
    await this.go(0);
  }

  drop() {
    this.seconds = 0;
    this.standing = null;
    if (this.url) {
      this.video.removeAttribute("src"); // or it goes on loading from an address that is none any more
      this.video.load();
      URL.revokeObjectURL(this.url);
    }
    this.url = null;
  }

  get width() {
    return this.video.videoWidth;
  }

  get height() {
    return this.video.videoHeight;
  }

  /** Plays from here, or stops at the picture that is shown. */
  async play() {
    if (this.video.paused) {
      this.standing = null;
      await this.video.play();
      return;
    }
    this.video.pause();
    await this.go(Math.floor(this.video.currentTime * this.rate));
  }

  /** Picture n: its middle, so that no rounding shows a neighbour. */
  async go(n) {
    this.frame = Math.min(Math.max(0, n), this.frames - 1);
    this.wanted = this.frame;
    if (this.seeking) return this.seeking;
    if (this.standing === this.wanted) { // one that is shown is not shown again, and would be waited for in vain
      this.onFrame(this);
      return undefined;
    }
    this.seeking = (async () => {
      while (this.standing !== this.wanted) {
        const frame = this.wanted;
        const there = this.shown();
        this.video.currentTime = (frame + 0.5) / this.rate;
        await once(this.video, "seeked");
        await there;
        this.standing = frame;
      }
      this.seeking = null;
      this.onFrame(this);
    })();
    return this.seeking;
  }

  /** The picture after a seek is on the screen; a page in the background never says so. */
  shown() {
    if (!this.video.requestVideoFrameCallback || document.hidden) return Promise.resolve();
    return new Promise((resolve) => {
      const timer = setTimeout(() => {
        this.video.cancelVideoFrameCallback(heard);
        resolve();
      }, SHOWN_MS);
      const heard = this.video.requestVideoFrameCallback(() => {
        clearTimeout(timer);
        resolve();
      });
    });
  }

  /** The picture shown, as it is, no wider than asked. */
  canvas(wide = this.width) {
    const scale = Math.min(1, wide / this.width);
    const canvas = el("canvas", { width: Math.round(this.width * scale), height: Math.round(this.height * scale) });
    canvas.getContext("2d").drawImage(this.video, 0, 0, canvas.width, canvas.height);
    return canvas;
  }

  /** The picture shown, as a JPEG small enough to send. */
  async still() {
    const canvas = this.canvas(STILL_WIDE);
    for (let quality = 0.85; ; quality -= 0.15) {
      const blob = await new Promise((resolve) => canvas.toBlob(resolve, "image/jpeg", quality));
      if (blob.size <= STILL_BYTES || quality < 0.3) return blob;
    }
  }
}

/** The camera's pictures a second: slow motion is often stored at 30 and was taken at 120 or 240. */
export function rateField(view, changed) {
  const rates = [...new Set([...RATES, view.rate ?? view.fps, view.fps])].filter((rate) => rate >= (view.rate ?? 0)).sort((a, b) => a - b);
  const select = el("select", {}, rates.map((rate) => el("option", { value: String(rate), selected: rate === view.fps }, String(rate))));
  select.addEventListener("change", () => {
    view.fps = Number(select.value);
    changed();
  });
  select.dataset.field = "rate";
  return field(say("bay.rate"), select, view.rate ? say("bay.rate.why", { n: view.rate }) : say("bay.rate.none"));
}
