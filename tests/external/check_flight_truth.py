#!/usr/bin/python3
"""Ball flight through `leadside score --json` against vectors, an impact and a flight integrated with published drag and lift.

Usage: check_flight_truth.py BUILD. The model and its sources: truth/flight_model.py. For random shots of both hands: start
direction and tilt of the spin axis, the classes spoken, the side on which the ball ends, and whether carries are plausible.
tests/data/balls.tsv: what a ball says for and against one fault of one measured swing, worked out by hand from the standard's rows,
both hands; p must be that of the swing without its ball, as odds times the ratio."""
import os
import sys

HERE = os.path.dirname(os.path.abspath(__file__))
sys.path.insert(0, os.path.join(HERE, "truth"))

import numpy as np  # noqa: E402

import flight_model as model  # noqa: E402
import score  # noqa: E402
from faults import STANDARD  # noqa: E402

BUILD = sys.argv[1] if len(sys.argv) > 1 else "build"
CLUBS = {"driver": ("driver", None, (36, 50), (10, 15), (-3, 4)), "iron": ("iron", 7, (30, 42), (20, 30), (-6, 0)),
         "wedge": ("wedge", None, (26, 38), (36, 48), (-7, -1))}
SHARE = {r: STANDARD["face_share"][c] for r, c in (("driver", "wood"), ("iron", "iron"), ("wedge", "wedge"))}
SIDE = {-1: "left", 0: "straight", 1: "right"}
count = {"passed": 0, "failed": 0, "skipped": 0}


def check(ok, text):
    count["passed" if ok else "failed"] += 1
    print(("ok      " if ok else "FAILED  ") + text)


def shots(n, rng):
    out = []
    for i in range(n):
        club = list(CLUBS)[i % 3]
        _, _, speeds, lofts, attacks = CLUBS[club]
        path = rng.normal(0, 3.5)
        out.append({"club": club, "hand": "left" if rng.random() < .4 else "right", "speed": rng.uniform(*speeds), "path": path,
                    "face": path + rng.normal(0, 3), "attack": rng.uniform(*attacks), "loft": rng.uniform(*lofts)})
    return out


def document(shot):
    kind, number, _, _, _ = CLUBS[shot["club"]]
    sign = -1 if shot["hand"] == "left" else 1
    club = {"kind": kind, "length_m": .94}
    if number:
        club["number"] = number
    flight = {"strike": "flush", "path_deg": sign * shot["path"], "face_deg": sign * shot["face"],
              "attack_deg": shot["attack"], "dynamic_loft_deg": shot["loft"], "ball_speed_ms": float(np.linalg.norm(shot["v"])),
              "spin_rpm": float(np.linalg.norm(shot["w"]) * 30 / np.pi)}
    return {"schema": "leadside.swing/1", "recorded_at": "2026-05-02T09:14:05Z", "shot": "full", "hand": shot["hand"],
            "club": club, "flight": flight, "seen": [{"fault": "hips_slide_away", "severity": "none"}]}


BALLS = os.path.join(HERE, "..", "data", "balls.tsv")
MIRROR = {"left": "right", "right": "left"}
TRUSTED = .01  # against the ball no measure is trusted further than to this


def balls():
    """The table's rows, as dictionaries."""
    with open(BALLS, encoding="utf-8") as file:
        lines = [line.rstrip("\n").split("\t") for line in file if line.strip() and not line.startswith("#")]
    return [dict(zip(lines[0], line)) for line in lines[1:]]


def one_measure(row, hand, ball):
    flip = hand == "left"
    flight = {k: MIRROR.get(row[k], row[k]) if flip else row[k] for k in ("start", "curve", "strike") if row[k] != "-"}
    for key in ("path", "face"):
        if row[key] != "-":
            flight[key + "_deg"] = -float(row[key]) if flip else float(row[key])
    made = {"schema": "leadside.swing/1", "recorded_at": "2026-05-02T09:14:05Z", "shot": "full", "hand": hand,
            "measured": [{"measure": row["measure"], "checkpoint": row["checkpoint"], "value": float(row["value"]), "sd": float(row["sd"]),
                          "source": "another instrument"}]}
    return {**made, "flight": flight} if ball and flight else made


def contradictions():
    rows = [(row, hand) for row in balls() for hand in ("right", "left")]
    with_ball, without = ([score.run(BUILD, [one_measure(row, hand, ball) for row, hand in rows]) for ball in (True, False)])
    for (row, hand), said, bare in zip(rows, with_ball, without):
        fault, before = ([f for f in r["faults"] if f["fault"] == row["fault"]][0] for r in (said, bare))
        ratio = float(row["ratio"])
        p = min(before["p"], 1 - TRUSTED) if ratio < 1 else max(before["p"], TRUSTED) if ratio > 1 else before["p"]
        wanted = p * ratio / (1 - p + p * ratio)
        told = fault.get("ball", {"fits": [], "against": [], "ratio": 1})
        parts = [",".join(told[k]) or "-" for k in ("fits", "against")]
        first = said["first_fixes"][0]["fault"] if said["first_fixes"] else "none"
        name = "%-16s %5s, ball %s %s %s, %s hand" % (row["fault"], row["value"], row["start"], row["curve"], row["strike"], hand)
        check(parts == [row["fits"], row["against"]] and abs(told["ratio"] - ratio) <= .0006, "%s: fits %s, against %s, ratio %.3f"
              % (name, *parts, told["ratio"]))
        check(abs(fault["p"] - wanted) <= .003, "%s: p %.3f from %.3f without the ball, asked %.3f" % (name, fault["p"], before["p"], wanted))
        check(fault["verdict"] == row["verdict"] and first == row["first"], "%s: %s, first fix %s" % (name, fault["verdict"], first))
    sure = [f["p"] for (row, _), r in zip(rows, with_ball) for f in r["faults"] if f["fault"] == row["fault"] and float(row["ratio"]) < .5]
    check(len(sure) >= 8 and max(sure) <= .95, "no fault that the ball plainly speaks against is surer than .95: at most %.3f of %d"
          % (max(sure), len(sure)))


def main():
    contradictions()
    rng = np.random.default_rng(68)
    fired = shots(180, rng)
    for s in fired:
        s["v"], s["w"] = model.impact(s["speed"], s["path"], s["attack"], s["face"], s["loft"], s["club"])
    said = [r["flight"] for r in score.run(BUILD, [document(s) for s in fired])]
    for s in fired:
        s["ends"] = [model.describe(model.fly(s["v"], s["w"], c), s["v"]) for c in (model.lyu, model.bearman)]
        s["tilt"] = model.axis_tilt(s["path"], s["face"], s["attack"], s["loft"])
        s["start"] = s["path"] + SHARE[s["club"]] * (s["face"] - s["path"])
    tilt = max(abs(f["axis_tilt_deg"] - s["tilt"]) for f, s in zip(said, fired))
    check(tilt <= .0051, "tilt of the spin axis equals path x face, 180 shots, both hands: worst %.4f deg" % tilt)
    start = max(abs(f["start_deg"] - s["start"]) for f, s in zip(said, fired))
    check(start <= .0051, "start direction equals the face's published share: worst %.4f deg" % start)
    rolled = max(abs(f["start_deg"] - s["ends"][0]["start"]) for f, s in zip(said, fired))
    check(rolled <= 1.0, "start direction is that of a rolling impact within 1 deg: worst %.2f" % rolled)
    for name, words in (("start", lambda s: s["start"]), ("curve", lambda s: s["tilt"])):
        wrong = sum(f[name] != "straight" and f[name] != SIDE[int(np.sign(words(s)))] for f, s in zip(said, fired))
        check(wrong == 0, "no %s is called to the wrong side: %d of %d" % (name, wrong, len(fired)))
    for k, source in enumerate(("Lyu 2018", "Bearman & Harvey 1976")):
        sides = [(f["curve"], s["ends"][k]["curve"], s["ends"][k]["carry"]) for f, s in zip(said, fired)]
        bent = [(c, x) for c, x, _ in sides if c != "straight"]
        wrong = sum(SIDE[int(np.sign(x))] != c for c, x in bent)
        check(len(bent) > 60 and wrong == 0, "a ball said to curve ends on that side of its start line (%s): %d of %d wrong"
              % (source, wrong, len(bent)))
        near = [abs(x) / carry for c, x, carry in sides if c == "straight"]
        far = [abs(x) / carry for c, x, carry in sides if c != "straight"]
        check(len(near) > 30 and max(near) < np.median(far), "a ball said to fly straight bends less than most that curve "
              "(%s): at most %.3f of the carry against a median of %.3f" % (source, max(near), np.median(far)))
    for club, low, high in (("driver", 95, 300), ("iron", 75, 220), ("wedge", 40, 130)):
        carries = [e["carry"] for s in fired if s["club"] == club for e in s["ends"]]
        check(low < min(carries) and max(carries) < high, "%s carries are plausible: %.0f to %.0f m" % (club, min(carries), max(carries)))
    heights = [model.axis_tilt(0, 2, 0, loft) for loft in (12, 20, 45)]
    check(np.allclose(heights, [9.324, 5.477, 1.999], atol=6e-4), "face 2 deg open at 12, 20, 45 deg of loft: %.3f %.3f %.3f" % tuple(heights))
    print("flight_truth: %d passed, %d failed, %d skipped" % (count["passed"], count["failed"], count["skipped"]))
    return 1 if count["failed"] else 0


if __name__ == "__main__":
    sys.exit(main())
