#!/usr/bin/python3
"""The readable report word for word: tests/data/words/CASE/arguments (one a line, files of tests/data) is said in every
language as CASE/<language>.txt has it.

Usage: tests/external/check_words.py [build]"""
import json
import os
import re
import subprocess
import sys

BUILD = sys.argv[1] if len(sys.argv) > 1 else "build"
DATA = os.path.join(os.path.dirname(os.path.dirname(os.path.abspath(__file__))), "data")
PROGRAM = os.path.join(os.path.abspath(BUILD), "leadside")
count = {"passed": 0, "failed": 0, "skipped": 0}


def check(ok, text, detail=""):
    count["passed" if ok else "failed"] += 1
    print(("ok      " if ok else "FAILED  ") + text + ("" if ok else ": " + str(detail)[:500]), flush=True)


def score(*arguments):
    return subprocess.run([PROGRAM, "score", *arguments], cwd=DATA, capture_output=True, text=True, timeout=60)


cases = sorted(name for name in os.listdir(os.path.join(DATA, "words")) if os.path.isdir(os.path.join(DATA, "words", name)))
check(len(cases) >= 4, "there are cases", cases)
for case in cases:
    folder = os.path.join(DATA, "words", case)
    arguments = open(os.path.join(folder, "arguments"), encoding="utf-8").read().split("\n")[:-1]
    for language in ("en", "de"):
        wanted = open(os.path.join(folder, language + ".txt"), encoding="utf-8").read()
        said = score(*arguments, "--language", language).stdout
        differ = [(a, b) for a, b in zip(said.split("\n"), wanted.split("\n")) if a != b]
        check(said == wanted, "%s in %s" % (case, language), differ[:2] or "one of the two ends early")
        flat = " ".join(said.split())
        check(not re.search(r"(Rating|Einstufung): [^.]+\. (We are|Das ist zu)|(sure of it|sicher)\. (Rating|Einstufung)", flat), "%s in %s: how sure a fault is stands apart from a measure's rating" % (case, language))
        check(not re.search(r"± 0(?:[.,]0+)?(?![.,\d])", flat), "%s in %s tells no error to be nothing" % (case, language), re.findall(r".{30}± 0(?:[.,]0+)?(?![.,\d])", flat)[:2])
        check(not re.search(r"It usually explains|Erklärt gewöhnlich", flat), "%s in %s calls what we think experience" % (case, language))
        check(max(map(len, said.split("\n"))) <= 100, "%s in %s keeps to a hundred columns" % (case, language))
        check(not re.search(r"[{}_]|\b(score|report|motion|camera|measure)\.\w", said), "%s in %s shows no key and no gap" % (case, language))
    check(not re.search(r"\b(the|and|with|your|of)\b", said), "the German of %s holds no English" % case, re.findall(r".*\b(?:the|and|with|your|of)\b.*", said)[:2])
    check(score(*arguments).stdout == open(os.path.join(folder, "en.txt"), encoding="utf-8").read(), "without a language %s is English" % case)

# ---- how sure of a fault, and how strong a measure, are two things ----

WORDS = os.path.join(os.path.dirname(os.path.dirname(DATA)), "server", "words")
for language in ("en", "de"):
    said = {}
    for name in os.listdir(os.path.join(WORDS, language)):
        with open(os.path.join(WORDS, language, name), encoding="utf-8") as file:
            said.update({k: v for k, v in json.load(file).items() if isinstance(v, str)})
    mixed = [key for key, text in said.items() if "{word}" in text and re.search(r"\{(p|sure)\}", text)]
    check(len(said) > 1000 and not mixed, "no %s sentence has both" % language, mixed)
swings = ["two_views.json", "left_handed.json", "down_the_line.json", "every_part.json", "motion.json",
          "faults/a_club_far_inside/swing.json", "faults/a_club_inside_by_less_than_the_error/swing.json"]
reports = [json.loads(line) for line in score("--json", *swings).stdout.splitlines()]
check(len(reports) == len(swings), "each swing has a report", len(reports))
chances = ratings = 0
for name, report in zip(swings, reports):
    text = score(name).stdout
    blocks = {block.split("\n")[0]: " ".join(block.split("\n", 1)[-1].split()) for block in text.split("\n\n")}
    numbers = next(block for title, block in blocks.items() if title.startswith("THE NUMBERS"))
    sentences = [s for title, block in blocks.items() if not title.startswith("THE NUMBERS") for s in re.split(r"(?<=[.)]) (?=[A-Z0-9-])", block)]
    fault = {f["fault"]: f for f in report["faults"]}
    fixes = [fault[fix["fault"]] for fix in report["first_fixes"] if fault[fix["fault"]]["basis"] == "measured"]
    told = [int(s) for s in re.findall(r"We are (?:more than )?(\d+) % sure of it\.", " ".join(sentences))]
    check(told[:len(fixes)] == [min(99, round(100 * f["p"])) for f in fixes], name + ": how sure is the fault's own p", (told, fixes))
    open_p = sorted(round(100 * f["p"]) for f in fault.values() if f["verdict"] == "can't tell")
    told = sorted(int(p) for p in re.findall(r"\((\d+) %\)", blocks.get("WHAT WE CAN'T TELL YET", "")))
    check(len(told) == len(open_p) and all(abs(a - b) <= 1 for a, b in zip(told, open_p)), name + ": and so it is where it can't be told", (told, open_p))
    mixed = [s for s in sentences if re.search(r"\d %", s) and re.search(r"\b(sure|may be there|hardly there)\b", s) and re.search(r"\b(slight|moderate|strong|Rating)\b", s)]
    mixed += [s for s in sentences if s.startswith("Rating:") and not re.fullmatch(r"Rating: (slight|moderate|strong|fine|probably fine|not certain)(, not certain)?\.", s)]
    check(not mixed, name + ": no sentence says both", mixed[:2])
    chances += len(fixes) + len(open_p)
    for i, sentence in enumerate(sentences):
        if sentence.startswith("Rating:") and sentences[i - 1].startswith("Fine:"):
            what, _, value = sentences[i - 2].rpartition(": ")
            row = " ".join((what, value.rstrip("."), sentences[i - 1][6:].rstrip("."), sentence[8:].rstrip(".")))
            check(row in numbers, name + ": the rating in the sentence is the table's", row)
            ratings += 1
check(chances >= 6 and ratings >= 6, "there was something to say: %d chances, %d ratings" % (chances, ratings))

refused = score("sound.json", "--language", "fr")
check(refused.returncode == 2 and "--language is de, en or he, not: fr" in refused.stderr, "another language is refused", refused.stderr)
print("words: %(passed)d passed, %(failed)d failed, %(skipped)d skipped" % count)
sys.exit(1 if count["failed"] else 0)
