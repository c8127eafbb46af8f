"""Live events (GET /v1/events): who hears of what, and never of another's; a listener that was cut resumes with nothing missed,
over a restart too; five hundred listen, one of them slow; a stream ends with its session, and everybody is told when the
server stops."""
import hashlib
import json
import os
import re
import secrets
import select
import socket
import sqlite3
import time

import support
from hold import resident
from support import Checks, Server

WAIT = 20


class Listener:
    """One stream: .status, .events [(id, name, data)], .last (the last id), .ended (the answer came to its proper end)."""

    def __init__(self, port, token, last=None, receive=None, cookie=False):
        self.line = socket.socket()
        if receive:
            self.line.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, receive)
        self.line.connect(("127.0.0.1", port))
        how = "Cookie: leadside_session=%s" % token if cookie else "Authorization: Bearer %s" % token
        more = "" if last is None else "Last-Event-ID: %s\r\n" % last
        self.line.sendall(("GET /v1/events HTTP/1.1\r\nHost: localhost\r\nAccept-Encoding: gzip\r\n%s\r\n%s\r\n" % (how, more)).encode())
        self.line.setblocking(False)
        self.raw, self.text, self.head, self.status = b"", "", None, None
        self.events, self.last, self.beats, self.ended, self.cut = [], last, 0, False, False

    def feed(self):
        try:
            data = self.line.recv(1 << 20)
        except BlockingIOError:
            return
        except ConnectionResetError:
            data = b""
        self.cut = self.cut or not data
        self.raw += data
        if self.head is None:
            head, mark, rest = self.raw.partition(b"\r\n\r\n")
            if not mark:
                return
            self.head, self.raw, self.status = head.decode(), rest, int(head[9:12])
        while self.status == 200 and not self.ended:
            size, mark, rest = self.raw.partition(b"\r\n")
            if not mark or len(rest) < int(size, 16) + 2:
                break
            piece, self.raw = rest[:int(size, 16)], rest[int(size, 16) + 2:]
            self.ended = size == b"0"
            self.text += piece.decode()
        while "\n\n" in self.text:
            block, _, self.text = self.text.partition("\n\n")
            self.take(block)

    def take(self, block):
        name, data = None, None
        for line in block.split("\n"):
            key, _, value = line.partition(":")
            value = value[1:] if value.startswith(" ") else value
            self.last = value if key == "id" else self.last
            name = value if key == "event" else name
            data = value if key == "data" else data
            self.beats += key == ""
        if data is not None:
            self.events.append((self.last, name, json.loads(data)))

    def changes(self):
        return [data for _, name, data in self.events if name == "change"]

    def kinds(self):
        return [data["kind"] for data in self.changes()]

    def names(self):
        return [name for _, name, _ in self.events]

    def close(self):
        self.line.close()


def pump(listeners, until, seconds=WAIT):
    """Reads what comes until it is so for each of them; False when the time is up."""
    poll = select.poll()
    open_ones = {}
    for listener in listeners:
        if not listener.cut:
            poll.register(listener.line, select.POLLIN)
            open_ones[listener.line.fileno()] = listener
    end = time.monotonic() + seconds
    while not all(until(listener) for listener in listeners):
        if time.monotonic() > end:
            return False
        for number, _ in poll.poll(100):
            listener = open_ones[number]
            listener.feed()
            if listener.cut:
                poll.unregister(number)
    return True


def listen(server, *tokens, **more):
    listeners = [Listener(server.port, token, **more) for token in tokens]
    pump(listeners, lambda each: each.status is not None and (each.status != 200 or each.events))
    return listeners


class Scene:
    """A head; two coaches, each with a student and a family: nobody of the one has to do with the other."""

    def __init__(self, server):
        self.server, self.head = server, server.sign_in()
        self.ours = support.one_of_everything(server, self.head)
        self.own = self.ours["students"]
        self.coach, self.student, self.guardian = (self.ours[who + " client"] for who in ("coach", "student", "guardian"))
        self.other = self.head.post("/v1/students", {"name": "Other Student", "hand": "left"}).json["id"]
        self.stranger_id, self.stranger = server.account(self.head, "coach", "stranger")
        self.head.put("/v1/students/%s/team/%s" % (self.other, self.stranger_id))
        _, self.stranger_student = server.account(self.head, "student", "other.student", student_id=self.other)
        self.drill = self.ours["drills"]
        self.touched = 0

    def bell(self):
        """Something that everybody hears of."""
        self.touched += 1
        reply = self.head.get("/v1/drills/" + self.drill)
        changed = self.head.patch("/v1/drills/" + self.drill, {"name": "Bell %d" % self.touched}, match=reply.header("ETag"))
        assert changed.status == 200, changed.body

    def rung(self, listeners, seconds=WAIT):
        """Rings, and waits until each has heard it: whatever came before it is there too."""
        self.bell()
        return pump(listeners, lambda each: "drill" in each.kinds() or each.cut, seconds)

    def note(self, text="A word.", readers=(), student=None):
        coach = self.stranger if student == self.other else self.coach
        reply = coach.post("/v1/students/%s/notes" % (student or self.own), {"text": text, "readers": list(readers)})
        assert reply.status == 201, reply.body
        return reply.json["id"]


def who_hears(checks, scene):
    people = {"head": scene.head, "coach": scene.coach, "student": scene.student, "guardian": scene.guardian,
              "stranger": scene.stranger, "another student": scene.stranger_student}
    streams = dict(zip(people, listen(scene.server, *(client.token for client in people.values()))))
    for who, stream in streams.items():
        checks.ok(stream.status == 200 and stream.names() == ["ready"] and stream.last, "the %s listens, and is told where it begins" % who, (stream.status, stream.events))
        checks.ok("text/event-stream" in stream.head and "no-store" in stream.head and "Content-Encoding" not in stream.head and "X-Accel-Buffering: no" in stream.head,
                  "a stream is what it says, kept by nobody, not packed, not held up: " + who, stream.head)
    secret = "zwölf Worte, die niemand sieht"
    student = "/v1/students/" + scene.own
    scene.note(secret)
    scene.note(secret, ["student", "guardian"])
    with open(os.path.join(support.ROOT, "tests", "data", "face_on.json"), "rb") as file:
        checks.status(scene.coach.post(student + "/swings", file.read()), 201, "a swing comes in")
    now = scene.coach.get(student)
    checks.status(scene.coach.patch(student, {"pain": ["wrist"], "pain_note": secret}, match=now.header("ETag")), 200, "it hurts")
    checks.status(scene.student.post("/v1/homework/%s/done" % scene.ours["homework"], {"comment": secret, "pain": {"area": "wrist", "level": 5}}), 201, "a tick that hurts")
    checks.status(scene.coach.put("/v1/swings/%s/opinion" % scene.ours["swings"], {"chicken_wing": "present"}), (200, 201), "an opinion, which is blind")
    offered = scene.coach.post(student + "/handovers", {"to": scene.stranger_id, "note": secret})
    checks.status(offered, 201, "a hand-over to a coach who is not on the team")
    checks.status(scene.coach.post("/v1/inbox/%s/seen" % scene.ours["inbox"]), 204, "something was seen")
    scene.note(secret, student=scene.other)
    checks.ok(scene.rung(list(streams.values())), "and all hear the bell")
    family = ["note", "swing", "student", "homework", "drill"]
    checks.same(streams["coach"].kinds(), ["note", "note", "swing", "student", "homework", "handover", "inbox", "drill"], "a coach hears of the own team's, and of the own inbox")
    checks.same(streams["student"].kinds(), family, "a student hears of what is the student's, and not of a note between coaches")
    checks.same(streams["guardian"].kinds(), family, "a guardian of the child's")
    checks.same(streams["stranger"].kinds(), ["handover", "note", "drill"], "a coach of another team hears of what was sent there alone")
    checks.same(streams["another student"].kinds(), ["drill"], "another student of the club's drills alone")
    checks.same(streams["head"].kinds(), ["note", "note", "swing", "student", "homework", "handover", "note", "drill"], "a head of all, but of nobody's reading")
    for who, stream in streams.items():
        told = stream.changes()
        checks.ok(all(set(data) == {"kind", "path", "student_id"} for data in told) and secret.split()[0] not in json.dumps(told, ensure_ascii=False),
                  "what is said is what changed, never what was written: " + who, told)
        refused = [(data["path"], status) for data in told for status in [people[who].get(data["path"]).status] if status != 200]
        checks.same(refused, [], "whoever is told of something may read it: " + who)
        stream.close()


def expected(scene, after, student):
    """The numbers of events that a coach of that student must have heard, out of the file."""
    rows = scene.server.query(
        "SELECT e.number FROM event e JOIN audit a ON a.id = e.audit_id WHERE e.number > ? AND (a.student_id = ? AND a.object_kind IN "
        "('note', 'swing', 'fix', 'student', 'homework', 'homework_done', 'lesson', 'consent', 'retest', 'round', 'still') OR a.object_kind = 'drill') ORDER BY 1", after, student)
    return [number for number, in rows]


def number_of(identity):
    return int(identity.split("-")[0])


def heard(stream):
    return [number_of(identity) for identity, name, _ in stream.events if name == "change"]


def resumes(checks, scene):
    (first,) = listen(scene.server, scene.coach.token)
    scene.note()
    checks.ok(pump([first], lambda each: each.kinds() == ["note"]), "a listener hears", first.events)
    first.close()
    for _ in range(70):
        scene.note()
        scene.note(student=scene.other)
    (again,) = listen(scene.server, scene.coach.token, last=first.last)
    checks.ok(scene.rung([again]), "it resumes", again.events[-2:])
    checks.same(heard(again), expected(scene, number_of(first.last), scene.own), "what was missed comes, in order, each once, and nothing of another's")
    again.close()
    scene.note()
    scene.server.stop()
    scene.server.start()
    for client in (scene.head, scene.coach, scene.student, scene.guardian, scene.stranger, scene.stranger_student):
        client.port = scene.server.port
        client.close()
    scene.note()
    (over,) = listen(scene.server, scene.coach.token, last=again.last)
    checks.ok(scene.rung([over]), "it resumes over a restart", over.events[-2:])
    checks.same(heard(over), expected(scene, number_of(again.last), scene.own), "and has missed nothing by that")
    checks.same(over.names()[0], "ready", "that is no reason to read everything again")
    over.close()
    number, _, end = over.last.partition("-")
    for strange, label in (("%d-%s" % (int(number) + 1000, end), "one that is not there yet"), (number + "-" + "0" * 12, "one of another file"),
                           ("no id at all", "one that is none"), ("1", "half of one")):
        (lost,) = listen(scene.server, scene.coach.token, last=strange)
        checks.ok(lost.names() == ["reset"] and lost.last != strange, "an id that is not known has everything read again: " + label, lost.events)
        lost.close()


def many_behind(checks, scene):
    """More than is looked at in one turn, of others', lies between; and then more than is kept at all."""
    (first,) = listen(scene.server, scene.coach.token)
    first.close()
    scene.note()
    fixes_happen(scene.server, 3000, scene.other)
    scene.note()
    (again,) = listen(scene.server, scene.coach.token, last=first.last)
    checks.ok(scene.rung([again]), "it finds its own among thousands of others'", again.events)
    checks.same(again.kinds(), ["note", "note", "drill"], "and nothing but its own")
    again.close()
    (quiet,) = listen(scene.server, scene.stranger_student.token)
    scene.server.write("DELETE FROM event WHERE number <= ?", number_of(again.last) - 1)
    (late,) = listen(scene.server, scene.coach.token, last=first.last)
    checks.same(late.names(), ["reset"], "what is too old is no longer kept: everything is to be read again")
    checks.ok(quiet.status == 200, "nobody minds", quiet.status)
    late.close()
    quiet.close()


def ends_with(checks, scene, label, end, token, **more):
    (stream,) = listen(scene.server, token, **more)
    checks.same(stream.names(), ["ready"], label + ": listens")
    end()
    scene.note()  # which must not be heard any more
    checks.ok(pump([stream], lambda each: each.ended or each.cut, 6), label + " ends the stream", stream.events)
    checks.same(stream.names(), ["ready", "ended"], label + ": and it says so, and nothing else")
    (after,) = listen(scene.server, token, last=stream.last, **more)
    checks.same(after.status, 401, label + ": coming again is refused")
    stream.close()
    after.close()


def ends(checks, scene):
    server, head = scene.server, scene.head
    def sign_in():
        return server.sign_in(scene.coach.sign_in_name, scene.coach.password)
    gone = sign_in()
    ends_with(checks, scene, "signing out", lambda: checks.status(gone.post("/v1/sign-out", key=None), 204, "signs out"), gone.token)
    lost = sign_in()
    mine = next(each["id"] for each in support.listed(lost.get("/v1/me/sessions")) if each["current"])
    ends_with(checks, scene, "ending the session elsewhere", lambda: checks.status(scene.coach.delete("/v1/me/sessions/" + mine), 204, "ends it"), lost.token)
    old = sign_in()
    digest = hashlib.sha256(old.token.encode()).digest()
    ends_with(checks, scene, "time", lambda: server.write("UPDATE session SET expires = 1 WHERE token_hash = ?", digest), old.token)
    idle = sign_in()
    digest = hashlib.sha256(idle.token.encode()).digest()
    ends_with(checks, scene, "nobody using it", lambda: server.write("UPDATE session SET last_seen = 1 WHERE token_hash = ?", digest), idle.token)
    tablet = head.post("/v1/devices", {"name": "Bay 9"}).json
    there = server.sign_in(scene.coach.sign_in_name, scene.coach.password, device=tablet["token"])
    def revoke():
        now = head.get("/v1/devices/" + tablet["id"])
        checks.status(head.patch("/v1/devices/" + tablet["id"], {"revoked": True}, match=now.header("ETag")), 200, "the tablet is revoked")
    ends_with(checks, scene, "revoking the tablet", revoke, there.token)
    leaver_id, leaver = server.account(head, "coach", "leaver")
    def disable():
        now = head.get("/v1/accounts/" + leaver_id)
        checks.status(head.patch("/v1/accounts/" + leaver_id, {"disabled": True}, match=now.header("ETag")), 200, "the account is disabled")
    ends_with(checks, scene, "disabling the account", disable, leaver.token)
    cookie = server.client().request("POST", "/v1/sign-in", {"sign_in": scene.coach.sign_in_name, "password": scene.coach.password, "cookie": True},
                                     headers={"Origin": "http://127.0.0.1:%d" % server.port, "Host": "127.0.0.1:%d" % server.port, "Sec-Fetch-Site": "same-origin"})
    token = re.search(r"leadside_session=([^;]+)", cookie.header("Set-Cookie") or "")
    if checks.ok(token, "a page signs in", cookie.body):
        digest = hashlib.sha256(token.group(1).encode()).digest()
        ends_with(checks, scene, "a page's session", lambda: server.write("UPDATE session SET revoked = 1 WHERE token_hash = ?", digest), token.group(1), cookie=True)


def rights_of_the_moment(checks, scene):
    joiner_id, joiner = scene.server.account(scene.head, "coach", "joiner")
    team = "/v1/students/%s/team/%s" % (scene.own, joiner_id)
    (stream,) = listen(scene.server, joiner.token)
    scene.note()
    checks.ok(scene.rung([stream]), "the bell", stream.events)
    checks.status(scene.head.put(team), 204, "a coach joins")
    scene.note()
    pump([stream], lambda each: each.kinds()[1:] == ["students", "note"], 5)
    checks.same(stream.kinds(), ["drill", "students", "note"], "whoever joins hears of it, and of what comes then")
    checks.status(scene.head.delete(team), 204, "and leaves")
    scene.note()
    scene.bell()
    pump([stream], lambda each: each.kinds().count("drill") == 2, 5)
    checks.same(stream.kinds(), ["drill", "students", "note", "students", "drill"], "whoever left hears that the own list changed, and nothing more of that student")
    checks.ok(all(data["student_id"] is None for data in stream.changes() if data["kind"] == "students"), "without a name of whom", stream.changes())
    (again,) = listen(scene.server, joiner.token, last=stream.events[2][0])
    checks.ok(scene.rung([again]), "it resumes", again.events)
    checks.ok("note" not in again.kinds(), "rights are those of the moment something is told: what one may no longer see isn't, though it happened when one did", again.kinds())
    stream.close()
    again.close()


def limits(checks, scene):
    full = listen(scene.server, *[scene.student.token] * 9)
    checks.same(sorted(each.status for each in full), [200] * 8 + [429], "an account may listen in eight places")
    checks.ok(any("Retry-After" in each.head for each in full if each.status == 429), "the ninth hears when to come again")
    for each in full:
        each.close()
    time.sleep(2.5)
    (after,) = listen(scene.server, scene.student.token)
    checks.same(after.status, 200, "those who hang up make room soon")
    after.close()


def made_id():
    text = secrets.token_hex(16)
    return "%s-%s-7%s-8%s-%s" % (text[:8], text[8:12], text[13:16], text[17:20], text[20:])


def many(server, sql, rows):
    database = sqlite3.connect(server.data + "/leadside.db", timeout=10)
    try:
        database.execute("PRAGMA wal_autocheckpoint = 0")  # only the server seals the pages that it folds in
        with database:
            database.executemany(sql, rows)
    finally:
        database.close()


def bulk_accounts(server, count, students):
    """Coaches with a session each, straight into the file, each of one student in turn: [token]."""
    now = int(time.time() * 1000)
    made = [(made_id(), made_id(), secrets.token_urlsafe(32), students[n % len(students)]) for n in range(count)]
    many(server, "INSERT INTO account (id, role, name, sign_in, sign_in_key, created) VALUES (?1, 'coach', ?1, ?1, ?1, 1)", [each[:1] for each in made])
    many(server, "INSERT INTO audit (id, at, action, object_kind, object_id) VALUES (?, 1, 'account.create', 'account', ?)", [(each[1], each[0]) for each in made])
    many(server, "INSERT INTO session (token_hash, id, account_id, kind, created, last_seen, expires, idle_ms) VALUES (?, ?, ?, 'bearer', ?, ?, ?, 36000000)",
         [(hashlib.sha256(token.encode()).digest(), session, account, now, now, now + 36000000) for account, session, token, _ in made])
    many(server, "INSERT INTO team (account_id, student_id, created) VALUES (?, ?, 1)", [(each[0], each[3]) for each in made])
    return [each[2] for each in made]


def fixes_happen(server, count, student):
    """So many rows of the audit about one student."""
    many(server, "INSERT INTO audit (id, at, action, object_kind, object_id, student_id) VALUES (?1, 0, 'fix.change', 'fix', ?1, ?2)", [(made_id(), student) for _ in range(count)])


def crowd(checks, scene, count=500):
    server = scene.server
    tokens = bulk_accounts(server, (count + 7) // 8, [scene.own, scene.other])
    everybody = [tokens[n % len(tokens)] for n in range(count)]
    warm = listen(server, *everybody[:32])
    for each in warm:
        each.close()
    time.sleep(2.5)
    before = resident(server.process.pid)
    streams = listen(server, *everybody)
    checks.same([each.status for each in streams].count(200), count, "%d listen at once" % count)
    time.sleep(1)
    each_kib = (resident(server.process.pid) - before) * 1024 / count
    print("        %.1f KiB for each of %d listeners" % (each_kib, count), flush=True)
    if support.sanitized(server):
        checks.skip("what a listener costs", "a sanitized build's memory says nothing")
    else:
        checks.ok(each_kib < 20, "a listener costs less than 20 KiB", each_kib)
    threads = len(os.listdir("/proc/%d/task" % server.process.pid))
    checks.ok(threads < 40, "and no thread", threads)
    began = time.monotonic()
    for _ in range(20):
        checks.ok(scene.head.get("/v1/inbox").status == 200, "others are served as ever")
    print("        %.1f ms a request beside them" % ((time.monotonic() - began) * 50), flush=True)
    scene.note()
    began = time.monotonic()
    checks.ok(scene.rung(streams), "all hear the bell")
    print("        %.0f ms until all %d had heard" % ((time.monotonic() - began) * 1000, count), flush=True)
    wrong = [each.kinds() for n, each in enumerate(streams) if each.kinds() != (["note", "drill"] if n % len(tokens) % 2 == 0 else ["drill"])]
    checks.same(wrong, [], "each hears its own, and nothing else")
    return streams


def slow(checks, scene, streams):
    """One takes nothing while much happens to its student; another listens to the same."""
    server = scene.server
    third = scene.head.post("/v1/students", {"name": "Third Student", "hand": "right"}).json["id"]
    lazy_token, quick_token = bulk_accounts(server, 2, [third])
    (lazy,) = listen(server, lazy_token, receive=4096)
    (quick,) = listen(server, quick_token)
    before = resident(server.process.pid)
    for _ in range(4):
        fixes_happen(server, 5000, third)
    checks.ok(pump([quick], lambda each: len(each.changes()) == 20000, 60), "the quick one hears all of it", len(quick.changes()))
    checks.ok(scene.rung([quick], 30), "and the bell", quick.kinds()[-1:])
    checks.ok(pump(streams, lambda each: each.kinds().count("drill") == 2 or each.cut, 30), "and so do the others", [each.kinds() for each in streams][:3])
    grown = resident(server.process.pid) - before
    print("        %.2f MiB more while one takes nothing" % grown, flush=True)
    if not support.sanitized(server):
        checks.ok(grown < 4, "what one does not take is not kept for it", grown)
    time.sleep(8)  # the deadline of this server is 5 s
    checks.ok(pump([lazy], lambda each: each.cut, 20), "one that takes nothing is cut off in the end", lazy.beats)
    got = heard(lazy)
    checks.ok(got == sorted(set(got)) and 0 < len(got) < 20000, "after some of it", len(got))
    (again,) = listen(server, lazy_token, last=lazy.last)
    checks.ok(pump([again], lambda each: "drill" in each.kinds(), 60), "it comes again", len(again.changes()))
    checks.same(len(got) + len([kind for kind in again.kinds() if kind == "fix"]), 20000, "and has missed nothing, and heard nothing twice")
    for each in (lazy, quick, again):
        each.close()


def all_told(checks, scene, streams):
    began = time.monotonic()
    scene.server.process.send_signal(15)
    checks.ok(pump(streams, lambda each: each.ended, 15), "all %d are told, and their answers come to an end" % len(streams), [each.names() for each in streams if not each.ended][:3])
    checks.same([each.names()[-1] for each in streams if each.names()[-1] != "stopping"], [], "that the server stops")
    status = scene.server.process.wait(30)
    spent = time.monotonic() - began
    print("        stopped in %.1f s" % spent, flush=True)
    checks.ok(status == 0 and spent < 10, "and it stops soon", (status, spent))
    for each in streams:
        each.close()


def few_connections(checks):
    server = Server(checks, options=["--connections", "20"])
    head = server.sign_in()
    _, coach = server.account(head, "coach", "coach.one")
    streams = listen(server, *[head.token] * 8, *[coach.token] * 4)
    checks.same(sorted(each.status for each in streams), [200] * 10 + [503] * 2, "half of the connections may listen")
    checks.ok(all("Retry-After" in each.head for each in streams if each.status == 503), "the others hear when to come again")
    checks.status(server.client().get("/healthz"), 200, "and there is room for who asks")
    began = time.monotonic()
    checks.ok(pump(streams[:1], lambda each: each.beats > 0, 32), "a silent stream beats", streams[0].events)
    print("        after %.0f s" % (time.monotonic() - began), flush=True)
    checks.same(streams[0].names(), ["ready"], "which is no event")
    for each in streams:
        each.close()
    server.end()


def main():
    checks = Checks("test_events")
    few_connections(checks)
    server = Server(checks, options=["--no-throttle", "--deadline", "5"])
    scene = Scene(server)
    checks.parts([who_hears, resumes, many_behind, ends, rights_of_the_moment, limits], scene)
    streams = crowd(checks, scene)
    slow(checks, scene, streams)
    all_told(checks, scene, streams)
    server.start()
    server.end()
    checks.finish()


if __name__ == "__main__":
    main()
