#!/usr/bin/python3
"""Writes the JSON seeds of tests/fuzz/corpus: whole files of tests/data and server/standard, small ones of each part,
and some that are refused late. Run again after a change of the formats: tests/fuzz/json_seeds.py"""
import copy
import json
import math
import pathlib

here = pathlib.Path(__file__).resolve().parent
root = here.parent.parent


def save(kind, name, value):
    folder = here / "corpus" / kind
    folder.mkdir(parents=True, exist_ok=True)
    text = value if isinstance(value, str) else json.dumps(value, separators=(",", ":"), ensure_ascii=False)
    (folder / f"seed-{name}").write_text(text, encoding="utf-8")


def load(path):
    return json.loads((root / path).read_text(encoding="utf-8"))


def thinned(document, step, names, **changes):
    """A motion document with every step-th sample of some points, in millimetres: small enough to be mutated often."""
    out = copy.deepcopy(document)
    motion = out["motion"]
    motion["rate_hz"] /= step
    motion["points"] = {name: [None if at is None else [round(x, 3) for x in at] for at in motion["points"][name][::step]]
                        for name in names}
    motion.update(changes)
    return out


def motions():
    whole = load("tests/data/motion.json")
    body = ["neck", "lead_shoulder", "trail_shoulder", "lead_wrist", "lead_hip", "trail_hip", "lead_ankle",
            "trail_ankle"]
    save("swing", "motion-club", thinned(whole, 3, [*body, "grip", "clubhead", "ball"]))
    save("swing", "motion-body", thinned(whole, 4, [*body, "trail_wrist", "lead_toe"]))
    save("swing", "motion-hands", thinned(whole, 3, ["lead_wrist", "trail_wrist"]))
    save("swing", "motion-whole", thinned(whole, 4, list(whole["motion"]["points"])))
    both = {**load("tests/data/two_views.json"), "motion": thinned(whole, 4, [*body, "lead_elbow", "grip"])["motion"]}
    save("swing", "motion-and-views", {**both, "hand": "left"})
    gaps = thinned(whole, 4, [*body, "grip", "clubhead"])
    for i in range(20, 24):
        gaps["motion"]["points"]["grip"][i] = None
    gaps["motion"]["points"]["clubhead"][:9] = [None] * 9
    save("swing", "motion-gaps", gaps)
    turned = thinned(whole, 4, [*body, "grip", "clubhead"], frame="z_up_target_minus_y")
    turned["motion"]["points"] = {name: [[z, -x, y] for x, y, z in track]
                                  for name, track in turned["motion"]["points"].items()}
    save("swing", "motion-turned", turned)
    away = thinned(whole, 2, [*body, "grip", "clubhead", "ball"])
    for i in range(len(away["motion"]["points"]["lead_hip"])):
        seconds = i / away["motion"]["rate_hz"]
        turn = math.radians(60 * seconds + 0.5 * math.sin(2 * math.pi * 8 * seconds))
        for name, half in (("lead_hip", 0.13), ("trail_hip", -0.13)):
            away["motion"]["points"][name][i] = [round(half * math.cos(turn), 4), 0.95, round(half * math.sin(turn), 4)]
    save("swing", "found-pelvis-turns-away", away)  # once gave a peak below zero
    still = thinned(whole, 29, [*body, "grip"])
    for track in still["motion"]["points"].values():
        track[:] = [track[0]] * 40
    still["motion"]["rate_hz"] = 20
    save("swing", "motion-still", still)


def swings():
    for path in sorted((root / "tests/data").glob("*.json")):
        value = json.loads(path.read_text(encoding="utf-8"))
        if value.get("schema") == "leadside.swing/1" and path.stat().st_size < 20000:
            save("swing", path.stem, value)
    motions()
    every = load("tests/data/every_part.json")
    head = {k: every[k] for k in ("schema", "recorded_at", "hand")}
    for part in ("views", "motion", "weight", "measured", "seen", "flight", "club"):
        save("swing", f"only-{part}", {**head, part: every[part]})
    save("swing", "left", {**every, "hand": "left", "recorded_at": "2024-02-29T23:59:60+14:00"})
    save("swing", "instruments", {**head, "club": {"kind": "driver"}, "measured": [
        {"measure": m, "value": v, "sd": sd, **({"checkpoint": c} if c else {})} for m, c, v, sd in [
            ("shaft_direction", "shaft_back", -31, 2), ("shaft_direction", "shaft_down", 28, 0), ("shaft_steepness", "arm_down", 80, 3),
            ("lead_elbow_gap", "shaft_through", .9, .1), ("lead_elbow_bend", "shaft_through", 60, 9), ("tempo", None, 1.4, .3),
            ("order_back", None, .1, .05), ("order_down", None, .2, .05), ("body_order", None, 3, 0),
            ("chest_turn", "top", 95, 4), ("separation", "top", 40, 5)]],
        "flight": {"strike": "topped", "path_deg": 6, "face_deg": -2, "attack_deg": 3, "dynamic_loft_deg": 20,
                   "ball_speed_ms": 50, "spin_rpm": 3000},
        "weight": [{"checkpoint": c, "lead_share": s, "source": "plates"}
                   for c, s in [("address", .5), ("top", .7), ("impact", .3), ("finish", .2)]]})
    blank = copy.deepcopy(every)
    blank["views"][0]["frames"][0]["points"]["grip"] = [1001, 655, 0.5]
    blank["views"][0]["camera"].update(pitch_deg=-3, roll_deg=2)
    save("swing", "levels", blank)
    for name, body in (("guesses-body", True), ("guesses-all", False)):
        guessed = load("tests/data/two_views.json")
        for frame in (frame for view in guessed["views"] for frame in view["frames"]):
            found = [p for p in frame["points"] if not body or "_" in p]
            frame["points"].update({p: [*frame["points"][p][:2], 30] for p in found})
            if found:
                frame["found"] = found
        save("swing", name, guessed)
    save("swing", "escapes", json.dumps(every).replace('"scale"', '"sc\\u0061le"').replace(": 60,", ": 6.0e+1,"))
    save("swing", "refused-twice", json.dumps(every)[:-1] + ', "hand": "left"}')
    save("swing", "refused-deep", json.dumps(head)[:-1] + ', "views": ' + "[" * 40 + "]" * 40 + "}")
    save("swing", "refused-number", json.dumps(every).replace("1920", "1e999"))
    save("swing", "refused-end", json.dumps(every)[:900])


def standards():
    whole = load("server/standard/default.json")
    save("standard", "default", whole)
    few = {**whole, "ranges": whole["ranges"][:12], "spread": whole["spread"][:5], "causes": [], "ball_flight": [],
           "faults": []}
    save("standard", "no-faults", few)
    named = {s["measure"] for f in whole["faults"][-6:] for s in f["signs"]}
    small = {**whole, "ranges": [r for r in whole["ranges"] if r["measure"] in named], "spread": [],
             "faults": whole["faults"][-6:], "causes": [c for c in whole["causes"]
                                                        if {c["from"], c["to"]} <= {f["fault"] for f in whole["faults"][-6:]}],
             "ball_flight": [b for b in whole["ball_flight"] if b["fault"] in {f["fault"] for f in whole["faults"][-6:]}]}
    save("standard", "small", small)
    classes = copy.deepcopy(small)
    for rule, club, sex, age in zip(list(classes["ranges"]), ["wood", "iron", "wedge"], ["female", "male", "any"],
                                    ["junior", "senior", "adult"]):
        classes["ranges"].append({**rule, "club": club, "sex": sex, "age": age})
    save("standard", "classes", classes)
    edges = copy.deepcopy(small)
    edges.update(threshold=1, present_from=1, absent_to=0)
    for fault in edges["faults"]:
        fault["importance"] = 0
    save("standard", "edges", edges)
    ring = copy.deepcopy(small)
    ring["causes"] = [{"from": a["fault"], "to": b["fault"], "share": 0.5}
                      for a, b in zip(ring["faults"], ring["faults"][1:] + ring["faults"][:1])]
    save("standard", "refused-ring", ring)
    short = copy.deepcopy(small)
    short["causes"].append({"from": "hips_slide_away", "to": "hanging_back", "share": 2})
    save("standard", "refused-share", short)
    save("standard", "refused-empty", {**few, "ranges": []})


def drills():
    whole = load("server/standard/drills.json")
    save("drills", "default", whole)
    for i in range(0, len(whole["drills"]), 4):
        save("drills", f"some-{i:02d}", {**whole, "drills": whole["drills"][i:i + 2]})
    save("drills", "none", {**whole, "drills": []})
    one = copy.deepcopy(whole["drills"][0])
    one.update(ball=True, level=4, balance=True, adult_only=True, minutes=60, id="ü-✓", name="Ünï ✓ \u0001",
               kit=["club", "balls", "support", "towel", "chair", "stick", "scale", "phone", "glove", "mirror"],
               place=["range", "home", "garden", "course"], contraindicated=["neck", "hip", "knee", "ankle", "elbow"],
               loads=["neck", "shoulder", "elbow", "wrist", "upper back", "low back", "hip", "knee", "ankle"])
    save("drills", "all-bits", {**whole, "drills": [one]})
    save("drills", "refused-twice", {**whole, "drills": [one, one]})
    save("drills", "refused-place", {**whole, "drills": [{**one, "place": []}]})


def maps():
    whole = load("server/standard/markers.json")
    save("map", "default", whole)
    points = whole["points"]
    for i, name in enumerate(points):
        if i % 5 == 0:
            save("map", f"only-{name}", {**whole, "points": {name: points[name]}})
    few = {"neck": [["C7"]], "left_wrist": [["LWRI"], ["S:LSHO", "C7"]], "clubhead": [["club head", "RSHO", "C7", "?"]]}
    save("map", "few", {**whole, "points": few})
    save("map", "refused-many", {**whole, "points": {"neck": [["A", "B", "C", "D", "E"]]}})
    save("map", "refused-empty", {**whole, "points": {"neck": [[]]}})
    save("map", "found-nothing", {**whole, "points": {"neck": []}})  # was read, but not when read again
    save("map", "refused-point", {**whole, "points": {"lead_wrist": [["A"]]}})


def marks():
    whole = load("tests/data/two_views.json")
    save("marks", "whole", {"document": whole, "reason": "The top was one frame late."})
    save("marks", "reason-first", {"reason": "two\nlines", "document": {"schema": "leadside.swing/1"}})
    save("marks", "spaces", ' {"document" : { "a": [ {"b": "}"} , null ] }\t, "reason":"x"}\n')
    save("marks", "refused-empty", {"document": {}, "reason": ""})
    save("marks", "refused-twice", '{"document":{},"document":{},"reason":"x"}')
    save("marks", "refused-list", {"document": [], "reason": "x"})
    save("marks", "refused-broken", '{"document":{"a":},"reason":"x"}')
    save("marks", "refused-deep", '{"reason":"x","document":' + '{"a":' * 40 + "1" + "}" * 41)


swings()
marks()
standards()
drills()
maps()
