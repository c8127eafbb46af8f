"""What people do in a day of the club (club_day.py), right and wrong, and what each of it must be answered."""
import http.client
import json
import os
import socket
import threading
import time

from disk import support
from oracle import COACH, FAMILY, GUARDIAN, HEAD, NOBODY, SECRET, STAFF, STUDENT, Student, Swing, digest

FAULTS = ("chicken_wing", "across_the_line", "laid_off")
PICTURES = [support.png(16 + 8 * n, 12) for n in range(4)]


class Line:
    """One connection at a time, kept while it lasts."""

    def __init__(self):
        self.connection, self.port = None, None

    def open(self, port):
        if self.connection is None or self.port != port:
            self.close()
            self.connection, self.port = http.client.HTTPConnection("127.0.0.1", port, timeout=60), port
        return self.connection

    def close(self):
        if self.connection is not None:
            self.connection.close()
            self.connection = None


def together(one, count):
    threads = [threading.Thread(target=one, args=(n,)) for n in range(count)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()


class People:
    """Who is asked by ask and sure of club_day.py's Day; world and head are its."""

    # ---- what people do: each holds the student's lock ----

    def read(self, line, draw, actor, student):
        path, roles, right = draw.choice(self.world.reads(student))
        self.look(line, actor, student, path, roles, right)

    def look(self, line, actor, student, path, roles, right):
        reply, _ = self.sure(line, actor, "GET", path)
        wanted = self.world.status(actor, student, roles)
        if self.expect(reply, wanted, "%s reads %s" % (actor.role, path)) and wanted == 200:
            try:
                good = right(actor, reply.json)
            except (KeyError, TypeError, ValueError) as error:
                good = repr(error)
            if good is not True:
                self.world.blame("%s reads %s and finds %s (%s)" % (actor.role, path, reply.body[:300], good))

    def still_read(self, line, draw, actor, student):
        places = [(swing, name, data) for swing, kept in student.swings.items() for name, data in kept.stills.items()]
        if places:
            swing, name, data = draw.choice(places)
            reply, _ = self.sure(line, actor, "GET", "/v1/swings/%s/stills/%s" % (swing, name))
            wanted = self.world.status(actor, student, STAFF + FAMILY, 200 if student.pictures else 403)
            if self.expect(reply, wanted, "%s looks at a still" % actor.role) and wanted == 200 and reply.body != data:
                self.world.blame("a still is another picture: %d bytes" % len(reply.body))

    def change(self, line, draw, actor, student):
        wants = "wants %s %d" % (student.mark, draw.randrange(10 ** 9))
        reply, again = self.sure(line, actor, "PATCH", "/v1/students/" + student.id, {"wants": wants}, match='"%d"' % student.version, cut=draw.random() < .05)
        wanted = self.world.status(actor, student, STAFF)
        if again and reply.status == 412 and wanted == 200:
            reply, _ = self.sure(line, self.head, "GET", "/v1/students/" + student.id)
        if self.expect(reply, wanted, "%s changes a student" % actor.role) and wanted == 200:
            if reply.json["wants"] != wants or reply.json["version"] != student.version + 1:
                self.world.blame("a change is not what was said: %s" % reply.body[:300])
            student.wants, student.version = wants, student.version + 1

    def race(self, line, draw, actor, student):
        """Three say something else of one version at the same moment: one at most is heard, and that is what stands."""
        said, answers, version = ["race %s %d" % (student.mark, draw.randrange(10 ** 9)) for _ in range(3)], [None] * 3, student.version

        def one(n):
            own = Line()
            answers[n] = self.ask(own, self.head, "PATCH", "/v1/students/" + student.id, {"wants": said[n]}, match='"%d"' % version)
            own.close()
        together(one, 3)
        now, _ = self.sure(line, self.head, "GET", "/v1/students/" + student.id)
        heard = [said[n] for n in range(3) if answers[n] is not None and answers[n].status == 200]
        unheard = [said[n] for n in range(3) if answers[n] is None or answers[n].status == 503]
        wants, version = now.json["wants"], now.json["version"]
        if len(heard) > 1 or (heard and (wants, version) != (heard[0], student.version + 1)) or (
                not heard and (wants, version) not in [(student.wants, student.version)] + [(text, student.version + 1) for text in unheard]):
            self.world.blame("a race: %s, then %s" % ([answer and answer.status for answer in answers], now.body[:300]))
        student.wants, student.version = wants, version

    def race_key(self, line, draw, actor, student):
        """One note sent by three at the same moment under one key."""
        key, text, answers = support.fresh_key(), "once %s" % student.mark, [None] * 3

        def one(n):
            own = Line()
            answers[n] = self.ask(own, self.head, "POST", "/v1/students/%s/notes" % student.id, {"text": text, "readers": []}, key=key)
            own.close()
        together(one, 3)
        last, _ = self.sure(line, self.head, "POST", "/v1/students/%s/notes" % student.id, {"text": text, "readers": []}, key=key)
        ids = {answer.json["id"] for answer in answers + [last] if answer is not None and answer.status == 201}
        if len(ids) != 1 or last.status != 201:
            self.world.blame("one key made %s" % ids)
        student.notes[ids.pop()] = (text, ())

    def make(self, line, draw, actor, student, path, body, roles, yes=201, **more):
        """A POST under a key, perhaps cut off and said again, perhaps said twice: what it made, or None."""
        key, what = support.fresh_key(), "%s makes %s" % (actor.role, path)
        reply, _ = self.sure(line, actor, "POST", path, body, key=key, cut=draw.random() < .04, **more)
        wanted = self.world.status(actor, student, roles, yes)
        if not self.expect(reply, wanted, what) or reply.status != 201:
            return None
        if draw.random() < .05:
            once_more, _ = self.sure(line, actor, "POST", path, body, key=key, **more)
            if once_more.status != 201 or once_more.json["id"] != reply.json["id"]:
                self.world.blame("%s, said again: %d %s" % (what, once_more.status, once_more.body[:200]))
        if draw.random() < .02:
            other, _ = self.sure(line, actor, "POST", path, {"something": "else"}, key=key)
            self.expect(other, (422, 409), what + ", the key for something else")
        return reply.json

    def note(self, line, draw, actor, student):
        readers = draw.choice(((), ("student",), ("student", "guardian"), ("guardian",)))
        if "student" in readers and "guardian" not in readers and student.junior:
            readers = ("student", "guardian")
        text = "note %s %d %s" % (student.mark, draw.randrange(10 ** 6), "" if readers else SECRET)
        if len(student.notes) < 190:
            made = self.make(line, draw, actor, student, "/v1/students/%s/notes" % student.id, {"text": text, "readers": list(readers)}, STAFF)
            if made:
                student.notes[made["id"]] = (text, readers)

    def upload(self, line, draw, actor, student):
        recorded = time.strftime("%Y-%m-%dT%H:%M:%SZ", time.gmtime(1767225600 + draw.randrange(10 ** 7)))
        if len(student.swings) < 190:
            allowed = 201 if student.pictures or not student.junior else 409
            made = self.make(line, draw, actor, student, "/v1/students/%s/swings" % student.id, support.document(recorded_at=recorded), STAFF, allowed)
            if made:
                student.swings[made["id"]] = Swing(recorded, digest(made["report"]))

    def still(self, line, draw, actor, student):
        if not student.swings:
            return
        swing, data, name = draw.choice(list(student.swings)), draw.choice(PICTURES), draw.choice(("face_on-top", "down_the_line-address", "face_on-impact"))
        reply, _ = self.sure(line, actor, "PUT", "/v1/swings/%s/stills/%s" % (swing, name), data, kind="image/png")
        wanted = self.world.status(actor, student, STAFF, 200 if student.pictures else 409)
        if self.expect(reply, wanted, "%s sends a still" % actor.role) and wanted == 200:
            student.swings[swing].stills[name] = data

    def still_away(self, line, draw, actor, student):
        places = [(swing, name) for swing, kept in student.swings.items() for name in kept.stills]
        if places:
            swing, name = draw.choice(places)
            reply, again = self.sure(line, actor, "DELETE", "/v1/swings/%s/stills/%s" % (swing, name))
            wanted = self.world.status(actor, student, STAFF, 204)
            if self.expect(reply, (wanted, 404) if again else wanted, "%s removes a still" % actor.role) or again and wanted == 204:
                if wanted == 204:
                    del student.swings[swing].stills[name]

    def lesson(self, line, draw, actor, student):
        free = [swing for swing, kept in student.swings.items() if not kept.voided and kept.lesson is None]
        if free and len(student.lessons) < 190:
            chosen, note = free[:3], "lesson %s %s" % (student.mark, SECRET)
            made = self.make(line, draw, actor, student, "/v1/students/%s/lessons" % student.id, {"held_at": "2026-05-02T09:00:00Z", "swings": chosen, "note": note}, STAFF)
            if made:
                student.lessons[made["id"]] = note
                for swing in chosen:
                    student.swings[swing].lesson = made["id"]

    def fix(self, line, draw, actor, student):
        kept = student.open_fix()
        if kept is None and len(student.fixes) < 190:
            body = {"fault": draw.choice(FAULTS), "reason": "seen " + student.mark, "overrule": SECRET}
            made = self.make(line, draw, actor, student, "/v1/students/%s/fixes" % student.id, body, STAFF)
            if made:
                student.fixes[made["id"]] = {"id": made["id"], "status": made["status"], "version": made["version"], "homework": [work["id"] for work in made["homework"]]}
        elif kept is not None and draw.random() < .3:
            reply, again = self.sure(line, actor, "PATCH", "/v1/fixes/" + kept["id"], {"status": "closed", "reason": "done " + student.mark}, match='"%d"' % kept["version"],
                                     cut=draw.random() < .05)
            wanted = self.world.status(actor, student, STAFF)
            if again and reply.status == 412 and wanted == 200:
                reply, _ = self.sure(line, self.head, "GET", "/v1/fixes/" + kept["id"])
            if self.expect(reply, wanted, "%s ends a fix" % actor.role) and wanted == 200:
                kept["status"], kept["version"] = reply.json["status"], kept["version"] + 1

    def tick(self, line, draw, actor, student):
        kept = student.open_fix()
        if kept and kept["homework"]:
            work = draw.choice(kept["homework"])
            made = self.make(line, draw, actor, student, "/v1/homework/%s/done" % work, {"comment": "went well " + student.mark}, FAMILY)
            if made:
                student.ticks.setdefault(work, set()).add(made["id"])

    def round(self, line, draw, actor, student):
        shots = [{"hole": 1, "start": "right", "curve": "straight", "strike": "flush"}] * draw.randrange(1, 9)
        if len(student.rounds) < 190:
            made = self.make(line, draw, actor, student, "/v1/students/%s/rounds" % student.id, {"shots": shots}, STAFF + FAMILY)
            if made:
                student.rounds[made["id"]] = (len(shots), actor)

    def round_away(self, line, draw, actor, student):
        if student.rounds:
            which = draw.choice(list(student.rounds))
            reply, again = self.sure(line, actor, "DELETE", "/v1/rounds/" + which)
            own = actor.role == HEAD or student.rounds[which][1] is actor
            wanted = self.world.status(actor, student, STAFF + FAMILY, 204 if own else 403)
            self.expect(reply, (wanted, 404) if again else wanted, "%s takes a round away" % actor.role)
            if wanted == 204:
                del student.rounds[which]

    def void(self, line, draw, actor, student):
        if student.swings:
            swing = draw.choice(list(student.swings))
            kept = student.swings[swing]
            reply, _ = self.sure(line, actor, "POST", "/v1/swings/%s/void" % swing, {"void": not kept.voided, "reason": "it was none"})  # goes with the swing to another student
            wanted = self.world.status(actor, student, STAFF)
            if self.expect(reply, wanted, "%s sets a swing aside" % actor.role) and wanted == 200:
                kept.voided = not kept.voided

    def consent(self, line, draw, actor, student):
        """A guardian takes back what was agreed, or agrees anew."""
        guardian = next((one for one in self.world.actors if one.role == GUARDIAN and self.world.sees(one, student)), None)
        if guardian is None:
            return
        path = "/v1/students/%s/consents" % student.id
        if student.pictures:
            reply, again = self.sure(line, guardian, "DELETE", path + "/store_pictures")
            self.expect(reply, (204, 404) if again else 204, "a guardian takes consent back")
            student.pictures = False
            refused, _ = self.sure(line, self.head, "POST", path, {"scope": "store_pictures", "by": "Rowan"}, key=support.fresh_key())
            self.expect(refused, 409, "staff can't give again what a guardian took back")
        elif self.make(line, draw, guardian, student, path, {"scope": "store_pictures"}, FAMILY):
            student.pictures = True

    def wrong(self, line, draw, actor, student):
        """Requests with something wrong in them: told what it is, and nothing changes (what is read later shows it)."""
        at = "/v1/students/" + student.id
        cases = (("POST", at + "/notes", b'{"text":', {"key": "k1"}, 400), ("POST", at + "/notes", {"text": 5}, {"key": support.fresh_key()}, 422),
                 ("POST", at + "/notes", {"text": "x", "color": 1}, {"key": support.fresh_key()}, 422), ("POST", at + "/notes", {"text": "x"}, {}, 400),
                 ("POST", at + "/notes", {"text": "x" * 70000}, {"key": support.fresh_key()}, 413), ("PATCH", at, {"wants": "x"}, {}, 428),
                 ("PATCH", at, {"wants": "x"}, {"match": '"%d"' % (student.version + 7)}, 412), ("PATCH", at, {"wants": "x"}, {"match": "3"}, 400),
                 ("PATCH", at, {"hand": "third"}, {"match": '"%d"' % student.version}, 422), ("GET", at + "?color=red", None, {}, 400),
                 ("DELETE", "/v1/students", None, {}, 405), ("POST", at + "/swings", {"schema": "leadside.swing/1"}, {"key": support.fresh_key()}, 422),
                 ("POST", at + "/swings", b"\xff\xfe", {"key": support.fresh_key()}, (400, 422)), ("GET", "/v1/students/nobody", None, {}, 404),
                 ("POST", at + "/fixes", {"fault": "yips"}, {"key": support.fresh_key()}, 422), ("POST", at + "/lessons", {"swings": []}, {"key": support.fresh_key()}, 422))
        method, path, body, more, wanted = draw.choice(cases)
        if path.endswith("/swings") and student.junior and not student.pictures:
            wanted = 409  # whatever it is
        reply, _ = self.sure(line, self.head, method, path, body, **more)
        self.expect(reply, wanted, "wrong: %s %s %s" % (method, path, str(body)[:60]))

    def half(self, line, draw, actor, student):
        """Headers and some of the body, or nonsense; then the line is cut."""
        body = json.dumps({"text": "never %s" % student.mark, "readers": []}).encode()
        top = ("POST /v1/students/%s/notes HTTP/1.1\r\nHost: x\r\nAuthorization: Bearer %s\r\nContent-Type: application/json\r\nIdempotency-Key: %s\r\nContent-Length: %d\r\n\r\n" % (
            student.id, self.head.token, support.fresh_key(), len(body))).encode()
        self.up.wait()
        with self.counting:
            self.sent += 1
        try:
            with socket.create_connection(("127.0.0.1", self.server.port), timeout=5) as raw:
                raw.sendall(draw.choice((top + body[:-draw.randrange(1, len(body))], top[:draw.randrange(1, len(top) - 4)], os.urandom(200), b"GET / HTTP/9.9\r\n\r\n")))
        except OSError:
            pass

    # ---- of several students, or of none ----

    def lists(self, line, draw, actor):
        path, roles, ids = draw.choice((
            ("/v1/students?limit=200", STAFF, lambda got: {one["id"] for one in got["students"]}), ("/v1/overview?limit=200", (HEAD,), lambda got: {one["student_id"] for one in got["students"]}),
            ("/v1/accounts?limit=200", (HEAD,), None), ("/v1/students/today", STAFF, None), ("/v1/inbox?limit=200", STAFF, None), ("/v1/audit", (HEAD,), None),
            ("/v1/retests?due_before=2027-12-01T00:00:00Z", STAFF, None), ("/v1/me", STAFF + FAMILY, None), ("/v1/drills?limit=200", STAFF + FAMILY, None),
            ("/v1/standard", STAFF, None), ("/v1/devices", (HEAD,), None)))
        reply, _ = self.sure(line, actor, "GET", path)
        wanted = 401 if actor.role == NOBODY else 200 if actor.role in roles else 403
        if self.expect(reply, wanted, "%s lists %s" % (actor.role, path)) and wanted == 200:
            if ids and ids(reply.json) != self.world.seen_by(actor):
                self.world.blame("%s lists %s: %d there, %d to be seen" % (actor.role, path, len(ids(reply.json)), len(self.world.seen_by(actor))))
            if path.startswith("/v1/accounts") and {one["id"] for one in reply.json["accounts"]} != self.world.accounts:
                self.world.blame("accounts: %s" % reply.body[:300])
            if path.startswith("/v1/inbox") and reply.json["inbox"] and draw.random() < .5:
                self.seen(line, actor, reply.json["inbox"][0]["id"])

    def seen(self, line, actor, item):
        reply, _ = self.sure(line, actor, "POST", "/v1/inbox/%s/seen" % item, {})
        if self.expect(reply, (204, 200), "%s has seen" % actor.role) or reply.status == 200:
            left, _ = self.sure(line, actor, "GET", "/v1/inbox?limit=200")
            if item in [one["id"] for one in left.json["inbox"]]:
                self.world.blame("what %s has seen is still there" % actor.role)

    def homework(self, line, draw, actor):
        child = actor.student if actor.role == STUDENT else draw.choice(actor.children) if actor.role == GUARDIAN else None
        if child is not None:
            with child.lock:
                reply, _ = self.sure(line, actor, "GET", "/v1/me/homework" + ("?student=" + child.id if actor.role == GUARDIAN else ""))
                wanted = set((child.open_fix() or {"homework": []})["homework"])
                if self.expect(reply, 200, "own homework") and {work["id"] for work in reply.json["homework"]} != wanted:
                    self.world.blame("%s's own homework: %s" % (actor.role, reply.body[:300]))

    # ---- who is tied to whom: alone ----

    def tie(self, line, draw):
        student, coach = draw.choice(self.world.students), draw.choice([one for one in self.world.actors if one.role == COACH][:-1])  # the last is of no team
        path = "/v1/students/%s/team/%s" % (student.id, coach.id)
        if coach.id in student.team:
            reply, again = self.sure(line, self.head, "DELETE", path)
            self.expect(reply, (204, 404) if again else 204, "a coach leaves a team")
            student.team.discard(coach.id)
        else:
            reply, _ = self.sure(line, self.head, "PUT", path)
            self.expect(reply, 204, "a coach joins a team")
            student.team.add(coach.id)

    def come(self, line, draw, junior=False, family=False):
        student = Student(junior, family)
        self.world.students.append(student)
        reply, _ = self.sure(line, self.head, "POST", "/v1/students", student.new(), key=support.fresh_key(), cut=draw.random() < .2)
        if self.expect(reply, 201, "a student comes"):
            student.id = reply.json["id"]
        return student

    def go(self, line, draw):
        leaving = [one for one in self.world.students if not one.family]
        if len(leaving) > 20:
            student = draw.choice(leaving)
            self.confirm(line)
            reply, again = self.sure(line, self.head, "DELETE", "/v1/students/" + student.id)
            self.expect(reply, (204, 404) if again else 204, "a student is erased")
            student.gone = True
            self.world.students.remove(student)
            self.world.gone.append(student)

    def confirm(self, line):
        if time.monotonic() - self.confirmed > 300:
            self.confirmed = time.monotonic()
            reply, _ = self.sure(line, self.head, "POST", "/v1/me/confirm", {"password": support.HEAD["password"]})
            self.expect(reply, 204, "the head confirms")

    def move(self, line, draw):
        """A swing turns out to be another student's."""
        giver, taker = draw.sample(self.world.students, 2)
        actor = draw.choice(self.world.actors)
        if not giver.swings or len(taker.swings) > 180:
            return
        swing = draw.choice(list(giver.swings))
        reply, _ = self.sure(line, actor, "POST", "/v1/swings/%s/move" % swing, {"student_id": taker.id, "reason": "stood there"})
        may = taker.pictures or not (taker.junior or giver.swings[swing].stills)
        wanted = self.world.status(actor, giver, STAFF, 404 if not self.world.sees(actor, taker) else 200 if may else 409)
        if self.expect(reply, wanted, "%s moves a swing" % actor.role) and wanted == 200:
            kept = giver.swings.pop(swing)
            report, _ = self.sure(line, self.head, "GET", "/v1/swings/%s/report" % swing)
            kept.report, kept.lesson = digest(report.json), None
            taker.swings[swing] = kept
