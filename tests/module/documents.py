#!/usr/bin/python3
"""Writes COUNT swing documents of the truth harness's players into FOLDER as 000.json, 001.json...: every fault in turn, from
none to strong, in every set-up: two cameras with and without sticks, with gaps, and markers in motion.

Usage: documents.py FOLDER COUNT"""
import json
import os
import sys

HERE = os.path.dirname(os.path.abspath(__file__))
sys.path.insert(0, os.path.join(HERE, "..", "external", "truth"))
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import document  # noqa: E402
import study  # noqa: E402
from faults import FAULTS  # noqa: E402

SETUPS = ["sticks_scale", "no_sticks_scale", "sticks_gaps", "motion"]
SHARE = {"motion": 1}  # of the documents of one swing; those of motion are large
OF_PICTURES = 6


def main():
    folder, count = sys.argv[1], int(sys.argv[2])
    rng = study.generator("module")
    done = 0
    faults = [None] + list(FAULTS)
    for turn in range(10 * count):
        try:
            player, swing, truth = study.draw(rng, faults[turn % len(faults)], .2 + .15 * (turn % 5))
        except RuntimeError:
            continue
        for setup in SETUPS:
            for _ in range(SHARE.get(setup, OF_PICTURES)):
                with open(os.path.join(folder, "%03d.json" % done), "w", encoding="utf-8") as file:
                    json.dump(document.document(player, swing, truth, rng, setup), file)
                done += 1
                if done == count:
                    return


main()
