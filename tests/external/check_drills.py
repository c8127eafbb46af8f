"""The shipped drills as a whole: every fault comes to a ball and to the course, no drill asks for what a measure calls wrong, kit and
levels are what the words say, German says what English says. Prints how many drills a fault has at each level, and how many lines.

    check_drills.py
"""
import json
import re
import sys
from pathlib import Path

root = Path(__file__).resolve().parents[2]
shipped = json.loads((root / "server/standard/drills.json").read_text())["drills"]
standard = json.loads((root / "server/standard/default.json").read_text())
german = json.loads((root / "server/words/de/drills.json").read_text())
sources = (root / "docs/sources.md").read_text()
drills = {drill["id"]: drill for drill in shipped}
faults = [rule["fault"] for rule in standard["faults"]]

# Few drills once stood for these.
THIN = ("across_the_line", "laid_off", "hips_slide_away", "level_shoulders", "inside_takeaway", "outside_takeaway", "crowding", "reaching",
        "forced_high_finish", "body_out_of_order")
PARTS = ("name", "how_to", "feel", "cautions", "entry", "easier", "why")
held = [0]
wrong = []


def check(good, what):
    if good:
        held[0] += 1
    else:
        wrong.append(what)


def line_of(drill, fault):
    """The drills from one on, by what comes next, as far as they are for the fault."""
    line = []
    while drill and fault in drill["faults"] and drill not in line:
        line.append(drill)
        drill = drills.get(drill.get("next"))
    return line


def lines(fault):
    """Those that reach a ball and the course, by the first drill: one that no other drill for the fault leads to."""
    mine = [drill for drill in shipped if fault in drill["faults"]]
    later = {drill.get("next") for drill in mine}
    found = [line_of(drill, fault) for drill in mine if drill["id"] not in later]
    return [line for line in found if {3, 4} <= {drill["level"] for drill in line}]


def matrix():
    print("%-20s no club   slow   ball  course   lines" % "fault")
    for fault in faults:
        levels = [sum(fault in drill["faults"] and drill["level"] == level for drill in shipped) for level in (1, 2, 3, 4)]
        whole = lines(fault)
        print("%-20s %7d %6d %6d %7d %7d" % (fault, *levels, len(whole)))
        check(len(whole) >= (3 if fault in THIN else 2), "%s: %d lines reach a ball and the course" % (fault, len(whole)))
        check(levels[0] + levels[1] >= 2 and levels[2] >= 1 and levels[3] >= 1, "%s: a level is missing" % fault)


def a_line_goes_on(drill):
    after = drills.get(drill.get("next"))
    check(drill["level"] == 4 or after is not None, "%(id)s: nothing comes next" % drill)
    if after:
        check(after["level"] > drill["level"] or (after["level"], drill["level"]) == (2, 2), "%(id)s: what comes next is no step" % drill)
        check(set(drill["faults"]) & set(after["faults"]), "%(id)s: what comes next is for something else" % drill)


def levels_are_true(drill):
    level, kit = drill["level"], drill["kit"]
    check(drill["ball"] == (level >= 3) == ("balls" in kit), "%(id)s: its level and a ball" % drill)
    check((level > 1) == ("club" in kit), "%(id)s: its level and a club" % drill)
    check(level != 4 or "course" in drill["place"], "%(id)s: not for the course" % drill)
    check(0 < drill["pass"]["n"] <= drill["pass"]["of"] <= 20, "%(id)s: nothing to count" % drill)
    check(drill["source"] == "practice" or drill["source"] in sources, "%(id)s: its source is not in docs/sources.md" % drill)


# A thing in the words is in the kit.
THINGS = {"mirror": "mirror", "glove": "glove", "stick": "stick", "chair": "chair", "towel": "towel", "phone": "phone", "film": "phone",
          "rail": "support"}
NOT_USED = {("clock-face-half-swings", "rail"), ("rounded-finish", "mirror"), ("three-quarter-stops", "mirror"), ("split-hands-at-the-top", "stick")}


def kit_is_true(drill):
    said = drill["how_to"].lower()
    for word, kit in THINGS.items():
        if re.search(r"\b%ss?\b" % word, said) and (drill["id"], word) not in NOT_USED:
            check(kit in drill["kit"], "%s: %s is not in its kit" % (drill["id"], word))
    club = re.search(r"\b(?:a|the) (?:club|shaft|grip)\b", said.replace("without a club", ""))
    check(not club or "club" in drill["kit"], "%(id)s: a club is not in its kit" % drill)


def asks_for_nothing_wrong(drill):
    """What it asks for lies in the fine range of every kind of club."""
    for ask in drill.get("asks", []):
        where = (ask["measure"], ask.get("checkpoint"))
        ranges = [rule for rule in standard["ranges"] if (rule["measure"], rule.get("checkpoint")) == where]
        check(ranges, "%s asks for %s, which has no range" % (drill["id"], where))
        for rule in ranges:
            low, high = rule.get("ok_low", float("-inf")), rule.get("ok_high", float("inf"))
            check(low <= ask["value"] <= high, "%s asks for %s of %g, where %g to %g is fine" % (drill["id"], where, ask["value"], low, high))


# Sides are lead and trail, for both hands alike; hours of a clock belong to one hand.
ONE_HANDED = re.compile(r"\b(left|right|o'clock|eleven|nine|links|rechts|linke[rnsm]?|rechte[rnsm]?|Uhr|elf)\b(?! holes| Löcher| of )", re.I)


def words_are_for_both_hands(drill):
    texts = [drill[part] for part in PARTS if part in drill] + [drill["pass"]["what"]]
    texts += [text for key, text in german.items() if key.startswith("drill.%s." % drill["id"])]
    for text in texts:
        found = ONE_HANDED.search(text)
        check(not found, "%s: \"%s\"" % (drill["id"], found and found.group()))


def german_says_the_same(drill):
    parts = {part for part in PARTS if part in drill} | {"pass"}
    said = {key.rsplit(".", 1)[1] for key in german if key.startswith("drill.%s." % drill["id"])}
    check(parts == said, "%s: in one language alone: %s" % (drill["id"], sorted(parts ^ said)))


def careful(drill):
    text = " ".join((drill["how_to"], drill["cautions"]))
    check(set(drill["contraindicated"]) <= set(drill["loads"]), "%(id)s: ruled out for what it does not load" % drill)
    check(not drill["balance"] or "support" in drill["kit"], "%(id)s: balance without a support" % drill)
    check("chair" not in drill["kit"] or "firm" in text or "tip" in text, "%(id)s: a chair that may tip" % drill)
    check(not drill["ball"] or re.search("[Hh]alf.speed|quarter speed|[Kk]eep the pace", text), "%(id)s: how fast" % drill)


check(len(shipped) >= 60, "only %d drills" % len(shipped))
check(sum("easier" in drill for drill in shipped) >= len(shipped) / 2, "few can be done sitting or held")
matrix()
for drill in shipped:
    for one in (a_line_goes_on, levels_are_true, kit_is_true, asks_for_nothing_wrong, words_are_for_both_hands, german_says_the_same, careful):
        one(drill)
for what in wrong:
    print("FAILED  " + what)
print("drills: %d passed, %d failed, 0 skipped" % (held[0], len(wrong)))
sys.exit(bool(wrong))
