"""Generates swings in batches, scores them, and keeps truth beside report: the raw material of the tables."""
import argparse
import multiprocessing
import os
import zlib

import numpy as np

import document
import score
from faults import (FAULTS, KNOBS, PLATE, STANDARD, Player, dial, draw_values, fault_score, make_swing)

# What a player may miss of what was asked: both arms share what they can do.
MAY_MISS = {"fold_match", "lead_elbow_bend", "lead_elbow_gap", "order_back", "order_down"}
CLEAN_SCORE = .12  # a fault that is not dialled stays below this true score (present is from .20)
SPREAD = {(r["measure"], r.get("checkpoint")): r["sd"] for r in STANDARD["spread"]}


def options():
    """What the harnesses are called with; the program of that build is then the one that scores."""
    parser = argparse.ArgumentParser()
    parser.add_argument("build", nargs="?", default="build")
    parser.add_argument("--full", action="store_true")
    parser.add_argument("--swings", type=int)
    parser.add_argument("--workers", type=int, default=min(2, os.cpu_count() or 1))
    parser.add_argument("--only", action="append")
    parser.add_argument("--first", type=int)
    given = parser.parse_args()
    score.binary(given.build)
    return given


def generator(*seed):
    return np.random.default_rng(zlib.crc32(repr(seed).encode()))


def acceptable(values, club, wanted, exact):
    """Dialled faults are as strong as asked, others are not there but for what they share with the dialled signs."""
    for name in FAULTS:
        if name in wanted:
            s = fault_score(name, values, club)
            if abs(s - wanted[name]) > .11 and not s > wanted[name] > .64 and not wanted[name] > s > .64:
                return False
        elif fault_score(name, {k: v for k, v in values.items() if k not in exact}, club) > CLEAN_SCORE:
            return False
    return True


def draw(rng, fault, severity, also=(), player=None, habit=None):
    """(player, swing, truth) of one accepted swing; other players are tried until one can swing it."""
    dialled = ([fault] if fault else []) + list(also)
    for _ in range(60):
        p = player or Player(rng)
        if habit is None:
            values = draw_values(p, fault, severity, rng, also)
        else:
            values = {k: v + SPREAD.get(k, 0.0) * float(np.clip(rng.normal(), -2.5, 2.5)) for k, v in habit.items()}
        exact = set()
        for name in dialled:
            exact |= set(dial(name, severity, p.club))
        made = make_swing(p, values, exact=exact, label=(fault,) + tuple(also))
        if made is None:
            if player is not None:
                return None
            continue
        swing, truth = made
        if habit is None and any(k[0] not in MAY_MISS for k in swing.missed):
            continue
        most = {name: min(severity, fault_score(name, {**truth, **dial(name, severity, p.club)}, p.club)) for name in dialled}
        if habit is not None or acceptable(truth, p.club, most, exact):
            return p, swing, truth
        if player is not None:
            return None
    raise RuntimeError("no player can swing %s at %.2f" % (fault, severity))


def singles(job):
    """One batch of single swings: {fault, severity, also, n, seed, setups, build} -> a list of records."""
    rng = generator("single", job["fault"], job["severity"], job.get("also", ()), job["setups"], job["seed"])
    records, documents = [], {s: [] for s in job["setups"]}
    for _ in range(job["n"]):
        try:
            player, swing, truth = draw(rng, job["fault"], job["severity"], job.get("also", ()))
        except RuntimeError:
            if job.get("also"):
                break  # no body shows these two together
            raise
        records.append({"fault": job["fault"], "severity": job["severity"], "also": tuple(job.get("also", ())),
                        "club": player.club, "hand": player.hand, "height": player.height, "truth": truth,
                        "times": {c: swing.times[c] for c in swing.times}, "reports": {}})
        for setup in documents:
            documents[setup].append(document.document(player, swing, truth, rng, setup))
    for setup, docs in documents.items():
        for record, report in zip(records, score.run(job["build"], docs)):
            record["reports"][setup] = score.brief(report)
    return records


def lessons(job):
    """Lessons of k swings by one player from one stand of the tablets; the truth is the habit."""
    rng = generator("lesson", job["fault"], job["severity"], job["k"], job["seed"])
    records, groups = [], {s: [] for s in job["setups"]}
    while len(records) < job["n"]:
        player, first, habit = draw(rng, job["fault"], job["severity"])
        habit = {k: habit[k] for k in list(KNOBS) + PLATE}
        swings = [draw(rng, job["fault"], job["severity"], player=player, habit=habit) for _ in range(job["k"])]
        if any(s is None for s in swings):
            continue
        mean = {k: float(np.mean([t[k] for _, _, t in swings])) for k in swings[0][2]}
        records.append({"fault": job["fault"], "severity": job["severity"], "club": player.club, "truth": mean, "reports": {}})
        for setup in groups:
            session = None if setup == "motion" else document.Session(first, rng, not setup.startswith("no_sticks"))
            groups[setup].append([document.document(player, s, t, rng, setup, session) for _, s, t in swings])
    for setup, group in groups.items():
        for record, report in zip(records, score.run(job["build"], group, lesson=True)):
            record["reports"][setup] = score.brief(report)
    return records


def spread_out(work, jobs, workers=2):
    """Runs work(job) for every job, in the jobs' order."""
    if workers < 2:
        return [r for job in jobs for r in work(job)]
    with multiprocessing.get_context("fork").Pool(workers) as pool:
        return [r for part in pool.map(work, jobs, chunksize=1) for r in part]
