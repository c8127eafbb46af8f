"""Swings to order: clean ones in the middle of every range, and each fault as a dial that moves only its own signs.

A swing is asked for by the true values of its measures; the keys of the player are turned until the 3D has them. The
ranges are read from the house standard (data): a dial of severity s puts a measure s of the way from ok to strong."""
import json
import os

import numpy as np

from measures import truth
from player import AT, DEFAULT_KEYS, Body, Swing

HERE = os.path.dirname(os.path.abspath(__file__))
STANDARD = json.load(open(os.path.join(HERE, "..", "..", "..", "server", "standard", "default.json")))
# kind, number, length of an adult's club (m), hands ahead at address and impact (deg), ball toward the target (m)
CLUBS = {"driver": ("driver", None, 1.14, 0.0, 1.0, .10), "7 iron": ("iron", 7, .94, 2.0, 6.0, .02),
         "wedge": ("wedge", None, .89, 3.0, 7.0, .0)}
PLATE = [("lead_share", c) for c in ("arm_back", "top", "impact", "arm_through")]


def _spread(first, **more):
    return {AT[k]: v for k, v in dict({first: 1.0}, **more).items()}


_ALL = {i: 1.0 for i in range(9)}
# measure -> (change of the amount per change of the measure, what the amount is added to)
KNOBS = {
    ("spine_tilt", "address"): (1, [("spine", _ALL)]),
    ("spine_change", "impact"): (1, [("spine", _spread("impact", shaft_through=1, shaft_down=.4))]),
    ("knee_flex", "address"): (1, "knee"),
    ("hands_gap", "address"): (1, "gap"),
    ("shaft_direction", "shaft_back"): (.8, [("shaft_off", _spread("shaft_back"))]),
    ("shaft_direction", "shaft_down"): (.8, [("shaft_off", _spread("shaft_down"))]),
    ("shaft_direction", "shaft_through"): (.8, [("shaft_off", _spread("shaft_through"))]),
    ("shaft_cross", "top"): (.9, [("shaft_off", _spread("top"))]),
    ("shaft_elevation", "top"): (-1.3, [("shaft", _spread("top"))]),
    ("shoulder_plane", "top"): (1, [("slope", _spread("top", arm_back=.6, arm_down=.6))]),
    ("trunk_lean", "top"): (1, [("lean", _spread("top", arm_back=.8, arm_down=.5))]),
    ("head_shift", "top"): (1, [("head", _spread("top", arm_back=.8, arm_down=.7))]),
    ("pelvis_shift", "arm_back"): (1, [("pelvis_x", _spread("arm_back", top=.8, shaft_back=.5))]),
    ("pelvis_shift", "impact"): (1, [("pelvis_x", _spread("impact", shaft_down=.7, shaft_through=.6))]),
    ("hips_to_ball", "impact"): (1, [("pelvis_z", _spread("impact", shaft_through=1, shaft_down=.4))]),
    ("shaft_steepness", "arm_down"): (1, [("shaft_off", _spread("arm_down"))]),
    ("lead_elbow_bend", "impact"): (1, [("reach", _spread("impact"))]),
    ("lead_elbow_bend", "shaft_through"): (1, [("reach", _spread("shaft_through"))]),
    ("lead_elbow_gap", "shaft_through"): (1.5, [("wing", _spread("shaft_through", arm_through=.6, impact=.3))]),
    ("fold_match", "arm_through"): (-1, [("reach", _spread("arm_through"))]),
    ("order_back", None): (-2.2, "warp_back"),
    ("order_down", None): (2.2, "warp_down"),
    ("chest_turn", "top"): (1, [("chest", _spread("top", arm_back=.6))]),
    ("pelvis_turn", "top"): (1, [("pelvis", _spread("top", arm_back=.6))]),
    ("tempo", None): (1, "tempo"),
}
# What the middle of the range is not good enough for: no upper or no lower end, or a better known middle.
MIDDLE = {("order_back", None): (.45, .05), ("order_down", None): (.42, .05), ("lead_elbow_gap", "shaft_through"): (.14, .03),
          ("lead_elbow_bend", "impact"): (9, 1.5), ("lead_elbow_bend", "shaft_through"): (11, 1.5),
          ("fold_match", "arm_through"): (12, 2), ("tempo", None): (3.05, .12), ("pelvis_turn", "top"): (44, 2),
          ("head_shift", "top"): (-.17, .04)}
# Signs a dial leaves alone: the trail wrist is at its shoulder's height at arm_through by definition, so the hands can't be
# far above the shoulders there; a flat shoulder turn is a fault of its own; the fold follows from both arms.
LEFT_ALONE = {("upright_posture", "shoulder_plane"), ("forced_high_finish", "hands_height"), ("chicken_wing", "fold_match")}
# Where any value is as good as another for a swing that doesn't show the fault: not steered inside.
EASY = {("lead_elbow_bend", "impact"): (0, 19), ("lead_elbow_bend", "shaft_through"): (0, 19),
        ("lead_elbow_gap", "shaft_through"): (-.1, .22), ("fold_match", "arm_through"): (-22, 22),
        ("order_back", None): (.27, .9), ("order_down", None): (.24, .9), ("head_shift", "top"): (-.36, .03)}
LIMITS = {"shaft_off": 60, "reach": 90, "wing": 1.6, "head": .8}  # of an amount
FAULTS = [f["fault"] for f in STANDARD["faults"]]
MOTION_ONLY = {"body_out_of_order"}


def club_class(club):
    return "wood" if club == "driver" else ("wedge" if club == "wedge" else "iron")


def range_of(measure, checkpoint, club):
    """The range that holds for this club: its own before the general one."""
    rows = [r for r in STANDARD["ranges"] if r["measure"] == measure and r.get("checkpoint") == checkpoint]
    own = [r for r in rows if r.get("club") == club_class(club)]
    return (own or [r for r in rows if "club" not in r])[0]


def dialled(row, side, severity):
    ok, strong = (row["ok_low"], row["strong_low"]) if side == "low" else (row["ok_high"], row["strong_high"])
    return ok + severity * (strong - ok)


def severity_of(row, side, value):
    ok, strong = row.get("ok_" + side), row.get("strong_" + side)
    if ok is None or strong is None:
        return 0.0
    return float(np.clip((value - ok) / (strong - ok), 0, 1))


def fault_row(name):
    return next(f for f in STANDARD["faults"] if f["fault"] == name)


def fault_score(name, values, club):
    """The true score S of a fault from true values: sum of weight times severity."""
    total = weight = 0.0
    for sign in fault_row(name)["signs"]:
        key = (sign["measure"], sign.get("checkpoint"))
        if key in values:
            row = range_of(key[0], key[1], club)
            total += sign["weight"] * severity_of(row, sign["side"], values[key])
            weight += sign["weight"]
    return total / weight if weight else 0.0


def clean_targets(club, rng):
    """True values in the middle of every range, a little varied."""
    out = {}
    for key in list(KNOBS) + PLATE:
        if key in MIDDLE:
            middle, sd = MIDDLE[key]
        else:
            row = range_of(key[0], key[1], club)
            middle, sd = .5 * (row["ok_low"] + row["ok_high"]), .06 * (row["ok_high"] - row["ok_low"])
        out[key] = middle + sd * float(np.clip(rng.normal(), -2, 2))
    return out


def dial(name, severity, club):
    """The true values that show this fault with score `severity` (as far as its own signs reach)."""
    signs = [s for s in fault_row(name)["signs"] if (name, s["measure"]) not in LEFT_ALONE]
    each = min(1.0, severity / sum(s["weight"] for s in signs))
    return {(s["measure"], s.get("checkpoint")): dialled(range_of(s["measure"], s.get("checkpoint"), club), s["side"], each)
            for s in signs}


class Player:
    """One person with one club: what stays the same from swing to swing."""

    def __init__(self, rng, club=None, height=None, hand=None):
        self.height = float(rng.uniform(1.35, 1.95)) if height is None else height
        self.hand = ("left" if rng.random() < .4 else "right") if hand is None else hand
        self.club = list(CLUBS)[rng.integers(3)] if club is None else club
        self.body = Body(self.height, rng)
        kind, number, length, lean, lean_hit, ball = CLUBS[self.club]
        shorter = min(1.0, (self.height / 1.72) ** .8)  # a small player's club is cut down
        self.kind, self.number = kind, number
        self.club_length = round(length * shorter, 3)
        self.grip_from_butt = float(np.clip(rng.normal(.10, .008), .08, .12))
        self.lean_address, self.lean_impact = lean + rng.normal(0, .7), lean_hit + rng.normal(0, 1)
        self.ball_x = ball * self.height / 1.75
        self.plane_over = float(np.clip(rng.normal(1, 4), -8, 10))
        self.down = float(rng.uniform(.26, .31))
        self.jitter = {k: rng.normal(0, s, 10) for k, s in (("arm", 2), ("arm_off", 1), ("shaft", 2), ("pelvis_y", .002))}
        self.delivery = float(np.clip(rng.normal(1.5, 4.5), -9, 11))  # hands farther out or in, coming down and through
        self.peaks = (.40 + rng.normal(0, .015), .58 + rng.normal(0, .015))


def _build(player, values, amounts, turned=None):
    """turned: {(key, checkpoint): value} put in place of the key's own."""
    keys = {k: np.array(v, float) for k, v in DEFAULT_KEYS.items()}
    for (name, checkpoint), value in (turned or {}).items():
        keys[name][AT[checkpoint]] = value
    for k, v in player.jitter.items():
        keep = [0, 6] if k in ("arm", "arm_off") else [0, 1, 3, 5, 6, 7]
        v = v.copy()
        v[keep] = 0
        keys[k] += v
    setup = {"lean_address": player.lean_address, "lean_impact": player.lean_impact, "knee": 20.0, "gap": .15, "tempo": 3.0,
             "warp_back": 0.0, "warp_down": 0.0}
    for key, (_, what) in KNOBS.items():
        if isinstance(what, str):
            setup[what] += amounts[key]
        else:
            for name, weights in what:
                for i, w in weights.items():
                    keys[name][i] += w * amounts[key]
    keys["arm_off"][[AT["shaft_down"], AT["shaft_through"]]] += player.delivery
    keys["reach"] = np.clip(keys["reach"], 2, 110)
    # the weight's course shows in the pose as far as a slow body would show it
    late = (values[("lead_share", "arm_through")] - 89) / 100
    keys["pelvis_x"][AT["arm_through"]] += 1.0 * late
    keys["pelvis_x"][AT["shaft_through"]] += .5 * late
    keys["lean"][AT["arm_through"]] -= 12 * late
    down, back = player.down, player.down * setup["tempo"]
    stations = np.concatenate([back * np.array([0, .35, .655, 1.0]),
                               back + down * np.array([.45, .76, 1.0]),
                               back + down + np.array([.075, .190, .75])])
    setup["times"] = .6 + stations
    first, second = player.peaks
    if values.get(("body_order", None), 0) >= .5:
        first, second = .70, .40  # the chest is fastest well before the pelvis
    setup["pelvis_peak"], setup["chest_peak"] = first * down, second * down
    ball_x = player.ball_x
    return Swing(player.body, player.club_length, keys, setup, player.grip_from_butt, ball_x, player.plane_over)



def toward_the_lens(player, rng):
    """(swing, truth) of one whose shaft is near the line of sight from behind when the lead arm is level coming down: let go
    early it points back at the lens, held long it points away from it."""
    turn = rng.uniform(100, 150) if rng.random() < .5 else rng.uniform(212, 234)
    swing = _build(player, clean_targets(player.club, rng), {k: 0.0 for k in KNOBS}, {("shaft", "arm_down"): turn})
    return swing, truth(swing)


def _tolerance(key, club):
    if key in MIDDLE and key[0] in ("order_back", "order_down", "tempo"):
        return .012
    row = range_of(key[0], key[1], club)
    return .015 * (row["ok_high"] - row["ok_low"])


_warm = {}


def make_swing(player, values, exact=(), rounds=12, label=None):
    """Turns the keys until the 3D has the values asked for, `exact` ones even where EASY would do. Returns (swing, its
    exact truth); None when it can't."""
    amounts = dict(_warm.get((label, player.club), {k: 0.0 for k in KNOBS}))
    gains = {k: g for k, (g, _) in KNOBS.items()}
    before, swing, got = None, None, None
    for _ in range(rounds):
        try:
            swing = _build(player, values, amounts)
        except ValueError:
            return None
        got = truth(swing)
        got["fold_match", "arm_through"] = swing.fold  # with its sign: which elbow to bend
        miss = {k: 0.0 if k in EASY and k not in exact and EASY[k][0] <= got[k] <= EASY[k][1] else values[k] - got[k]
                for k in KNOBS}
        if all(abs(m) <= _tolerance(k, player.club) for k, m in miss.items()):
            break
        if before is not None:  # secant, one measure at a time, held near the first guess
            for k in KNOBS:
                moved = got[k] - before[1][k]
                turned = amounts[k] - before[0][k]
                if abs(moved) > .3 * abs(before[2][k]) and abs(turned) > 0 and turned / moved * KNOBS[k][0] > 0:
                    guess = KNOBS[k][0]
                    g = turned / moved
                    gains[k] = np.sign(guess) * np.clip(abs(g), abs(guess) * .3, abs(guess) * 3)
        before = (dict(amounts), got, miss)
        for k in KNOBS:
            amounts[k] += .9 * gains[k] * miss[k]
            if not isinstance(KNOBS[k][1], str):
                most = LIMITS.get(KNOBS[k][1][0][0], 1e9)
                amounts[k] = float(np.clip(amounts[k], -most, most))
    got["fold_match", "arm_through"] = abs(swing.fold)
    for key in PLATE:
        got[key] = values[key]
    swing.missed = {k: m for k, m in miss.items() if abs(m) > 4 * _tolerance(k, player.club)}
    if not swing.missed:
        _warm.setdefault((label, player.club), dict(amounts))
    return swing, got


def draw_values(player, fault, severity, rng, also=()):
    values = clean_targets(player.club, rng)
    for name in ([fault] if fault else []) + list(also):
        values.update(dial(name, severity, player.club))
    return values
