"""What stands still behind a player: sky, trees with hard edges, textured ground, a fence, a post, sticks and a mat."""
import numpy as np
from scipy.ndimage import gaussian_filter, zoom

import paint

TILE = 256


def tile(rng, octaves):
    """A square of noise that joins itself at its edges, sd 1; `octaves`: (blur in px, weight)."""
    out = np.zeros((TILE, TILE), np.float32)
    for blur, weight in octaves:
        n = rng.standard_normal((TILE, TILE)).astype(np.float32)
        n = gaussian_filter(n, blur, mode="wrap") if blur else n
        out += weight * n / n.std()
    return out / out.std()


def looked_up(noise, u, v):
    """The noise at (u, v) tiles, bilinear."""
    u, v = u % 1 * TILE, v % 1 * TILE
    i, j = u.astype(np.int32) % TILE, v.astype(np.int32) % TILE
    fu, fv = u - np.floor(u), v - np.floor(v)
    i1, j1 = (i + 1) % TILE, (j + 1) % TILE
    return ((1 - fv) * ((1 - fu) * noise[j, i] + fu * noise[j, i1]) + fv * ((1 - fu) * noise[j1, i] + fu * noise[j1, i1]))


def rays(camera):
    """(height, width, 3) directions of every pixel's centre."""
    u = (np.arange(camera.width) + .5 - camera.width / 2) / camera.focal
    v = (np.arange(camera.height) + .5 - camera.height / 2) / camera.focal
    return (camera.ahead + u[None, :, None] * camera.right + v[:, None, None] * camera.down).astype(np.float32)


def straight(image, camera, a, b, metres, colour, depth=None):
    """A straight thing that stands still, from a to b in space."""
    z = np.array([(p - camera.place) @ camera.ahead for p in (a, b)])
    if np.min(z) < .3:
        return
    pa, pb = camera.picture(np.stack([a, b]))
    wa, wb = metres * camera.focal / z
    alpha = paint.coverage(image.shape[:2], pa[None], pb[None], max(wa, .6), max(wb, .6))
    image += alpha[..., None] * (np.asarray(colour, np.float32) - image)
    if depth is not None:
        depth[alpha > .5] = float(np.mean(z))


def sticks_of(swing):
    """(2, 2, 3) ends, near and far, of the two sticks along the target line: before the toes and beyond the ball."""
    toes = swing.at["lead_toe"][0][2] + .06
    return np.array([[[end, .005, across] for end in (-.6, .6)] for across in (toes, swing.ball[2] + .12)])


def backdrop(camera, swing, rng, colours, kind):
    """The still picture (height, width, channels). kind: `trees`, `fence`, `bay` (posts and beams of a range), `plain`."""
    h, w = camera.height, camera.width
    tone = lambda rgb: colours(rgb)  # noqa: E731
    d = rays(camera)
    up = d[..., 1] / np.linalg.norm(d, axis=-1)
    side = np.arctan2(d @ camera.right, d @ camera.ahead)
    clouds = tile(rng, ((24, 1.0), (10, .5), (4, .2)))
    fine = tile(rng, ((0, .5), (1.2, 1.0), (5, .6), (20, .5)))
    leaves = tile(rng, ((.8, 1.0), (2.5, .9), (7, .8)))
    image = tone((186, 206, 226)) + up[..., None] * tone((-40, -20, -4))
    image = image + (8 * np.clip(looked_up(clouds, side * .5, up * 1.5), -1, 2))[..., None]
    if kind != "plain":
        crowns = zoom(rng.uniform(.02, .13, 24), 40, order=1)
        crowns = crowns + .012 * np.repeat(rng.standard_normal(240), 4)[:len(crowns)]
        edge = crowns[np.clip(((side + 1.2) / 2.4 * (len(crowns) - 1)).astype(int), 0, len(crowns) - 1)]
        leaf = looked_up(leaves, side * 3, up * 3)
        tree = (up < edge + .012 * leaf) & (up > -.02)
        shade = tone((58, 78, 50)) * (1 + .35 * np.clip(leaf, -1.8, 2.2))[..., None]
        image = np.where(tree[..., None], shade, image)
    below = up < 0
    reach = np.where(below, -camera.place[1] / np.minimum(d[..., 1], -1e-4), 0)
    x, z = camera.place[0] + reach * d[..., 0], camera.place[2] + reach * d[..., 2]
    far = np.clip(reach / 40, 0, 1)
    grass = (1 - far) * looked_up(fine, x * .55, z * .55) + .6 * looked_up(clouds, x * .05, z * .05)
    mown = 5 * np.sign(np.sin(z * 2.1))
    turf = tone((98, 132, 72)) + (11 * grass + mown * (1 - far))[..., None] + far[..., None] * tone((22, 16, 10))
    image = np.where(below[..., None], turf, image).astype(np.float32)
    ball = swing.ball
    if kind == "bay":
        mat = below & (np.abs(x) < .9) & (np.abs(z - ball[2] + .5) < .95)
        image = np.where(mat[..., None], tone((56, 92, 66)) + (5 * looked_up(fine, x * 2, z * 2))[..., None], image)
        for dx, dz in ((1.6, .8), (1.6, -1.9), (-1.2, -1.9)):
            straight(image, camera, np.array([dx, 0, ball[2] + dz]), np.array([dx, 3.2, ball[2] + dz]), .09, tone((74, 74, 80)))
        straight(image, camera, np.array([1.6, 2.6, ball[2] + 2]), np.array([1.6, 2.6, ball[2] - 3]), .12, tone((96, 90, 84)))
    if kind in ("fence", "bay"):
        if camera.view == "down_the_line":
            place = lambda s, y: np.array([16.0, y, ball[2] + s])  # noqa: E731
        else:
            place = lambda s, y: np.array([s, y, ball[2] - 9.0])  # noqa: E731
        for y in (.5, 1.0, 1.4):
            straight(image, camera, place(-14, y), place(14, y), .05, tone((228, 226, 220)))
        for s in np.arange(-12, 12.1, 2.0):
            straight(image, camera, place(s, 0), place(s, 1.5), .08, tone((206, 204, 196)))
    if kind in ("fence", "trees"):
        s = float(rng.choice([-1, 1])) * rng.uniform(.5, 1.6)
        foot = np.array([7.0, 0, ball[2] - .6 + s]) if camera.view == "down_the_line" else np.array([s, 0, ball[2] - 5.0])
        straight(image, camera, foot, foot + np.array([0, 4.5, 0]), .07, tone((62, 58, 54)))
    for near, far in sticks_of(swing):
        straight(image, camera, near, far, .012, tone((236, 140, 40)))
    return image
