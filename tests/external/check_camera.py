#!/usr/bin/python3
"""The shaft from one picture against an independent projection in numpy, and its stated errors against Monte Carlo.

Usage: check_camera.py BUILD. Optional research vectors: LEADSIDE_SHARED; skipped when unset.

The camera is written here as a product of three rotation matrices, the inversion as a root search along the ray: both
another way than core/camera.c and core/shaft.c. Monte Carlo leaves out shafts within 25 deg of the tangent (seen square
across the picture: there the ray touches the sphere and no single sd describes the error) and clipped ones.
"""
import json
import os
import subprocess
import sys

import numpy as np

BUILD = sys.argv[1] if len(sys.argv) > 1 else "build"
HERE = os.path.dirname(os.path.abspath(__file__))
SHARED = os.environ.get("LEADSIDE_SHARED") or os.devnull
CHECKPOINTS = ["address", "shaft_back", "arm_back", "top", "arm_down", "shaft_down", "impact", "shaft_through"]
FAR = {"top", "impact", "shaft_through"}
count = {"passed": 0, "failed": 0, "skipped": 0}


def check(ok, text):
    count["passed" if ok else "failed"] += 1
    print(("ok      " if ok else "FAILED  ") + text)


def ask(lines):
    out = subprocess.run([os.path.join(BUILD, "tests", "external_camera")], input="\n".join(lines) + "\n", text=True,
                         capture_output=True, check=True).stdout.split("\n")
    return [np.array([float(x) for x in row.split()]) if row[:1] not in ("n", "b") else None for row in out[:-1]]


def matrix(yaw, pitch, roll):
    """World (X ahead, Y up, Z right) to camera (right, down, ahead)."""
    y, p, r = np.radians([yaw, pitch, roll])
    base = np.array([[0, 0, 1], [0, -1, 0], [1, 0, 0]], float)
    turn = np.array([[np.cos(y), 0, -np.sin(y)], [0, 1, 0], [np.sin(y), 0, np.cos(y)]])
    nod = np.array([[1, 0, 0], [0, np.cos(p), -np.sin(p)], [0, np.sin(p), np.cos(p)]])
    tip = np.array([[np.cos(r), np.sin(r), 0], [-np.sin(r), np.cos(r), 0], [0, 0, 1]])
    return tip @ nod @ turn @ base


def project(m, f, c, point):
    q = m @ point
    return c + f * q[:2] / q[2]


def direction(at, plan, elevation):
    sign = 1 if at in FAR else -1
    p, e = np.radians([plan, elevation])
    return np.array([sign * np.cos(e) * np.cos(p), np.sin(e), np.cos(e) * np.sin(p)])


def angles(at, s):
    sign = 1 if at in FAR else -1
    return np.degrees(np.arctan2(s[2], sign * s[0])), np.degrees(np.arcsin(np.clip(s[1], -1, 1)))


def invert(at, m, f, c, depth, length, uvg, uvh):
    """numpy's own: distance along the clubhead's ray by the law of cosines."""
    def ray(uv):
        return m.T @ np.append((np.asarray(uv) - c) / f, 1.0)
    g = ray(uvg)
    g = g * depth / g[0]
    h = ray(uvh)
    h = h / np.linalg.norm(h)
    R = np.linalg.norm(g)
    cosine = np.clip(g @ h / R, -1, 1)
    half = length ** 2 - R ** 2 * (1 - cosine ** 2)
    if half < 0:
        return None
    t = R * cosine + (1 if at in FAR else -1) * np.sqrt(half)
    s = t * h - g
    return angles(at, s / np.linalg.norm(s))


rng = np.random.default_rng(20)


def random_pose(at):
    f = rng.uniform(900, 1800)
    c = np.array([960.0, 540.0])
    m = (rng.uniform(-10, 10), rng.uniform(-5, 8), rng.uniform(-3, 3))
    grip = np.array([rng.uniform(2.6, 5.5), rng.uniform(-.6, .8), rng.uniform(-.6, .6)])
    length = rng.uniform(.75, 1.05)
    plan, e = rng.uniform(-50, 50), rng.uniform(-25, 35)
    return f, c, m, grip, length, plan, e


def exact():
    lines, truth = [], []
    while len(lines) < 3000:
        at = ["shaft_back", "top", "shaft_down", "shaft_through"][len(lines) % 4]
        f, c, pose, grip, length, plan, e = random_pose(at)
        s = direction(at, plan, e)
        head = grip + length * s
        if (s @ head) * (1 if at in FAR else -1) <= 0.02 * np.linalg.norm(head):
            continue
        m = matrix(*pose)
        g, h = project(m, f, c, grip), project(m, f, c, head)
        lines.append("shaft %d %.17g %.17g %.17g %.17g %.17g %.17g %.17g %.17g %.17g %.17g %.17g %.17g" %
                     (CHECKPOINTS.index(at), f, *c, *pose, grip[0], length, *g, *h))
        truth.append((plan, e))
    got = ask(lines)
    worst = max(np.abs(np.array(a[:2]) - b).max() if a is not None else 1e9 for a, b in zip(got, truth))
    check(worst < 1e-6, "3000 random poses and cameras: plan and elevation recovered, worst %.1e deg" % worst)
    check(all(a is not None and a[2] == 0 for a in got), "none of them is clipped")


def missed(slope, elevation):
    """(mean, sd) of what a picture told as the top misses where the instant is 20 ms off (sd): the club turns in its plane, braked by
    2000 deg/s2 and sped up by 6000, and the elevation follows by the sine."""
    t = rng.normal(0, .020, 100000)
    turned = np.radians(.5 * np.where(t > 0, 6000, 2000) * t * t)
    off = elevation - np.degrees(np.arcsin(np.sin(slope) * np.sin(np.arcsin(np.sin(np.radians(elevation)) / np.sin(slope)) - turned)))
    return np.mean(off), np.std(off)


def monte_carlo():
    worst_random, worst_systematic, n = 0.0, 0.0, 0
    width, height, hfov, length = 1920, 1080, 62.0, 0.94
    f = width / 2 / np.tan(np.radians(hfov / 2))
    c = np.array([width / 2, height / 2])
    reach = length - 0.10
    rows = [("shaft_elevation", "top", p, e, y, x) for p in (-20, 0, 25) for e in (-5, 10) for y in (-6, 0, 5)
            for x in (-.2, .2)]
    for name, at, plan, e, yaw, side in rows:
        m = matrix(yaw, 1.0, 0.0)
        camera = np.array([-4.0, 1.0, 0.3 + side])
        a_grip = np.array([0.0, .8, .4])
        slope = np.radians(50)
        a_head = a_grip + reach * np.array([0, -np.sin(slope), np.cos(slope)])
        grip = np.array([-.1, 1.6, 0.0])
        s = direction(at, plan, e)
        head = grip + reach * s
        look = (head - camera) / np.linalg.norm(head - camera)
        if abs(s @ look) < np.sin(np.radians(25)):
            continue
        n += 1
        pix = [project(m, f, c, q - camera) for q in (a_grip, a_head, grip, head)]
        flag = project(m, f, c, np.array([40000.0, 0, 0]))

        def line(g, h):
            return "measure %s %s %d %d %.17g %.17g %.17g %.17g " % (name, at, width, height, hfov, length, *flag) + \
                " ".join("%.17g" % x for x in np.concatenate([pix[0], pix[1], g, h]))
        base = ask([line(pix[2], pix[3])])[0]
        if base is None or base[0] != 1 or base[1] != 0:
            check(False, "configuration plan %g e %g yaw %g is observed" % (plan, e, yaw))
            continue
        noise = rng.normal(0, 3, (1500, 4))
        got = ask([line(pix[2] + z[:2], pix[3] + z[2:]) for z in noise])
        mc = np.std([g[2] for g in got])
        mean, sd = missed(slope, base[2])
        worst_random = max(worst_random, abs(base[3] / np.hypot(mc, sd) - 1))
        yaw0, yaw_sd, pitch0, pitch_sd, roll0, roll_sd, depth0, depth_sd = base[5:13]
        sample = []
        for z in rng.normal(0, 1, (4000, 4)):
            r = invert(at, matrix(yaw0 + z[0] * yaw_sd, pitch0 + z[1] * pitch_sd, roll0 + z[2] * roll_sd), f, c,
                       depth0 + z[3] * depth_sd, reach, pix[2], pix[3])
            if r is not None:
                sample.append(r[1])
        worst_systematic = max(worst_systematic, abs(base[4] / np.hypot(np.std(sample), mean) - 1))
    check(n >= 20, "%d configurations of the shaft at the top, none near the tangent" % n)
    check(worst_random < .10, "random sd against Monte Carlo (3 px, 1500 draws): worst %.1f %%" % (100 * worst_random))
    check(worst_systematic < .10, "systematic sd against Monte Carlo (4000 draws): worst %.1f %%" %
          (100 * worst_systematic))


def plan_errors():
    """shaft_direction at the three level checkpoints, sd_random, marks only."""
    width, height, hfov, length = 1920, 1080, 62.0, 0.94
    f = width / 2 / np.tan(np.radians(hfov / 2))
    c = np.array([width / 2, height / 2])
    worst, n = 0.0, 0
    for name, at in [("shaft_direction", "shaft_back"), ("shaft_direction", "shaft_down"), ("shaft_direction", "shaft_through"),
                     ("shaft_cross", "top")]:
        for plan in (-25, -10, 0, 12, 30):
            m = matrix(2, 1, 0)
            camera = np.array([-4.0, 1.0, .4])
            slope = np.radians(50)
            a_grip = np.array([0, .8, .4])
            a_head = a_grip + (length - .1) * np.array([0, -np.sin(slope), np.cos(slope)])
            grip = np.array([-.1, 1.5 if at == "top" else .9, .2])
            head = grip + (length - .1) * direction(at, plan, 2)
            pix = [project(m, f, c, q - camera) for q in (a_grip, a_head, grip, head)]
            flag = project(m, f, c, np.array([40000.0, 0, 0]))

            def line(g, h):
                return "measure %s %s %d %d %.17g %.17g %.17g %.17g " % (name, at, width, height, hfov, length, *flag) + \
                    " ".join("%.17g" % x for x in np.concatenate([pix[0], pix[1], g, h]))
            rows = ask([line(pix[2], pix[3])] + [line(pix[2] + z[:2], pix[3] + z[2:]) for z in rng.normal(0, 3, (1500, 4))])
            worst = max(worst, abs(rows[0][3] / np.std([r[2] for r in rows[1:]]) - 1))
            n += 1
    check(worst < .10, "plan angle: random sd of %d configurations against Monte Carlo: worst %.1f %%" % (n, 100 * worst))


def plane():
    got = ask(["plane 50 30", "plane 50 0", "plane 50 50", "plane 89 30", "plane 50 -30"])
    s = np.sin(np.radians(30)) / np.sin(np.radians(50))
    want = np.degrees(np.arctan2(-s * np.cos(np.radians(50)), np.sqrt(1 - s * s)))
    check(abs(got[0][0] - want) < 1e-9 and abs(want + 28.98) < .005, "slope 50, elevation 30: %.4f" % got[0][0])
    check(got[1][0] == 0, "level: 0")
    check(abs(got[2][0] + 90) < 1e-5, "as steep as the plane: %.3f" % got[2][0])
    check(abs(got[4][0] + got[0][0]) < 1e-9, "past level the sign turns")
    lines, want = [], []
    for _ in range(500):
        alpha, t = rng.uniform(35, 65), rng.uniform(-80, 80)
        u = np.array([0, np.sin(np.radians(alpha)), -np.cos(np.radians(alpha))])
        s = np.cos(np.radians(t)) * np.array([1, 0, 0]) + np.sin(np.radians(t)) * u
        lines.append("plane %.17g %.17g" % (alpha, np.degrees(np.arcsin(s[1]))))
        want.append(np.degrees(np.arctan2(s[2], s[0])))
    worst = max(abs(g[0] - w) for g, w in zip(ask(lines), want))
    check(worst < 1e-6, "500 shafts built on planes: worst %.1e deg" % worst)


def golden():
    path = os.path.join(SHARED, "research", "golden")
    if not os.path.isdir(path):
        count["skipped"] += 2
        print("skipped golden single view\nskipped golden one stick")
        return
    d = json.load(open(os.path.join(path, "05_singleview.json")))
    worst = 0.0
    for k in d["cases"]:
        depth = k["grip"][0] - k["cam"][0]
        row = ask(["shaft 3 %.17g %.17g %.17g %.17g %.17g %.17g %.17g %.17g %.17g %.17g %.17g %.17g %d" %
                   (k["F"], *k["c"], k["yaw_deg"], k["pitch_deg_down"], k["roll_deg"], depth, k["length"], *k["grip_px"],
                    *k["head_px"], k["root"])])[0]
        worst = max(worst, abs((row[0] - k["psi_true"] + 180) % 360 - 180), abs(row[1] - k["eps_true"]))
    check(worst < 1e-8, "research vectors, single view: worst %.1e deg" % worst)
    d = json.load(open(os.path.join(path, "11_uncertainty_calib_angles.json")))
    worst = 0.0
    for k in d["one_stick_yaw"]:
        row = ask(["stick %.17g %.17g %.17g %.17g %.17g %.17g %.17g %.17g %.17g" %
                   (k["F"], *k["c"], k["pitch_deg"], k["roll_deg"], *k["stick_px"][0], *k["stick_px"][1])])[0]
        worst = max(worst, abs(row[0] - k["yaw_deg"]))
    check(worst < 1e-8, "research vectors, one stick and a level: worst %.1e deg" % worst)


exact()
plane()
monte_carlo()
plan_errors()
golden()
print("camera: %(passed)d passed, %(failed)d failed, %(skipped)d skipped" % count)
sys.exit(1 if count["failed"] else 0)
