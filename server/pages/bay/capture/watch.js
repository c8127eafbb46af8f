// The camera watches: the last seconds are kept in a ring, and a swing is cut out of it by the strike's sound or, without a microphone, by
// its movement. Nothing is kept of what is heard, and nothing of what is seen but the swings that were cut out.

import { el } from "../../lib/dom.js";
import { commonRate } from "../reading/film.js";
import { film } from "./mp4.js";
import { Motion } from "./motion.js";
import { Onset } from "./onset.js";
import { Ring } from "./ring.js";

const RING_S = 8;
const RING_BYTES = 32e6;
const BEFORE_S = 2; // of the film before the strike,
const AFTER_S = 1.2; // and after it
const LEAST_S = 1.2; // before a strike, or the swing is not whole
const KEY_S = 0.5; // between key pictures, where a film may begin
const BITS = 0.12; // a pixel and picture,
const MOST_BITS = 20e6; // a second
const QUEUE = 12; // pictures that may wait for the encoder; more are left out
const LOOK_S = 1 / 32; // between two pictures looked at for movement
const LOOK_WIDE = 96;
const SOUND_S = 0.01; // on its way from a ball three to four metres off
const SD_S = { sound: 0.03, motion: 0.06 }; // of the strike's time: what a tablet's microphone and camera are late by is not known
const DEAF_S = 3; // of perfect silence: a microphone that is switched off
const LEAK_S = 2e-5; // a picture or piece of sound: two clocks never go alike

const CODERS = [["avc1.640034", "prefer-hardware"], ["avc1.42e034", "prefer-hardware"], ["avc1.42e034", "no-preference"], ["vp09.00.51.08", "no-preference"]];

const now = () => performance.now() / 1000;

/** One clock against the page's: pieces come late, by least when nothing holds them up. */
class Clock {
  constructor() {
    this.ahead = Infinity;
  }

  hear(stamp) {
    this.ahead = Math.min(this.ahead + LEAK_S, now() - stamp);
  }
}

/** The tablet's camera, as many pictures a second as it gives, and then as large as they may be. The caller stops its tracks. */
async function openCamera(audio) {
  const ear = { echoCancellation: false, noiseSuppression: false, autoGainControl: false };
  const stream = await navigator.mediaDevices.getUserMedia({ audio: audio ? ear : false, video: { facingMode: "environment", width: { ideal: 1280 }, height: { ideal: 720 }, frameRate: { ideal: 240 } } });
  const [track] = stream.getVideoTracks();
  const { frameRate, width, height } = track.getSettings();
  const [wide, high] = height > width ? [1080, 1920] : [1920, 1080];
  await track.applyConstraints({ facingMode: "environment", width: { ideal: wide }, height: { ideal: high }, frameRate: { min: Math.floor(frameRate ?? 0), ideal: 240 } }).catch(() => {});
  return stream;
}

const close = (stream) => stream?.getTracks().forEach((track) => track.stop());

/** Records from the tablet's camera until stopped: resolves to {blob, fps}. */
export async function record(preview, stopped) {
  const stream = await openCamera(false);
  try {
    preview.srcObject = stream;
    await preview.play();
    const recorder = new MediaRecorder(stream, { videoBitsPerSecond: MOST_BITS });
    const parts = [];
    recorder.ondataavailable = (event) => parts.push(event.data);
    const ended = new Promise((resolve, reject) => Object.assign(recorder, { onstop: resolve, onerror: ({ error }) => reject(error) }));
    recorder.start(500);
    await stopped;
    recorder.stop();
    await ended;
    return { blob: new Blob(parts, { type: recorder.mimeType }), fps: Math.round(stream.getVideoTracks()[0].getSettings().frameRate ?? 30) };
  } finally {
    close(stream);
    preview.srcObject = null;
  }
}

/** Whether this browser can watch at all; recording by hand asks for less. */
export const canWatch = () => Boolean(navigator.mediaDevices?.getUserMedia && window.MediaStreamTrackProcessor && window.VideoEncoder);

/** Why a camera did not open: refused, busy, none or failed. */
const reasonOf = ({ name }) => ({ NotAllowedError: "refused", SecurityError: "refused", NotReadableError: "busy", AbortError: "busy", NotFoundError: "none", OverconstrainedError: "none" })[name] ?? "failed";

async function coderFor(settings) {
  for (const [codec, hardwareAcceleration] of CODERS) {
    const config = { ...settings, codec, hardwareAcceleration, latencyMode: "realtime" };
    if ((await VideoEncoder.isConfigSupported(config).catch(() => null))?.supported) return config;
  }
  throw new Error("no encoder");
}

export class Watch {
  /** caught({blob, rate, strike: {at s in the film, sd, by}, when}) for each swing; ended(why) when it stops by itself; changed() when it goes by
   * another sign (by: sound or motion). */
  constructor({ caught, ended, changed }) {
    Object.assign(this, { caught, ended, changed, ring: new Ring(RING_S, RING_BYTES), motion: new Motion(), seen: new Clock(), strikes: [], by: null, open: false, looked: -Infinity, keyed: -Infinity });
    this.video = el("video", { muted: true, playsinline: true });
    this.hidden = () => { if (document.hidden) this.end("hidden"); };
  }

  /** Opens camera and microphone, or the camera alone. Throws with the reason when there is no camera. */
  async start() {
    this.open = true;
    try {
      this.stream = await openCamera(true).catch(() => openCamera(false));
      if (!this.open) throw new Error("stopped");
      await this.begin();
    } catch (error) {
      this.stop();
      throw Object.assign(new Error("no camera", { cause: error }), { reason: reasonOf(error) });
    }
  }

  async begin() {
    const [sight, ear] = [this.stream.getVideoTracks()[0], this.stream.getAudioTracks()[0]];
    this.by = ear ? "sound" : "motion";
    document.addEventListener("visibilitychange", this.hidden);
    sight.addEventListener("ended", () => this.end("lost"));
    this.video.srcObject = this.stream;
    await this.video.play();
    void this.pump(sight, (frame) => this.look(frame));
    if (ear) void this.pump(ear, (sound) => this.listen(sound));
  }

  /** Every picture or piece of sound of a track, until it ends. */
  async pump(track, use) {
    const reader = new MediaStreamTrackProcessor({ track, maxBufferSize: track.kind === "audio" ? 100 : 8 }).readable.getReader();
    try {
      for (let read = await reader.read(); !read.done && this.open; read = await reader.read()) {
        await use(read.value);
        read.value.close();
      }
    } catch (error) {
      console.warn(error);
      this.end("failed");
    } finally {
      void reader.cancel().catch(() => {});
    }
  }

  async look(frame) {
    const time = frame.timestamp / 1e6;
    this.seen.hear(time);
    await this.encode(frame, time);
    if (time - this.looked >= LOOK_S) {
      this.looked = time;
      this.motion.push(time, this.small(frame));
      const swing = this.motion.swing();
      if (swing && this.by === "motion") this.strikes.push(swing);
    }
  }

  /** A small grey picture of a frame. */
  small(frame) {
    const high = Math.round((LOOK_WIDE * frame.displayHeight) / frame.displayWidth);
    if (this.canvas?.height !== high) this.canvas = Object.assign(document.createElement("canvas"), { width: LOOK_WIDE, height: high });
    const pen = this.canvas.getContext("2d", { willReadFrequently: true });
    pen.drawImage(frame, 0, 0, LOOK_WIDE, high);
    const { data } = pen.getImageData(0, 0, LOOK_WIDE, high);
    return Uint8Array.from({ length: LOOK_WIDE * high }, (_, i) => (2 * data[4 * i] + 5 * data[4 * i + 1] + data[4 * i + 2]) >> 3);
  }

  /** Into the ring. A camera that is turned gives pictures of another size, and the ring begins anew. */
  async encode(frame, time) {
    const { codedWidth: width, codedHeight: height } = frame;
    if (this.width !== width || this.height !== height || this.coder?.state !== "configured") await this.configure(width, height);
    if (this.coder.encodeQueueSize > QUEUE) return;
    const keyFrame = time - this.keyed >= KEY_S;
    if (keyFrame) this.keyed = time;
    this.coder.encode(frame, { keyFrame });
  }

  async configure(width, height) {
    if (this.coder?.state === "configured") this.coder.close();
    this.ring.clear();
    const rate = this.stream.getVideoTracks()[0].getSettings().frameRate ?? 30;
    const size = { width: width & ~1, height: height & ~1 };
    const config = await coderFor({ ...size, framerate: rate, bitrate: Math.min(MOST_BITS, width * height * rate * BITS) });
    this.coder = new VideoEncoder({ output: (chunk, { decoderConfig }) => this.keep(chunk, decoderConfig), error: (error) => { console.warn(error); this.end("failed"); } });
    this.coder.configure(config);
    Object.assign(this, { width, height, keyed: -Infinity, format: { ...size } });
  }

  keep(chunk, config) {
    if (config?.description) this.format.description = new Uint8Array(config.description.slice?.(0) ?? config.description);
    const data = new Uint8Array(chunk.byteLength);
    chunk.copyTo(data);
    const time = chunk.timestamp / 1e6;
    this.ring.add({ time, key: chunk.type === "key", data });
    while (this.strikes.length && time >= this.strikes[0].at + AFTER_S) this.cut(this.strikes.shift());
  }

  listen(sound) {
    const samples = new Float32Array(sound.numberOfFrames);
    sound.copyTo(samples, { planeIndex: 0, format: "f32-planar" });
    const time = sound.timestamp / 1e6;
    this.onset ??= Object.assign(new Onset(sound.sampleRate), { clock: new Clock(), since: time });
    this.onset.clock.hear(time + sound.duration / 1e6);
    if (samples.some((value) => value !== 0)) this.onset.since = time;
    const by = time - this.onset.since > DEAF_S ? "motion" : "sound";
    if (by !== this.by) {
      this.by = by;
      this.changed();
    }
    for (const { at } of this.onset.push(samples, time)) this.strikes.push({ at: at + this.onset.clock.ahead - this.seen.ahead - SOUND_S, heard: true });
  }

  /** The film of one strike, where somebody swung at it and the ring reaches back far enough. */
  cut({ at, heard }) {
    if (heard && !this.motion.moved(at)) return;
    const chunks = this.ring.cut(at - BEFORE_S, at + AFTER_S);
    if (chunks.length < 2 || at - chunks[0].time < LEAST_S) return;
    const gaps = chunks.slice(1).map(({ time }, i) => time - chunks[i].time).sort((a, b) => a - b);
    const by = heard ? "sound" : "motion";
    this.caught({ blob: new Blob(film(chunks, this.format), { type: "video/mp4" }), rate: commonRate(1 / gaps[gaps.length >> 1]), strike: { at: at - chunks[0].time, sd: SD_S[by], by }, when: new Date().toISOString() });
  }

  end(why) {
    if (!this.open) return;
    this.stop();
    this.ended(why);
  }

  stop() {
    this.open = false;
    document.removeEventListener("visibilitychange", this.hidden);
    close(this.stream);
    this.video.srcObject = null;
    if (this.coder?.state === "configured") this.coder.close();
    this.ring.clear();
  }
}
