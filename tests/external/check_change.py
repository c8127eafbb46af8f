#!/usr/bin/python3
"""Whether something changed: against the worked value of a golf study, and a simulation of players who did not change.

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
    """Side carry of amateurs in golf (Villarrasa-Sapina et al. 2022): SEM 12.05 m, the least change to believe 33.41 m."""
    needed = ask([row("judge", 0, 12.05, 0, 1, 12.05, 0, 1, -5, 5)])[0][2]
    near(needed, 33.41, 0.02, "what two values with that SEM must differ by")


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
unchanged()
print("check_change: %(passed)d passed, %(failed)d failed, %(skipped)d skipped" % count)
sys.exit(1 if count["failed"] else 0)
