#!/usr/bin/python3
"""The static centre of mass against a published worked example, numpy on random poses, and the research pose.

Usage: check_weight.py BUILD. Optional research vectors: LEADSIDE_SHARED; skipped when unset.
"""
import json
import os
import subprocess
import sys

import numpy as np

BUILD = sys.argv[1] if len(sys.argv) > 1 else "build"
HERE = os.path.dirname(os.path.abspath(__file__))
SHARED = os.environ.get("LEADSIDE_SHARED") or os.devnull
NAMES = ("head neck lead_shoulder trail_shoulder lead_elbow trail_elbow lead_wrist trail_wrist lead_hip trail_hip "
         "lead_knee trail_knee lead_ankle trail_ankle lead_toe trail_toe grip butt clubhead ball").split()
# Winter, after Dempster: mass, centre from the proximal end.
TABLE = {"hand": (.006, .506), "forearm": (.016, .430), "upper": (.028, .436), "foot": (.0145, .500),
         "shank": (.0465, .433), "thigh": (.100, .433), "trunk": (.497, .500), "head": (.081, 1.0)}
count = {"passed": 0, "failed": 0, "skipped": 0}


def check(ok, text):
    count["passed" if ok else "failed"] += 1
    print(("ok      " if ok else "FAILED  ") + text)


def ask(lines):
    out = subprocess.run([os.path.join(BUILD, "tests", "external_weight")], input="\n".join(lines) + "\n", text=True,
                         capture_output=True, check=True).stdout.split("\n")
    return [np.array([float(x) for x in r.split()]) if r != "none" else None for r in out[:-1]]


def line(pose):
    return " ".join("%.17g %.17g" % tuple(pose[n]) if n in pose else "-" for n in NAMES)


def numpy_com(p):
    """Sum over (segment, proximal, distal) rows, without the product's code."""
    mid = lambda a: (p["lead_" + a] + p["trail_" + a]) / 2
    rows = [("trunk", mid("shoulder"), mid("hip")), ("head", p["head"], p["head"])]
    for s in ("lead_", "trail_"):
        rows += [("upper", p[s + "shoulder"], p[s + "elbow"]), ("forearm", p[s + "elbow"], p[s + "wrist"]),
                 ("hand", p[s + "wrist"], p["grip"]), ("thigh", p[s + "hip"], p[s + "knee"]),
                 ("shank", p[s + "knee"], p[s + "ankle"]), ("foot", p[s + "ankle"], p[s + "toe"])]
    mass = np.array([TABLE[r[0]][0] for r in rows])
    place = np.array([r[1] + TABLE[r[0]][1] * (r[2] - r[1]) for r in rows])
    return mass.sum(), (mass[:, None] * place).sum(0) / mass.sum()


def random_pose(rng):
    p = {n: rng.uniform(-1, 1, 2) for n in NAMES}
    p["lead_ankle"], p["trail_ankle"] = np.array([rng.uniform(.1, .4), 0]), np.array([rng.uniform(-.4, -.1), 0])
    return p


def main():
    rng = np.random.default_rng(9)
    check(abs(.578 + 2 * .050 + 2 * .161 - 1) < 1e-12 and abs(numpy_com(random_pose(rng))[0] - 1) < 1e-12,
          "as do the table's compound segments")
    poses = [random_pose(rng) for _ in range(500)]
    worst = 0.0
    for p, g in zip(poses, ask([line(p) for p in poses])):
        com = numpy_com(p)[1]
        share = (com[0] - p["trail_ankle"][0]) / (p["lead_ankle"][0] - p["trail_ankle"][0])
        worst = max(worst, abs(g[:2] - com).max(), abs(g[2] - share))
    check(worst < 1e-12, "500 random poses, centre and share: worst %.1e" % worst)

    # Published lower limb: toe, ankle, knee, hip -> limb (.818, .584). Everything else is put at the origin and both
    # legs on the same joints, so the body's centre is the limb's times the share of the legs' mass.
    toe, ankle, knee, hip = np.array([[1.011, .013], [.849, .110], [.864, .549], [.721, .928]])
    foot, leg = ankle + .5 * (toe - ankle), 2 * (.0145 + .0465 + .1)
    zero = np.zeros(2)
    p = {n: zero for n in NAMES}
    for s in ("lead_", "trail_"):
        p.update({s + "toe": toe, s + "ankle": ankle, s + "knee": knee, s + "hip": hip})
    q = dict(p)
    q["trail_ankle"] = ankle - [1e-3, 0]  # apart, so that there is a share
    got = ask([line(q)])[0][:2]
    trunk = .497 * .5 * hip
    limb = (got - trunk) / leg
    check(np.allclose(limb, [.817707, .583668], atol=5e-4), "published lower limb (.818, .584): %.4f %.4f" % tuple(limb))
    check(np.allclose(foot, [.93, .0615]), "its foot (.930, .062)")

    path = os.path.join(SHARED, "research", "golden", "06_com.json")
    if not os.path.exists(path):
        count["skipped"] += 1
        print("skipped research pose")
        return
    d = json.load(open(path))
    g = {k: np.array(v) for k, v in d["pose"].items()}
    part = {"sh": "shoulder", "el": "elbow", "wr": "wrist", "hip": "hip", "kn": "knee", "an": "ankle", "to": "toe"}
    pose = {("lead_" if s == "L" else "trail_") + name: g[s + k] for s in "LR" for k, name in part.items()}
    pose["head"], pose["grip"] = g["ear"], (g["Lha"] + g["Rha"]) / 2
    share = ask([line(pose)])[0]
    # Another segment table (de Leva): for simulated poses the choice of table made .001; with the foot
    # from the ankle instead of the heel and one grip for two hands, one point of the hundred is asked.
    want = d["results"]["male"]
    check(abs(share[2] - want["lead_fraction"]) < .01, "research pose: share %.4f, other table %.4f" %
          (share[2], want["lead_fraction"]))
    check(abs(share[0] - want["com"][0]) < .005, "research pose: centre x %.4f, other table %.4f" %
          (share[0], want["com"][0]))


main()
print("weight: %(passed)d passed, %(failed)d failed, %(skipped)d skipped" % count)
sys.exit(1 if count["failed"] else 0)
