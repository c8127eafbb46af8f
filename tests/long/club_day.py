"""A day in a club's life: 100 000 requests (or the first number given) by heads, coaches, students, guardians, coaches of no team and nobody,
eight at once. Some are wrong, some are said twice, some race for one version or one key, connections are cut in the middle, and in the
first half the server is killed about a hundred times and stopped some more. An oracle (oracle.py) holds what must be there: every
answer of every role is compared with what that one may see just then, nothing acknowledged may be missing, nothing foreign be shown.
In the second half the server lives: its memory at the end is that of after the first tenth of it. At the end everything is asked for by
everybody, `leadside check` is clean, and a backup, restored and served, is the same club. Not part of tests/run.

    LEADSIDE_BUILD=DIR /usr/bin/python3 tests/long/club_day.py [REQUESTS] [SEED]"""
import hashlib
import http.client
import json
import os
import random
import shutil
import sqlite3
import sys
import threading
import time

from disk import support  # first: it makes tests/api known
from hold import resident
from oracle import COACH, GUARDIAN, HEAD, NOBODY, STAFF, STUDENT, Actor, World, digest
from people import Line, People

WORKERS = 8


class Day(People):
    def __init__(self, server, total, seed):
        self.server, self.total, self.seed, self.world = server, total, seed, World()
        self.up, self.over, self.sent, self.counting = threading.Event(), False, 0, threading.Lock()
        self.kills = self.stops = 0
        self.told, self.odd = {}, []
        self.up.set()

    # ---- one request ----

    def ask(self, line, actor, method, path, body=None, key=None, match=None, kind="application/json", cut=False):
        """The answer, or None when there was none."""
        self.up.wait()
        with self.counting:
            self.sent += 1
        headers = {"Accept": "application/json"}
        if actor.token:
            headers["Authorization"] = "Bearer " + actor.token
        if body is not None:
            body = body if isinstance(body, bytes) else json.dumps(body).encode()
            headers["Content-Type"] = kind
        if key:
            headers["Idempotency-Key"] = key
        if match:
            headers["If-Match"] = match
        try:
            line.open(self.server.port).request(method, path, body, headers)
            if cut:
                line.close()
                return None
            answer = line.connection.getresponse()
            reply = support.Reply(answer.status, answer.getheaders(), answer.read())
        except (OSError, http.client.HTTPException):
            line.close()
            return None
        with self.counting:
            self.told[reply.status] = self.told.get(reply.status, 0) + 1
        self.world.look_over(actor, method + " " + path, reply.body)
        return reply

    def sure(self, line, actor, method, path, body=None, cut=False, **more):
        """Asked until it is answered: (answer, was it asked more than once?)."""
        again = False
        while True:
            reply = self.ask(line, actor, method, path, body, cut=cut and not again, **more)
            if reply is not None and reply.status != 503:
                return reply, again
            again = again or reply is None
            time.sleep(.01)

    def expect(self, reply, wanted, what):
        wanted = wanted if isinstance(wanted, tuple) else (wanted,)
        if reply.status not in wanted:
            self.world.blame("%s: %s wanted, %d %s" % (what, wanted, reply.status, reply.body[:200]))
        return reply.status == wanted[0]

    # ---- the day ----

    def begin(self):
        line, draw, server = Line(), random.Random(self.seed), self.server
        client = server.sign_in()
        client.sign_in_name, client.password = support.HEAD["sign_in"], support.HEAD["password"]
        self.head, self.confirmed = Actor(HEAD, client.get("/v1/me").json["id"], client), time.monotonic()
        self.world.actors.append(self.head)
        for n in range(6):
            account, coach = server.account(client, "coach", "coach%d" % n)
            self.world.actors.append(Actor(COACH, account, coach))
        for n in range(44):
            student = self.come(line, draw, junior=n % 3 == 0, family=n < 12)
            for coach in draw.sample(self.world.actors[1:6], 2):
                self.expect(self.sure(line, self.head, "PUT", "/v1/students/%s/team/%s" % (student.id, coach.id))[0], 204, "a team")
                student.team.add(coach.id)
        own = [one for one in self.world.students if one.family]
        for n, student in enumerate(own):
            account, one = server.account(client, "student", "student%d" % n, student_id=student.id)
            self.world.actors.append(Actor(STUDENT, account, one, student))
        juniors = [one for one in own if one.junior]
        for n in range(3):
            children = juniors[n:n + 2]
            account, one = server.account(client, "guardian", "guardian%d" % n, students=[child.id for child in children])
            self.world.actors.append(Actor(GUARDIAN, account, one, children=children))
        self.world.accounts = {actor.id for actor in self.world.actors}
        nobody, forged = Actor(NOBODY), Actor(NOBODY)
        forged.token = "Z" * 43
        self.world.actors += [nobody, forged]

    def work(self, number):
        line, draw = Line(), random.Random(self.seed * 100 + number)
        deeds = {self.read: 52, self.still_read: 5, self.change: 6, self.race: 1, self.race_key: 1, self.note: 5, self.upload: 6, self.still: 3, self.still_away: 1,
                 self.lesson: 2, self.fix: 4, self.tick: 8, self.round: 2, self.round_away: 1, self.void: 2, self.consent: .4, self.wrong: 4, self.half: 1}
        names, weights = list(deeds), list(deeds.values())
        try:
            while self.sent < self.total and len(self.world.wrong) < 20:
                chance = draw.random()
                if chance < .01:
                    with self.world.gate.alone():
                        draw.choice((self.tie, self.tie, self.tie, self.move, self.move, self.move, self.come, self.go))(line, draw)
                elif chance < .12:
                    with self.world.gate.shared():
                        actor = draw.choice(self.world.actors)
                        (self.homework if chance < .03 else self.lists)(line, draw, actor)
                else:
                    with self.world.gate.shared():
                        student = draw.choice(self.world.students if draw.random() < .98 or not self.world.gone else self.world.gone)
                        near = [one for one in self.world.actors if self.world.sees(one, student)]
                        actor = draw.choice(near if near and draw.random() < .7 else self.world.actors)
                        deed = draw.choices(names, weights)[0] if not student.gone else self.read
                        with student.lock:
                            deed(line, draw, actor, student)
        except Exception as error:  # pylint: disable=broad-except
            import traceback
            self.world.blame("worker %d: %r %s" % (number, error, traceback.format_exc()[-600:]))

    def weather(self):
        """Kills, and now and then a stop, through the first half."""
        draw, each = random.Random(self.seed + 7), max(self.total // 2 // 110, 20)
        ahead = each
        while self.sent < self.total // 2 and len(self.world.wrong) < 20:
            if self.sent < ahead:
                time.sleep(.002)
                continue
            ahead = self.sent + draw.randrange(each // 2, each * 3 // 2)
            if draw.random() < .1:
                self.up.clear()
                status = self.server.stop()
                self.stops += 1
                if status != 0:
                    self.world.blame("SIGTERM: %s %s" % (status, self.server.log_tail()[-300:]))
            else:
                self.up.clear()
                self.server.kill()
                self.kills += 1
            self.server.start()
            self.up.set()

    def everything(self):
        """All of it, asked for by everybody who may and by one who may not."""
        line, asked = Line(), self.sent
        for student in self.world.students + self.world.gone[-5:]:
            near = [actor for actor in self.world.actors if self.world.sees(actor, student)]
            far = [actor for actor in self.world.actors if actor not in near]
            for actor in near + random.sample(far, min(3, len(far))):
                for path, roles, right in self.world.reads(student):
                    self.look(line, actor, student, path, roles, right)
            for swing, kept in student.swings.items():
                for path, right in (("/v1/swings/" + swing, lambda _, got, kept=kept: got["document"]["recorded_at"] == kept.recorded),
                                    ("/v1/swings/%s/report" % swing, lambda _, got, kept=kept: digest(got) == kept.report)):
                    self.look(line, self.head, student, path, STAFF, right)
                for name, data in kept.stills.items():
                    if student.pictures and not student.gone:
                        seen, _ = self.sure(line, self.head, "GET", "/v1/swings/%s/stills/%s" % (swing, name))
                        if seen.status != 200 or seen.body != data:
                            self.world.blame("a still is not the one that was sent: %d, %d bytes for %d" % (seen.status, len(seen.body), len(data)))
        return self.sent - asked


def rows(path):
    """A hash of each table's rows."""
    database, found = sqlite3.connect("file:%s?mode=ro" % path, uri=True), {}
    for name, in database.execute("SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT IN ('ledger', 'running', 'sqlite_stat1')").fetchall():
        found[name] = hashlib.sha256("\n".join(sorted(map(repr, database.execute("SELECT * FROM \"%s\"" % name)))).encode()).hexdigest()
    database.close()
    return found


def restored(checks, day):
    """A backup, put elsewhere and served: the same club."""
    server, folder = day.server, os.path.join(day.server.root, "elsewhere")
    copy = os.path.join(server.root, "copy.db")
    done = server.command("backup", "--data", server.data, "--to", copy)
    checks.ok(done.returncode == 0, "a backup while it runs", done.stderr)
    done = server.command("restore", "--data", folder, "--from", copy)
    checks.ok(done.returncode == 0, "restored elsewhere", done.stderr)
    kept, copied = rows(server.data + "/leadside.db"), rows(folder + "/leadside.db")
    checks.ok(len(kept) > 20 and kept == copied, "row for row the same", [name for name in kept if kept[name] != copied.get(name)])
    other = support.Server(checks, options=["--no-throttle"], data=folder, init=False)
    day.server = other
    for actor in day.world.actors:
        if actor.password:
            actor.token = other.sign_in(actor.sign_in, actor.password).token
    before = len(day.world.wrong)
    asked = day.everything()
    checks.ok(len(day.world.wrong) == before, "and %d reads of all roles find in it what the oracle holds" % asked, day.world.wrong[before:before + 3])
    noticed(checks, day)
    other.end()
    day.server = server


def noticed(checks, day):
    """The control: an oracle that finds nothing when a note is changed behind the server's back, or a coach put on a team, proves nothing."""
    world, stranger = day.world, [one for one in day.world.actors if one.role == COACH][-1]
    student = next(one for one in world.students if one.notes)
    day.server.write("UPDATE note SET text = 'something else' WHERE id = ?", next(iter(student.notes)))
    day.server.write("INSERT INTO team (account_id, student_id, created) VALUES (?, ?, 1)", stranger.id, student.id)
    before, world.wrong = world.wrong, []
    for actor in (day.head, stranger):
        for path, roles, right in world.reads(student):
            day.look(Line(), actor, student, path, roles, right)
    found, world.wrong = " ".join(world.wrong), before
    checks.ok("head reads /v1/students/%s/notes" % student.id in found and "FOREIGN: a coach was shown something of %s" % student.mark in found,
              "the control: the oracle notices a changed note and a right too many", found)


def main():
    numbers = [int(argument) for argument in sys.argv[1:] if argument.isdigit()]
    total, seed = (numbers + [100000])[0], (numbers[1:] + [20261128])[0]
    checks = support.Checks("club_day")
    random.seed(seed)
    server = support.Server(checks, options=["--no-throttle"])
    day = Day(server, total, seed)
    try:
        play(checks, day, server)
    finally:
        if server.process.poll() is None:
            server.kill()
        shutil.rmtree(server.root, ignore_errors=True)
    checks.finish()


def play(checks, day, server):
    day.begin()
    began, memory = time.monotonic(), []
    threads = [threading.Thread(target=day.work, args=(n,)) for n in range(WORKERS)]
    for thread in threads:
        thread.start()
    day.weather()
    while not memory or any(thread.is_alive() for thread in threads):
        memory.append((day.sent, resident(server.process.pid)))
        time.sleep(.2)
    seconds = time.monotonic() - began
    asked = day.everything()
    students = day.world.students
    print("%d requests in %.0f s, %d kills, %d stops; answers %s; at the end %d students, %d erased, %d swings, %d stills, %d notes, %d fixes, %d ticks, %d rounds" % (
        day.sent - asked, seconds, day.kills, day.stops, dict(sorted(day.told.items())), len(students), len(day.world.gone), sum(len(one.swings) for one in students),
        sum(len(kept.stills) for one in students for kept in one.swings.values()), sum(len(one.notes) for one in students), sum(len(one.fixes) for one in students),
        sum(map(len, (ticks for one in students for ticks in one.ticks.values()))), sum(len(one.rounds) for one in students)))
    checks.ok(not day.world.wrong, "every answer was what the oracle holds; nothing foreign was shown", " | ".join(day.world.wrong[:6]))
    checks.ok(day.sent >= day.total and (day.kills >= 50 or day.total < 50000), "the day was lived to its end, with its kills", (day.sent, day.kills))
    checks.ok(({200, 201, 204, 401, 403, 404, 409, 412, 422, 428} <= set(day.told) or day.total < 5000) and 500 not in day.told, "answers of every kind, and no fault of the server", day.told)
    checks.ok(asked > 1000, "at the end %d reads of all roles" % asked)
    counted = sum(len(ticks) for one in students for ticks in one.ticks.values())
    there = server.query("SELECT count(*) FROM homework_done")[0][0]
    checks.ok(there >= counted, "every tick is there", (counted, there))
    early = [mib for sent, mib in memory if sent >= day.total // 2 + day.total // 20][:1] or [mib for _, mib in memory][:1]
    last = memory[-1][1] if memory else 0
    print("memory %.1f MiB after the first tenth of the second half, %.1f at its end, %.1f at most" % (early[0], last, max(mib for _, mib in memory)))
    checks.ok(last < early[0] + 8, "memory is flat: within 8 MiB", (early, last))
    restored(checks, day)
    sound, output = server.check_file()
    checks.ok(sound, "leadside check is clean", output)
    server.end(keep=True)


main()
