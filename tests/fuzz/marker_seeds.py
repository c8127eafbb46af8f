#!/usr/bin/python3
"""Writes the seeds of tests/fuzz/corpus/c3d and trc by the formats' public descriptions (C3D: c3d.org's user guide; TRC:
tab-separated text), from tests/data/motion.json thinned out, in a laboratory frame of z up and the target along +x. Run
again after a change of that document: tests/fuzz/marker_seeds.py"""
import json
import pathlib
import struct

here = pathlib.Path(__file__).resolve().parent
document = json.loads((here.parent / "data/motion.json").read_text(encoding="utf-8"))
NAMES = {"neck": "C7", "head": "Head", "lead_shoulder": "LSHO", "trail_shoulder": "RSHO", "lead_elbow": "LELB",
         "trail_elbow": "RELB", "lead_wrist": "LWRI", "trail_wrist": "RWRI", "lead_hip": "LHip", "trail_hip": "RHip",
         "lead_ankle": "LANK", "trail_ankle": "RANK", "lead_toe": "LTOE", "trail_toe": "RTOE", "grip": "Grip",
         "clubhead": "Clubhead", "ball": "Ball"}
BODY = ["neck", "lead_shoulder", "trail_shoulder", "lead_wrist", "trail_wrist", "lead_hip", "trail_hip", "lead_ankle",
        "trail_ankle"]
CLUB = [*BODY, "grip", "clubhead", "ball"]
RATE = document["motion"]["rate_hz"]


def save(kind, name, data):
    folder = here / "corpus" / kind
    folder.mkdir(parents=True, exist_ok=True)
    (folder / f"seed-{name}").write_bytes(data if isinstance(data, bytes) else data.encode())


def track(points, step, last=None):
    """Frames of millimetres in the laboratory frame: x stays, y = -z, z = y; None = a gap."""
    columns = [document["motion"]["points"][p][:last:step] for p in points]
    return [[None if at is None else (1000 * at[0], -1000 * at[2], 1000 * at[1]) for at in frame]
            for frame in zip(*columns)]


class Kind:
    """How one kind of processor writes numbers."""

    def __init__(self, code):
        self.code = code
        self.order = ">" if code == 86 else "<"

    def word(self, value):
        return struct.pack(self.order + "h", value if value < 32768 else value - 65536)

    def real(self, value):
        if self.code == 85:  # DEC: an exponent two higher, and the words the other way round
            packed = struct.pack("<f", 4 * value + 0.0)  # there is no -0
            return packed[2:] + packed[:2]
        return struct.pack(self.order + "f", value)


def entry(kind, ident, name, body, locked=False, last=False):
    length = -len(name) if locked else len(name)
    head = struct.pack("bb", length, ident) + name.encode()
    return head + kind.word(0 if last else 2 + len(body)) + body


def described(text=""):
    return bytes([len(text)]) + text.encode()


def value(kind, what):
    if isinstance(what, list):
        width = max([len(x) for x in what] + [1])
        return struct.pack("bbBB", -1, 2, width, len(what)) + "".join(x.ljust(width) for x in what).encode()
    if isinstance(what, str):
        return struct.pack("bbB", -1, 1, len(what)) + what.encode()
    if isinstance(what, float):
        return struct.pack("bb", 4, 0) + kind.real(what)
    return struct.pack("bb", 2, 0) + kind.word(what)


def parameters(kind, groups):
    out = b""
    for ident, (group, members) in enumerate(groups.items(), start=1):
        out += entry(kind, -ident, group, described("of " + group.lower()))
        for name, what in members.items():
            out += entry(kind, ident, name, value(kind, what) + described(), locked=name == "USED")
    out += b"\0\0"
    blocks = (4 + len(out) + 511) // 512
    return (struct.pack("BBBB", 1, 0x50, blocks, kind.code) + out).ljust(512 * blocks, b"\0"), blocks


def c3d(code, names, frames, rate, scale=-0.1, unit="mm", screen=True, analog=0, extra=None):
    kind = Kind(code)
    first = 1
    head_blocks = 1
    groups = {"POINT": {"USED": len(names), "FRAMES": len(frames), "DATA_START": 0, "SCALE": scale, "RATE": rate,
                        "UNITS": unit, "LABELS": names},
              "ANALOG": {"USED": analog, "RATE": rate * (1 if analog else 0), "GEN_SCALE": 1.0}}
    if screen:
        groups["POINT"].update(X_SCREEN="+X", Y_SCREEN="+Z")
    groups.update(extra or {})
    blocks = parameters(kind, groups)[1]
    start = head_blocks + blocks + 1
    groups["POINT"]["DATA_START"] = start
    section = parameters(kind, groups)[0]
    header = struct.pack("BB", 2, 0x50) + kind.word(len(names)) + kind.word(analog) + kind.word(first)
    header += kind.word(first + len(frames) - 1) + kind.word(10) + kind.real(scale) + kind.word(start)
    header += kind.word(1 if analog else 0) + kind.real(rate)
    data = b""
    for frame in frames:
        for at in frame:
            xyz = at or (0.0, 0.0, 0.0)
            if scale < 0:
                data += b"".join(kind.real(v) for v in xyz) + kind.real(-1.0 if at is None else 0.0)
            else:
                data += b"".join(kind.word(round(v / scale)) for v in xyz) + kind.word(-1 if at is None else 0)
        data += b"".join(kind.real(0.5) if scale < 0 else kind.word(7) for _ in range(analog))
    return header.ljust(512, b"\0") + section + data.ljust((len(data) + 511) // 512 * 512, b"\0")


def c3d_seeds():
    club = [NAMES[p] for p in CLUB]
    swing = track(CLUB, 3)
    save("c3d", "intel-real", c3d(84, club, swing, RATE / 3))
    save("c3d", "intel-integer", c3d(84, club, swing, RATE / 3, scale=0.1))
    save("c3d", "dec-real", c3d(85, [NAMES[p] for p in BODY], track(BODY, 4), RATE / 4))
    save("c3d", "dec-integer", c3d(85, [NAMES[p] for p in BODY], track(BODY, 4), RATE / 4, scale=0.1))
    save("c3d", "mips-real", c3d(86, [NAMES[p] for p in BODY], track(BODY, 4), RATE / 4, screen=False))
    save("c3d", "mips-integer", c3d(86, [NAMES[p] for p in BODY], track(BODY, 4), RATE / 4, scale=0.1))
    few = track(["lead_wrist", "trail_wrist"], 8, 80)
    save("c3d", "few", c3d(84, ["LWRI", "RWRI"], few, 60.0))
    save("c3d", "analog", c3d(84, ["LWRI", "RWRI"], few, 60.0, analog=2))
    save("c3d", "metres", c3d(84, ["LWRI", "RWRI"], [[tuple(v / 1000 for v in at) for at in f] for f in few], 60.0,
                              unit="m"))
    gaps = [[None if i in (3, 4) else at for at in f] for i, f in enumerate(few)]
    save("c3d", "gaps", c3d(84, ["S:LWRI", "S:RWRI"], gaps, 60.0, scale=0.1,
                            extra={"SUBJECTS": {"NAMES": ["S"], "USES_PREFIXES": 1}, "TRIAL": {"CAMERA_RATE": 60.0}}))
    far = [[(1e12, *at[1:]) for at in f] for f in few]
    save("c3d", "found-far", c3d(84, ["LWRI", "RWRI"], far, 60.0))  # was once taken for a place
    whole = c3d(84, ["LWRI", "RWRI"], few, 60.0)
    save("c3d", "refused-cut", whole[:-600])
    save("c3d", "refused-count", whole[:2] + b"\xff\x7f" + whole[4:])
    save("c3d", "refused-start", whole[:16] + b"\xff\xff" + whole[18:])
    save("c3d", "refused-kind", whole[:515] + b"\x57" + whole[516:])


def trc(names, frames, rate, unit="mm", end="\n", first=1):
    lines = ["PathFileType\t4\t(X/Y/Z)\tseed.trc",
             "DataRate\tCameraRate\tNumFrames\tNumMarkers\tUnits\tOrigDataRate\tOrigDataStartFrame\tOrigNumFrames",
             f"{rate:.2f}\t{rate:.2f}\t{len(frames)}\t{len(names)}\t{unit}\t{rate:.2f}\t1\t{len(frames)}",
             "Frame#\tTime\t" + "\t\t\t".join(names) + "\t\t",
             "\t\t" + "\t".join(f"X{i}\tY{i}\tZ{i}" for i in range(1, len(names) + 1)), ""]
    for i, frame in enumerate(frames):
        cells = ["\t\t" if at is None else "\t".join(f"{v:.1f}" if unit == "mm" else f"{v:.4f}" for v in at)
                 for at in frame]
        lines.append(f"{i + first}\t{i / rate:.4f}\t" + "\t".join(cells))
    return end.join(lines) + end


def trc_seeds():
    save("trc", "club", trc([NAMES[p] for p in CLUB], track(CLUB, 4), RATE / 4))
    save("trc", "body", trc([NAMES[p] for p in BODY], track(BODY, 5), RATE / 5))
    few = track(["lead_wrist", "trail_wrist"], 8, 80)
    save("trc", "few", trc(["LWRI", "RWRI"], few, 60.0))
    save("trc", "metres", trc(["LWRI", "RWRI"], [[tuple(v / 1000 for v in at) for at in f] for f in few], 60.0, "m"))
    save("trc", "returns", trc(["LWRI", "RWRI"], few, 60.0, end="\r\n"))
    save("trc", "gaps", trc(["Subject:LWRI", "Subject:RWRI"], [[None, at[1]] for at in few], 60.0))
    save("trc", "found-far", trc(["LWRI", "RWRI"], [[(1e12, *at[1:]) for at in f] for f in few], 60.0))
    whole = trc(["LWRI", "RWRI"], few, 60.0)
    save("trc", "refused-column", whole.replace("\t\t\tRWRI", "\tRWRI"))
    save("trc", "refused-count", whole.replace("\t2\tmm", "\t3\tmm"))
    save("trc", "refused-word", whole.replace("60.00\t60.00", "sixty\tnan"))
    save("trc", "refused-cut", whole[:-30])


c3d_seeds()
trc_seeds()
