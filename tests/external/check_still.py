#!/usr/bin/python3
"""Stripped stills against the decoders of the Python Imaging Library: real JPEG, PNG and WebP pictures of every mode, with EXIF,
XMP, profiles, texts and comments, come out with exactly the same pixels and with none of it; turned ones are refused.

Usage: check_still.py BUILD."""
import io
import os
import random
import subprocess
import sys

BUILD = sys.argv[1] if len(sys.argv) > 1 else "build"
count = {"passed": 0, "failed": 0, "skipped": 0}
try:
    from PIL import Image, ImageCms, PngImagePlugin, features
except ImportError:
    Image = None


def check(ok, text):
    count["passed" if ok else "failed"] += 1
    print(("ok      " if ok else "FAILED  ") + text)


class Stripper:
    def __init__(self):
        self.process = subprocess.Popen([os.path.join(BUILD, "tests", "external_still")], stdin=subprocess.PIPE,
                                        stdout=subprocess.PIPE)

    def __call__(self, data):
        """(type, width, height, bytes) or the reason of the refusal."""
        self.process.stdin.write(b"%d\n" % len(data) + data)
        self.process.stdin.flush()
        line = self.process.stdout.readline().decode().rstrip("\n")
        if line.startswith("refused "):
            return line[8:]
        kind, width, height, size = line.split()
        return kind, int(width), int(height), self.process.stdout.read(int(size))


def picture(mode, size, seed):
    """Soft blobs with some noise, so that every coder has something to do."""
    dice = random.Random(seed)
    small = Image.frombytes("RGBA", (7, 5), bytes(dice.randrange(256) for _ in range(7 * 5 * 4)))
    whole = small.resize(size, Image.BICUBIC)
    if mode == "P":
        return whole.convert("RGB").quantize(23)
    return whole.convert(mode)


def encoded(image, kind, turn=None, **options):
    out = io.BytesIO()
    exif = Image.Exif()
    exif[0x010E] = "secret words"
    if turn is not None:
        exif[0x0112] = turn
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    if kind == "PNG":
        texts = PngImagePlugin.PngInfo()
        texts.add_text("Author", "secret words")
        texts.add_itxt("XML:com.adobe.xmp", "<x>secret words</x>")
        options["pnginfo"] = texts
    if kind == "JPEG":
        options["comment"] = b"secret words"
    if kind == "WEBP":
        options["xmp"] = b"<x>secret words</x>"
    image.save(out, kind, exif=exif.tobytes(), icc_profile=profile, **options)
    return out.getvalue()


def one(strip, name, image, kind, **options):
    data = encoded(image, kind, **options)
    got = strip(data)
    if isinstance(got, str):
        check(False, name + ": refused, it " + got)
        return
    bare = Image.open(io.BytesIO(got[3]))
    same = list(Image.open(io.BytesIO(data)).getdata()) == list(bare.getdata())
    check(same and bare.size == got[1:3] and bare.size == image.size, name + ": the same pixels")
    left = [key for key in bare.info if key in ("exif", "icc_profile", "comment", "xmp", "Author", "XML:com.adobe.xmp")]
    check(not left and b"secret words" not in got[3] and not dict(bare.getexif()), "%s: nothing is said any more %s" % (name, left))
    check(strip(got[3])[3:] == got[3:], name + ": stripped again it stays the same")


def main():
    strip = Stripper()
    kinds = [("JPEG", mode, options) for mode in ("L", "RGB", "CMYK")
             for options in ({}, {"progressive": True}, {"quality": 30, "optimize": True}, {"subsampling": 0, "restart": 1})]
    kinds += [("PNG", mode, {}) for mode in ("1", "L", "LA", "P", "RGB", "RGBA", "I;16")]
    kinds += [("PNG", "P", {"transparency": 3}), ("PNG", "RGB", {"transparency": (1, 2, 3)}), ("PNG", "P", {"bits": 4})]
    if features.check("webp"):
        kinds += [("WEBP", mode, options) for mode in ("RGB", "RGBA") for options in ({}, {"lossless": True}, {"quality": 20})]
    else:
        count["skipped"] += 1
        print("skipped WebP: this library has no coder")
    for i, (kind, mode, options) in enumerate(kinds):
        shape = ((64, 48), (63, 49), (1, 1), (301, 7))[i % 4]
        image = picture("L", shape, i).point(lambda v: v * 200, "I").convert("I;16") if mode == "I;16" else picture(mode, shape, i)
        one(strip, "%s %s %s %dx%d" % (kind, mode, options, *shape), image, kind, turn=1 if i % 2 else None, **options)
    for kind in {kind for kind, _, _ in kinds}:
        for turn in (2, 3, 6, 8):
            check("turned" in strip(encoded(picture("RGB", (20, 10), turn), kind, turn=turn)), "%s turned %d is refused" % (kind, turn))
    check("4096" in strip(encoded(picture("RGB", (4097, 1), 1), "PNG")), "4097 pixels are refused")
    check(not isinstance(strip(encoded(picture("RGB", (4096, 2), 1), "PNG")), str), "4096 are not")


if Image is None:
    count["skipped"] += 1
    print("skipped everything: python3-pil is not installed")
else:
    main()
print("check_still: %(passed)d passed, %(failed)d failed, %(skipped)d skipped" % count)
sys.exit(1 if count["failed"] else 0)
