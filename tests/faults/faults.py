#!/usr/bin/python3
"""Every route of docs/openapi.json while something fails under it: no memory, a write, a sync, a size, an opening or a reading of a
file, once or from there on. For each route and each way of failing the n-th call fails, n = 1, 2, 3 ... until the route is done
without having met it; in between the club is as it was.

What must hold: the answer is an error that is one (5xx with its type, 507 for a full disk), or what was asked for, whole and stored;
where memory was short the connection may be closed instead. Nothing is stored by half, nothing answered is missing, the server
goes on by itself, ends with 0 and leaks neither memory nor descriptors, and `leadside check` finds the file sound.

    faults.py              a few routes and ways (tests/run)
    faults.py --full       all of them; --only NAME,... some routes; --kinds N,... some ways, by their place in KINDS
Figures go to standard output. The program is LEADSIDE_BUILD/leadside; without AddressSanitizer linked in, or with it as a library."""
import argparse
import collections
import http.client
import json
import os
import re
import shutil
import socket
import sqlite3
import sys
import time

import armed
from armed import KINDS, Armed, fault_library
from support import HEAD, Checks, Reply
from test_examples import SIGNED_IN, STEPS, Examples

SAMPLE = {"createStudent": (1, 5, 7), "getStudent": (0,)}
LATER = {"tryStandard": .3, "rescoreSwings": .3, "takeSpread": .1, "putStandard": .3, "restoreStandard": .3}  # goes on after its answer
JOB = (*LATER, "stopStandardJob")  # beside a piece of long work, whose rows come by themselves
JOB_TABLES = ("standard_job", "report", "report_measures", "standard_tally")
PATIENCE = 20  # seconds after which nobody waits any more
FULL_TYPES = {507: {"disk-full"}}
TYPES = {500: {"store", "memory", "internal", "damaged"}, 503: {"busy", "memory", "not-ready", "disk-full", "stopping"}}
MOVING = re.compile(r'"(generated_at|at|now|last_seen|used_at|seen_at|day|until)":("[^"]*"|\d+)|"ETag[^"]*"')


class Walk(Examples):
    """The examples' own walk over a club; each step is taken again and again while something fails."""

    def __init__(self, checks, library, steps, kinds, verbose):
        self.library, self.wanted, self.kinds, self.verbose = library, steps, kinds, verbose
        self.injected, self.answers, self.spent = collections.Counter(), collections.Counter(), collections.Counter()
        self.longest, self.restarts, self.wrong, self.deepest = 0.0, 0, collections.Counter(), {}
        self.columns = {}
        super().__init__(checks)

    def make_server(self, checks, options):
        return Armed(checks, self.library, options=[*options, "--threads", "1"])

    # ---- what is looked at ----

    def state(self):
        """Of each table its rows: how many, and the hash of all, but for what moves by itself or at each start."""
        moving, arriving = self.server.MOVING, self.server.ARRIVING
        database = sqlite3.connect("file:%s/leadside.db?mode=ro" % self.server.data, uri=True)
        try:
            database.execute("BEGIN")
            found = {}
            for name, in database.execute("SELECT name FROM sqlite_schema WHERE type='table' AND name NOT LIKE 'sqlite_%' AND name NOT IN ('running', 'ledger')").fetchall():
                if name not in self.columns:
                    self.columns[name] = ",".join('"%s"' % row[1] for row in database.execute("PRAGMA table_info(%s)" % name) if row[1] not in moving.get(name, ()))
                rows = database.execute("SELECT %s FROM %s WHERE %s" % (self.columns[name], name, arriving.get(name, "1"))).fetchall()
                found[name] = (len(rows), hash(frozenset(rows)))
            return found
        finally:
            database.close()

    @staticmethod
    def grown(before, now):
        """By how many rows each changed table has grown."""
        return {name: now[name][0] - before[name][0] for name in now if now[name] != before[name]}

    @staticmethod
    def stored(grown):
        """New rows; a tally has one for the first alone."""
        return {name: more for name, more in grown.items() if more and not name.endswith("_tally")}

    def complain(self, name, kind, n, what):
        place = self.server.place()
        self.wrong[(name, kind.name, what.split(":")[0])] += 1
        if self.wrong[(name, kind.name, what.split(":")[0])] <= 3:
            self.checks.ok(False, "%s, %s, call %d" % (name, kind.name, n), "%s\n        at %s" % (what, place))

    def alive(self):
        if self.server.process.poll() is None and self.server.sanitizer_reports():
            self.server.process.wait(30)  # it is writing down why it ends
        return self.server.process.poll() is None

    def wait_for(self, name):
        """What goes on after an answer: until a call has failed, or none is counted any more."""
        until = time.monotonic() + LATER[name]
        while time.monotonic() < until and not self.server.control.failed:
            seen = self.server.control.seen
            time.sleep(.02)
            if self.server.control.kinds and self.server.control.seen == seen:
                break

    def once(self, name, who):
        """One answer on a connection of its own, or why there is none."""
        if name == "confirmSecondFactor":
            super().setup("app")  # a code is good for half a minute
        client = self.clients[who]
        client.close()
        client.timeout = PATIENCE
        began = time.monotonic()
        try:
            reply = self.send(name, who)
        except (http.client.HTTPException, ConnectionError):
            reply = None
        except (socket.timeout, TimeoutError):
            reply = "no answer in %d s" % PATIENCE
        self.longest = max(self.longest, time.monotonic() - began)
        if name in LATER:
            self.wait_for(name)
        client.close()
        return reply

    @staticmethod
    def said(reply):
        return "closed" if reply is None else "silent" if isinstance(reply, str) else "%d %s" % (reply.status, reply.problem.get("type", "").rsplit(":", 1)[-1])

    @staticmethod
    def plain(reply):
        return MOVING.sub("", reply.body.decode("utf-8", "replace"))

    def fault_of(self, name, reply, kind, reference):
        """What is wrong with an answer while something failed."""
        if isinstance(reply, str):
            return reply
        if reply is None:
            return None if kind.bits & armed.MEMORY or reference is not None else "the connection was closed"
        if 200 <= reply.status < 300:
            if reference is not None and self.plain(reply) != reference:
                return "answered 2xx with something else: %s" % reply.body[:200]
            return None
        types = FULL_TYPES if kind.full and reply.status == 507 else TYPES
        if name == "stopStandardJob" and reply.status == 404:  # there is none any more
            return None
        if reply.status not in types or reply.problem.get("type", "").rsplit(":", 1)[-1] not in types[reply.status]:
            return "answered %d: %s" % (reply.status, reply.body[:200])
        return None

    # ---- one step ----

    def back(self, kept):
        """The club as it was: a new server, whose first reader is open."""
        self.restarts += 1
        leaks = self.restarts % 10 == 0 and self.alive()  # told by a server that ends by itself
        status = self.server.go_back(kept, kill=not leaks)
        for report in self.server.reported():
            self.checks.ok(report == "own", "no sanitizer report", report)
        if leaks and status != 0:
            self.checks.ok(False, "the server ends with 0", "%s: %s" % (status, self.server.log_tail()))
        self.reconnect()

    def reconnect(self):
        for client in self.clients.values():
            client.close()
            client.port = self.server.port
        self.server.client().get("/v1/me")  # the reader is opened

    def killed(self):
        self.server.kill()
        self.server.start()
        self.reconnect()

    def revive(self, name, kind, n, kept):
        reports = self.server.reported()
        if reports == ["own"]:
            self.answers[(kind.name, "(the sanitizer's own end)")] += 1
        else:
            self.complain(name, kind, n, "the server died: %s %s %s" % (self.server.process.returncode, reports, self.server.log_tail()[-200:]))
        self.back(kept)

    def fail_each(self, name, who, kind, kept, pending):
        """The route while the n-th call fails, for each n. pending: what an answered one must have stored, told later."""
        method = self.operations[name][0]
        reference, before = None, None
        if method == "GET":
            twice = [self.once(name, who) for _ in range(2)]
            if all(isinstance(reply, Reply) for reply in twice) and self.plain(twice[0]) == self.plain(twice[1]):
                reference = self.plain(twice[0])
        else:
            before = self.state()
        n, clean = 0, self.clean
        keyed = any(each.get("$ref", "").endswith("/IdempotencyKey") for each in self.operations[name][2].get("parameters", ()))
        while n < 200000:
            n += kind.step
            self.server.arm(kind, n)
            reply = self.once(name, who)
            fired = self.server.disarm()
            if not self.alive():
                self.revive(name, kind, n, kept)
                clean, before = True, self.state()
                continue
            good = reply is not None and not isinstance(reply, str) and 200 <= reply.status < 300
            if not clean and not good and (not fired or self.fault_of(name, reply, kind, reference)):
                self.back(kept)  # done before, it can't be done again: once more on the club as it was
                clean, before, n = True, self.state(), n - kind.step
                continue
            if not fired:
                if method != "GET":
                    if not good:
                        self.complain(name, kind, n, "afterwards it no longer works: %s" % (self.said(reply),))
                    clean = False
                break
            self.injected[kind.name] += 1
            self.answers[(kind.name, self.said(reply))] += 1
            if self.verbose:
                print("   ", name, kind.name, n, self.said(reply), self.server.place(8), flush=True)
            wrong = self.fault_of(name, reply, kind, reference)
            if wrong:
                self.complain(name, kind, n, wrong)
            if method != "GET":
                if not good and kind.bits & armed.SYNCS and not kind.on:
                    self.killed()  # what was written and not waited for must not come back with the next start
                now = self.state()
                grown = self.grown(before, now)
                if name in JOB:
                    grown = {table: more for table, more in grown.items() if table not in JOB_TABLES}
                if good and (clean or keyed):
                    pending.append((kind, n, self.stored(grown)))
                elif not good and grown and reply is not None:
                    self.complain(name, kind, n, "not answered with 2xx, and something was stored: %s" % grown)
                if now != before:
                    clean, before = False, now
        self.clean = clean
        self.deepest[(name, kind.name)] = n
        return n

    def take(self, steps):
        """As far as the last route that is wanted."""
        last = max(at for at, (_, name) in enumerate(steps) if name in self.wanted)
        super().take(steps[:last + 1])

    def step(self, name, who):
        if name not in self.wanted:
            super().step(name, who)
            return
        self.confirm()
        began, kept, pending, self.clean = time.monotonic(), self.server.keep(), [], True
        held = len(self.server.descriptors())
        total = 0
        for number in (self.wanted[name] if self.wanted[name] is not None else self.kinds):
            total += self.fail_each(name, who, KINDS[number], kept, pending) // KINDS[number].step - 1
        most = len(self.server.descriptors())
        self.checks.ok(most <= held + 24, name + ": no descriptor is left open", "%d before, %d after: %s" % (held, most, sorted(self.server.descriptors())))
        if not self.clean:
            self.back(kept)
        if name == "confirmSecondFactor":
            super().setup("app")
        if name == "listenToEvents":
            time.sleep(3)  # until the server has seen that the former listeners have hung up
        before = self.state()
        try:
            super().step(name, who)
        except OSError as error:
            self.checks.ok(False, name + ": answered after all that failed", repr(error))
            self.back(kept)
            super().step(name, who)
        if name in LATER:
            time.sleep(LATER[name])
        expected = self.stored(self.grown(before, self.state()))
        if name in JOB:
            pending = []
        for kind, n, got in pending:
            if got != expected:
                self.checks.ok(False, "%s, %s, call %d: what was answered is stored" % (name, kind.name, n), "%s, without a fault %s" % (got, expected))
        shutil.rmtree(kept)
        self.checks.ok(True, "%s: %d calls failed, %.1f s" % (name, total, time.monotonic() - began))

    def judge(self, name, reply):
        if name == "listAudit":  # its newest rows are of what this walk did beside the examples
            self.checks.status(reply, 200, "listAudit: the example is answered with 200")
        else:
            super().judge(name, reply)

    def setup(self, what):
        self.confirm()
        super().setup(what)

    def confirm(self):
        """A long walk outlasts what the head has confirmed."""
        if "head" in self.clients:
            self.clients["head"].post("/v1/me/confirm", {"password": HEAD["password"]}, key=None)

    def told(self):
        print("injected:", dict(self.injected))
        for (kind, said), count in sorted(self.answers.items()):
            print("  %-34s %-24s %d" % (kind, said, count))
        print("longest answer %.2f s, %d restarts on a kept copy, deepest walk %s" % (
            self.longest, self.restarts, max(self.deepest.items(), key=lambda item: item[1], default=None)))


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("build", nargs="?")
    parser.add_argument("--full", action="store_true")
    parser.add_argument("--only", default="")
    parser.add_argument("--kinds", default="")
    parser.add_argument("--verbose", action="store_true")
    given = parser.parse_args()
    names = [name for who, *rest in map(str.split, STEPS.strip().splitlines()) if who != "setup" for name in rest]
    kinds = [int(number) for number in given.kinds.split(",")] if given.kinds else list(range(len(KINDS)))
    steps = {name: None for name in names} if given.full else {name: None for name in given.only.split(",")} if given.only else SAMPLE
    checks = Checks("faults")
    with fault_library() as library:
        walk = Walk(checks, library, steps, kinds, given.verbose)
        walk.walk()
        walk.told()
        walk.server.end()
    checks.finish()


if __name__ == "__main__":
    main()
