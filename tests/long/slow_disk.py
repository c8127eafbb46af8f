"""A slow disk: every flush takes 300 to 800 ms (disk.c). Reads don't wait for it; uploads wait for their commit, many in one; what the queue
of writes has no room for is told 503 with Retry-After, and is there once when it is sent again; memory stays what it was; SIGTERM with
writes waiting ends the server in time, and what was answered is there. Not part of tests/run.

    LEADSIDE_BUILD=DIR /usr/bin/python3 tests/long/slow_disk.py"""
import http.client
import json
import shutil
import socket
import threading
import time

from disk import Server, disk_library, support  # first: it makes tests/api known
from deeds import Uploader
from hold import resident, settled

LEAST, MOST = 300, 800
FLOOD = 1500  # notes at once: the queue takes 1024


class Reader(threading.Thread):
    """Reads until it is told to stop, and how long each took."""

    def __init__(self, port, token, paths, halt):
        super().__init__(daemon=True)
        self.client, self.paths, self.halt, self.seconds, self.odd = support.Client(port, token), paths, halt, [], []

    def run(self):
        while not self.halt.is_set():
            for path in self.paths:
                began = time.monotonic()
                reply = self.client.get(path)
                self.seconds.append(time.monotonic() - began)
                if reply.status != 200:
                    self.odd.append("%s %d" % (path, reply.status))
            time.sleep(.01)


def flood(port, token, student):
    """FLOOD notes at the same moment, each on a connection of its own: [(key, body, status, Retry-After)]."""
    lines = []
    for n in range(FLOOD):
        key, body = "flood-%d" % n, json.dumps({"text": "flood %d" % n, "readers": []}).encode()
        line = socket.create_connection(("127.0.0.1", port), timeout=60)
        line.sendall(("POST /v1/students/%s/notes HTTP/1.1\r\nHost: localhost\r\nAuthorization: Bearer %s\r\nContent-Type: application/json\r\n"
                      "Idempotency-Key: %s\r\nContent-Length: %d\r\nConnection: close\r\n\r\n" % (student, token, key, len(body))).encode() + body)
        lines.append((key, body, line))
    answers = []
    for key, body, line in lines:
        answer = http.client.HTTPResponse(line)
        answer.begin()
        answer.read()
        answers.append((key, body, answer.status, answer.getheader("Retry-After")))
        line.close()
    return answers


def play(checks, server):
    head = server.sign_in()
    student = head.post("/v1/students", {"name": "Student", "hand": "right"}).json["id"]
    swing = head.post("/v1/students/%s/swings" % student, support.document()).json["id"]
    before, halt, halt_uploads = settled(server.process.pid), threading.Event(), threading.Event()
    readers = [Reader(server.port, head.token, ["/v1/students/" + student, "/v1/swings/" + swing, "/v1/students"], halt) for _ in range(3)]
    uploaders = [Uploader(head, student, server.port, halt_uploads) for _ in range(24)]
    for thread in readers + uploaders:
        thread.start()
    began = time.monotonic()
    time.sleep(20)
    uploaded = sum(len(uploader.answered) for uploader in uploaders)
    answers = flood(server.port, head.token, student)
    told = {status: sum(1 for answer in answers if answer[2] == status) for status in {answer[2] for answer in answers}}
    seconds = time.monotonic() - began
    after = resident(server.process.pid)
    halt.set()
    for reader in readers:
        reader.join(30)
    took = sorted(second for reader in readers for second in reader.seconds)
    print("%.0f s: %d uploads answered in the first 20, %d reads: half within %.1f ms, 95 %% within %.1f ms, the slowest %.0f ms; of %d notes at once %s; %.0f MiB, then %.0f" % (
        seconds, uploaded, len(took), 1e3 * took[len(took) // 2], 1e3 * took[int(.95 * len(took))], 1e3 * took[-1], FLOOD, told, before, after))
    checks.ok(not [text for reader in readers for text in reader.odd], "every read was answered", [reader.odd[:2] for reader in readers])
    checks.ok(took[int(.95 * len(took))] < LEAST / 1e3, "reads don't wait for the disk: 95 % come before a flush can end", took[-5:])
    checks.ok(uploaded > 24 * 10, "uploads go on, many in one commit", uploaded)
    checks.ok(set(told) <= {201, 503} and told.get(201, 0) >= 1024 // 2 and told.get(503, 0) > 0, "notes that the queue has no room for are told 503", told)
    checks.ok(all(retry for _, _, status, retry in answers if status == 503), "with Retry-After")
    again = [support.Client(server.port, head.token).post("/v1/students/%s/notes" % student, body, key=key).status
             for key, body, status, _ in [answer for answer in answers if answer[2] == 503][:20]]
    checks.ok(all(status == 201 for status in again), "and are taken when sent again", again)
    checks.ok(after - before < 64, "memory stays within 64 MiB of what it was", (before, after))
    began = time.monotonic()
    ended = server.stop()
    seconds = time.monotonic() - began
    halt_uploads.set()
    for uploader in uploaders:
        uploader.join(30)
    checks.ok(ended == 0 and seconds < 15, "SIGTERM with writes waiting ends it with 0 within 15 s", (ended, seconds))
    print("stopped within %.1f s" % seconds)
    odd = [text for uploader in uploaders for text in uploader.odd]
    checks.ok(not odd, "uploads were answered 201 or, at the end, 503", odd[:3])
    answered = [swing for uploader in uploaders for swing, _ in uploader.answered.values()]
    there = {row[0] for row in server.query("SELECT id FROM swing")}
    checks.ok(len(set(answered)) == len(answered) and set(answered) <= there, "every answered upload is there", len(set(answered) - there))
    notes = dict(server.query("SELECT text, count(*) FROM note GROUP BY text"))
    missing = [key for key, _, status, _ in answers if status == 201 and notes.get("flood " + key[6:]) != 1]
    checks.ok(not missing and set(notes.values()) == {1}, "and every note, once", missing[:3])
    sound, output = server.check_file()
    checks.ok(sound, "leadside check is clean", output)


def main():
    checks = support.Checks("slow_disk")
    with disk_library() as library:
        server = Server(checks, library, {"DISK_SLOW": "%d %d" % (LEAST, MOST)}, options=["--no-throttle", "--connections", "4096"])
        try:
            play(checks, server)
        finally:
            if server.process.poll() is None:
                server.kill()
            shutil.rmtree(server.root, ignore_errors=True)
    checks.finish()


main()
