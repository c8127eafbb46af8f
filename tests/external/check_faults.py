#!/usr/bin/python3
"""P(fault present) against a Monte Carlo of a million draws, and E[severity] against a sum over quantiles, over random sets of signs, whose marks may slip:
then one sign's error is wide; and, as far as the fault looks present, now and then all signs of marks say nothing, as if
nothing were wrong. In half of the sets the signs share marks: their errors are drawn together, as correlated as the set says.

Each set is drawn 200 000 times at first. Where the difference and what chance may have hidden of it (binomial) stay within the limit
that is enough; else, and for each set with a name, the million decides.

Usage: check_faults.py BUILD           sets drawn at random and sets with a name: those that were once far off
       check_faults.py BUILD --full    ten times as many random sets, of up to six signs, the worst printed"""
import subprocess
import sys

import numpy
from scipy.stats import norm

CASES = 300
DRAWS = 1_000_000
FIRST = 200_000  # draws at first; where they leave a doubt, all of them
SURE = 3.9  # standard errors of a share: a doubt of 1 in 10 000
LIMIT = 0.01
# (threshold, signs, correlations of the measures' errors or None); a sign is (side, ok, strong, weight, mean, sd, slip, sd
# slipped, blind). Severities are what is measured.
NAMED = {
    "a narrow sign beside a wider one clamped at zero": (0.2, [
        (1, 0, 1, 0.5, 0.41, 0.02, 0, 0, 0), (1, 0, 1, 0.5, -0.02, 0.03, 0, 0, 0)], None),
    "two narrow signs of one width, both half clamped": (0.2, [
        (1, 0, 1, 0.5, 0.37, 0.025, 0, 0, 0), (1, 0, 1, 0.5, 0.0, 0.025, 0, 0, 0)], None),
    "narrow signs beside a wide one clamped at zero": (0.2, [
        (1, 0, 1, 0.5, 0.41, 0.01, 0, 0, 0), (1, 0, 1, 0.3, -0.02, 0.03, 0, 0, 0), (1, 0, 1, 0.2, -0.4, 0.3, 0, 0, 0)], None),
    "two signs of the same marks": (0.2, [
        (1, 0, 1, 0.5, 0.1, 0.3, 0, 0, 0), (1, 0, 1, 0.5, 0.1, 0.3, 0, 0, 0)], [[1, .9], [.9, 1]]),
    "two signs that the same marks move apart": (0.2, [
        (1, 0, 1, 0.5, 0.1, 0.3, 0, 0, 0), (1, 0, 1, 0.5, 0.1, 0.3, 0, 0, 0)], [[1, -.9], [-.9, 1]]),
    "a low and a high sign of the same marks": (0.2, [
        (0, 0, -1, 0.5, -0.1, 0.3, 0, 0, 0), (1, 0, 1, 0.5, 0.1, 0.3, 0, 0, 0)], [[1, .9], [.9, 1]]),
}


def random_case(rng, most):
    n = int(rng.integers(1, most + 1))
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
    threshold = float(rng.choice([0.2, 0.2, 0.2, 0.1, 0.35]))
    if n == 1 or rng.random() < .5:
        return threshold, signs, None
    # as marks make them: each sign rests on a few inputs, some of them shared
    roots = rng.standard_normal((n, 3)) * (rng.random((n, 3)) < .7)
    own = rng.uniform(.2, 1.5, n)
    sds = numpy.sqrt((roots ** 2).sum(1) + own ** 2)
    together = (roots @ roots.T) / numpy.outer(sds, sds)
    numpy.fill_diagonal(together, 1)
    return threshold, signs, together.tolist()


def answers(build, cases):
    text = "".join(
        f"{threshold!r} {len(signs)} " + " ".join(" ".join(repr(float(x)) if i else str(x) for i, x in enumerate(s))
                                                 for s in signs)
        + "".join(f" {float(together[i][k]) if together else 0.0!r}" for i in range(len(signs)) for k in range(i)) + "\n"
        for threshold, signs, together in cases)
    out = subprocess.run([f"{build}/tests/external_faults"], input=text, capture_output=True, text=True, check=True)
    return [[float(x) for x in line.split()] for line in out.stdout.splitlines()]


QUANTILES = norm.ppf((numpy.arange(20_000) + .5) / 20_000)


def expected(signs):
    """E[severity] of each sign by itself: the mean over evenly spaced quantiles of its error."""
    return [numpy.clip((mean + sd * QUANTILES - ok) / (strong - ok), 0, 1).mean() for _, ok, strong, _, mean, sd, *_ in signs]


def drawn(draws, threshold, signs, together):
    """P present, by the draws."""
    if together:
        values, vectors = numpy.linalg.eigh(numpy.array(together))
        draws = (vectors * numpy.sqrt(numpy.maximum(values, 0))) @ draws[:len(signs)]
    total = sum(sign[3] for sign in signs)
    parts, wide = [], []
    for k, (_, ok, strong, weight, mean, sd, slip, sd_slip, _) in enumerate(signs):
        parts.append(weight * numpy.clip((mean + sd * draws[k] - ok) / (strong - ok), 0, 1))
        wide.append(weight * numpy.clip((mean + sd_slip * draws[k] - ok) / (strong - ok), 0, 1) if slip else None)

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
    blind = sound * max(sign[8] for sign in signs)
    silent = chance(sum([part for part, sign in zip(parts, signs) if sign[8] == 0], numpy.zeros(draws.shape[1]))) if blind else 0
    return (1 - blind) * mixed + blind * silent


class Checks:
    def __init__(self):
        self.passed = self.failed = 0

    def __call__(self, good, text):
        self.passed, self.failed = self.passed + bool(good), self.failed + (not good)
        print(f"{text} {'ok' if good else 'FAILED'}", flush=True)


def main():
    build, full = sys.argv[1], "--full" in sys.argv[2:]
    most = 6 if full else 4
    rng = numpy.random.default_rng(20260503 if full else 20260502)
    cases = [random_case(rng, most) for _ in range(CASES * 10 if full else CASES)]
    rows = answers(build, cases)
    named_rows = answers(build, NAMED.values())
    check = Checks()
    if len(rows) != len(cases):
        check(False, f"the driver answered {len(rows)} of {len(cases)} cases")
    draws = rng.standard_normal((most, DRAWS))
    worst = {(n, joint): [0, 0.0, None] for n in range(1, most + 1) for joint in (False, True)[:1 if n == 1 else 2]}
    worst_expected, again = 0.0, 0
    for case, row in zip(cases, rows):
        p = drawn(draws[:, :FIRST], *case)
        if full or abs(p - row[0]) + SURE * max((p * (1 - p) / FIRST) ** .5, 1 / FIRST) > LIMIT:
            p = drawn(draws, *case)
            again += 1
        worst_expected = max(worst_expected, *(abs(a - b) for a, b in zip(expected(case[1]), row[1:])))
        entry = worst[len(case[1]), case[2] is not None]
        entry[0] += 1
        if abs(p - row[0]) > entry[1]:
            entry[1:] = abs(p - row[0]), case
    for (n, joint), (count, error, case) in worst.items():
        check(count > 20 and error <= LIMIT, f"p present, {n} sign(s){' that share marks' if joint else ''}: {count} sets, "
              f"largest difference {error:.5f} (limit {LIMIT})")
        if full or error > LIMIT:
            print(f"  the worst: {case}")
    for (name, case), row in zip(NAMED.items(), named_rows, strict=True):
        p = drawn(draws, *case)
        check(abs(p - row[0]) <= LIMIT, f"p present, {name}: {row[0]:.4f}, drawn {p:.4f} (limit {LIMIT})")
    print(f"  {again} of {len(cases)} sets took the million draws")
    check(worst_expected <= 0.003, f"expected severity: largest difference {worst_expected:.5f} (limit 0.003)")
    print(f"check_faults: {check.passed} passed, {check.failed} failed, 0 skipped")
    return 1 if check.failed else 0


sys.exit(main())
