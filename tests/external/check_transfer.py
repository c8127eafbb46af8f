#!/usr/bin/python3
"""The range beside the course: the tests and the interval against published values and scipy, and simulated players, who play the
same in both places (days alike, or differing among themselves) or don't.

Usage: check_transfer.py BUILD."""
import itertools
import os
import subprocess
import sys

import numpy as np
from scipy import stats

BUILD = sys.argv[1] if len(sys.argv) > 1 else "build"
START, CURVE, STRIKE = (.25, .55, .2), (.2, .45, .35), (.55, .2, .15, .1)
COURSE, RANGE = 0, 1
count = {"passed": 0, "failed": 0, "skipped": 0}


def check(ok, text):
    count["passed" if ok else "failed"] += 1
    print(("ok      " if ok else "FAILED  ") + text, flush=True)


def ask(lines):
    out = subprocess.run([os.path.join(BUILD, "tests", "external_transfer")], input="\n".join(lines) + "\n", text=True,
                         capture_output=True, check=True).stdout.split("\n")[:-1]
    return [line.split() for line in out]


def row(word, *parts):
    return word + " " + " ".join("%.17g" % x for part in parts for x in np.ravel(part))


def four(counts):
    return list(counts) + [0] * (4 - len(counts))


def published():
    tea = float(ask([row("exact", four([3, 1]), four([1, 3]))])[0][0])
    check(abs(tea - 17 / 35) < 1e-12, "Fisher's lady and her tea, both sides: %.4f (34 of 70)" % tea)
    value, low, high = map(float, ask([row("difference", 56, 70, 48, 80, 1, 1)])[0])
    check((round(value, 4), round(low, 4), round(high, 4)) == (.2, .0524, .3339), "Newcombe's first example: %.4f, %.4f to %.4f" % (value, low, high))


def brute(first, second):
    """Every table with these margins, by scipy's law of draws without replacement."""
    columns, n = np.add(first, second), sum(first)
    law = stats.multivariate_hypergeom(columns, n)
    seen = law.pmf(first)
    tables = [t for t in itertools.product(*[range(min(c, n) + 1) for c in columns]) if sum(t) == n]
    chances = law.pmf(np.array(tables))
    return chances[chances <= seen * (1 + 1e-7)].sum()


def beside_scipy():
    dice = np.random.default_rng(3)
    lines, wanted = [], []
    for _ in range(300):
        a, b = dice.integers(0, 40, (2, 2))
        lines.append(row("exact", four(a), four(b)))
        wanted.append(stats.fisher_exact([a, b])[1] if a.sum() and b.sum() else 1)
    for classes in (3, 4):
        for _ in range(25):
            a, b = dice.integers(0, 9, (2, classes))
            lines.append(row("exact", four(a), four(b)))
            wanted.append(brute(a, b) if a.sum() and b.sum() else 1)
    off = max(abs(float(got[0]) - want) for got, want in zip(ask(lines), wanted))
    check(off < 1e-9, "the exact test of 2, 3 and 4 classes is scipy's (%.1e off at most, of %d)" % (off, len(lines)))
    lines, wanted = [], []
    for _ in range(400):
        a, b = dice.integers(1, 60, (2, dice.integers(2, 5)))
        effect, freedom = dice.uniform(1, 4, 2), dice.integers(1, 200)
        chi = stats.chi2_contingency([a, b], correction=False)[0]
        worth = (effect[0] / a.sum() + effect[1] / b.sum()) / (1 / a.sum() + 1 / b.sum())
        lines.append(row("spread", four(a), four(b), effect, freedom))
        wanted.append(stats.f.sf(chi / (len(a) - 1) / worth, len(a) - 1, freedom))
    off = max(abs(float(got[0]) - want) for got, want in zip(ask(lines), wanted))
    check(off < 1e-9, "the F test too (%.1e off at most, of %d)" % (off, len(lines)))
    lines, wanted = [], []
    for _ in range(200):
        of = dice.integers(1, 80, 2)
        n = [dice.integers(0, k + 1) for k in of]
        (l1, u1), (l2, u2) = (stats.binomtest(int(k), int(m)).proportion_ci(.95, "wilson") for k, m in zip(n, of))
        p = np.divide(n, of)
        lines.append(row("difference", n[0], of[0], n[1], of[1], 1, 1))
        wanted.append((p[0] - p[1] - np.hypot(p[0] - l1, u2 - p[1]), p[0] - p[1] + np.hypot(u1 - p[0], p[1] - l2)))
    off = max(np.abs(np.array([float(x) for x in got[1:]]) - want).max() for got, want in zip(ask(lines), wanted))
    check(off < 1e-9, "the interval is made of scipy's score intervals (%.1e off at most)" % off)


def day(dice, place, shots, patterns, alike):
    """One day's counts: its own pattern is drawn round the player's; alike: how much two shots of one day have in common."""
    out = [place]
    for pattern in patterns:
        own = dice.dirichlet(np.array(pattern) * (1 / alike - 1)) if alike else np.array(pattern)
        out += four(dice.multinomial(shots, own / own.sum()))
    return out


def players(dice, n, rounds, per_round, sessions, per_session, alike, course=(START, CURVE, STRIKE)):
    lines = []
    for _ in range(n):
        days = [day(dice, COURSE, per_round, course, alike) for _ in range(rounds)] + \
            [day(dice, RANGE, per_session, (START, CURVE, STRIKE), alike) for _ in range(sessions)]
        lines.append(row("compare", len(days), *days))
    return ask(lines)


DESIGNS = ((2, 15, 2, 10), (2, 20, 4, 10), (3, 25, 6, 8), (6, 27, 12, 8))


def same_players():
    """Who plays the same in both places is told of another pattern one time in twenty at most."""
    dice, n = np.random.default_rng(7), 1500
    print("        told of another pattern, who plays the same:  rounds x shots, days x swings")
    for design in DESIGNS:
        wrong = {}
        for alike in (0, .03, .08):
            told = players(dice, n, *design, alike)
            wrong[alike] = sum(line[0] == "another_pattern" for line in told) / n
        print("        %2d x %2d, %2d x %2d: " % design + ", ".join("%.1f %% (days alike by %.2f)" % (100 * share, alike) for alike, share in wrong.items()))
        bound = .05 + 3 * np.sqrt(.05 * .95 / n)
        check(wrong[0] <= .05 and max(wrong.values()) <= bound, "%d rounds of %d, %d days of %d: at most one in twenty" % design)


def other_players():
    """How often a real difference is told: the ball starts right so much more often on the course."""
    dice, n = np.random.default_rng(8), 500
    power, wrong_way = {}, 0
    print("        told of another pattern, whose ball starts right more often on the course by .1, .2, .3, .4 (days alike by .03)")
    for design in DESIGNS:
        for more in (.1, .2, .3, .4):
            start = (START[0] * (1 - more / .8), START[1] * (1 - more / .8), START[2] + more)
            told = players(dice, n, *design, .03, (start, CURVE, STRIKE))
            named = [(int(line[3]), float(line[5]) + float(line[6]) > 0) for line in told if line[2] == "another_pattern"]
            power[design, more] = sum(up == (start[at] > START[at]) for at, up in named) / n  # left and straight do become rarer
            wrong_way += len(named) - round(power[design, more] * n)
        print("        %2d x %2d, %2d x %2d: " % design + ", ".join("%3.0f %%" % (100 * power[design, more]) for more in (.1, .2, .3, .4)))
    check(power[DESIGNS[3], .3] >= .8, "with six rounds and a dozen days a difference of .3 is told four times in five (%.0f %%)" % (100 * power[DESIGNS[3], .3]))
    check(wrong_way <= .001 * n * len(power), "what is named differs that way (%d of %d do not)" % (wrong_way, n * len(power)))
    check(all(power[design, .4] >= power[design, .2] for design in DESIGNS), "the larger, the more often")


def coverage():
    """The limits hold the true difference about 95 % of the time, days alike or not."""
    dice, n = np.random.default_rng(9), 800
    for alike in (0, .05):
        start = (.2, .45, .35)
        told = players(dice, n, 4, 25, 8, 10, alike, (start, CURVE, STRIKE))
        held = judged = 0
        for line in told:
            at = int(line[3])
            judged += 1
            held += float(line[5]) <= start[at] - START[at] <= float(line[6])
        check(held / judged >= .9, "days alike by %.2f: the limits hold the difference of what stands out in %.1f %%" % (alike, 100 * held / judged))


def few():
    both = [0, *four([6, 6, 7]), *four([6, 6, 7]), *four([6, 6, 7])]
    one = [1, *four([40, 0, 0]), *four([40, 0, 0]), *four([0, 40, 0])]
    told = ask([row("compare", 2, both, one), "compare 0", row("compare", 4, [0, *four([9, 0, 0]) * 3], [0, *four([10, 0, 0]) * 3], [1, *four([0, 0, 10]) * 3], [1, *four([0, 0, 10]) * 3]),
                row("compare", 4, [0, *four([10, 0, 0]) * 3], [0, *four([10, 0, 0]) * 3], [1, *four([0, 0, 10]) * 3], [1, *four([0, 0, 10]) * 3])])
    check([line[0] for line in told] == ["too_few", "too_few", "too_few", "another_pattern"], "one day, no day and 19 shots are too few, 20 on two days are not: %s" % [line[0] for line in told])


published()
beside_scipy()
few()
same_players()
other_players()
coverage()
print("transfer: %(passed)d passed, %(failed)d failed, %(skipped)d skipped" % count)
sys.exit(1 if count["failed"] else 0)
