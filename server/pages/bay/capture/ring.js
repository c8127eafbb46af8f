// The last seconds of film as the encoder gave them: pieces that each begin with a key picture; the oldest goes first. Pure bookkeeping.

export class Ring {
  /** seconds: how far back it goes; bytes: what it may hold whatever the camera gives. */
  constructor(seconds, bytes) {
    Object.assign(this, { seconds, bytes, pieces: [], held: 0 });
  }

  /** chunk: {time s, key, data: Uint8Array}, in order of time. What comes before the first key picture can't be shown and is dropped. */
  add(chunk) {
    if (chunk.key) this.pieces.push([]);
    const piece = this.pieces.at(-1);
    if (!piece) return;
    piece.push(chunk);
    this.held += chunk.data.byteLength;
    const oldest = () => this.pieces.length > 1 && (this.pieces[1][0].time <= chunk.time - this.seconds || this.held > this.bytes);
    while (oldest()) this.held -= this.pieces.shift().reduce((sum, { data }) => sum + data.byteLength, 0);
    if (this.held > this.bytes) this.clear(); // one piece alone: an encoder that gives no key pictures
  }

  clear() {
    this.pieces = [];
    this.held = 0;
  }

  /** From the key picture at or before one instant up to another: [chunk, ...], empty where the ring does not reach. */
  cut(from, to) {
    const first = this.pieces.findLastIndex(([chunk]) => chunk.time <= from);
    return this.pieces.slice(Math.max(0, first)).flat().filter(({ time }) => time <= to);
  }
}
