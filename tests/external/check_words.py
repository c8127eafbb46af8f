#!/usr/bin/python3
"""The readable report word for word: tests/data/words/CASE/arguments (one a line, files of tests/data) is said in every
language as CASE/<language>.txt has it.

Usage: tests/external/check_words.py [build]"""
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
refused = score("sound.json", "--language", "fr")
check(refused.returncode == 2 and "--language is de, en or he, not: fr" in refused.stderr, "another language is refused", refused.stderr)
print("words: %(passed)d passed, %(failed)d failed, %(skipped)d skipped" % count)
sys.exit(1 if count["failed"] else 0)
