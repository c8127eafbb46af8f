"""What an ideal judge could find of one mark put off: one who knows the true swing's cameras, every error of the marks as
the generator draws them, and that bones, club and both pictures belong together. A linear model of one moment, written from
the generator alone: marks = picture(places) + errors, lengths kept exactly by body and club, the still feet and ball known.
The noncentrality of the best linear test of a known direction is sqrt(d' R d), where R is what of the marks' weight the
places can't take up; found when it passes 3.29 (Baarda 1968)."""
import math

import numpy as np

from cameras import MARK_BODY, MARK_PX
from film import error
from player import AT, POINTS

CRITICAL = 3.29
JOINT_M = .012  # how far the generator's eye puts a joint off, beside the mark (its angles of 3 and 4 deg, on average)
BONES = [("lead_shoulder", "lead_elbow"), ("trail_shoulder", "trail_elbow"), ("lead_elbow", "lead_wrist"), ("trail_elbow", "trail_wrist"),
         ("lead_hip", "lead_knee"), ("trail_hip", "trail_knee"), ("lead_knee", "lead_ankle"), ("trail_knee", "trail_ankle"),
         ("lead_shoulder", "trail_shoulder"), ("lead_hip", "trail_hip"), ("neck", "lead_shoulder"), ("neck", "trail_shoulder"),
         ("neck", "lead_hip"), ("neck", "trail_hip"), ("head", "neck"), ("lead_wrist", "grip"), ("trail_wrist", "grip"),
         ("butt", "grip"), ("grip", "clubhead"), ("butt", "clubhead")]
BONE_M, KNOWN_M = .004, .01  # a length known from the other moments; a place known from them: feet and ball
KNOWN = ("lead_ankle", "trail_ankle", "lead_toe", "trail_toe", "ball")


def _camera(view, swing):
    """(focal, distance) of a document's view: angles hardly turn what a mark says of a place."""
    return view["image"]["width"] / 2 / math.tan(math.radians(view["camera"]["hfov_deg"] / 2)), view["camera"]["distance_m"]


def _film_sd(player, view, name, at, scale):
    """How far off, px, the film's place of a point is where it is no gross error: the judge knows which are."""
    if name == "clubhead":
        return at[2]
    return error(view, name)[1] * player.height * scale


def _left(player, swing, doc, view_kind, checkpoint, names):
    """What of the weight of these marks of a picture, (u to the target's right, v up) each, the places can't take up."""
    at = AT[checkpoint]
    place = {p: swing.at[p][at] for p in POINTS}
    index = {p: 3 * i for i, p in enumerate(POINTS)}
    rows, weights, mine = [], [], {}

    def add(row, sd):
        rows.append(row)
        weights.append(1 / sd ** 2)
    for view in doc["views"]:
        focal, distance = _camera(view, swing)
        across = 2 if view["view"] == "down_the_line" else 0
        frame = next((f for f in view["frames"] if f["checkpoint"] == checkpoint), None)
        for name in (frame["points"] if frame else {}):
            scale = focal / distance
            sd = math.hypot(max(MARK_PX, MARK_BODY * player.height * scale), 0 if name in ("grip", "butt", "clubhead", "ball") else JOINT_M * scale)
            if view["view"] == view_kind:
                mine[name] = len(rows)
            for axis in (across, 1):
                row = np.zeros(3 * len(POINTS))
                row[index[name] + axis] = scale
                add(row, sd)
            if name in frame.get("film", {}):
                own = _film_sd(player, view["view"], name, frame["film"][name], scale)
                for axis in (across, 1):
                    row = np.zeros(3 * len(POINTS))
                    row[index[name] + axis] = scale
                    add(row, own)
    for a, b in BONES:
        row, way = np.zeros(3 * len(POINTS)), place[a] - place[b]
        way = way / max(np.linalg.norm(way), 1e-9)
        row[index[a]:index[a] + 3], row[index[b]:index[b] + 3] = way, -way
        add(row, BONE_M)
    share = np.linalg.norm(place["butt"] - place["grip"]) / np.linalg.norm(place["clubhead"] - place["grip"])
    for axis in range(3):
        row = np.zeros(3 * len(POINTS))
        row[index["butt"] + axis], row[index["grip"] + axis], row[index["clubhead"] + axis] = 1, -1 - share, share  # a club is straight
        add(row, BONE_M)
        for name in KNOWN:
            row = np.zeros(3 * len(POINTS))
            row[index[name] + axis] = 1
            add(row, KNOWN_M)
    if not set(names) <= set(mine):
        return None
    rows, weights = np.array(rows), np.array(weights)
    own = [mine[name] + k for name in names for k in (0, 1)]
    normal = rows.T @ (weights[:, None] * rows) + 1e-6 * np.eye(rows.shape[1])
    taken = rows[own] @ np.linalg.solve(normal, rows[own].T)
    p = np.diag(weights[own])
    return p - p @ taken @ p


def _seen(d, left):
    shift = math.sqrt(max(d @ left @ d, 0.0))
    return .5 * (math.erfc((CRITICAL - shift) / math.sqrt(2)) + math.erfc((CRITICAL + shift) / math.sqrt(2)))


def power(player, swing, doc, slipped, what):
    """Chance that the ideal judge finds a slip in one picture: a point's of any direction (mean over directions), another's as it is.
    None for slips of a whole view, which many pictures tell."""
    if what["checkpoint"] is None:
        return None
    if what["kind"] == "off":
        left = _left(player, swing, doc, what["view"], what["checkpoint"], [what["point"]])
        angles = np.linspace(0, np.pi, 12, endpoint=False)
        return 0.0 if left is None else float(np.mean([_seen(what["px"] * np.array([math.cos(a), math.sin(a)]), left) for a in angles]))
    before, after = ({n: np.array(uv) for v in d["views"] if v["view"] == what["view"] for f in v["frames"]
                      if f["checkpoint"] == what["checkpoint"] for n, uv in f["points"].items()} for d in (doc, slipped))
    names = sorted(set(before) & set(after))
    left = _left(player, swing, doc, what["view"], what["checkpoint"], names)
    sides = np.array([-1.0 if doc["hand"] == "left" else 1.0, -1.0])
    return _seen(np.concatenate([sides * (after[n] - before[n]) for n in names]), left) if names else 0.0
