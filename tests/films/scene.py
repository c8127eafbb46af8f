"""What is filmed: a player in space, a camera, the light, and what a pose library would say. All of it from a seed.

The player swings as the truth harness's does (tests/external/truth); `pace` makes the whole swing faster."""
import os
import sys
from dataclasses import dataclass, field

import numpy as np
from scipy.ndimage import gaussian_filter1d

sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "external", "truth"))

from cameras import Camera  # noqa: E402
from faults import Player  # noqa: E402
from player import CHECKPOINTS, POINTS  # noqa: E402
from study import draw, generator  # noqa: E402
from ground import sticks_of  # noqa: E402

JOINTS = [n for n in POINTS if n not in ("butt", "clubhead", "ball", "grip")]
POSE_SD = .015  # of a joint found by a pose library, as a share of the body's height, per axis
SLOW_S = .15  # of the slow half of that error: sd of the Gaussian it is smoothed by
BEFORE, AFTER = .35, .30  # s filmed before the club moves and after the finish


@dataclass
class Scene:
    """One film. exposure: s the shutter is open; contrast: of the shaft against the middle of the
    light; soft: px the lens spreads a point, sd; bits: per pixel and picture when compressed, 0 = not compressed."""
    seed: int = 1
    view: str = "down_the_line"
    width: int = 354
    height: int = 492
    fps: float = 60
    exposure: float = 1 / 500
    hand: str = None
    club: str = None
    clothes: str = "bright"
    loose: bool = False
    second: bool = False
    backdrop: str = "trees"
    steel: bool = True
    contrast: float = 1.0
    soft: float = .55
    noise: float = 3.0
    bits: float = .2
    pace: float = 1.0
    fault: str = None
    severity: float = .6
    name: str = field(default="", compare=False)


def stand(view, swing, rng, width, height):
    """A camera set up by eye so that the swing nearly fills the picture: the clubhead may leave it for a moment."""
    eye, distance = rng.uniform(.7, 1.3), rng.uniform(3.2, 5.0)
    yaw, roll = float(np.clip(rng.normal(0, 2), -4, 4)), rng.normal(0, .7)
    points = swing.points(np.arange(swing.start, swing.end, .01))
    hands = swing.at["grip"][0]
    cloud = np.concatenate([points[n] for n in ("head", "clubhead", "lead_toe", "trail_toe", "grip")])
    low, high = cloud.min(axis=0), cloud.max(axis=0)
    middle = .5 * (low + high)
    shift = distance * np.tan(np.radians(yaw))
    place = ([hands[0] - distance, eye, middle[2] - shift] if view == "down_the_line" else
             [middle[0] - shift, eye, hands[2] + distance])
    pitch = np.degrees(np.arctan2(eye - middle[1], distance))
    camera = Camera(view, place, yaw, pitch, roll, 1000.0, width, height)
    half = np.abs(camera.picture(cloud) - [width / 2, height / 2]) / 1000.0
    wide = np.percentile(half, 97, axis=0) * rng.uniform(1.03, 1.15)
    camera.focal = float(min(width / 2 / wide[0], height / 2 / wide[1]))
    return camera


def pose(true, height_px, fps, rng):
    """(frames, 2) of a joint as a pose library finds it in some frames: an error that is half slow and half new each time."""
    n = len(true)
    sd = POSE_SD * height_px / np.sqrt(2)
    slow = gaussian_filter1d(rng.standard_normal((n + 200, 2)), SLOW_S * fps, axis=0)
    slow = (slow / max(slow.std(), 1e-9))[100:100 + n]
    return true + sd * slow + sd * rng.standard_normal((n, 2))


def sparse_frames(hands, height_px, fps):
    """The frames the pose library is shown: every third to sixth, and closer where the hands are fast."""
    step = 3 if fps <= 60 else 6
    dense = max(1, int(round(fps / 120)))
    speed = np.linalg.norm(np.gradient(hands, axis=0), axis=1) * fps / height_px
    fast = speed > 1.2
    use = {0, len(hands) - 1} | set(range(0, len(hands), step)) | {i for i in range(0, len(hands), dense) if fast[i]}
    return np.array(sorted(use))


class Stage:
    """A scene set: player, swing, camera, the time of every frame and every true place."""

    def __init__(self, scene):
        self.scene = scene
        rng = generator("film", scene.seed, scene.view)
        made, who = None, generator("player", scene.seed)
        while made is None:
            made = draw(who, scene.fault, scene.severity if scene.fault else 0.0, player=Player(who, club=scene.club, hand=scene.hand))
        self.player, self.swing, _ = made
        self.camera = stand(scene.view, self.swing, rng, scene.width, scene.height)
        self.left = self.player.hand == "left"
        self.first = self.swing.start - BEFORE * scene.pace  # swing time of frame 0
        self.frames = int((self.swing.end + AFTER * scene.pace - self.first) / scene.pace * scene.fps) + 1
        self.rng = rng
        self.at = self.points(np.arange(self.frames) / scene.fps)

    def points(self, times):
        """Every point in space at film times (s, frame i is i / fps)."""
        return self.swing.points(self.first + np.asarray(times) * self.scene.pace)

    def film_time(self, swing_time):
        return (swing_time - self.first) / self.scene.pace

    def pixels(self, points):
        """Pixels as stored: a left-hander's picture is the right-hander's, mirrored."""
        uv = self.camera.picture(points)
        if self.left:
            uv = np.stack([self.camera.width - uv[..., 0], uv[..., 1]], axis=-1)
        return uv

    def level_in_picture(self, a, b):
        """Film times at which the line from a to b is level in the picture, going through all of the film."""
        t = np.arange(0, self.frames / self.scene.fps, .0005)
        p = self.points(t)
        d = (self.pixels(p[b]) - self.pixels(p[a]))[:, 1]
        k = np.flatnonzero((d[:-1] < 0) != (d[1:] < 0))
        return t[k] + .0005 * d[k] / (d[k] - d[k + 1])

    def truth(self):
        """What is given to the finder (`header`), and beside it what is true of every frame."""
        scene, p = self.scene, self.at
        uv = {n: self.pixels(p[n]) for n in POINTS}
        ground = (self.at["lead_ankle"][0] + self.at["trail_ankle"][0]) / 2 * [1, 0, 1]
        foot, top = self.camera.picture(np.stack([ground, ground + [0, self.player.height, 0]]))
        body_px = float(np.linalg.norm(top - foot))
        depth = ((p["grip"] - self.camera.place) @ self.camera.ahead).mean()
        club_px = float(self.swing.length * self.camera.focal / depth)
        rng = generator("pose", scene.seed, scene.view)
        use = sparse_frames(uv["grip"], body_px, scene.fps)
        every = np.arange(self.frames)
        found = {}
        for name in JOINTS + ["grip"]:
            at = pose(uv[name], body_px, scene.fps, rng)
            found[name] = np.stack([np.interp(every, use, at[use, k]) for k in (0, 1)], axis=1)
        header = {"width": scene.width, "height": scene.height, "frames": self.frames, "fps": scene.fps, "view": scene.view,
                  "hand": self.player.hand, "body_px": round(body_px, 1), "club_px": round(club_px, 1),
                  "hands": np.round(found.pop("grip"), 2).tolist(), "joints": {n: np.round(v, 2).tolist() for n, v in found.items()},
                  "ball": np.round(uv["ball"][0], 1).tolist()}
        d = uv["clubhead"] - uv["grip"]
        instants = {c: round(float(self.film_time(self.swing.times[c])) * scene.fps, 3) for c in CHECKPOINTS}
        lead, trail = ("lead_shoulder", "lead_wrist"), ("trail_shoulder", "trail_wrist")
        level = {}
        for c, (a, b) in {"shaft_back": ("grip", "clubhead"), "shaft_down": ("grip", "clubhead"), "shaft_through": ("grip", "clubhead"),
                          "arm_back": lead, "arm_down": lead, "arm_through": trail}.items():
            times = self.level_in_picture(a, b) * scene.fps
            near = times[np.abs(times - instants[c]) < .12 * scene.fps]
            level[c] = round(float(near[np.argmin(np.abs(near - instants[c]))]), 3) if len(near) else None
        speed = np.linalg.norm(np.gradient(p["clubhead"], axis=0), axis=1) * scene.fps
        return header, {"club": self.player.club, "height_m": self.player.height, "exposure_s": scene.exposure,
                        "shaft_deg": np.round(np.degrees(np.arctan2(d[:, 1], d[:, 0])), 3).tolist(),
                        "shaft_px": np.round(np.hypot(d[:, 0], d[:, 1]), 2).tolist(), "clubhead_m_s": np.round(speed, 2).tolist(),
                        "points": {n: np.round(v, 2).tolist() for n, v in uv.items()},
                        "sticks": np.round(self.pixels(sticks_of(self.swing)), 2).tolist(), "instants": instants, "level": level}
