"""The power goes, 200 times (or the first number given). The club lies on ext4 in a file; six clients do deeds (tests/api/deeds.py) and two
upload swings; at a random moment, or in the midst of a flush of which some pages are written and others not, the server is stopped
and what is on the disk is copied: what only the kernel held is lost. The copy is mounted, whereby its journal is replayed, and the
server started on it (every third time the power goes once more in a flush of that start): every answered write must be there, whole and once, with its picture to the byte; what was not answered whole or
not at all; `leadside check` clean; nobody signed out.

Before that: what commands (init, backup, restore, key) said that they did is there when the power goes as they end.

Then 20 cuts (or the second number) of a disk that says it flushed and did not, where answered writes MUST be lost: else the first part
proves nothing. Not part of tests/run. As root, with loop devices; skipped otherwise.

    LEADSIDE_BUILD=DIR /usr/bin/python3 tests/long/power_cut.py [CUTS] [CONTROLS]

It models lost cached writes and half-done flushes, not a disk that breaks its word or tears a sector."""
import os
import random
import shutil
import subprocess
import sys
import tempfile
import time

from disk import Server, Volume, disk_library, support  # first: it makes tests/api known
from deeds import Club, Life, Told


class PicturesToo(Told):
    """Beside the file: pictures are asked for over HTTP."""

    def deed(self, server, deed, reply):
        super().deed(server, deed, reply)
        if deed.kind == "a still" and reply is not None:
            seen = self.club.head.get(deed.path)
            if seen.status != 200 or seen.body != support.png(64, 48):
                self.wrong.append("a picture: %d, %d bytes" % (seen.status, len(seen.body)))


def cut(server, club, volume, number, students):
    """One life on the volume, and the image that the cut leaves."""
    flush = server.habits.get("DISK_STOP")
    life = Life(club, number, students, lambda: arm(flush, 40))
    within, image = off(server, volume)
    life.over()
    return life, image, within


def arm(flush, most):
    if flush:
        with open(flush + ".new", "w") as file:
            file.write("%d\n" % random.randrange(1, most))
        os.rename(flush + ".new", flush)


def off(server, volume):
    """Now, or when the flush comes: (did it?, what is left)."""
    flush = server.habits.get("DISK_STOP")
    until = time.monotonic() + 2
    while flush and time.monotonic() < until and not server.stopped():
        time.sleep(.001)
    within = server.stopped()
    server.freeze()
    image = volume.keep(volume.contents())
    server.kill()
    if flush:
        os.unlink(flush)
    return within, image


def cut_start(server, volume):
    """The power goes again while the server starts, in one of its first flushes."""
    server.habits = {"DISK_STOP": os.path.join(volume.folder, "stop")}
    arm(server.habits["DISK_STOP"], 6)
    server.launch()
    within, image = off(server, volume)
    volume.become(image)
    return within


def cuts(checks, server, volume, rounds):
    club = Club(server)
    students = [club.student("Uploading %d" % n) for n in range(2)]
    told, sound, within, starts, seconds = PicturesToo(club), 0, 0, 0, time.monotonic()
    for number in range(rounds):
        life, image, amid = cut(server, club, volume, number, students)
        within += amid
        volume.become(image)
        if number % 3 == 0:
            starts += cut_start(server, volume)
        server.habits = {"DISK_STOP": os.path.join(volume.folder, "stop")} if number % 2 == 0 else {}
        server.start()
        club.moved_to(server.port)
        before = len(told.wrong)
        told.after(life)
        clean, output = server.check_file()
        sound += clean
        told.wrong += [] if clean else ["check: " + output]
        told.wrong[before:] = ["cut %d: %s" % (number, text) for text in told.wrong[before:]]
        if len(told.wrong) > 10:
            break
    print("%d cuts in %.0f s, %d in the midst of a flush, and %d more in a flush of a start: %d answered and there; unanswered %d on disk and %d not" % (
        number + 1, time.monotonic() - seconds, within, starts, told.answered, told.there, told.lost))
    checks.ok(not told.wrong, "every answered write was there, whole and once, after each cut", "; ".join(map(str, told.wrong[:6])))
    checks.same(sound, rounds, "leadside check was clean after each cut")
    checks.ok(told.lost > 0 and told.there > 0 and 0 < within < rounds, "cuts came before and after a commit that was never answered, within and beside a flush",
              (told.lost, told.there, within))
    checks.ok(told.whole(students), "the file holds one swing, with its report, for each upload of all lives and no other", len(told.uploads))
    server.end()


def lost(volume):
    """The power goes now."""
    volume.become(volume.keep(volume.contents()))


def commands(checks, server, volume, rounds):
    """What a command says that it did is there when the power goes as it ends; a restore that is cut off leaves the one club or the other."""
    copy, sealed, key = (os.path.join(volume.where, name) for name in ("copy.db", "sealed.db", "backup.key"))

    def done(label, *arguments, text=None):
        ended = server.command(*arguments, text=text)
        lost(volume)
        checks.ok(ended.returncode == 0, label, ended.stderr)

    def names():
        server.habits = {}
        server.start()
        found = {student["name"] for student in server.sign_in().get("/v1/students").json["students"]}
        server.stop()
        return found
    lost(volume)
    sound, output = server.check_file()
    checks.ok(sound, "a club that was made is there", output)
    server.start()
    student = server.sign_in().post("/v1/students", {"name": "Of the copy", "hand": "right"}).json["id"]
    server.kill()
    with open(server.data + "/leadside.key", "rb") as file:
        secret = file.read()
    lost(volume)
    with open(server.data + "/leadside.key", "rb") as file:
        checks.ok(len(secret) == 32 and file.read() == secret, "so is the server's key")
    done("a copy is made", "backup", "--data", server.data, "--to", copy)
    checks.same(server.command("check", "--copy", copy).returncode, 0, "and is there, sound")
    done("a key is made", "key", "--make", key)
    done("and a copy sealed with it", "backup", "--data", server.data, "--to", sealed, "--key", key)
    checks.same(server.command("check", "--copy", sealed, "--key", key).returncode, 0, "which is there, and opens")
    server.start()
    server.sign_in().patch("/v1/students/" + student, {"name": "Of the club"}, match='"1"')
    server.stop()
    server.start()
    server.sign_in().post("/v1/students", {"name": "Of its log", "hand": "right"})
    server.kill()  # what was last written is in the log alone
    lost(volume)
    kept = volume.keep(volume.contents())
    done("the copy is taken back", "restore", "--data", server.data, "--from", copy, "--replace")
    checks.same(names(), {"Of the copy"}, "and is the club from there on")
    states = set()
    for number in range(1, rounds + 1):
        with open(kept, "rb") as file:
            volume.become(volume.keep(file.read()))
        stop = os.path.join(volume.folder, "stop")
        with open(stop, "w") as file:
            file.write("%d\n" % number)
        server.habits = {"DISK_STOP": stop}
        server.process = subprocess.Popen([server.program, "restore", "--data", server.data, "--from", copy, "--replace"], env=server.environment(),
                                          stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        while server.process.poll() is None and not server.stopped():
            time.sleep(.001)
        cut_off = server.process.poll() is None
        lost_image = volume.keep(volume.contents())
        if cut_off:
            server.kill()
        os.unlink(stop)
        volume.become(lost_image)
        states.add((cut_off, frozenset(names())))
    os.unlink(kept)
    print("a restore cut off in its flushes, or not: %s" % sorted((cut_off, sorted(found)) for cut_off, found in states))
    whole, back = frozenset({"Of the club", "Of its log"}), frozenset({"Of the copy"})
    checks.ok(all(found in (whole, back) for _, found in states) and (True, whole) in states and (False, back) in states,
              "a restore that is cut off leaves the club as it was or as it is to be", states)


def control(checks, server, volume, rounds):
    """The same with flushes dropped, each cut from the same sound club."""
    club = Club(server)
    students = [club.student("Uploading %d" % n) for n in range(2)]
    server.stop()
    volume.leave()  # all of it is on the disk now
    sound = volume.contents()
    lost = broken = answered = 0
    for number in range(rounds):
        volume.become(volume.keep(sound))
        server.habits = {"DISK_DROP": "1"}
        server.start()
        club.moved_to(server.port)
        life, image, _ = cut(server, club, volume, number, students)
        volume.become(image)
        server.habits = {}
        keys = [key for uploader in life.uploaders for key in uploader.answered]
        answered += len(keys)
        try:
            server.start()
            there = server.query("SELECT count(*) FROM idempotency WHERE key IN (%s)" % ",".join("?" * len(keys)), *keys)[0][0]
            lost += len(keys) - there
            server.kill()
        except Exception:  # pylint: disable=broad-except
            broken += 1
            if server.process.poll() is None:
                server.kill()
    print("%d cuts of a disk that does not flush: %d uploads answered, %d lost; %d times the club did not open" % (rounds, answered, lost, broken))
    checks.ok(lost + broken > 0, "the control: a disk that does not flush loses what was answered", (answered, lost, broken))


def main():
    numbers = [int(argument) for argument in sys.argv[1:] if argument.isdigit()]
    checks = support.Checks("power_cut")
    random.seed(20261128)
    with disk_library() as library:
        for part, rounds in ((commands, 10), (cuts, (numbers + [200])[0]), (control, (numbers[1:] + [20])[0])):
            play(checks, library, part, rounds)
    checks.finish()


def play(checks, library, part, rounds):
    with tempfile.TemporaryDirectory(prefix="leadside-power-", dir="/dev/shm" if os.access("/dev/shm", os.W_OK) else None) as folder:
        volume = Volume(folder)
        why = volume.make()
        if why:
            checks.skip(part.__name__, why)
            return
        server = Server(checks, library, options=["--no-throttle"], data=os.path.join(volume.where, "data"), start=part is not commands)
        try:
            part(checks, server, volume, rounds)
        finally:
            if server.process is not None and server.process.poll() is None:
                server.kill()
            shutil.rmtree(server.root, ignore_errors=True)
            volume.leave()


main()
