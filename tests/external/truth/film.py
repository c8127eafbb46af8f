"""What reading the film finds in each picture of a document, beside the marks: a frame's `film`. How often a point is found, how far off
it is, which error is stated with it and how often it is something else altogether are as measured on drawn players through the real page:
joints by the pose library (tests/pages/test_joints.mjs, 12 scenes, 1 558 points), clubheads by core/finder (the suite's and 16 other scenes
of tests/films, 280 moments). Drawn players are not people. Whoever stands wrong for the program (one side for the other in a picture) is in it."""
import copy

import numpy as np

from player import AT

# Of the body's height: what the page states (server/pages/bay/reading/pose.js), and how far off it was, sd per axis.
STATED = {"head": .04, "neck": .05, "shoulder": .055, "elbow": .05, "wrist": .04, "hip": .04, "knee": .04, "ankle": .04, "toe": .04, "grip": .06}
STATED_BEHIND = {"shoulder": .075, "elbow": .063}
OFF = {"head": .007, "neck": .016, "shoulder": .044, "elbow": .045, "wrist": .031, "hip": .024, "knee": .019, "ankle": .015, "toe": .020, "grip": .060}
OFF_BEHIND = {"shoulder": .070, "elbow": .063, "hip": .035}
HEIGHT_SEEN = .88     # of the body's height is what the page takes for it
SURE = (.75, 1.0)     # the library's own word, by which the error is divided
FRONT = {"lead_elbow": .58, "lead_wrist": .53, "trail_wrist": .90, "trail_elbow": .97, "grip": .90}  # found; the others always
BEHIND = {"trail_elbow": .87, "trail_wrist": .60, "grip": .62, "lead_shoulder": 1.0}  # of the lead side nothing else
GROSS = .010          # of joints: somewhere else, by so much of the height
GROSS_M = (.15, .35)
TURNED = .010         # of pictures: legs of the other side
# Clubheads: found at each moment, in that very picture or between two near ones.
HEAD_FOUND = {"down_the_line": [1, .21, .50, .93, .57, .36, .71, .21, .29, .93], "face_on": [.79, .57, 1, .93, .93, .50, .43, .71, .93, 1]}
HEAD_SEEN = {"down_the_line": [1, 1, .42, 1, .63, 0, .90, 0, .72, .92], "face_on": [.90, .75, 1, 1, .85, .42, .49, .30, .85, 1]}
HEAD_SD, HEAD_BETWEEN = .016, .22  # stated, of the club's length
HEAD_GROSS = .06      # of those seen
HEAD_GROSS_M = (.10, 1.0)
LEAST_PX = 2.0


def _joint(name):
    return name.split("_")[-1]


def error(view, name):
    """(stated, true) sd of a point of the body, of its height."""
    joint, behind = _joint(name), view == "down_the_line"
    stated = STATED_BEHIND.get(joint, STATED[joint]) if behind else STATED[joint]
    return stated, OFF_BEHIND.get(joint, OFF[joint]) if behind else OFF[joint]


def _found(view, name):
    if view == "face_on":
        return FRONT.get(name, 1.0)
    return BEHIND.get(name, 0.0 if name.startswith("lead_") else 1.0)


def _far(rng, sizes):
    size, angle = np.exp(rng.uniform(*np.log(sizes))), rng.uniform(0, 2 * np.pi)
    return size * np.array([np.cos(angle), np.sin(angle)])


def _body(rng, view, true, body):
    """{point: (place, sd, whether it is something else altogether)}"""
    out = {}
    turned = rng.random() < TURNED
    for name in sorted(true):
        if _joint(name) not in OFF:
            continue
        stated, off = error(view, name)
        seen, gross = rng.random() < _found(view, name), rng.random() < GROSS
        sd = stated * HEIGHT_SEEN * body / rng.uniform(*SURE)
        miss = body * (_far(rng, GROSS_M) if gross else rng.normal(0, off, 2))
        legs = turned and _joint(name) in ("hip", "knee", "ankle", "toe") and "_" in name
        place = true[("trail_" if name.startswith("lead_") else "lead_") + _joint(name) if legs else name]
        if seen:
            out[name] = (place + miss, sd, gross or legs)
    return out


def _head(rng, view, at, true, club):
    if rng.random() >= HEAD_FOUND[view][at]:
        return {}
    seen, gross = rng.random() < HEAD_SEEN[view][at], rng.random() < HEAD_GROSS
    sd = max(LEAST_PX, (HEAD_SD if seen else HEAD_BETWEEN) * club)
    gross = gross and seen
    miss = club * _far(rng, HEAD_GROSS_M) if gross else rng.normal(0, sd, 2)
    return {"clubhead": (true["clubhead"] + miss, sd, gross)}


def read(doc, session, player, swing, rng):
    """The document with what its film shows; a frame in which the program errs grossly at a point says so in `errs`, which is not sent.
    session: whose cameras took it."""
    doc = copy.deepcopy(doc)
    for view, (camera, *_) in zip(doc["views"], session.views):
        points = swing.points([f["time_s"] for f in view["frames"]])
        scale = camera.focal / camera.distance
        for i, frame in enumerate(view["frames"]):
            true = {name: camera.picture(places[i]) for name, places in points.items()}
            body, club = player.height * scale, player.club_length * scale
            got = {**_body(rng, view["view"], true, body), **_head(rng, view["view"], AT[frame["checkpoint"]], true, club)}
            shown = {name: [round(float(camera.width - uv[0] if player.hand == "left" else uv[0]), 1), round(float(uv[1]), 1), round(float(sd), 1)]
                     for name, (uv, sd, _) in got.items() if camera.inside(uv)}
            frame["film"] = {name: at for name, at in shown.items() if name in frame["points"]}
            frame["errs"] = any(got[name][2] for name in frame["film"])
    return doc


def errs(doc):
    """The pictures in which its film shows something else altogether: {(view, checkpoint)}."""
    return {(v["view"], f["checkpoint"]) for v in doc["views"] for f in v["frames"] if f["errs"]}


def sent(doc, film=True):
    """The document as it goes out: of a tablet that has read its film, or has not."""
    own = {"errs"} if film else {"errs", "film"}
    return {**doc, "views": [{**v, "frames": [{k: x for k, x in f.items() if k not in own} for f in v["frames"]]} for v in doc["views"]]}
