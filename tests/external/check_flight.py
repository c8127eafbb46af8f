#!/usr/bin/python3
"""Ball flight against numpy's cross product, the published face shares, and a rigid rolling impact."""
import subprocess
import sys

import numpy

results = [0, 0]


def report(what, good):
    results[0 if good else 1] += 1
    print(f"{what} {'ok' if good else 'FAILED'}")


def ask(build, lines):
    out = subprocess.run([f"{build}/tests/external_flight"], input="\n".join(lines) + "\n", capture_output=True,
                         text=True, check=True)
    return [[float(x) for x in line.split()] for line in out.stdout.splitlines()]


def unit(right, up):
    right, up = numpy.radians(right), numpy.radians(up)
    return numpy.array([numpy.cos(up) * numpy.cos(right), numpy.sin(up), numpy.cos(up) * numpy.sin(right)])


def rolling_share(speed, loft, head, restitution, open_deg=2.0):
    """Share of the start direction that is the face's, for a rolling impact of a rigid ball (level attack)."""
    ball, radius = 0.04593, 0.021335
    path, face = unit(0, 0) * speed, unit(open_deg, loft)
    normal = path @ face
    along = path - normal * face
    inertia = 0.4 * ball * radius**2
    velocity = face * normal * (1 + restitution) / (1 + ball / head) + along / (
        1 + ball / head + ball * radius**2 / inertia)
    return numpy.degrees(numpy.arctan2(velocity[2], velocity[0])) / open_deg


def main():
    build = sys.argv[1]
    rng = numpy.random.default_rng(3)
    cases = rng.uniform([-15, -15, -8, 6], [15, 15, 8, 60], (500, 4))
    got = ask(build, ["tilt " + " ".join(repr(float(x)) for x in c) for c in cases])
    worst = 0.0
    for (path, face, attack, loft), (tilt,) in zip(cases, got):
        axis = numpy.cross(unit(path, attack), unit(face, loft))
        want = numpy.degrees(numpy.arcsin(-axis[1] / numpy.linalg.norm(axis)))
        worst = max(worst, abs(want - tilt))
    report(f"spin axis, 500 random impacts: largest difference {worst:.2e} deg", worst < 1e-9 and len(got) == 500)
    for loft, want in ((12, 9.324), (20, 5.477), (45, 1.999)):
        tilt = ask(build, [f"tilt 0 2 0 {loft}"])[0][0]
        report(f"2 deg open at {loft} deg of loft: {tilt:.3f} (want {want})", abs(tilt - want) < 0.001)
    wood, iron, wedge = ask(build, ["shares"])[0]
    report(f"face shares fall with loft inside .61-.83: {wood} {iron} {wedge}", 0.83 >= wood > iron > wedge >= 0.61)
    model = [rolling_share(45, 12, 0.200, 0.78), rolling_share(40, 26, 0.25, 0.70), rolling_share(36, 45, 0.28, 0.65)]
    report("face shares within .03 of a rolling impact: " + " ".join(f"{m:.3f}" for m in model),
           all(abs(m - s) < 0.03 for m, s in zip(model, (wood, iron, wedge))))
    start = ask(build, ["start -4 2 0.76"])[0][0]
    report(f"start direction, path -4, face 2, share .76: {start:.4f}", abs(start - 0.56) < 1e-9)
    low, high = ask(build, [f"tempo {(24 / 30) / (8 / 30)!r}"])[0]
    report("tempo of 24 and 8 frames is in range", low == 0 and high == 0)
    low, high = ask(build, ["tempo 1.7"])[0]
    report(f"tempo 1.7 is hurried: severity {low:.3f} (want 0.500)", abs(low - 0.5) < 1e-9 and high == 0)
    print(f"check_flight: {results[0]} passed, {results[1]} failed, 0 skipped")
    return 1 if results[1] else 0


sys.exit(main())
