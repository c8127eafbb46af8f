"""One server under everything at once: how long others' small reads take while a standard is tried, an export runs and a
student's program asks for progress as fast as it can, beside the same reads on an idle server; and what held connections
cost in memory. Part of tests/bench/run; alone: tests/bench/load.py BUILD. The server limits as it does in a club."""
import json
import os
import statistics
import subprocess
import sys
import time

HERE = os.path.dirname(os.path.abspath(__file__))
sys.path.insert(0, os.path.join(os.path.dirname(HERE), "api"))
import hold  # noqa: E402
import support  # noqa: E402
from support import Checks, Server  # noqa: E402

SECONDS = int(os.environ.get("LEADSIDE_BENCH_SECONDS", "6"))
SWINGS = 120
ROUNDS = 3
RATE = 100  # probes a second: half of what one account may

# A client of its own process, and like the hammer of idle priority: in a club they are other machines, and must take
# neither turns with the probe nor the processor from the server.
AGAIN = """
import http.client, sys, time
port, token, method, path, body, until = int(sys.argv[1]), *sys.argv[2:6], time.monotonic() + float(sys.argv[6])
body = open(body, "rb").read() if body else None
count, slow = 0, 0
line = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
while time.monotonic() < until:
    began = time.monotonic()
    line.request(method, path, body, {"Authorization": "Bearer " + token, "Content-Type": "application/json"})
    answer = line.getresponse()
    while answer.read(1 << 16):
        pass
    if answer.status == 200:
        count, slow = count + 1, max(slow, time.monotonic() - began)
    else:
        time.sleep(.2)
print(count, "%.2f" % slow)
"""


STEP_MS, FIRST = 150000, 1600000000000  # of fill.sql: a swing every so often, from then on
PASSWORD = "a quiet green morning"


def filled(folder, swings):
    """The folder of a demo club with so many swings, the last of them of today, and when the first was."""
    data, build, first = os.path.join(folder, "club"), support.build_dir(), int(time.time() * 1000) - STEP_MS * swings
    subprocess.run([os.path.join(build, "leadside"), "demo", "--data", data, "--password", PASSWORD], check=True, stdout=subprocess.DEVNULL)
    moved = os.path.join(folder, "fill.sql")
    with open(os.path.join(HERE, "fill.sql"), encoding="utf-8") as file, open(moved, "w", encoding="utf-8") as out:
        out.write(file.read().replace(str(FIRST), str(first)))
    subprocess.run([os.path.join(build, "tests", "bench_fill"), data, moved, str(max(60, swings // 50)), str(swings), str(max(4, swings // 5000))],
                   check=True, stdout=subprocess.DEVNULL)
    return data, first


def again(server, token, method, path, body, seconds):
    return subprocess.Popen(["chrt", "--idle", "0", sys.executable, "-c", AGAIN, str(server.port), token, method, path, body, str(seconds)],
                            stdout=subprocess.PIPE, text=True)


def urgent(on):
    """What is asked is how long the server takes, not how long the probe waits for a processor. Needs root; else as it is."""
    try:
        os.setpriority(os.PRIO_PROCESS, 0, -15 if on else 0)
    except PermissionError:
        pass


def probe(client, path, seconds):
    """Seconds that each of RATE reads a second took, sorted."""
    times = []
    urgent(True)
    began = time.monotonic()
    for n in range(int(seconds * RATE)):
        wait = began + n / RATE - time.monotonic()
        if wait > 0:
            time.sleep(wait)
        start = time.monotonic()
        if client.get(path).status != 200:
            sys.exit("%s was not answered" % path)
        times.append(time.monotonic() - start)
    urgent(False)
    return sorted(times)


def furnish(server):
    head = server.sign_in()
    student = head.post("/v1/students", {"name": "Much Measured", "hand": "right"}).json["id"]
    path = "/v1/students/%s/swings" % student
    with open(os.path.join(support.ROOT, "tests", "data", "two_views.json")) as file:
        document = json.load(file)
    with open(os.path.join(support.ROOT, "tests", "data", "motion.json"), "rb") as file:
        recording = file.read()
    for n in range(SWINGS):
        document["recorded_at"] = time.strftime("%Y-%m-%dT%H:%M:%SZ", time.gmtime(1767225600 + n * 3600))
        made = head.post(path, document)
        if made.status == 429:
            time.sleep(1)
            made = head.post(path, document)
    for n in range(100):
        head.post(path, recording)
        time.sleep(.06)
    for n in range(8):
        head.post(path, hold.padded(support.numbered(n), 8 * hold.MIB - 64))
    fault = [f["fault"] for f in head.get("/v1/swings/%s/report" % made.json["id"]).json["faults"] if f["verdict"] == "present"][0]
    fix = support.assign(head, student, fault, overrule="for the measuring").json["id"]
    _, family = server.account(head, "student", "much.measured", student_id=student)
    _, coach = server.account(head, "coach", "probing.coach")
    return head, family, coach, "/v1/students/%s" % student, fix


def percent(times, share):
    return times[min(len(times) - 1, int(len(times) * share))] * 1000


def bench_load(row):
    print("small reads of a coach on an idle server and under load, %d a second, %d s each" % (RATE, SECONDS))
    server = Server(Checks("bench"))
    head, family, coach, student, fix = furnish(server)
    progress = "%s/progress?fix=%s" % (student, fix)
    family.get(progress)
    times = sorted(probe(family, progress, 1))
    row("progress over %d swings" % SWINGS, percent(times, .5), "ms", "p50, whole round trip")
    standard = os.path.join(server.root, "standard.json")
    with open(standard, "w") as file:
        json.dump(head.get("/v1/standard").json["standard"], file)
    ratios = {}
    for path in ("/v1/me", "/healthz"):
        idle, under, trials, exports = [], [], 0, 0
        probe(coach, path, .5)
        for _ in range(ROUNDS):  # in turns, so that both meet the same machine
            idle.append(probe(coach, path, SECONDS / ROUNDS))
            busy = [again(server, head.token, "POST", "/v1/standard/try", standard, SECONDS / ROUNDS + .5),
                    again(server, head.token, "GET", student + "/export", "", SECONDS / ROUNDS + .5)]
            hammer = subprocess.Popen(["chrt", "--idle", "0", "wrk", "-t1", "-c16", "-d%ds" % (SECONDS / ROUNDS + 1), "-s",
                                       os.path.join(HERE, "fetch.lua"), "http://127.0.0.1:%d%s" % (server.port, progress)],
                                      stdout=subprocess.DEVNULL, env={**os.environ, "LEADSIDE_TOKEN": family.token})
            time.sleep(.3)
            under.append(probe(coach, path, SECONDS / ROUNDS))
            hammer.wait()
            told = [process.communicate()[0].split() for process in busy]
            trials, exports = trials + int(told[0][0]), exports + int(told[1][0])
        first, second = (statistics.median(percent(times, .99) for times in rounds) for rounds in (idle, under))
        row("%s, idle" % path, first, "ms", "p99, median of %d rounds" % ROUNDS)
        row("%s under load" % path, second, "ms", "p99, the same; meanwhile %d trials, %d exports" % (trials, exports))
        ratios[path] = second / first
        row("ratio under load / idle, p99", ratios[path], "x", "aim: below 2")
    server.stop()
    return ratios


def bench_held(row):
    print("150 connections held, 8 MiB each: MiB of memory above the start")
    server = Server(Checks("bench"), options=["--per-address", "0"])
    head = server.sign_in()
    pid = server.process.pid
    student = head.post("/v1/students", {"name": "Held Fast", "hand": "right"}).json["id"]
    path = "/v1/students/%s/swings" % student
    size = 8 * hold.MIB - 64
    swing = head.post(path, hold.padded(support.numbered(1), size)).json["id"]
    for name, make in (("bodies, no token", lambda: hold.hold_bodies(server.port, path, 150, size)),
                       ("bodies, one account", lambda: hold.hold_bodies(server.port, path, 150, size, head.token)),
                       ("answers not fetched", lambda: hold.hold_answers(server.port, "/v1/swings/" + swing, 150, head.token))):
        before = hold.settled(pid, .2)
        lines = make()
        row(name, hold.settled(pid) - before, "MiB")
        hold.close_all(lines)
        time.sleep(.5)
    server.stop()


def plain_row(name, value, unit, note=""):
    print("  %-46s %12.4g %-6s %s" % (name, value, unit, note), flush=True)


if __name__ == "__main__":
    bench_load(plain_row)
    bench_held(plain_row)
