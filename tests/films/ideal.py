"""What the best reader of an arm's level instant could reach with joints as wrong as those of the films: one that knows how a few
hundred other players of the same making move (mean and covariance of wrists and shoulders of both sides over the swing, two
halves that judge one another), the exact covariance of the joints' errors in time, and the true top and impact besides: the
best linear prediction (kriging) of every joint's course from every joint's places at once. Nothing is drawn.

It can't be built for real players, whose mean and covariance nobody knows; what even it does not reach, no reader does."""
import dataclasses
import random

import numpy as np

from scene import POSE_SD, SLOW_S, Scene, Stage, sparse_frames
from scenes import BEHIND, FRONT
from study import FAULTS

ARMS = {"arm_back": ("lead", "address", "top"), "arm_down": ("lead", "top", "impact"), "arm_through": ("trail", "impact", "finish")}
RATES = (30, 60, 120, 240)
GRID = np.linspace(-.35, 1.25, 26)  # of the way from one known instant to the next
UNKNOWN = 3e-6  # variance that the population has not shown, of the body's height


def case(stage, header, truth, arm):
    """One arm of one film: its courses on the grid, its places in the frames that the pose library was shown."""
    side, begin, end = ARMS[arm]
    other = "trail" if side == "lead" else "lead"
    names = [s + j for s in (side, other) for j in ("_wrist", "_shoulder")]
    body, a, b = header["body_px"], truth["instants"][begin], truth["instants"][end]
    use = sparse_frames(np.array(truth["points"]["grip"]), body, stage.scene.fps)
    phase = (use - a) / (b - a)
    use, phase = use[(phase >= GRID[0]) & (phase <= GRID[-1])], phase[(phase >= GRID[0]) & (phase <= GRID[-1])]
    true = [np.array(truth["points"][n])[:, 1] / body for n in names]
    told = [np.array(header["joints"][n])[:, 1] / body for n in names]
    return {"arm": arm, "view": stage.scene.view, "fps": stage.scene.fps, "level": truth["level"][arm], "frames": a + GRID * (b - a),
            "courses": np.concatenate([np.interp(a + GRID * (b - a), np.arange(len(q)), q) for q in true]) - np.mean(true),
            "use": use, "phase": phase, "told": np.concatenate([q[use] for q in told]) - np.mean(told)}


def population(count):
    """Cases of `count` players, half of them from behind, at all rates, a third with a fault in the swing."""
    lot, cases = random.Random("ideal"), []
    for i in range(count):
        scene = Scene(200000 + i, (BEHIND, FRONT)[i % 2], 405, 720, RATES[i // 2 % 4], pace=lot.uniform(.9, 1.25),
                      fault=lot.choice(list(FAULTS)) if lot.random() < .33 else None)
        try:
            stage = Stage(scene)
        except RuntimeError:  # nobody can swing that fault so strongly
            stage = Stage(dataclasses.replace(scene, fault=None))
        told = stage.truth()
        cases += [{**case(stage, *told, arm), "half": i // 8 % 2} for arm in ARMS if told[1]["level"][arm] is not None]
    return cases


def read(one, mean, spread, joints):
    """The level instant, in frames, from the first so many of the joints; None where the likeliest course never passes level."""
    n = len(GRID)
    place = (one["phase"] - GRID[0]) / (GRID[1] - GRID[0])
    left = np.minimum(place.astype(int), n - 2)
    pick = np.zeros((len(place), n))
    pick[np.arange(len(place)), left], pick[np.arange(len(place)), left + 1] = 1 - (place - left), place - left
    apart = (one["use"][:, None] - one["use"][None, :]) / one["fps"]
    error = POSE_SD ** 2 * (.5 * np.exp(-apart ** 2 / (4 * SLOW_S ** 2)) + .5 * np.eye(len(place)))
    told, mean = one["told"][:joints * len(place)], mean[:max(joints, 2) * n]
    if joints:
        pick, error, spread = np.kron(np.eye(joints), pick), np.kron(np.eye(joints), error), spread[:joints * n, :joints * n]
        mean = mean + spread @ pick.T @ np.linalg.solve(pick @ spread @ pick.T + error, told - pick @ mean)
    over = mean[:n] - mean[n:2 * n]
    k = np.flatnonzero((over[:-1] < 0) != (over[1:] < 0))
    if len(k) == 0:
        return None
    at = one["frames"][k] + (one["frames"][k + 1] - one["frames"][k]) * over[k] / (over[k] - over[k + 1])
    return float(at[np.argmin(np.abs(at - one["level"]))])


def misses(cases, joints):
    """{(arm, rate): frames off, of every player}. joints: 4, 2 (the arm's own wrist and shoulder) or 0, which looks at none."""
    out = {}
    for arm in ARMS:
        for view in (BEHIND, FRONT):
            own = [c for c in cases if (c["arm"], c["view"]) == (arm, view)]
            known = {h: np.array([c["courses"] for c in own if c["half"] == h]) for h in (0, 1)}
            known = {h: (q.mean(axis=0), np.cov(q.T) + UNKNOWN * np.eye(q.shape[1])) for h, q in known.items()}
            for c in own:
                at = read(c, *known[1 - c["half"]], joints)
                if at is not None:
                    out.setdefault((arm, c["fps"]), []).append(abs(at - c["level"]))
    return {k: np.array(v) for k, v in out.items()}
