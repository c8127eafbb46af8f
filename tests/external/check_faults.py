#!/usr/bin/python3
"""P(fault present) and E[severity] against a Monte Carlo of a million draws over random sets of signs, whose marks may slip:
then one sign's error is wide; and, as far as the fault looks present, now and then all signs of marks say nothing, as if
nothing were wrong."""
import subprocess
import sys

import numpy

CASES = 300
DRAWS = 1_000_000
LIMIT = 0.01


def random_case(rng):
    n = int(rng.integers(1, 5))
    signs = []
    for _ in range(n):
        side = int(rng.integers(0, 2))
        ok = rng.normal(0, 20)
        span = rng.uniform(5, 40) * (1 if side else -1)
        weight = float(rng.choice([0.1, 0.2, 0.3, 0.4, 0.5, 0.6])) if rng.random() < 0.5 else rng.uniform(0.05, 1)
        sd = 0.0 if rng.random() < 0.08 else abs(span) * 10 ** rng.uniform(-2.5, 0.3)
        mean = ok + span * rng.normal(0.15, 0.4)
        slip = 0.0 if rng.random() < .4 else 1 - .99 ** int(rng.integers(1, 9))
        blind = 0.0 if slip == 0 else .01 if slip < .03 else .03
        signs.append((side, ok, ok + span, weight, mean, sd, slip, sd * rng.uniform(2, 8), blind))
    return float(rng.choice([0.2, 0.2, 0.2, 0.1, 0.35])), signs


def main():
    build = sys.argv[1]
    rng = numpy.random.default_rng(20260502)
    cases = [random_case(rng) for _ in range(CASES)]
    text = "".join(
        f"{threshold!r} {len(signs)} " + " ".join(" ".join(repr(float(x)) if i else str(x) for i, x in enumerate(s))
                                                 for s in signs) + "\n" for threshold, signs in cases)
    out = subprocess.run([f"{build}/tests/external_faults"], input=text, capture_output=True, text=True, check=True)
    rows = [[float(x) for x in line.split()] for line in out.stdout.splitlines()]
    passed = failed = 0
    if len(rows) != CASES:
        print(f"the driver answered {len(rows)} of {CASES} cases")
        failed += 1
    draws = rng.standard_normal((4, DRAWS))
    worst = {n: [0, 0.0] for n in range(1, 5)}
    worst_expected = 0.0
    for (threshold, signs), row in zip(cases, rows):
        total = sum(sign[3] for sign in signs)
        parts, wide, fine = [], [], []
        for k, (_, ok, strong, weight, mean, sd, _, sd_slip, _) in enumerate(signs):
            parts.append(weight * numpy.clip((mean + sd * draws[k] - ok) / (strong - ok), 0, 1))
            wide.append(weight * numpy.clip((mean + sd_slip * draws[k] - ok) / (strong - ok), 0, 1))
            worst_expected = max(worst_expected, abs(parts[k].mean() / weight - row[1 + k]))

        def chance(score):
            return (score / total >= threshold - 1e-12).mean()
        sound = chance(sum(parts))
        mixed, weights = sound, 1.0
        for k, sign in enumerate(signs):
            slip = sign[6]
            if slip == 0:
                continue
            odds = slip / (1 - slip)
            mixed += odds * chance(sum(parts) - parts[k] + wide[k])
            weights += odds
        mixed /= weights
        silent = chance(sum([part for part, sign in zip(parts, signs) if sign[8] == 0], numpy.zeros(DRAWS)))
        blind = sound * max(sign[8] for sign in signs)
        p = (1 - blind) * mixed + blind * silent
        entry = worst[len(signs)]
        entry[0] += 1
        entry[1] = max(entry[1], abs(p - row[0]))
    for n, (count, error) in worst.items():
        good = count > 20 and error <= LIMIT
        passed, failed = passed + good, failed + (not good)
        print(f"p present, {n} sign(s): {count} sets, largest difference {error:.5f} (limit {LIMIT}) {'ok' if good else 'FAILED'}")
    good = worst_expected <= 0.003
    passed, failed = passed + good, failed + (not good)
    print(f"expected severity: largest difference {worst_expected:.5f} (limit 0.003) {'ok' if good else 'FAILED'}")
    print(f"check_faults: {passed} passed, {failed} failed, 0 skipped")
    return 1 if failed else 0


sys.exit(main())
