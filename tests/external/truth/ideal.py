"""What an ideal judge could find of one mark put off: one who knows the true swing's cameras, every error of the marks as
the generator draws them, and that bones, club and both pictures belong together. A linear model of one moment, written from
the generator alone: marks = picture(places) + errors, lengths kept exactly by body and club, the still feet and ball known.
The noncentrality of the best linear test of a known direction is sqrt(d' R d), where R is what of the marks' weight the
places can't take up; found when it passes 3.29 (Baarda 1968)."""
import math

import numpy as np

from cameras import JOINT_DEG, MARK_BODY, MARK_PX, TRUNK_DEG
from film import error
from player import AT, POINTS

CRITICAL = 3.29
FALSE = .01
# How the generator's eye puts a point off beside the hand: it turns it about another (or the middle of two) by so many degrees.
TURNS = {"neck": (("lead_hip", "trail_hip"), TRUNK_DEG), "lead_shoulder": (("lead_shoulder", "trail_shoulder"), TRUNK_DEG),
         "trail_shoulder": (("lead_shoulder", "trail_shoulder"), TRUNK_DEG)}
TURNS_IN = {"down_the_line": {side + "ankle": ((side + "knee",), JOINT_DEG) for side in ("lead_", "trail_")},
            "face_on": {side + "wrist": ((side + "elbow",), JOINT_DEG) for side in ("lead_", "trail_")}}
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


def _error(player, place, view, name, across, scale):
    """Covariance of a mark, px: the hand's, and the eye's across the line that it turns."""
    own = max(MARK_PX, MARK_BODY * player.height * scale) ** 2 * np.eye(2)
    about, degrees = TURNS_IN[view].get(name) or TURNS.get(name) or ((), 0)
    if not about:
        return own
    arm = (place[name] - np.mean([place[n] for n in about], axis=0))[[across, 1]] * scale * math.radians(degrees)
    over = np.array([-arm[1], arm[0]])
    return own + np.outer(over, over)


def _left(player, swing, doc, view_kind, checkpoint, names):
    """What of the weight of these marks of a picture, (u to the target's right, v up) each, the places can't take up."""
    at = AT[checkpoint]
    place = {p: swing.at[p][at] for p in POINTS}
    index = {p: 3 * i for i, p in enumerate(POINTS)}
    size = 3 * len(POINTS)
    normal, mine = 1e-6 * np.eye(size), {}

    def add(row, sd):
        normal[:] += np.outer(row, row) / sd ** 2
    for view in doc["views"]:
        focal, distance = _camera(view, swing)
        across = 2 if view["view"] == "down_the_line" else 0
        frame = next((f for f in view["frames"] if f["checkpoint"] == checkpoint), None)
        for name in (frame["points"] if frame else {}):
            scale = focal / distance
            rows = np.zeros((2, size))
            rows[0, index[name] + across] = rows[1, index[name] + 1] = scale
            weight = np.linalg.inv(_error(player, place, view["view"], name, across, scale))
            normal += rows.T @ weight @ rows
            if view["view"] == view_kind:
                mine[name] = (rows, weight)
            if name in frame.get("film", {}):
                normal += rows.T @ rows / _film_sd(player, view["view"], name, frame["film"][name], scale) ** 2
    for a, b in BONES:
        row, way = np.zeros(size), place[a] - place[b]
        way = way / max(np.linalg.norm(way), 1e-9)
        row[index[a]:index[a] + 3], row[index[b]:index[b] + 3] = way, -way
        add(row, BONE_M)
    share = np.linalg.norm(place["butt"] - place["grip"]) / np.linalg.norm(place["clubhead"] - place["grip"])
    for axis in range(3):
        row = np.zeros(size)
        row[index["butt"] + axis], row[index["grip"] + axis], row[index["clubhead"] + axis] = 1, -1 - share, share  # a club is straight
        add(row, BONE_M)
        for name in KNOWN:
            row = np.zeros(size)
            row[index[name] + axis] = 1
            add(row, KNOWN_M)
    if not set(names) <= set(mine):
        return None
    rows, p = np.vstack([mine[name][0] for name in names]), np.zeros((2 * len(names), 2 * len(names)))
    for i, name in enumerate(names):
        p[2 * i:2 * i + 2, 2 * i:2 * i + 2] = mine[name][1]
    return p - p @ rows @ np.linalg.solve(normal, rows.T) @ p


def _seen(d, left, critical):
    """A share for each critical value."""
    shift = math.sqrt(max(d @ left @ d, 0.0))
    return np.array([.5 * (math.erfc((c - shift) / math.sqrt(2)) + math.erfc((c + shift) / math.sqrt(2))) for c in critical])


def _fair(doc):
    """The critical value by which chance calls a mark of one sound swing in a hundred suspect, among all its marks."""
    marks = sum(len(f["points"]) for v in doc["views"] for f in v["frames"])
    return math.sqrt(2 * math.log(max(marks, 1) / FALSE))


def power(player, swing, doc, slipped, what):
    """Chance that the ideal judge finds a slip in one picture: a point's of any direction (mean over directions), another's as it is;
    and that he does who may not speak falsely of more than one sound swing in a hundred. None for slips of a whole view, which many
    pictures tell."""
    if what["checkpoint"] is None:
        return None
    critical = (CRITICAL, _fair(doc))
    if what["kind"] == "off":
        left = _left(player, swing, doc, what["view"], what["checkpoint"], [what["point"]])
        angles = np.linspace(0, np.pi, 12, endpoint=False)
        ways = [what["px"] * np.array([math.cos(a), math.sin(a)]) for a in angles]
        return (0.0, 0.0) if left is None else tuple(np.mean([_seen(way, left, critical) for way in ways], axis=0).tolist())
    before, after = ({n: np.array(uv) for v in d["views"] if v["view"] == what["view"] for f in v["frames"]
                      if f["checkpoint"] == what["checkpoint"] for n, uv in f["points"].items()} for d in (doc, slipped))
    names = sorted(set(before) & set(after))
    left = _left(player, swing, doc, what["view"], what["checkpoint"], names)
    sides = np.array([-1.0 if doc["hand"] == "left" else 1.0, -1.0])
    return tuple(_seen(np.concatenate([sides * (after[n] - before[n]) for n in names]), left, critical).tolist()) if names else (0.0, 0.0)
