#!/usr/bin/python3
"""Each case of tests/data/faults is judged with the standard that comes with the program: swing.json, and in verdicts, one a
line, "FAULT VERDICT [BASIS]" and "first FAULT..." (or none), worked out by hand from the ranges and causes of the standard."""
import json
import os
import subprocess
import sys

CASES = os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "data", "faults")


def said(report, subject):
    if subject == "first":
        return " ".join(fix["fault"] for fix in report["first_fixes"]) or "none"
    fault = next(fault for fault in report["faults"] if fault["fault"] == subject)
    return fault["verdict"] + (" " + fault["basis"] if fault.get("basis") and fault["verdict"] != "not observed" else "")


passed = failed = 0
for name in sorted(os.listdir(CASES)):
    done = subprocess.run([sys.argv[1] + "/leadside", "score", "--json", os.path.join(CASES, name, "swing.json")],
                          capture_output=True, text=True, check=True)
    with open(os.path.join(CASES, name, "verdicts")) as file:
        for line in file.read().splitlines():
            subject, wanted = line.split(" ", 1)
            got = said(json.loads(done.stdout), subject)
            passed, failed = passed + (got == wanted), failed + (got != wanted)
            print("%s %s: %s %s" % ("ok     " if got == wanted else "FAILED ", name, subject, got), "" if got == wanted else "not " + wanted)
print("check_verdicts: %d passed, %d failed, 0 skipped" % (passed, failed))
sys.exit(failed > 0 or passed == 0)
