"""A coach whose finger slips: one gross error put into a sound swing document, as it would be sent. Each returns (document,
what was done) or None where this document can't show the slip."""
import copy

import numpy as np

from document import POINTS as ALL_POINTS
from player import CHECKPOINTS

JOINTS = ["shoulder", "elbow", "wrist", "hip", "knee", "ankle", "toe"]
AGAIN_PX = 3.0   # sd of a mark set a second time
SLEEVE = .10     # of an upper arm: how far a shoulder under cloth may be from where it is taken
CHANGES_PX = 40  # marks exchanged that lie nearer than this to one another: nothing to be seen


def _frames(doc):
    return [(view, frame) for view in doc["views"] for frame in view["frames"] if frame["points"]]


def _pick(rng, things):
    return things[int(rng.integers(len(things)))] if things else None


def _inside(view, uv):
    return [round(float(np.clip(uv[0], 0, view["image"]["width"])), 1), round(float(np.clip(uv[1], 0, view["image"]["height"])), 1)]


def _say(kind, view, frame=None, point=None, px=0.0):
    return {"kind": kind, "view": view["view"], "checkpoint": frame and frame["checkpoint"], "point": point, "px": float(px)}


def off(doc, rng, px):
    """One point, `px` off in any direction."""
    doc = copy.deepcopy(doc)
    view, frame = _pick(rng, _frames(doc))
    point = _pick(rng, sorted(frame["points"]))
    angle = rng.uniform(0, 2 * np.pi)
    u, v = frame["points"][point]
    frame["points"][point] = _inside(view, (u + px * np.cos(angle), v + px * np.sin(angle)))
    return doc, _say("off", view, frame, point, px)


def _apart(frame, a, b):
    return float(np.hypot(*np.subtract(frame["points"][a], frame["points"][b])))


def one_side(doc, rng):
    """Lead and trail of one joint in one picture, where it can be seen."""
    doc = copy.deepcopy(doc)
    able = [(view, frame, j) for view, frame in _frames(doc) for j in JOINTS
            if {"lead_" + j, "trail_" + j} <= set(frame["points"]) and _apart(frame, "lead_" + j, "trail_" + j) >= CHANGES_PX]
    if not able:
        return None
    view, frame, j = _pick(rng, able)
    p = frame["points"]
    px = _apart(frame, "lead_" + j, "trail_" + j)
    p["lead_" + j], p["trail_" + j] = p["trail_" + j], p["lead_" + j]
    return doc, _say("sides_exchanged", view, frame, "lead_" + j, px)


def all_sides(doc, rng):
    doc = copy.deepcopy(doc)
    able = [(view, frame) for view, frame in _frames(doc)
            if any({"lead_" + j, "trail_" + j} <= set(frame["points"]) and
                   _apart(frame, "lead_" + j, "trail_" + j) >= CHANGES_PX for j in JOINTS)]
    if not able:
        return None
    view, frame = _pick(rng, able)
    p = frame["points"]
    frame["points"] = {_mirrored(name): uv for name, uv in p.items()}
    return doc, _say("sides_exchanged", view, frame)


def _mirrored(name):
    if name.startswith("lead_"):
        return "trail_" + name[5:]
    return "lead_" + name[6:] if name.startswith("trail_") else name


def ends(doc, rng):
    """Grip and clubhead, where they are apart in the picture."""
    doc = copy.deepcopy(doc)
    able = [(view, frame) for view, frame in _frames(doc) if {"grip", "clubhead"} <= set(frame["points"])
            and _apart(frame, "grip", "clubhead") >= CHANGES_PX]
    if not able:
        return None
    view, frame = _pick(rng, able)
    p = frame["points"]
    px = _apart(frame, "grip", "clubhead")
    p["grip"], p["clubhead"] = p["clubhead"], p["grip"]
    return doc, _say("ends_exchanged", view, frame, "grip", px)


def moment(doc, rng):
    """A picture's marks, and its time, are those of the moment before or after."""
    doc = copy.deepcopy(doc)
    view = _pick(rng, [v for v in doc["views"] if len(v["frames"]) >= 2])
    if view is None:
        return None
    by_name = {f["checkpoint"]: f for f in view["frames"]}
    able = [(c, d) for c, d in list(zip(CHECKPOINTS, CHECKPOINTS[1:])) + list(zip(CHECKPOINTS[1:], CHECKPOINTS))
            if c in by_name and d in by_name]
    if not able:
        return None
    to, source = _pick(rng, able)
    frame, other = by_name[to], by_name[source]
    frame["points"] = {n: _inside(view, np.add(uv, rng.normal(0, AGAIN_PX, 2))) for n, uv in other["points"].items()}
    frame["time_s"] = other["time_s"]
    if "film" in other:
        frame["film"] = other["film"]
    return doc, _say("wrong_moment", view, frame)


def view(doc, rng):
    """The film is said to be from the other side: of both tablets, or of one."""
    doc = copy.deepcopy(doc)
    other = {"down_the_line": "face_on", "face_on": "down_the_line"}
    views = doc["views"] if rng.random() < .5 else [_pick(rng, doc["views"])]
    for v in views:
        v["view"] = other[v["view"]]
    return doc, _say("wrong_view", views[0])


def hand(doc, rng):
    doc = copy.deepcopy(doc)
    doc["hand"] = "left" if doc["hand"] == "right" else "right"
    for view, frame in _frames(doc):
        if "film" in frame:
            frame["film"] = {name: _inside(view, at) + at[2:] for name, at in _other_hand(frame).items()}
    return doc, _say("wrong_hand", doc["views"][0])


def _other_hand(frame):
    """What the film shows to a program that is told the other hand: each side is taken for the other, and as far from it as before. From behind it
    still tells of one side alone."""
    return {name: [at[0] + there[0] - here[0], at[1] + there[1] - here[1], at[2]] for name, at in frame["film"].items()
            for here, there in [(frame["points"][name], frame["points"].get(_mirrored(name)))] if there}


def sleeves(doc, rng):
    """No slip: shoulders under loose cloth, up to a tenth of an upper arm from where they are, another way in each picture."""
    doc = copy.deepcopy(doc)
    for _, frame in _frames(doc):
        p = frame["points"]
        for side in ("lead_", "trail_"):
            if {side + "shoulder", side + "elbow"} <= set(p):
                arms = [np.hypot(*np.subtract(f["points"][side + "shoulder"], f["points"][side + "elbow"]))
                        for _, f in _frames(doc) if {side + "shoulder", side + "elbow"} <= set(f["points"])]
                reach, angle = SLEEVE * max(arms) * rng.random() ** .5, rng.uniform(0, 2 * np.pi)
                p[side + "shoulder"] = [round(p[side + "shoulder"][0] + reach * np.cos(angle), 1),
                                        round(p[side + "shoulder"][1] + reach * np.sin(angle), 1)]
    return doc, None


SLIPS = {"off_60": lambda d, r: off(d, r, 60), "off_200": lambda d, r: off(d, r, 200), "one_side": one_side,
         "all_sides": all_sides, "ends": ends, "moment": moment, "view": view, "hand": hand}
assert "grip" in ALL_POINTS
