#!/usr/bin/python3
"""The commands, and the start of the server, while the n-th call under them fails: memory, writes, syncs, sizes, openings, readings.
A command that meets it says so and ends with another number than 0, or it is done and what it made is whole; the club is as it
was, and `leadside check` finds it sound. n goes 1, 2, 3 ... and then in steps of a third, until the command no longer meets it.

    commands.py            the copy alone, when the disk is full (tests/run); --full: every command and way of failing; --only=NAME,... --kinds=N,..."""
import os
import shutil
import sys
import time

from armed import KINDS, Armed, fault_library
from support import HEAD, Checks

PATIENCE = 60
FOLDED = 2.6  # seconds


class Short(Armed):
    """What a command holds when it ends is no leak; the C library loses a few bytes where a locale can't be made."""

    def environment(self):
        env = super().environment()
        env["ASAN_OPTIONS"] = env["ASAN_OPTIONS"].replace("detect_leaks=1", "detect_leaks=0")
        return env


class Commands:
    def __init__(self, checks, library):
        self.checks, self.injected, self.done, self.refused = checks, 0, 0, 0
        self.server = Short(checks, library)
        head = self.server.sign_in()
        for n in range(3):
            head.post("/v1/students", {"name": "Student %d" % n, "hand": "right"})
        checks.same(self.server.stop(), 0, "the server ends with 0")
        self.sound = self.server.dump(("running", "session", "ledger"))
        self.copy = os.path.join(self.server.root, "good-copy")
        checks.same(self.server.command("backup", "--data", self.server.data, "--to", self.copy).returncode, 0, "a copy is made")
        self.kept = self.server.keep()

    def put_back(self):
        shutil.rmtree(self.server.data, ignore_errors=True)
        shutil.copytree(self.kept, self.server.data)

    def walk(self, name, kind, arguments, text=None, proof=None, fresh=None):
        """proof: what must hold after it ended with 0; fresh: before each turn."""
        n, wrong = 0, []
        while not wrong:
            n = n + 1 if n < 30 else n * 4 // 3
            (fresh or (lambda: None))()
            self.server.arm(kind, n)
            began = time.monotonic()
            done = self.server.command(*arguments, text=text, timeout=PATIENCE)
            fired = self.server.disarm()
            place = self.server.place(6)
            if not fired:
                if done.returncode != 0:
                    wrong.append("no longer works: %d %s" % (done.returncode, done.stderr[-300:]))
                break
            self.injected += 1
            self.done += done.returncode == 0
            self.refused += done.returncode != 0
            reports = self.server.reported()
            if (done.returncode < 0 or reports) and reports != ["own"]:
                wrong.append("died: %d %s" % (done.returncode, reports))
            if done.returncode > 0 and not (done.stdout + done.stderr).strip():
                wrong.append("ended with %d and said nothing" % done.returncode)
            if done.returncode == 0 and proof and not proof():
                wrong.append("ended with 0, and is not done")
            if time.monotonic() - began > PATIENCE / 2:
                wrong.append("took %.0f s" % (time.monotonic() - began))
            if wrong:
                self.checks.ok(False, "%s, %s, call %d" % (name, kind.name, n), "%s\n        at %s" % (wrong, place))
        sound, output = self.server.check_file()
        self.checks.ok(sound, "%s, %s: %d calls, and the club is sound" % (name, kind.name, n), output)

    def is_club(self):
        return self.server.dump(("running", "session", "ledger")) == self.sound

    def proved(self, path):
        return self.server.command("check", "--copy", path).returncode == 0

    def backup(self, kind):
        to = os.path.join(self.server.root, "copy")
        self.walk("backup", kind, ["backup", "--data", self.server.data, "--to", to], proof=lambda: self.proved(to))
        self.checks.ok(self.proved(to) and self.is_club(), "backup, %s: in the end there is a copy, and the club is what it was" % kind.name)
        left = [name for name in os.listdir(self.server.data) + os.listdir(self.server.root) if "copying" in name or name.endswith(".part")]
        self.checks.ok(not left, "backup, %s: nothing is left lying about" % kind.name, left)

    def restore(self, kind):
        self.walk("restore", kind, ["restore", "--data", self.server.data, "--from", self.copy, "--replace"], proof=self.is_club)
        self.checks.ok(self.is_club(), "restore, %s: the club is what it was" % kind.name)
        self.put_back()

    def check(self, kind):
        self.walk("check", kind, ["check", "--data", self.server.data])
        self.checks.ok(self.is_club(), "check, %s: the club is what it was" % kind.name)
        self.put_back()

    def password(self, kind):
        self.walk("account password", kind, ["account", "password", "--data", self.server.data, "--sign-in", HEAD["sign_in"]], text="another quiet morning\n" * 2, fresh=self.put_back)
        self.put_back()

    def init(self, kind):
        folder = os.path.join(self.server.root, "fresh")
        words = HEAD["password"] + "\n" + HEAD["password"] + "\n"
        self.walk("init", kind, ["init", "--data", folder, "--club", "Larkfield Heath", "--name", "Head", "--sign-in", "head"], text=words,
                  proof=lambda: self.server.command("check", "--data", folder).returncode == 0, fresh=lambda: shutil.rmtree(folder, ignore_errors=True))
        shutil.rmtree(folder, ignore_errors=True)

    def fold(self, kind):
        """While the server folds its log back into the file, two seconds after the last write."""
        self.server.start()
        head, wrong, stored, fired, n = self.server.sign_in(), [], 3, 1, 0
        while fired and n < 12:
            n += 1
            wrong += [reply.status for reply in [head.post("/v1/students", {"name": "Folded", "hand": "right"})] if reply.status != 201]
            stored += 1
            self.server.arm(kind, n)
            time.sleep(FOLDED)
            fired = self.server.disarm()
            self.injected += bool(fired)
            if n % 3 == 0:
                self.server.kill()
                self.server.start()
                head = self.server.client(head.token)
        self.checks.same((wrong, self.server.query("SELECT count(*) FROM student")[0][0]), ([], stored), "fold, %s: %d calls, all that was answered is there" % (kind.name, n))
        self.checks.same(self.server.stop(), 0, "fold, %s: the server ends with 0" % kind.name)
        sound, output = self.server.check_file()
        self.checks.ok(sound, "fold, %s: the club is sound" % kind.name, output)
        self.put_back()

    def start(self, kind):
        """It is ready, or says why not and ends with another number than 0."""
        n, wrong = 0, []
        while not wrong:
            n = n + 1 if n < 20 else n * 3 // 2
            self.server.arm(kind, n)
            try:
                self.server.start()
                fired, status = self.server.disarm(), self.server.stop()
                self.done += bool(fired)
                wrong += [] if status == 0 else ["ended with %s" % status]
            except RuntimeError as error:
                fired = self.server.disarm()
                self.refused += 1
                if self.server.process.poll() is None:
                    self.server.kill()
                    wrong.append("neither ready nor ended")
                if self.server.process.returncode <= 0 or len(str(error).split(": ", 1)[-1].strip()) < 10:
                    wrong.append(str(error)[:400])
            reports = self.server.reported()
            wrong = [] if reports == ["own"] else wrong + reports
            if wrong:
                self.checks.ok(False, "start, %s, call %d" % (kind.name, n), "%s\n        at %s" % (wrong, self.server.place(8)))
            if not fired:
                break
            self.injected += 1
        sound, output = self.server.check_file()
        self.checks.ok(sound, "start, %s: %d calls, and the club is sound" % (kind.name, n), output)
        self.put_back()


def main():
    checks = Checks("commands")
    full, few = "--full" in sys.argv, next(([int(one) for one in arg[8:].split(",")] for arg in sys.argv if arg.startswith("--kinds=")), range(len(KINDS)))
    only = next((arg[7:].split(",") for arg in sys.argv if arg.startswith("--only=")), None)
    with fault_library() as library:
        commands = Commands(checks, library)
        for name in ("backup", "restore", "check", "password", "init", "start", "fold") if full else ("backup",):
            for kind in [KINDS[at] for at in few] if full else KINDS[5:6]:
                if only is None or name in only:
                    getattr(commands, name)(kind)
        print("injected %d, done all the same %d, refused %d" % (commands.injected, commands.done, commands.refused))
        shutil.rmtree(commands.kept)
        shutil.rmtree(commands.server.root)
    checks.finish()


if __name__ == "__main__":
    main()
