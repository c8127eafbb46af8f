#!/usr/bin/python3
"""What a newcomer reads: deploy/quickstart's walk with a program that is built already, held to the words of every step."""
import os
import re
import socket
import subprocess
import sys

ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
ID = r"[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[0-9a-f]{4}-[0-9a-f]{12}"
NUMBER = r"\d+(?:\.\d+)?"

# Each step's heading, and what each of its lines says, in order; a line may come again for each of a kind.
STEPS = [
    (r"2\. Making the invented club Larkfield Heath", [r"Larkfield Heath.*", r"serving on http://127\.0\.0\.1:\d+"]),
    (r"3\. The head professional signs in and takes a new student on",
     [r"Linnet Tallowmere, invented, is student " + ID, r"coach1 and coach2 are on Linnet's team"]),
    (r"4\. A coach on the range sends a swing, marked from behind and from the front",
     [r"The link dropped, so the tablet sends it again:", r"the same swing comes back, nothing is doubled \(" + ID + r"\)"]),
    (r"5\. What Leadside says of it",
     [r"kept are codes and numbers; in words, as anybody may have it of such a document:",
      r"WHAT TO WORK ON", r"1\. [A-Z].*", r"Drill: [A-Z].*"]),
    (r"6\. The coach assigns that fix with its drills", [r"open: [a-z]+( [a-z]+)+"]),
    (r"7\. Next week another coach of the team sees the same fix",
     [r"coach2 reads: [a-z]+( [a-z]+)+, open, with [a-z0-9-]+( and [a-z0-9-]+)?", r"coach3, who is not on the team, is told there is no such student"]),
    (r"8\. At home the student fetches the homework", [r"[A-Z][^:]+: [A-Z].*", r"care: [A-Z].+", r"care: [A-Z].+", r"ticked off"]),
    (r"9\. The head professional sees everyone",
     [r".+: \d+ students, \d+ without an open fix, homework done \d+ times this week"]),
    (r"Done\.", [r"Every step above ran against http://127\.0\.0\.1:\d+\.",
                 r"Sign in as head, coach1 \.\.\. coach4, student01 \.\.\. student60; everybody's password: \S+",
                 r"Open http://127\.0\.0\.1:\d+/ in a browser: .*", r"The interface is described at http://127\.0\.0\.1:\d+/v1/openapi\.json"]),
]
passed, failed = 0, 0


def check(good, label, detail=""):
    global passed, failed
    passed, failed = passed + bool(good), failed + (not good)
    print("%s %s%s" % ("ok     " if good else "FAILED ", label, "" if good else ": " + str(detail)[:600]))


def free_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def main():
    built = os.path.abspath(sys.argv[1])
    done = subprocess.run(["deploy/quickstart", "--once"], cwd=ROOT, capture_output=True, text=True, timeout=120, stdin=subprocess.DEVNULL,
                          env=dict(os.environ, LEADSIDE_BUILT=built, LEADSIDE_LISTEN="127.0.0.1:%d" % free_port()))
    check(done.returncode == 0, "it walks to its end", (done.returncode, done.stdout[-300:], done.stderr))
    check(done.stderr == "", "and complains of nothing", done.stderr)
    parts = re.split(r"\n?\x1b\[1m(.*)\x1b\[0m\n", done.stdout)
    said = list(zip(parts[1::2], [[line.strip() for line in part.splitlines() if line.strip()] for part in parts[2::2]]))
    check([heading for heading, _ in said] == [re.sub(r"\\", "", heading) for heading, _ in STEPS], "step by step", said)
    for (heading, lines), (_, expected) in zip(said, STEPS):
        found = iter(lines)
        missing = [words for words in expected if not any(re.fullmatch(words, line) for line in found)]
        check(not missing, heading, "not said: %s; but: %s" % (missing, lines))
    words = dict(said).get("5. What Leadside says of it", [])
    check(len(words) >= 8 and re.search(r"{0} ?(%|°|cm) ± {0} ?\1".format(NUMBER), " ".join(words)) is not None, "step 5 says its values with their errors, in words", words)
    odd = [line for _, lines in said for line in lines if re.search(r"\bnull\b|\bjq\b|error|undefined|[{}]|\b[a-z]+_[a-z]", line)]
    check(not odd, "no line is a machine's", odd)


main()
print("quickstart: %d passed, %d failed" % (passed, failed))
sys.exit(1 if failed else 0)
