"""Where a golf ball goes: impact by vectors, flight by integrating drag and lift. For the side of the curve and a plausible
carry; nothing of the core's classes or limits is used.

Impact: the ball rebounds from a massive face with e along the normal and leaves it rolling along the tangent (the form of
Penner 2001, Am J Phys 69:563; e and the heads' masses from memory). Axes X target, Y up, Z right.
Flight, two published sets of coefficients side by side:
  lyu      Lyu, Kensrud, Smith & Tosaya 2018, Proceedings 2(6):238, balls in still air: CL of second order in the spin ratio
           S = r w / v, CD of second order in Reynolds' number, below and above 32 m/s (coefficients as an open
           implementation of that paper quotes them; the spin ratio is held at CL's maximum beyond it).
  bearman  Bearman & Harvey 1976, Aeronautical Quarterly 27:112, wind tunnel: CD and CL over speed and spin (a thinned
           table, as an open university course quotes it)."""
import numpy as np

MASS, RADIUS = .04593, .02135     # R&A / USGA: at most 45.93 g, at least 42.67 mm across
AIR, VISCOSITY, GRAVITY = 1.225, 1.48e-5, 9.81
UP = np.array([0.0, 1.0, 0.0])
HEADS = {"driver": (.200, .78), "iron": (.250, .70), "wedge": (.280, .65)}  # mass kg, e; from memory

SPEEDS = np.array([21.6, 29.9, 38.4, 46.9, 55.2, 63.1, 71.9, 80.2])  # m/s
SPINS = np.array([2000.0, 3000, 4000, 5000, 6000])  # a minute
CD = np.array([[.288, .275, .255, .247, .247, .247, .247, .247], [.365, .318, .279, .268, .259, .256, .255, .254],
               [.400, .347, .309, .284, .271, .267, .263, .2605], [.430, .374, .335, .306, .287, .275, .271, .267],
               [.441, .386, .352, .329, .306, .288, .279, .274]])
CL = np.array([[.185, .245, .200, .173, .153, .142, .136, .128], [.335, .304, .246, .208, .184, .167, .158, .1485],
               [.364, .335, .286, .239, .215, .197, .181, .169], [.391, .350, .312, .269, .241, .226, .203, .1895],
               [.423, .372, .339, .300, .266, .250, .225, .210]])


def direction(azimuth, elevation):
    """Unit vector, azimuth + right of target, elevation + up; degrees."""
    a, e = np.radians(azimuth), np.radians(elevation)
    return np.array([np.cos(e) * np.cos(a), np.sin(e), np.cos(e) * np.sin(a)])


def axis_tilt(path, face, attack, loft):
    """Tilt of the spin axis from level, degrees, + = curves right: square to the plane of path and face normal."""
    axis = np.cross(direction(path, attack), direction(face, loft))
    return float(np.degrees(np.arctan2(-axis[1], np.hypot(axis[0], axis[2]))))


def impact(speed, path, attack, face, loft, club="iron"):
    """Ball's velocity (m/s) and spin vector (rad/s) from the head's speed, path, attack, face and dynamic loft."""
    head, e = HEADS[club]
    v, n = speed * direction(path, attack), direction(face, loft)
    normal = np.dot(v, n)
    along = (v - normal * n) / (1 + MASS / head + 2.5)
    return normal * (1 + e) / (1 + MASS / head) * n + along, 2.5 / RADIUS * np.cross(-n, along)


def lyu(speed, spin):
    s = min(RADIUS * spin / speed, 1.99 / 6.5)
    re = speed * 2 * RADIUS / VISCOSITY
    if speed <= 32:
        return 1.29e-10 * re ** 2 - 2.59e-5 * re + 1.50, 1.99 * s - 3.25 * s * s
    return 1.91e-11 * re ** 2 - 5.40e-6 * re + .56, 1.99 * s - 3.25 * s * s


def bearman(speed, spin):
    rate = np.clip(spin * 30 / np.pi, SPINS[0], SPINS[-1])
    i = min(int(np.searchsorted(SPINS, rate, side="right")) - 1, len(SPINS) - 2)
    w = (rate - SPINS[i]) / (SPINS[i + 1] - SPINS[i])
    return tuple(float((1 - w) * np.interp(speed, SPEEDS, t[i]) + w * np.interp(speed, SPEEDS, t[i + 1])) for t in (CD, CL))


def fly(velocity, spin, coefficients=lyu, step=.02):
    """Path (N, 3) in metres until the ball is back at the ground (midpoint rule; the spin is kept)."""
    x, v, w = np.zeros(3), np.array(velocity, float), np.array(spin, float)
    rate = np.linalg.norm(w)
    path = [x]

    def acceleration(v):
        speed = np.linalg.norm(v)
        cd, cl = coefficients(speed, rate)
        q = .5 * AIR * np.pi * RADIUS ** 2 * speed ** 2 / MASS
        lift = np.cross(w, v)
        size = np.linalg.norm(lift)
        return -q * cd * v / speed + (q * cl / size * lift if size > 0 else 0.0) - GRAVITY * UP
    while x[1] >= 0 and len(path) < 1500:
        mid = v + .5 * step * acceleration(v)
        x = x + step * mid
        v = v + step * acceleration(mid)
        path.append(x)
    return np.array(path)


def describe(path, velocity):
    """Start direction (deg, + right), launch (deg), carry (m), where it ends beside the start line (m, + right)."""
    end, a = path[-1], np.arctan2(velocity[2], velocity[0])
    return {"start": float(np.degrees(a)), "launch": float(np.degrees(np.arctan2(velocity[1], np.hypot(velocity[0], velocity[2])))),
            "carry": float(np.hypot(end[0], end[2])), "curve": float(end[2] * np.cos(a) - end[0] * np.sin(a))}
