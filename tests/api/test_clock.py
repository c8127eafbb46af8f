"""A wall clock that is wrong: set back while the server waits, and eight days ahead for one sign-in. The clock is stepped
inside the server's own process (step_clock.c, loaded before the C library); the kernel waits by the right one."""
import os
import socket
import tempfile
import time

import support
from stepped import DAY, Stepped, clock_library
from support import Checks


def set_back(checks, library):
    """While a wait is under way the clock goes back an hour: an end that was reckoned by the clock before lies an hour ahead.
    A request that never comes whole is cut at its deadline all the same, and the log is written."""
    log = tempfile.mktemp(prefix="leadside-log-")
    server = Stepped(checks, library, options=["--deadline", "1", "--log", log], start=False)
    server.step(3600)
    server.start()
    server.step(0)
    began = time.monotonic()
    with socket.create_connection(("127.0.0.1", server.port), timeout=8) as line:
        line.sendall(b"POST /v1/sign-in HTTP/1.1\r\nHost: localhost\r\nContent-Length: 100\r\nContent-Type: application/json\r\n\r\n{")
        try:
            cut = line.recv(100) == b""
        except socket.timeout:
            cut = False
        except ConnectionResetError:
            cut = True
    checks.ok(cut and time.monotonic() - began < 6, "the deadline is kept when the clock is set back",
              "%.1f s" % (time.monotonic() - began))
    time.sleep(0.5)
    with open(log) as file:
        checks.ok('"cut":true' in file.read(), "the log is written when the clock is set back")
    server.end()
    os.unlink(log)


def jump_ahead(checks, library):
    """Eight days ahead for one sign-in, then right again: what was sent before is not stored a second time."""
    server = Stepped(checks, library)
    head = server.sign_in()
    student = head.post("/v1/students", {"name": "Student", "hand": "right"}).json["id"]
    path, key = "/v1/students/%s/swings" % student, support.fresh_key()
    first = head.post(path, support.document(), key=key)
    checks.status(first, 201, "a swing is stored")
    server.step(8 * DAY)
    server.sign_in()
    server.step(0)
    again = head.post(path, support.document(), key=key)
    checks.status(again, 201, "it is sent again")
    checks.same(again.json.get("id"), first.json.get("id"), "and is the same swing")
    checks.same(server.query("SELECT count(*) FROM swing")[0][0], 1, "one swing is in the file")
    checks.same(server.stop(), 0, "the server stops")
    server.step(8 * DAY)
    server.start()
    server.sign_in()
    server.step(0)
    head = server.client(head.token)
    third = head.post(path, support.document(), key=key)
    checks.same(third.json.get("id"), first.json.get("id"), "the same when it was started with the wrong clock")
    ran = server.query("SELECT ms FROM running")[0][0]
    checks.ok(0 < ran < DAY * 1000, "how long the server ran is not read off the wall clock", ran)
    server.end()


def main():
    checks = Checks("test_clock")
    with clock_library() as library:
        set_back(checks, library)
        jump_ahead(checks, library)
    checks.finish()


main()
