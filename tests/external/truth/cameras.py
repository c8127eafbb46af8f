"""Pinhole pictures of a swing from behind the line and from the front, with the errors that docs/measures.md states.

Everything is made for a right-hander in the world axes; a left-hander's picture is the same picture mirrored."""
import numpy as np

from player import AT, CHECKPOINTS, POINTS

MARK_PX = 3.0        # of a marked point in a picture of 1080 lines, sd per axis ...
MARK_BODY = .006     # ... and at least this share of the body's height
INSTANT_S = {"address": .027, "top": .020}  # how far off a flat passage's instant is told, sd
LAYING_DEG = 1.5     # of a stick laid by eye, sd
YAW_UNKNOWN_DEG = 6.0  # of a camera set up by eye, sd
PITCH_DEG, ROLL_DEG = 2.0, 1.0  # of a tablet taken as level, sd
LEVEL_DEG = .5       # of its own level, sd
DISTANCE_M = .15     # of a paced distance, sd
TRUNK_DEG = 4.0      # of a trunk or shoulder line marked in one picture (common practice, no study), sd
JOINT_DEG = 3.0      # of a knee's or elbow's angle marked in one picture, sd


class Camera:
    """Placed at `place`, looking along `ahead` (level), turned by yaw (to its right), pitch (down) and roll (clockwise)."""

    def __init__(self, view, place, yaw, pitch, roll, focal, width, height):
        self.view, self.place = view, np.array(place, float)
        self.yaw, self.pitch, self.roll = yaw, pitch, roll
        self.focal, self.width, self.height = focal, width, height
        ahead, right, up = ((np.array([1.0, 0, 0]), np.array([0, 0, 1.0]), np.array([0, 1.0, 0]))
                            if view == "down_the_line" else
                            (np.array([0, 0, -1.0]), np.array([1.0, 0, 0]), np.array([0, 1.0, 0])))
        y, p, r = np.radians([yaw, pitch, roll])
        a1 = np.cos(y) * ahead + np.sin(y) * right
        r1 = np.cos(y) * right - np.sin(y) * ahead
        a2 = np.cos(p) * a1 - np.sin(p) * up
        d2 = -np.cos(p) * up - np.sin(p) * a1
        self.ahead = a2
        # rolled clockwise as seen from behind: its own right dips toward the ground
        self.right = np.cos(r) * r1 + np.sin(r) * d2
        self.down = np.cos(r) * d2 - np.sin(r) * r1

    def picture(self, points):
        """(..., 3) -> (..., 2) pixels, v down; not cut at the edges."""
        d = np.asarray(points) - self.place
        z = d @ self.ahead
        return np.stack([self.width / 2 + self.focal * (d @ self.right) / z,
                         self.height / 2 + self.focal * (d @ self.down) / z], axis=-1)

    def inside(self, uv):
        return (uv[..., 0] >= 0) & (uv[..., 0] <= self.width) & (uv[..., 1] >= 0) & (uv[..., 1] <= self.height)


def draw_camera(view, swing, rng, yaw_sd):
    """A tablet set up by eye: where a coach stands, far enough for the club to be in the picture."""
    lens = 960 / np.tan(np.radians(rng.uniform(55, 70) / 2))  # long side of the picture
    portrait = rng.random() < .5
    distance = rng.uniform(3.0, 5.0)
    width, height = (1080, 1920) if portrait else (1920, 1080)
    top = 1.28 * swing.body.height  # the clubhead's highest
    eye = rng.uniform(.7, 1.3)
    # step back until head, feet and most of the club are seen
    half = height / 2 / lens
    need = max(top - eye, eye) / half * .97
    distance = float(np.clip(max(distance, need), 3.0, 5.0))
    yaw = float(np.clip(rng.normal(0, yaw_sd), -3 * yaw_sd, 3 * yaw_sd))
    pitch, roll = rng.normal(0, PITCH_DEG), rng.normal(0, ROLL_DEG)
    hands = swing.at["grip"][AT["address"]]
    middle = np.mean([swing.at["lead_ankle"][0], swing.at["trail_ankle"][0]], axis=0)
    aside = -distance * np.tan(np.radians(yaw)) * rng.uniform(.6, 1.0) + rng.normal(0, .08)
    if view == "down_the_line":
        place = [hands[0] - distance, eye, hands[2] + aside]
    else:
        place = [middle[0] + aside, eye, hands[2] + distance]
    camera = Camera(view, place, yaw, pitch, roll, lens, width, height)
    camera.distance = distance
    camera.hfov = 2 * np.degrees(np.arctan(width / 2 / lens))
    return camera


def sticks(camera, swing, rng, count=2):
    """Ends on the ground of sticks laid along the target line by eye, as marked in the picture. They are laid to one
    another, so what is wrong with the direction is wrong with both."""
    lay = rng.normal(0, LAYING_DEG)
    ball = swing.ball
    toes = swing.at["lead_toe"][0]
    out = []
    for i in range(count):
        across = toes[2] + .06 if i == 0 else ball[2] + .12
        turn = np.radians(lay + rng.normal(0, .2))
        centre = np.array([rng.normal(0, .1), 0.0, across])
        along = np.array([np.cos(turn), 0.0, np.sin(turn)]) * .6
        uv = camera.picture(np.stack([centre - along, centre + along])) + rng.normal(0, MARK_PX, (2, 2))
        out.append(uv)
    return out


def _turned(uv, about, angle):
    """A mark turned about another in the picture, degrees."""
    c, s = np.cos(np.radians(angle)), np.sin(np.radians(angle))
    d = uv - about
    return about + np.array([d[0] * c - d[1] * s, d[0] * s + d[1] * c])


class Eye:
    """How one person sees one player: what is wrong by checkpoint with the trunk's line, the shoulders' line and every
    elbow and knee, the same for all swings of a lesson. Half of the trunk's error is the body's, half is the pose's."""

    def __init__(self, rng):
        n = len(CHECKPOINTS)
        self.trunk = np.sqrt(.5) * (rng.normal(0, TRUNK_DEG) + rng.normal(0, TRUNK_DEG, n))
        self.shoulders = rng.normal(0, TRUNK_DEG, n)
        knee = rng.normal(0, JOINT_DEG, n)  # both knees stand alike
        self.knees = {"lead_knee": knee, "trail_knee": knee}
        self.elbows = {k: rng.normal(0, JOINT_DEG, n) for k in ("lead_elbow", "trail_elbow")}

    def marks(self, true, i, view):
        """{point: pixel} of checkpoint i as this person would mark them with a steady hand."""
        out = dict(true)
        out["neck"] = _turned(true["neck"], .5 * (true["lead_hip"] + true["trail_hip"]), self.trunk[i])
        middle = .5 * (true["lead_shoulder"] + true["trail_shoulder"])
        for side in ("lead_", "trail_"):
            out[side + "shoulder"] = _turned(true[side + "shoulder"], middle, self.shoulders[i])
            # a joint's angle is read where the picture shows it: knees from behind, elbows from the front
            joint, end, errors = ("knee", "ankle", self.knees) if view == "down_the_line" else ("elbow", "wrist", self.elbows)
            out[side + end] = _turned(true[side + end], true[side + joint], errors[side + joint][i])
        return out


def mark_sd(camera, swing):
    """Of one mark, pixels."""
    return max(MARK_PX * min(camera.width, camera.height) / 1080, MARK_BODY * swing.body.height * camera.focal / camera.distance)


def marked_frames(camera, swing, rng, fps, eye, drop=()):
    """One frame for every checkpoint: the film's nearest picture, every point in it marked with its error."""
    phase = rng.uniform(0, 1 / fps)
    moments, told = [], np.random.default_rng(int(phase * 1e12))
    for c in CHECKPOINTS:
        t = swing.times[c] + told.normal(0, INSTANT_S.get(c, 0.0))
        n = np.floor((t - phase) * fps) if c == "address" else np.round((t - phase) * fps)
        moments.append(max(phase + n / fps, 0.0))
    points = swing.points(moments)
    frames = []
    for i, c in enumerate(CHECKPOINTS):
        marks = {}
        for name, uv in eye.marks({name: camera.picture(points[name][i]) for name in POINTS}, i, camera.view).items():
            uv = uv + rng.normal(0, mark_sd(camera, swing), 2)
            if name not in drop and camera.inside(uv):
                marks[name] = uv
        frames.append((c, moments[i], marks))
    return frames
