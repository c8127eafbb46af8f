"""Swing documents (leadside.swing/1) of a generated swing, as a tablet would send them: pictures, motion, scale.

A left-hander's data are what his cameras really saw: pictures mirrored left to right, Z negated, roll and directions too."""
import numpy as np

from cameras import DISTANCE_M, LEVEL_DEG, YAW_UNKNOWN_DEG, Eye, draw_camera, marked_frames, sticks
from curves import rounded
from player import CHECKPOINTS, HOLD, POINTS

SCALE_POINTS = 3.0  # of a share read from a scale, sd
# A marker is 5 mm out, sd: where it sits on the body, all through; skin and cloth, slowly; and the cameras, at random.
FIXED_M, MOVING_M, CAMERA_M = .0040, .0028, .0010
STICKS_YAW_SD = 3.5  # a coach who lays sticks also aims the tablet better


class Session:
    """The tablets as they stand for one lesson: cameras, sticks and what is always wrong stay from swing to swing."""

    def __init__(self, swing, rng, with_sticks):
        self.views, level = [], rng.random() < .5
        for kind in ("down_the_line", "face_on"):
            aimed = with_sticks and kind == "down_the_line"
            camera = draw_camera(kind, swing, rng, STICKS_YAW_SD if aimed else YAW_UNKNOWN_DEG)
            lines = sticks(camera, swing, rng) if with_sticks and kind == "down_the_line" else []
            settings = {"hfov_deg": camera.hfov, "distance_m": camera.distance + rng.normal(0, DISTANCE_M),
                        "height_m": camera.place[1] + rng.normal(0, .03)}
            if level:
                settings["pitch_deg"] = camera.pitch + rng.normal(0, LEVEL_DEG)
                settings["roll_deg"] = camera.roll + rng.normal(0, LEVEL_DEG)
            self.views.append((camera, lines, settings, int(rng.choice([60, 120, 240])), Eye(rng)))


def pictures(session, swing, rng, left):
    """Both views of a swing, marked."""
    out = []
    for camera, lines, settings, film, eye in session.views:
        def pixel(uv):
            u = camera.width - uv[0] if left else uv[0]
            return [round(float(u), 1), round(float(uv[1]), 1)]
        marked = marked_frames(camera, swing, rng, film, eye, drop=("ball",) if rng.random() < .3 else ())
        shown = {k: round(float(v), 3) for k, v in settings.items()}
        if left and "roll_deg" in shown:
            shown["roll_deg"] = -shown["roll_deg"]
        view = {"view": camera.view, "fps": film, "image": {"width": camera.width, "height": camera.height}, "camera": shown}
        if lines:
            view["sticks"] = [[pixel(a), pixel(b)] for a, b in lines]
        view["frames"] = [{"checkpoint": c, "time_s": round(float(t), 4), "points": {n: pixel(uv) for n, uv in m.items()}}
                          for c, t, m in marked if m]
        out.append(view)
    return out


def marker_errors(rng, n, rate):
    """(n, 3) of one marker: fixed, wandering with a memory of about 0.1 s, and white."""
    wander = rounded(rng.normal(size=(n, 3)), 1 / rate, .08)
    wander *= MOVING_M / max(float(np.std(wander)), 1e-9)
    return rng.normal(0, FIXED_M, 3) + wander + rng.normal(0, CAMERA_M, (n, 3))


def motion(swing, rng, left, rate=None):
    rate = int(rng.choice([60, 120, 240])) if rate is None else rate
    times = np.arange(0.02, swing.end + .8 * HOLD, 1 / rate)
    points = swing.points(times)
    out = {}
    for name in POINTS:
        xyz = points[name] + marker_errors(rng, len(times), rate)
        out[name] = np.round(xyz * np.array([1, 1, -1 if left else 1]), 4).tolist()
    return {"rate_hz": rate, "frame": "target_up_right", "points": out}


def weight(values, rng):
    out = []
    for c in CHECKPOINTS:
        if ("lead_share", c) in values:
            share = (values["lead_share", c] + rng.normal(0, SCALE_POINTS)) / 100
            out.append({"checkpoint": c, "lead_share": round(float(np.clip(share, 0, 1)), 4), "source": "scale"})
    return out


def gappy(views, rng):
    """What a busy coach leaves out: a quarter of the marks, a tenth of the pictures, at times one of the two tablets."""
    if rng.random() < .3:
        views = [views[rng.integers(len(views))]]
    for view in views:
        view["frames"] = [f for f in view["frames"] if rng.random() >= .1]
        for frame in view["frames"]:
            frame["points"] = {name: uv for name, uv in frame["points"].items() if rng.random() >= .25}
    return [view for view in views if view["frames"]]


def document(player, swing, values, rng, setup, session=None):
    """setup: `sticks`, `no_sticks` (both with a scale or without: `_scale`; `_gaps`: with marks left out), `motion`, `both`."""
    left = player.hand == "left"
    club = {"kind": player.kind, "length_m": player.club_length}
    if player.number:
        club["number"] = player.number
    doc = {"schema": "leadside.swing/1", "recorded_at": "2026-05-02T09:14:05Z", "shot": "full", "hand": player.hand,
           "club": club}
    if setup.startswith("sticks") or setup.startswith("no_sticks") or setup == "both":
        session = session or Session(swing, rng, not setup.startswith("no_sticks"))
        doc["views"] = pictures(session, swing, rng, left)
        if setup.endswith("_gaps"):
            doc["views"] = gappy(doc["views"], rng)
    if setup in ("motion", "both"):
        doc["motion"] = motion(swing, rng, left)
    if setup.endswith("_scale") or setup == "both":
        doc["weight"] = weight(values, rng)
    return doc
