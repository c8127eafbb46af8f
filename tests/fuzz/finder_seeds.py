#!/usr/bin/python3
"""Writes the seeds of fuzz_finder: small films with a club turning about the hands, some with a line in the first picture. The bytes are read as that file says."""
import os
import random

HERE = os.path.join(os.path.dirname(os.path.abspath(__file__)), "corpus", "finder")
POINTS = 20
GRIP = 16


def seed(name, width, height, frames, flags, club, rate, odd=(), pixels=200, rays=1):
    rng = random.Random(name)
    out = bytearray([width - 32, height - 32, frames - 3, flags, club - 24, rate])
    for f in range(frames):
        turn = f / (frames - 1)
        swung = 1 - abs(2 * turn - 1)  # up and down again
        for p in range(POINTS):
            if p != GRIP:
                out.append(rng.choice(odd) if odd else p % 2)
            out += bytes([120 if p == GRIP else rng.randrange(20, 220), 160 - int(100 * swung) if p == GRIP else rng.randrange(20, 220), 16])
        out.append(rays + 1)
        for _ in range(rays):
            out += bytes([int(64 + 160 * swung), 5, 100, 100, 60, 200, 0, 0, 60])
    row = [90 + rng.randrange(12) for _ in range(width)]
    row[width // 2] = row[width // 2 + 1] = 250  # repeated, a line from top to bottom
    out += bytes(row * (pixels // width + 1))
    with open(os.path.join(HERE, name), "wb") as file:
        file.write(out)


os.makedirs(HERE, exist_ok=True)
seed("seed-front", 150, 150, 40, 0b1101, 70, 17)
seed("seed-behind-left", 120, 150, 30, 0b0010, 60, 40)
seed("seed-no-ground", 100, 90, 5, 0b1001, 40, 10)
seed("seed-many-rays", 32, 32, 36, 0b0101, 56, 20, pixels=2000, rays=5)
seed("seed-odd-points", 90, 90, 12, 0b1101, 50, 30, odd=(1, 251, 252, 253, 254, 255))
seed("seed-short-club", 159, 159, 3, 0b1100, 24, 0)
