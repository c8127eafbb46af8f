"""A jointed player who swings a club: exact 3D of every point at any time, in the world axes of docs/measures.md
(X to the target, Y up, Z = X x Y, a right-hander). Written from the definitions alone; shares nothing with the core.

The body is posed from the ground up: ankles stand, the pelvis moves, turns and is held up by both legs, the spine leans,
the shoulder line turns and slopes, the hands swing about the middle of the shoulders on an inclined plane (their distance
is what the straighter arm allows), the club swings on its own plane, elbows and knees follow from the lengths."""
import numpy as np

from curves import crossing, monotone, rounded, turn_course

CHECKPOINTS = ["address", "shaft_back", "arm_back", "top", "arm_down", "shaft_down", "impact", "shaft_through",
               "arm_through", "finish"]
AT = {name: i for i, name in enumerate(CHECKPOINTS)}
POINTS = ["head", "neck", "lead_shoulder", "trail_shoulder", "lead_elbow", "trail_elbow", "lead_wrist", "trail_wrist",
          "lead_hip", "trail_hip", "lead_knee", "trail_knee", "lead_ankle", "trail_ankle", "lead_toe", "trail_toe",
          "grip", "butt", "clubhead", "ball"]
STEP = 0.004  # s, between the samples of the course
HOLD = 0.60   # s, still before the start and after the finish
ROUND = 0.008  # s, Gaussian rounding of the keyed courses

# The courses, by checkpoint. Lengths as shares of height, angles in degrees.
DEFAULT_KEYS = {
    "pelvis_x": [0.0, -.02, -.03, -.01, .05, .11, .17, .25, .35, .42],        # stance widths
    "pelvis_z": [0.0, 0, 0, 0, .003, .006, .010, .012, .010, .010],            # m for a player of 1.75 m
    "pelvis_y": [0.0, 0, -.003, -.008, -.018, -.018, -.010, 0, .01, .02],    # m for 1.75 m
    "spine": [37.5, 37.5, 37, 36, 37, 37.5, 36.5, 34, 26, 6],                  # toward the ball
    "lean": [3, 4.5, 6.5, 7.5, 6.5, 7.5, 9, 10, 9, 1],                         # away from the target
    "slope": [-13, -8, -3, 0, -2, -6, -9, -9, -8, -6],                        # trail shoulder up, beyond what the turn gives
    "head": [0, 0, 0, 0, 0, 0, -.03, -.04, -.02, .02],                         # share of a shoulder width, along X
    "arm": [0, 36, 84, 128, 88, 44, 0, -26, -86, -140],                        # hands in their plane, from low
    "arm_off": [0, -22, -9, 0, -11, -23, 0, -22, -8, 8],                        # hands off that plane
    "shaft": [0, 90, 172, 236, 184, 90, 0, -90, -168, -262],                   # club in its plane, from low
    "shaft_off": [0, 4, -3, -4, -1, -2, 0, -14, -8, 0],                        # club off its plane
    "reach": [9, 8, 8, 9, 8, 8, 9, 12, 62, 75],                                # lead elbow's least bend
    "trail_reach": [3, 5, 10, 15, 15, 12, 3, 3, 5, 25],                     # trail elbow's least bend
    "wing": [0, 0, 0, 0, 0, 0, 0, 0, 0, 0],                                    # lead elbow points to the target
    "heel": [0, 0, 0, 0, 0, 0, .1, .25, .5, 1],                                # trail heel comes up
    "chest": [0, 22, 62, 92, 0, 0, 0, 0, 0, -98],                              # from the top on: turn_course
    "pelvis": [0, 8, 26, 44, 0, 0, 0, 0, 0, -80],
}
KEYS = list(DEFAULT_KEYS)
TURNS = {"chest": .56, "pelvis": .46}  # s from a segment's greatest speed of turn to its rest


def unit(v):
    return v / np.maximum(np.linalg.norm(v, axis=-1, keepdims=True), 1e-12)


def dot(a, b):
    return np.sum(a * b, axis=-1)


def cosd(a):
    return np.cos(np.radians(a))


def sind(a):
    return np.sin(np.radians(a))


def chord(a, b, bend):
    """Distance of the ends of two joined lengths whose joint is bent by `bend` degrees."""
    return np.sqrt(a * a + b * b + 2 * a * b * cosd(bend))


def joint(start, end, a, b, pole):
    """Two-bone inverse kinematics: the middle joint between start and end, bulging toward pole."""
    line = end - start
    d = np.linalg.norm(line, axis=-1)
    u = line / np.maximum(d, 1e-9)[..., None]
    d = np.clip(d, abs(a - b) + 1e-6, a + b - 1e-9)
    along = (a * a - b * b + d * d) / (2 * d)
    out = np.sqrt(np.maximum(a * a - along * along, 0.0))
    p = unit(pole - dot(pole, u)[..., None] * u)
    return start + along[..., None] * u + out[..., None] * p


def on_plane(slope, angle, off):
    """Unit vectors of an inclined plane whose level line is X: angle 0 = straight down the slope (out to the ball),
    90 = away from the target, 180 = up the slope; `off` leaves the plane toward the ball's side and up."""
    c, s = cosd(slope), sind(slope)
    w = np.array([0.0, s, -c])
    n = np.array([0.0, c, s])
    x = np.array([1.0, 0.0, 0.0])
    a, o = np.asarray(angle, float)[..., None], np.asarray(off, float)[..., None]
    return cosd(o) * (-w * cosd(a) - x * sind(a)) + n * sind(o)


def plane_angles(slope, v):
    """Inverse of on_plane for one unit vector: (angle in (-180, 180], off)."""
    c, s = cosd(slope), sind(slope)
    off = np.degrees(np.arcsin(np.clip(v[1] * c + v[2] * s, -1, 1)))
    return np.degrees(np.arctan2(-v[0], -(v[1] * s - v[2] * c))), off


def azimuth_height(v):
    """Of unit vectors (N, 3): azimuth from straight out to the ball, turning away from the target; elevation. Degrees."""
    return np.unwrap(np.degrees(np.arctan2(-v[:, 0], v[:, 2])), period=360), np.degrees(np.arcsin(np.clip(v[:, 1], -1, 1)))


def retimed(progress, k):
    """Progress 0...1 with its first half hurried (k < 0) or held back (k > 0), smooth and monotone."""
    x = np.clip(progress, 0, 1)
    return progress - x + x / (x + np.exp(k) * (1 - x))


class Body:
    """Lengths of one player in metres: shares of height after Drillis & Contini 1966 (from memory), each varied a little."""

    def __init__(self, height, rng=None):
        vary = (lambda: 1.0) if rng is None else (lambda: float(np.clip(rng.normal(1, .025), .94, 1.06)))
        h = height
        self.height = h
        self.upper_arm, self.forearm = .186 * h * vary(), .146 * h * vary()
        self.thigh, self.shank = .245 * h * vary(), .246 * h * vary()
        self.trunk = .290 * h * vary()  # mid-hip to C7
        self.shoulders = .205 * h * vary()
        self.hips = .105 * h * vary()
        self.neck_head = .105 * h
        self.ankle = .042 * h
        self.foot = .125 * h * vary()
        self.stance = .265 * h * vary()
        self.hand_out = .028 * h  # wrist to shaft
        self.hand_along = .021 * h  # each wrist along the shaft from the middle of the hands


class Swing:
    """One swing: keys by checkpoint, times, body, club. points(t) gives the 3D of everything at those times."""

    def __init__(self, body, club_length, keys, setup, grip_from_butt=0.10, ball_x=0.0, plane_over=2.0):
        self.body = body
        self.length = club_length - grip_from_butt  # mid-grip to clubhead
        self.grip_from_butt = grip_from_butt
        self.ball_x, self.plane_over = ball_x, plane_over
        self.keys = {k: np.array(v, float) for k, v in keys.items()}
        self.setup = setup  # knee, gap, lean_address, lean_impact, pelvis_peak, chest_peak, times
        self._build()

    # -- the course of the parameters -----------------------------------------------------------------------------
    def _build(self):
        s = self.setup
        self.key_times = np.array(s["times"], float)
        self.start, self.end = self.key_times[0], self.key_times[-1]
        self.grid = np.arange(0.0, self.end + HOLD, STEP)
        self._address()
        self._impact()
        self.course = self._course()
        self.at_grid = self._pose(self.course)
        self._find_checkpoints()

    def _course(self):
        keys = {k: v.copy() for k, v in self.keys.items()}
        for name in TURNS:
            keys[name][AT["top"]:] = self._turn(name, self.key_times[AT["top"]:])
        table = np.stack([keys[k] for k in KEYS], axis=1)
        course = monotone(self.key_times, table, self.grid)
        after = self.grid >= self.key_times[AT["top"]]
        for name in TURNS:
            course[after, KEYS.index(name)] = self._turn(name, self.grid[after])
        self._order_hands(course)
        return rounded(course, STEP, ROUND)

    def _order_hands(self, course):
        """Turns sooner than it lifts, or later, on the way back and on the way down: ends and the path's ends stay."""
        i, j = KEYS.index("arm"), KEYS.index("arm_off")
        k = self.key_times
        for name, a, b, lift in (("warp_back", k[0], k[AT["top"]], -1), ("warp_down", k[AT["top"]], k[AT["impact"]], -1)):
            use = np.flatnonzero((self.grid >= a) & (self.grid <= b))
            if self.setup.get(name, 0.0) == 0.0 or len(use) < 3:
                continue
            azimuth, height = azimuth_height(on_plane(self.arm_plane, course[use, i], course[use, j]))
            new = []
            for values, warp in ((azimuth, self.setup[name]), (height, lift * self.setup[name])):
                span = values[-1] - values[0]
                new.append(values[0] + span * retimed((values - values[0]) / span, warp))
            v = np.stack([-sind(new[0]) * cosd(new[1]), sind(new[1]), cosd(new[0]) * cosd(new[1])])
            course[use, i], course[use, j] = plane_angles(self.arm_plane, v)

    def _turn(self, name, times):
        """The turn of pelvis or chest from the top on."""
        v, top = self.keys[name], self.key_times[AT["top"]]
        peak = top + self.setup[name + "_peak"]
        return turn_course(times, top, peak, peak + TURNS[name], v[AT["top"]], v[-1])

    # -- the body ---------------------------------------------------------------------------------------------------
    def _trunk(self, p):
        """Everything that does not depend on the arms, from a dict of parameter arrays."""
        b, scale = self.body, self.body.height / 1.75
        n = len(p["spine"])
        out = {}
        lift, up = p["heel"], .055 * b.height
        half = .5 * b.stance
        back = .05 * b.height  # ankles stand a little in front of the hips
        lead_ankle = np.tile([half, b.ankle, back], (n, 1))
        trail_ankle = np.tile([-half, b.ankle, back], (n, 1)) + lift[:, None] * np.array([.03 * b.height, up, .02 * b.height])
        out["lead_ankle"], out["trail_ankle"] = lead_ankle, trail_ankle
        out["lead_toe"] = lead_ankle + np.array([.35, -.9 * b.ankle / b.foot, .9]) * b.foot
        out["trail_toe"] = np.tile([-half, b.ankle, back], (n, 1)) + np.array([-.1, -.9 * b.ankle / b.foot, .95]) * b.foot
        hip = np.stack([cosd(p["pelvis"]), 0 * p["pelvis"], sind(p["pelvis"])], axis=1)
        centre = np.stack([p["pelvis_x"] * b.stance, self.pelvis_height + p["pelvis_y"] * scale, p["pelvis_z"] * scale], axis=1)
        limit = (b.thigh + b.shank) * .9985
        for side, ankle in ((1, lead_ankle), (-1, trail_ankle)):
            h = centre + side * .5 * b.hips * hip
            flat = np.hypot(h[:, 0] - ankle[:, 0], h[:, 2] - ankle[:, 2])
            most = ankle[:, 1] + np.sqrt(np.maximum(limit ** 2 - flat ** 2, .01))
            centre[:, 1] = np.minimum(centre[:, 1], most)
        out["lead_hip"], out["trail_hip"] = centre + .5 * b.hips * hip, centre - .5 * b.hips * hip
        for side in ("lead", "trail"):
            foot = out[side + "_toe"] - out[side + "_ankle"]
            out[side + "_knee"] = joint(out[side + "_hip"], out[side + "_ankle"], b.thigh, b.shank,
                                        foot * np.array([1, 0, 1]) + np.array([0, .02, 0]))
        spine = unit(np.stack([-np.tan(np.radians(p["lean"])), np.ones(n), np.tan(np.radians(p["spine"]))], axis=1))
        neck = centre + b.trunk * spine
        level = unit(np.cross(spine, np.tile([0.0, 0, 1], (n, 1))))  # to the target, square to the spine
        out_to_ball = np.cross(level, spine)
        turn = p["chest"][:, None]
        turned = cosd(turn) * level + sind(turn) * out_to_ball  # the shoulder line turns about the spine
        front = np.cross(turned, spine)
        across = cosd(p["slope"])[:, None] * turned - sind(p["slope"])[:, None] * spine
        hub = neck - .032 * b.height * spine - .004 * b.height * front
        out["neck"] = neck
        out["lead_shoulder"], out["trail_shoulder"] = hub + .5 * b.shoulders * across, hub - .5 * b.shoulders * across
        still = unit(np.stack([0 * p["lean"], np.ones(n), .55 * np.tan(np.radians(p["spine"]))], axis=1))
        out["head"] = neck + b.neck_head * still + p["head"][:, None] * b.shoulders * np.array([1.0, 0, 0])
        out["hub"] = hub
        return out

    def _row(self, index):
        """Parameters at one checkpoint's key as arrays of one."""
        row = {k: np.array([v[index]]) for k, v in self.keys.items()}
        if index >= AT["top"]:
            for name in TURNS:
                row[name] = self._turn(name, self.key_times[index:index + 1])
        return row

    def _reach(self, shoulder_to_grip, shaft, bend, trail):
        """Distance shoulder-grip of an arm bent by `bend`: the wrist stands off the shaft, and along it."""
        b = self.body
        along = b.hand_along * (1 if trail else -1)
        w = chord(b.upper_arm, b.forearm, bend)
        c = dot(shoulder_to_grip, shaft)
        return b.hand_out - along * c + np.sqrt(np.maximum(w * w - along * along * (1 - c * c), 1e-6))

    def _address(self):
        """Where the player stands: hips from the knees' bend, hands from their gap to the thigh, club on the ground."""
        b, s = self.body, self.setup
        leg = chord(b.thigh, b.shank, s["knee"])
        flat2 = (.5 * b.stance - .5 * b.hips) ** 2 + (.05 * b.height) ** 2
        self.pelvis_height = b.ankle + np.sqrt(leg ** 2 - flat2)
        body = self._trunk(self._row(0))
        ls, hub = body["lead_shoulder"][0], body["hub"][0]
        hip = .5 * (body["lead_hip"] + body["trail_hip"])[0]
        knee = .5 * (body["lead_knee"] + body["trail_knee"])[0]
        head_y, slope = .012, 55.0
        grip_x = self.ball_x + self.length * .55 * sind(s["lean_address"])
        grip = np.array([grip_x, .42 * b.height, .25])
        for _ in range(60):
            shaft = self._low_shaft(slope, s["lean_address"])
            butt = grip - self.grip_from_butt * shaft
            line = hip[2] + (knee[2] - hip[2]) * (butt[1] - hip[1]) / (knee[1] - hip[1])
            want = line + .09 + s["gap"]
            grip[2] += .7 * (want - butt[2])
            reach = self._reach(unit(grip - ls), shaft, self.keys["reach"][0], False)
            d = grip - ls
            low = np.sqrt(max(reach ** 2 - d[0] ** 2 - d[2] ** 2, .01))
            drop = ls[1] - low - grip[1]
            grip[1] += .7 * drop
            if abs(drop) + abs(want - butt[2]) < 1e-6:
                break
            slope = np.degrees(np.arcsin(np.clip((grip[1] - head_y) / (self.length * cosd(s["lean_address"])), .2, .98)))
        shaft = self._low_shaft(slope, s["lean_address"])
        self.address_slope = np.degrees(np.arctan2(-shaft[1], shaft[2]))
        self.plane = self.address_slope + self.plane_over
        self.arm_plane = 50.0
        head = grip + self.length * shaft
        self.ball = head + np.array([.03, .009, 0.0])
        self._put("shaft", "shaft_off", 0, plane_angles(self.plane, shaft))
        self._put("arm", "arm_off", 0, plane_angles(self.arm_plane, unit(grip - hub)))

    @staticmethod
    def _low_shaft(slope, lean):
        """Unit shaft near the ball: slope from the ground, lean of the hands toward the target (in the picture face on)."""
        return np.stack([-sind(lean) + 0 * slope, -cosd(lean) * sind(slope), cosd(lean) * cosd(slope)], axis=-1)

    def _put(self, a, b, index, values):
        self.keys[a][index], self.keys[b][index] = values

    def _impact(self):
        """The hands at impact: the clubhead meets the ball, the lead arm is as long as its bend allows; the slope gives."""
        i = AT["impact"]
        body = self._trunk(self._row(i))
        ls, hub = body["lead_shoulder"][0], body["hub"][0]
        lean, bend = self.setup["lean_impact"], self.keys["reach"][i]
        target = self.ball - np.array([.021, .006, 0])

        slopes = np.linspace(self.address_slope - 14, min(self.address_slope + 24, 82), 153)
        shafts = self._low_shaft(slopes, lean)
        arms = target - self.length * shafts - ls
        values = np.linalg.norm(arms, axis=1) - self._reach(unit(arms), shafts, bend, False)
        turn = np.flatnonzero((values[:-1] < 0) != (values[1:] < 0))
        if len(turn):
            k = turn[np.argmin(np.abs(slopes[turn] - self.address_slope - 4))]
            slope = slopes[k] + (slopes[k + 1] - slopes[k]) * values[k] / (values[k] - values[k + 1])
        else:
            slope = slopes[np.argmin(np.abs(values))]
        self.impact_slope = slope
        shaft = self._low_shaft(slope, lean)
        grip = target - self.length * shaft
        self._put("shaft", "shaft_off", i, plane_angles(self.plane, shaft))
        self._put("arm", "arm_off", i, plane_angles(self.arm_plane, unit(grip - hub)))

    def _pose(self, course):
        """Every point for rows of the course."""
        b = self.body
        p = {k: course[:, i] for i, k in enumerate(KEYS)}
        out = self._trunk(p)
        shaft = on_plane(self.plane, p["shaft"], p["shaft_off"])
        way = on_plane(self.arm_plane, p["arm"], p["arm_off"])
        hub, ls, ts = out["hub"], out["lead_shoulder"], out["trail_shoulder"]
        grip = hub + way * (.33 * b.height)
        for _ in range(5):
            reach = []
            for shoulder, bend, trail in ((ls, p["reach"], False), (ts, p["trail_reach"], True)):
                full = self._reach(unit(grip - shoulder), shaft, bend, trail)
                e = shoulder - hub
                along = dot(way, e)
                inside = along ** 2 - dot(e, e) + full ** 2
                reach.append(along + np.sqrt(np.maximum(inside, 1e-4)))
            sharp = .004
            r = -sharp * np.logaddexp(-reach[0] / sharp, -reach[1] / sharp)
            grip = hub + way * r[:, None]
        out["grip"], out["butt"], out["clubhead"] = grip, grip - self.grip_from_butt * shaft, grip + self.length * shaft
        for side, along, shoulder in (("lead", -1, ls), ("trail", 1, ts)):
            wrist = grip + along * b.hand_along * shaft - b.hand_out * unit(grip - shoulder)
            s = 1.0 if side == "lead" else -1.0
            n = len(grip)
            pole = np.tile([.35 * s, -1.0, -.35], (n, 1))
            if side == "lead":
                w = p["wing"][:, None]
                pole = (1 - w) * pole + w * np.array([1.3, .1, -.2])
            out[side + "_wrist"] = wrist
            out[side + "_elbow"] = joint(shoulder, wrist, b.upper_arm, b.forearm, pole)
        out["ball"] = np.tile(self.ball, (len(grip), 1))
        out["shaft"] = shaft
        out["shaft_angle"] = p["shaft"]
        return out

    # -- time -------------------------------------------------------------------------------------------------------
    def points(self, times):
        """{point: (N, 3)} at any times (s from the start of the record)."""
        times = np.atleast_1d(np.asarray(times, float))
        course = np.stack([np.interp(times, self.grid, self.course[:, i]) for i in range(self.course.shape[1])], axis=1)
        return self._pose(course)

    def _find_checkpoints(self):
        g, p, k = self.grid, self.at_grid, self.key_times
        lead = p["lead_wrist"][:, 1] - p["lead_shoulder"][:, 1]
        trail = p["trail_wrist"][:, 1] - p["trail_shoulder"][:, 1]
        level = p["shaft"][:, 1]
        i = np.argmax(p["shaft_angle"])
        near = k[AT["impact"]]
        t = {"address": self.start, "finish": self.end, "top": g[i]}
        t["impact"] = crossing(g, p["clubhead"][:, 0] - self.ball[0] + .021, near - .04, near + .04)
        if t["impact"] is None:
            raise ValueError("the club never meets the ball")
        t["shaft_back"] = crossing(g, level, self.start, t["top"])
        t["arm_back"] = crossing(g, lead, self.start, t["top"])
        t["arm_down"] = crossing(g, lead, t["top"], t["impact"], last=True)
        t["shaft_down"] = crossing(g, level, t["top"], t["impact"] - .01, last=True)
        t["shaft_through"] = crossing(g, level, t["impact"] + .01, self.end)
        t["arm_through"] = crossing(g, trail, t["impact"] + .01, self.end)
        missing = [c for c in CHECKPOINTS if t.get(c) is None]
        if missing:
            raise ValueError("no instant for " + ", ".join(missing))
        self.times = {c: float(t[c]) for c in CHECKPOINTS}
        self.at = self.points([self.times[c] for c in CHECKPOINTS])
