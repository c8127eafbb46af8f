"""A full disk: writes are answered 507 and stored nowhere, reads go on, and writes go on by themselves when there is
room again. On a small tmpfs, so only as root; skipped otherwise."""
import json
import os
import subprocess
import tempfile

import support
from support import Checks, Server

SIZE = 48 << 20  # /readyz asks for 16 MiB


def mount(where):
    return os.geteuid() == 0 and subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=%d" % SIZE, "tmpfs", where], stderr=subprocess.DEVNULL).returncode == 0


def fill(path):
    """Takes every block that is left."""
    with open(path, "wb", buffering=0) as filler:
        for size in (65536, 4096):
            try:
                while True:
                    filler.write(b"x" * size)
            except OSError:
                pass


def main():
    checks = Checks("crash_full_disk")
    where = tempfile.mkdtemp(prefix="leadside-disk-")
    if not mount(where):
        checks.skip("a full disk", "needs root and tmpfs")
        os.rmdir(where)
        checks.finish()
    try:
        run(checks, where)
    finally:
        subprocess.run(["umount", "-l", where])
        os.rmdir(where)
    checks.finish()


def run(checks, where):
    server = Server(checks, options=["--no-throttle"], data=os.path.join(where, "data"))
    head = server.sign_in()
    student = head.post("/v1/students", {"name": "Student", "hand": "right"}).json["id"]
    path = "/v1/students/%s/swings" % student
    checks.status(head.post(path, support.document()), 201, "an upload while there is room")
    checks.status(head.get("/readyz"), 200, "/readyz: ready while there is room")
    fill(os.path.join(where, "filler"))
    reply = head.get("/readyz")
    checks.ok(reply.status == 503 and "disk is full" in reply.problem.get("detail", "") and reply.header("Retry-After"),
              "/readyz: not ready once the disk is full, and why", "%s %s" % (reply.status, reply.body))
    checks.status(head.get("/healthz"), 200, "/healthz: the process answers")
    answered, refused, other = {}, [], []
    for n in range(400):  # the log may hold a little room of its own
        key, body = support.fresh_key(), support.numbered(n)
        reply = head.post(path, body, key=key)
        if reply.status == 201:
            answered[key] = reply.json["id"]
        elif reply.status == 507:
            refused.append((key, body, reply))
            if len(refused) == 5:
                break
        else:
            other.append((reply.status, reply.body[:200]))
            break
    checks.ok(len(refused) == 5 and not other, "uploads are answered 507 once the disk is full",
              "%d answered 507, others: %s" % (len(refused), other))
    if refused:
        problem = refused[0][2].problem
        checks.ok("disk" in json.dumps(problem) or "room" in json.dumps(problem), "the answer says that the disk is full",
                  refused[0][2].body)
    checks.status(head.get("/v1/students/" + student), 200, "reads go on while the disk is full")
    checks.same(server.query("SELECT count(*) FROM swing")[0][0], len(answered) + 1, "nothing was stored for a 507")
    checks.status(head.get("/readyz"), 503, "/readyz: still not ready after writes were answered 507")
    os.unlink(os.path.join(where, "filler"))
    checks.status(head.get("/readyz"), 200, "/readyz: ready by itself when room was made")
    for key, body, _ in refused:
        reply = head.post(path, body, key=key)
        checks.status(reply, 201, "a resend after room was made is stored")
        if reply.status == 201:
            answered[key] = reply.json["id"]
    got = {row[0] for row in server.query("SELECT id FROM swing")}
    checks.ok(set(answered.values()) <= got and len(got) == len(answered) + 1, "every answered upload is there once",
              "%d answered, %d in the file" % (len(answered), len(got)))
    server.kill()
    server.start()
    checks.status(head_again(server, head).get("/v1/students/" + student), 200, "and it starts again after a kill")
    server.end()


def head_again(server, head):
    return server.client(head.token)


main()
