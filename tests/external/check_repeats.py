#!/usr/bin/python3
"""How well a measure repeats and what small trials say together: published values, statsmodels, and simulated clubs whose truth is
known.

Usage: check_repeats.py BUILD."""
import os
import subprocess
import sys

import numpy as np
from statsmodels.stats.meta_analysis import combine_effects

BUILD = sys.argv[1] if len(sys.argv) > 1 else "build"
count = {"passed": 0, "failed": 0, "skipped": 0}


def check(ok, text):
    count["passed" if ok else "failed"] += 1
    print(("ok      " if ok else "FAILED  ") + text)


def near(got, want, tolerance, text):
    check(abs(float(got) - want) <= tolerance, "%s: %.5g, expected %.5g" % (text, float(got), want))


def ask(lines):
    out = subprocess.run([os.path.join(BUILD, "tests", "external_repeats")], input="\n".join(lines) + "\n", text=True,
                         capture_output=True, check=True).stdout.split("\n")[:-1]
    return [[float(word) for word in line.split()] if line != "none" else None for line in out]


def repeat(table):
    table = np.asarray(table, float)
    return "repeat %d %d " % table.shape + " ".join("%.17g" % x for x in table.ravel())


def pool(values, errors):
    return "pool %d " % len(values) + " ".join("%.17g %.17g" % pair for pair in zip(values, errors))


def published():
    """Six subjects, four judges: Shrout & Fleiss 1979, table 2."""
    table = [[9, 2, 5, 8], [6, 1, 3, 2], [8, 4, 6, 8], [7, 1, 2, 6], [10, 5, 6, 9], [6, 2, 4, 7]]
    mean, agreement, consistency, _, within, sem, mdc = ask([repeat(table)])[0]
    near(agreement, 0.29, 0.005, "ICC(2,1) of Shrout & Fleiss 1979")
    near(consistency, 0.71, 0.005, "ICC(3,1) of the same")
    near(sem ** 2, 1.02, 0.005, "their residual mean square")
    near(within ** 2, 6.26, 0.01, "their mean square within subjects")
    near(mdc, 1.96 * np.sqrt(2) * sem, 1e-12, "the least change to believe")
    near(mean, np.mean(table), 1e-12, "the mean")
    schools = ask([pool([28, 8, -3, 7, -1, 1, 18, 12], [15, 10, 16, 11, 9, 11, 10, 18])])[0]
    near(schools[0], 7.7, 0.05, "eight schools (Rubin 1981): the pooled mean")
    near(schools[3], 0, 1e-9, "and the most likely tau, 0")
    check(np.allclose(schools[4:], schools[0]), "so that each school is drawn to it wholly")


def recomputed():
    """Variances worked out by projections, against the program's sums."""
    dice = np.random.default_rng(7)
    worst = 0
    for _ in range(40):
        n, k = dice.integers(2, 40), dice.integers(2, 6)
        table = dice.normal(0, 3, (n, 1)) + dice.normal(0, 1, (1, k)) + dice.normal(50, 2, (n, k))
        rows = k * table.mean(1).var(ddof=1)
        columns = n * table.mean(0).var(ddof=1)
        rest = ((table - table.mean(1, keepdims=True) - table.mean(0) + table.mean()) ** 2).sum() / ((n - 1) * (k - 1))
        wanted = [table.mean(), (rows - rest) / (rows + (k - 1) * rest + k * (columns - rest) / n), (rows - rest) / (rows + (k - 1) * rest),
                  np.sqrt(max(0, (rows - rest) / k)), np.sqrt(table.var(1, ddof=1).mean()), np.sqrt(rest), 1.96 * np.sqrt(2 * rest)]
        worst = max(worst, np.max(np.abs(np.array(ask([repeat(table)])[0]) - wanted)))
    check(worst < 1e-9, "every figure is numpy's: within %.1g" % worst)
    check(ask([repeat([[3, 3], [3, 3]])]) == [None], "nothing that differs has no reliability")


def enough():
    """Twenty subjects of three repeats: the spread is known to about a tenth."""
    dice = np.random.default_rng(11)
    spreads = np.array([of[4] for of in ask([repeat(dice.normal(0, 6, (20, 1)) + dice.normal(0, 2, (20, 3))) for _ in range(2000)])])
    near(spreads.std() / 2, 0.11, 0.01, "the error of a spread of 20 by 3, of itself")
    near(np.sqrt((spreads ** 2).mean()), 2, 0.02, "which is right on average")


def against_statsmodels():
    dice = np.random.default_rng(13)
    worst = {"mean": 0, "tau": 0, "low": 0}
    for _ in range(60):
        n = dice.integers(8, 60)
        errors = dice.uniform(0.5, 2, n)
        values = 1 + dice.normal(0, dice.uniform(0, 2), n) + dice.normal(0, 1, n) * errors
        got = ask([pool(values, errors)])[0]
        want = combine_effects(values, errors ** 2, method_re="iterated", use_t=True)
        worst["mean"] = max(worst["mean"], abs(got[0] - want.mean_effect_re))
        worst["tau"] = max(worst["tau"], abs(got[3] - np.sqrt(want.tau2)))
        plain, knapp = want.conf_int()[1], want.conf_int()[3]
        low = min(plain[0], knapp[0])
        worst["low"] = max(worst["low"], abs(got[1] - low))
    check(worst["mean"] < 1e-4 and worst["tau"] < 1e-3, "pooled mean and tau are statsmodels' (Paule-Mandel): within %(mean).1g and %(tau).1g" % worst)
    check(worst["low"] < 1e-3, "and the interval the wider of Hartung-Knapp's and the plain one: within %(low).1g" % worst)


def holds():
    """Clubs of eight to thirty students: the interval holds the truth, and drawing to the mean comes nearer to each student's."""
    dice = np.random.default_rng(19)
    held, nearer, lines, truths = [], [], [], []
    for _ in range(2000):
        n = dice.integers(8, 31)
        true = dice.normal(1.2, dice.choice([0, .5, 1.5]), n)
        truths.append(true)
        lines.append(pool(true + dice.normal(0, 1, n), np.ones(n)))
    for true, line, got in zip(truths, lines, ask(lines)):
        raw = np.array([float(x) for x in line.split()[2::2]])
        held.append(got[1] <= 1.2 <= got[2])
        nearer.append((np.mean((raw - true) ** 2), np.mean((np.array(got[4:]) - true) ** 2)))
    check(.94 <= np.mean(held) <= .985, "the mean's interval holds it in %.1f %% of 2000 clubs" % (100 * np.mean(held)))
    before, after = np.mean(nearer, 0)
    check(after < .7 * before, "a student's pooled effect is nearer to the truth: mean square %.2f, alone %.2f" % (after, before))


published()
recomputed()
enough()
against_statsmodels()
holds()
print("check_repeats: %(passed)d passed, %(failed)d failed, %(skipped)d skipped" % count)
sys.exit(1 if count["failed"] else 0)
