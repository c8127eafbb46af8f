#!/usr/bin/python3
"""Whether something changed, and repeatability: against the worked values of Weir 2005 and of a golf study, numpy's least
squares, and a simulation of players who did not change.

Usage: check_change.py BUILD."""
import os
import subprocess
import sys

import numpy as np

BUILD = sys.argv[1] if len(sys.argv) > 1 else "build"
count = {"passed": 0, "failed": 0, "skipped": 0}


def check(ok, text):
    count["passed" if ok else "failed"] += 1
    print(("ok      " if ok else "FAILED  ") + text)


def ask(lines):
    out = subprocess.run([os.path.join(BUILD, "tests", "external_change")], input="\n".join(lines) + "\n", text=True,
                         capture_output=True, check=True).stdout.split("\n")[:-1]
    return [line.split() for line in out]


def row(word, *parts):
    return word + " " + " ".join("%.17g" % x for part in parts for x in np.ravel(part))


def near(got, want, tolerance, text):
    check(abs(float(got) - want) <= tolerance, "%s: %.5g, expected %.5g" % (text, float(got), want))


def published():
    """Weir 2005, trials A1 and A2: SEM 7.6, minimal difference 20.95. Side carry in golf: SEM 12.05 m, MDC 33.41 m."""
    first = [146, 148, 170, 90, 157, 156, 176, 205]
    second = [140, 152, 152, 99, 145, 153, 167, 218]
    icc, sem, mdc = ask([row("repeat", [8, 2], np.column_stack([first, second]))])[0]
    near(sem, 7.557, 0.0005, "Weir's set A, SEM as the root of the error mean square")
    near(sem, 7.6, 0.05, "as printed")
    near(mdc, 20.947, 0.0005, "its minimal difference")
    near(icc, 0.947, 0.0005, "its ICC(3,1)")
    near(ask(["mdc 12.05"])[0][0], 33.41, 0.02, "side carry of amateurs, Villarrasa-Sapina et al. 2022")
    near(ask(["sem 10.2 0.95"])[0][0], 10.2 * np.sqrt(0.05), 1e-12, "SEM from SD and ICC")


def least_squares():
    """Residuals of a least-squares fit of player and trial effects, by numpy."""
    dice = np.random.default_rng(7)
    worst, lines, wanted = 0.0, [], []
    for _ in range(200):
        players, trials = int(dice.integers(2, 20)), int(dice.integers(2, 6))
        x = dice.normal(0, 5, (players, 1)) + dice.normal(0, 2, (1, trials)) + dice.normal(0, dice.uniform(0.1, 4), (players, trials))
        design = np.column_stack([np.repeat(np.eye(players), trials, axis=0), np.tile(np.eye(trials), (players, 1))])
        residual = x.ravel() - design @ np.linalg.lstsq(design, x.ravel(), rcond=None)[0]
        error = residual @ residual / ((players - 1) * (trials - 1))
        between = trials * np.var(x.mean(axis=1), ddof=1)
        lines.append(row("repeat", [players, trials], x))
        wanted.append([(between - error) / (between + (trials - 1) * error), np.sqrt(error), 1.96 * np.sqrt(2 * error)])
    for got, want in zip(ask(lines), wanted):
        worst = max(worst, max(abs(float(g) - w) for g, w in zip(got, want)))
    check(worst < 1e-9, "200 random tables as least squares have them, to %.1e" % worst)


def unchanged():
    """Players who did not change are told that they did in 1 of 20 cases; those who did by much, always."""
    dice = np.random.default_rng(11)
    n = 20000
    for same, label in ((1, "nothing set up anew"), (0, "set up anew")):
        se = dice.uniform(0.5, 4, (n, 2))
        systematic = dice.uniform(0.5, 6, (n, 1)) * np.ones((1, 2))
        bias = dice.normal(0, 1, (n, 1)) * np.ones((1, 2)) if same else dice.normal(0, 1, (n, 2))
        values = 100 + bias * systematic + dice.normal(0, 1, (n, 2)) * se
        lines = [row("judge", values[i, 0], se[i, 0], systematic[i, 0], values[i, 1], se[i, 1], systematic[i, 1], same, 0, 10)
                 for i in range(n)]
        told = ask(lines)
        wrong = sum(verdict != "no_real_change" for verdict, _, _ in told) / n
        check(abs(wrong - 0.05) < 4 * np.sqrt(0.05 * 0.95 / n), "%s: %.2f %% of unchanged players are told of a change" % (label, 100 * wrong))
    told = ask([row("judge", 100, 1, 1, 60, 1, 1, 0, 0, 10), row("judge", 60, 1, 1, 100, 1, 1, 0, 0, 10),
                row("judge", 2, 0.1, 0, 8, 0.1, 0, 1, 0, 10)])
    check([line[0] for line in told] == ["improved", "worse", "no_real_change"], "towards the range, away from it, inside it")


published()
least_squares()
unchanged()
print("check_change: %(passed)d passed, %(failed)d failed, %(skipped)d skipped" % count)
sys.exit(1 if count["failed"] else 0)
