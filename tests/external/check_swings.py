#!/usr/bin/python3
"""Five real swings of one right-hander, body only, 120 Hz (TRC): `leadside score` against readings made here with scipy,
and both against an independent reading that came with the data.

Usage: check_swings.py BUILD. Data: LEADSIDE_SHARED/data/cmu64; skipped when absent. The data
were obtained from mocap.cs.cmu.edu; the database was created with funding from NSF EIA-0196217.

Three parties: the program, this file (scipy.signal, no code shared with core), and REFERENCE. When two disagree the printed
line shows all three, so it is seen which one moved.
"""
import json
import os
import re
import subprocess
import sys
import tempfile

import numpy as np
from scipy.signal import butter, filtfilt

BUILD = sys.argv[1] if len(sys.argv) > 1 else "build"
HERE = os.path.dirname(os.path.abspath(__file__))
SHARED = os.environ.get("LEADSIDE_SHARED") or os.devnull
SWINGS = os.path.join(SHARED, "data", "cmu64")
count = {"passed": 0, "failed": 0, "skipped": 0}

# The reading that came with the data: 12 Hz zero-lag filter, hub = mid-shoulder.
REFERENCE = {
    "64_01": {"order_back": .68, "order_down": .48, "down_s": .62, "back_s": .94, "chest": 78, "pelvis": 47, "peak": 4.9},
    "64_02": {"order_back": .61, "order_down": .43, "down_s": .60, "back_s": 1.02, "chest": 81, "pelvis": 47, "peak": 5.6},
    "64_03": {"order_back": .48, "order_down": .45, "down_s": .53, "back_s": 1.09, "chest": 80, "pelvis": 47, "peak": 5.8},
    "64_04": {"order_back": .54, "order_down": .50, "down_s": .46, "back_s": .86, "chest": 77, "pelvis": 36, "peak": 6.0},
    "64_05": {"order_back": .70, "order_down": .53, "down_s": .53, "back_s": .88, "chest": 74, "pelvis": 36, "peak": 5.2},
}
# As asked of that reading: times .06 s, turns 6 deg, order .12; a peak speed is printed to .1 and our two filters agree to 1 %.
TOLERANCE = {"order_back": .12, "order_down": .12, "down_s": .06, "back_s": .06, "chest": 6, "pelvis": 6, "peak": .15}
# Against this file's reading the definitions are the same, only the filter's ends and sub-frame steps differ, and core looks for
# the start on from the last still sample: a frame and a half of time, a degree, .03 of order.
CLOSE = {"order_back": .03, "order_down": .03, "down_s": .0125, "back_s": .03, "chest": 1, "pelvis": 1, "peak": .05}
BODY = ["address", "arm_back", "top", "arm_down", "arm_through"]
CLUB_CHECKPOINTS = {"shaft_back", "shaft_down", "impact", "shaft_through"}
CLUB_MEASURES = {"shaft_direction", "shaft_cross", "shaft_elevation", "shaft_steepness", "hands_gap", "tempo", "lead_elbow_gap"}


def check(ok, text):
    count["passed" if ok else "failed"] += 1
    print(("ok      " if ok else "FAILED  ") + text)


def near(a, b, tolerance):
    return a is not None and b is not None and abs(a - b) <= tolerance + 1e-9


# --- this file's own reading

def read(path):
    """Points in X to the target (-z of the file), Y up, Z out over the ball; (samples, 3) each."""
    with open(path, encoding="ascii") as file:
        lines = file.read().splitlines()
    rate = float(lines[2].split("\t")[0])
    names = [n for n in lines[3].split("\t")[2:] if n]
    table = np.array([[float(x) for x in line.split("\t") if x] for line in lines[5:] if line.strip()])
    xyz = table[:, 2:].reshape(len(table), len(names), 3)
    return rate, {n: np.stack([-xyz[:, i, 2], xyz[:, i, 1], xyz[:, i, 0]], axis=1) for i, n in enumerate(names)}


def smooth(x, corner, rate, corrected=True):
    """Dual pass, second order each; corrected: so that both passes together have gain 1/sqrt(2) at the corner."""
    if corrected:
        corner = np.arctan(np.tan(np.pi * corner / rate) / (np.sqrt(2) - 1) ** 0.25) * rate / np.pi
    b, a = butter(2, 2 * corner / rate)
    return filtfilt(b, a, x, axis=0, padlen=min(len(x) - 1, max(9, int(np.ceil(rate / 6)))))


def speed(x, rate):
    return np.linalg.norm(np.gradient(x, 1 / rate, axis=0), axis=1)


def index(first, then):
    first, then = ((v - v[0]) / (v[-1] - v[0]) for v in (first, then))
    return 2 * float(np.sum((first[1:] + first[:-1]) / 2 * np.diff(then))) - 1


def turn(points, a, b):
    line = points[a] - points[b]
    return np.degrees(np.unwrap(np.arctan2(line[:, 2], line[:, 0])))


def crossings(y, start, end, rate):
    return [(i + y[i] / (y[i] - y[i + 1])) / rate for i in range(start, end) if (y[i] < 0) != (y[i + 1] < 0)]


def last_minimum(points, rate, peak, corrected):
    hands = smooth(points["LHand"] + points["RHand"], 12, rate, corrected) / 2
    v = speed(hands, rate)
    slow = [i for i in range(1, peak) if v[i] <= v[i - 1] and v[i] < v[i + 1]]
    return slow[-1]


def own_reading(raw, rate):
    points = {n: smooth(x, 12, rate) for n, x in raw.items()}
    hands = (points["LHand"] + points["RHand"]) / 2
    hub = (points["LShoulder"] + points["RShoulder"]) / 2
    v = speed(hands, rate)
    peak = int(v.argmax())
    tenth = int(rate / 10)
    low = peak - tenth + int(hands[peak - tenth:peak + 3 * tenth, 1].argmin())
    high = peak - 10 * tenth + int(hands[peak - 10 * tenth:peak, 1].argmax())  # not after: the hands finish higher still
    top = high - 2 * tenth + int(v[high - 2 * tenth:high + 2 * tenth].argmin())
    calm = speed(smooth(raw["LHand"] + raw["RHand"], 6, rate) / 2, rate)
    window = int(rate / 5)
    quiet = min((calm[i:i + window] for i in range(top - window)), key=np.mean)
    start = top - 2 * int(rate) + int(calm[max(0, top - 2 * int(rate)):top].argmax()) if top > 2 * rate else int(calm[:top].argmax())
    while start > 0 and calm[start] > max(0.1, quiet.mean() + 4 * quiet.std()):
        start -= 1
    azimuth = np.unwrap(np.arctan2(hands[:, 0] - hub[:, 0], hands[:, 2] - hub[:, 2]))
    held = azimuth - azimuth[start]
    fixed = np.unwrap(np.arctan2(hands[:, 0] - hub[start, 0], hands[:, 2] - hub[start, 2]))
    lead = points["LWrist"][:, 1] - points["LShoulder"][:, 1]
    trail = points["RWrist"][:, 1] - points["RShoulder"][:, 1]
    chest, pelvis = turn(points, "LShoulder", "RShoulder"), turn(points, "LHip", "RHip")
    return {
        "order_back": index(held[start:high + 1], hands[start:high + 1, 1]),
        "order_down": index(hands[high:low + 1, 1], held[high:low + 1]),
        "fixed_back": index(fixed[start:high + 1], hands[start:high + 1, 1]),
        "hands_moved": hands[top] - hands[start],
        "down_s": (low - top) / rate, "back_s": (top - start) / rate,
        "chest": abs(chest[top] - chest[start]), "pelvis": abs(pelvis[top] - pelvis[start]),
        "chest_world": abs(chest[top]), "peak": float(v[peak]),
        "ripple": {"uncorrected": (low - last_minimum(raw, rate, peak, False)) / rate,
                   "corrected": (low - last_minimum(raw, rate, peak, True)) / rate, "at_top": float(v[top])},
        "ripple_speed": float(v[last_minimum(raw, rate, peak, False)]),
        "times": {"address": start / rate, "top": top / rate, "arm_back": crossings(lead, start, top, rate),
                  "arm_down": crossings(lead, top, low, rate), "arm_through": crossings(trail, low, len(trail) - 1, rate)},
    }


# --- the program's

def score(path, hand, target="-z"):
    out = subprocess.run([os.path.join(BUILD, "leadside"), "score", path, "--hand", hand, "--target", target, "--json"],
                         capture_output=True, text=True, check=False)
    if out.returncode != 0:
        print(out.stderr)
        return None
    return json.loads(out.stdout)


def program_reading(report):
    motion = report["motion"][0]
    at = {c["checkpoint"]: c["time_s"] for c in motion["checkpoints"]}
    value = {(m["measure"], m["checkpoint"]): m["value"] for m in report["measures"]}
    low = motion["hands_low_s"]
    get = value.get
    return {
        "order_back": get(("order_back", None)), "order_down": get(("order_down", None)),
        "down_s": low - at["top"] if low is not None and "top" in at else None,
        "back_s": at["top"] - at["address"] if "top" in at and "address" in at else None,
        "chest": get(("chest_turn", "top")), "pelvis": get(("pelvis_turn", "top")), "peak": motion["hands_speed_ms"],
        "times": at,
    }


def mirrored(path, out):
    """The same swing as a left-hander's: the sideways axis negated, left and right names exchanged. Sideways is the file's x:
    the target stays along -z, the player stands on the other side of the ball."""
    with open(path, encoding="ascii", newline="") as file:
        lines = file.read().split("\n")
    head = lines[3].rstrip("\r").split("\t")
    swap = {"L": "R", "R": "L"}
    lines[3] = "\t".join(swap[n[0]] + n[1:] if n[:1] in swap and n[1:2].isupper() else n for n in head)
    for i in range(5, len(lines)):
        cells = lines[i].rstrip("\r").split("\t")
        for k in range(2, len(cells), 3):
            if cells[k].strip():
                cells[k] = f"{-float(cells[k]):.5f}"
        lines[i] = "\t".join(cells)
    with open(out, "w", encoding="ascii", newline="") as file:
        file.write("\n".join(lines))


def check_times(name, own, program):
    at = program["times"]
    check(all(c in at for c in BODY), f"{name}: {', '.join(BODY)} are found")
    for what in BODY:
        mine = own["times"][what]
        if isinstance(mine, list):
            # The arm may pass level again long after the swing; the first time is the swing's.
            mine = mine[0] if mine else None
        # One frame, and three where hands that hardly move mark the instant.
        slack = 3 / 120 if what in ("address", "top") else 1 / 120
        seen = at.get(what)
        check(near(mine, seen, slack), f"{name}: {what} at {mine if mine is None else round(mine, 4)} here, {seen} by the program")


def check_figures(name, own, program):
    for what, tolerance in TOLERANCE.items():
        asked, mine, seen = REFERENCE[name][what], own[what], program[what]
        shown = "none" if seen is None else f"{seen:.3f}"
        line = f"{name} {what}: given {asked}, here {mine:.3f}, program {shown}"
        check(near(mine, seen, CLOSE[what]), line + f" (within {CLOSE[what]} of here)")
        if name == "64_03" and what in ("down_s", "back_s"):
            continue  # check_ripple says why
        check(near(asked, seen, tolerance), line + f" (within {tolerance} of what was given)")


def check_ripple(own, program):
    """64_03 starts down so slowly that the hands' speed ripples. The given reading took the last minimum before the
    peak: where that lies depends on the filter, so ours is the deepest one, which does not."""
    ripple = own["ripple"]
    check(near(ripple["uncorrected"], REFERENCE["64_03"]["down_s"], 0.01) and not near(ripple["corrected"], ripple["uncorrected"], 0.06),
          f"64_03: the last speed minimum gives {ripple['uncorrected']:.3f} s without and {ripple['corrected']:.3f} s with the "
          f"filter's dual-pass correction; {REFERENCE['64_03']['down_s']} was given")
    check(own["ripple_speed"] > 4 * ripple["at_top"], f"64_03: the hands move at {own['ripple_speed']:.2f} m/s in that ripple and at "
          f"{ripple['at_top']:.2f} in the deepest minimum")
    whole = REFERENCE["64_03"]["back_s"] + REFERENCE["64_03"]["down_s"]
    check(near(program["back_s"] + program["down_s"], whole, 0.06),
          f"64_03: from the start to the lowest hands {program['back_s'] + program['down_s']:.3f} s, {whole:.2f} given: only the top moved")


def check_definitions(all_own):
    """What the given figures say of the definitions: they hold for a hub that moves and turns from address, not otherwise."""
    fixed = max(abs(own["fixed_back"] - REFERENCE[n]["order_back"]) for n, own in all_own.items())
    moving = max(abs(own["order_back"] - REFERENCE[n]["order_back"]) for n, own in all_own.items())
    check(moving <= 0.05 and fixed > 0.12, f"order going back: within {moving:.3f} with the shoulders of each instant, {fixed:.3f} off with those of address")
    world = max(abs(own["chest_world"] - REFERENCE[n]["chest"]) for n, own in all_own.items())
    since = max(abs(own["chest"] - REFERENCE[n]["chest"]) for n, own in all_own.items())
    check(since <= 2 and world > 5, f"chest turn: within {since:.1f} deg from address, {world:.1f} off from the target line")


def constant(text, pattern):
    """A number of the program's own source."""
    return float(re.search(pattern, text, re.S).group(1))


def check_depth(all_own):
    """One picture has to guess how far the hands are at the top: core/shaft.c says where most hands go."""
    core = os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "..", "core")
    with open(os.path.join(core, "shaft.c"), encoding="utf-8") as file:
        text = file.read()
    with open(os.path.join(core, "camera.h"), encoding="utf-8") as file:
        sd = constant(file.read(), r"CAMERA_DEPTH_HANDS_SD_M (\S+)")
    behind = constant(text, r"shaft_hands_farther.*?case CHECKPOINT_TOP:\s*return (\S+);")
    front = constant(text, r"shaft_hands_farther.*?CHECKPOINT_TOP \? (\S+) :")
    moved = np.array([own["hands_moved"] for own in all_own.values()])
    check(bool(np.all(np.abs(moved[:, 0] - behind) < 1.96 * sd)), f"hands at the top {np.round(moved[:, 0], 2)} m along the target line, taken {behind} ± {sd}")
    check(bool(np.all(np.abs(-moved[:, 2] - front) < 1.96 * sd)), f"and {np.round(-moved[:, 2], 2)} m back from the ball, taken {front} ± {sd}")


def check_no_club(name, report):
    motion = report["motion"][0]
    found = {c["checkpoint"] for c in motion["checkpoints"]}
    seen = {(m["measure"], m["checkpoint"]) for m in report["measures"]}
    bad = {m for m in seen if m[0] in CLUB_MEASURES or m[1] in CLUB_CHECKPOINTS}
    check(not motion["has_club"] and motion["plane"] is None, f"{name}: no club and no plane of one is claimed")
    check(not found & CLUB_CHECKPOINTS and "finish" not in found, f"{name}: no checkpoint of the club, no impact, and no finish, for it is not held: {sorted(found)}")
    check(not bad, f"{name}: nothing that needs the club is observed {sorted(bad) if bad else ''}")
    check("club" not in {p["segment"] for p in motion["peaks"]}, f"{name}: no peak of a club")
    shares = {m for m in seen if m[0] == "lead_share" and m[1] in ("top", "impact", "finish")}
    check(not shares, f"{name}: no share of the weight where the body accelerates or is not held")


def check_mirror(name, report, folder):
    path = os.path.join(folder, name + ".trc")
    mirrored(os.path.join(SWINGS, name + ".trc"), path)
    other = score(path, "left")
    if other is None:
        check(False, f"{name}: the mirrored swing is scored")
        return
    a, b = report, other
    same = {k: a["motion"][0][k] == b["motion"][0][k] for k in ("checkpoints", "hands_low_s", "peaks", "hands_speed_ms", "noise_m")}
    check(all(same.values()), f"{name}: a left-hander's mirrored copy has the same checkpoints, peaks and speed {[k for k in same if not same[k]]}")
    check(b["player"]["hand"] == "left", f"{name}: and it is a left-hander's")
    key = lambda r: [(m["measure"], m["checkpoint"], m["value"], m["sd"], m.get("severity")) for m in r["measures"]]
    # Values are printed to at most four figures: the last may round the other way.
    differ = [(x, y) for x, y in zip(key(a), key(b)) if x[:2] != y[:2] or abs(x[2] - y[2]) > 1e-3 * max(1, abs(x[2])) + 1e-3]
    check(len(a["measures"]) == len(b["measures"]) >= 8 and not differ, f"{name}: the same {len(a['measures'])} measures {differ[:2] if differ else ''}")
    check([f["fault"] for f in a["first_fixes"]] == [f["fault"] for f in b["first_fixes"]], f"{name}: the same fix first")
    wrong = score(path, "right")
    found = wrong is not None and any(f["fault"] for f in wrong["motion"][0]["findings"]) if wrong and wrong["motion"] else wrong is None
    check(found, f"{name}: the mirrored swing read as a right-hander's is refused or a finding says so")


def main():
    if not os.path.isdir(SWINGS):
        print("skipped: no swings of others (LEADSIDE_SHARED)")
        count["skipped"] += 1
    else:
        all_own = {}
        with tempfile.TemporaryDirectory() as folder:
            for name in REFERENCE:
                path = os.path.join(SWINGS, name + ".trc")
                rate, raw = read(path)
                own = all_own[name] = own_reading(raw, rate)
                report = score(path, "right")
                if report is None or len(report["motion"]) != 1:
                    check(False, f"{name}: is scored")
                    continue
                program = program_reading(report)
                check_times(name, own, program)
                check_figures(name, own, program)
                if name == "64_03":
                    check_ripple(own, program)
                check_no_club(name, report)
                check_mirror(name, report, folder)
        check_definitions(all_own)
        check_depth(all_own)
    print(f"swings: {count['passed']} passed, {count['failed']} failed, {count['skipped']} skipped")
    return 1 if count["failed"] else 0


if __name__ == "__main__":
    sys.exit(main())
