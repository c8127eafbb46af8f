#!/usr/bin/python3
"""Pictures of drawn players at the moments of the swing, in colour, with the true place of every point: what the pose library in the
browser is held against. Scenes are those drawn by lot, as tall as a telephone's film.

Usage: stills.py FOLDER SCENES   writes 0.png, 1.png... and stills.json: [{file, scene, view, hand, checkpoint, width, height, body_px, points}]"""
import dataclasses
import json
import os
import sys

from PIL import Image

sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))

import render  # noqa: E402
import scenes  # noqa: E402

SIZE = {"width": 540, "height": 960}


def main():
    folder, count = sys.argv[1], int(sys.argv[2])
    told = []
    for scene in scenes.by_lot(count):
        stage = render.Stage(dataclasses.replace(scene, **SIZE))
        film = render.Film(stage, render.colour)
        header, truth = stage.truth()
        for checkpoint, at in truth["instants"].items():
            frame = min(max(int(round(at)), 0), stage.frames - 1)
            name = "%d.png" % len(told)
            Image.fromarray(film.frame(frame)).save(os.path.join(folder, name))
            told.append({"file": name, "scene": scene.name, "view": scene.view, "hand": header["hand"], "checkpoint": checkpoint, **SIZE,
                         "body_px": header["body_px"], "points": {point: places[frame] for point, places in truth["points"].items()}})
    with open(os.path.join(folder, "stills.json"), "w", encoding="utf-8") as file:
        json.dump(told, file)


main()
