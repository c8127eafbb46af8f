"""Back up and restore: an older copy put in place brings back nobody who was erased since, no tablet, no session; and a
damaged page is neither served, nor copied, nor told sound. Over real HTTP and the program's own commands."""
import os
import re
import shutil
import sqlite3
import stat
import subprocess

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


def encrypted(checks, server, head):
    """A copy with a key: nothing of it can be read without, and it is taken back with that key alone, whole or not at all."""
    key, other, copy = (os.path.join(server.root, name) for name in ("a.key", "b.key", "sealed.db"))
    for path in (key, other):
        done = server.command("key", "--make", path)
        checks.same((done.returncode, os.stat(path).st_size, stat.S_IMODE(os.stat(path).st_mode)), (0, 32, 0o600), "a key is made")
    done = server.command("key", "--make", key)
    checks.ok(done.returncode == 1 and "already" in done.stderr, "and never replaced", done.stderr)
    checks.status(head.post("/v1/students", {"name": "Wilhelmina Sealed", "hand": "right"}), 201, "a student of a telling name")
    done = server.command("backup", "--data", server.data, "--to", copy, "--key=" + key)
    checks.ok(done.returncode == 0 and "encrypted" in done.stdout, "an encrypted backup while it runs", done.stderr)
    with open(copy, "rb") as file:
        whole = file.read()
    checks.ok(whole.startswith(b"leadside backup 1\n") and b"SQLite" not in whole and b"Wilhelmina" not in whole, "nothing in it can be read")
    checks.same(stat.S_IMODE(os.stat(copy).st_mode), 0o600, "it is its owner's alone")
    checks.same(sorted(name for name in os.listdir(server.data) if "copying" in name), [], "no plain copy is left")
    checks.same([name for name in os.listdir(server.root) if ".part" in name], [], "nor a part of one")

    def check(*more):
        return server.command("check", "--copy", copy, *more)

    checks.ok(check("--key", key).returncode == 0, "check finds it sound")
    for said, more in (("another key", ("--key", other)), ("--key", ()), ("is not there", ("--key", key + ".lost"))):
        done = check(*more)
        checks.ok(done.returncode == 1 and said in done.stderr, "with %s it says so" % (more or "no key",), done.stderr)
    os.chmod(key, 0o640)
    done = check("--key", key)
    checks.ok(done.returncode == 1 and "chmod 600" in done.stderr, "a key that others may read is refused", done.stderr)
    os.chmod(key, 0o600)
    for name, bad in (("cut short", whole[:-1]), ("cut at a piece", whole[:58 + 65553]), ("its head alone", whole[:58]), ("nothing", b""),
                      ("with more", whole + b"x"), ("one bit changed", whole[:70000] + bytes([whole[70000] ^ 1]) + whole[70001:])):
        with open(copy, "wb") as file:
            file.write(bad)
        done = server.command("restore", "--data", server.root + "/elsewhere", "--from", copy, "--key", key)
        checks.ok(done.returncode == 1 and copy in done.stderr and os.listdir(server.root + "/elsewhere") in ([], ["lock"], ["leadside.lock"]),
                  "%s: refused, and nothing is put in place" % name, (done.stderr, os.listdir(server.root + "/elsewhere")))
    with open(copy, "wb") as file:
        file.write(whole)
    arguments = ("restore", "--data", server.data, "--from", copy, "--key", key)
    done = server.command(*arguments, "--replace")
    checks.ok(done.returncode == 1 and "using" in done.stderr, "not while a server uses the folder", done.stderr)
    checks.status(head.post("/v1/students", {"name": "After The Copy", "hand": "right"}), 201, "something that is not in the copy")
    server.stop()
    done = server.command(*arguments)
    checks.ok(done.returncode == 1 and "--replace" in done.stderr, "a club's file is not replaced unasked", done.stderr)
    done = server.command(*arguments, "--replace")
    checks.ok(done.returncode == 0, "but when told to", done.stderr)
    checks.ok(not os.path.exists(server.data + "/leadside.db-wal"), "without the old one's log")
    server.start()
    checks.ok("restored copy" in server.log_tail(), "the start knows that it is a copy", server.log_tail())
    head = server.sign_in()
    names = [row["name"] for row in support.listed(head.get("/v1/students?limit=200"))]
    checks.ok("Wilhelmina Sealed" in names and "After The Copy" not in names, "what was copied is there, the rest is not", names)
    plain = os.path.join(server.root, "plain.db")
    server.command("backup", "--data", server.data, "--to", plain)
    checks.ok(server.command("check", "--copy", plain).returncode == 0, "a plain copy is checked without a key")
    done = server.command("check", "--copy", plain, "--key", key)
    checks.ok(done.returncode == 1 and "not encrypted" in done.stderr, "a key for a plain copy is a mistake", done.stderr)
    fresh = server.root + "/fresh"
    checks.ok(server.command("restore", "--data", fresh, "--from", plain).returncode == 0 and
              server.command("check", "--data", fresh).returncode == 0, "a plain copy becomes a club in a folder of its own")
    done = server.command("restore", "--data", fresh, "--from", plain, "--replace")
    checks.ok("erasures" in done.stdout, "where no ledger lies it is said that whoever was erased is back", done.stdout)
    port = "127.0.0.1:%d" % support.free_port()
    with open(fresh + ".err", "w") as err:
        alone = subprocess.Popen([server.program, "serve", "--data", fresh, "--listen", port], stdout=subprocess.PIPE, stderr=err, env=server.environment())
        alone.stdout.readline()
        alone.terminate()
        alone.communicate(timeout=30)
    with open(fresh + ".err") as err:
        said = err.read()
    checks.ok("no ledger" in said and "erased again" not in said, "and the start does not say that they were erased again", said)
    done = server.command("backup", "--data", server.root + "/nowhere", "--to", plain)
    checks.ok(done.returncode == 1 and "there is no club here" in done.stderr, "a wrong folder is called one", done.stderr)
    done = server.command("account", "password", "--data", server.data, "--sign-in", "forgotten", text="three plain words here\n")
    checks.ok(done.returncode == 1 and "signs in as " + support.HEAD["sign_in"] in done.stderr, "who forgot the name too is told the heads'", done.stderr)
    if os.geteuid() == 0:
        theirs = server.root + "/theirs"
        os.mkdir(theirs, 0o700)
        os.chown(theirs, 65534, 65534)
        done = server.command("restore", "--data", theirs, "--from", plain)
        owners = {name: os.stat(os.path.join(theirs, name)).st_uid for name in os.listdir(theirs)}
        checks.ok(done.returncode == 0 and set(owners.values()) == {65534}, "put there by root it belongs to whom the folder belongs", owners)


def main():
    checks = Checks("test_restore")
    server = Server(checks, options=["--no-throttle"])
    head = server.sign_in()
    head = restored(checks, server, head)
    refused_targets(checks, server)
    damaged(checks, server, head)
    encrypted(checks, server, server.sign_in())
    server.end()
    checks.finish()


main()
