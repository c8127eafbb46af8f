#!/usr/bin/python3
"""`leadside score` as it is run: motion data in words and numbers, drawings read as XML, folders in several threads,
marker files, options and errors.

Usage: check_score.py BUILD. tests/data/motion.json is an invented swing of an invented player (geometry and 0.5 mm of
noise); the TRC files are written here from it.
"""
import itertools
import json
import math
import os
import re
import shutil
import subprocess
import sys
import tempfile
import xml.etree.ElementTree as ET

BUILD = sys.argv[1] if len(sys.argv) > 1 else "build"
HERE = os.path.dirname(os.path.abspath(__file__))
DATA = os.path.join(os.path.dirname(HERE), "data")
MOTION = os.path.join(DATA, "motion.json")
PROGRAM = os.path.join(os.path.abspath(BUILD), "leadside")
SVG = "{http://www.w3.org/2000/svg}"
ORDER = ["pelvis", "chest", "lead_arm", "club"]
count = {"passed": 0, "failed": 0, "skipped": 0}


def check(ok, text, detail=""):
    count["passed" if ok else "failed"] += 1
    print(("ok      " if ok else "FAILED  ") + text + ("" if ok else ": " + str(detail)[:500]), flush=True)
    return bool(ok)


def skip(text):
    count["skipped"] += 1
    print("skipped " + text)


def score(*arguments, user=None, stdin=None):
    change = (lambda: (os.setgroups([]), os.setgid(user), os.setuid(user))) if user else None
    return subprocess.run([PROGRAM, "score", *arguments], capture_output=True, preexec_fn=change, timeout=120, input=stdin)


def report(*arguments):
    done = score("--json", *arguments)
    if done.returncode != 0:
        raise SystemExit("leadside score %s: %s" % (" ".join(arguments), done.stderr.decode()))
    return [json.loads(line) for line in done.stdout.splitlines()]


def write(path, text):
    with open(path, "w", encoding="utf-8") as file:
        file.write(text if isinstance(text, str) else json.dumps(text))
    return path


def unwrapped(text):
    return " ".join(text.split())


# ---- words and numbers ----

def expected_verdict(peaks):
    """Which neighbours in the usual order are swapped, and which too close, by their own sd."""
    seen = [peaks[s] for s in ORDER if s in peaks]
    swapped, close = [], []
    for early, late in zip(seen, seen[1:]):
        lag, error = late["time_s"] - early["time_s"], 2 * math.hypot(early["sd"], late["sd"])
        name = lambda p: p["segment"].replace("_", " ")
        if lag < -error:
            swapped.append("the %s came before the %s" % (name(late), name(early)))
        elif lag <= error:
            close.append("the %s and the %s" % (name(early), name(late)))
    return swapped, close


def words():
    text = unwrapped(score(MOTION).stdout.decode())
    made = report(MOTION)[0]
    motion = made["motion"][0]
    check(motion["has_club"] and motion["taken"] == "by_impact" and motion["rate_hz"] == 120,
          "the invented swing is taken by its impact, with its club", motion)
    check(len(motion["checkpoints"]) == 10, "every checkpoint is found", motion["checkpoints"])
    times = [c["time_s"] for c in motion["checkpoints"]]
    check(times == sorted(times) and times[0] >= 0 and times[-1] <= motion["duration_s"],
          "in swing order and within the record", times)
    check("THE MOTION" in text, "the readable report has a section on the motion")
    told = re.findall(r"(\d+\.\d{3}) s ± (\d+) ms", text)
    expected = [("%.3f" % c["time_s"], "%.0f" % max(1, 2000 * c["sd"])) for c in motion["checkpoints"]]
    ok = len(told) == 11 and all(abs(float(t[0]) - float(e[0])) < 0.0011 and abs(int(t[1]) - int(e[1])) <= 1
                                 for t, e in zip(told, expected))
    check(ok, "every checkpoint's time is told with its error, and the hands' low point", (told, expected))
    sequence = re.search(r"(The [a-z ]+ turned fastest .*?\.) (?:Back \d|No tempo)", text).group(1)
    usual = all(o["code"] in ("first", "after") for o in motion["order"])
    check(("in the usual order" in sequence) == usual, "the body sequence is told as the report's codes have it", motion["order"])
    peaks = {p["segment"]: p for p in motion["peaks"]}
    check(list(peaks) == ORDER, "all four segments have a peak", list(peaks))
    impact = [c for c in motion["checkpoints"] if c["checkpoint"] == "impact"][0]
    lags = {s: round(1000 * (impact["time_s"] - p["time_s"])) for s, p in peaks.items()}
    first = min(peaks.values(), key=lambda p: p["time_s"])
    check(sequence.startswith("The %s turned fastest %d ms ±" % (first["segment"].replace("_", " "),
                                                                abs(lags[first["segment"]])))
          or abs(lags[first["segment"]]) > 0 and sequence.startswith("The %s turned" % first["segment"].replace("_", " ")),
          "it begins with the earliest peak", sequence)
    numbers = [int(n) for n in re.findall(r"(\d+) ms ± ", sequence)]
    near = all(min(abs(abs(lag) - n) for n in numbers) <= 1 for lag in lags.values())
    check(near and len(numbers) == 4, "and tells each peak's distance from impact", (numbers, lags))
    swapped, close = expected_verdict(peaks)
    check(all(s in sequence for s in swapped + close) and
          ("in the usual order" in sequence) == (not swapped and not close) and
          ("Too close to tell" in sequence) == bool(close),
          "swapped and too-close neighbours are those that their errors make so", (sequence, swapped, close))
    at = {c["checkpoint"]: c["time_s"] for c in motion["checkpoints"]}
    tempo = (at["top"] - at["address"]) / (at["impact"] - at["top"])
    found = re.search(r"a tempo of (\d+\.\d) ± ", text)
    check(found and abs(float(found.group(1)) - tempo) <= 0.06, "tempo in words is that of the times", tempo)
    sources = {(m["measure"], m["checkpoint"]): m["source"] for m in made["measures"]}
    check(sources.get(("chest_turn", "top")) == "motion" and ("body_order", None) in sources,
          "turn and body order are measured from the motion", sorted(map(str, sources))[:8])
    check("motion-capture data. This version" not in text, "nothing says any more that motion is not measured")


def described():
    """The motion block against the description served at /v1/openapi.json: the same keys, known words."""
    with open(os.path.join(HERE, "..", "..", "docs", "openapi.json"), encoding="utf-8") as file:
        schemas = json.load(file)["components"]["schemas"]
    wrong = []

    def walk(value, schema, where):
        if "$ref" in schema:
            schema = schemas[schema["$ref"].rsplit("/", 1)[1]]
        if "enum" in schema and value not in schema["enum"]:
            wrong.append("%s is %r" % (where, value))
        if "anyOf" in schema and value is not None:
            schema = schema["anyOf"][0]
        if isinstance(value, dict):
            wrong.extend("%s lacks %s" % (where, k) for k in schema["required"] if k not in value)
            for key, item in value.items():
                if key not in schema["properties"]:
                    wrong.append("%s.%s is not described" % (where, key))
                else:
                    walk(item, schema["properties"][key], where + "." + key)
        if isinstance(value, list):
            for item in value:
                walk(item, schema["items"], where + "[]")

    made = report(MOTION)[0]
    walk(made["motion"], schemas["Report"]["properties"]["motion"], "motion")
    for m in made["measures"]:
        walk(m["source"], schemas["Report"]["properties"]["measures"]["items"]["properties"]["source"], m["measure"])
    check(not wrong, "the motion block is as the API describes it", wrong)


def mirrored(folder):
    with open(MOTION) as file:
        document = json.load(file)
    for samples in document["motion"]["points"].values():
        for at in samples:
            at[2] = -at[2]
    document["hand"] = "left"
    left = report(write(os.path.join(folder, "left.json"), document))[0]
    right = report(MOTION)[0]
    strip = lambda r: [{k: v for k, v in m.items()} for m in r["measures"]]
    check(strip(left) == strip(right), "a mirrored left-hander's copy has the same measures")
    check(left["motion"] == right["motion"], "and the same motion block")


# ---- records that are not what they should be ----

def each(points, change):
    for name, samples in points.items():
        points[name] = [change(at) if at else None for at in samples]


def cut(points, a, b):
    for name, samples in points.items():
        points[name] = samples[a:b]


def swap(points):
    before = dict(points)
    for name in before:
        if name.startswith("lead_"):
            other = name.replace("lead_", "trail_")
            points[name], points[other] = before[other], before[name]


def hide(points, name, a, b):
    for i in range(a, b):
        points[name][i] = None


def stretch(points):
    for i, (grip, head) in enumerate(zip(points["grip"], points["clubhead"])):
        points["clubhead"][i] = [g + (1 + .25 * i / len(points["grip"])) * (h - g) for g, h in zip(grip, head)]


def repeat(points):
    for samples in points.values():
        for i in range(100, len(samples) - 1, 2):
            samples[i + 1] = samples[i]


def without(points, *names):
    for name in names:
        del points[name]


CLUB = ("grip", "butt", "clubhead", "ball")
BAD = [("three frames only", lambda p: cut(p, 0, 3), "too_short", True, "too short to hold a swing"),
       ("a sixth of a second", lambda p: cut(p, 0, 20), "too_short", True, "The record lasts 0.16 s"),
       ("a tenth of the size", lambda p: each(p, lambda at: [x / 10 for x in at]), "no_swing", True, "the unit of length"),
       ("an axis taken for another", lambda p: each(p, lambda at: [at[0], at[2], -at[1]]), "not_a_body", True, "upright axis"),
       ("a player facing away", lambda p: each(p, lambda at: [-at[0], at[1], -at[2]]), "faces_away", True,
        "Turn the target axis round"),
       ("swapped sides", swap, "sides_swapped", True, "left and right are swapped"),
       ("all gaps", lambda p: each(p, lambda at: None), "no_hands", True, "so nothing is measured"),
       ("no hands", lambda p: without(p, "lead_wrist", "trail_wrist", *CLUB), "no_hands", True, "a marker on each wrist"),
       ("a marker that is not on the club", stretch, "club_length", True, "which no club does"),
       ("no club", lambda p: without(p, *CLUB), "no_impact", False, "the hands' low point"),
       ("a hidden wrist", lambda p: hide(p, "lead_wrist", 150, 175), "gap", False, "The lead wrist is hidden for up to 0.21 s"),
       ("repeated frames", repeat, "repeated", False, "of the frames in the swing repeat the one before"),
       ("a ball somewhere else", lambda p: p.update(ball=[[x, y, z + .3] for x, y, z in p["ball"]]), "missed_ball", False,
        "passes 30 cm from the ball")]


def bad_records(folder):
    path = os.path.join(folder, "bad-record.json")
    club_only = re.compile("shaft|tempo|hands_gap")
    for name, spoil, issue, fault, said in BAD:
        with open(MOTION) as file:
            document = json.load(file)
        spoil(document["motion"]["points"])
        write(path, document)
        made = report(path)[0]
        found = {f["issue"]: f for f in made["motion"][0]["findings"]}
        text = unwrapped(score(path).stdout.decode())
        finding = found.get(issue)
        check(finding and finding["fault"] == fault and said in text,
              name + " is told of, in words and in the report", list(found.values()))
        names = {m["measure"] for m in made["measures"]}
        if fault and issue != "club_length":
            check(not names and not made["motion"][0]["checkpoints"] and "±" not in text.split("THE MOTION")[1].split("TAKE CARE")[0][40:],
                  "and nothing is measured from it", names)
            into = os.path.join(folder, "bad-svg")
            done = score(path, "--svg", into)
            roots = [ET.parse(os.path.join(into, n)).getroot() for n in sorted(os.listdir(into))]
            check(done.returncode == 0 and len(roots) == 2 and all(any("Nothing to draw" in t for t in words_of(r)) for r in roots),
                  "and its drawings say that there is nothing to draw", done.stderr)
        elif issue in ("club_length", "no_impact"):
            check(names and not any(club_only.match(n) for n in names) and not made["motion"][0]["has_club"] and
                  made["motion"][0]["plane"] is None and "club" not in [p["segment"] for p in made["motion"][0]["peaks"]],
                  "and nothing of the club is guessed", names)
            check("before the hands' low point" in text, "times are told from the hands' low point", text)


# ---- drawings ----

def drawing(path, what):
    text = open(path, encoding="utf-8").read()
    try:
        root = ET.fromstring(text)
    except ET.ParseError as error:
        check(False, what + " is XML", error)
        return None
    width, height = [float(x) for x in root.get("viewBox").split()[2:]]
    title, desc = root.find(SVG + "title"), root.find(SVG + "desc")
    check(root.tag == SVG + "svg" and title is not None and desc is not None and len(desc.text) > 60,
          what + " is an SVG with a title and a description")
    bad = [e.tag for e in root.iter() if e.tag in (SVG + "script", SVG + "image", SVG + "use", SVG + "foreignObject", SVG + "a")]
    bad += [k for e in root.iter() for k in e.keys() if "href" in k or k.startswith("on")]
    check(not bad and "url(" not in text and text.count("http") == 1, what + " holds no script and nothing from elsewhere", bad)
    places = []
    for e in root.iter():
        if e.tag == SVG + "path":
            places += [tuple(map(float, p)) for p in re.findall(r"[ML](-?[\d.]+) (-?[\d.]+)", e.get("d"))]
            check_dash = e.get("stroke-dasharray")
            if check_dash is None:
                bad.append("dash")
        if e.tag == SVG + "circle":
            places.append((float(e.get("cx")), float(e.get("cy"))))
    inside = all(0 <= x <= width and 0 <= y <= height for x, y in places)
    check(inside and len(places) > 50, what + ": every line lies within the picture", len(places))
    return root


def curves(root, kind):
    out = []
    for e in root.iter(SVG + "path"):
        points = re.findall(r"[ML](-?[\d.]+) (-?[\d.]+)", e.get("d"))
        if e.get("class") == "line " + kind and len(points) > 10:
            out.append([tuple(map(float, p)) for p in points])
    return out


def words_of(root):
    return [e.text for e in root.iter(SVG + "text")]


def drawings(folder):
    into = os.path.join(folder, "drawn")
    done = score(MOTION, "--svg", into)
    check(done.returncode == 0 and done.stderr == b"", "--svg works and is silent", done.stderr)
    check(done.stdout == score(MOTION).stdout, "and changes nothing in what is printed")
    check(sorted(os.listdir(into)) == ["motion-hands.svg", "motion-speeds.svg"], "two drawings, named by the file",
          os.listdir(into))
    motion = report(MOTION)[0]["motion"][0]
    root = drawing(os.path.join(into, "motion-speeds.svg"), "speeds")
    said = words_of(root)
    check(all(s in said for s in ("pelvis", "chest", "lead arm", "club", "Turning speed (° per second)")),
          "speeds: every line has its name beside it, and the axis its unit", said)
    check(all(len(curves(root, k)) == 1 for k in ("purple", "sky", "orange", "ink")), "speeds: four curves")
    dashes = {e.get("stroke-dasharray") for e in root.iter(SVG + "path") if e.get("class", "").startswith("line ")}
    check(len(dashes) == 4, "speeds: told apart by their dashes too", dashes)
    rings = [(e.get("class"), float(e.get("cx")), float(e.get("cy"))) for e in root.iter(SVG + "circle")]
    kinds = dict(zip(ORDER, ("purple", "sky", "orange", "ink")))
    peaks = {p["segment"]: p for p in motion["peaks"]}
    on = {r[0].split()[1]: r for r in rings}
    check(len(rings) == 4, "speeds: a ring on every peak", rings)
    x = {s: on[kinds[s]][1] for s in ORDER}
    y = {s: on[kinds[s]][2] for s in ORDER}
    most = max(ORDER, key=lambda s: peaks[s]["speed_deg_s"])
    least = min(ORDER, key=lambda s: peaks[s]["speed_deg_s"])
    scale = (y[most] - y[least]) / (peaks[most]["speed_deg_s"] - peaks[least]["speed_deg_s"])
    off = [abs(y[s] - y[least] - scale * (peaks[s]["speed_deg_s"] - peaks[least]["speed_deg_s"])) for s in ORDER]
    check(scale < 0 and max(off) < 0.5, "speeds: the rings stand at their speeds", off)
    gap = [min(math.hypot(px - x[s], py - y[s]) for px, py in curves(root, kinds[s])[0]) for s in ORDER]
    check(max(gap) < 8, "speeds: and on their curves", gap)
    marks = [e for e in root.iter(SVG + "path") if e.get("class") == "mark"]
    check(len(marks) == len(motion["checkpoints"]) and "impact" in said and "top" in said,
          "speeds: a named line for every checkpoint", len(marks))
    hands(into)
    title = root.find(SVG + "title").text
    usual = all(o["code"] in ("first", "after") for o in motion["order"])
    told = root.find(SVG + "desc").text
    check("motion" in title and "turned fastest" in told and ("in the usual order" in told) == usual,
          "speeds: the description tells the sequence", title)


def hands(into):
    root = drawing(os.path.join(into, "motion-hands.svg"), "hands")
    said = words_of(root)
    check("going back" in said and "coming down" in said, "hands: both ways are named", said)
    measures = {m["measure"]: m for m in report(MOTION)[0]["measures"]}
    for measure, phase, kind in (("order_back", "Going back", "ink"), ("order_down", "Coming down", "orange")):
        m = measures.get(measure)
        if not check(m is not None, measure + " is observed in the invented swing"):
            continue
        told = "%s: order index %+.2f ± %.2f." % (phase, m["value"], max(0.01, 2 * m["sd"]))
        near = [s for s in said if s.startswith(phase + ": order index")]
        values = [re.search(r"([+-]\d\.\d\d) ± (\d\.\d\d)", s) for s in near]
        check(values and abs(float(values[0].group(1)) - m["value"]) < 0.0101 and
              abs(float(values[0].group(2)) - 2 * m["sd"]) < 0.0101, "hands: %s with its error" % measure, (told, near))
        # the index again, from the line as drawn: twice the area beside it in the square that its ends span
        line = curves(root, kind)[0]
        x0, y0, x1, y1 = *line[0], *line[-1]
        u = [(x - x0) / (x1 - x0) for x, _ in line]
        v = [(y - y0) / (y1 - y0) for _, y in line]
        first, then = (u, v) if kind == "ink" else (v, u)
        area = 2 * sum((a + b) / 2 * (q - p) for a, b, p, q in zip(first, first[1:], then, then[1:])) - 1
        check(abs(area - m["value"]) < 0.03, "hands: the line encloses that index (%s %.3f, drawn %.3f)" % (measure, m["value"], area))


def drawn_safely(folder):
    into = os.path.join(folder, "safe")
    os.mkdir(into)
    outside = write(os.path.join(folder, "outside.txt"), "precious")
    os.symlink(outside, os.path.join(into, "motion-speeds.svg"))
    os.link(outside, os.path.join(into, "motion-hands.svg"))
    done = score(MOTION, "--svg", into)
    check(done.returncode == 0 and open(outside).read() == "precious",
          "a link that lies in the way is replaced, not followed", done.stderr)
    check(not os.path.islink(os.path.join(into, "motion-speeds.svg")) and len(os.listdir(into)) == 2,
          "and nothing is left beside", os.listdir(into))
    again = {n: open(os.path.join(into, n)).read() for n in os.listdir(into)}
    score(MOTION, "--svg", into)
    check(again == {n: open(os.path.join(into, n)).read() for n in os.listdir(into)}, "drawing twice draws the same")
    name = "a<b>&\"c'é"
    odd = os.path.join(folder, name + ".json")
    shutil.copy(MOTION, odd)
    done = score(odd, "--svg", into)
    root = drawing(os.path.join(into, name + "-speeds.svg"), "a drawing of a file with a hostile name")
    check(done.returncode == 0 and root.find(SVG + "title").text.endswith(name), "names the file as it is")
    broken = os.path.join(os.fsencode(folder), b"bad\xff.json")
    shutil.copy(MOTION, broken)
    subprocess.run([PROGRAM.encode(), b"score", broken, b"--svg", os.fsencode(into)], capture_output=True, check=True)
    with open(os.path.join(os.fsencode(into), b"bad\xff-speeds.svg"), "rb") as file:
        check(ET.fromstring(file.read()).find(SVG + "title").text.endswith("bad?"), "a name that is no text is shown as ?")
    plain = os.path.join(folder, "plain")
    done = score(os.path.join(DATA, "two_views.json"), "--svg", plain)
    check(done.returncode == 0 and b"no motion data to draw" in done.stderr and os.listdir(plain) == [],
          "a document without motion is told of, and draws nothing", done.stderr)


def drawing_errors(folder):
    os.makedirs(os.path.join(folder, "twice"), exist_ok=True)
    shutil.copy(MOTION, os.path.join(folder, "twice", "motion.json"))
    into = os.path.join(folder, "never")
    done = score(MOTION, os.path.join(folder, "twice"), "--svg", into)
    check(done.returncode == 1 and b"motion" in done.stderr and b"drawn over each other" in done.stderr and
          done.stdout == b"" and not os.path.exists(into), "two files of one name are not drawn over each other", done.stderr)
    done = score(MOTION, "--svg", os.path.join(MOTION, "x"))
    check(done.returncode == 1 and b"Not a directory" in done.stderr and done.stdout == b"", "a path through a file is refused",
          done.stderr)
    done = score(MOTION, "--svg", MOTION)
    check(done.returncode == 1 and MOTION.encode() in done.stderr, "a file is no directory", done.stderr)
    done = score(MOTION, "--svg", os.path.join(folder, "no", "such"))
    check(done.returncode == 1 and b"No such file or directory" in done.stderr, "only the last directory is made", done.stderr)
    locked = os.path.join(folder, "locked")
    os.mkdir(locked, 0o555)
    user = 65534 if os.geteuid() == 0 else None
    os.chmod(folder, 0o755)
    if user and subprocess.run(["test", "-x", PROGRAM], preexec_fn=lambda: os.setuid(user), check=False).returncode != 0:
        skip("a directory without permission: the build is not open to another user")
        return
    for where in (locked, os.path.join(locked, "inner")):
        done = score(MOTION, "--svg", where, user=user)
        check(done.returncode == 1 and b"Permission denied" in done.stderr and where.encode() in done.stderr and
              done.stdout == b"", "no permission for %s is a clear error" % os.path.basename(where), done.stderr)


# ---- folders and threads ----

def folders(folder):
    full = os.path.join(folder, "full")
    os.makedirs(os.path.join(full, "z.json"))
    names = ["down_the_line.json", "face_on.json", "two_views.json", "motion.json", "left_handed.json", "sound.json"]
    for i in range(42):
        shutil.copy(os.path.join(DATA, names[i % 6]), os.path.join(full, "%02d.%s" % (i, "JSON" if i == 3 else "json")))
    write(os.path.join(full, "20broken.json"), '{"schema": "leadside.swing/1"')
    write(os.path.join(full, "readme.txt"), "not a swing")
    write(os.path.join(full, ".json"), "hidden")
    runs = {}
    for options in ([], ["--json"]):
        for jobs in ("1", "2", "4", "64"):
            done = score(full, "--jobs", jobs, *options)
            runs[jobs] = (done.returncode, done.stdout, done.stderr)
        label = " ".join(options) or "readable"
        check(len(set(runs.values())) == 1, "%s: 1, 2, 4 and 64 jobs print the same bytes" % label)
        code, out, err = runs["4"]
        check(code == 1 and err.count(b"\n") == 1 and b"20broken.json" in err, "%s: the broken file is named" % label, err)
        if not options:
            heads = re.findall(rb"^== .*/([^/]*) ==$", out, re.M)
            expected = sorted(n.encode() for n in os.listdir(full)
                              if n.lower().endswith(".json") and n not in ("z.json", "20broken.json", ".json"))
            check(heads == expected and len(heads) == 42, "the swings of a folder come sorted by name", heads[:5])
        else:
            alone = b"".join(score("--json", os.path.join(full, n)).stdout
                             for n in sorted(os.listdir(full)) if n not in ("z.json", "20broken.json", "readme.txt", ".json"))
            check(out == alone, "a folder's reports are those of its files one by one")
    a, b = os.path.join(folder, "svg1"), os.path.join(folder, "svg4")
    score(full, "--svg", a, "--jobs", "1")
    score(full, "--svg", b, "--jobs", "4")
    same = sorted(os.listdir(a)) == sorted(os.listdir(b)) and all(
        open(os.path.join(a, n)).read() == open(os.path.join(b, n)).read() for n in os.listdir(a))
    check(same and len(os.listdir(a)) == 14, "drawings from several threads are the same", len(os.listdir(a)))
    empty = os.path.join(folder, "empty")
    os.mkdir(empty)
    done = score(empty)
    check(done.returncode == 1 and b"holds no .json, .c3d or .trc file" in done.stderr, "an empty folder is told of", done.stderr)
    done = score(full, "--lesson")
    check(done.returncode == 1, "a lesson with a broken file is refused")


def lesson(folder):
    folder = os.path.join(folder, "lesson")
    os.mkdir(folder)
    for name in "abc":
        shutil.copy(MOTION, os.path.join(folder, name + ".json"))
    into = os.path.join(folder, "svg")
    done = score(folder, "--lesson", "--json", "--svg", into, "--jobs", "4")
    made = json.loads(done.stdout)
    check(made["habit"] and [m["swing"] for m in made["motion"]] == [0, 1, 2], "a lesson of three has each swing's motion")
    check(len(os.listdir(into)) == 6, "and draws each", os.listdir(into))
    text = score(folder, "--lesson").stdout.decode()
    check(all("Swing %d. " % i in text for i in (1, 2, 3)), "each swing's motion is told")
    shutil.copy(os.path.join(DATA, "left_handed.json"), os.path.join(folder, "d.json"))
    done = score(folder, "--lesson")
    check(done.returncode == 1 and b"both hands" in done.stderr and done.stdout == b"", "a lesson is of one player", done.stderr)
    for i in range(60):
        write(os.path.join(folder, "m%d.json" % i), "{}")
    done = score(folder, "--lesson")
    check(done.returncode == 1 and b"more files than one lesson can hold" in done.stderr, "a lesson has its limit", done.stderr)


def several_clubs(folder):
    """A lesson of a driver, an iron and a wedge says the same whichever file is named first, and each club alone its own."""
    folder = os.path.join(folder, "clubs")
    os.mkdir(folder)
    with open(os.path.join(DATA, "down_the_line.json"), encoding="utf-8") as file:
        document = json.load(file)
    names = {}
    for kind, value in (("driver", 23), ("iron", 25), ("wedge", 27)):
        made = {**document, "club": {"kind": kind}}
        made["measured"] = [{"measure": "spine_tilt", "checkpoint": "address", "value": value, "sd": 2, "source": "goniometer"}]
        names[kind] = write(os.path.join(folder, kind + ".json"), made)
    def told(*files):
        made = report("--lesson", *files)[0]
        bend = [m for m in made["measures"] if m["measure"] == "spine_tilt"][0]
        fault = [f for f in made["faults"] if f["fault"] == "upright_posture"][0]
        return fault["verdict"], fault["p"], bend["value"], bend["ok"], bend["strong"], made["player"]["club"]
    orders = [told(*order) for order in itertools.permutations(names.values())]
    check(all(each == orders[0] for each in orders), "a lesson of three clubs says the same in any order", orders)
    check(orders[0][2:] == (25, [28.667, 44], [17, 58], "any"), "by the mean of the clubs' ranges", orders[0])
    alone = {kind: told(name, name, name)[3:] for kind, name in names.items()}
    check(alone == {"driver": ([26, 42], [15, 58], "wood"), "iron": ([30, 45], [18, 58], "iron"), "wedge": ([30, 45], [18, 58], "wedge")},
          "a lesson of one club goes by that club's range as it is", alone)


def heights(folder):
    """Whom each measure's range is for: a length goes by the height that is stated, a child's without one is not judged, angles are
    adults' and a guide to others. A grown player's length is judged less surely where nobody says how tall."""
    with open(os.path.join(DATA, "down_the_line.json"), encoding="utf-8") as file:
        document = json.load(file)
    document["measured"] = [{"measure": "hands_gap", "checkpoint": "address", "value": .055, "sd": .002, "source": "rule"}]
    path = write(os.path.join(folder, "gap.json"), document)

    def told(*words_):
        made = report(path, *words_)[0]
        gap, bend = ([m for m in made["measures"] if m["measure"] == name][0] for name in ("hands_gap", "spine_tilt"))
        fault = [f for f in made["faults"] if f["fault"] == "crowding"][0]
        return gap.get("made_for"), gap.get("ok"), gap.get("adult_only", False), bend["made_for"], fault["verdict"], fault.get("p")
    grown = told("--age", "30")
    stated = told("--age", "30", "--height", "1.72")
    check(grown[:4] == ("adults", [.08, .22], False, "adults"), "an adult of no stated height: the ranges as they are", grown)
    check(stated[:4] == ("height", [.08, .22], False, "adults"), "an adult of the range's own height: the same", stated)
    check(.5 < grown[5] < stated[5], "and more surely than where the height is not stated", (grown, stated))
    check(told("--age", "70")[:4] == ("adults", [.08, .22], False, "guide"), "a senior: angles are a guide", told("--age", "70"))
    child = told("--age", "12", "--height", "1.29")
    check(child[:4] == ("height", [.06, .165], False, "guide") and child[5] < .5, "a child of 1.29 m is judged by three quarters of it", child)
    for words_ in (["--age", "12"], ["--age", "7", "--height", "1.19"]):
        check(told(*words_) == (None, None, True, "guide", "not observed", None), " ".join(words_) + ": shown, not judged", told(*words_))
    text = unwrapped(score(path, "--age", "12", "--height", "1.29").stdout.decode())
    check("Lengths go by the height of 1.29 m" in text and "a junior or a senior" in text, "the readable report says both", text[-600:])
    text = unwrapped(score(path, "--age", "30").stdout.decode())
    check("Lengths go by" not in text and "a guide" not in text, "and neither to an adult")


def steady(folder):
    """One swing, the same twice, three times: no fault is less sure for more of the same."""
    for name in ("down_the_line.json", "two_views.json", "face_on.json"):
        path = os.path.join(DATA, name)
        lessons = [{f["fault"]: f for f in report("--lesson", *[path] * n)[0]["faults"]} for n in (1, 2, 3, 4)]
        sure = {fault: [max(f[fault].get("p", 0), 1 - f[fault].get("p", 1)) for f in lessons] for fault in lessons[0]}
        less = {fault: p for fault, p in sure.items() if any(b < a - .0015 for a, b in zip(p, p[1:]))}
        check(sum(p[0] > .8 for p in sure.values()) > 3 and not less, name + ": more of the same is never less sure", less)


def options(folder):
    bad = [["--jobs", "0"], ["--jobs", "65"], ["--jobs", "two"], ["--jobs", "-1"], ["--jobs", ""], ["--jobs"], ["--svg"],
           ["--svg", ""], ["--hand", "both"], ["--hand"], ["--target", "z"], ["--target", "forward"], ["--up", "+w"],
           ["--target", "+y", "--up", "-y"], ["--club", "putter"], ["--club-number", "0"], ["--club-number", "71"],
           ["--club-number", "7x"], ["--club-length", "0.2"], ["--club-length", "nan"], ["--club-length", "1,1"],
           ["--sex", "x"], ["--age", "2"], ["--height", "0.4"], ["--height", "172"], ["--pain", "ear"], ["--no-such"], ["--markers"]]
    for words_ in bad:
        done = score(MOTION, *words_)
        check(done.returncode == 2 and done.stderr.startswith(b"leadside score: ") and b"usage:" in done.stderr and
              done.stdout == b"", "refused: " + " ".join(words_), (done.returncode, done.stderr[:120]))
    check(score().returncode == 2, "no file named is refused")
    with open(MOTION, "rb") as file:
        done = score("-", "--svg", os.path.join(folder, "in"), stdin=file.read())
    check(done.stdout == score(MOTION).stdout and sorted(os.listdir(os.path.join(folder, "in"))) ==
          ["stdin-hands.svg", "stdin-speeds.svg"], "- reads standard input")
    done = score(os.path.join(folder, "gone.json"))
    check(done.returncode == 1 and b"gone.json: No such file or directory" in done.stderr, "a missing file is named", done.stderr)
    big = write(os.path.join(folder, "big.json"), " " * (8 * 1024 * 1024 + 1))
    done = score(big)
    check(done.returncode == 1 and b"larger than 8 MiB" in done.stderr, "a file past the limit is refused", done.stderr)


# ---- marker files ----

SIDES = {"right": {"lead": "L", "trail": "R"}, "left": {"lead": "R", "trail": "L"}}


def trc(points, rate, names):
    """A marker file as the format has it: five lines of head, then frame, time and three columns a marker, in mm."""
    rows = len(next(iter(points.values())))
    out = ["PathFileType\t4\t(X/Y/Z)\tswing.trc",
           "DataRate\tCameraRate\tNumFrames\tNumMarkers\tUnits\tOrigDataRate\tOrigDataStartFrame\tOrigNumFrames",
           "%g\t%g\t%d\t%d\tmm\t%g\t1\t%d" % (rate, rate, rows, len(points), rate, rows),
           "Frame#\tTime\t" + "\t\t\t".join(names[p] for p in points) + "\t\t",
           "\t\t" + "\t".join("X%d\tY%d\tZ%d" % (i, i, i) for i in range(1, len(points) + 1)), ""]
    for k in range(rows):
        cells = ["%.3f\t%.3f\t%.3f" % tuple(1000 * v for v in samples[k]) if samples[k] else "\t\t" for samples in points.values()]
        out.append("%d\t%.5f\t%s" % (k + 1, k / rate, "\t".join(cells)))
    return "\n".join(out) + "\n"


def marker_names(points, hand):
    """The player's own left and right, each point a marker of that name."""
    out = {}
    for p in points:
        for side, letter in SIDES[hand].items():
            if p.startswith(side + "_"):
                out[p] = {"L": "left", "R": "right"}[letter] + p[len(side):]
        out.setdefault(p, p)
    return out


def turned(at):
    """Our axes as a laboratory's with z up and the target along -y: X = -z, Y = -x, Z = y."""
    return None if at is None else [-at[2], -at[0], at[1]]


def markers(folder):
    with open(MOTION) as file:
        document = json.load(file)
    points, rate = document["motion"]["points"], document["motion"]["rate_hz"]
    names = marker_names(points, "right")
    map_file = write(os.path.join(folder, "map.json"),
                     {"schema": "leadside.markers/1", "points": {names[p]: [["M_" + names[p]]] for p in points}})
    given = dict(points, stray=points["head"])
    tags = {p: "M_" + names.get(p, p) for p in given}
    del given["trail_toe"]
    path = write(os.path.join(folder, "swing.trc"), trc({p: [turned(at) for at in s] for p, s in given.items()}, rate, tags))
    told = ["--target", "-y", "--up", "+z", "--club", "iron", "--club-number", "7", "--club-length", "0.94", "--markers", map_file]
    done = score("--json", path, "--hand", "right", *told)
    if not check(done.returncode == 0, "a TRC file with a map of one's own is read", done.stderr):
        return
    made = json.loads(done.stdout)
    del document["motion"]["points"]["trail_toe"]
    twin = report(write(os.path.join(folder, "twin.json"), document))[0]
    both = [{(m["measure"], m["checkpoint"]): m["value"] for m in r["measures"]} for r in (made, twin)]
    check(both[0].keys() == both[1].keys() and all(abs(both[0][k] - both[1][k]) < 1e-3 for k in both[0]),
          "and measures as the same points in a document", {k: (both[0].get(k), both[1].get(k)) for k in both[1]
                                                             if both[0].get(k) != both[1].get(k)})
    check(made["motion"][0].get("markers") == {"missing": ["trail_toe"], "unmapped": ["M_stray"]},
          "missing and unmapped markers are named", made["motion"][0].get("markers"))
    check("markers" not in twin["motion"][0], "which a document has none of")
    text = unwrapped(score(path, "--hand", "right", *told).stdout.decode())
    check("No marker was found for: trail toe." in text and "names no point for them: M_stray." in text, "in words too", text[:300])
    done = score(path, *told)
    check(done.returncode == 1 and b"hand" in done.stderr, "without --hand it is asked for", done.stderr)
    done = score(path, "--hand", "right", *told[2:])
    check(done.returncode == 1 and b"target" in done.stderr, "without --target it is asked for", done.stderr)
    done = score(path, "--hand", "right", *told[:-1], os.path.join(folder, "gone.json"))
    check(done.returncode == 1 and b"gone.json: No such file" in done.stderr, "a missing map is named", done.stderr)
    done = score(path, "--hand", "right", *told[:-1], write(os.path.join(folder, "bad.json"), '{"schema": "leadside.markers/1", "x": 1}'))
    check(done.returncode == 1 and b"bad.json" in done.stderr, "a map that is none is refused", done.stderr)
    into = os.path.join(folder, "trc-svg")
    done = score(path, "--hand", "right", *told, "--svg", into)
    check(done.returncode == 0 and sorted(os.listdir(into)) == ["swing-hands.svg", "swing-speeds.svg"], "and drawn", done.stderr)
    done = score(write(os.path.join(folder, "noise.trc"), "\x00\x01\x02 nothing"), "--hand", "right", *told)
    check(done.returncode == 1 and b"noise.trc" in done.stderr, "bytes of no known kind are refused", done.stderr)


def helps():
    for command in ("serve", "init", "account", "score", "demo", "backup", "check"):
        done = subprocess.run([PROGRAM, command, "--help"], capture_output=True, timeout=60)
        check(done.returncode == 0 and done.stdout.startswith(b"usage: leadside %s " % command.encode()) and not done.stderr,
              command + " --help says how it is used", done)


def earlier_names(folder):
    """A document of an earlier release says the same by its names as a document of today."""
    with open(os.path.join(DATA, "every_part.json"), encoding="utf-8") as file:
        today = file.read()
    before = today
    for new, old in (("shaft_direction", "shaft_plan"), ("hips_to_ball", "pelvis_thrust"), ("hips_slide_away", "sway"),
                     ("level_shoulders", "flat_shoulder_turn")):
        before = before.replace('"%s"' % new, '"%s"' % old)
    reports = [report(write(os.path.join(folder, name), text)) for name, text in (("today.json", today), ("before.json", before))]
    check(before != today and reports[0] == reports[1], "earlier spellings of a name are read", reports)


def main():
    with tempfile.TemporaryDirectory() as folder:
        words()
        helps()
        earlier_names(folder)
        described()
        mirrored(folder)
        bad_records(folder)
        drawings(folder)
        drawn_safely(folder)
        drawing_errors(folder)
        folders(folder)
        lesson(folder)
        several_clubs(folder)
        heights(folder)
        steady(folder)
        options(folder)
        markers(folder)
        os.chmod(os.path.join(folder, "locked"), 0o755)
    print("score: %d passed, %d failed, %d skipped" % (count["passed"], count["failed"], count["skipped"]))
    return 1 if count["failed"] else 0


sys.exit(main())
