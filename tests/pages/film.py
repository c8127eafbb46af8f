#!/usr/bin/python3
"""Draws films of a swing whose truth is known, as two tablets would take them: from behind, upright, at the camera's own
60 pictures a second; from the front, slow motion taken at 120 and stored at 30. Beside them the instants and the pixels of
every point, so that a test can mark what a coach would see. Everything is invented; the player is the checks' own.

  film.py FOLDER FAULT   writes behind.mp4, front.mp4 and truth.json"""
import json
import os
import subprocess
import sys

import numpy as np
from PIL import Image, ImageDraw

sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "external", "truth"))

from cameras import Camera  # noqa: E402
from faults import Player  # noqa: E402
from player import CHECKPOINTS, POINTS  # noqa: E402
from study import draw, generator  # noqa: E402

SEVERITY = .85
SQUARE = 16  # px
SKIN, SHIRT, TROUSERS, SHOES, CAP = (214, 168, 132), (186, 66, 52), (44, 58, 84), (236, 236, 232), (246, 244, 236)
# Limbs: two points, radius at each as a share of height, colour.
LIMBS = [
    (s + a, s + b, ra, rb, colour)
    for s in ("lead_", "trail_")
    for a, b, ra, rb, colour in (("hip", "knee", .052, .035, TROUSERS), ("knee", "ankle", .035, .024, TROUSERS),
                                 ("ankle", "toe", .022, .018, SHOES), ("shoulder", "elbow", .030, .024, SHIRT),
                                 ("elbow", "wrist", .022, .016, SKIN))
]


def capsule(pen, a, b, ra, rb, colour):
    """A limb in the picture: two discs and what lies between them, lighter along its middle."""
    for scale, tone in ((1.0, .8), (.6, 1.0)):
        fill = tuple(int(c * tone) for c in colour)
        d = b - a
        n = np.array([-d[1], d[0]]) / max(np.hypot(*d), 1e-6)
        pen.polygon([tuple(p) for p in (a + n * ra * scale, b + n * rb * scale, b - n * rb * scale, a - n * ra * scale)], fill=fill)
        for p, r in ((a, ra), (b, rb)):
            pen.ellipse([p[0] - r * scale, p[1] - r * scale, p[0] + r * scale, p[1] + r * scale], fill=fill)


def ground(camera, rng):
    """Sky, trees, turf with some grain, the two sticks and a flag far away."""
    w, h = camera.width, camera.height
    rows = np.arange(h)[:, None, None]
    far = camera.picture(camera.place + 400 * (camera.ahead * np.array([1, 0, 1])) - np.array([0, camera.place[1], 0]))[1]
    sky = np.array([176, 204, 228]) + (rows / h) * np.array([40, 22, 8])
    turf = np.array([104, 146, 82]) + ((rows - far) / h) * np.array([10, 14, 2])
    picture = np.where(rows < far, sky, turf) * np.ones((1, w, 1))
    picture += rng.normal(0, 3.5, (h, w, 1)) * (rows >= far)
    image = Image.fromarray(np.clip(picture, 0, 255).astype(np.uint8))
    pen = ImageDraw.Draw(image)
    for u in np.arange(-20, w + 40, w / 24):
        r = h * rng.uniform(.012, .03)
        pen.ellipse([u - 1.6 * r, far - 1.5 * r, u + 1.6 * r, far + .6 * r], fill=(62, int(rng.uniform(86, 110)), 60))
    return image


def sticks_of(swing):
    """Ends of two sticks along the target line: before the toes and beyond the ball."""
    toes = swing.at["lead_toe"][0][2] + .06
    return [[np.array([-.6, 0.0, z]), np.array([.6, 0.0, z])] for z in (toes, swing.ball[2] + .12)]


def number(pen, height, n):
    """The picture's number in the lower left corner, ten squares from the lowest bit on: light is 1."""
    for bit in range(10):
        left = 8 + bit * SQUARE
        pen.rectangle([left, height - 8 - SQUARE, left + SQUARE - 1, height - 8], fill=(250, 250, 250) if n >> bit & 1 else (10, 10, 10))


class Studio:
    def __init__(self, camera, swing, rng):
        self.camera, self.swing = camera, swing
        self.back = ground(camera, rng)
        pen = ImageDraw.Draw(self.back)
        if camera.view == "down_the_line":
            foot, top = camera.picture(np.array([[150.0, 0, swing.ball[2]], [150.0, 2.4, swing.ball[2]]]))
            pen.line([tuple(foot), tuple(top)], fill=(250, 250, 240), width=3)
            pen.polygon([tuple(top), (top[0] + 22, top[1] + 7), (top[0], top[1] + 14)], fill=(220, 50, 40))
        for ends in sticks_of(swing):
            a, b = camera.picture(np.array(ends))
            pen.line([tuple(a), tuple(b)], fill=(250, 140, 30), width=5)

    def size(self, place, metres):
        return metres * self.camera.focal / float((place - self.camera.place) @ self.camera.ahead)

    def frame(self, n, p, hit):
        """Picture n, of the points p (each (3,)); the ball is gone once it is hit."""
        h = self.swing.body.height
        image = self.back.copy()
        pen = ImageDraw.Draw(image)
        at = {name: self.camera.picture(p[name]) for name in p}
        depth = {name: float((p[name] - self.camera.place) @ self.camera.ahead) for name in p}
        if not hit:
            r = max(4.0, self.size(p["ball"], .021))
            pen.ellipse([at["ball"][0] - r, at["ball"][1] - r, at["ball"][0] + r, at["ball"][1] + r], fill=(255, 255, 255))
        parts = [(.5 * (depth[a] + depth[b]), lambda a=a, b=b, ra=ra, rb=rb, c=c: capsule(
            pen, at[a], at[b], self.size(p[a], ra * h), self.size(p[b], rb * h), c)) for a, b, ra, rb, c in LIMBS]
        middle = np.mean([depth[n] for n in ("lead_shoulder", "trail_shoulder", "lead_hip", "trail_hip")])
        parts += [(middle, lambda: self.trunk(pen, p, at)), (depth["head"], lambda: self.head(pen, p, at)),
                  (depth["grip"] - .02, lambda: self.club(pen, p, at))]
        for _, part in sorted(parts, key=lambda item: -item[0]):
            part()
        number(pen, self.camera.height, n)
        return image

    def trunk(self, pen, p, at):
        h = self.swing.body.height
        waist = .5 * (at["lead_hip"] + at["trail_hip"])
        chest = .5 * (at["lead_shoulder"] + at["trail_shoulder"])
        capsule(pen, waist, waist + .72 * (chest - waist), self.size(p["lead_hip"], .068 * h), self.size(p["neck"], .082 * h), SHIRT)
        for a, b, r in (("lead_shoulder", "trail_shoulder", .036), ("lead_hip", "trail_hip", .05)):
            capsule(pen, at[a], at[b], self.size(p[a], r * h), self.size(p[b], r * h), SHIRT if "shoulder" in a else TROUSERS)
        capsule(pen, chest, at["head"], self.size(p["neck"], .03 * h), self.size(p["head"], .03 * h), SKIN)

    def head(self, pen, p, at):
        r = self.size(p["head"], .062 * self.swing.body.height)
        u, v = at["head"]
        pen.ellipse([u - .82 * r, v - r, u + .82 * r, v + r], fill=SKIN)
        pen.chord([u - .9 * r, v - 1.12 * r, u + .9 * r, v + .5 * r], 180, 360, fill=CAP)
        if self.camera.view == "face_on":
            for side in (-1, 1):
                pen.ellipse([u + side * .32 * r - 3, v - .05 * r - 3, u + side * .32 * r + 3, v - .05 * r + 3], fill=(60, 40, 30))
            pen.line([(u - .25 * r, v + .5 * r), (u + .25 * r, v + .5 * r)], fill=(150, 80, 70), width=3)

    def club(self, pen, p, at):
        pen.line([tuple(at["butt"]), tuple(at["grip"])], fill=(30, 30, 30), width=8)
        pen.line([tuple(at["grip"]), tuple(at["clubhead"])], fill=(84, 88, 94), width=4)
        r = self.size(p["clubhead"], .035)
        pen.ellipse([at["clubhead"][0] - r, at["clubhead"][1] - .8 * r, at["clubhead"][0] + r, at["clubhead"][1] + .8 * r], fill=(52, 54, 58))
        for name in ("lead_wrist", "trail_wrist"):
            hand = .5 * (at[name] + at["grip"])
            capsule(pen, at[name], hand, self.size(p["grip"], .035), self.size(p["grip"], .04), SKIN)


def shoot(path, camera, swing, taken, stored, rng):
    """Films the swing at `taken` pictures a second, stores them at `stored`; returns the true instants by picture."""
    studio = Studio(camera, swing, rng)
    n = int((swing.end + .55) * taken)
    points = swing.points(np.arange(n) / taken)
    encoder = subprocess.Popen(["ffmpeg", "-loglevel", "error", "-y", "-f", "rawvideo", "-pix_fmt", "rgb24", "-s", f"{camera.width}x{camera.height}",
                                "-r", str(stored), "-i", "-", "-c:v", "libx264", "-preset", "veryfast", "-crf", "20", "-pix_fmt", "yuv420p",
                                "-g", "30", "-movflags", "+faststart", path], stdin=subprocess.PIPE)
    for i in range(n):
        picture = studio.frame(i, {name: points[name][i] for name in POINTS}, i / taken > swing.times["impact"])
        encoder.stdin.write(picture.tobytes())
    encoder.stdin.close()
    if encoder.wait() != 0:
        raise SystemExit("the film could not be stored")
    frames = {c: int(np.floor(swing.times[c] * taken) if c == "address" else np.round(swing.times[c] * taken)) for c in CHECKPOINTS}
    pixels = {c: {name: np.round(camera.picture(points[name][i]), 1).tolist() for name in POINTS} for c, i in frames.items()}
    return {"taken": taken, "stored": stored, "width": camera.width, "height": camera.height, "pictures": n, "frames": frames, "points": pixels}


def main():
    folder, fault = sys.argv[1], sys.argv[2]
    os.makedirs(folder, exist_ok=True)
    rng = generator("film", fault)
    drawn = None
    while drawn is None:
        drawn = draw(rng, fault, SEVERITY, player=Player(rng, club="7 iron", height=1.78, hand="right"))
    player, swing, truth = drawn
    hands = swing.at["grip"][0]
    long_side = 1600
    focal = long_side / 2 / np.tan(np.radians(62 / 2))
    behind = Camera("down_the_line", [hands[0] - 4.4, 1.05, hands[2] - .1], 1.5, 1.0, .4, focal, 900, 1600)
    focal = 1280 / 2 / np.tan(np.radians(62 / 2))
    front = Camera("face_on", [.1, 1.0, hands[2] + 4.6], -1.0, .5, 0, focal, 1280, 720)
    out = {"fault": fault, "square": SQUARE, "club": {"kind": player.kind, "length_m": round(float(player.club_length), 3)},
           "distance_m": {"down_the_line": 4.4, "face_on": 4.6}, "measures": {f"{m}@{c}" if c else m: float(v) for (m, c), v in truth.items()}}
    out["down_the_line"] = shoot(os.path.join(folder, "behind.mp4"), behind, swing, 60, 60, rng)
    out["face_on"] = shoot(os.path.join(folder, "front.mp4"), front, swing, 120, 30, rng)
    out["down_the_line"]["sticks"] = [np.round(behind.picture(np.array(ends)), 1).tolist() for ends in sticks_of(swing)]
    with open(os.path.join(folder, "truth.json"), "w", encoding="utf-8") as file:
        json.dump(out, file, indent=1)


if __name__ == "__main__":
    main()
