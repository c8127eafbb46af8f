"""Smooth courses through key values in time: monotone cubics (Fritsch & Carlson 1980) rounded by a short Gaussian."""
import numpy as np


def monotone(times, keys, grid):
    """keys (K, P) at times (K,) -> (N, P) on grid; flat before the first and after the last key, never overshoots."""
    times, keys = np.asarray(times, float), np.asarray(keys, float)
    h = np.diff(times)[:, None]
    d = np.diff(keys, axis=0) / h
    w1, w2 = 2 * h[1:] + h[:-1], h[1:] + 2 * h[:-1]
    same = d[1:] * d[:-1] > 0
    with np.errstate(divide="ignore", invalid="ignore"):
        inner = np.where(same, (w1 + w2) / (w1 / d[:-1] + w2 / d[1:]), 0.0)
    m = np.vstack([np.zeros_like(keys[:1]), inner, np.zeros_like(keys[:1])])
    at = np.clip(grid, times[0], times[-1])
    i = np.clip(np.searchsorted(times, at, side="right") - 1, 0, len(times) - 2)
    hi = h[i]
    u = ((at - times[i]) / h[i, 0])[:, None]
    return ((1 + 2 * u) * (1 - u) ** 2 * keys[i] + u * (1 - u) ** 2 * hi * m[i] + u * u * (3 - 2 * u) * keys[i + 1]
            + u * u * (u - 1) * hi * m[i + 1])


def rounded(values, step, sigma):
    """Gaussian smoothing along time (rows), the ends held."""
    reach = int(np.ceil(4 * sigma / step))
    if reach < 1:
        return values
    weight = np.exp(-0.5 * (np.arange(-reach, reach + 1) * step / sigma) ** 2)
    weight /= weight.sum()
    padded = np.vstack([np.repeat(values[:1], reach, 0), values, np.repeat(values[-1:], reach, 0)])
    n = len(padded) + len(weight) - 1
    size = 1 << (n - 1).bit_length()
    spectrum = np.fft.rfft(padded, size, axis=0) * np.fft.rfft(weight, size)[:, None]
    return np.fft.irfft(spectrum, size, axis=0)[2 * reach:2 * reach + len(values)]


def turn_course(grid, top, peak, finish, start_angle, end_angle):
    """A segment's turn from the top on: speed rises and falls as raised cosines and is greatest at `peak`."""
    up, down = peak - top, finish - peak
    speed = (end_angle - start_angle) / (0.5 * (up + down))
    x = np.clip(grid - peak, -up, down)
    w = np.where(x < 0, up, down)
    return start_angle + speed * (0.5 * up + 0.5 * (x + w / np.pi * np.sin(np.pi * x / w)))


def crossing(grid, values, after, before, last=False):
    """Time where values change sign within (after, before); None when they don't."""
    use = np.flatnonzero((grid[:-1] >= after) & (grid[1:] <= before) & ((values[:-1] < 0) != (values[1:] < 0)))
    if len(use) == 0:
        return None
    i = use[-1 if last else 0]
    return grid[i] + (grid[i + 1] - grid[i]) * values[i] / (values[i] - values[i + 1])
