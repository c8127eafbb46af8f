"""The ready scenes: SUITE is drawn by every run of the checks (small and short), MORE of the same kind and LONG (up to 4K and 240 Hz) once by
hand. Every hard thing is in several of SUITE: both views, both hands, three clothes, loose sleeves, a second person, 30 to 240 Hz.
by_lot() draws others, which nothing was tuned on: the hold-out."""
import random

from scene import Scene
from study import FAULTS

BEHIND, FRONT = "down_the_line", "face_on"
SUITE = [
    Scene(1, BEHIND, 354, 492, 60, 1 / 500, "right", "driver", "bright", name="behind_60"),
    Scene(2, FRONT, 354, 492, 60, 1 / 500, "right", "7 iron", "dark", backdrop="fence", name="front_60"),
    Scene(3, BEHIND, 354, 492, 30, 1 / 250, "left", "7 iron", "patterned", loose=True, name="behind_30_left"),
    Scene(4, FRONT, 640, 480, 30, 1 / 250, "left", "driver", "bright", loose=True, steel=False, name="front_30_left"),
    Scene(6, FRONT, 405, 720, 120, 1 / 500, "left", "wedge", "patterned", backdrop="bay", bits=.12, name="front_120_bay"),
    Scene(7, BEHIND, 354, 492, 60, 1 / 250, "left", "driver", "dark", loose=True, second=True, backdrop="fence", steel=False, bits=.12,
          name="behind_60_second"),
    Scene(8, FRONT, 480, 640, 60, 1 / 125, "right", "driver", "bright", second=True, contrast=.7, pace=1.25, name="front_60_fast"),
    Scene(9, BEHIND, 360, 640, 240, 1 / 1000, "right", "7 iron", "patterned", loose=True, bits=.08, noise=5.0, pace=1.25, name="behind_240"),
    Scene(11, BEHIND, 480, 640, 30, 1 / 125, "right", "7 iron", "bright", second=True, contrast=.7, backdrop="bay", name="behind_30_dim"),
    Scene(12, FRONT, 354, 492, 30, 1 / 125, "right", "wedge", "dark", loose=True, second=True, backdrop="plain", name="front_30_slow"),
]
MORE = [
    Scene(5, BEHIND, 405, 720, 120, 1 / 1000, "right", "wedge", "dark", backdrop="bay", name="behind_120_bay"),
    Scene(10, FRONT, 360, 640, 240, 1 / 1000, "right", "7 iron", "bright", backdrop="fence", bits=.08, noise=5.0, name="front_240"),
]
LONG = [
    Scene(21, BEHIND, 2160, 3840, 60, 1 / 500, "right", "driver", "patterned", name="behind_4k_60"),
    Scene(22, FRONT, 3840, 2160, 60, 1 / 250, "left", "7 iron", "bright", loose=True, backdrop="fence", name="front_4k_60"),
    Scene(23, BEHIND, 1080, 1920, 240, 1 / 1000, "left", "7 iron", "dark", second=True, bits=.09, name="behind_1080_240"),
    Scene(24, FRONT, 1920, 1080, 240, 1 / 1000, "right", "driver", "bright", backdrop="bay", bits=.09, name="front_1080_240"),
    Scene(25, BEHIND, 1080, 1920, 30, 1 / 125, "right", "wedge", "bright", loose=True, second=True, backdrop="bay", name="behind_1080_30"),
    Scene(26, FRONT, 1080, 1920, 30, 1 / 250, "left", "driver", "patterned", steel=False, backdrop="plain", pace=1.25, name="front_1080_30"),
]
SIZES = [(354, 492), (405, 720), (480, 640), (640, 480), (360, 640), (540, 960)]


def by_lot(count):
    """Scenes of which everything is drawn by lot, and the player swings every other one with a fault: seeds that no other scene has."""
    lot, made = random.Random("hold-out"), []
    for i in range(count):
        view, fps = (BEHIND, FRONT)[i % 2], (30, 60, 120, 240)[i // 2 % 4]
        width, height = lot.choice(SIZES)
        made.append(Scene(
            90001 + i, view, width, height, fps, lot.choice([e for e in (1 / 125, 1 / 250, 1 / 500, 1 / 1000) if e < 1 / fps]),
            lot.choice(["left", "right"]), lot.choice(["driver", "7 iron", "wedge"]), lot.choice(["bright", "dark", "patterned"]),
            loose=lot.random() < .4, second=lot.random() < .3, backdrop=lot.choice(["trees", "fence", "bay", "plain"]), steel=lot.random() < .7,
            contrast=lot.uniform(.7, 1), noise=lot.uniform(2, 6), bits=lot.uniform(.08, .2), pace=lot.uniform(.9, 1.25),
            fault=lot.choice(list(FAULTS)) if i // 8 % 2 else None, name="lot_%s_%d_%d" % ("behind" if view == BEHIND else "front", fps, i)))
    return made


ALL = SUITE + MORE + LONG
BY_NAME = {s.name: s for s in ALL}
