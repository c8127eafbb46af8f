"""Nobody holds the server's memory or its threads: bodies of callers that nobody knows, bodies and answers that are never
finished, exports and lessons of any size, scoring anew, tokens that are nobody's."""
import base64
import collections
import concurrent.futures
import json
import os
import re
import threading
import time

import hold
import support
from hold import MIB
from support import Checks, Server

HELD = 150
MOST_MIB = 100  # above what it was before; bodies and answers alone would be 1 200
LARGE = 8 * MIB - 64


def student_of(head, name="Rowan Thistlewood", **more):
    reply = head.post("/v1/students", {"name": name, "hand": "right", **more})
    if reply.status != 201:
        raise RuntimeError(reply.body)
    return reply.json["id"]


def put_swing(checks, client, student, body, label=None):
    reply = client.post("/v1/students/%s/swings" % student, body)
    if label or reply.status != 201:
        checks.status(reply, 201, label or "a swing is stored")
    return reply.json["id"]


def bodies(checks, server, head, student):
    path = "/v1/students/%s/swings" % student
    pid = server.process.pid
    before = hold.settled(pid, .2)
    lines = hold.hold_bodies(server.port, path, HELD, LARGE)
    grown = hold.settled(pid) - before
    checks.ok(grown < MOST_MIB, "%d bodies without a token hold %d MiB at most" % (HELD, MOST_MIB), "%.0f MiB" % grown)
    print("%d bodies held without a token: %.0f MiB above the start" % (HELD, grown))
    line = lines[0]
    line.sendall(b"1," * 8)
    line.settimeout(20)
    status, length, rest = hold.read_head(line)
    problem = json.loads(hold.read_rest(line, length, rest))
    checks.ok(status == 401 and problem["type"].endswith("not-signed-in"), "one that is finished is told 401, whole", problem)
    checks.same(line.recv(10), b"", "and its connection is ended")
    hold.close_all(lines)

    before = hold.settled(pid, .2)
    lines = hold.hold_bodies(server.port, path, HELD, LARGE, head.token)
    grown = hold.settled(pid) - before
    checks.ok(grown < MOST_MIB, "%d bodies of one account hold %d MiB at most" % (HELD, MOST_MIB), "%.0f MiB" % grown)
    print("%d bodies held with a token: %.0f MiB above the start" % (HELD, grown))
    line = lines[30]  # behind what fits, and before too many writes
    line.sendall(b"1," * 8)
    status, length, rest = hold.read_head(line)
    problem = json.loads(hold.read_rest(line, length, rest))
    checks.ok(status == 429 and problem["type"].endswith("too-much"), "one more than fits is told 429 too-much", problem)
    checks.status(head.get("/v1/me"), 200, "the same account still reads small things")
    _, other = server.account(head, "coach", "other.coach")
    team = head.put("/v1/students/%s/team/%s" % (student, other.get("/v1/me").json["id"]))
    checks.status(team, 204, "another account is not kept out")
    put_swing(checks, other, student, hold.padded(support.numbered(1), LARGE), "nor is its large document")
    hold.close_all(lines)
    deadline = time.monotonic() + 10
    while time.monotonic() < deadline and gauge(head, "leadside_http_held_bytes") > 0:
        time.sleep(.1)
    checks.same(gauge(head, "leadside_http_held_bytes"), 0, "what was held is given back with the connections")
    put_swing(checks, head, student, hold.padded(support.numbered(2), LARGE), "and the account's large document fits again")


def gauge(client, name):
    return int(re.search(r"(?m)^%s (\d+)$" % name, client.get("/metrics").body.decode()).group(1))


def gate(checks, server, head, student):
    """Who may not is told before the body; who waits to be told is told at once."""
    path = "/v1/students/%s/swings" % student
    expect = "Expect: 100-continue\r\nIdempotency-Key: waits\r\n"

    def asked(token, more=expect, where=path, length=LARGE):
        line = hold.dial(server.port)
        line.settimeout(5)
        line.sendall(hold.head("POST", where, token, length, more))
        answer = hold.read_head(line)
        return answer[0], line

    for label, token, where, more, wanted in (
            ("no token", None, path, expect, 401), ("a token that is nobody's", "A" * 43, path, expect, 401),
            ("no such student", head.token, path.replace(student, student[:-1] + ("0" if student[-1] != "0" else "1")), expect, 404),
            ("no key", head.token, path, "Expect: 100-continue\r\n", 400),
            ("an unknown query", head.token, path + "?x=1", expect, 400)):
        status, line = asked(token, more, where)
        checks.same(status, wanted, "%s: %d before a byte of the body" % (label, wanted))
        line.close()
    body = hold.padded(support.numbered(50), LARGE)
    status, line = asked(head.token, expect, path, len(body))
    checks.same(status, 100, "who may is told to go on")
    line.sendall(body)
    status, length, rest = hold.read_head(line)
    checks.same(status, 201, "and the document is stored")
    line.close()
    _, student_client = server.account(head, "student", "gate.student", student_id=student)
    reply = student_client.post("/v1/students/%s/swings" % student, body)
    checks.status(reply, 403, "a student who sends all of it is told 403, not cut off")


def chunked(checks, server_port, token, path, size):
    """A body that doesn't say how long it will be."""
    line = hold.dial(server_port)
    line.sendall(hold.head("POST", path, token, None, "Content-Type: application/json\r\nTransfer-Encoding: chunked\r\n"
                           "Idempotency-Key: chunked-%d\r\n" % size))
    piece = b" " * 65536
    try:
        for _ in range(size // len(piece)):
            line.sendall(b"%x\r\n" % len(piece) + piece + b"\r\n")
        line.sendall(b"0\r\n\r\n")
    except OSError:
        pass
    answer = hold.read_head(line)
    line.close()
    return answer[0]


def shares(checks):
    """The limits as they are set: --account-memory, --memory."""
    server = Server(checks, options=["--memory", "6", "--account-memory", "4"])
    head = server.sign_in()
    student = student_of(head)
    path = "/v1/students/%s/swings" % student
    checks.same(chunked(checks, server.port, head.token, path, MIB), 422, "a chunked body within the share is read")
    checks.same(chunked(checks, server.port, head.token, path, 6 * MIB), 429, "one that outgrows its account's share is refused on the way")
    checks.status(head.post(path, hold.padded(support.numbered(1), 5 * MIB)), 429, "as one that announces it")
    put_swing(checks, head, student, hold.padded(support.numbered(1), 3 * MIB), "one within it is stored")
    _, other = server.account(head, "coach", "share.coach")
    head.put("/v1/students/%s/team/%s" % (student, other.get("/v1/me").json["id"]))
    lines = hold.hold_bodies(server.port, path, 1, int(3.9 * MIB), head.token)
    time.sleep(.3)
    reply = other.post(path, hold.padded(support.numbered(2), 3 * MIB))
    checks.ok(reply.status == 503 and reply.header("Retry-After"), "past the limit of all accounts: 503 with Retry-After", reply.body)
    hold.close_all(lines)
    time.sleep(.3)
    put_swing(checks, other, student, hold.padded(support.numbered(2), 3 * MIB), "afterwards it is stored")
    server.end()


def answers(checks, server, head, student):
    body = hold.padded(support.numbered(3), LARGE)
    swing = put_swing(checks, head, student, body)
    pid = server.process.pid
    path = "/v1/swings/" + swing
    whole = head.get(path)
    checks.same(whole.json["document"], support.numbered(3), "a large document is answered whole")
    checks.ok(body in whole.body and whole.json["file"] == path + "/file", "byte for byte")
    checks.ok(head.get(path + "/file").body == body, "its file as well")
    told = head.request("HEAD", path + "/file")
    checks.same((told.status, told.header("Content-Length"), told.body), (200, str(len(body)), b""), "HEAD tells its length")
    before = hold.settled(pid, .2)
    lines = hold.hold_answers(server.port, path, HELD, head.token)
    grown = hold.settled(pid) - before
    checks.ok(grown < MOST_MIB, "%d answers not fetched hold %d MiB at most" % (HELD, MOST_MIB), "%.0f MiB" % grown)
    print("%d answers not fetched: %.0f MiB above the start" % (HELD, grown))
    status, length, rest = hold.read_head(lines[7])
    checks.ok(status == 200 and body in hold.read_rest(lines[7], length, rest), "one that is fetched after all is whole")
    time.sleep(3)  # longer than the writer waits before it folds the log back
    checks.same(gauge(head, "leadside_store_log_bytes"), 0, "slow readers don't keep the log from being folded back")
    hold.close_all(lines)


def erased(checks, server, head):
    """What is erased while it is sent stops being sent."""
    student = student_of(head, "Hazel Nobody")
    swing = put_swing(checks, head, student, hold.padded(support.numbered(4), LARGE))
    line = hold.hold_answers(server.port, "/v1/swings/%s/file" % swing, 1, head.token)[0]
    status, length, rest = hold.read_head(line)
    checks.status(head.request("DELETE", "/v1/students/" + student), 204, "a student is erased while a document is being sent")
    got = hold.read_rest(line, length, rest)
    checks.ok(status == 200 and len(got) < length, "the answer is cut short", "%d of %d" % (len(got), length))
    line.close()


def export(checks, server, head):
    student = student_of(head, "Briar Overmeadow")
    for n in range(40):
        put_swing(checks, head, student, hold.padded(support.numbered(100 + n), LARGE))
    pid = server.process.pid
    before = hold.settled(pid, .2)
    began = time.monotonic()
    reply = head.get("/v1/students/%s/export" % student)
    spent = time.monotonic() - began
    checks.ok(reply.status == 200 and len(reply.body) > 40 * LARGE, "an export of 40 documents of 8 MiB is answered",
              "%s, %d bytes" % (reply.status, len(reply.body)))
    made = json.loads(re.sub(rb" {64,}", b" ", reply.body))
    checks.same([row["document"] for row in made["swing"]], [support.numbered(100 + n) for n in range(40)],
                "it is JSON and holds every document")
    checks.ok(len(made["report"]) == 40 and made["student"][0]["name"] == "Briar Overmeadow", "and reports and the student")
    grown = hold.resident(pid) - before
    checks.ok(grown < MOST_MIB, "making it holds %d MiB at most" % MOST_MIB, "%.0f MiB" % grown)
    print("export of %d MiB: %.1f s, %.0f MiB above the start" % (len(reply.body) // MIB, spent, grown))
    del reply, made
    path = "/v1/students/%s/export" % student
    lines = hold.hold_answers(server.port, path, 2, head.token)
    for line in lines:
        checks.same(hold.read_head(line)[0], 200, "an export begins")
    busy = head.get(path)
    checks.ok(busy.status == 429 and busy.header("Retry-After"), "a third that waits to be fetched is refused", busy.status)
    hold.close_all(lines)
    deadline = time.monotonic() + 10
    while head.get(path).status == 429 and time.monotonic() < deadline:
        time.sleep(.2)
    checks.status(head.get(path), 200, "until they are closed")
    names = os.listdir(server.data)
    checks.ok(not [name for name in names if "spool" in name], "nothing of it has a name in the club's folder", names)


def lesson(checks, server, head):
    """As many recordings as docs/api.md says."""
    student = student_of(head, "Alder Quickwater")
    ids = []
    first = json.dumps(hold.recording(0))
    for n in range(50):
        body = first.replace("2026-01-01T00:00:00Z", "2026-01-01T00:00:%02dZ" % n)
        ids.append(put_swing(checks, head, student, body))
    print("recordings of %.1f MiB each" % (len(body) / MIB))
    pid = server.process.pid
    before = hold.settled(pid, .2)
    began = time.monotonic()
    reply = head.post("/v1/students/%s/lessons" % student, {"held_at": "2026-05-02T09:00:00Z", "swings": ids})
    spent = time.monotonic() - began
    checks.status(reply, 201, "a lesson of 50 recordings is judged")
    print("a lesson of 50 recordings: %.1f s, %.0f MiB above the start" % (spent, hold.resident(pid) - before))
    if reply.status == 201:
        checks.same(reply.json["report"]["swings"], 50, "all of them together")
    again = head.post("/v1/students/%s/lessons" % student, {"held_at": "2026-05-02T09:00:00Z", "swings": ids[:3]})
    checks.status(again, 409, "a swing of it in a second lesson is refused")
    other = student_of(head, "Other Student")
    reply = head.post("/v1/students/%s/lessons" % other, {"swings": ids[:2]})
    checks.ok(reply.status == 422 and reply.problem["path"] == "swings[0]", "as is another student's", reply.body)
    return student


def scored_anew(checks, server, head):
    """On a server of one HTTP thread: while the club is scored anew, the thread is free; and stopping doesn't wait."""
    def patient(ask):
        """Whoever asks too often waits as long as told: how fast this machine scores is no matter of the head's rate."""
        reply = ask()
        while reply.status == 429:
            time.sleep(float(reply.header("Retry-After")))
            reply = ask()
        return reply

    def begin(label):
        now = patient(lambda: head.get("/v1/standard"))
        standard = {**now.json["standard"], "version": label}
        checks.status(patient(lambda: head.put("/v1/standard", standard, match=now.header("ETag"))), 200, "a new version: " + label)
        checks.status(patient(lambda: head.post("/v1/standard/rescore", {})), 202, "the club is scored anew: " + label)

    def running():
        reply = head.get("/v1/standard/job")
        return reply.status == 429 or reply.json["job"]["state"] == "running"

    probe = server.client()
    took, slowest, asked = 0, 0, 0
    for round in range(40): # one takes a sixth of a second: as many as it takes to ask often
        began = time.monotonic()
        begin("once more %d" % round)
        while running():
            at = time.monotonic()
            if probe.get("/healthz").status != 200:
                break
            slowest, asked = max(slowest, time.monotonic() - at), asked + 1
            time.sleep(.002)
        took += time.monotonic() - began
        if asked > 40 and took > .5:
            break
    checks.ok(took > .5 and asked > 40 and slowest < .5 / 4, "the one HTTP thread answers meanwhile",
              "scoring %.2f s, slowest of %d answers %.3f s" % (took, asked, slowest))
    print("scored anew in %.2f s; the slowest of %d answers meanwhile %.1f ms" % (took, asked, slowest * 1000))
    begin("and again")
    time.sleep(.15)
    began = time.monotonic()
    code = server.stop()
    spent = time.monotonic() - began
    checks.ok(code == 0 and spent < max(2, took * .8), "the server ends in the middle of it", "%s after %.2f s, all of it takes %.2f" % (code, spent, took))
    server.start()


def measures_kept(checks, server, head):
    """Progress is the same whether a report's measures are kept beside it or picked out of it."""
    student = student_of(head, "Teasel Marchbank")
    with open(os.path.join(support.ROOT, "tests", "data", "two_views.json")) as file:
        two_views = json.load(file)
    ids = []
    for n in range(12):
        two_views["recorded_at"] = "2026-04-%02dT09:00:00Z" % (n + 1)
        ids.append(put_swing(checks, head, student, two_views))
    head.post("/v1/students/%s/lessons" % student, {"held_at": "2026-04-20T09:00:00Z", "swings": ids[:3]})
    seen = head.get("/v1/swings/%s/report" % ids[5]).json
    faults = [fault["fault"] for fault in seen["faults"] if fault["verdict"] == "present"][:2]
    paths = []
    for number, fault in enumerate(faults):
        fix = support.assign(head, student, fault, overrule="for the test", **({"from_swing": ids[4]} if number else {})).json["id"]
        paths.append("/v1/students/%s/progress?fix=%s" % (student, fix))
    kept = [head.get(path).body for path in paths]
    checks.ok(paths and all(len(json.loads(body)["series"]) >= 9 for body in kept), "progress has its series", kept)
    rows = server.query("SELECT count(*) FROM report AS r JOIN report_measures AS m ON m.report = r.number")[0][0]
    checks.same(rows, server.query("SELECT count(*) FROM report")[0][0], "every report's measures are kept with it")
    measures = {(m["measure"], m["checkpoint"]): m for m in seen["measures"]}
    for body in kept:
        progress = json.loads(body)
        own = measures[progress["measure"], progress["checkpoint"]]
        point = [p for p in progress["series"] if p["swing_id"] == ids[5]][0]
        checks.ok(point["value"] == own["value"] and point["source"] == own["source"] and abs(point["sd"] - own["sd"]) < .02,
                  "a point is the report's own number", "%s %s" % (point, own))
    server.write("DELETE FROM report_measures WHERE report % 3 = 0")
    server.write("UPDATE report_measures SET packed = zeroblob(length(packed)) WHERE report % 3 = 1")
    server.stop()
    server.start()
    checks.same([head_again(server).get(path).body for path in paths], kept, "and the same when they have to be picked again")
    deadline = time.monotonic() + 10
    mine = ("SELECT count(*) FROM report AS r WHERE NOT EXISTS (SELECT 1 FROM report_measures AS m WHERE m.report = r.number "
            "AND packed <> zeroblob(length(packed))) AND r.swing_id IN (SELECT id FROM swing WHERE student_id = ? AND lesson_id IS NULL)")
    while server.query(mine, student)[0][0] and time.monotonic() < deadline:
        time.sleep(.1)
    checks.same(server.query(mine, student)[0][0], 0, "which keeps them")
    checks.same([head_again(server).get(path).body for path in paths], kept, "and still the same")


def head_again(server):
    return server.sign_in()


def guessing(checks, server, head):
    began = time.monotonic()

    def guess(line):
        client, seen = server.client("B" * 43), []
        for n in range(line, 1500, 30):
            client.token = base64.urlsafe_b64encode(b"%032d" % n).decode().rstrip("=")
            seen.append(client.get("/v1/me"))
        return seen

    with concurrent.futures.ThreadPoolExecutor(30) as pool:
        seen = [reply for replies in pool.map(guess, range(30)) for reply in replies]
    counts = collections.Counter(reply.status for reply in seen)
    spent = time.monotonic() - began
    checks.ok(set(counts) == {401, 429} and counts[401] <= 60 + 2 * spent + 2, "tokens that are nobody's are soon told to wait", counts)
    told = [reply for reply in seen if reply.status == 429]
    checks.ok(len(told) > 1000 and all(int(reply.header("Retry-After") or 0) >= 1 for reply in told), "with Retry-After", len(told))
    checks.status(head.get("/v1/me"), 200, "a good token from the same network passes")
    checks.same(server.client().get("/v1/me").status, 401, "no token is 401 as ever")
    print("1 500 tokens that are nobody's: %.1f s, %s" % (spent, dict(counts)))


def main():
    checks = Checks("test_load")
    server = Server(checks, options=["--threads", "1", "--per-address", "0"])
    head = server.sign_in()
    student = student_of(head)
    gate(checks, server, head, student)
    bodies(checks, server, head, student)
    answers(checks, server, head, student)
    erased(checks, server, head)
    export(checks, server, head)
    guessing(checks, server, head)
    scored_anew(checks, server, head)
    head = server.sign_in()
    lesson(checks, server, head)
    measures_kept(checks, server, head)
    server.end()
    shares(checks)
    checks.finish()


main()
