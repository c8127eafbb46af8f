"""The daemon as the machine's administrator knows it: its log and a rotation of it, its file's permissions, few descriptors,
short memory, many requests of one caller behind a proxy, and request lines that a C string would hide a part of."""
import json
import os
import re
import resource
import shutil
import signal
import socket
import sqlite3
import stat
import subprocess
import tempfile
import threading
import time

import support
from support import Checks, Server


def lines_of(path):
    with open(path) as file:
        return [json.loads(line) for line in file if line.startswith("{")]


def wait_for(condition, seconds=5):
    until = time.monotonic() + seconds
    while not condition() and time.monotonic() < until:
        time.sleep(0.02)
    return condition()


# ---- the log ----

def rotation(checks):
    """Renaming the log and SIGHUP: later lines are in a new file, and requests go on meanwhile."""
    folder = tempfile.mkdtemp(prefix="leadside-log-")
    log, old = os.path.join(folder, "requests.log"), os.path.join(folder, "requests.log.1")
    server = Server(checks, options=["--no-throttle", "--log", log])
    head, answers, ending = server.sign_in(), [], threading.Event()

    def ask():
        client = server.client(head.token)
        while not ending.is_set():
            try:
                answers.append(client.get("/v1/me").status)
            except OSError as error:
                answers.append(repr(error))
                return
            time.sleep(0.002)

    asker = threading.Thread(target=ask)
    asker.start()
    wait_for(lambda: len(lines_of(log)) > 20)
    for turn in range(3):
        os.rename(log, old)
        server.process.send_signal(signal.SIGHUP)
        checks.ok(wait_for(lambda: os.path.exists(log)), "a new log is made after SIGHUP")
        before = os.path.getsize(old)
        checks.ok(wait_for(lambda: len(lines_of(log)) > 20), "later lines are in the new log")
        checks.same(os.path.getsize(old), before, "none goes to the old one any more")
    checks.same(stat.S_IMODE(os.stat(log).st_mode) & 0o007, 0, "the log is not for everybody")
    # a folder that is not there: the old log is written on
    os.rename(folder, folder + ".away")
    server.process.send_signal(signal.SIGHUP)
    time.sleep(0.3)
    os.rename(folder + ".away", folder)
    count = len(lines_of(log))
    checks.ok(wait_for(lambda: len(lines_of(log)) > count), "a log that can't be reopened is written on")
    checks.ok("can't reopen the log" in server.log_tail(), "and standard error says so", server.log_tail())
    ending.set()
    asker.join()
    checks.ok(len(answers) > 100 and set(answers) == {200}, "no request was broken by it", set(answers))
    server.end()
    shutil.rmtree(folder)


def quiet_hup(checks):
    """SIGHUP without a log file is no end either."""
    for options in ([], ["--log", "-"]):
        server = Server(checks, options=options)
        server.process.send_signal(signal.SIGHUP)
        time.sleep(0.2)
        checks.status(server.client().get("/healthz"), 200, "SIGHUP with %s ends nothing" % (options or "no log"))
        server.end()


def forensics(checks):
    """What a line tells: the network and never the address, the rule that refused, the account when it is known, no name."""
    log = tempfile.mktemp(prefix="leadside-log-")
    server = Server(checks, options=["--behind-proxy", "--log", log])
    head = server.sign_in()
    coach_id, coach = server.account(head, "coach", "Peregrine.Ashdown")
    start = len(lines_of(log)) if wait_for(lambda: lines_of(log)) else 0
    time.sleep(0.3)
    start = len(lines_of(log))
    from_v4, from_v6 = {"X-Forwarded-For": "198.51.100.77"}, {"X-Forwarded-For": "2001:db8:aaaa:bbbb::77"}
    mapped = {"X-Forwarded-For": "::ffff:198.51.100.77"}
    wrong = {"sign_in": "Peregrine.Ashdown", "password": "surely not this one"}
    nobody = {"sign_in": "Nobody.Of.That.Name", "password": "surely not this one"}
    anonymous = server.client()
    checks.status(anonymous.request("POST", "/v1/sign-in", wrong, headers=from_v4), 401, "a wrong password")
    checks.status(anonymous.request("POST", "/v1/sign-in", nobody, headers=from_v6), 401, "an unknown name")
    checks.status(coach.get("/v1/audit", headers=from_v6), 403, "a coach may not read the audit")
    checks.status(coach.get("/v1/students/" + "0" * 8 + "-0000-7000-8000-" + "0" * 12, headers=mapped), 404, "nor a stranger")
    checks.status(coach.get("/v1/me", headers=from_v4), 200, "but who he is")
    checks.status(anonymous.get("/v1/me"), 401, "and nobody without a token")
    wait_for(lambda: len(lines_of(log)) >= start + 6)
    told = [{name: line.get(name) for name in ("from", "route", "status", "problem", "account")} for line in lines_of(log)[start:]]
    v4, v6 = "198.51.100.0/24", "2001:db8:aaaa::/48"
    order = lambda line: json.dumps(line, sort_keys=True)  # two threads may swap two lines
    checks.same(sorted(told, key=order), sorted([
        {"from": v4, "route": "/v1/sign-in", "status": 401, "problem": "wrong-password", "account": coach_id},
        {"from": v6, "route": "/v1/sign-in", "status": 401, "problem": "wrong-password", "account": None},
        {"from": v6, "route": "/v1/audit", "status": 403, "problem": "not-allowed", "account": coach_id},
        {"from": v4, "route": "/v1/students/{id}", "status": 404, "problem": "not-found", "account": coach_id},
        {"from": v4, "route": "/v1/me", "status": 200, "problem": None, "account": None},
        {"from": "127.0.0.0/24", "route": "/v1/me", "status": 401, "problem": "not-signed-in", "account": None}], key=order),
        "each line tells network, rule and account")
    with open(log) as file:
        text = file.read()
    for secret in ("198.51.100.77", "bbbb", "Peregrine", "peregrine", "Nobody", coach.token, head.token, "surely"):
        checks.ok(secret not in text, "the log holds no %r" % secret[:20])
    server.end()
    os.unlink(log)


# ---- the file ----

def permissions(checks):
    """A file that others may read is made its owner's alone, and it is said."""
    server = Server(checks, start=False)
    path = os.path.join(server.data, "leadside.db")
    os.chmod(path, 0o644)
    server.start()
    checks.same(oct(stat.S_IMODE(os.stat(path).st_mode)), "0o600", "a file of mode 0644 is made 0600")
    server.sign_in()
    for suffix in ("-wal", "-shm"):
        checks.same(oct(stat.S_IMODE(os.stat(path + suffix).st_mode)), "0o600", "and so is its %s" % suffix)
    checks.ok("WARNING" in server.log_tail() and "could be read by others" in server.log_tail(), "a warning is written",
              server.log_tail())
    server.stop()
    open(server.log_path, "w").close()
    server.start()
    checks.ok("WARNING" not in server.log_tail(), "once", server.log_tail())
    server.end()


# ---- descriptors ----

class Few(Server):
    """A server that may have so many descriptors."""

    def __init__(self, checks, count, **more):
        self.count = count
        super().__init__(checks, start=False, **more)
        wrapper = os.path.join(self.root, "few")
        with open(wrapper, "w") as file:
            file.write('#!/bin/sh\nulimit -n %d\nexec "%s" "$@"\n' % (count, self.program))
        os.chmod(wrapper, 0o755)
        self.program = wrapper


def cpu_seconds(pid):
    with open("/proc/%d/stat" % pid) as file:
        fields = file.read().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def descriptors(checks):
    """64 descriptors and 150 callers: whoever is in is served, the others wait, and no core is spun."""
    server = Few(checks, 64, options=["--no-throttle", "--threads", "6"])
    server.start()
    checks.ok("leave room for" in server.log_tail(), "few descriptors are told at the start", server.log_tail())
    head = server.sign_in()
    checks.status(head.get("/v1/me"), 200, "somebody is in before the crowd comes")
    lines = []
    for _ in range(150):
        line = socket.socket()
        line.settimeout(5)
        line.connect(("127.0.0.1", server.port))
        lines.append(line)
    time.sleep(0.5)
    used, began = cpu_seconds(server.process.pid), time.monotonic()
    time.sleep(2)
    share = (cpu_seconds(server.process.pid) - used) / (time.monotonic() - began)
    print("        %d descriptors open, %.1f %% of a core" % (len(os.listdir("/proc/%d/fd" % server.process.pid)), 100 * share))
    checks.ok(share < 0.15, "no core is spun while the descriptors are used up", "%.0f %%" % (100 * share))
    checks.status(head.get("/v1/me"), 200, "whoever is in is served")
    checks.status(head.post("/v1/students", {"name": "Student", "hand": "left"}), 201, "and can write")
    for line in lines:
        line.close()
    checks.ok(wait_for(lambda: server.client().get("/v1/me").status == 401, 10), "later callers are served again")
    server.end()
    none = Few(checks, 20)
    try:
        none.start(5)
        checks.ok(False, "20 descriptors are refused")
    except RuntimeError as error:
        checks.ok("too few" in str(error), "20 descriptors are refused", error)
    shutil.rmtree(none.root)


# ---- memory ----

class Short(Server):
    """No piece of memory above 3 MiB is to be had, where the sanitizer gives it."""

    def environment(self):
        env = super().environment()
        env["ASAN_OPTIONS"] += ":allocator_may_return_null=1:max_allocation_size_mb=3"
        return env

    def sanitizer_reports(self):
        """Without the warnings of what was refused as it should be."""
        return [path for path in super().sanitizer_reports() if "ERROR" in open(path, errors="replace").read()]


def memory(checks):
    """A body that memory is short for is told 503 and Retry-After: 413 would be for good."""
    server = Short(checks, options=["--no-throttle"])
    head = server.sign_in()
    student = head.post("/v1/students", {"name": "Student", "hand": "right"}).json["id"]
    path, pid = "/v1/students/%s/swings" % student, server.process.pid
    large = json.dumps(support.document()).encode() + b" " * (7 << 20)
    short = support.sanitized(server)
    if not short:
        with open("/proc/%d/status" % pid) as file:
            held = int(re.search(r"VmData:\s+(\d+) kB", file.read()).group(1)) << 10
        resource.prlimit(pid, resource.RLIMIT_DATA, (held + (3 << 20), resource.RLIM_INFINITY))
    reply = server.client(head.token).post(path, large)
    checks.same((reply.status, reply.problem.get("type")), (503, "urn:leadside:problem:memory"), "short memory is 503")
    checks.ok(reply.header("Retry-After"), "with Retry-After")
    status, _, _ = support.raw(server.port, ("POST %s HTTP/1.1\r\nHost: localhost\r\nAuthorization: Bearer %s\r\n"
                                             "Idempotency-Key: k\r\nContent-Type: application/json\r\nContent-Length: %d\r\n\r\n"
                                             % (path, head.token, 9 << 20)).encode())
    checks.same(status, 413, "a body past the limit is still 413")
    checks.status(head.post(path, support.document()), 201, "a small one is taken meanwhile")
    if not short:
        resource.prlimit(pid, resource.RLIMIT_DATA, (resource.RLIM_INFINITY, resource.RLIM_INFINITY))
        checks.status(server.client(head.token).post(path, large), 201, "and the large one when there is memory again")
    server.end()


# ---- ready? ----

def readiness(checks):
    """/readyz has tried: while something else holds the file for itself nothing can be written, and it says so."""
    server = Server(checks, options=["--no-throttle"])
    watcher = server.client()
    holder = sqlite3.connect(os.path.join(server.data, "leadside.db"), isolation_level=None)
    holder.execute("BEGIN IMMEDIATE")
    checks.ok(wait_for(lambda: watcher.get("/readyz").status == 503, 20), "not ready while nothing can be written")
    checks.ok("written" in watcher.get("/readyz").problem.get("detail", ""), "and it says why")
    checks.status(watcher.get("/healthz"), 200, "the process is alive all the same")
    holder.execute("ROLLBACK")
    holder.close()
    checks.ok(wait_for(lambda: watcher.get("/readyz").status == 200, 20), "ready by itself afterwards")
    commits = lambda: int(re.search(r"^leadside_store_commits_total (\d+)", watcher.get("/metrics").body.decode(), re.M).group(1))
    before = commits()
    statuses = {watcher.get("/readyz").status for _ in range(500)}
    checks.ok(statuses == {200} and commits() - before <= 2, "asking often doesn't write often", (statuses, commits() - before))
    server.end()


# ---- behind a proxy ----

def half(server, address):
    """A request under way: its body never comes."""
    line = socket.create_connection(("127.0.0.1", server.port), timeout=5)
    line.sendall(("POST /v1/sign-in HTTP/1.1\r\nHost: localhost\r\nX-Forwarded-For: %s\r\nContent-Type: application/json\r\n"
                  "Content-Length: 40\r\n\r\n{" % address).encode())
    return line


def crowd(checks):
    """Behind a proxy one caller has so many requests under way and no more, whatever the connections they come over."""
    server = Server(checks, options=["--behind-proxy", "--per-client", "3", "--no-throttle"])

    def ask(address):
        return server.client().get("/healthz", headers={"X-Forwarded-For": address})

    for who, same, other in (("203.0.113.5", "203.0.113.5", "203.0.113.6"),
                             ("2001:db8:1:2::5", "2001:db8:1:2:ffff::9", "2001:db8:1:3::5")):
        lines = [half(server, who) for _ in range(3)]
        time.sleep(0.3)
        reply = ask(same)
        checks.same((reply.status, reply.problem.get("type")), (429, "urn:leadside:problem:too-many-at-once"),
                    "%s: a fourth at the same time is refused" % who)
        checks.ok(reply.header("Retry-After") and reply.header("Connection") == "close", "and told when to come again")
        checks.status(ask(other), 200, "%s is somebody else" % other)
        for line in lines:
            line.close()
        checks.ok(wait_for(lambda: ask(same).status == 200), "%s: served when the others are over" % who)
    statuses = {ask("203.0.113.5").status for _ in range(50)}
    checks.same(statuses, {200}, "one after another there is no limit")
    server.end()


# ---- what a C string hides ----

def hidden(checks):
    server = Server(checks)
    sound = b"GET /healthz HTTP/1.1\r\nHost: localhost\r\n"
    for name, data in (
            ("in a header's value", sound + b"X-A: a\0b\r\n\r\n"), ("at a value's end", sound + b"X-A: a\0\r\n\r\n"),
            ("at the last value's end", sound + b"X-A: a\r\nX-B: b\0\r\n\r\n"),
            ("in the first value", b"GET /healthz HTTP/1.1\r\nHost: localhost\0evil\r\nX-A: a\r\n\r\n"),
            ("at a line's beginning", sound + b"\0X-A: a\r\nX-B: b\r\n\r\n"), ("in a name", sound + b"X\0A: a\r\n\r\n"),
            ("in an empty value", sound + b"X-A:\0\r\nX-B: b\r\n\r\n"),
            ("before the colon", sound + b"X-A\0: a\r\nX-B: b\r\n\r\n"),
            ("in the path", b"GET /healthz\0/../x HTTP/1.1\r\nHost: localhost\r\n\r\n"),
            ("at the path's end", b"GET /healthz\0 HTTP/1.1\r\nHost: localhost\r\n\r\n"),
            ("in the query", b"GET /healthz?\0a HTTP/1.1\r\nHost: localhost\r\n\r\n"),
            ("in the version", b"GET /healthz HTTP/1.1\0\r\nHost: localhost\r\n\r\n"),
            ("in the method", b"GET\0 /healthz HTTP/1.1\r\nHost: localhost\r\n\r\n")):
        status, answer, _ = support.raw(server.port, data, timeout=3)
        checks.ok(status in (400, 405, 501) or (status is None and not answer), "a NUL %s is refused" % name, (status, answer[:80]))
    status, _, _ = support.raw(server.port, sound + b"X-A: a\r\n b\r\n\r\n", timeout=3)
    checks.same(status, 400, "a folded line is refused")
    for name, data in (("spaces about a value", sound + b"X-A:  \t a \t \r\nX-B:b\r\n\r\n"),
                       ("an empty value", sound + b"X-A:\r\nX-B: \r\n\r\n"), ("bare line feeds", sound.replace(b"\r", b"") + b"\n"),
                       ("a query", b"GET /v1/students?limit=3 HTTP/1.1\r\nHost: localhost\r\n\r\n"),
                       ("60 long headers", sound + b"".join(b"X-%d: %s\r\n" % (i, b"v" * 200) for i in range(60)) + b"\r\n")):
        status, answer, _ = support.raw(server.port, data, timeout=3)
        checks.ok(status in (200, 401), "%s: taken" % name, (status, answer[:200]))
    pieces = [(0.02, bytes([byte])) for byte in sound + b"X-A: a\r\n\r\n"]
    status, _, _ = support.raw(server.port, b"", timeout=3, pieces=pieces)
    checks.same(status, 200, "one byte at a time: taken")
    server.end()


# ---- the service manager ----

HELD = """#include <unistd.h>
#include <stdlib.h>
#include <sys/syscall.h>
static void hold(void) { while (getenv("HOLD") && access(getenv("HOLD"), F_OK) == 0) usleep(10000); }
int fdatasync(int file) { hold(); return (int)syscall(SYS_fdatasync, file); }
int fsync(int file) { hold(); return (int)syscall(SYS_fsync, file); }
"""


class Managed(Server):
    """Started as by a service manager that listens and wants a sign of life each `watchdog` seconds; while the file `hold`
    is there no flush to the disk comes back."""

    def __init__(self, checks, library=None, abstract=False, process=None, watchdog=0.4):
        self.told = socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM)
        self.folder = tempfile.mkdtemp(prefix="leadside-notify-")
        self.name = ("\0leadside-test-%d" % os.getpid()) if abstract else os.path.join(self.folder, "notify")
        self.told.bind(self.name)
        self.library, self.watched, self.watchdog = library, process, watchdog
        self.hold = os.path.join(self.folder, "hold")
        super().__init__(checks, options=["--no-throttle"])

    def environment(self):
        env = super().environment()
        env.update(NOTIFY_SOCKET=self.name.replace("\0", "@"), WATCHDOG_USEC="%d" % (self.watchdog * 1e6), HOLD=self.hold)
        if self.watched:
            env["WATCHDOG_PID"] = str(self.watched)
        if self.library:
            env["LD_PRELOAD"] = self.library
            env["ASAN_OPTIONS"] += ":verify_asan_link_order=0"
        return env

    def heard(self, seconds):
        """Everything told within so many seconds."""
        until, got = time.monotonic() + seconds, []
        while time.monotonic() < until:
            self.told.settimeout(max(until - time.monotonic(), 0.001))
            try:
                got.append(self.told.recv(4096).decode())
            except socket.timeout:
                break
        return got

    def end(self):
        super().end()
        self.told.close()
        shutil.rmtree(self.folder)


def managed(checks):
    """READY=1 when requests are answered, a sign of life every half of the time given, STOPPING=1 at the end."""
    began = time.monotonic()
    server = Managed(checks, abstract=True)
    got = server.heard(1.5)
    most = (time.monotonic() - began) / 0.2
    checks.ok(got and got[0] == "READY=1\nSTATUS=ready on http://127.0.0.1:%d" % server.port, "the first thing told is that it is ready", got[:2])
    checks.ok(set(got[1:]) == {"WATCHDOG=1"} and 4 <= len(got) - 1 <= most, "signs of life follow, each 0.2 s", got)
    for _ in range(40):
        server.process.send_signal(signal.SIGHUP)
        time.sleep(0.01)
    checks.ok("WATCHDOG=1" in server.heard(0.5), "SIGHUP doesn't put them off")
    server.stop()
    checks.same([text for text in server.heard(0.3) if text != "WATCHDOG=1"], ["STOPPING=1"], "the last is that it stops")
    server.end()
    other = Managed(checks, process=1)
    checks.same([text[:7] for text in other.heard(0.7)], ["READY=1"], "no sign of life when another process is meant")
    other.end()


def stuck(checks):
    """Writes that wait and don't come to an end stop the signs of life, so that the manager may start it anew."""
    with tempfile.TemporaryDirectory(prefix="leadside-hold-") as folder:
        library = os.path.join(folder, "hold.so")
        subprocess.run(["cc", "-shared", "-fPIC", "-x", "c", "-", "-o", library], input=HELD, text=True, check=True)
        server = Managed(checks, library)
        head = server.sign_in()
        open(server.hold, "w").close()
        writers = [threading.Thread(target=lambda: server.client(head.token, timeout=60).post("/v1/students", {"name": "Student", "hand": "left"}))
                   for _ in range(4)]
        for writer in writers:
            writer.start()
            time.sleep(0.05)  # not all in one commit
        wait_for(lambda: not server.heard(0.5), 20)
        checks.same(server.heard(1), [], "no sign of life while writes wait for a disk that doesn't answer")
        checks.status(server.client().get("/healthz"), 200, "though the process answers")
        os.unlink(server.hold)
        for writer in writers:
            writer.join()
        checks.ok("WATCHDOG=1" in server.heard(1), "again when they went through")
        server.end()


def main():
    checks = Checks("test_service")
    for part in (rotation, quiet_hup, forensics, permissions, descriptors, memory, readiness, managed, stuck, crowd, hidden):
        part(checks)
    checks.finish()


main()
