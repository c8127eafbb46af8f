"""A club whose socket a service manager holds: started by who comes first, gone when nobody has been there for a while, and nobody
notices; nothing that was acknowledged is lost over it, and nothing under way ends by it."""
import http.client
import os
import signal
import shutil
import socket
import sqlite3
import tempfile
import time

from activate import Activated
from support import Checks, Server, document

IDLE = ["--no-throttle", "--idle-exit", "1"]


def over(checks, server):
    """The manager's end of a part, which leaves the club for the next."""
    checks.same((server.stop(), server.sanitizer_reports()), (0, []), "it ends with 0, and no sanitizer has a word to say")
    shutil.rmtree(server.root)


def woken(checks, data):
    """The first who comes is answered, by a server that ends by itself and is there again for the next."""
    server = Activated(checks, options=IDLE, data=data, init=False)
    checks.same(server.runs, 0, "nothing runs before somebody comes")
    status, seconds = server.ask("/readyz")
    checks.same(status, 200, "who comes first is answered, after %.0f ms" % (seconds * 1000))
    checks.ok("ready on http://127.0.0.1:%d" % server.port in server.log_tail(), "it says where it listens", server.log_tail())
    with open("/proc/%d/environ" % server.pid, "rb") as file:
        checks.ok(b"LISTEN_FDS=1" in file.read(), "the socket came by LISTEN_FDS")
    head = server.sign_in()
    student = head.post("/v1/students", {"name": "Student", "hand": "right"}).json["id"]
    sent = head.post("/v1/students/%s/swings" % student, document())
    checks.status(sent, 201, "a swing is stored")
    head.close()
    began = time.monotonic()
    checks.ok(server.wait_asleep(10), "it ends when nobody is connected")
    took = time.monotonic() - began
    checks.ok(.8 < took < 3, "after the time that was asked for", "%.2f s" % took)
    checks.same(server.statuses, [0], "with 0")
    checks.ok(not os.path.exists(os.path.join(data, "leadside.db-wal")), "its log folded in")
    for turn in range(2):  # three who come while nobody listens all wait for the same
        lines = [server.connect() for _ in range(3)]
        checks.same([server.ask(line=line)[0] for line in lines], [200] * 3, "all who wait in the socket are answered")
        for line in lines:
            line.close()
        if turn == 0:
            checks.ok(server.wait_asleep(10), "and it ends again")
    again = server.client(head.token)
    checks.status(again.get("/v1/swings/%s" % sent.json["id"]), 200, "what was acknowledged is there, and the session as well")
    again.close()
    checks.same(server.runs, 3, "it was started as often as it was needed")
    over(checks, server)


def edge(checks, data):
    """Who comes just when it leaves is answered all the same: asked again and again about the very moment."""
    server = Activated(checks, options=IDLE, data=data, init=False)
    answers = []
    for turn in range(4):
        answers.append(server.ask()[0])
        time.sleep(.95 + .05 * turn)
    checks.same(set(answers), {200}, "nobody is turned away at the moment it leaves (%d starts for %d who came)" % (server.runs, len(answers)))
    over(checks, server)


def trial(server, head):
    """A trial is under way and nobody connected: it can't be kept before the lock is let go that is given back."""
    standard = head.get("/v1/standard").json["standard"]
    holder = sqlite3.connect(os.path.join(server.data, "leadside.db"), isolation_level=None)
    for turn in range(20):
        head.post("/v1/standard/try", {**standard, "version": "tried-%d" % turn, "threshold": .3})
        holder.execute("BEGIN IMMEDIATE")
        if holder.execute("SELECT state FROM standard_job ORDER BY id DESC LIMIT 1").fetchone() == ("running",):
            head.close()
            return holder
        holder.execute("ROLLBACK")
    raise RuntimeError("every trial was over at once")


def kept(checks, data):
    """A connection, somebody who listens, an upload that is slow to come, and a trial keep it there."""
    server = Activated(checks, options=IDLE, data=data, init=False)
    line = server.connect()
    checks.same(server.ask(line=line)[0], 200, "a connection that is kept open")
    time.sleep(1.6)
    checks.same((server.ask(line=line)[0], server.runs), (200, 1), "keeps the server there")
    head = server.sign_in()
    student = head.post("/v1/students", {"name": "Student", "hand": "right"}).json["id"]
    for _ in range(20):
        head.post("/v1/students/%s/swings" % student, document())
    line.close()
    listening = http.client.HTTPConnection("127.0.0.1", server.port, timeout=20)
    listening.request("GET", "/v1/events", headers={"Authorization": "Bearer " + head.token})
    answer = listening.getresponse()
    head.close()
    time.sleep(1.6)
    checks.same((server.runs, answer.status), (1, 200), "so does somebody who listens for events")
    listening.close()
    answer.close()
    slow = server.connect()
    slow.sendall(("POST /v1/sign-in HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\nContent-Length: 66\r\n\r\n{").encode())
    time.sleep(1.6)
    checks.same(server.runs, 1, "and a body that is still coming")
    slow.close()
    head = server.client(head.token)
    holder = trial(server, head)
    time.sleep(1.8)
    with server.connect(timeout=1.5) as line:
        checks.same(server.ask(line=line)[0], 200, "a trial that nobody waits for keeps it as well")
    holder.execute("ROLLBACK")
    holder.close()
    checks.ok(server.wait_asleep(20), "it ends some time after the trial")
    head = server.client(head.token)
    checks.same(head.get("/v1/standard/job").json["job"]["state"], "done", "which was brought to its end first")
    checks.same(server.runs, 2, "by the server that began it")
    head.close()
    over(checks, server)


def handed_over(checks, data):
    """By a socket in the file system, without a port; what is for this machine alone is for who comes by it."""
    with tempfile.TemporaryDirectory(prefix="leadside-socket-") as folder:
        path = os.path.join(folder, "north.sock")
        server = Activated(checks, options=["--no-throttle"], path=path, data=data, init=False)
        checks.same(server.ask("/metrics")[0], 200, "a socket in the file system: a caller is of this machine")
        until = time.monotonic() + 5  # whoever comes may be answered before that is written
        while "ready on" not in server.log_tail() and time.monotonic() < until:
            time.sleep(.01)
        checks.ok("ready on unix:" + path in server.log_tail(), "its path is told", server.log_tail())
        server.ask()
        pid = server.pid
        os.kill(pid, signal.SIGTERM)
        while server.pid == pid:
            time.sleep(.01)
        checks.same(server.ask()[0], 200, "a restart leaves the socket as it is: who comes meanwhile waits in it")
        checks.same(server.runs, 2, "and wakes the next")
        over(checks, server)


def refused(checks, data):
    """What can't be used is said; what is meant for another process is not touched."""
    server = Activated(checks, data=data, init=False)
    server.ending = True  # what is started here is started by hand
    server.keeper.join()

    def ended(options, **changed):
        server.options = options
        open(server.log_path, "w").close()
        status = os.waitpid(server.spawn(**changed), 0)[1]
        return os.waitstatus_to_exitcode(status), server.log_tail()

    checks.same((lambda s, t: (s, "one is wanted" in t))(*ended([], LISTEN_FDS="2")), (1, True), "two sockets are refused")
    checks.same((lambda s, t: (s, "nobody would start it again" in t))(*ended(["--idle-exit", "9"], LISTEN_PID="1")), (1, True),
                "--idle-exit without a socket is refused")
    other = socket.socket()
    mine, server.listener = server.listener, other
    checks.same((lambda s, t: (s, "no socket that listens" in t))(*ended([])), (1, True), "so is a socket that doesn't listen")
    server.listener = mine
    other.close()
    server.options = ["--listen", "127.0.0.1:0"]
    pid = server.spawn(LISTEN_PID="1")
    until = time.monotonic() + 20
    while "ready on" not in server.log_tail() and time.monotonic() < until:
        time.sleep(.02)
    checks.ok("ready on" in server.log_tail() and ":%d" % server.port not in server.log_tail(), "one for another process is left alone",
              server.log_tail())
    os.kill(pid, signal.SIGTERM)
    checks.same(os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1]), 0, "and that server ends as always")
    over(checks, server)


def main():
    checks = Checks("activation")
    club = Server(checks, start=False)
    for part in (woken, edge, kept, handed_over, refused):
        try:
            part(checks, club.data)
        except Exception as error:
            checks.ok(False, part.__name__ + " ran to its end", repr(error))
    sound, output = club.check_file()
    checks.ok(sound, "leadside check finds the file sound", output)
    shutil.rmtree(club.root)
    checks.finish()


main()
