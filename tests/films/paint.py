"""Strokes on a picture of floats: thick limbs with depth, and thin straight lines that move while the shutter is open.

A picture is (height, width, channels) float32; pixel i covers [i, i + 1). Depth is metres from the camera."""
import math

import numpy as np


def within(values):
    """The values, 0 to 1: np.clip does the same in twice the time."""
    return np.minimum(np.maximum(values, 0), 1)


def box_of(shape, points, margin):
    """Rows and columns (y0, y1, x0, x1) of the picture that hold the points and a margin; empty ones have y1 <= y0."""
    low, high = np.min(points, axis=0) - margin, np.max(points, axis=0) + margin
    inside = lambda at, most: int(min(max(at, 0), most))  # noqa: E731
    return (inside(math.floor(low[1]), shape[0]), inside(math.ceil(high[1]), shape[0]),
            inside(math.floor(low[0]), shape[1]), inside(math.ceil(high[0]), shape[1]))


def limb(image, depth, a, b, ra, rb, za, zb, scale, colour, light=.35, pattern=None):
    """A round limb from a to b with radii in px, lit from above left. `scale`: metres per px at its depth; `pattern`: (period
    and share in metres, second colour) of stripes across it. Nearer things in `depth` are kept."""
    r = max(ra, rb)
    y0, y1, x0, x1 = box_of(image.shape, np.stack([a, b]), r + 1)
    if y1 <= y0 or x1 <= x0:
        return
    x = (np.arange(x0, x1, dtype=np.float32) + np.float32(.5 - a[0]))[None, :]
    y = (np.arange(y0, y1, dtype=np.float32) + np.float32(.5 - a[1]))[:, None]
    d = b - a
    length2 = max(float(d @ d), 1e-6)
    t = within((x * np.float32(d[0]) + y * np.float32(d[1])) / np.float32(length2))
    ex, ey = x - t * np.float32(d[0]), y - t * np.float32(d[1])
    out = np.sqrt(ex * ex + ey * ey)
    radius = ra + t * np.float32(rb - ra)
    alpha = within(radius - out + np.float32(.5))
    round_ = np.sqrt(within(1 - (out / np.maximum(radius, .3)) ** 2))
    z = za + t * np.float32(zb - za) - round_ * radius * np.float32(scale)
    near = depth[y0:y1, x0:x1]
    alpha = alpha * (z < near)
    tone = (1 - light) + light * (.6 * round_ - .4 * (ex + ey) / np.maximum(radius, .3) * np.float32(.7))
    shade = np.asarray(colour, np.float32) * tone[..., None]
    if pattern is not None:
        period, share, second = pattern
        along = t * np.float32(np.sqrt(length2) * scale)
        across = (ex * np.float32(-d[1]) + ey * np.float32(d[0])) / np.float32(np.sqrt(length2)) * np.float32(scale)
        on = ((along / period) % 1 < share) ^ ((across / period) % 1 < .5 * share)
        shade = np.where(on[..., None], np.asarray(second, np.float32) * tone[..., None], shade)
    part = image[y0:y1, x0:x1]
    part += alpha[..., None] * (shade - part)
    near[:] = np.where(alpha > .5, z, near)


def coverage(shape, a, b, wa, wb, za=None, zb=None, depth=None):
    """(height, width) mean share that a line from a[s] to b[s] of widths wa to wb px covers over its places s: the exact
    motion blur. With depth, what lies behind is hidden. Coordinates are those of the part of the picture given by shape."""
    h, w = shape
    total = np.zeros(h * w, np.float64)
    d = b - a
    steep = np.abs(d[:, 1]) > np.abs(d[:, 0])
    for upright in (False, True):
        use = np.flatnonzero(steep == upright)
        if len(use) == 0:
            continue
        i, j = (1, 0) if upright else (0, 1)  # along, across
        pa, pb = a[use], b[use]
        span = pb[:, i] - pa[:, i]
        span = np.where(np.abs(span) < 1e-6, 1e-6, span)
        first = np.floor(np.minimum(pa[:, i], pb[:, i]))
        n = int(np.max(np.abs(span))) + 2
        at = first[:, None] + np.arange(n)[None, :] + .5
        t = (at - pa[:, i, None]) / span[:, None]
        low, high = np.minimum(pa[:, i], pb[:, i])[:, None], np.maximum(pa[:, i], pb[:, i])[:, None]
        along = within(np.minimum(at + .5, high) - np.maximum(at - .5, low))
        centre = pa[:, j, None] + t * (pb - pa)[:, j, None]
        cos = np.abs(span) / np.maximum(np.hypot(d[use, 0], d[use, 1]), 1e-6)
        half = (wa + within(t) * (wb - wa)) / 2 / np.maximum(cos[:, None], .5)
        reach = int(np.ceil(np.max(half))) + 1
        k = np.arange(-reach, reach + 1)
        row = np.floor(centre)[..., None] + k
        cover = within(np.minimum(row + 1, (centre + half)[..., None]) - np.maximum(row, (centre - half)[..., None]))
        cover *= along[..., None]
        col = np.broadcast_to(np.floor(at)[..., None], row.shape)
        x, y = (row, col) if upright else (col, row)
        keep = (cover > 0) & (x >= 0) & (x < w) & (y >= 0) & (y < h)
        place = (y[keep] * w + x[keep]).astype(np.int64)
        cover = cover[keep]
        if depth is not None:
            z = np.broadcast_to((za[use, None] + within(t) * (zb - za)[use, None])[..., None], row.shape)[keep]
            cover = cover * (z < depth.ravel()[place] + .03)
        total += np.bincount(place, weights=cover, minlength=h * w)
    return np.minimum(total / len(a), 1).reshape(h, w).astype(np.float32)
