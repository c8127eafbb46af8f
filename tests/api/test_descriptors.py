"""Few descriptors: more callers than the server may hold. It takes what it can, waits for the rest without spending the processor
on them, and answers again when they go; also where the limit is lowered under a server that counted on more."""
import os
import resource
import socket
import time

import support
from support import Checks, Server

CALLERS, FEW, SECONDS = 500, 100, 3


class Few(Server):
    """A server that may hold few descriptors, from its start on."""

    few = None

    def start(self, wait=20):
        was = resource.getrlimit(resource.RLIMIT_NOFILE)
        if self.few:
            resource.setrlimit(resource.RLIMIT_NOFILE, (self.few, was[1]))
        try:
            return super().start(wait)
        finally:
            resource.setrlimit(resource.RLIMIT_NOFILE, was)

    def spent(self):
        """Seconds of the processor so far."""
        with open("/proc/%d/stat" % self.process.pid) as file:
            fields = file.read().rsplit(")", 1)[1].split()
        return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def callers(server, how_many):
    lines = []
    for _ in range(how_many):
        line = socket.socket()
        line.setblocking(False)
        line.connect_ex(("127.0.0.1", server.port))
        lines.append(line)
    return lines


def crowd(checks, server, head, how):
    """CALLERS connections that say nothing."""
    lines = callers(server, CALLERS)
    time.sleep(.3)
    before = server.spent()
    time.sleep(SECONDS)
    spent = server.spent() - before
    checks.ok(spent < .1 * SECONDS, how + ": callers that find no place cost no processor", "%.2f s in %d s" % (spent, SECONDS))
    checks.ok(server.process.poll() is None, how + ": the server is there", server.log_tail())
    for line in lines:
        line.close()
    head.close()
    began = time.monotonic()
    checks.status(head.get("/v1/me"), 200, how + ": it answers again when they have gone")
    checks.ok(time.monotonic() - began < 10, how + ": soon", "%.1f s" % (time.monotonic() - began))
    checks.status(head.post("/v1/students", {"name": "Student", "hand": "right"}), 201, how + ": and writes")


def lowered(checks, server, head):
    """The kernel says EMFILE to accept itself."""
    held = len(os.listdir("/proc/%d/fd" % server.process.pid))
    resource.prlimit(server.process.pid, resource.RLIMIT_NOFILE, (held + 8, resource.getrlimit(resource.RLIMIT_NOFILE)[1]))
    crowd(checks, server, head, "no descriptor left for a caller")


def main():
    checks = Checks("test_descriptors")
    server = Few(checks, options=["--idle", "2"], start=False)
    server.few = FEW
    server.start()
    head = server.sign_in()
    crowd(checks, server, head, "few descriptors from the start")
    time.sleep(.3)
    lowered(checks, server, head)
    server.end()
    checks.finish()


main()
