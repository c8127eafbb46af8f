#!/usr/bin/python3
"""C3D and TRC against readers written here from the public description of the formats (c3d.org) with numpy: random files
of all byte orders and number types, their data decoded by numpy's own types; VAX reals decoded with Fractions.

Usage: check_c3d.py BUILD. Optional motion of others: LEADSIDE_SHARED; skipped when unset.
"""
import glob
import os
import struct
import subprocess
import sys
import tempfile
from fractions import Fraction

import numpy as np

BUILD = sys.argv[1] if len(sys.argv) > 1 else "build"
HERE = os.path.dirname(os.path.abspath(__file__))
SHARED = os.environ.get("LEADSIDE_SHARED") or os.devnull
ORDERS = {84: "<", 85: "<", 86: ">"}
UNITS = {"mm": .001, "cm": .01, "m": 1.0}
count = {"passed": 0, "failed": 0, "skipped": 0}


def check(ok, text):
    count["passed" if ok else "failed"] += 1
    print(("ok      " if ok else "FAILED  ") + text)


# ---- writing ----
def vax_bytes(x):
    """A VAX F real, from its definition: 0.1fff x 2^(e - 128), the more significant word first."""
    if x == 0:
        return b"\0\0\0\0"
    m, e = np.frexp(abs(x))  # x = m 2^e, m in [.5, 1)
    f = int(round(m * 2 ** 24))
    if f == 2 ** 24:
        f, e = 2 ** 23, e + 1
    bits = (1 << 31 if x < 0 else 0) | (int(e) + 128) << 23 | (f - 2 ** 23)
    return struct.pack("<HH", bits >> 16, bits & 0xffff)


class Writer:
    def __init__(self, kind):
        self.kind, self.o = kind, ORDERS[kind]

    def word(self, v):
        return struct.pack(self.o + ("h" if v < 0 else "H"), v)

    def real(self, v):
        return vax_bytes(float(np.float32(v))) if self.kind == 85 else struct.pack(self.o + "f", v)

    def entry(self, group, name, body=b"", about=b"", last=False, locked=False):
        head = struct.pack("bb", -len(name) if locked else len(name), group) + name.encode()
        rest = body + bytes([len(about)]) + about
        return head + self.word(0 if last else 2 + len(rest)) + rest

    def texts(self, group, name, items, width):
        body = struct.pack("b", -1) + bytes([2, width, len(items)]) + b"".join(t.encode().ljust(width) for t in items)
        return self.entry(group, name, body, b"about " + name.encode())

    def words(self, group, name, values, dims=None, **k):
        d = dims if dims is not None else ([] if len(values) == 1 else [len(values)])
        return self.entry(group, name, b"\2" + bytes([len(d)] + d) + b"".join(map(self.word, values)), **k)

    def reals(self, group, name, values):
        d = [] if len(values) == 1 else [len(values)]
        return self.entry(group, name, b"\4" + bytes([len(d)] + d) + b"".join(map(self.real, values)))


def random_c3d(rng, kind, real):
    w = Writer(kind)
    points, frames = int(rng.integers(1, 60)), int(rng.integers(1, 120))
    samples, channels = int(rng.integers(1, 5)), int(rng.integers(0, 6))
    unit, rate = rng.choice(list(UNITS)), float(rng.choice([60, 120, 199.5, 250, 1000]))
    up = rng.choice(["+X", "-X", "+Y", "-Y", "+Z", "-Z"]) if rng.random() < .7 else None
    scale = float(np.float32(rng.choice([.1, .125, .2]) * .001 / UNITS[unit]))
    names = ["M%d" % i + "x" * int(rng.integers(0, 8)) for i in range(points)]
    split = int(rng.integers(1, points + 1)) if rng.random() < .5 else points
    first = int(rng.integers(1, 40000))
    entries = [w.words(5, "USED", [points], locked=True), w.reals(5, "RATE", [rate]),
               w.reals(5, "SCALE", [-scale if real else scale]), w.words(5, "FRAMES", [frames]),
               w.texts(5, "LABELS", names[:split], 16), w.texts(5, "UNITS", [unit], 4),
               w.words(9, "USED", [channels]), w.reals(9, "SCALE", [.5] * 3), w.reals(9, "GEN_SCALE", [1.0]),
               w.entry(-5, "POINT", about=b"3D points"), w.entry(-9, "ANALOG", locked=True), w.entry(-30, "EVENT"),
               w.words(30, "USED", [2]), w.reals(30, "TIMES", [0, 1.5, 0, 2.5])]
    if split < points:
        entries.append(w.texts(5, "LABELS2", names[split:], 16))
    if up:
        entries += [w.texts(5, "Y_SCREEN", [up], 2), w.texts(5, "X_SCREEN", ["+X"], 2)]
    if rng.random() < .5:
        entries += [w.entry(-31, "TRIAL"), w.words(31, "ACTUAL_START_FIELD", [first, 0]),
                    w.words(31, "ACTUAL_END_FIELD", [(first + frames - 1) & 0xffff, (first + frames - 1) >> 16])]
    entries = [entries[i] for i in rng.permutation(len(entries))]
    length = 4 + sum(map(len, entries)) + len(w.words(5, "DATA_START", [0]))
    blocks = -(-length // 512)
    at = int(rng.integers(2, 5))  # the section needn't follow the header at once
    data_block = at + blocks + int(rng.integers(0, 3))
    # Some files state fewer blocks than they use: readers follow the chain of entries, up to the data at most.
    stated = int(rng.integers(1, blocks)) if blocks > 1 and rng.random() < .4 else blocks
    section = bytes([1, 0x50, stated, kind]) + b"".join(entries) + w.words(5, "DATA_START", [data_block], last=True)
    header = (bytes([at, 0x50]) + w.word(points) + w.word(channels * samples) + w.word(first) +
              w.word(first + frames - 1) + w.word(10) + w.real(-scale if real else scale) + w.word(data_block) +
              w.word(samples) + w.real(rate))
    place = rng.uniform(-3, 3, (frames, points, 3)) / UNITS[unit]
    lost = rng.random((frames, points)) < .1
    data = b""
    for f in range(frames):
        for p in range(points):
            four = list(place[f, p]) + [-1 if lost[f, p] else int(rng.integers(0, 0x7fff))]
            if real:
                data += b"".join(map(w.real, four))
            else:
                data += b"".join(w.word(int(round(v / scale))) for v in four[:3]) + w.word(four[3])
        data += b"".join((w.real(float(v)) if real else w.word(int(v))) for v in
                         rng.integers(-2000, 2000, channels * samples))
    blob = header.ljust((at - 1) * 512, b"\0") + section.ljust((data_block - at) * 512, b"\0") + data
    blob = blob.ljust(-(-len(blob) // 512) * 512, b"\0")
    return blob, dict(rate=rate, names=names, up=up.lower() if up else "-", place=place * UNITS[unit], lost=lost,
                      within=(scale if not real else 0) * UNITS[unit] / 2 + 1e-6)


# ---- reading, by another way than the product's: parameters into a dict, data by numpy's types ----
def read_reals(raw, kind):
    if kind != 85:
        return np.frombuffer(raw, ORDERS[kind] + "f4").astype(float)
    words = np.frombuffer(raw, "<u2").astype(np.int64).reshape(-1, 2)
    out = []
    for high, low in words:
        e = (high >> 7) & 255
        f = Fraction((1 << 23) | (int(high) & 127) << 16 | int(low), 1 << 24)
        out.append(0.0 if e == 0 else float((-1 if high >> 15 else 1) * f * Fraction(2) ** int(e - 128)))
    return np.array(out)


def read_c3d(blob):
    at = (blob[0] - 1) * 512
    kind = blob[at + 3]
    o = ORDERS[kind]
    h = np.frombuffer(blob[:512], o + "u2")
    groups, params, pos = {}, {}, at + 4
    while True:
        n, g = struct.unpack_from("bb", blob, pos)
        if n == 0 or g == 0:
            break
        n = abs(n)
        name, link = blob[pos + 2:pos + 2 + n].decode(), pos + 2 + n
        step = struct.unpack_from(o + "h", blob, link)[0]
        if g < 0:
            groups[-g] = name
        else:
            t, nd = struct.unpack_from("bB", blob, link + 2)
            dims = list(blob[link + 4:link + 4 + nd])
            size = int(np.prod(dims, dtype=int)) * abs(t)
            raw = blob[link + 4 + nd:link + 4 + nd + size]
            if t == -1:
                width = dims[0] if dims else 1
                value = [raw[i:i + width].decode().strip() for i in range(0, len(raw), max(width, 1))]
            else:
                value = read_reals(raw, kind) if t == 4 else np.frombuffer(raw, o + "u2" if t == 2 else "u1")
            params[g, name] = value
        if step == 0:
            break
        pos = link + step
    p = {(groups[g], n): v for (g, n), v in params.items()}
    points, frames = int(h[1]), int(h[4]) - int(h[3]) + 1
    scale = p["POINT", "SCALE"][0]
    raw = blob[(int(h[8]) - 1) * 512:]
    per = 4 * points + int(h[2])
    if scale < 0:
        d = read_reals(raw[:frames * per * 4], kind).reshape(frames, per)[:, :4 * points].reshape(frames, points, 4)
        xyz = d[..., :3]
    else:
        d = np.frombuffer(raw[:frames * per * 2], o + "i2").reshape(frames, per)[:, :4 * points]
        d = d.reshape(frames, points, 4).astype(float)
        xyz = d[..., :3] * scale
    names = p["POINT", "LABELS"] + p.get(("POINT", "LABELS2"), [])
    return (p["POINT", "RATE"][0], names[:points], p.get(("POINT", "Y_SCREEN"), ["-"])[0].lower(),
            xyz * UNITS[p["POINT", "UNITS"][0]], d[..., 3] < 0)


def ask(paths):
    lines = subprocess.run([os.path.join(BUILD, "tests", "external_c3d")], input="\n".join(paths) + "\n", text=True,
                           capture_output=True, check=True).stdout.split("\n")
    out, i = [], 0
    while i < len(lines) - 1:
        if lines[i].startswith("refused"):
            out.append(lines[i])
            i += 1
            continue
        rate, frames, markers, up = lines[i].split()
        rows = [[np.nan if c == "-" else float(c) for c in r.split()] for r in lines[i + 2:i + 2 + int(frames)]]
        out.append((float(rate), lines[i + 1].split("\t"), up,
                    np.array(rows).reshape(int(frames), int(markers), 3)))
        i += 2 + int(frames)
    return out


def same(got, rate, names, up, place, lost, within):
    """Worst difference in m; inf when anything else differs."""
    if isinstance(got, str) or got[0] != rate or got[1] != names or got[2] != up or got[3].shape != place.shape:
        return np.inf
    if (np.isnan(got[3]).any(-1) != lost).any():
        return np.inf
    worst = np.abs((got[3] - place)[~lost]).max() if (~lost).any() else 0.0
    return worst if worst <= within else np.inf


def c3d_random(folder):
    rng = np.random.default_rng(15)
    for kind, name in ((84, "Intel"), (85, "DEC"), (86, "MIPS")):
        for real in (False, True):
            files = [random_c3d(rng, kind, real) for _ in range(25)]
            paths = [os.path.join(folder, "%d%d%d.c3d" % (kind, real, i)) for i in range(len(files))]
            for path, (blob, _) in zip(paths, files):
                open(path, "wb").write(blob)
            answers = ask(paths)
            first = next((a for a in answers if isinstance(a, str)), "")
            here = max(same(g, *read_c3d(b), 1e-9) for g, (b, _) in zip(answers, files))
            made = max(same(g, t["rate"], t["names"], t["up"], t["place"], t["lost"], t["within"])
                       for g, (b, t) in zip(answers, files))
            check(here < 1e-9, "25 random %s %s files, against a second reader: worst %.1e m %s" %
                  (name, "reals" if real else "integers", here, first))
            check(made < 1e-2, "   and against what was written into them: worst %.1e m" % made)


def c3d_cut(folder):
    """Spoiled at random: the second reader isn't asked; the product must refuse or give what it promises."""
    rng = np.random.default_rng(16)
    paths = []
    for i in range(300):
        blob = bytearray(random_c3d(rng, int(rng.choice([84, 85, 86])), bool(rng.integers(2)))[0])
        if i % 2:
            blob = blob[:int(rng.integers(2, len(blob) - 512))]
        else:
            for _ in range(20):
                blob[int(rng.integers(2, 1500)) % len(blob)] = int(rng.integers(256))
        paths.append(os.path.join(folder, "spoiled%d.c3d" % i))
        open(paths[-1], "wb").write(bytes(blob))
    answers = ask(paths)
    cut = [isinstance(a, str) for a in answers[1::2]]
    check(len(answers) == 300 and all(cut), "150 files cut short: %d refused" % sum(cut))
    taken = [a for a in answers[::2] if not isinstance(a, str)]
    good = all(20 <= a[0] <= 2000 and np.nanmax(np.abs(a[3]), initial=0) <= 1e3 for a in taken)
    check(good and len(taken) < 150, "150 files with 20 bytes changed: %d refused, %d taken and sound" %
          (150 - len(taken), len(taken)))


def random_trc(rng):
    markers, frames = int(rng.integers(1, 50)), int(rng.integers(1, 100))
    unit, rate = rng.choice(list(UNITS)), float(rng.choice([60, 119.88, 240, 1000]))
    end, digits = rng.choice(["\n", "\r\n"]), int(rng.integers(3, 9))
    names = ["Marker %d" % i for i in range(markers)]
    place = rng.uniform(-3, 3, (frames, markers, 3)) / UNITS[unit]
    lost = rng.random((frames, markers)) < .1
    pairs = [("DataRate", "%.2f" % rate), ("CameraRate", "1"), ("NumFrames", str(frames)), ("Units", unit),
             ("NumMarkers", str(markers)), ("OrigDataRate", "7")]
    pairs = [pairs[i] for i in rng.permutation(len(pairs))]
    tail = "\t" * int(rng.integers(0, 3))
    first = int(rng.integers(0, 500))
    lines = ["PathFileType\t4\t(X/Y/Z)\tx.trc", "\t".join(p[0] for p in pairs), "\t".join(p[1] for p in pairs),
             "Frame#\tTime\t" + "\t\t\t".join(names) + "\t\t" + tail,
             "\t\t" + "\t".join("%s%d" % (a, m + 1) for m in range(markers) for a in "XYZ") + tail]
    lines += [""] * int(rng.integers(0, 2))
    for f in range(frames):
        cells = [("\t\t" if lost[f, m] else "\t".join("%.*f" % (digits, v) for v in place[f, m]))
                 for m in range(markers)]
        lines.append("%d\t%.5f\t" % (first + f, (first + f) / rate) + "\t".join(cells) + tail)
    return end.join(lines) + end, dict(rate=rate, names=names, up="-", place=np.round(place, digits) * UNITS[unit],
                                       lost=lost, within=1e-12)


def trc(folder):
    rng = np.random.default_rng(17)
    files = [random_trc(rng) for _ in range(200)]
    paths = [os.path.join(folder, "%d.trc" % i) for i in range(len(files))]
    for path, (text, _) in zip(paths, files):
        open(path, "w", newline="").write(text)
    answers = ask(paths)
    first = next((a for a in answers if isinstance(a, str)), "")
    worst = max(same(g, **t) for g, (_, t) in zip(answers, files))
    check(worst < 1e-12, "200 random TRC files, against numpy: worst %.1e m %s" % (worst, first))


def others():
    paths = sorted(glob.glob(os.path.join(SHARED, "data", "cmu64", "*.trc")))
    if not paths:
        count["skipped"] += 1
        print("skipped five real TRC files: not there")
        return
    worst = 0.0
    for path, got in zip(paths, ask(paths)):
        head = open(path).read().split("\n")[:5]
        table = np.genfromtxt(path, delimiter="\t", skip_header=5)
        table = table[:, 2:2 + 3 * len(head[3].split("\t")[2::3])].reshape(len(table), -1, 3)
        names = [n for n in head[3].split("\t")[2:] if n]
        worst = max(worst, same(got, 120.0, names, "-", table[:, :len(names)], np.zeros(table.shape[:2], bool)[:, :len(names)], 1e-12))
    check(worst < 1e-12, "%d real TRC files, against numpy's genfromtxt: worst %.1e m" % (len(paths), worst))


def main():
    with tempfile.TemporaryDirectory() as folder:
        c3d_random(folder)
        c3d_cut(folder)
        trc(folder)
    others()
    print("c3d: %(passed)d passed, %(failed)d failed, %(skipped)d skipped" % count)
    sys.exit(1 if count["failed"] else 0)


main()
