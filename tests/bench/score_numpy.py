"""The same formulas in numpy, as one would write them there: each measure's sigma points are one array, so a measure is a
handful of array operations and no loop runs over points. Written from docs/measures.md, to stand beside core.

Covers: the cameras' pose from two sticks with its errors, depth from the club and the distance, six shaft measures, nine body
measures down the line and face on, tempo; each with random and systematic error. Left out (core does them in the same
time): orders, weight, camera findings, the hands' depth from both views joined, faults, first fix.

/usr/bin/python3 score_numpy.py FILE: prints microseconds for one document (median), then the measures.
"""
import json
import sys
import time

import numpy as np

DEG, STEP, MARK = 180.0 / np.pi, np.sqrt(3.0), 3.0
YAW, PITCH, ROLL, DEPTH, SLOPE, OWN = range(6)


def transform(mean, sd, systematic, formula, circular=False):
    """Value, random and systematic sd of a formula of independent inputs; formula takes rows of inputs."""
    live = np.flatnonzero(sd > 0)
    rows = np.repeat(mean[None, :], 2 * len(live) + 1, axis=0)
    turn = np.arange(len(live))
    rows[1 + 2 * turn, live] += STEP * sd[live]
    rows[2 + 2 * turn, live] -= STEP * sd[live]
    y = formula(rows)
    difference = y[1:] - y[0]
    if circular:
        difference = (difference + 180.0) % 360.0 - 180.0
    up, low = difference[0::2], difference[1::2]
    part = ((up - low) / (2 * STEP)) ** 2 + 2 * ((up + low) / (2 * STEP * STEP)) ** 2
    fixed = systematic[live]
    return y[0], np.sqrt(part[~fixed].sum()), np.sqrt(part[fixed].sum())


class View:
    def __init__(self, view):
        self.kind = view["view"]
        self.fps = view.get("fps", 30.0)
        width, height = view["image"]["width"], view["image"]["height"]
        self.focal = 0.5 * width / np.tan(0.5 * view["camera"]["hfov_deg"] / DEG)
        self.centre = np.array([0.5 * width, 0.5 * height])
        self.frames = {frame["checkpoint"]: frame for frame in view["frames"]}
        self.camera = view["camera"]
        self.yaw, self.yaw_sd = 0.0, 6.0
        self.pitch = self.camera.get("pitch_deg", 0.0)
        self.pitch_sd = 0.5 if "pitch_deg" in self.camera else 2.0
        self.roll = self.camera.get("roll_deg", 0.0)
        self.roll_sd = 0.5 if "roll_deg" in self.camera else 1.0
        if len(view.get("sticks", ())) == 2 and self.kind == "down_the_line":
            self.pose(np.array(view["sticks"], float).reshape(-1))
        if "target" in view and self.kind == "down_the_line":
            self.aim(np.array(view["target"], float))
        self.depth = self.depth_sd = None

    def pose(self, ends):
        """Yaw and pitch from where two sticks meet."""
        mean = np.concatenate(([self.roll], ends))
        sd = np.concatenate(([self.roll_sd], np.full(8, MARK)))
        fixed = np.ones(9, bool)

        def vanish(rows):
            c, s = np.cos(rows[:, :1] / DEG), np.sin(rows[:, :1] / DEG)
            p = (rows[:, 1:].reshape(-1, 4, 2) - self.centre) / self.focal
            q = np.stack((c * p[..., 0] - s * p[..., 1], s * p[..., 0] + c * p[..., 1], np.ones(p.shape[:2])), axis=-1)
            v = np.cross(np.cross(q[:, 0], q[:, 1]), np.cross(q[:, 2], q[:, 3]))
            return v[:, 0] / v[:, 2], v[:, 1] / v[:, 2]

        def yaw(rows):
            x, y = vanish(rows)
            return -np.arctan(x * np.cos(np.arctan(y))) * DEG

        value, _, sd_yaw = transform(mean, sd, fixed, yaw)
        tilt, _, sd_pitch = transform(mean, sd, fixed, lambda rows: np.arctan(-vanish(rows)[1]) * DEG)
        self.yaw, self.yaw_sd = value, np.hypot(sd_yaw, 1.5)
        if sd_pitch < self.pitch_sd:
            self.pitch, self.pitch_sd = tilt, sd_pitch

    def aim(self, target):
        """Yaw from a distant flag."""
        mean = np.array([0.0, self.pitch, self.roll, 1.0, 0.0, *target])
        sd = np.array([0.0, self.pitch_sd, self.roll_sd, 0.0, 0.0, MARK, MARK])
        value, _, error = transform(mean, sd, np.ones(7, bool),
                                    lambda rows: -np.arctan(self.rays(rows)[:, 0, 2]) * DEG)
        self.yaw, self.yaw_sd = value, np.hypot(error, 0.3)

    def rays(self, rows):
        """Rays with x = 1 of every mark in every row: [row, mark, 3]."""
        cy, sy = np.cos(rows[:, YAW] / DEG), np.sin(rows[:, YAW] / DEG)
        cp, sp = np.cos(rows[:, PITCH] / DEG), np.sin(rows[:, PITCH] / DEG)
        cr, sr = np.cos(rows[:, ROLL] / DEG), np.sin(rows[:, ROLL] / DEG)
        zero = np.zeros_like(cy)
        right = np.stack((-sy, zero, cy), -1)
        down = np.stack((-sp * cy, -cp, -sp * sy), -1)
        ahead = np.stack((cp * cy, -sp, cp * sy), -1)
        right, down = right * cr[:, None] + down * sr[:, None], down * cr[:, None] - right * sr[:, None]
        xy = (rows[:, OWN:].reshape(len(rows), -1, 2) - self.centre) / self.focal
        d = xy[..., :1] * right[:, None] + xy[..., 1:] * down[:, None] + ahead[:, None]
        return d / d[..., :1]

    def mark(self, checkpoint, *names):
        """[u, v, sd] of a point, or of the middle of two; None when not seen."""
        points = self.frames.get(checkpoint, {"points": {}})["points"]
        if any(name not in points for name in names):
            return None
        marks = [points[name] for name in names]
        sds = [mark[2] if len(mark) > 2 else MARK for mark in marks]
        return [sum(mark[0] for mark in marks) / len(marks), sum(mark[1] for mark in marks) / len(marks),
                float(np.sqrt(sum(sd * sd for sd in sds))) / len(marks)]

    def probe(self, marks, formula, depth_extra=0.0, slope=(0.0, 0.0), circular=False, metres=False):
        if any(mark is None for mark in marks):
            return None
        depth, depth_sd = (self.depth, float(np.hypot(self.depth_sd, depth_extra))) if metres else (1.0, 0.0)
        mean = np.array([self.yaw, self.pitch, self.roll, depth, slope[0]] + [x for mark in marks for x in mark[:2]])
        sd = np.array([self.yaw_sd, self.pitch_sd, self.roll_sd, depth_sd, slope[1]] +
                      [mark[2] for mark in marks for _ in (0, 1)])
        fixed = np.arange(len(mean)) < OWN
        return transform(mean, sd, fixed, lambda rows: formula(self.rays(rows), rows), circular)

    def find_depth(self, length, slope, share_sd):
        """From the club's length at address, and the distance given."""
        mean = [[self.yaw, self.pitch, self.roll, 1.0, 0.0]]
        marks = [self.mark("address", "grip"), self.mark("address", "clubhead")]
        weight = total = 0.0
        if None not in marks:
            grip, head = self.rays(np.array([mean[0] + marks[0][:2] + marks[1][:2]]))[0]
            face = self.kind == "face_on"
            across = length * np.sin(slope / DEG) if face else length
            nearer = length * np.cos(slope / DEG) if face else 0.0
            apart = grip[1:] - head[1:]
            a, b = apart @ apart, nearer * (apart @ head[1:])
            c = nearer * nearer * (head[1:] @ head[1:]) - across * across
            if b * b - a * c >= 0:
                club = (-b + np.sqrt(b * b - a * c)) / a
                weight, total = 1 / (club * share_sd) ** 2, club / (club * share_sd) ** 2
        if "distance_m" in self.camera:
            weight, total = weight + 1 / 0.15 ** 2, total + self.camera["distance_m"] / 0.15 ** 2
        self.depth, self.depth_sd = total / weight, 1 / np.sqrt(weight)


def lean(low, high):
    return np.arctan2(high[:, 2] - low[:, 2], high[:, 1] - low[:, 1]) * DEG


def bend(a, joint, b):
    p, q = a[:, 1:] - joint[:, 1:], b[:, 1:] - joint[:, 1:]
    return 180 - np.arctan2(np.abs(p[:, 1] * q[:, 0] - p[:, 0] * q[:, 1]), (p * q).sum(1)) * DEG


def shaft(rays, rows, length, root):
    a, head = rays[:, 0] * rows[:, DEPTH:DEPTH + 1], rays[:, 1]
    q, m = (head * head).sum(1), (head * a).sum(1)
    t = (m + root * np.sqrt(np.maximum(m * m - q * ((a * a).sum(1) - length * length), 0))) / q
    w = head * t[:, None] - a
    return w / np.linalg.norm(w, axis=1)[:, None]


def on_plane(slope, elevation):
    slope = np.clip(slope, 5, 85) / DEG
    s = np.clip(np.sin(elevation / DEG) / np.sin(slope), -1, 1)
    return np.arctan2(-s * np.cos(slope), np.sqrt(1 - s * s)) * DEG


def slope_across(low, high):
    return np.arctan2(high[:, 1] - low[:, 1], low[:, 2] - high[:, 2]) * DEG


def line_measures(view, length, slope, out):
    mark = view.mark
    for name, at, through, root, rate in (("shaft_direction", "shaft_back", False, -1, 300.0),
                                          ("shaft_cross", "top", True, 1, 27.0), ("shaft_direction", "shaft_down", False, -1, 1150.0),
                                          ("shaft_direction", "shaft_through", True, 1, 1412.0)):
        def plan(rays, rows):
            d = shaft(rays, rows, length, root)
            angle = np.arctan2(d[:, 2], d[:, 0] if through else -d[:, 0]) * DEG
            return angle - on_plane(rows[:, SLOPE], np.arcsin(np.clip(d[:, 1], -1, 1)) * DEG)
        found = view.probe([mark(at, "grip"), mark(at, "clubhead")], plan, 0.15, slope, True, True)
        if found:
            turn = rate / (2 * view.fps) / STEP
            rise = np.arcsin(min(1, np.sin(min(turn, 90) / DEG) * np.sin(slope[0] / DEG))) * DEG
            frame = 0.5 * abs(on_plane(slope[0] + slope[1], rise) - on_plane(slope[0] - slope[1], rise))
            out[name + "@" + at] = (found[0], np.sqrt(found[1] ** 2 + frame ** 2 + found[2] ** 2))

    def elevation(rays, rows):
        return np.arcsin(np.clip(shaft(rays, rows, length, 1)[:, 1], -1, 1)) * DEG
    keep(out, "shaft_elevation@top", view.probe([mark("top", "grip"), mark("top", "clubhead")], elevation, 0.15, slope, True, True))
    keep(out, "shaft_steepness@arm_down", view.probe(
        [mark("address", "grip"), mark("address", "clubhead"), mark("arm_down", "grip"), mark("arm_down", "clubhead")],
        lambda r, _: slope_across(r[:, 2], r[:, 3]) - slope_across(r[:, 1], r[:, 0]), circular=True), 2.0)
    trunk = [mark("address", "lead_hip", "trail_hip"), mark("address", "neck")]
    keep(out, "spine_tilt@address", view.probe(trunk, lambda r, _: lean(r[:, 0], r[:, 1])), 4.0)
    later = [mark("impact", "lead_hip", "trail_hip"), mark("impact", "neck")]
    keep(out, "spine_change@impact", view.probe(
        trunk + later, lambda r, _: lean(r[:, 2], r[:, 3]) - lean(r[:, 0], r[:, 1])), 4.0)
    keep(out, "hips_to_ball@impact", view.probe(
        [trunk[0], later[0]], lambda r, rows: (r[:, 1, 2] - r[:, 0, 2]) * rows[:, DEPTH], 0.15, metres=True))
    keep(out, "shoulder_plane@top", view.probe(
        [mark("top", "lead_shoulder"), mark("top", "trail_shoulder")],
        lambda r, _: np.arctan2(r[:, 1, 1] - r[:, 0, 1], np.abs(r[:, 1, 2] - r[:, 0, 2])) * DEG), 4.0)


def face_measures(view, out):
    mark = view.mark
    keep(out, "trunk_lean@top", view.probe([mark("top", "lead_hip", "trail_hip"), mark("top", "neck")],
                                           lambda r, _: -lean(r[:, 0], r[:, 1])), 4.0)

    def shift(r, _):
        return (r[:, 1, 2] - r[:, 0, 2]) / np.linalg.norm(r[:, 2, 1:] - r[:, 3, 1:], axis=1)
    keep(out, "head_shift@top", view.probe([mark("address", "head"), mark("top", "head"), mark("address", "lead_shoulder"),
                                            mark("address", "trail_shoulder")], shift))
    for at in ("arm_back", "impact"):
        keep(out, "pelvis_shift@" + at, view.probe(
            [mark("address", "lead_hip", "trail_hip"), mark(at, "lead_hip", "trail_hip"), mark("address", "lead_ankle"),
             mark("address", "trail_ankle")], shift))
    for at in ("impact", "shaft_through"):
        keep(out, "lead_elbow_bend@" + at, view.probe(
            [mark(at, "lead_shoulder"), mark(at, "lead_elbow"), mark(at, "lead_wrist")],
            lambda r, _: bend(r[:, 0], r[:, 1], r[:, 2])), 3.0)


def keep(out, name, found, own=0.0):
    """Of two views that show a measure, the one with the smaller error stays."""
    if found:
        sd = np.sqrt(found[1] ** 2 + found[2] ** 2 + own ** 2)
        if name not in out or sd < out[name][1]:
            out[name] = (found[0], sd)


def measure(document):
    out = {}
    length = document["club"]["length_m"] - 0.10
    views = [View(view) for view in document["views"]]
    slope = (50.0, 6.0)
    for view in views:
        if view.kind == "down_the_line":
            found = view.probe([view.mark("address", "grip"), view.mark("address", "clubhead")],
                               lambda r, _: slope_across(r[:, 1], r[:, 0]))
            if found and 20 < found[0] < 80:
                slope = (found[0], np.sqrt(found[1] ** 2 + found[2] ** 2 + 16.0))
    for view in views:
        view.find_depth(length, slope[0], 0.03)
        if view.kind == "down_the_line":
            line_measures(view, length, slope, out)
        else:
            face_measures(view, out)
        times = [view.frames.get(at, {}).get("time_s") for at in ("address", "top", "impact")]
        if None not in times:
            keep(out, "tempo@-", transform(np.array(times), np.full(3, 1 / (view.fps * np.sqrt(12))), np.zeros(3, bool),
                                           lambda t: (t[:, 1] - t[:, 0]) / (t[:, 2] - t[:, 1])))
    return out


def main():
    document = json.load(open(sys.argv[1]))
    result = measure(document)
    times = []
    for _ in range(60):
        begun = time.perf_counter()
        measure(document)
        times.append(time.perf_counter() - begun)
    print("measure_us %.1f" % (sorted(times)[len(times) // 2] * 1e6))
    for name, (value, sd) in sorted(result.items()):
        print("measure %s %.6f %.6f" % (name, value, sd))


main()
