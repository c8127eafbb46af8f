#!/usr/bin/python3
"""Films whose truth is known to the last pixel: a simulated player in space, drawn as a telephone would take it.

  python3 tests/films/render.py --seed 7 --view down_the_line --size 354x492 --fps 60 --out DIR

writes film.bin (one line of JSON, then the grey pictures, one byte a pixel: what tests/external/finder_read.c reads) and
truth.json ({"header", "truth"}: see Stage.truth). --list names the ready scenes of scenes.py, --scene NAME
draws one of them; every field of Scene is an option too. --sheet FILE.png shows some frames side by side; --film FILE.mp4 stores them
in colour for a browser in place of film.bin, --stored 30 as slow motion.

Pixel i covers [i, i + 1); frame i was taken at i / fps, the middle of its exposure. The same seed draws the same film. The
pictures are drawn; they are no real ones: see docs/finder.md for what that means."""
import argparse
import dataclasses
import json
import os
import subprocess
import sys
import tempfile

import numpy as np
from scipy.ndimage import gaussian_filter

sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))

import paint  # noqa: E402
from figure import Figure  # noqa: E402
from ground import backdrop  # noqa: E402
from scene import POINTS, Scene, Stage  # noqa: E402
from study import generator  # noqa: E402

GREY = np.array([.299, .587, .114])
MOVED_PX = 1.5  # the body is drawn again when it moves this far while the shutter is open
CLUB_PX = .8


def grey(rgb):
    return np.array([GREY @ np.asarray(rgb, float)], np.float32)


def colour(rgb):
    return np.asarray(rgb, np.float32)


class Film:
    """Draws the frames of a stage, one after the other."""

    def __init__(self, stage, colours=grey):
        s = self.scene = stage.scene
        self.stage, self.rng = stage, generator("light", s.seed, s.view)
        camera = stage.camera
        self.still = backdrop(camera, stage.swing, self.rng, colours, s.backdrop)
        self.player = Figure(camera, stage.player.height, s.clothes, s.loose, stage.player.club == "driver", s.steel, s.contrast, colours, self.rng)
        self.other = None
        if s.second:
            away = [6.5, 0, 1.2] if s.view == "down_the_line" else [-1.5, 0, -4.5]
            self.away = np.array(away)
            clothes = {"bright": "dark", "dark": "patterned", "patterned": "bright"}[s.clothes]
            self.other = Figure(camera, stage.player.height, clothes, False, True, True, 1.0, colours, self.rng)
        h, w = s.height, s.width
        self.grain = self.rng.standard_normal((h + 32, w + 32)).astype(np.float32)
        self.ball = colours((250, 250, 248))
        self.seen = []  # of every frame drawn: px of the shaft's length in the picture and not hidden; its contrast

    def crowd(self, image, depth, t):
        """The second person, who swings slowly at a time of their own."""
        if self.other is None:
            return
        s = self.stage.swing
        all_of_it = s.points(np.clip(s.start + .45 * t, 0, s.end) + np.zeros(2))
        p = {n: all_of_it[n] for n in POINTS}
        one = {n: q[0] + self.away for n, q in p.items()}
        self.other.body(image, depth, one, t)
        self.other.club(image, depth, {n: q + self.away for n, q in p.items()})

    def frame(self, i):
        """Frame i: (height, width, channels) uint8 before compression."""
        stage, s = self.stage, self.scene
        t, open_for = i / s.fps, s.exposure
        ends = stage.points([t - open_for / 2, t, t + open_for / 2])
        moved = lambda n: float(np.ptp(stage.camera.picture(ends[n]), axis=0).max())  # noqa: E731
        bodies = int(np.clip(np.ceil(max(moved("grip"), moved("lead_elbow")) / MOVED_PX), 1, 8))
        strokes = int(np.clip(np.ceil(moved("clubhead") / CLUB_PX), 1, 160))
        places = stage.points(t + open_for * np.concatenate([(np.arange(n) + .5) / n - .5 for n in (bodies, strokes)]))
        sub, fine = ({n: q[part] for n, q in places.items()} for part in (slice(bodies), slice(bodies, None)))
        image = self.still.copy()
        middle = {n: q[1] for n, q in ends.items()}
        self.player.shadow(image, middle, (middle["butt"], middle["clubhead"]))
        far = np.full(image.shape[:2], np.inf, np.float32)
        self.crowd(image, far, t)
        if t < stage.film_time(stage.swing.times["impact"]):
            self.tee(image)
        total, seen = None, []
        for k in range(bodies):
            part, depth = (image, far) if bodies == 1 else (image.copy(), far.copy())
            self.player.body(part, depth, {n: q[k] for n, q in sub.items()}, t)
            use = np.arange(strokes)[k * strokes // bodies:max((k + 1) * strokes // bodies, k * strokes // bodies + 1)]
            seen.append(self.player.club(part, depth, {n: q[use % strokes] for n, q in fine.items()}))
            total = part if total is None else total + part
        self.seen.append(np.mean(seen, axis=0))
        return self.sensor(total / np.float32(bodies))

    def tee(self, image):
        camera = self.stage.camera
        ball = self.stage.swing.ball
        z = float((ball - camera.place) @ camera.ahead)
        at = camera.picture(ball)
        paint.limb(image, np.full(image.shape[:2], np.inf, np.float32), at, at + [.01, 0], .021 * camera.focal / z, .021 * camera.focal / z,
             z, z, z / camera.focal, self.ball)

    def sensor(self, image):
        """The lens's softness, noise that grows with the light, and eight bits."""
        h, w, c = image.shape
        image = gaussian_filter(image, (self.scene.soft, self.scene.soft, 0), truncate=2.5)
        y, x = self.rng.integers(0, 32, 2)
        grain = self.grain[y:y + h, x:x + w] * np.float32(self.rng.choice([-1, 1]))
        out = image + (self.scene.noise * np.sqrt(.35 + .65 * image.mean(axis=-1) / 160) * grain)[..., None]
        out = np.clip(out + .5, 0, 255).astype(np.uint8)
        return out[:, ::-1] if self.stage.left else out


QUIET = ["ffmpeg", "-loglevel", "error", "-threads", "1"]


def encode(pictures, path, scene, form, into, rate):
    """Writes pictures (`form`: gray or rgb24) to a file as a telephone's encoder does: H.264 at so many bits per pixel and
    picture, `rate` pictures a second."""
    w, h = scene.width + scene.width % 2, scene.height + scene.height % 2
    bits = str(int(scene.bits * w * h * rate))
    encoder = subprocess.Popen(QUIET + ["-y", "-f", "rawvideo", "-pix_fmt", form, "-s", "%dx%d" % (w, h), "-r", str(rate), "-i", "-",
                                        "-c:v", "libx264", "-threads", "1", "-preset", "veryfast", "-b:v", bits, "-maxrate", bits, "-bufsize",
                                        bits, "-pix_fmt", into, "-g", str(int(rate)), "-movflags", "+faststart", path], stdin=subprocess.PIPE)
    for picture in pictures:
        encoder.stdin.write(np.pad(picture, ((0, h - scene.height), (0, w - scene.width), (0, 0)), mode="edge").tobytes())
    encoder.stdin.close()
    if encoder.wait() != 0:
        raise RuntimeError("the film could not be stored")


def compressed(pictures, path, scene):
    """What is left of grey pictures after a telephone's encoder: appends the bytes to path, returns how many pictures."""
    w, h = scene.width + scene.width % 2, scene.height + scene.height % 2
    with tempfile.NamedTemporaryFile(suffix=".mkv") as stored, open(path, "ab") as file:
        encode(pictures, stored.name, scene, "gray", "yuvj420p", scene.fps)
        decoder = subprocess.Popen(QUIET + ["-i", stored.name, "-f", "rawvideo", "-pix_fmt", "gray", "-"], stdout=subprocess.PIPE)
        n = 0
        while len(data := decoder.stdout.read(w * h)) == w * h:
            file.write(np.frombuffer(data, np.uint8).reshape(h, w)[:scene.height, :scene.width].tobytes())
            n += 1
        decoder.wait()
    return n


def store(path, scene, rate=None):
    """The scene in colour as a film a browser plays; `rate`: pictures a second as stored, less than taken is slow motion."""
    stage = Stage(scene)
    film = Film(stage, colour)
    encode((film.frame(i) for i in range(stage.frames)), path, scene, "rgb24", "yuv420p", rate or scene.fps)


def tell(folder, header, truth):
    os.makedirs(folder, exist_ok=True)
    with open(os.path.join(folder, "truth.json"), "w", encoding="utf-8") as file:
        json.dump({"header": header, "truth": truth}, file)


def write(folder, scene):
    """Draws a scene into folder: film.bin and truth.json."""
    stage = Stage(scene)
    film = Film(stage)
    header, truth = stage.truth()
    path = os.path.join(folder, "film.bin")
    os.makedirs(folder, exist_ok=True)
    with open(path, "wb") as file:
        file.write(json.dumps(header, separators=(",", ":")).encode() + b"\n")
    pictures = (film.frame(i) for i in range(stage.frames))
    if scene.bits:
        n = compressed(pictures, path, scene)
        if n != stage.frames:
            raise RuntimeError("the encoder gave %d of %d pictures" % (n, stage.frames))
    else:
        with open(path, "ab") as file:
            for picture in pictures:
                file.write(picture.tobytes())
    truth["seen_px"], truth["contrast"] = np.round(np.array(film.seen).T, 1).tolist()
    tell(folder, header, truth)


def read(folder):
    """(header, truth, frames (n, height, width) uint8) of a folder that write() made."""
    with open(os.path.join(folder, "truth.json"), encoding="utf-8") as file:
        both = json.load(file)
    shape = [both["header"][k] for k in ("frames", "height", "width")]
    path = os.path.join(folder, "film.bin")
    frames = np.memmap(path, np.uint8, "r", os.path.getsize(path) - int(np.prod(shape)), tuple(shape))
    return both["header"], both["truth"], frames


def sheet(path, folder, columns=6, rows=3):
    """Some frames side by side: six moments, then others all through."""
    from PIL import Image
    _, truth, frames = read(folder)
    moments = [truth["instants"][c] for c in ("address", "shaft_back", "top", "shaft_down", "impact", "shaft_through")]
    picked = np.concatenate([moments, np.linspace(.3 * len(frames), len(frames) - 1, columns * (rows - 1))])
    picked = np.minimum(np.round(picked).astype(int), len(frames) - 1).reshape(rows, columns)
    Image.fromarray(np.concatenate([np.concatenate([frames[i] for i in row], axis=1) for row in picked])).save(path)


def main():
    import scenes
    parser = argparse.ArgumentParser()
    parser.add_argument("--out")
    parser.add_argument("--sheet")
    parser.add_argument("--film")
    parser.add_argument("--stored", type=float)
    parser.add_argument("--scene")
    parser.add_argument("--list", action="store_true")
    parser.add_argument("--size")
    fields = {f.name: f for f in dataclasses.fields(Scene) if f.name not in ("width", "height", "name")}
    for name, f in fields.items():
        kind = bool if isinstance(f.default, bool) else type(f.default) if f.default is not None else str
        parser.add_argument("--" + name, type=(lambda v: v == "1") if kind is bool else kind)
    options = parser.parse_args()
    if options.list or not options.out:
        for scene in scenes.ALL:
            print(scene)
        return
    scene = scenes.BY_NAME[options.scene] if options.scene else Scene()
    given = {name: getattr(options, name) for name in fields if getattr(options, name) is not None}
    if options.size:
        given["width"], given["height"] = (int(v) for v in options.size.split("x"))
    scene = dataclasses.replace(scene, **given)
    if options.film:
        store(options.film, scene, options.stored)
        tell(options.out, *Stage(scene).truth())
        return
    write(options.out, scene)
    if options.sheet:
        sheet(options.sheet, options.out)


if __name__ == "__main__":
    main()
