#!/usr/bin/python3
"""Filter, gaps, peaks, planes and turns against scipy, numpy and the research vectors.

Usage: check_series.py BUILD. Optional research vectors: LEADSIDE_SHARED; skipped when unset.
"""
import json
import os
import subprocess
import sys

import numpy as np
from scipy import interpolate, signal
from scipy.spatial.transform import Rotation

BUILD = sys.argv[1] if len(sys.argv) > 1 else "build"
HERE = os.path.dirname(os.path.abspath(__file__))
SHARED = os.environ.get("LEADSIDE_SHARED") or os.devnull
DUAL = (np.sqrt(2) - 1) ** .25
count = {"passed": 0, "failed": 0, "skipped": 0}
rng = np.random.default_rng(11)


def check(ok, text):
    count["passed" if ok else "failed"] += 1
    print(("ok      " if ok else "FAILED  ") + text)


def ask(lines):
    out = subprocess.run([os.path.join(BUILD, "tests", "external_series")], input="\n".join(lines) + "\n", text=True,
                         capture_output=True, check=True).stdout.split("\n")[:-1]
    assert len(out) == len(lines) and "bad" not in out, "the driver did not understand"
    return [None if x == "none" else np.array(x.split(), float) for x in out]


def row(word, *parts):
    return word + " " + " ".join("%.17g" % x for part in parts for x in np.ravel(part))


def coefficients(fc, fs):
    """scipy's own 2nd-order Butterworth at the corner that a dual pass turns into fc."""
    warped = np.tan(np.pi * fc / fs) / DUAL
    return signal.butter(2, np.arctan(warped) * 2 / np.pi)


def pad_of(fc, fs, n):
    return min(n - 1, max(9, int(np.ceil(fs / fc))))


def filtered(fc, fs, x):
    b, a = coefficients(fc, fs)
    return signal.filtfilt(b, a, x, axis=0, padtype="odd", padlen=pad_of(fc, fs, len(x)))


PAIRS = [(fc, fs) for fs in (60, 100, 120, 240, 360, 500, 1000) for fc in (6, 10, 12, 20, 26, 40) if fc < .45 * fs]


def designs():
    got = ask([row("design", [fc, fs]) for fc, fs in PAIRS])
    worst = noise = gain = 0.0
    for (fc, fs), d in zip(PAIRS, got):
        b, a = coefficients(fc, fs)
        worst = max(worst, np.abs(d[:5] - [*b, *a[1:]]).max(), abs(d[5] - max(9, np.ceil(fs / fc))))
        w, h = signal.freqz(d[:3], [1, d[3], d[4]], worN=[2 * np.pi * fc / fs])
        gain = max(gain, abs(abs(h[0]) ** 2 - np.sqrt(.5)))
        impulse = np.zeros(8001)
        impulse[4000] = 1
        noise = max(noise, abs(d[6] - np.sqrt((signal.filtfilt(b, a, impulse) ** 2).sum())))
    check(worst < 1e-13, "%d designs against scipy.signal.butter, 60-1000 Hz, 6-40 Hz: worst %.1e" % (len(PAIRS), worst))
    check(gain < 1e-9, "gain of the dual pass at the corner is 1/sqrt 2: worst %.1e" % gain)
    check(noise < 1e-9, "what white noise leaves, against scipy's impulse response: worst %.1e" % noise)
    refused = ask([row("design", x) for x in ([0, 100], [-1, 100], [45, 100], [60, 100], [10, 0])])
    check(all(x is None for x in refused), "corners of no use are refused")


def filters():
    lines, want = [], []
    for fc, fs in PAIRS:
        for n in (4, 5, 9, 10, 21, 60, 300):
            t = np.arange(n) / fs
            for x in (np.cumsum(rng.normal(0, .02, (n, 3)), 0) + 5, rng.normal(0, 1, (n, 3)),
                      np.stack([np.sin(7 * t) + 3 * t, np.full(n, 2.5), np.sign(t - t[n // 2])], 1)):
                lines += [row("filter3", [fc, fs, n], x)] + [row("filter", [fc, fs, n], x[:, k]) for k in range(3)]
                y = filtered(fc, fs, x)
                want += [y.ravel(), y[:, 0], y[:, 1], y[:, 2]]
    worst = max(np.abs(g - w).max() for g, w in zip(ask(lines), want))
    check(worst < 1e-9, "%d filterings, one and three channels, against scipy.signal.filtfilt: worst %.1e" % (
        len(lines), worst))
    got = ask([row("filter", [10, 240, n], np.arange(n) ** 2) for n in (1, 2, 3)])
    check(all((g == np.arange(n) ** 2).all() for n, g in zip((1, 2, 3), got)), "fewer than 4 samples stay as they are")


def long_sine():
    """A sine at the corner, many whole periods: gain and phase from its middle by projection."""
    worst = lag = 0.0
    for fc, fs in ((12, 240), (20, 240), (10, 500), (6, 120)):
        for f, gain in ((fc, np.sqrt(.5)), (fc / 2, None), (2 * fc, None)):
            n = int(fs * 20)
            angle = 2 * np.pi * f * np.arange(n) / fs
            y = ask([row("filter", [fc, fs, n], np.sin(angle))])[0]
            middle = slice(n // 4, 3 * n // 4)  # a whole number of periods
            inner = np.vdot(np.exp(1j * angle[middle]), y[middle]) * 2 / (n // 2)
            lag = max(lag, abs(np.angle(inner * 1j)))
            if gain:
                worst = max(worst, abs(abs(inner) - gain))
    check(worst < 1e-9, "a long sine at the corner keeps 1/sqrt 2: worst %.1e" % worst)
    check(lag < 1e-9, "zero lag: worst phase %.1e rad" % lag)


def step_at_impact():
    """A clubhead's place along its path: speed rises to 45 m/s at impact, then is 31."""
    worst, through = 0.0, 9.0
    for fs in (240, 500, 1000):
        for phase in (0, .3, .7):
            t = (np.arange(int(.9 * fs)) + phase) / fs - .6
            rising = 45 / (1 + np.exp(-(t + .12) / .03))
            before = 45 * .03 * np.log1p(np.exp((t + .12) / .03))
            at_zero = 45 * .03 * np.log1p(np.exp(.12 / .03))
            x = np.where(t < 0, before, at_zero + 31 * t)
            last = int(np.flatnonzero(t < 0)[-1])
            part = x[:last + 1]
            cut = ask([row("filter", [20, fs, len(part)], part)])[0]
            speed = fs * np.gradient(cut, edge_order=2)[-1]
            whole = ask([row("filter", [20, fs, len(x)], x)])[0]
            leaked = fs * np.gradient(whole, edge_order=2)[last]
            worst = max(worst, abs(speed / rising[last] - 1))
            through = min(through, abs(leaked / rising[last] - 1))
    check(worst < .01, "cut at the last frame before impact: speed there within 1 %%: worst %.2f %%" % (100 * worst))
    check(through > .01, "filtered through the impact it would be wrong by at least %.1f %%" % (100 * through))


def gaps():
    lines, want = [], []
    for _ in range(400):
        n, longest = int(rng.integers(1, 40)), int(rng.integers(1, 8))
        seen = rng.random(n) < rng.choice([.3, .7, .95])
        x = np.where(seen, np.cumsum(rng.normal(0, 1, n)), 777)
        y, missing, at = x.copy(), int(n - seen.sum()), np.flatnonzero(seen)
        for left, right in zip(at[:-1], at[1:]):
            if 1 < right - left <= longest + 1:
                k = np.searchsorted(at, left)
                nodes = at[max(0, k - 1):k + 3]
                inside = np.arange(left + 1, right)
                y[inside] = interpolate.BarycentricInterpolator(nodes, x[nodes])(inside)
                missing -= len(inside)
        lines.append(row("fill", [longest, n], seen, x))
        want.append(np.append(y, missing))
    worst = max(np.abs(g - w).max() for g, w in zip(ask(lines), want))
    check(worst < 1e-9, "400 records with gaps against scipy's polynomial through the neighbours: worst %.1e" % worst)


def peaks():
    worst_time = worst_height = 0.0
    for centre in np.linspace(.45, .55, 21):
        for width in (.03, .045, .06):
            t = np.arange(240) / 240
            y = 900 * np.exp(-.5 * ((t - centre) / width) ** 2)
            k = int(ask([row("peak", [90, 240], y)])[0][0])
            offset, value = ask([row("parabola", y[k - 1:k + 2])])[0]
            fine = np.linspace(t[0], t[-1], 400001)
            dense = interpolate.CubicSpline(t, y)(fine)
            worst_time = max(worst_time, abs((k + offset) / 240 - fine[dense.argmax()]))
            worst_height = max(worst_height, abs(value / dense.max() - 1))
    check(worst_time < 2e-4, "pulse tops against a dense spline: worst %.3f ms" % (1e3 * worst_time))
    check(worst_height < 1e-3, "their heights: worst %.1e" % worst_height)
    lines, want = [], []
    for _ in range(500):
        n = int(rng.integers(1, 60))
        y = np.round(np.cumsum(rng.normal(0, 1, n)), 1)
        prominence = rng.choice([.1, .5, 1, 3])
        fits = [i for i in range(1, n - 1) if y[i] - y[:i].min() >= prominence and y[i] - y[i + 1:].min() >= prominence]
        lines.append(row("peak", [prominence, n], y))
        want.append(max(fits, key=lambda i: (y[i], -i)) if fits else -1)
    got = [int(g[0]) for g in ask(lines)]
    check(got == want and -1 in want and max(want) > 5, "500 random walks: the highest prominent sample by brute force")


def planes():
    worst = rms = 0.0
    for _ in range(300):
        n = int(rng.integers(3, 60))
        spread = np.array([1, rng.uniform(.05, .9), rng.uniform(1e-7, .03)])
        p = rng.normal(0, 1, (n, 3)) * spread @ Rotation.random(random_state=int(rng.integers(1 << 30))).as_matrix().T
        p += rng.normal(0, 2, 3)
        g = ask([row("plane", [n], p)])[0]
        centred = p - p.mean(0)
        normal = np.linalg.svd(centred, full_matrices=True)[2][2]
        normal = normal * np.sign(normal[1])
        line = np.cross(normal, [0, 1, 0])  # where it meets the ground
        line *= np.sign(line[0])
        worst = max(worst, np.abs(g[:3] - p.mean(0)).max(), np.abs(g[3:6] - normal).max(),
                    abs(g[6] - np.degrees(np.arccos(normal[1]))), abs(g[7] - np.degrees(np.arctan2(line[2], line[0]))))
        rms = max(rms, abs(g[8] - np.sqrt(((centred @ normal) ** 2).mean())))
    check(worst < 1e-6, "300 planes against numpy's SVD: worst %.1e (m, deg)" % worst)
    check(rms < 1e-12, "their residuals: worst %.1e m" % rms)


def turns():
    worst = 0.0
    for angle in np.concatenate((rng.uniform(0, 3.1, 300), [0, 1e-9, 1e-6, np.radians(179.9)])):
        before = Rotation.random(random_state=int(rng.integers(1 << 30)))
        axis = rng.normal(0, 1, 3)
        turn = Rotation.from_rotvec(axis / np.linalg.norm(axis) * angle)
        g = ask([row("turn", [.01], before.as_matrix().T, (turn * before).as_matrix().T)])[0]
        worst = max(worst, np.abs(g * .01 - turn.as_rotvec()).max())
    check(worst < 1e-9, "304 turns up to 179.9 deg against scipy's rotation vectors: worst %.1e rad" % worst)
    worst = 0.0
    for _ in range(200):
        right, up = rng.normal(0, 1, 3), rng.normal(0, 1, 3)
        q, r = np.linalg.qr(np.stack((right, up), 1))
        z, y = q[:, 0] * np.sign(r[0, 0]), q[:, 1] * np.sign(r[1, 1])
        worst = max(worst, np.abs(ask([row("frame", right, up)])[0] - np.concatenate((np.cross(y, z), y, z))).max())
    check(worst < 1e-9, "200 segment frames against numpy's QR: worst %.1e" % worst)


def from_left_up(v):
    """The research vectors' axes (X target, Y left, Z up) to ours."""
    v = np.asarray(v, float)
    return np.stack((v[..., 0], v[..., 2], -v[..., 1]), -1)


def golden_filters(load):
    cases = load("01_filter")["cases"]
    used = [c for c in cases if c["two_pass_correction"] not in ("none", None) and
            abs(c["b"][0] - coefficients(c["fc"], c["fs"])[0][0]) < 1e-12]
    shape = max(np.abs(ask([row("design", [c["fc"], c["fs"]])])[0][:5] - [*c["b"], *c["a"][1:]]).max() for c in used)
    check(len(used) >= 3 and shape < 1e-12, "research vectors, coefficients: %d cases, worst %.1e" % (len(used), shape))
    d = load("16_filter_padlen")
    c = [c for c in d["cases"] if c["padlen"] == pad_of(d["fc"], d["fs"], len(d["x"]))]
    y = ask([row("filter", [d["fc"], d["fs"], len(d["x"])], d["x"])])[0]
    check(len(c) == 1 and np.abs(y - c[0]["y"]).max() < 1e-9, "research vectors, pad of fs/fc")


def golden_geometry(load):
    worst, n = 0.0, 0
    for c in load("02_plane")["cases"]:
        p = from_left_up(c["points"])
        g = ask([row("plane", [len(p)], p)])[0]
        worst, n = max(worst, abs(g[6] - c["slope_deg"]), abs(g[7] - c["direction_deg_right_of_target"]),
                       abs(g[8] - c["rms"]), np.abs(g[3:6] - from_left_up(c["normal_up"])).max()), n + 1
    check(n == 3 and worst < 1e-6, "research vectors, planes: %d, worst %.1e" % (n, worst))
    d = load("03_omega")
    r = np.array(d["R"])
    got = ask([row("turn", [2 / d["fs"]], r[i - 1].T, r[i + 1].T) for i in range(1, len(r) - 1)])
    worst = np.abs(np.array(got) - d["omega_log_central"]).max()
    check(worst < 1e-9, "research vectors, turning: worst %.1e rad/s" % worst)


def golden_peaks_and_gap(load):
    d = load("04_peaks")
    worst, times = 0.0, {}
    for name, s in d["segments"].items():
        y = np.array(s["y"])
        k = int(ask([row("peak", [.1 * np.ptp(y), len(y)], y)])[0][0])
        offset, value = ask([row("parabola", y[k - 1:k + 2])])[0]
        times[name] = k + offset
        worst = max(worst, abs(k - s["peak_index"]), abs(offset - s["delta"]), abs(value - s["y_refined"]))
    check(worst < 1e-9 and sorted(times, key=times.get) == d["order"], "research vectors, peaks: worst %.1e" % worst)
    d = load("08_gapfill")
    seen = np.ones(len(d["y"]))
    seen[d["missing"]] = 0
    g = ask([row("fill", [len(d["missing"]), len(seen)], seen, np.where(seen, d["y"], 0))])[0]
    filled = g[:-1][d["missing"]]
    worst = np.abs(filled - d["lagrange4_two_each_side"]).max()
    check(worst < 1e-9 and g[-1] == 0, "research vectors, gap: worst %.1e" % worst)
    ours, monotone = np.abs(filled - d["truth"]).max(), np.abs(np.array(d["pchip"]) - d["truth"]).max()
    check(ours < 5e-4 < monotone, "its error %.1e; a monotone cubic's %.1e" % (ours, monotone))


def golden():
    path = os.path.join(SHARED, "research", "golden")
    if not os.path.isdir(path):
        for name in ("coefficients", "pad", "planes", "turning", "peaks", "gap", "gap's error"):
            count["skipped"] += 1
            print("skipped research vectors, " + name)
        return
    def load(name):
        with open(os.path.join(path, name + ".json")) as file:
            return json.load(file)
    golden_filters(load)
    golden_geometry(load)
    golden_peaks_and_gap(load)


for part in (designs, filters, long_sine, step_at_impact, gaps, peaks, planes, turns, golden):
    part()
print("series: %(passed)d passed, %(failed)d failed, %(skipped)d skipped" % count)
sys.exit(1 if count["failed"] else 0)
