"""The arithmetic of the motion analysis in numpy and scipy, as one would write it there: gaps, the zero-lag filter over all points
and axes at once, derivatives, segment frames and their turning, level crossings, plane, order indices. Written from
docs/measures.md, to stand beside core.

Left out (core does them in the same time): which swing of several, stillness, findings, the club's second filter after impact,
places and velocities of every point at every checkpoint, curves for drawing.

/usr/bin/python3 motion_numpy.py FILE (of bench_motion): prints microseconds for one record (median), then what it found.
"""
import sys
import time

import numpy as np
from scipy import signal

(HEAD, NECK, LSHOULDER, TSHOULDER, LELBOW, TELBOW, LWRIST, TWRIST, LHIP, THIP, LKNEE, TKNEE, LANKLE, TANKLE, LTOE, TTOE, GRIP,
 BUTT, CLUBHEAD, BALL) = range(20)
CLUB = [GRIP, BUTT, CLUBHEAD]


def read(name):
    data = np.fromfile(name)
    rate, n, points = data[0], int(data[1]), int(data[2])
    places = data[3:3 + 3 * n * points].reshape(points, n, 3)
    return rate, places.transpose(1, 0, 2).copy(), data[3 + 3 * n * points:].reshape(points, n).T > 0


def fill(x, seen, longest):
    """The cubic through two samples seen on each side, gaps of at most `longest`."""
    for p in np.flatnonzero(~seen.all(0)):
        at = np.flatnonzero(seen[:, p])
        for k in np.flatnonzero((np.diff(at) > 1) & (np.diff(at) <= longest + 1)):
            nodes = at[max(0, k - 1):k + 3]
            inside = np.arange(at[k] + 1, at[k + 1])
            difference = inside[:, None] - nodes[None, :]
            weights = np.stack([np.prod(np.delete(difference, j, 1), 1) / np.prod(nodes[j] - np.delete(nodes, j))
                                for j in range(len(nodes))], 1)
            x[inside, p] = weights @ x[nodes, p]
    return x


def low_pass(x, corner, rate):
    warped = np.tan(np.pi * corner / rate) / (np.sqrt(2) - 1) ** .25
    b, a = signal.butter(2, np.arctan(warped) * 2 / np.pi)
    return signal.filtfilt(b, a, x, axis=0, padtype="odd", padlen=min(len(x) - 1, max(9, int(np.ceil(rate / corner)))))


def unit(v):
    return v / np.linalg.norm(v, axis=-1, keepdims=True)


def turning(right, up, rate):
    """Rotation speed about the trunk's own upright axis, by the logarithm of the turn over two frames."""
    z = unit(right)
    y = unit(up - (up * z).sum(-1, keepdims=True) * z)
    r = np.stack((np.cross(y, z), y, z), -1)
    turn = r[2:] @ r[:-2].transpose(0, 2, 1)
    v = .5 * np.stack((turn[:, 2, 1] - turn[:, 1, 2], turn[:, 0, 2] - turn[:, 2, 0], turn[:, 1, 0] - turn[:, 0, 1]), -1)
    sine = np.linalg.norm(v, axis=1)
    angle = np.arctan2(sine, .5 * (np.trace(turn, axis1=1, axis2=2) - 1))
    speed = v * np.where(sine > 1e-12, angle / np.maximum(sine, 1e-300), 1)[:, None] * rate / 2
    return np.concatenate(([0], np.abs((speed * y[1:-1]).sum(1)), [0])) * 180 / np.pi


def swinging(direction, rate):
    return np.linalg.norm(np.gradient(unit(direction), 1 / rate, axis=0, edge_order=2), axis=1) * 180 / np.pi


def crossings(y):
    i = np.flatnonzero((y[:-1] < 0) != (y[1:] < 0))
    return i + y[i] / (y[i] - y[i + 1])


def top_of(y, i):
    bend = y[i - 1] - 2 * y[i] + y[i + 1]
    return i + .5 * (y[i - 1] - y[i + 1]) / bend


def plane(points):
    centre = points.mean(0)
    _, vectors = np.linalg.eigh((points - centre).T @ (points - centre))
    normal = vectors[:, 0] * (1 if vectors[1, 0] >= 0 else -1)
    return centre, normal, np.degrees(np.arccos(normal[1]))


def order(first, then):
    a, e = first - first[0], then - then[0]
    return np.clip(2 * np.trapz(a / a[-1], e / e[-1]) - 1, -1, 1)


def analyse(rate, raw, seen):
    found = {}
    filled = fill(raw.copy(), seen, int(.1 * rate))
    body = [p for p in range(filled.shape[1]) if p not in CLUB]
    x = np.empty_like(filled)
    x[:, body] = low_pass(filled[:, body], 12, rate)
    x[:, CLUB] = low_pass(filled[:, CLUB], 20, rate)
    head_speed = np.linalg.norm(np.gradient(x[:, CLUB[-1]], 1 / rate, axis=0, edge_order=2), axis=1)
    fastest = int(head_speed.argmax())
    across = x[:, CLUBHEAD, 0] - x[:, BALL, 0]
    passes = crossings(across)
    impact = passes[np.abs(passes - fastest).argmin()]
    cut = int(impact)
    x[:cut + 1, CLUB] = low_pass(filled[:cut + 1, CLUB], 20, rate)
    hub = .5 * (x[:, LSHOULDER] + x[:, TSHOULDER])
    hands = .5 * (x[:, LWRIST] + x[:, TWRIST])
    shaft = unit(x[:, CLUBHEAD] - x[:, GRIP])
    part = slice(cut - int(.06 * rate), cut + int(.06 * rate))
    _, normal, found["slope"] = plane(np.concatenate((x[part, CLUBHEAD], x[part, GRIP])))
    along = unit(np.cross(normal, [0, 1, 0]))
    angle = np.unwrap(np.arctan2(shaft @ np.cross(along, normal), shaft @ along))
    still = low_pass(filled[:, CLUBHEAD], 6, rate)
    slow = np.linalg.norm(np.gradient(still, 1 / rate, axis=0, edge_order=2), axis=1)
    quiet = slow[:int(.2 * rate)]
    start = int(np.flatnonzero(slow[:fastest] > max(.1, quiet.mean() + 4 * quiet.std()))[0])
    turned = np.abs(angle - angle[start])
    top = start + int(turned[start:cut].argmax())
    found["top"] = top_of(turned, top) / rate
    level = crossings(x[:, CLUBHEAD, 1] - x[:, GRIP, 1])
    arm = crossings(x[:, LWRIST, 1] - x[:, LSHOULDER, 1])
    trail = crossings(x[:, TWRIST, 1] - x[:, TSHOULDER, 1])
    for name, times, low, high, take in (("shaft_back", level, start, top, 0), ("shaft_down", level, top, impact, -1),
                                         ("shaft_through", level, impact, len(x), 0), ("arm_back", arm, start, top, 0),
                                         ("arm_down", arm, top, impact, -1), ("arm_through", trail, impact, len(x), 0)):
        inside = times[(times > low) & (times < high)]
        if len(inside):
            found[name] = inside[take] / rate
    found["impact"] = impact / rate
    up = hub - .5 * (x[:, LHIP] + x[:, THIP])
    speeds = {"pelvis": turning(x[:, THIP] - x[:, LHIP], up, rate), "chest": turning(x[:, TSHOULDER] - x[:, LSHOULDER], up, rate),
              "lead_arm": swinging(x[:, LWRIST] - x[:, LSHOULDER], rate), "club": swinging(shaft, rate)}
    for name, speed in speeds.items():
        last = cut - 1 if name == "club" else min(len(x) - 2, cut + int(.12 * rate))
        k = top + int(speed[top:last].argmax())
        found[name] = top_of(speed, k) / rate
    about = hands - hub
    azimuth = np.unwrap(np.arctan2(-about[:, 0], about[:, 2]))
    found["order_back"] = order(azimuth[start:top + 1], hands[start:top + 1, 1])
    found["order_down"] = order(hands[top:cut + 1, 1], azimuth[top:cut + 1])
    return found


def main():
    rate, places, seen = read(sys.argv[1])
    analyse(rate, places, seen)
    times, filters = [], []
    for _ in range(25):
        begun = time.perf_counter()
        found = analyse(rate, places, seen)
        times.append(time.perf_counter() - begun)
        begun = time.perf_counter()
        low_pass(fill(places.copy(), seen, int(.1 * rate)), 12, rate)
        filters.append(time.perf_counter() - begun)
    print("motion_us %.1f" % (sorted(times)[len(times) // 2] * 1e6))
    print("filter_us %.1f" % (sorted(filters)[len(filters) // 2] * 1e6))
    for name, value in found.items():
        print("found %s %.5f" % (name, value))


main()
