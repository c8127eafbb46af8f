// The swing's movement: how much of a small grey picture changes from one to the next. A swing is calm, then some movement going back, a
// moment of rest at the top, a short peak coming down and through, and calm again. Walking lasts too long, a touch of the tablet moves
// the whole picture. Pure.

const LEAST_STEP = 8; // grey levels that count as a change
const NOISES = 6; // or so many times the picture's own noise
const SHAKEN = 0.5; // of the picture changed: the tablet moved
const KEEP_S = 8;
const PEAK = 0.012; // share of the picture that changes at least
const HIGH = 0.7; // of the peak: above it
const HIGH_S = [0.06, 0.75]; // it stands so long
const TOP_S = [0.65, 0.06]; // before the peak: the rest at the top,
const TOP = 0.5; // of the peak at most
const DOWN_S = 0.28; // from there to the strike: of most players between .22 and .35
const BACK_S = [1.4, 0.1]; // before the top: the way back,
const BACK = 0.15; // of the peak at least
const CALM_S = [4, 0.9]; // before that a quiet stretch,
const CALM = 0.25; // of the peak at most
const LASTS_S = 1.1; // a swing is certain so long after its peak,
const QUIET = 0.7; // when no more than this of it is left
const REST_S = 2.5; // between two swings
const STRETCH_S = 0.25;

export class Motion {
  constructor() {
    Object.assign(this, { series: [], before: null, last: -Infinity });
  }

  /** A picture (bytes, one a pixel) at time s: what share of it has changed. */
  push(time, grey) {
    const { before } = this;
    this.before = grey;
    if (!before || before.length !== grey.length) return 0;
    const counts = new Uint32Array(256);
    for (let i = 0; i < grey.length; i++) counts[Math.abs(grey[i] - before[i])]++;
    let median = 0;
    for (let seen = counts[0]; seen < grey.length / 2; seen += counts[++median]);
    let changed = 0;
    for (let i = Math.max(LEAST_STEP, NOISES * median); i < 256; i++) changed += counts[i];
    const share = changed / grey.length;
    this.series.push({ time, share: share > SHAKEN ? 0 : share });
    while (this.series[0].time < time - KEEP_S) this.series.shift();
    return share;
  }

  within(from, to) {
    return this.series.filter(({ time }) => time >= from && time <= to);
  }

  most(from, to) {
    return this.within(from, to).reduce((best, item) => (item.share > best.share ? item : best), { time: from, share: 0 });
  }

  /** The mean of the quietest stretch. What was never seen is as calm as can be. */
  calmest(from, to) {
    const all = this.within(from, to);
    const means = all.map(({ time }) => this.within(time, Math.min(time + STRETCH_S, to))).map((part) => part.reduce((sum, { share }) => sum + share, 0) / part.length);
    return means.length ? Math.min(...means) : 0;
  }

  /** Whether somebody moved as fast as in a swing about an instant that something else told. */
  moved(at) {
    const { share } = this.most(at - 0.5, at + 0.4);
    return share >= PEAK / 2 && share >= 2 * this.calmest(at - CALM_S[0], at - CALM_S[1]);
  }

  /** The swing that has become certain: {at: s, about when the ball was struck}; null when there is none. */
  swing() {
    const now = this.series.at(-1)?.time ?? 0;
    const peak = this.most(now - 2 * LASTS_S, now);
    if (peak.share < PEAK || peak.time > now - LASTS_S || peak.time < this.last + REST_S) return null;
    const below = (share, of) => share <= of * peak.share;
    const top = this.within(peak.time - TOP_S[0], peak.time - TOP_S[1]).reduce((least, item) => (item.share <= least.share ? item : least), { share: Infinity });
    if (!below(top.share, TOP)) return null;
    const back = this.most(top.time - BACK_S[0], top.time - BACK_S[1]).share;
    const high = this.high(peak);
    const shaped = back >= BACK * peak.share && back < peak.share && high >= HIGH_S[0] && high <= HIGH_S[1];
    const quiet = below(this.calmest(top.time - CALM_S[0], top.time - CALM_S[1]), CALM) && below(this.calmest(peak.time + STRETCH_S, now), QUIET);
    if (!shaped || !quiet) return null;
    this.last = peak.time;
    return { at: top.time + DOWN_S };
  }

  /** How long a peak stands high. */
  high(peak) {
    const { series } = this;
    const at = series.indexOf(peak);
    let [from, to] = [at, at];
    while (from > 0 && series[from - 1].share > peak.share * HIGH) from--;
    while (to < series.length - 1 && series[to + 1].share > peak.share * HIGH) to++;
    return series[Math.min(to + 1, series.length - 1)].time - series[from].time;
  }
}
