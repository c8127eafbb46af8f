"""An invented player swinging a club, as marker files: TRC text and C3D bytes, written from the formats' descriptions.
World: x to the target, y up, z away from a right-hander's chest. The laboratory's: z up, the target along -y."""
import math
import random
import struct

RATE, TARGET, UP = 240, "-y", "+z"
QUERY = "?target=-y&up=%2Bz&club=iron&club_number=7"
STILL, BACK, DOWN, THROUGH, HELD = 0.6, 0.85, 0.28, 0.55, 0.5  # s
ARM = math.radians(150)  # the hands' way round the shoulders
HINGE = math.radians(75)


def lerp(a, b, s):
    return [x + (y - x) * s for x, y in zip(a, b)]


def plus(a, b, s=1.0):
    return [x + s * y for x, y in zip(a, b)]


def unit(a):
    length = math.sqrt(sum(x * x for x in a))
    return [x / length for x in a]


def arm(t):
    """(angle of the hands from their place at address, of the wrists), rad: positive going back."""
    t -= STILL
    if t <= 0:
        return 0.0, 0.0
    if t < BACK:
        s = (1 - math.cos(math.pi * t / BACK)) / 2
        return ARM * s, HINGE * s
    t -= BACK
    if t < DOWN:
        s = t / DOWN
        return ARM * (1 - s * s), HINGE * (1 - s ** 3)
    s = min((t - DOWN) / THROUGH, 1.0)
    ease = s * (3 - 3 * s + s * s) / 1.0
    return -ARM * ease, -HINGE * min(1.0, 1.5 * ease) * ease


def turned(point, about, angle):
    """About the upright line: positive brings the lead side to the ball."""
    x, z = point[0] - about[0], point[2] - about[2]
    c, s = math.cos(angle), math.sin(angle)
    return [about[0] + c * x - s * z, point[1], about[2] + s * x + c * z]


def pose(t):
    """Points by their names with lead and trail, m."""
    hands, wrists = arm(t)
    hips, _ = arm(t + 0.04 if t > STILL + BACK * 0.9 else t)
    hub, waist = [0.0, 1.38, 0.22], [0.0, 0.92, -0.08]
    rest, ball = [0.0, 0.78, 0.44], [0.0, 0.03, 1.04]
    down, along = unit(plus(rest, hub, -1)), unit(plus(ball, rest, -1))
    reach = math.dist(rest, hub)
    grip = plus(plus(hub, down, reach * math.cos(hands)), [-1, 0, 0], reach * math.sin(hands))
    both = hands + wrists
    shaft = plus([math.cos(both) * x for x in along], [-1, 0, 0], math.sin(both))
    at = {"head": [0.0, 1.62, 0.34], "neck": [0.0, 1.44, 0.2], "grip": grip, "butt": plus(grip, shaft, -0.12),
          "clubhead": plus(grip, shaft, math.dist(ball, rest)), "ball": [0.02, 0.03, 1.04]}
    for side, x in (("lead", 1), ("trail", -1)):
        shoulder = turned([0.19 * x, 1.38, 0.22], hub, hands * 0.6)
        wrist = plus(grip, shaft, -0.05 if side == "lead" else 0.04)
        at[side + "_shoulder"], at[side + "_wrist"] = shoulder, wrist
        at[side + "_elbow"] = plus(lerp(shoulder, wrist, 0.5), [0.02 * x, -0.02, 0])
        at[side + "_hip"] = turned([0.13 * x, 0.92, -0.08], waist, hips * 0.3)
        at[side + "_knee"], at[side + "_ankle"] = [0.19 * x, 0.5, 0.06], [0.2 * x, 0.08, 0.0]
        at[side + "_toe"] = [0.24 * x, 0.03, 0.2]
    return at


def marker_name(point, left):
    """C3D and TRC know only the player's left and right."""
    for side, of_right, of_left in (("lead", "L", "R"), ("trail", "R", "L")):
        if point.startswith(side + "_"):
            return (of_left if left else of_right) + point[len(side) + 1:].title()
    return point.title()


def recording(left=False, seconds=STILL + BACK + DOWN + THROUGH + HELD, seed=1, rename=None, pose=pose):
    """(names, frames): each frame a list of places in the laboratory's axes, m, with a little noise."""
    noise = random.Random(seed)
    frames = []
    names = None
    for index in range(int(seconds * RATE)):
        at = pose(index / RATE)
        names = names or [marker_name(point, left) for point in at]
        frames.append([])
        for x, y, z in at.values():
            z = -z if left else z
            frames[-1].append([value + noise.gauss(0, 0.0003) for value in (-z, -x, y)])
    return [(rename or {}).get(name, name) for name in names], frames


def trc(names, frames):
    lines = ["PathFileType\t4\t(X/Y/Z)\tswing.trc",
             "DataRate\tCameraRate\tNumFrames\tNumMarkers\tUnits\tOrigDataRate\tOrigDataStartFrame\tOrigNumFrames",
             "%d\t%d\t%d\t%d\tmm\t%d\t1\t%d" % (RATE, RATE, len(frames), len(names), RATE, len(frames)),
             "Frame#\tTime\t" + "\t\t\t".join(names) + "\t\t",
             "\t\t" + "\t".join("%s%d" % (axis, n) for n in range(1, len(names) + 1) for axis in "XYZ"), ""]
    for index, frame in enumerate(frames):
        cells = ["%.4f" % (value * 1000) for place in frame for value in place]
        lines.append("\t".join(["%d" % (index + 1), "%.6f" % (index / RATE)] + cells))
    return ("\n".join(lines) + "\n").encode()


def entry(name, group, kind, dimensions, data):
    rest = bytes([kind & 255, len(dimensions), *dimensions]) + data + b"\0"
    return bytes([len(name), group]) + name.encode() + struct.pack("<H", len(rest) + 2) + rest


def c3d(names, frames, points=None):
    """Intel, reals. points: what the header and POINT:USED say, if they are to lie."""
    used, width = len(names) if points is None else points, max(map(len, names))
    texts = b"".join(name.encode().ljust(width) for name in names)
    group = bytes([5, 256 - 1]) + b"POINT" + struct.pack("<H", 3) + b"\0"

    def section(start):
        return (group + entry("USED", 1, 2, [], struct.pack("<H", used)) + entry("SCALE", 1, 4, [], struct.pack("<f", -1)) +
                entry("RATE", 1, 4, [], struct.pack("<f", RATE)) + entry("DATA_START", 1, 2, [], struct.pack("<H", start)) +
                entry("FRAMES", 1, 2, [], struct.pack("<H", len(frames))) + entry("UNITS", 1, -1, [2], b"mm") +
                entry("LABELS", 1, -1, [width, len(names)], texts) + b"\0\0")
    blocks = (len(section(0)) + 4 + 511) // 512
    start = 2 + blocks
    parameters = (bytes([1, 0x50, blocks, 84]) + section(start)).ljust(blocks * 512, b"\0")
    header = struct.pack("<BBHHHHHfHHf", 2, 0x50, used, 0, 1, len(frames), 10, -1.0, start, 0, float(RATE))
    data = b"".join(struct.pack("<4f", *(value * 1000 for value in place), 0.0) for frame in frames for place in frame)
    data += b"\0" * (-len(data) % 512)
    return header.ljust(512, b"\0") + parameters + data


def document(left=False, **of):
    """The same as a swing document's motion block."""
    names, frames = recording(left, **of)
    points = {}
    for index, point in enumerate(pose(0)):
        points[point] = [[round(value, 6) for value in frame[index]] for frame in frames]
    return {"schema": "leadside.swing/1", "recorded_at": "2026-05-02T09:14:05Z", "hand": "left" if left else "right",
            "club": {"kind": "iron", "number": 7},
            "motion": {"rate_hz": RATE, "frame": "z_up_target_minus_y", "points": points}}
