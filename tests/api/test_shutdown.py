"""Stopping under load: SIGTERM while clients upload, a slow body is half sent and passwords are being hashed. What was
begun is answered, what was answered is on disk, what was refused is not, a client that comes meanwhile is told 503, and
the server ends with 0."""
import http.client
import socket
import threading
import time

import support
from support import Checks, Server


class Uploader(threading.Thread):
    def __init__(self, port, token, student):
        super().__init__(daemon=True)
        self.client = support.Client(port, token, timeout=30)
        self.student = student
        self.answered, self.refused, self.broken, self.odd = [], 0, 0, []
        self.cut_keys = []

    def run(self):
        count = 0
        while True:
            count += 1
            key = support.fresh_key()
            try:
                reply = self.client.request("POST", "/v1/students/%s/swings" % self.student, support.numbered(count), key=key)
            except ConnectionRefusedError:
                return
            except (OSError, http.client.HTTPException):
                self.broken += 1
                self.cut_keys.append(key)
                return
            if reply.status == 201:
                self.answered.append(reply.json["id"])
            elif reply.status == 503:
                self.refused += 1
                if not reply.header("Retry-After"):
                    self.odd.append("503 without Retry-After")
                return
            else:
                self.odd.append("%d %s" % (reply.status, reply.body[:200]))
                return


class Signer(threading.Thread):
    """A sign-in is under way when SIGTERM comes."""

    def __init__(self, port):
        super().__init__(daemon=True)
        self.client, self.status = support.Client(port, timeout=30), None

    def run(self):
        try:
            self.status = self.client.request("POST", "/v1/sign-in", support.HEAD).status
        except (OSError, http.client.HTTPException):
            self.status = "broken"


def half_sent(port, token, student, key):
    """A request of which the headers and half the body are on the line."""
    import json
    body = json.dumps(support.document()).encode()
    line = socket.create_connection(("127.0.0.1", port), timeout=30)
    line.sendall(("POST /v1/students/%s/swings HTTP/1.1\r\nHost: localhost\r\nAuthorization: Bearer %s\r\n"
                  "Content-Type: application/json\r\nIdempotency-Key: %s\r\nContent-Length: %d\r\n\r\n" % (
                      student, token, key, len(body))).encode() + body[:len(body) // 2])
    return line, body[len(body) // 2:]


def come_late(port, until):
    """New connections while the server drains, until one is told 503 or refused."""
    while time.monotonic() < until:
        client = support.Client(port, timeout=10)
        try:
            reply = client.get("/healthz")
        except ConnectionRefusedError:
            return "refused"
        except (OSError, http.client.HTTPException):
            continue
        finally:
            client.close()
        if reply.status != 200:
            told = reply.header("Retry-After") and reply.header("Connection") == "close"
            return "%d%s" % (reply.status, "" if told else " without Retry-After or Connection: close")
    return "nothing"


def wait_until(condition, seconds):
    until = time.monotonic() + seconds
    while not condition() and time.monotonic() < until:
        time.sleep(0.01)


def once(checks, number):
    server = Server(checks, options=["--no-throttle"])
    head = server.sign_in()
    student = head.post("/v1/students", {"name": "Student", "hand": "right"}).json["id"]
    uploaders = [Uploader(server.port, head.token, student) for _ in range(8)]
    for uploader in uploaders:
        uploader.start()
    wait_until(lambda: sum(len(uploader.answered) for uploader in uploaders) > 20, 60)
    line, rest = half_sent(server.port, head.token, student, "half-sent")
    signer = Signer(server.port)
    signer.start()
    time.sleep(0.1 + 0.02 * number)
    stopped = []
    stopper = threading.Thread(target=lambda: stopped.append(server.stop()))
    began = time.monotonic()
    stopper.start()
    late_comer = come_late(server.port, began + 10)
    answer = b""
    try:
        line.sendall(rest)
        while True:
            more = line.recv(65536)
            answer += more
            if not more or support.complete(answer):
                break
    except OSError:
        pass
    line.close()
    stopper.join(60)
    seconds = time.monotonic() - began
    for thread in uploaders + [signer]:
        thread.join(10)
    name = "stop %d: " % number
    checks.ok(stopped == [0], name + "exit 0", "%s %s" % (stopped, server.log_tail()))
    checks.ok(seconds < 15, name + "within 15 s", "%.1f s" % seconds)
    status = answer[9:12].decode("ascii", "replace")
    checks.ok(status in ("201", "503"), name + "a request half sent before SIGTERM is answered", repr(answer[:200]))
    checks.ok(late_comer == "503" or (late_comer == "refused" and status == "503"),
              name + "a client that comes while the half-sent one is under way is told 503", late_comer)
    checks.ok(signer.status in (200, 201, 503), name + "a sign-in under way is answered", signer.status)
    answered = [swing for uploader in uploaders for swing in uploader.answered]
    odd = [text for uploader in uploaders for text in uploader.odd]
    checks.ok(not odd, name + "no answer but 201 and 503", odd[:3])
    in_file = {row[0] for row in server.query("SELECT id FROM swing")}
    checks.ok(len(answered) > 20 and set(answered) <= in_file, name + "every answered upload is on disk",
              "%d answered, %d missing" % (len(answered), len(set(answered) - in_file)))
    late = server.query("SELECT count(*) FROM idempotency WHERE key = 'half-sent'")[0][0]
    checks.same(late, 1 if status == "201" else 0, name + "the half-sent one is stored just when it was answered 201")
    # a line may be closed between two requests; then the client never learns, and the file must not hold it
    cut = [key for uploader in uploaders for key in uploader.cut_keys]
    kept = [key for key in cut if server.query("SELECT 1 FROM idempotency WHERE key = ?", key)]
    checks.ok(not kept, name + "nothing was stored without an answer", "%d of %d" % (len(kept), len(cut)))
    server.end()


def main():
    checks = Checks("test_shutdown")
    for number in range(1, 5):
        once(checks, number)
    checks.finish()


main()
