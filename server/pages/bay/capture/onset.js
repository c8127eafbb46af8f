// The strike's sound: a sudden, short burst of the high band, far above the noise and above whatever was heard in the last seconds. A voice
// rises slowly or, after a hard consonant, goes on below; wind has no high band. Pure: samples in, instants out; no sound is kept, only levels.

const HOP_S = 0.001;
const BAND_HZ = 2000; // below lie wind, rumble and most of a voice
const ABOVE_FLOOR_DB = 20;
const ABOVE_RECENT_DB = 5; // over the loudest of late, which fades:
const FADE_DB_S = 12;
const RISE_DB = 15; // from the mean of 20 to 5 ms before
const FALL_DB = 13; // from the peak to the quietest 10 ms of the next 60
const VOICE_DB = 15; // what goes on in the low band stays so far below the peak, or it was there before:
const VOICE_RISE_DB = 8;
const LEAST_DB = -60; // of full scale, in the band
const FLOOR_DB_S = 12; // how fast the floor follows the middle of the levels
const SETTLE = 300, BEFORE = 100, JUST = 20, NEAR = 5, MEAN = 10, FALL = 60, AFTER = 150, REFRACTORY = 1000; // hops

const db = (power) => 10 * Math.log10(power + 1e-12);

/** Two poles that let pass what lies above a frequency. */
function highPass(hz, rate) {
  const w = (2 * Math.PI * hz) / rate;
  const alpha = Math.sin(w) / Math.SQRT2;
  const cos = Math.cos(w);
  const b = (1 + cos) / 2 / (1 + alpha);
  const [a1, a2] = [(-2 * cos) / (1 + alpha), (1 - alpha) / (1 + alpha)];
  let [x1, x2, y1, y2] = [0, 0, 0, 0];
  return (x) => {
    const y = b * (x - 2 * x1 + x2) - a1 * y1 - a2 * y2;
    [x2, x1, y2, y1] = [x1, x, y1, y];
    return y;
  };
}

export class Onset {
  /** rate: samples a second. */
  constructor(rate) {
    this.hop = Math.round(rate * HOP_S);
    this.pass = highPass(BAND_HZ, rate);
    this.powers = []; // of the last hops
    this.lows = []; // and of what lies below the band
    Object.assign(this, { rate, sum: 0, low: 0, n: 0, heard: 0, floor: null, recent: -120, candidate: null, deaf: SETTLE });
  }

  /** Samples (-1 to 1), the first of them at time s. Returns the strikes that are certain now: [{at: s, db: above the floor}]. */
  push(samples, time) {
    const strikes = [];
    for (let i = 0; i < samples.length; i++) {
      const y = this.pass(samples[i]);
      this.sum += y * y;
      this.low += (samples[i] - y) ** 2;
      if (++this.n < this.hop) continue;
      this.lows.push(this.low / this.hop);
      const strike = this.listen(this.sum / this.hop, time + (i + 1 - this.hop) / this.rate);
      this.sum = this.low = this.n = 0;
      if (strike) strikes.push(strike);
    }
    return strikes;
  }

  /** The level (dB) of hops from one to another. */
  level(from, to, of = this.powers) {
    let sum = 0;
    for (let i = from; i < to; i++) sum += of[i];
    return db(sum / (to - from));
  }

  /** The levels of short stretches, the quietest first. */
  stretches(from, to, of = this.powers) {
    const levels = [];
    for (let i = from; i + MEAN <= to; i += NEAR) levels.push(this.level(i, i + MEAN, of));
    return levels.sort((a, b) => a - b);
  }

  listen(power, at) {
    this.powers.push(power);
    if (this.powers.length > AFTER + BEFORE) {
      this.powers.shift();
      this.lows.shift();
    }
    this.heard++;
    const now = this.powers.length;
    if (now < BEFORE) return null;
    const smooth = this.level(now - MEAN, now);
    this.floor ??= smooth;
    const strike = this.candidate ? this.decide() : this.consider(db(power), at);
    this.floor += Math.sign(smooth - this.floor) * FLOOR_DB_S * HOP_S;
    this.recent = Math.max(this.recent - FADE_DB_S * HOP_S, db(this.powers[now - MEAN]));
    this.deaf--;
    return strike;
  }

  /** A hop that may be the first of a strike. */
  consider(level, at) {
    const now = this.powers.length - 1;
    const before = this.level(now - JUST, now - NEAR + 1);
    const sudden = level >= before + RISE_DB && level >= this.floor + ABOVE_FLOOR_DB && level >= this.recent + ABOVE_RECENT_DB;
    if (sudden && level >= LEAST_DB && this.deaf <= 0) this.candidate = { at, hop: this.heard, floor: this.floor };
    return null;
  }

  /** A burst that dies away was a strike; what goes on was a voice, a shout, a machine. */
  decide() {
    const { at, hop, floor } = this.candidate;
    if (this.heard - hop < AFTER) return null;
    this.candidate = null;
    const end = this.powers.length;
    const first = end - 1 - AFTER;
    const peak = db(Math.max(...this.powers.slice(first, first + MEAN)));
    if (this.stretches(first + MEAN, first + FALL)[0] > peak - FALL_DB) return null;
    const after = this.stretches(first + 2 * MEAN, end, this.lows);
    const voice = after[after.length >> 1];
    if (voice > peak - VOICE_DB && voice > this.stretches(Math.max(0, first - BEFORE), first, this.lows)[0] + VOICE_RISE_DB) return null;
    this.deaf = REFRACTORY;
    return { at, db: peak - floor };
  }
}
