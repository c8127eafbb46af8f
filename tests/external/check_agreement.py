#!/usr/bin/python3
"""Agreement beyond chance: published tables, statsmodels for the values and the large-sample errors, and a bootstrap over swings
for the intervals.

Usage: check_agreement.py BUILD."""
import os
import subprocess
import sys

import numpy as np
from statsmodels.stats.inter_rater import aggregate_raters, cohens_kappa, fleiss_kappa

BUILD = sys.argv[1] if len(sys.argv) > 1 else "build"
count = {"passed": 0, "failed": 0, "skipped": 0}

# Fleiss 1971, Psychol Bull 76:378-382: 30 patients, six psychiatrists, five diagnoses.
FLEISS_1971 = """444444 222555 233335 555555 222444 113333 333355 113334 114444 555555 144444 124444 222333 144444 224445
333335 111455 111112 224444 133555 555555 244444 224555 114444 144445 222224 111155 224444 133333 555555""".split()


def check(ok, text):
    count["passed" if ok else "failed"] += 1
    print(("ok      " if ok else "FAILED  ") + text)


def near(got, want, tolerance, text):
    check(abs(float(got) - want) <= tolerance, "%s: %.5g, expected %.5g" % (text, float(got), want))


def ask(lines):
    out = subprocess.run([os.path.join(BUILD, "tests", "external_agreement")], input="\n".join(lines) + "\n", text=True,
                         capture_output=True, check=True).stdout.split("\n")[:-1]
    return [[float(word) for word in line.split()] for line in out]  # defined, bounded, agreed, kappa, low, high


def pair(tables, weighted=False):
    tables = np.asarray(tables)
    return "pair %d %d %d " % (tables.shape[1], weighted, len(tables)) + " ".join(map(str, tables.ravel()))


def many(counts):
    counts = np.asarray(counts)
    return "many %d %d " % (counts.shape[1], len(counts)) + " ".join(map(str, counts.ravel()))


def singly(table):
    """Each judgement of a table as a swing of its own."""
    table = np.asarray(table)
    out = []
    for cell in np.ndindex(*table.shape):
        for _ in range(table[cell]):
            out.append(np.zeros(table.shape, int))
            out[-1][cell] = 1
    return np.array(out)


def published():
    diagnoses = np.array([[int(each) for each in patient] for patient in FLEISS_1971])
    counts = aggregate_raters(diagnoses)[0]
    of = ask([many(counts)])[0]
    near(of[3], 0.430, 0.0005, "six psychiatrists, thirty patients (Fleiss 1971)")
    near(of[3], fleiss_kappa(counts), 1e-12, "the same by statsmodels")
    counts = [[0, 0, 0, 0, 14], [0, 2, 6, 4, 2], [0, 0, 3, 5, 6], [0, 3, 9, 2, 0], [2, 2, 8, 1, 1], [7, 7, 0, 0, 0],
              [3, 2, 6, 3, 0], [2, 5, 3, 2, 2], [6, 5, 2, 1, 0], [0, 2, 2, 3, 7]]
    near(ask([many(counts)])[0][3], 0.210, 0.0005, "ten subjects, fourteen raters, five categories")
    near(ask([pair(singly([[20, 5], [10, 15]]))])[0][3], 0.40, 1e-9, "two raters, 20/5/10/15")


def against_statsmodels():
    """Random tables: the values to the last digits; the errors, which are the large samples' there, within a tenth."""
    dice = np.random.default_rng(17)
    worst = {"kappa": 0, "error": 0, "fleiss": 0}
    for _ in range(60):
        k = int(dice.integers(2, 5))
        table = dice.multinomial(400, dice.dirichlet(np.ones(k * k) + 4 * np.eye(k).ravel())).reshape(k, k)
        plain, weighted = ask([pair(singly(table)), pair(singly(table), True)])
        for got, want in ((plain, cohens_kappa(table)), (weighted, cohens_kappa(table, wt="linear"))):
            worst["kappa"] = max(worst["kappa"], abs(got[3] - want.kappa))
            worst["error"] = max(worst["error"], abs((got[5] - got[4]) / (2 * 1.96 * want.std_kappa) - 1))
        counts = np.array([dice.multinomial(5, dice.dirichlet(np.ones(k))) for _ in range(40)])
        worst["fleiss"] = max(worst["fleiss"], abs(ask([many(counts)])[0][3] - fleiss_kappa(counts)))
    check(worst["kappa"] < 1e-10, "Cohen's kappa, plain and weighted, is statsmodels': within %.1g" % worst["kappa"])
    check(worst["error"] < 0.1, "and its standard error within %.1f %%" % (100 * worst["error"]))
    check(worst["fleiss"] < 1e-10, "Fleiss' kappa is statsmodels': within %.1g" % worst["fleiss"])


def cohen_of(tables):
    return cohens_kappa(tables.sum(0), return_results=False)


def fleiss_of(counts):
    """Not the same number of raters for every swing, recomputed."""
    n = counts.sum(1)
    share = ((counts ** 2).sum(1) - n) / (n * (n - 1))
    p = counts.sum(0) / counts.sum()
    return (share.mean() - (p ** 2).sum()) / (1 - (p ** 2).sum())


def against_bootstrap():
    """Twenty faults said of each swing hang together: the interval is that of swings drawn again, not of judgements."""
    dice = np.random.default_rng(23)
    tables = np.zeros((60, 3, 3), int)
    for swing in tables:
        clear = dice.beta(2, 1)  # some pictures show more than others, whatever the fault
        for _ in range(20):
            first = dice.integers(0, 3)
            swing[first, first if dice.random() < clear else dice.integers(0, 3)] += 1
    counts = np.array([dice.multinomial(dice.integers(2, 7), dice.dirichlet([.5, .5, .5])) for _ in range(60)])
    for name, data, line, value in (("two coaches", tables, pair(tables), cohen_of), ("many", counts, many(counts), fleiss_of)):
        got = ask([line])[0]
        near(got[3], value(data), 1e-10, name + ": the value")
        drawn = [value(data[dice.integers(0, len(data), len(data))]) for _ in range(1500)]
        ratio = (got[5] - got[4]) / (2 * 1.96) / np.std(drawn)
        check(0.88 < ratio < 1.15, "%s: the interval is %.2f of the bootstrap's" % (name, ratio))
    judged = cohens_kappa(tables.sum(0)).std_kappa
    ours = ask([pair(tables)])[0]
    check((ours[5] - ours[4]) / (2 * 1.96) > 1.2 * judged, "and wider than if each judgement stood alone")


def covers():
    """Two coaches who agree .6 beyond chance, fifty swings: the interval holds it about 95 times in 100."""
    dice = np.random.default_rng(29)
    lines = []
    for _ in range(1500):
        first = dice.integers(0, 3, 50)
        second = np.where(dice.random(50) < .6, first, dice.integers(0, 3, 50))
        tables = np.zeros((50, 3, 3), int)
        tables[np.arange(50), first, second] = 1
        lines.append(pair(tables))
    held = np.mean([of[4] <= .6 <= of[5] for of in ask(lines)])
    check(.925 < held < .97, "the interval holds the true kappa in %.1f %% of 1500 clubs" % (100 * held))


published()
against_statsmodels()
against_bootstrap()
covers()
print("check_agreement: %(passed)d passed, %(failed)d failed, %(skipped)d skipped" % count)
sys.exit(1 if count["failed"] else 0)
