"""The exact value of every measure of docs/measures.md from the 3D of a swing, at the exact instants."""
import numpy as np

from player import CHECKPOINTS, Swing, dot, unit

# Share of the whole, and where along the segment from its first end its centre lies: Winter's table, after Dempster
# (the centres from the same published table).
SEGMENTS = [("upper_arm", "shoulder", "elbow", .028, .436), ("forearm", "elbow", "wrist", .016, .430),
            ("thigh", "hip", "knee", .100, .433), ("shank", "knee", "ankle", .0465, .433),
            ("foot", "ankle", "toe", .0145, .5)]


def bend(a, j, b):
    """0 when straight, degrees."""
    u, v = unit(a - j), unit(b - j)
    return 180 - np.degrees(np.arctan2(np.linalg.norm(np.cross(u, v), axis=-1), dot(u, v)))


def lean(low, high, axis):
    return np.degrees(np.arctan2(high[..., axis] - low[..., axis], high[..., 1] - low[..., 1]))


def middle(p, name):
    return .5 * (p["lead_" + name] + p["trail_" + name])


def centre_of_mass(p):
    total = .497 * (.5 * middle(p, "shoulder") + .5 * middle(p, "hip")) + .081 * p["head"] + .012 * middle(p, "wrist")
    for side in ("lead_", "trail_"):
        for _, a, b, mass, share in SEGMENTS:
            total = total + mass * (p[side + a] + share * (p[side + b] - p[side + a]))
    return total / (.497 + .081 + .012 + 2 * sum(s[3] for s in SEGMENTS))


def static_share(p):
    """Lead share in percent of a body that stands still."""
    x = centre_of_mass(p)[..., 0]
    lead, trail = p["lead_ankle"][..., 0], p["trail_ankle"][..., 0]
    return 100 * (x - trail) / (lead - trail)


def on_plane_plan(slope, elevation):
    """Plan angle of a shaft at this elevation that lies on a plane of this slope."""
    a, e = np.radians(slope), np.radians(elevation)
    s = np.clip(np.sin(e) / np.sin(a), -1, 1)
    return np.degrees(np.arctan2(-s * np.cos(a), np.sqrt(1 - s * s)))


def order_index(hands, hub, falling=False):
    """2 * integral of the progress of turn over the progress of lift, less 1 (down: descent over returning turn). The turn
    is the hands' azimuth about the middle of the shoulders at each instant, the lift is their height over the ground."""
    d = hands - hub
    azimuth = np.unwrap(np.arctan2(d[:, 0], d[:, 2]))
    turn = (azimuth - azimuth[0]) / (azimuth[-1] - azimuth[0])
    lift = (hands[:, 1] - hands[0, 1]) / (hands[-1, 1] - hands[0, 1])
    a, e = (lift, turn) if falling else (turn, lift)
    return float(np.clip(2 * np.sum(.5 * (a[1:] + a[:-1]) * np.diff(e)) - 1, -1, 1))


def angular_speed(v, step):
    """Speed of a unit vector's turning, deg/s, at the middles of its samples."""
    c = np.linalg.norm(np.cross(v[:-1], v[1:]), axis=1)
    return np.degrees(np.arctan2(c, dot(v[:-1], v[1:]))) / step


def peak_times(swing: Swing):
    """Instants of greatest speed after the top: pelvis, chest (about the trunk's own axis), lead arm, club; s."""
    g, p = swing.grid, swing.at_grid
    use = (g >= swing.times["top"]) & (g <= swing.times["impact"] + .12)
    t = g[use]
    out = []
    trunk = unit(middle(p, "shoulder") - middle(p, "hip"))
    for name in ("hip", "shoulder"):  # the joint centres' frame, turning about its own trunk axis
        z = unit(p["trail_" + name] - p["lead_" + name])
        x = unit(np.cross(trunk, z))
        own = np.cross(z, x)
        spin = np.gradient(x, swing.grid, axis=0)
        rate = np.abs(dot(np.cross(own, x), spin))
        out.append(t[np.argmax(rate[use])])
    for v in (unit(p["lead_wrist"] - p["lead_shoulder"]), p["shaft"]):
        out.append(t[np.argmax(angular_speed(v[use], g[1] - g[0]))] + .5 * (g[1] - g[0]))
    return out


def truth(swing: Swing):
    """{(measure, checkpoint or None): value}, without the shares of weight that only a plate can tell."""
    at = swing.at
    p = {c: {k: v[i] for k, v in at.items()} for i, c in enumerate(CHECKPOINTS)}
    first, top, hit = p["address"], p["top"], p["impact"]
    t = swing.times
    out = {}

    def put(name, checkpoint, value):
        out[(name, checkpoint)] = float(value)

    spine = {c: lean(middle(p[c], "hip"), p[c]["neck"], 2) for c in CHECKPOINTS}
    put("spine_tilt", "address", spine["address"])
    put("spine_change", "impact", spine["impact"] - spine["address"])
    put("knee_flex", "address", .5 * sum(bend(first[s + "hip"], first[s + "knee"], first[s + "ankle"])
                                         for s in ("lead_", "trail_")))
    hip, knee = middle(first, "hip"), middle(first, "knee")
    line = hip[2] + (knee[2] - hip[2]) * (first["butt"][1] - hip[1]) / (knee[1] - hip[1])
    put("hands_gap", "address", first["butt"][2] - line - .09)
    for c in ("address", "finish"):
        put("lead_share", c, static_share(p[c]))
    for c, toward in (("shaft_back", -1), ("shaft_down", -1), ("shaft_through", 1)):
        s = p[c]["shaft"]
        put("shaft_direction", c, np.degrees(np.arctan2(s[2], toward * s[0])))
    s = top["shaft"]
    elevation = np.degrees(np.arcsin(s[1]))
    put("shaft_elevation", "top", elevation)
    put("shaft_cross", "top", np.degrees(np.arctan2(s[2], s[0])) - on_plane_plan(swing.address_slope, elevation))
    d = top["trail_shoulder"] - top["lead_shoulder"]
    put("shoulder_plane", "top", np.degrees(np.arctan2(d[1], np.hypot(d[0], d[2]))))
    put("trunk_lean", "top", -lean(middle(top, "hip"), top["neck"], 0))
    width = np.linalg.norm(first["lead_shoulder"] - first["trail_shoulder"])
    put("head_shift", "top", (top["head"] - first["head"])[0] / width)
    turns = {}
    for name, joint_name in (("chest_turn", "shoulder"), ("pelvis_turn", "hip")):
        lines = [p[c]["lead_" + joint_name] - p[c]["trail_" + joint_name] for c in ("top", "address")]
        now, before = (np.degrees(np.arctan2(v[2], v[0])) for v in lines)
        turns[name] = now - before
        put(name, "top", turns[name])
    put("separation", "top", turns["chest_turn"] - turns["pelvis_turn"])
    s = p["arm_down"]["shaft"]
    put("shaft_steepness", "arm_down", np.degrees(np.arctan2(s[1], -s[2])) - swing.address_slope)
    stance = np.linalg.norm(first["lead_ankle"] - first["trail_ankle"])
    for c in ("arm_back", "impact"):
        put("pelvis_shift", c, (middle(p[c], "hip") - middle(first, "hip"))[0] / stance)
    put("hips_to_ball", "impact", (middle(hit, "hip") - middle(first, "hip"))[2])
    for c in ("impact", "shaft_through"):
        put("lead_elbow_bend", c, bend(p[c]["lead_shoulder"], p[c]["lead_elbow"], p[c]["lead_wrist"]))
    q = p["shaft_through"]
    u = (q["lead_hip"] - q["lead_shoulder"])[:2]
    w = (q["lead_elbow"] - q["lead_shoulder"])[:2]
    put("lead_elbow_gap", "shaft_through", -(u[0] * w[1] - u[1] * w[0]) / -np.hypot(*u) / swing.body.upper_arm)
    q = p["arm_through"]
    arm = swing.body.upper_arm + swing.body.forearm
    put("hands_height", "arm_through", (q["grip"] - middle(q, "shoulder"))[1] / arm)
    b = p["arm_back"]
    swing.fold = float(bend(b["trail_shoulder"], b["trail_elbow"], b["trail_wrist"])
                       - bend(q["lead_shoulder"], q["lead_elbow"], q["lead_wrist"]))
    put("fold_match", "arm_through", abs(swing.fold))
    hub = .5 * (swing.at_grid["lead_shoulder"] + swing.at_grid["trail_shoulder"])
    for name, a, z, falling in (("order_back", "address", "top", False), ("order_down", "top", "impact", True),
                                ("order_through", "impact", "arm_through", False)):
        i, j = np.searchsorted(swing.grid, [t[a], t[z]])
        put(name, None, order_index(swing.at_grid["grip"][i:j + 1], hub[i:j + 1], falling))
    put("tempo", None, (t["top"] - swing.start) / (t["impact"] - t["top"]))
    peaks = peak_times(swing)
    put("body_order", None, sum(b < a for a, b in zip(peaks[:-1], peaks[1:])))
    return out
