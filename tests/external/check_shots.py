#!/usr/bin/python3
"""What 1 757 real shots of eight golfers say of our default spreads, default errors and flight classes.

Usage: check_shots.py BUILD. Data: LEADSIDE_SHARED/data/caddieset; skipped when absent. Shots and
features: Jung et al. 2025, CVPR Workshops (docs/sources.md). The features were found by a program in pictures.

Repeatability is always that of one golfer with one club in one view (a *cell*): golfers are never pooled into one sample.
The sd within a cell (the standard error of measurement) holds the golfer's own variation AND the error of the program that
found the points, so it is an upper bound on the golfer's. Empty, inf, 0 and spreadsheet errors mean "not found".
"""
import csv
import json
import os
import subprocess
import sys
from collections import Counter

import numpy as np

BUILD = sys.argv[1] if len(sys.argv) > 1 else "build"
HERE = os.path.dirname(os.path.abspath(__file__))
ROOT = os.path.join(HERE, "..", "..")
SHARED = os.environ.get("LEADSIDE_SHARED") or os.devnull
SHOTS = os.path.join(SHARED, "data", "caddieset", "CaddieSet.csv")
count = {"passed": 0, "failed": 0, "skipped": 0}

# The import table: the only place that knows the names of that file. Ours on the left.
# ours: (view, function of columns, columns, how far the two can be compared)
#   same        the authors say what it is, and it is our measure or its complement: sizes compare
#   plausible   no formula is given; its values fit ours (a constant offset does not change a spread)
#   unit        the kind of thing is ours but its unit is not given: only the order of magnitude compares
ANGLE = lambda x: 180 - x  # a joint's angle to our bend
IMPORT = {
    "spine_tilt@address": ("DTL", lambda x: 90 - x, ["0-SPINE-ANGLE"], "plausible"),
    "knee_flex@address": ("DTL", ANGLE, ["0-LOWER-ANGLE"], "plausible"),
    "shoulder_plane@top": ("DTL", lambda x: x, ["3-SHOULDER-ANGLE"], "same"),
    "spine_change@impact": ("DTL", lambda a, b: a - b, ["0-SPINE-ANGLE", "5-SPINE-ANGLE"], "plausible"),
    "lead_elbow_bend@impact": ("FACEON", ANGLE, ["5-LEFT-ARM-ANGLE"], "same"),
    "lead_elbow_bend@shaft_through": ("FACEON", ANGLE, ["6-LEFT-ARM-ANGLE"], "same"),
    "head_shift@top": ("FACEON", lambda x: x, ["3-HEAD-LOC"], "unit"),
    "pelvis_shift@arm_back": ("FACEON", lambda x: x, ["2-HIP-SHIFTED"], "unit"),
    "pelvis_shift@impact": ("FACEON", lambda x: x, ["5-HIP-SHIFTED"], "unit"),
}
TILT_AT = {"address": "0-SPINE-ANGLE", "shaft_back": "1-SPINE-ANGLE", "arm_down": "4-SPINE-ANGLE"}
TRAIL_ARM_TOP = ("DTL", "3-RIGHT-ARM-ANGLE")
LEAD_HIP_SHARE = ("4-HIP-HANGING-BACK", "5-HIP-HANGING-BACK")  # lead ankle to lead hip, in stance widths (authors' words)
HIP_SHIFT = ("4-HIP-SHIFTED", "5-HIP-SHIFTED")
STANCE_IN_SHOULDERS = "0-STANCE-RATIO"
BALL = {"direction": "DirectionAngle", "axis": "SpinAxis", "back": "SpinBack", "side": "SpinSide", "landing": "LrDistanceOut",
        "carry": "Carry"}
CLUBS = {"W1": ("wood", 13, 0.20), "W3": ("wood", 16, 0.21), "I4": ("iron", 20, 0.25), "I5": ("iron", 22, 0.255),
         "I6": ("iron", 25, 0.26), "I7": ("iron", 28, 0.268), "I8": ("iron", 32, 0.275), "I9": ("iron", 36, 0.28)}
CELL_MIN = 20  # an sd from 20 shots is known to about 16 %


def check(ok, text):
    count["passed" if ok else "failed"] += 1
    print(("ok      " if ok else "FAILED  ") + text)


def number(text):
    try:
        value = float(text)
    except ValueError:
        return np.nan
    return value if np.isfinite(value) else np.nan


class Shots:
    def __init__(self, path):
        with open(path, newline="", encoding="utf-8-sig") as file:
            self.rows = list(csv.DictReader(file))
        self.view = np.array([r["View"] for r in self.rows])
        self.golfer = np.array([r["GolferId"] for r in self.rows])
        self.club = np.array([r["ClubType"] for r in self.rows])

    def ball(self, what):
        return np.array([number(r[BALL[what]]) for r in self.rows])

    def feature(self, name):
        raw = np.array([number(r[name]) for r in self.rows])
        return np.where(raw == 0, np.nan, raw)

    def ours(self, measure):
        view, formula, columns, _ = IMPORT[measure]
        return np.where(self.view == view, formula(*[self.feature(c) for c in columns]), np.nan)

    def cells(self, values, least=CELL_MIN):
        """(golfer, club) -> the values found, of cells that hold enough of them."""
        out = {}
        for key in sorted(set(zip(self.golfer, self.club))):
            v = values[(self.golfer == key[0]) & (self.club == key[1]) & np.isfinite(values)]
            if len(v) >= least:
                out[key] = v
        return out


def robust(v):
    """Sd from the middle 80 %: unmoved by a tenth of wild values on each side; the joint angles come in steps too coarse
    for a median deviation."""
    return (np.percentile(v, 90) - np.percentile(v, 10)) / 2.563


def pooled(cells, sd):
    return np.sqrt(sum((len(v) - 1) * sd(v) ** 2 for v in cells.values()) / sum(len(v) - 1 for v in cells.values()))


def defaults():
    with open(os.path.join(ROOT, "server", "standard", "default.json"), encoding="utf-8") as file:
        standard = json.load(file)
    return {f"{s['measure']}@{s.get('checkpoint')}": s["sd"] for s in standard["spread"]}


def errors():
    """Our random error of one swing marked by hand with the default 3 px, and the systematic one, of a sample document."""
    out = subprocess.run([os.path.join(BUILD, "leadside"), "score", os.path.join(ROOT, "tests", "data", "two_views.json"),
                          "--json"], capture_output=True, text=True, check=True).stdout
    return {f"{m['measure']}@{m['checkpoint']}": (m["sd_random"], m["sd_systematic"]) for m in json.loads(out)["measures"]}


def check_import(shots):
    views = Counter(shots.view)
    check(len(shots.rows) == 1757 and views == {"FACEON": 924, "DTL": 833}, f"imported {len(shots.rows)} shots, {dict(views)}")
    check(len(set(shots.golfer)) == 8 and set(shots.club) <= set(CLUBS), "eight golfers, every club known")
    lost = {m: 1 - np.isfinite(shots.ours(m)[shots.view == IMPORT[m][0]]).mean() for m in IMPORT}
    print("  not found: " + ", ".join(f"{m} {s:.1%}" for m, s in lost.items()))
    check(max(lost.values()) < 0.25, f"no more than a quarter of any feature is missing ({max(lost.values()):.1%})")
    # A cosine kept to two places: near a straight joint the steps are 8.1, 3.4, 2.6 degrees.
    for measure in ("knee_flex@address", "lead_elbow_bend@impact"):
        cosine = 100 * np.cos(np.radians(shots.ours(measure)[np.isfinite(shots.ours(measure))]))
        steps = np.mean(np.abs(cosine - np.round(cosine)) < 0.02)
        check(steps > 0.98, f"{measure}: {steps:.1%} lie on steps of 0.01 of a cosine: nothing under 3 degrees is readable")


def unit_of_shift(shots):
    """Stance widths in one unit of their hip shift: while the hips slide from arm_down to impact, their hip-to-ankle
    distance, which is in stance widths, falls. The lead hip also turns back, so this is a rough reading."""
    slide = shots.feature(HIP_SHIFT[1]) - shots.feature(HIP_SHIFT[0])
    share = shots.feature(LEAD_HIP_SHARE[0]) - shots.feature(LEAD_HIP_SHARE[1])
    ratios = [np.median(share[m]) / np.median(slide[m]) for m in
              ((shots.golfer == g) & (shots.club == c) & np.isfinite(slide) & np.isfinite(share)
               for g, c in shots.cells(slide)) if m.sum() >= CELL_MIN]
    return float(np.median(ratios)), min(ratios), max(ratios)


def check_repeatability(shots):
    spread, error = defaults(), errors()
    stance, low, high = unit_of_shift(shots)
    shoulders = float(np.nanmedian(np.where(shots.view == "FACEON", shots.feature(STANCE_IN_SHOULDERS), np.nan)))
    print(f"  one unit of their shifts is about {stance:.2f} stance widths ({low:.2f} to {high:.2f} by cell), the stance "
          f"{shoulders:.2f} shoulder widths")
    check(0.2 < stance < 0.6, "that unit is about the width of the hips, as a shift would be scaled")
    scale = {"head_shift@top": stance * shoulders, "pelvis_shift@arm_back": stance, "pelvis_shift@impact": stance}
    print("  repeatability within golfer, club and view (>= 20 found); wild = beyond 5 robust sd of the cell's median")
    print(f"  {'measure':30s} {'compares':9s} cells    n | pooled sd  robust: least  median   most | wild | our spread  "
          "random  sys | seen / expected")
    ratios = {}
    for measure, (_, _, _, how) in IMPORT.items():
        cells = shots.cells(shots.ours(measure) * scale.get(measure, 1))
        sds = np.array([robust(v) for v in cells.values()])
        wild = np.mean(np.concatenate([np.abs(v - np.median(v)) > 5 * max(robust(v), 1e-9) for v in cells.values()]))
        own, (random, systematic) = spread[measure], error[measure]
        expected = np.hypot(own, random)
        ratios[measure] = np.median(sds) / expected
        print(f"  {measure:30s} {how:9s} {len(cells):5d} {sum(map(len, cells.values())):4d} | {pooled(cells, lambda v: v.std(ddof=1)):9.3g}"
              f"  {sds.min():13.3g} {np.median(sds):7.3g} {sds.max():6.3g} | {wild:4.1%} | {own:10.3g} {random:7.3g} {systematic:4.2g}"
              f" | {ratios[measure]:.1f}")
        # What was seen holds the golfer's own variation, so the spread of a typical player can't be above the typical
        # cell's. Where the unit is known it is below the quietest golfer's too (16 %: the sampling error of an sd from 20
        # shots); a shift in a unit that is only inferred, to 40 %, can't be held to that.
        check(own <= np.median(sds), f"{measure}: our spread {own:g} is not above what was seen in the median cell, {np.median(sds):.3g}")
        if how != "unit":
            check(own <= 1.16 * sds.min(), f"{measure}: nor above the quietest golfer's {sds.min():.3g}")
    for golfer_table in ("spine_tilt@address", "lead_elbow_bend@impact", "pelvis_shift@impact"):
        cells = shots.cells(shots.ours(golfer_table) * scale.get(golfer_table, 1))
        print(f"  {golfer_table} by golfer/club: " + ", ".join(f"{g}/{c} {robust(v):.2g}" for (g, c), v in cells.items()))
    # Seen over expected: an automatic finder is noisier than 3 px by hand, and its steps add; more than 5 would mean that
    # our defaults miss what really happens, less than 1 that they claim more scatter than there was.
    check(min(ratios.values()) >= 1 and max(ratios.values()) <= 5,
          f"what was seen is 1 to 5 times our spread and marking error together ({min(ratios.values()):.1f} to {max(ratios.values()):.1f})")


def check_shared(shots):
    """The part of the forward bend's variation that two pictures of the same swing share is not a finder's error, if the
    finder errs anew in every picture: it is the golfer's, and the camera's from one session to another."""
    spread = defaults()["spine_tilt@address"]
    series = {at: np.where(shots.view == "DTL", shots.feature(name), np.nan) for at, name in TILT_AT.items()}
    shared = {}
    for other in ("shaft_back", "arm_down"):
        total, n = 0.0, 0
        for golfer, club in shots.cells(series["address"]):
            m = (shots.golfer == golfer) & (shots.club == club) & np.isfinite(series["address"]) & np.isfinite(series[other])
            a, b = series["address"][m], series[other][m]
            keep = (np.abs(a - np.median(a)) < 4 * robust(a)) & (np.abs(b - np.median(b)) < 4 * robust(b))
            total += np.cov(a[keep], b[keep])[0, 1] * (keep.sum() - 1)
            n += keep.sum() - 1
        shared[other] = np.sqrt(max(total / n, 0))
    print("  forward bend: sd shared by address and " + ", ".join(f"{k} {v:.2f} deg" for k, v in shared.items()) + f"; our spread {spread}")
    # If the shared part were below our spread, the spread would be too wide; above it by more than twice, the habit of a
    # player would be judged too surely even if half of the shared part were the camera's.
    check(all(spread <= s <= 2 * spread for s in shared.values()), "our spread of the forward bend is at most what two "
          "pictures of one swing share, and at least half of it")


def unit(right, up):
    right, up = np.radians(right), np.radians(up)
    return np.array([np.cos(up) * np.cos(right), np.sin(up), np.cos(up) * np.sin(right)])


def impact(path, face, attack, loft, head, restitution=0.8, ball=0.04593):
    """Start direction and spin-axis tilt of a rigid ball that rolls on the face: impulses along and across the face, the
    spin from the moment of the one across. Not the formula of core: no fixed share, no cross product of path and face."""
    club, normal = unit(path, attack), unit(face, loft)
    into = club @ normal
    across = club - into * normal
    velocity = normal * into * (1 + restitution) / (1 + ball / head) + across / (1 + ball / head + 2.5)
    spin = np.cross(-normal, across)  # from the ball's middle to the face, times the push that the face gives
    start = np.degrees(np.arctan2(velocity[2], velocity[0]))
    back = spin @ np.cross(unit(start, 0), [0, 1, 0])  # backspin, about the level axis to the right of the flight
    return start, np.degrees(np.arctan2(-spin[1], back))


def invert(direction, tilt, attack, loft, head):
    """Path and face that give this start and this tilt, by Newton's method; None when there are none within 45 degrees."""
    at = np.array([direction, direction])
    at[1] += np.degrees(np.arctan(np.tan(np.radians(tilt)) * np.sin(np.radians(loft - attack))))
    for _ in range(60):
        miss = np.array(impact(*at, attack, loft, head)) - [direction, tilt]
        if np.abs(miss).max() < 1e-9:
            return at if np.abs(at).max() <= 45 else None
        slope = np.empty((2, 2))
        for k in range(2):
            step = at.copy()
            step[k] += 1e-5
            slope[:, k] = (np.array(impact(*step, attack, loft, head)) - [direction, tilt] - miss) / 1e-5
        move = np.linalg.solve(slope, miss)
        at -= move * min(1, 5 / np.abs(move).max())
    return None


def side(values, band):
    return np.where(np.abs(values) <= band, 0, np.sign(values)).astype(int)


def check_columns(shots):
    """What the signs mean. The paper gives no convention; three columns must tell one story. All eight are right-handed:
    the arm that the authors call right is the folded one at the top. So + is right, as is usual, and nothing is mirrored;
    the data can't prove the side itself, only that the columns share it."""
    axis, direction, landing, carry = (shots.ball(k) for k in ("axis", "direction", "landing", "carry"))
    tilt = np.degrees(np.arctan2(shots.ball("side"), shots.ball("back")))
    check(np.abs(axis - tilt).max() < 1e-6, "the spin axis is atan2(side spin, back spin) throughout")
    folded = [np.nanmedian(np.where(shots.view == TRAIL_ARM_TOP[0], shots.feature(TRAIL_ARM_TOP[1]), np.nan)[shots.golfer == g])
              for g in sorted(set(shots.golfer))]
    check(max(folded) < 110, f"every golfer folds the right arm at the top (median angle {min(folded):.0f} to {max(folded):.0f}): right-handers")
    bend = landing - carry * np.sin(np.radians(direction))
    clear = np.abs(axis) > 4
    agree = np.mean(np.sign(bend[clear]) == np.sign(axis[clear]))
    check(agree >= 0.98, f"the ball bends to the side of the axis's sign: {agree:.4f} of {clear.sum()} shots tilted over 4 deg")
    true = (np.abs(axis) <= 2) & (np.abs(direction) > 2)
    agree = np.mean(np.sign(landing[true]) == np.sign(direction[true]))
    check(agree >= 0.98, f"it lands on the side of the direction's sign: {agree:.4f} of {true.sum()} shots with next to no tilt")


def ask(lines):
    out = subprocess.run([os.path.join(BUILD, "tests", "external_shots")], input="\n".join(lines) + "\n", text=True,
                         capture_output=True, check=True).stdout.splitlines()
    word = {"left": -1, "straight": 0, "right": 1, "-": 9}
    rows = [line.split() for line in out]
    return np.array([word[r[0]] for r in rows]), np.array([word[r[1]] for r in rows])


def check_classes(shots):
    """The file has no path and no face. They are found by inverting another model of impact, with a loft, an attack and a
    head of each shot's own that core is not told (or only the loft): core's fixed share and usual lofts must still say the
    ball's side. An off-centre strike tilts the axis without path or face; its sign is then explained by a made-up face."""
    rng = np.random.default_rng(17)
    axis, direction, landing = shots.ball("axis"), shots.ball("direction"), shots.ball("landing")
    lines, told, kept = [], [], []
    for i, name in enumerate(shots.club):
        club, loft, head = CLUBS[name]
        loft += rng.normal(0, 2)
        attack = rng.normal(0 if club == "wood" else -3, 2)
        at = invert(direction[i], axis[i], attack, loft, head)
        if at is not None:
            kept.append(i)
            told.append(f"{club} flush {at[0]:.9f} {at[1]:.9f} {attack:.9f} {loft:.9f}")
            lines.append(f"{club} flush {at[0]:.9f} {at[1]:.9f} - -")
    kept = np.array(kept)
    lost = len(axis) - len(kept)
    check(lost <= 0.02 * len(axis), f"{lost} shots left out because no path and face within 45 deg explain them")
    straight = {"start": int((np.abs(direction) <= 2).sum()), "curve": int((np.abs(axis) <= 4).sum())}
    print(f"  excluded as straight by our bands: {straight['start']} within 2 deg of direction, {straight['curve']} within 4 deg of tilt: a "
          "sign there is inside what a launch monitor and a coach's eye can tell")
    for what, given in (("loft and attack told", told), ("club only", lines)):
        start, curve = ask(given)
        for name, seen, values, band in (("start", start, direction[kept], 2), ("curve", curve, axis[kept], 4)):
            truth = side(values, band)
            out = truth != 0
            called = out & (seen != 0)
            sign = np.mean(seen[called] == truth[called])
            whole = np.mean(seen[out] == truth[out])
            print(f"  {what}, {name}: {out.sum()} shots outside the band; {called.sum()} called left or right, of these {sign:.4f} rightly; "
                  f"{np.mean(seen[out] == 0):.3f} called straight; {np.mean(seen[~out] == 0):.3f} of those inside the band called straight")
            check(sign >= 0.98 and called.sum() >= 500, f"{name}, {what}: left or right agrees with the sign of the column ({sign:.4f})")
            if what != "club only":
                check(whole >= 0.98, f"{name}, {what}: the class agrees, straight counted as wrong ({whole:.4f})")
    start, curve = ask(told)
    # The outcome, which no step above has used: a ball that starts and curves to one side, or does one of the two, lands there.
    sure = (start + curve != 0) & (start * curve >= 0)
    lands = np.sign(landing[kept])
    agree = np.mean(lands[sure] == np.sign(start + curve)[sure])
    print(f"  where it lands: {sure.sum()} shots whose start and curve do not oppose, {agree:.4f} land on that side")
    both = sure & (start * curve > 0)
    check(both.sum() >= 200 and np.mean(lands[both] == start[both]) >= 0.98,
          f"starts and curves to one side: {np.mean(lands[both] == start[both]):.4f} of {both.sum()} land there")
    one = sure & (start != 0) & (curve == 0)
    check(one.sum() >= 100 and np.mean(lands[one] == start[one]) >= 0.95,
          f"starts to one side without curve: {np.mean(lands[one] == start[one]):.4f} of {one.sum()} land there")


def main():
    if not os.path.exists(SHOTS):
        print("skipped: no shots of others (LEADSIDE_SHARED)")
        count["skipped"] += 1
    else:
        shots = Shots(SHOTS)
        check_import(shots)
        check_repeatability(shots)
        check_shared(shots)
        check_columns(shots)
        check_classes(shots)
    print(f"shots: {count['passed']} passed, {count['failed']} failed, {count['skipped']} skipped")
    return 1 if count["failed"] else 0


if __name__ == "__main__":
    sys.exit(main())
