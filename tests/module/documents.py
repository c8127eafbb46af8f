#!/usr/bin/python3
"""Writes COUNT swing documents of the truth harness's players into FOLDER as 000.json, 001.json...: every fault in turn, from
none to strong, and of each swing what a coach may send of it: both cameras or one, with sticks, a scale, gaps, loose sleeves, every
slip of the finger, what was seen and measured by eye (said in German), markers in motion, and marks beside what their film shows.

Usage: documents.py FOLDER COUNT"""
import json
import os
import sys

HERE = os.path.dirname(os.path.abspath(__file__))
sys.path.insert(0, os.path.join(HERE, "..", "external", "truth"))
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import document  # noqa: E402
import film  # noqa: E402
import slips  # noqa: E402
import study  # noqa: E402
from faults import FAULTS  # noqa: E402

SEEN = ["none", "slight", "clear", "strong"]
STRIKES = ["thin", "fat", "heel", "toe", "flush"]


def one_view(doc, which):
    return {**doc, "views": [doc["views"][which]]}


def by_eye(doc, turn):
    """A coach's own words and figures beside the pictures."""
    return {**doc,
            "seen": [{"fault": name, "severity": SEEN[(turn + i) % 4]} for i, name in enumerate(list(FAULTS)[turn % 5::5])],
            "measured": [{"measure": "shaft_direction", "checkpoint": "shaft_back", "value": turn % 21 - 10, "sd": 4,
                          "source": "nach Augenmaß, größtenteils „von hinten“"}],
            "flight": {"start": ("left", "straight", "right")[turn % 3], "curve": ("right", "left", "straight")[turn % 3],
                       "strike": STRIKES[turn % 5], "path_deg": turn % 9 - 4.0, "face_deg": turn % 7 - 3.0}}


def of_swing(player, swing, truth, rng, turn):
    def made(setup):
        return document.document(player, swing, truth, rng, setup)
    both = made("sticks" if turn % 2 else "no_sticks")
    for setup in ("sticks_scale", "no_sticks_scale", "no_sticks_gaps", "sticks_scale_gaps", "sticks_gaps"):
        yield made(setup)
    yield one_view(made("no_sticks_scale"), 0)
    yield one_view(made("sticks"), 1)
    yield by_eye(both, turn)
    yield by_eye(one_view(both, turn % 2), turn + 1)
    yield slips.sleeves(both, rng)[0]
    for slip in slips.SLIPS.values():
        yield (slip(both, rng) or [both])[0]
    for slip in ("off_200", "ends", "moment", "hand"):
        yield (slips.SLIPS[slip](one_view(both, (turn + 1) % 2), rng) or [both])[0]
    yield made("both" if turn % 4 == 0 else "motion")  # large ones
    session = document.Session(swing, rng, turn % 2 == 1)
    filmed = film.read(document.document(player, swing, truth, rng, "sticks", session), session, player, swing, rng)
    yield film.sent(filmed)
    yield film.sent(one_view(filmed, turn % 2))
    for slip in ("off_200", "moment", "hand"):
        yield film.sent((slips.SLIPS[slip](filmed, rng) or [filmed])[0])
        yield film.sent((slips.SLIPS[slip](one_view(filmed, (turn + 1) % 2), rng) or [filmed])[0])


def main():
    folder, count = sys.argv[1], int(sys.argv[2])
    rng = study.generator("module")
    done = 0
    faults = [None] + list(FAULTS)
    for turn in range(10 * count):
        try:
            drawn = study.draw(rng, faults[turn % len(faults)], .2 + .15 * (turn % 5))
        except RuntimeError:
            continue
        for doc in of_swing(*drawn, rng, turn):
            with open(os.path.join(folder, "%03d.json" % done), "w", encoding="utf-8") as file:
                file.write(json.dumps(doc, ensure_ascii=False))
            done += 1
            if done == count:
                return


main()
