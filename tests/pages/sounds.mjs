// Sounds made up for the bay's ear: strikes, talk, wind, taps, machines; and a sound file of them. The same seed makes the same sound.

export const RATE = 44100;

export function random(seed) {
  let state = seed >>> 0 || 1;
  return () => {
    state ^= state << 13;
    state ^= state >>> 17;
    state ^= state << 5;
    state >>>= 0;
    return state / 2 ** 32;
  };
}

export class Sound {
  constructor(seconds, seed) {
    this.samples = new Float32Array(Math.round(seconds * RATE));
    this.random = random(seed);
    for (let i = 0; i < 20; i++) this.random();
  }

  noise() {
    return this.random() + this.random() + this.random() - 1.5; // sd .5
  }

  add(from, seconds, value) {
    const first = Math.round(from * RATE);
    const n = Math.min(Math.round(seconds * RATE), this.samples.length - first);
    for (let i = 0; i < n; i++) this.samples[first + i] += value(i / RATE);
    return this;
  }

  hiss(level) {
    return this.add(0, this.samples.length / RATE, () => level * this.noise());
  }

  /** Gusts: noise of the lowest band that swells and fades. */
  wind(level) {
    let low = 0;
    let lower = 0;
    return this.add(0, this.samples.length / RATE, (t) => {
      low += 0.02 * (this.noise() - low);
      lower += 0.05 * (low - lower);
      return level * 20 * lower * (0.6 + 0.4 * Math.sin(2.1 * t) * Math.sin(0.7 * t + 1));
    });
  }

  /** A club on a ball: a burst within half a millisecond, some tones of the metal, gone in hundredths of a second. */
  strike(at, level = 0.5) {
    const tones = [1900, 3300, 4700, 6400].map((hz) => [hz * (0.9 + 0.2 * this.random()), 0.004 + 0.012 * this.random(), 6.3 * this.random()]);
    return this.add(at, 0.2, (t) => level * Math.min(1, t / 0.0004) * (1.2 * this.noise() * Math.exp(-t / 0.006) +
      0.5 * tones.reduce((sum, [hz, lasts, phase]) => sum + 0.5 * Math.sin(6.283 * hz * t + phase) * Math.exp(-t / lasts), 0)));
  }

  /** A tap on the table: a dull thump. */
  thump(at, level = 0.5) {
    return this.add(at, 0.3, (t) => level * Math.min(1, t / 0.001) * Math.sin(6.283 * 110 * t) * Math.exp(-t / 0.03));
  }

  /** Syllables one after the other: a hard or a hissing consonant, then a vowel of a voice. */
  talk(from, seconds, level = 0.2) {
    for (let at = from; at < from + seconds; ) {
      const pitch = 90 + 110 * this.random();
      const formants = [[300 + 500 * this.random(), 1], [900 + 1200 * this.random(), 0.5], [2300 + 700 * this.random(), 0.25], [3400, 0.1]];
      const long = 0.1 + 0.15 * this.random();
      const hard = this.random() < 0.5;
      const consonant = hard ? 0.012 : 0.06 + 0.06 * this.random();
      const loud = level * (0.6 + 0.4 * this.random());
      let last = 0;
      this.add(at, consonant, (t) => {
        const raw = this.noise();
        const high = raw - last;
        last = raw;
        return loud * (hard ? 0.35 * Math.exp(-t / 0.006) : 0.25 * Math.sin((Math.PI * t) / consonant)) * high;
      });
      const gains = [];
      for (let n = 1; n * pitch < 5000; n++) gains.push(formants.reduce((most, [hz, share]) => Math.max(most, share * Math.exp(-(((n * pitch - hz) / 180) ** 2))), 0.02));
      this.add(at + consonant, long, (t) => {
        const envelope = Math.min(1, t / 0.04, (long - t) / 0.05);
        const twice = 2 * Math.cos(6.283 * pitch * t);
        let [sum, before, tone] = [0, 0, Math.sin(6.283 * pitch * t)]; // each multiple's sine from the two before it
        for (const gain of gains) {
          sum += gain * tone;
          [before, tone] = [tone, twice * tone - before];
        }
        return loud * envelope * 0.4 * sum;
      });
      at += consonant + long + (this.random() < 0.2 ? 0.25 + 0.4 * this.random() : 0.02 + 0.04 * this.random());
    }
    return this;
  }

  /** A file: one channel of 16 bits. */
  wav() {
    const file = Buffer.alloc(44 + 2 * this.samples.length);
    file.write("RIFF", 0);
    file.writeUInt32LE(36 + 2 * this.samples.length, 4);
    file.write("WAVEfmt ", 8);
    file.writeUInt32LE(16, 16);
    file.writeUInt16LE(1, 20);
    file.writeUInt16LE(1, 22);
    file.writeUInt32LE(RATE, 24);
    file.writeUInt32LE(2 * RATE, 28);
    file.writeUInt16LE(2, 32);
    file.writeUInt16LE(16, 34);
    file.write("data", 36);
    file.writeUInt32LE(2 * this.samples.length, 40);
    this.samples.forEach((value, i) => file.writeInt16LE(Math.round(32767 * Math.min(1, Math.max(-1, value))), 44 + 2 * i));
    return file;
  }
}
