#!/usr/bin/python3
"""The order index against numpy quadrature of flat swings, random paths, and the research vectors.

Usage: check_order.py BUILD. Optional research vectors: LEADSIDE_SHARED; skipped when unset.
"""
import json
import os
import subprocess
import sys

import numpy as np

BUILD = sys.argv[1] if len(sys.argv) > 1 else "build"
HERE = os.path.dirname(os.path.abspath(__file__))
SHARED = os.environ.get("LEADSIDE_SHARED") or os.devnull
count = {"passed": 0, "failed": 0, "skipped": 0}


def check(ok, text):
    count["passed" if ok else "failed"] += 1
    print(("ok      " if ok else "FAILED  ") + text)


def ask(lines):
    out = subprocess.run([os.path.join(BUILD, "tests", "external_order")], input="\n".join(lines) + "\n", text=True,
                         capture_output=True, check=True).stdout.split("\n")
    return [float(x) if x not in ("none", "bad") else None for x in out[:-1]]


def row(word, *parts):
    return word + " " + " ".join("%.17g" % x for part in parts for x in np.ravel(part))


def flat(alpha, t):
    """Hands on a plane of slope alpha through the hub (origin), t from the lowest point, backswing toward -X."""
    al = np.radians(alpha)
    return np.stack([-np.sin(t), -np.cos(t) * np.sin(al), np.cos(t) * np.cos(al)], axis=1)


def quadrature(alpha, swing):
    """2 int A dE - 1 in closed variables: azimuth and height as functions of the swing's own angle."""
    t = np.linspace(0, np.radians(swing), 200001)
    al = np.radians(alpha)
    azimuth = np.unwrap(np.arctan2(np.sin(t), np.cos(t) * np.cos(al)))
    a = azimuth / azimuth[-1]
    rise = np.sin(t) / (1 - np.cos(t[-1]))  # dE/dt
    return 2 * np.trapz(a * rise, t) - 1


def flat_swings():
    worst, lines, want = 0.0, [], []
    for alpha in np.arange(35, 61, 5):
        for swing in np.arange(90, 151, 15):
            hands = flat(alpha, np.linspace(0, np.radians(swing), 500))
            lines.append(row("hands", [0, 500, 0, 0, 0], hands))
            want.append(quadrature(alpha, swing))
            lines.append(row("hands", [1, 500, 0, 0, 0], hands[::-1]))
            want.append(want[-1])
    got = ask(lines)
    worst = max(abs(g - w) if g is not None else 9 for g, w in zip(got, want))
    check(worst < 1e-4, "flat swings, slope 35-60, 90-150 deg, both ways: worst %.1e" % worst)
    check(min(want) > .15 and max(want) < .6, "they read %.2f to %.2f" % (min(want), max(want)))
    for swing, text in ((90, .45), (120, .39), (150, .24)):
        value = quadrature(50, swing)
        check(abs(value - text) < .006, "slope 50, %d deg: %.4f (design %.2f)" % (swing, value, text))
    for swing, text in ((90, .34), (120, .34), (150, .24)):
        value = ask([row("hands", [0, 4, 0, 0, 0], flat(50, np.linspace(0, np.radians(swing), 4)))])[0]
        print("note    slope 50, %d deg, four checkpoints evenly spaced: %.3f (design %.2f, spacing unstated)" %
              (swing, value, text))


def random_paths():
    rng = np.random.default_rng(3)
    lines, want = [], []
    for _ in range(500):
        n = rng.integers(3, 60)
        a, e = np.cumsum(rng.normal(.3, 1, n)), np.cumsum(rng.normal(.3, 1, n))
        A, E = (a - a[0]) / (a[-1] - a[0]), (e - e[0]) / (e[-1] - e[0])
        lines.append(row("index", [n], a, e))
        want.append(np.clip(2 * np.trapz(A, E) - 1, -1, 1))
        lines.append(row("oneview", [n], a, e))
        want.append(np.sum(A[:-1] * E[1:] - A[1:] * E[:-1]))
    got = ask(lines)
    worst = max(abs(g - w) / (1 + abs(w)) for g, w in zip(got, want))
    check(worst < 1e-9, "500 random walks, both indices: worst %.1e" % worst)
    line = np.linspace(0, 1, 9)
    check(abs(ask([row("oneview", [9], line * 3, line * -2)])[0]) < 1e-12, "a straight path reads 0 in one view")


def golden():
    path = os.path.join(SHARED, "research", "golden")
    if not os.path.isdir(path):
        count["skipped"] += 2
        print("skipped research vectors, order\nskipped research vectors, one view")
        return
    d = json.load(open(os.path.join(path, "07_order.json")))
    worst, n = 0.0, 0
    for k in d["cases"]:
        a, e = np.array(k["a"]), np.array(k["e"])
        stated = k["Op"]  # the polyline index
        got = ask([row("index", [len(a)], a, e)])[0]
        worst, n = max(worst, abs(got - stated)), n + 1
    check(n > 0 and worst < 1e-9, "research vectors, order: %d cases, worst %.1e" % (n, worst))
    d = json.load(open(os.path.join(path, "17_order_dtl.json")))
    worst = 0.0
    for k in d["cases"]:
        w = np.array(k["hands_world"])
        true = ask([row("oneview", [len(w)], w[:, 1], w[:, 2])])[0]
        image = k["image_levelled"]
        raw = ask([row("oneview", [len(w)], image["right"], image["up"])])[0]
        worst = max(worst, abs(true - k["O_true_projection"]), abs(raw - k["O_raw_perspective"]))
    check(worst < 1e-9, "research vectors, one view: worst %.1e" % worst)


flat_swings()
random_paths()
golden()
print("order: %(passed)d passed, %(failed)d failed, %(skipped)d skipped" % count)
sys.exit(1 if count["failed"] else 0)
