"""Back up and restore: an older copy put in place brings back nobody who was erased since, no tablet, no session; and a
damaged page is neither served, nor copied, nor told sound. Over real HTTP and the program's own commands."""
import os
import re
import shutil
import sqlite3
import stat

import support
from support import Checks, Server


def put_back(server, copy):
    """As docs/operations.md says."""
    place = os.path.join(server.data, "leadside.db")
    shutil.copyfile(copy, place)
    for end in ("-wal", "-shm"):
        if os.path.exists(place + end):
            os.unlink(place + end)


def restored(checks, server, head):
    copy = os.path.join(server.root, "copy.db")
    erased = head.post("/v1/students", {"name": "Erased Person", "hand": "right"}).json["id"]
    kept = head.post("/v1/students", {"name": "Kept Person", "hand": "left"}).json["id"]
    checks.status(head.post("/v1/students/%s/swings" % erased, support.document()), 201, "a swing of one who will go")
    tablet = head.post("/v1/devices", {"name": "Bay 1"})
    checks.status(tablet, 201, "a tablet")
    done = server.command("backup", "--data", server.data, "--to", copy)
    checks.ok(done.returncode == 0, "a backup while it runs", done.stderr)
    checks.status(head.delete("/v1/students/" + erased), 204, "the student is erased")
    ledger = os.path.join(server.data, "erasures")
    with open(ledger) as lines:
        text = lines.read()
    checks.ok("student %s " % erased in text, "the ledger tells it when the answer comes", text)
    checks.ok("Person" not in text, "and names nobody", text)
    checks.same(stat.S_IMODE(os.stat(ledger).st_mode), 0o600, "it is for its owner alone")
    device = tablet.json["id"]
    checks.status(head.patch("/v1/devices/" + device, {"revoked": True}, match='"1"'), 200, "the tablet is revoked")
    server.stop()
    put_back(server, copy)
    sound, output = server.check_file()
    checks.ok(not sound and erased in output and device in output, "check tells what the copy brought back", output)
    server.start()
    checks.ok("restored copy" in server.log_tail(), "the start says so", server.log_tail())
    checks.status(server.client(head.token).get("/v1/me"), 401, "who was signed in when the copy was made is not any more")
    head = server.sign_in()
    checks.status(head.get("/v1/students/" + erased), 404, "the erased student is not back")
    checks.status(head.get("/v1/students/" + kept), 200, "the other is")
    rows = {row["id"]: row for row in support.listed(head.get("/v1/devices"))}
    checks.ok(rows[device]["revoked"] is not None and rows[device]["revoked"] is not False, "nor is the tablet", rows[device])
    actions = [row[0] for row in server.query("SELECT action FROM audit WHERE detail IS NOT NULL ORDER BY id DESC LIMIT 9")]
    checks.ok({"club.restore", "student.erase", "device.revoke"} <= set(actions), "the audit tells all of it", actions)
    sound, output = server.check_file()
    checks.ok(sound, "and check finds it sound", output)
    server.stop()
    with open(os.path.join(server.data, "leadside.db"), "rb") as file:
        checks.ok(b"Erased Person" not in file.read(), "no byte of the name is in the file")
    server.start()
    checks.status(server.client(head.token).get("/v1/me"), 200, "the next start ends nothing")
    return server.client(head.token)


def refused_targets(checks, server):
    for name, make in (("a pipe", os.mkfifo), ("a directory", os.mkdir),
                       ("a link", lambda path: os.symlink(server.root + "/elsewhere", path))):
        path = os.path.join(server.root, "to")
        make(path)
        before = os.lstat(path)
        done = server.command("backup", "--data", server.data, "--to", path)
        after = os.lstat(path)
        checks.ok(done.returncode == 1 and "ordinary" in done.stderr and before.st_ino == after.st_ino,
                  "a backup doesn't replace " + name, done.stderr)
        os.rmdir(path) if stat.S_ISDIR(after.st_mode) else os.unlink(path)
    done = server.command("backup", "--data", server.data, "--to", "/dev/null")
    checks.ok(done.returncode == 1 and stat.S_ISCHR(os.lstat("/dev/null").st_mode), "nor a device", done.stderr)


def damaged(checks, server, head):
    """One letter of a stored report changes on the disk."""
    student = head.post("/v1/students", {"name": "Student", "hand": "right"}).json["id"]
    swing = head.post("/v1/students/%s/swings" % student, support.document()).json["id"]
    checks.status(head.get("/v1/swings/%s/report" % swing), 200, "a swing and its report")
    server.stop()  # which folds the log into the file
    path = os.path.join(server.data, "leadside.db")
    database = sqlite3.connect("file:%s?mode=ro" % path, uri=True)
    text = database.execute("SELECT packed FROM report WHERE swing_id = ?", (swing,)).fetchone()[0]
    database.close()
    with open(path, "r+b") as file:
        whole = file.read()
        # the kept answer for the request's key holds it as well, elsewhere; a page's boundary may cut one of the places
        places = sorted({found.start() + 100 for n in (100, 400)
                         for found in re.finditer(re.escape(text[n:n + 200]), whole)})
        checks.ok(places, "the report lies in the file")
        for at in places:
            file.seek(at)
            file.write(b"\x00")
    server.start()
    head = server.client(head.token)
    reply = head.get("/v1/swings/%s/report" % swing)
    checks.status(reply, 500, "what was not written is not served")
    checks.ok(reply.problem.get("type", "").endswith("store") or "corrupt" in str(reply.problem), "and the answer says why", reply.body)
    checks.ok("is damaged" in server.log_tail(), "the log says which page", server.log_tail())
    checks.status(head.get("/readyz"), 503, "who watches the server is told")
    checks.status(head.get("/v1/students/" + student), 200, "the rest goes on")
    metrics = head.get("/metrics").body.decode()
    checks.ok("leadside_store_damaged_pages_total 0" not in metrics and "leadside_store_damaged_pages_total" in metrics,
              "it is among the figures", metrics[-600:])
    sound, output = server.check_file()
    checks.ok(not sound and "damaged" in output, "check tells of it", output)
    copy = os.path.join(server.root, "bad.db")
    done = server.command("backup", "--data", server.data, "--to", copy)
    checks.ok(done.returncode == 1 and not os.path.exists(copy), "and no copy is made of it", done.stderr)
    server.stop()
    with open(path, "r+b") as file:
        for at in places:
            file.seek(at)
            file.write(whole[at:at + 1])
    server.start()
    checks.status(server.client(head.token).get("/v1/swings/%s/report" % swing), 200, "mended, it is served again")


def main():
    checks = Checks("test_restore")
    server = Server(checks, options=["--no-throttle"])
    head = server.sign_in()
    head = restored(checks, server, head)
    refused_targets(checks, server)
    damaged(checks, server, head)
    server.end()
    checks.finish()


main()
