"""Power of an answer: 200 times (or the first number given) the server is killed with SIGKILL at a random moment while
eight clients upload swings under Idempotency-Keys. After every restart each upload that was answered must be there
exactly once, each that was not may be resent and then is there exactly once. `leadside check` runs every 25 rounds.

The kill models a crash of the program, not of the machine: what the kernel holds is not lost."""
import json
import random
import sys
import threading
import time

import support
from support import Checks, Server

CLIENTS = 8


class Uploader(threading.Thread):
    """Uploads until the line breaks or it is told to stop. `waiting` is what was sent and never answered."""

    def __init__(self, port, token, student, halt):
        super().__init__(daemon=True)
        self.client = support.Client(port, token, timeout=20)
        self.student, self.halt = student, halt
        self.answered, self.waiting, self.odd = {}, None, []

    def run(self):
        while not self.halt.is_set():
            key, body = support.fresh_key(), small_document()
            self.waiting = (key, body, self.student)
            try:
                reply = post(self.client, self.student, key, body)
            except OSError:
                return
            except Exception as error:  # half an answer: the line broke while it was coming
                if type(error).__module__ != "http.client":
                    self.odd.append(repr(error))
                return
            self.waiting = None
            if reply.status == 201:
                self.answered[key] = (reply.json["id"], body, self.student)
            elif reply.status not in (429, 503):
                self.odd.append("%d %s" % (reply.status, reply.body[:200]))


def small_document():
    return json.dumps({"schema": "leadside.swing/1", "hand": "right",
                       "recorded_at": "2026-05-02T09:%02d:%02dZ" % (random.randrange(60), random.randrange(60)),
                       "measured": [{"measure": "shaft_direction", "checkpoint": "shaft_back",
                                     "value": round(random.uniform(-30, 10), 3), "sd": 2}]})


def post(client, student, key, body):
    # straight to the connection: a test of lost answers must never resend by itself
    if client.connection is None:
        import http.client
        client.connection = http.client.HTTPConnection("127.0.0.1", client.port, timeout=client.timeout)
    client.connection.request("POST", "/v1/students/%s/swings" % student, body.encode(), {
        "Authorization": "Bearer " + client.token, "Content-Type": "application/json", "Idempotency-Key": key})
    answer = client.connection.getresponse()
    return support.Reply(answer.status, answer.getheaders(), answer.read())


class Round:
    """What one life of the server left behind, and the proof of it after the restart."""

    def __init__(self, server, token, students):
        halt = threading.Event()
        self.uploaders = [Uploader(server.port, token, student, halt) for student in students]
        for uploader in self.uploaders:
            uploader.start()
        time.sleep(random.uniform(0.01, 0.20))
        server.kill()
        halt.set()
        for uploader in self.uploaders:
            uploader.join(30)
        self.answered = {key: value for uploader in self.uploaders for key, value in uploader.answered.items()}
        self.waiting = [uploader.waiting for uploader in self.uploaders if uploader.waiting]
        self.odd = [text for uploader in self.uploaders for text in uploader.odd]


def stored(server, keys):
    """{key: [swing ids]} as the file has it."""
    found = {key: [] for key in keys}
    marks = ",".join("?" * len(keys))
    for key, swing in server.query(
            "SELECT i.key, s.id FROM idempotency i JOIN swing s ON s.id = i.object_id WHERE i.key IN (%s)" % marks, *keys):
        found[key].append(swing)
    return found


def main():
    rounds = next((int(argument) for argument in sys.argv[1:] if argument.isdigit()), 200)
    random.seed(20260502)
    checks = Checks("crash_kill")
    server = Server(checks, options=["--no-throttle"])
    head = server.sign_in()
    students = [head.post("/v1/students", {"name": "Student %d" % n, "hand": "right"}).json["id"] for n in range(CLIENTS)]
    everything, began = {}, time.monotonic()
    in_flight = committed_unheard = lost_unheard = sound_files = 0
    wrong, start_seconds = [], []
    for number in range(1, rounds + 1):
        life = Round(server, head.token, students)
        server.start()
        start_seconds.append(server.start_seconds)
        wrong += life.odd
        in_flight += bool(life.waiting)
        before = stored(server, list(life.answered) + [key for key, _, _ in life.waiting] or [""])
        for key, (swing, _, _) in life.answered.items():
            if before[key] != [swing]:
                wrong.append("round %d: answered %s, the file has %s" % (number, swing, before[key]))
        client = server.client(head.token)
        resend = [(key, body, student, None) for key, body, student in life.waiting]
        resend += [(key, body, student, swing) for key, (swing, body, student) in
                   random.sample(sorted(life.answered.items()), min(3, len(life.answered)))]
        for key, body, student, swing in resend:
            reply = post(client, student, key, body)
            if reply.status != 201:
                wrong.append("round %d: resend answered %d %s" % (number, reply.status, reply.body[:200]))
                continue
            got = reply.json["id"]
            expected = swing or (before[key][0] if before[key] else got)
            if got != expected:
                wrong.append("round %d: resend made %s, it was %s" % (number, got, expected))
            if swing is None:
                committed_unheard += bool(before[key])
                lost_unheard += not before[key]
            everything[key] = got
        for key, (swing, _, _) in life.answered.items():
            everything[key] = swing
        client.close()
        if number % 25 == 0 or number == rounds:
            sound, output = server.check_file()
            sound_files += sound
            if not sound:
                wrong.append("round %d: check: %s" % (number, output))
        if len(wrong) > 20:
            break
    seconds = time.monotonic() - began
    print("%d kills in %.0f s, %d uploads answered, %d kills with requests under way, of those unanswered %d were on "
          "disk and %d were not; start to ready %.0f ms (median)" % (
              len(start_seconds), seconds, len(everything), in_flight, committed_unheard, lost_unheard,
              1000 * sorted(start_seconds)[len(start_seconds) // 2]))
    checks.same(len(start_seconds), rounds, "the server came back after each of %d kills" % rounds)
    checks.ok(not wrong, "every answered upload is there exactly once, resent or not", "; ".join(wrong[:5]))
    checks.ok(in_flight >= rounds * 0.8, "kills came while requests were under way", "%d of %d" % (in_flight, rounds))
    checks.ok(lost_unheard > 0 and (committed_unheard > 0 or rounds < 100),
              "kills came both before and after a commit that was never answered",
              "%d after, %d before" % (committed_unheard, lost_unheard))
    ids = [row[0] for row in server.query("SELECT id FROM swing")]
    checks.same(len(ids), len(set(everything.values())), "the file holds one swing for each upload and no other")
    checks.same(sorted(set(ids)), sorted(set(everything.values())), "and they are the ones that were answered")
    reports = server.query("SELECT count(*) FROM swing s WHERE NOT EXISTS (SELECT 1 FROM report r WHERE r.swing_id = s.id)")
    checks.same(reports[0][0], 0, "every swing has its report")
    checks.same(sound_files, rounds // 25 + (1 if rounds % 25 else 0), "leadside check was clean every time")
    server.end()
    checks.finish()


main()
