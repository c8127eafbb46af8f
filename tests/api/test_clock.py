"""A wall clock that is wrong: set back while the server waits, eight days ahead for one sign-in, and years ahead and back. The clock is stepped
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


YEARS = 6 * 365 * DAY


def in_another_year( head, student, key, what, wrong):
    """What a club does, while the clock is years off: a resend, a list of planned looks, a note."""
    path = "/v1/students/%s/swings" % student
    replies = [head.post(path, support.document(), key=key), head.get("/v1/retests?due_before=2099-01-01T00:00:00Z"), head.get("/v1/inbox"),
               head.get("/v1/students/today"), head.get("/v1/students/%s/progress" % student), head.get("/v1/me/sessions"),
               head.post("/v1/students/%s/notes" % student, {"text": what, "readers": ["student"]})]
    wrong += ["%s: %d %s" % (what, reply.status, reply.body[:200]) for reply in replies if reply.status >= 500]
    return replies


def copied(checks, server, what):
    copy = os.path.join(server.root, "copy")
    made = server.command("backup", "--data", server.data, "--to", copy)
    proved = server.command("check", "--copy", copy)
    checks.same((made.returncode, proved.returncode), (0, 0), what + " a copy is made, and sound")


def years_off(checks, library):
    """Years ahead, years back, and right again, under one server: sessions, kept answers, planned looks and copies."""
    server, wrong = Stepped(checks, library), []
    head = server.sign_in()
    student = head.post("/v1/students", {"name": "Student", "hand": "right", "birth_year": 1980}).json["id"]
    key = support.fresh_key()
    first = head.post("/v1/students/%s/swings" % student, support.document(), key=key)
    fix = head.post("/v1/students/%s/fixes" % student, {"fault": "across_the_line", "reason": "seen", "overrule": "for this test"})
    checks.status(fix, 201, "a fix, with its planned look")
    due = server.query("SELECT due_at FROM retest")
    server.step(YEARS)
    old = in_another_year(head, student, key, "years ahead in an old session", wrong)
    checks.ok(all(reply.status == 401 for reply in old), "years ahead a session is over", [reply.status for reply in old])
    ahead = server.sign_in()
    seen = in_another_year(ahead, student, key, "years ahead", wrong)
    checks.same(seen[0].json.get("id"), first.json["id"], "years ahead a resent swing is the one that was stored")
    checks.same(len(seen[1].json["retests"]), 1, "years ahead the planned look is due")
    copied(checks, server, "years ahead")
    server.step(-YEARS)
    behind = server.sign_in()
    seen = in_another_year(behind, student, key, "years back", wrong)
    checks.same(seen[0].problem.get("type"), "urn:leadside:problem:future-swing", "years back a swing is from the future, a resent one too")
    copied(checks, server, "years back")
    server.step(0)
    checks.status(server.client(ahead.token).get("/v1/me"), (200, 401), "a session begun years ahead is good, or over")
    now = server.sign_in()
    seen = in_another_year(now, student, key, "right again", wrong)
    checks.same(seen[0].json.get("id"), first.json["id"], "right again a resent swing is the one that was stored")
    checks.ok(not wrong, "no year is a fault of the server", wrong)
    checks.same(server.query("SELECT due_at FROM retest"), due, "the planned look is on its day")
    texts = sorted(row[0] for row in server.query("SELECT text FROM note"))
    checks.same(texts, ["right again", "years ahead", "years back"], "each note that was answered is there")
    checks.same(server.query("SELECT count(*) FROM swing")[0][0], 1, "one swing is in the file")
    server.kill()
    server.step(-YEARS)
    server.start()
    checks.status(server.sign_in().get("/v1/students/" + student), 200, "killed, and started years back: everything is read")
    server.step(0)
    server.end()


def main():
    checks = Checks("test_clock")
    with clock_library() as library:
        set_back(checks, library)
        jump_ahead(checks, library)
        years_off(checks, library)
    checks.finish()


main()
