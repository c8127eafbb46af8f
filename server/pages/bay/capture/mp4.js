// Films as files: what the encoder gave is put into an MP4 as it is, and a file that lies on its side is turned by its own header. Pure.

const TICKS = 1e6; // a second
const LANGUAGE = 0x55c4; // "und"
const MATRIX = [0x10000, 0, 0, 0, 0x10000, 0, 0, 0, 0x40000000];
const HEADER_MOST = 64e6; // bytes of a file's table of pictures

const u8 = (...values) => Uint8Array.from(values);
const u16 = (...values) => u8(...values.flatMap((value) => [(value >> 8) & 255, value & 255]));
const u32 = (...values) => u8(...values.flatMap((value) => [(value >>> 24) & 255, (value >>> 16) & 255, (value >>> 8) & 255, value & 255]));
const text = (value) => Uint8Array.from(value, (letter) => letter.charCodeAt(0));
const zeros = (n) => new Uint8Array(n);

function join(parts) {
  const out = new Uint8Array(parts.reduce((sum, part) => sum + part.length, 0));
  parts.reduce((at, part) => (out.set(part, at), at + part.length), 0);
  return out;
}

const box = (type, ...parts) => {
  const body = join(parts);
  return join([u32(body.length + 8), text(type), body]);
};
const full = (type, flags, ...parts) => box(type, u32(flags), ...parts);

/** How the pictures are coded: H.264 with its parameters, or VP9, which needs few. */
function entry({ width, height, description }) {
  const picture = join([zeros(6), u16(1), zeros(16), u16(width, height), u32(0x480000, 0x480000, 0), u16(1), zeros(32), u16(24, 0xffff)]);
  if (description) return box("avc1", picture, box("avcC", description));
  return box("vp09", picture, full("vpcC", 1 << 24, u8(0, 51, (8 << 4) | (1 << 1), 1, 1, 1), u16(0)));
}

/** Lengths of time one after the other, in runs of equal ones. */
function runs(lengths) {
  const out = [];
  for (const length of lengths) {
    if (out.at(-1)?.[1] === length) out.at(-1)[0]++;
    else out.push([1, length]);
  }
  return out.flat();
}

/** chunks: [{time s, key, data}] in order, the first a key picture. format: {width, height, description}. The parts of a file. */
export function film(chunks, format) {
  const start = chunks[0].time;
  const ticks = chunks.map(({ time }) => Math.round((time - start) * TICKS));
  const lengths = ticks.slice(1).map((tick, i) => tick - ticks[i]);
  lengths.push(lengths.at(-1) ?? TICKS / 30);
  const all = lengths.reduce((sum, length) => sum + length, 0);
  const { width, height } = format;
  const type = box("ftyp", text("isom"), u32(512), text("isomiso2mp41"));
  const data = chunks.map((chunk) => chunk.data);
  const head = u32(data.reduce((sum, { length }) => sum + length, 8));
  const keys = chunks.flatMap(({ key }, i) => (key ? [i + 1] : []));
  const table = box("stbl", full("stsd", 0, u32(1), entry(format)), full("stts", 0, u32(runs(lengths).length / 2, ...runs(lengths))),
    full("stss", 0, u32(keys.length, ...keys)), full("stsc", 0, u32(1, 1, chunks.length, 1)),
    full("stsz", 0, u32(0, chunks.length), u32(...data.map(({ length }) => length))), full("stco", 0, u32(1, type.length + 8)));
  const media = box("mdia", full("mdhd", 0, u32(0, 0, TICKS, all), u16(LANGUAGE, 0)), full("hdlr", 0, u32(0), text("vide"), zeros(13)),
    box("minf", full("vmhd", 1, zeros(8)), box("dinf", full("dref", 0, u32(1), full("url ", 1))), table));
  const movie = box("moov", full("mvhd", 0, u32(0, 0, TICKS, all, 0x10000), u16(0x100), zeros(10), u32(...MATRIX), zeros(24), u32(2)),
    box("trak", full("tkhd", 3, u32(0, 0, 1, 0, all), zeros(16), u32(...MATRIX, width * 65536, height * 65536)), media));
  return [type, head, text("mdat"), ...data, movie];
}

/** The boxes between two places: [{type, from, body, to}]. */
function* boxes(view, from, to) {
  for (let at = from; at + 8 <= to; ) {
    const small = view.getUint32(at);
    const size = small === 1 ? Number(view.getBigUint64(at + 8)) : small || to - at;
    if (size < 8 || at + size > to) return;
    yield { type: String.fromCharCode(...new Uint8Array(view.buffer, view.byteOffset + at + 4, 4)), from: at, body: at + (small === 1 ? 16 : 8), to: at + size };
    at += size;
  }
}

/** Where the movie's header lies in a file: {from, to}; null when it is none of this kind. */
async function header(blob) {
  for (let at = 0; at + 8 <= blob.size; ) {
    const view = new DataView(await blob.slice(at, at + 16).arrayBuffer());
    const small = view.getUint32(0);
    const size = small === 1 && view.byteLength === 16 ? Number(view.getBigUint64(8)) : small || blob.size - at;
    if (size < 8) return null;
    if (view.getUint32(4) === 0x6d6f6f76) return size <= HEADER_MOST && at + size <= blob.size ? { from: at, to: at + size } : null; // "moov"
    at += size;
  }
  return null;
}

/** What a file's header does to a picture, and then a quarter to the right: (x, y) goes to (-y, x). */
const turn = ([a, b, , c, d]) => [-b, a, 0, -d, c, 0, 0, 0, MATRIX[8]];

/** The same film (MP4 or QuickTime) turned by quarters to the right, no picture of it coded anew; null when its kind knows no turning. */
export async function turned(blob, quarters) {
  const place = await header(blob);
  if (!place) return null;
  const bytes = new Uint8Array(await blob.slice(place.from, place.to).arrayBuffer());
  const view = new DataView(bytes.buffer);
  let found = false;
  for (const track of boxes(view, 8, bytes.length)) {
    if (track.type !== "trak") continue;
    const inside = [...boxes(view, track.body, track.to)].find(({ type }) => type === "tkhd");
    if (!inside) continue;
    const at = inside.body + (bytes[inside.body] === 1 ? 52 : 40); // behind times, ids and the layer
    if (view.getUint32(at + 36) === 0) continue; // a track without a picture: sound
    let matrix = Array.from({ length: 9 }, (_, i) => view.getInt32(at + 4 * i));
    for (let n = 0; n < quarters; n++) matrix = turn(matrix);
    matrix.forEach((value, i) => view.setInt32(at + 4 * i, value));
    found = true;
  }
  return found ? new Blob([blob.slice(0, place.from), bytes, blob.slice(place.to)], { type: blob.type || "video/mp4" }) : null;
}
