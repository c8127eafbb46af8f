"""A player in a picture: limbs with clothes, loose sleeves, the club with its motion blur, shadows on the ground."""
import numpy as np

import paint

SKIN, SHOES = (206, 162, 130), (226, 226, 222)
CLOTHES = {  # shirt, trousers, cap, stripes (period m, share, colour) or None
    "bright": ((228, 224, 214), (196, 190, 172), (244, 240, 232), None),
    "dark": ((42, 44, 58), (34, 36, 44), (28, 28, 32), None),
    "patterned": ((186, 66, 52), (62, 72, 98), (240, 240, 236), (.07, .4, (236, 226, 210))),
}
# Two points, radius at each as a share of height, which cloth.
LIMBS = [(s + a, s + b, ra, rb, cloth) for s in ("lead_", "trail_")
         for a, b, ra, rb, cloth in (("hip", "knee", .052, .036, "trousers"), ("knee", "ankle", .036, .026, "trousers"),
                                     ("ankle", "toe", .022, .018, "shoes"), ("shoulder", "elbow", .031, .025, "shirt"),
                                     ("elbow", "wrist", .022, .016, "skin"))]
TO_SUN = np.array([-.45, 1.0, .35])
GRIP_LENGTH = .16  # m of dark grip below the middle of the hands


class Figure:
    """One person in one camera: `colours` turns red, green, blue into the picture's channels."""

    def __init__(self, camera, height, clothes, loose, wood, steel, contrast, colours, rng):
        self.camera, self.height, self.loose, self.wood = camera, height, loose, wood
        shirt, trousers, cap, stripes = CLOTHES[clothes]
        self.cloth = {"shirt": colours(shirt), "trousers": colours(trousers), "shoes": colours(SHOES), "skin": colours(SKIN),
                      "cap": colours(cap), "steel": colours((1, 1, 1)), "grip": colours((26, 26, 28)), "head": colours((60, 62, 68))}
        self.stripes = None if stripes is None else (stripes[0], stripes[1], colours(stripes[2]))
        self.steel, self.contrast = steel, contrast
        self.flap = rng.uniform(0, 6.28, 4)

    def seen(self, p):
        place = self.camera.place
        return {n: self.camera.picture(q) for n, q in p.items()}, {n: float((q - place) @ self.camera.ahead) for n, q in p.items()}

    def parts(self, p, t):
        """(a, b, ra, rb in m, cloth) in space."""
        h = self.height
        out = []
        for a, b, ra, rb, cloth in LIMBS:
            start, end = p[a], p[b]
            if self.loose and cloth in ("shirt", "skin") and ("elbow" in a or "elbow" in b):
                i = (0 if a.startswith("lead") else 1)
                hang = np.array([.006 * np.sin(9 * t + self.flap[i]), -.022, .006 * np.sin(7 * t + self.flap[2 + i])]) * h
                if cloth == "shirt":
                    out.append((start, end + .5 * hang, ra * 1.25 * h, rb * 1.8 * h, "shirt"))
                else:
                    cuff = start + .86 * (end - start)
                    out.append((start + .5 * hang, cuff + .6 * hang, .040 * h, .030 * h, "shirt"))
            out.append((start, end, ra * h, rb * h, cloth))
        waist, chest = .5 * (p["lead_hip"] + p["trail_hip"]), .5 * (p["lead_shoulder"] + p["trail_shoulder"])
        side = .030 * h * (p["lead_shoulder"] - p["trail_shoulder"]) / np.linalg.norm(p["lead_shoulder"] - p["trail_shoulder"])
        out += [(waist + side, chest + side - .04 * (chest - waist), .064 * h, .070 * h, "shirt"),
                (waist - side, chest - side - .04 * (chest - waist), .064 * h, .070 * h, "shirt"),
                (p["lead_shoulder"], p["trail_shoulder"], .036 * h, .036 * h, "shirt"),
                (p["lead_hip"], p["trail_hip"], .05 * h, .05 * h, "trousers"),
                (p["neck"], p["head"], .030 * h, .030 * h, "skin"),
                (p["head"] - [0, .02 * h, 0], p["head"] + [0, .02 * h, 0], .056 * h, .056 * h, "skin"),
                (p["head"] + [0, .028 * h, 0], p["head"] + [0, .04 * h, 0], .056 * h, .05 * h, "cap")]
        for name in ("lead_wrist", "trail_wrist"):
            out.append((p[name], .25 * p[name] + .75 * p["grip"], .021 * h, .024 * h, "skin"))
        return out

    def body(self, image, depth, p, t):
        """Paints the body onto the picture and its depth, nearest last."""
        camera = self.camera
        parts = self.parts(p, t)
        ends = np.array([[a, b] for a, b, _, _, _ in parts])
        uv, z = camera.picture(ends), (ends - camera.place) @ camera.ahead
        for i in np.argsort(-z.mean(axis=1)):
            _, _, ra, rb, cloth = parts[i]
            scale = float(z[i].mean()) / camera.focal
            paint.limb(image, depth, uv[i, 0], uv[i, 1], ra / scale, rb / scale, z[i, 0], z[i, 1], scale, self.cloth[cloth],
                       pattern=self.stripes if cloth == "shirt" else None)

    def shadow(self, image, p, club):
        """Darkens the ground where the body and the club keep the sun off."""
        camera = self.camera
        fall = lambda q: q - TO_SUN * (q[..., 1:2] / TO_SUN[1])  # noqa: E731
        pairs = [(p[a], p[b], (ra + rb) * self.height) for a, b, ra, rb, _ in LIMBS]
        pairs += [(p["lead_hip"], p["neck"], .15 * self.height), (p["neck"], p["head"], .11 * self.height)]
        ends = fall(np.array([[a, b] for a, b, _ in pairs] + [list(club)]))
        z = (ends - camera.place) @ camera.ahead
        uv = camera.picture(ends)
        y0, y1, x0, x1 = paint.box_of(image.shape, uv.reshape(-1, 2), 30)
        if np.min(z) < .5 or y1 <= y0 or x1 <= x0:
            return
        dark = np.zeros((y1 - y0, x1 - x0), np.float32)
        for (a, b), zz, width in zip(uv - [x0, y0], z, [w for _, _, w in pairs] + [.014]):
            wide = width * .7 * camera.focal / zz
            top, low, left, right = paint.box_of(dark.shape, np.stack([a, b]), wide.max() + 3)
            if low > top and right > left:
                part = dark[top:low, left:right]
                np.maximum(part, paint.coverage(part.shape, (a - [left, top])[None], (b - [left, top])[None], wide[0], wide[1]), out=part)
        image[y0:y1, x0:x1] *= (1 - .42 * dark)[..., None]

    def club(self, image, depth, p):
        """The club over its places while the shutter is open: p[name] is (s, 3). Returns how many px of the shaft's length
        below the grip are seen, and by how many grey levels its pixels stand out."""
        camera, seen = self.camera, (0.0, 0.0)
        shaft = p["clubhead"] - p["grip"]
        shaft = shaft / np.linalg.norm(shaft, axis=-1, keepdims=True)
        low = p["grip"] + GRIP_LENGTH * shaft
        wide, high = (.085, .06) if self.wood else (.06, .045)
        heel, toe = p["clubhead"] - .5 * wide * camera.right, p["clubhead"] + .5 * wide * camera.right
        shine = float(np.mean(np.abs(shaft @ np.array([.2, .5, .84]))))
        bright = (46 + 40 * shine) if not self.steel else (140 + 25 * (1 - shine ** 2))  # metal: between sky and turf
        bright = 120 + self.contrast * (bright - 120)
        for a, b, wa, wb, colour in ((p["butt"], low, .026, .022, self.cloth["grip"]),
                                     (low, p["clubhead"], .0145, .0095, self.cloth["steel"] * bright),
                                     (heel, toe, high, high, self.cloth["head"])):
            za, zb = (a - camera.place) @ camera.ahead, (b - camera.place) @ camera.ahead
            if min(za.min(), zb.min()) < .3:
                continue
            pa, pb = camera.picture(a), camera.picture(b)
            y0, y1, x0, x1 = paint.box_of(image.shape, np.concatenate([pa, pb]), .08 * camera.focal / min(za.min(), zb.min()) + 2)
            if y1 <= y0 or x1 <= x0:
                continue
            at = np.array([x0, y0])
            alpha = paint.coverage((y1 - y0, x1 - x0), pa - at, pb - at, wa * camera.focal / za.mean(), wb * camera.focal / zb.mean(),
                                   za, zb, depth[y0:y1, x0:x1])
            part = image[y0:y1, x0:x1]
            change = alpha[..., None] * (colour - part)
            part += change
            if wb == .0095:
                area = float(alpha.sum())
                seen = (area / (.012 * camera.focal / za.mean()), float((alpha * np.abs(change.mean(axis=-1))).sum()) / max(area, 1e-6))
        return seen
