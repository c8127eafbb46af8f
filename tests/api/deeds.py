"""Deeds: requests that change something, each with what must be in the file when it was done and when it was not. Most change several
rows in one: an offer and its line in the inbox, a swing and its report, an erasure and its line in the ledger. They are sent by
crash_kill.py, which kills the server in their midst, and by tests/long/power_cut.py, which takes the power away."""
import http.client
import json
import random
import threading
import time

import support

CLIENTS = 6
FAULT = "across_the_line"


class Deed:
    """A request, and what must be in the file when it was done and when it was not: [(query, arguments, done, not done)]."""

    def __init__(self, kind, who, method, path, body, proof, match=None, content_type="application/json"):
        self.kind, self.who, self.method, self.path, self.proof, self.match = kind, who, method, path, proof, match
        self.body = body if body is None or isinstance(body, bytes) else body.encode() if isinstance(body, str) else json.dumps(body).encode()
        self.key, self.content_type = support.fresh_key(), content_type

    def send(self, port):
        # straight to a connection of its own: a test of lost answers must never resend by itself
        line = http.client.HTTPConnection("127.0.0.1", port, timeout=20)
        headers = {"Authorization": "Bearer " + self.who.token, "Content-Type": self.content_type}
        if self.match:
            headers["If-Match"] = self.match
        elif self.method == "POST":
            headers["Idempotency-Key"] = self.key
        try:
            line.request(self.method, self.path, self.body, headers)
            answer = line.getresponse()
            return support.Reply(answer.status, answer.getheaders(), answer.read())
        finally:
            line.close()

    def state(self, server):
        """True: all of it is there; False: nothing is; a sentence: half of it."""
        seen = [(server.query(query, *arguments)[0][0], done, undone) for query, arguments, done, undone in self.proof]
        if all(count == done for count, done, _ in seen):
            return True
        if all(count == undone for count, _, undone in seen):
            return False
        return "%s is there by half: %s" % (self.kind, seen)


def count(table, where, *arguments, done=1, undone=0):
    return ("SELECT count(*) FROM %s WHERE %s" % (table, where), arguments, done, undone)


def document(value):
    return {"schema": "leadside.swing/1", "hand": "right", "club": {"kind": "iron"},
            "recorded_at": "2026-05-02T09:%02d:%02dZ" % (random.randrange(60), random.randrange(60)),
            "measured": [{"measure": "shaft_cross", "checkpoint": "top", "value": value, "sd": 2}]}


class Club:
    """Who does what; the family of one student, whose drill is made for it to be ticked."""

    def __init__(self, server):
        self.server, self.head = server, server.sign_in()
        self.ids, self.coaches, self.confirmed = {}, {}, time.monotonic()
        for name in ("ada", "bert"):
            self.ids[name], self.coaches[name] = server.account(self.head, "coach", name)
        self.ticked = []  # (student client, student, homework), a drill each
        for n in range(CLIENTS):
            student = self.student("Ticking %d" % n)
            _, family = server.account(self.head, "student", "ticking%d" % n, student_id=student)
            fix = self.fix(student)
            self.ticked.append((family, student, fix["homework"][0]["id"]))

    def clients(self):
        return [self.head, *self.coaches.values(), *(family for family, _, _ in self.ticked)]

    def moved_to(self, port):
        for client in self.clients():
            client.port = port
            client.close()

    def deeds(self, number):
        """The next CLIENTS of them in turn."""
        if time.monotonic() - self.confirmed > 300:  # what asks for a proof of the last ten minutes gets one
            self.confirmed = time.monotonic()
            self.must(self.head.request("POST", "/v1/me/confirm", {"password": support.HEAD["password"]}))
            for coach in self.coaches.values():
                self.must(coach.request("POST", "/v1/me/confirm", {"password": coach.password}))
        return [getattr(self, KINDS[(number * CLIENTS + n) % len(KINDS)])(n) for n in range(CLIENTS)]

    def must(self, reply, *statuses):
        if reply.status not in (statuses or (200, 201, 204)):
            raise RuntimeError("%d %s" % (reply.status, reply.body[:300]))
        return reply.json if reply.body else None

    def student(self, name, coaches=("ada",), **more):
        student = self.must(self.head.post("/v1/students", {"name": name, "hand": "right", **(more or {"birth_year": 1980})}))["id"]
        for coach in coaches:
            self.must(self.head.put("/v1/students/%s/team/%s" % (student, self.ids[coach])))
        return student

    def junior(self, name):
        return self.student(name, birth_year=2015, consent={"by": "Rowan"})

    def go_on(self, homework):
        work = self.must(self.head.get("/v1/homework/" + homework))
        if work["paused"]:
            self.must(self.head.patch("/v1/homework/" + homework, {"paused": False, "reason": "pain free"}, match='"%d"' % work["version"]))

    def fix(self, student):
        return self.must(self.head.post("/v1/students/%s/fixes" % student, {"fault": FAULT, "reason": "seen", "overrule": "for this test"}))

    # ---- deeds: each is begun while the server stands, and one request is what is killed ----

    def offered(self, n):
        student = self.student("Offered")
        of_it = "handover_id IN (SELECT id FROM handover WHERE student_id = ?)"
        return Deed("an offer", self.coaches["ada"], "POST", "/v1/students/%s/handovers" % student, {"to": self.ids["bert"], "note": "Away.", "stays": True},
                    [count("handover", "student_id = ? AND status = 'offered'", student), count("inbox", of_it + " AND account_id = ?", student, self.ids["bert"]),
                     count("audit", "student_id = ? AND action = 'handover.create'", student)])

    def handover(self, n, stays=False):
        student = self.student("Handed over")
        made = self.must(self.coaches["ada"].post("/v1/students/%s/handovers" % student, {"to": self.ids["bert"], "note": "Away.", "stays": stays}))
        team = "student_id = ? AND account_id = ?"
        return Deed("a hand-over" + (" of one who stays" if stays else ""), self.coaches["bert"], "PATCH", "/v1/handovers/" + made["id"], {"status": "accepted"},
                    [count("team", team, student, self.ids["bert"]), count("team", team, student, self.ids["ada"], done=int(stays), undone=1),
                     count("handover", "id = ? AND status = 'accepted'", made["id"]),
                     count("inbox", "handover_id = ? AND kind = 'handover_accepted'", made["id"]),
                     count("audit", "student_id = ? AND action = 'handover.accept'", student)], match='"%d"' % made["version"])

    def stays(self, n):
        return self.handover(n, stays=True)

    def opinion(self, n):
        student = self.student("Looked at")
        swing = self.must(self.head.post("/v1/students/%s/swings" % student, document(20)))["id"]
        return Deed("an opinion", self.coaches["ada"], "PUT", "/v1/swings/%s/opinion" % swing, {FAULT: "present", "laid_off": "absent"},
                    [count("look", "swing_id = ?", swing), count("audit", "student_id = ? AND action = 'opinion.give'", student)])

    def pain(self, n):
        family, student, homework = self.ticked[n]
        self.go_on(homework)
        word = "it hurt " + support.fresh_key()
        return Deed("pain", family, "POST", "/v1/homework/%s/done" % homework, {"comment": word, "pain": {"area": "wrist", "level": 6}},
                    [count("homework_done", "comment = ?", word),
                     count("homework", "id = ? AND paused_at IS NOT NULL", homework),
                     count("inbox", "done_id IN (SELECT id FROM homework_done WHERE comment = ?)", word)])

    def consent(self, n):
        student = self.student("Asked")
        return Deed("a consent", self.head, "POST", "/v1/students/%s/consents" % student, {"scope": "teach_with", "by": "The student"},
                    [count("consent", "student_id = ? AND scope = 'teach_with'", student),
                     count("audit", "student_id = ? AND action LIKE 'consent%'", student)])

    def asked(self, n):
        student = self.junior("Asked for")
        return Deed("a consent that is asked for", self.coaches["ada"], "POST", "/v1/students/%s/requests" % student, {"scope": "teach_with"},
                    [count("consent_request", "student_id = ? AND answered_at IS NULL", student),
                     count("inbox", "request_id IN (SELECT id FROM consent_request WHERE student_id = ?)", student),
                     count("audit", "student_id = ? AND action = 'consent.ask'", student)])

    def invited(self, n):
        student, name = self.junior("Whose family comes"), "family." + support.fresh_key()[:20]
        made = "(SELECT id FROM account WHERE sign_in = ?)"
        return Deed("a family", self.coaches["ada"], "POST", "/v1/accounts", {"role": "guardian", "name": "Rowan", "sign_in": name, "students": [student]},
                    [count("account", "sign_in = ?", name), count("guardian", "student_id = ? AND account_id = " + made, student, name),
                     count("audit", "action = 'account.create' AND object_id = " + made, name)])

    def turned(self, kind, before, status, looks):
        """A fix of two coaches that was opened (and ended, where it is to be open again) is ended, or opened again."""
        student = self.student("Of two", ("ada", "bert"))
        fix = self.fix(student)
        for step in before:
            fix = self.must(self.head.patch("/v1/fixes/" + fix["id"], {"status": step, "reason": "x"}, match='"%d"' % fix["version"]))
        now, why = len(before), {"overrule": "for this test"} if status == "open" else {}
        return Deed(kind, self.coaches["ada"], "PATCH", "/v1/fixes/" + fix["id"], {"status": status, "reason": "it is so", **why},
                    [count("fix", "id = ? AND status = ? AND reason = 'it is so'", fix["id"], status),
                     count("fix_event", "fix_id = ?", fix["id"], done=now + 2, undone=now + 1),
                     count("inbox", "fix_id = ? AND kind IN ('fix_changed', 'fix_conflict') AND by_id = ?", fix["id"], self.ids["ada"]),
                     count("retest", "fix_id = ? AND ended_at IS NULL", fix["id"], done=looks, undone=1 - looks),
                     count("audit", "object_id = ? AND account_id = ?", fix["id"], self.ids["ada"])], match='"%d"' % fix["version"])

    def closed(self, n):
        return self.turned("a fix that ends", (), "closed", 0)

    def reopened(self, n):
        return self.turned("a fix that is opened again", ("closed",), "open", 1)

    def imported(self, n):
        name = "Row " + support.fresh_key()
        rows = "name,hand,birth_year,coach\n" + "".join("%s %d,right,1990,ada\n" % (name, i) for i in range(5))
        like = name + " %"
        return Deed("an import", self.head, "POST", "/v1/import/students", rows,
                    [count("student", "name LIKE ?", like, done=5), count("team", "student_id IN (SELECT id FROM student WHERE name LIKE ?)", like, done=5),
                     count("audit", "student_id IN (SELECT id FROM student WHERE name LIKE ?) AND action = 'student.create'", like, done=5)],
                    content_type="text/csv")

    def moved(self, n):
        student = self.student("Planned")
        self.fix(student)
        planned = self.must(self.head.get("/v1/students/%s/retests" % student))["retests"][0]
        due = time.strftime("%Y-%m-%dT%H:%M:%SZ", time.gmtime(time.time() + 5 * 86400))
        return Deed("a planned look", self.coaches["ada"], "PATCH", "/v1/retests/" + planned["id"], {"due_at": due, "reason": "here on Friday"},
                    [count("retest", "id = ? AND moved_reason IS NOT NULL", planned["id"]),
                     ("SELECT count(*) = 0 FROM homework WHERE student_id = ? AND retest_at >= ?", (student, int((time.time() + 6 * 86400) * 1000)), 1, 0),
                     count("audit", "student_id = ? AND action LIKE 'retest%'", student)], match='"%d"' % planned["version"])

    def note(self, n):
        student, text = self.student("Told"), "words " + support.fresh_key()
        return Deed("a note", self.coaches["ada"], "POST", "/v1/students/%s/notes" % student, {"text": text, "readers": ["student"]},
                    [count("note", "text = ?", text), count("audit", "student_id = ? AND action LIKE 'note%'", student)])

    def round(self, n):
        family, student, _ = self.ticked[n]
        played = time.strftime("%Y-%m-%dT%H:%M:%SZ", time.gmtime(1.7e9 + random.randrange(9 * 10 ** 7)))
        shots = [{"hole": 1 + k // 3, "start": "right", "curve": "straight", "strike": "flush"} for k in range(27)]
        made = ("SELECT count(*) FROM round WHERE student_id = ? AND count = 27 AND holes = 9 AND strftime('%Y-%m-%dT%H:%M:%SZ', played_at / 1000, 'unixepoch') = ?",
                (student, played), 1, 0)
        return Deed("a round", family, "POST", "/v1/students/%s/rounds" % student, {"played_at": played, "shots": shots},
                    [made, count("audit", "action = 'round.create' AND object_id IN (SELECT id FROM round WHERE student_id = ? AND strftime('%Y-%m-%dT%H:%M:%SZ', played_at / 1000, 'unixepoch') = ?)",
                                 student, played)])

    def account(self, n):
        name = "made." + support.fresh_key()[:20]
        return Deed("an account", self.head, "POST", "/v1/accounts", {"role": "coach", "sign_in": name, "name": "Made"},
                    [count("account", "sign_in = ?", name), count("audit", "object_id = (SELECT id FROM account WHERE sign_in = ?)", name)])

    def leave(self, n):
        made = self.must(self.head.post("/v1/accounts", {"role": "coach", "sign_in": "goes." + support.fresh_key()[:20], "name": "Goes"}))
        student = self.must(self.head.post("/v1/students", {"name": "Left", "hand": "right", "birth_year": 1980}))["id"]
        self.must(self.head.put("/v1/students/%s/team/%s" % (student, made["id"])))
        return Deed("a leaving", self.head, "POST", "/v1/accounts/%s/leave" % made["id"], {"heirs": [{"account_id": self.ids["bert"]}]},
                    [count("account", "id = ? AND disabled", made["id"]), count("team", "student_id = ? AND account_id = ?", student, self.ids["bert"]),
                     count("team", "account_id = ?", made["id"], done=0, undone=1),
                     count("handover", "student_id = ? AND status = 'accepted'", student),
                     count("inbox", "student_id = ? AND account_id = ?", student, self.ids["bert"])])

    # ---- what happens to swings ----

    def swing(self, student, body=None):
        return self.must(self.head.post("/v1/students/%s/swings" % student, body or document(20)))["id"]

    def upload(self, n):
        student = self.student("Filmed", ())
        of_it = "swing_id IN (SELECT id FROM swing WHERE student_id = ?)"
        return Deed("a swing", self.head, "POST", "/v1/students/%s/swings" % student, support.numbered(random.randrange(10 ** 6)),
                    [count("swing", "student_id = ?", student), count("report", of_it, student),
                     count("audit", "student_id = ? AND action = 'swing.create'", student)])

    def still(self, n):
        student = self.student("Pictured", ())
        swing = self.swing(student, support.numbered(n))
        return Deed("a still", self.head, "PUT", "/v1/swings/%s/stills/face_on-top" % swing, support.png(64, 48),
                    [count("still", "swing_id = ? AND length(picture) = picture_size", swing),
                     ("SELECT count(*) > 0 FROM audit WHERE student_id = ? AND action = 'still.put'", (student,), 1, 0)], content_type="image/png")

    def lesson(self, n):
        student = self.student("Taught", ())
        swings = [self.swing(student) for _ in range(2)]
        return Deed("a lesson", self.head, "POST", "/v1/students/%s/lessons" % student, {"held_at": "2026-05-02T09:00:00Z", "swings": swings},
                    [count("lesson", "student_id = ?", student), count("swing", "student_id = ? AND lesson_id IS NOT NULL", student, done=2),
                     count("report", "lesson_id IN (SELECT id FROM lesson WHERE student_id = ?)", student),
                     count("audit", "student_id = ? AND action = 'lesson.create'", student)])

    def marks(self, n):
        student = self.student("Marked anew", ())
        swing = self.swing(student)
        return Deed("corrected marks", self.head, "PUT", "/v1/swings/%s/marks" % swing, {"document": document(21), "reason": "one frame late"},
                    [count("swing_edit", "swing_id = ? AND revision = 2", swing), count("revision", "swing_id = ?", swing),
                     count("report", "swing_id = ?", swing, done=2, undone=1),
                     count("audit", "student_id = ? AND action = 'swing.correct'", student)], match='"1"')

    def void(self, n):
        student = self.student("Practising", ())
        swing = self.swing(student)
        return Deed("a swing set aside", self.head, "POST", "/v1/swings/%s/void" % swing, {"reason": "a practice swing"},
                    [count("swing_edit", "swing_id = ? AND void_at IS NOT NULL", swing), count("audit", "student_id = ? AND action = 'swing.void'", student)])

    def move(self, n):
        student, other = self.student("Taken for another", ()), self.student("The other", ())
        swing = self.swing(student)
        return Deed("a swing that is another's", self.head, "POST", "/v1/swings/%s/move" % swing, {"student_id": other, "reason": "stood there"},
                    [count("swing", "id = ? AND student_id = ?", swing, other), count("report", "swing_id = ?", swing, done=1, undone=1),
                     count("audit", "object_id = ? AND action = 'swing.move'", swing, done=2)])

    # ---- the club's own ----

    def erased(self, n):
        student = self.student("Forgotten", ())
        self.swing(student)
        return Deed("an erasure", self.head, "DELETE", "/v1/students/" + student, None,
                    [count("student", "id = ?", student, done=0, undone=1), count("swing", "student_id = ?", student, done=0, undone=1),
                     count("ended", "kind = 'student' AND object_id = ?", student), count("audit", "object_id = ? AND action = 'student.erase'", student)])

    def joined(self, n):
        student = self.student("Joined", ())
        return Deed("a team", self.head, "PUT", "/v1/students/%s/team/%s" % (student, self.ids["bert"]), None,
                    [count("team", "student_id = ? AND account_id = ?", student, self.ids["bert"]),
                     ("SELECT count(*) > 0 FROM audit WHERE student_id = ? AND action = 'team.add'", (student,), 1, 0)])

    def tick(self, n):
        family, student, homework = self.ticked[n]
        self.go_on(homework)
        word = "went well " + support.fresh_key()
        return Deed("a tick", family, "POST", "/v1/homework/%s/done" % homework, {"comment": word},
                    [count("homework_done", "comment = ?", word), count("inbox", "done_id IN (SELECT id FROM homework_done WHERE comment = ?)", word)])

    def drill(self, n):
        name = "Drill " + support.fresh_key()
        return Deed("a drill", self.head, "POST", "/v1/drills",
                    {"name": name, "faults": ["chicken_wing"], "how_to": "Slowly.", "feel": "Heavy.", "kit": ["club"], "place": ["range"], "ball": False, "loads": [], "minutes": 10},
                    [count("drill", "name = ?", name), count("audit", "object_id = (SELECT id FROM drill WHERE name = ?)", name)])

    def device(self, n):
        name = "Bay " + support.fresh_key()
        return Deed("a tablet", self.head, "POST", "/v1/devices", {"name": name},
                    [count("device", "name = ?", name), count("audit", "object_id = (SELECT id FROM device WHERE name = ?)", name)])

    def standard(self, n):
        now, label = self.head.get("/v1/standard"), "Ours " + support.fresh_key()
        kept = self.server.query("SELECT count(*) FROM audit WHERE action = 'standard.replace'")[0][0]
        return Deed("a standard", self.head, "PUT", "/v1/standard", {**now.json["standard"], "version": label},
                    [count("standard", "label = ?", label),
                     ("SELECT count(*) FROM audit WHERE action = 'standard.replace'", (), kept + 1, kept)], match=now.header("ETag"))


KINDS = ("offered", "upload", "handover", "still", "stays", "lesson", "opinion", "marks", "pain", "void", "consent", "move", "asked", "erased", "invited", "joined",
         "closed", "tick", "reopened", "drill", "imported", "device", "moved", "standard", "note", "round", "account", "leave")
AGAIN = {"PATCH": (200, 412, 409), "PUT": (200, 204, 412), "POST": (200, 201, 204, 409), "DELETE": (204, 404)}


class Doer(threading.Thread):
    """Waits for the signal, then sends its deed. `reply` None: never answered."""

    def __init__(self, deed, port, go):
        super().__init__(daemon=True)
        self.deed, self.port, self.go, self.reply, self.odd = deed, port, go, None, None

    def run(self):
        self.go.wait()
        try:
            self.reply = self.deed.send(self.port)
        except OSError:
            pass
        except http.client.HTTPException:
            pass  # half an answer: the line broke while it was coming
        except Exception as error:  # pylint: disable=broad-except
            self.odd = repr(error)


class Uploader(threading.Thread):
    """Uploads swings of one student until the line breaks or it is told to stop. `waiting`: what was sent and never answered."""

    def __init__(self, who, student, port, halt):
        super().__init__(daemon=True)
        self.who, self.student, self.port, self.halt = who, student, port, halt
        self.answered, self.waiting, self.odd = {}, [], []

    def run(self):
        while not self.halt.is_set():
            deed = Deed("an upload", self.who, "POST", "/v1/students/%s/swings" % self.student, document(round(random.uniform(-30, 30), 3)), [])
            self.waiting = [deed]
            try:
                reply = deed.send(self.port)
            except (OSError, http.client.HTTPException):
                return
            self.waiting = []
            if reply.status == 201:
                self.answered[deed.key] = (reply.json["id"], deed)
            elif reply.status != 503:
                self.odd.append("an upload answered %d %s" % (reply.status, reply.body[:200]))


class Life:
    """Six deeds at once and swings uploaded beside them, begun, and left in their midst."""

    def __init__(self, club, number, students, ready=lambda: None):
        self.deeds, port = club.deeds(number), club.server.port
        self.go, self.halt = threading.Event(), threading.Event()
        self.doers = [Doer(deed, port, self.go) for deed in self.deeds]
        self.uploaders = [Uploader(club.head, student, port, self.halt) for student in students]
        for thread in self.doers + self.uploaders:
            thread.start()
        ready()
        self.go.set()
        time.sleep(random.choice((random.uniform(0, .004), random.uniform(.004, .04), random.uniform(.02, .3))))

    def over(self):
        self.halt.set()
        for thread in self.doers + self.uploaders:
            thread.join(30)


class Told:
    """What was told in all lives, whether it is there, and what is wrong."""

    def __init__(self, club):
        self.club, self.wrong, self.kinds, self.uploads = club, [], {}, {}
        self.answered = self.there = self.lost = 0

    def after(self, life):
        """Every deed and upload of a life, against the file of the server that came after it."""
        server = self.club.server
        for doer in life.doers:
            self.wrong += [doer.odd] if doer.odd else []
            self.deed(server, doer.deed, doer.reply)
        for uploader in life.uploaders:
            self.wrong += uploader.odd
            for key, (swing, deed) in uploader.answered.items():
                self.answered += 1
                if stored(server, key) != [swing]:
                    self.wrong.append("an upload was answered %s, the file has %s" % (swing, stored(server, key)))
                self.uploads[key] = swing
            for deed in uploader.waiting + [deed for _, deed in list(uploader.answered.values())[:1]]:
                self.again(server, deed, deed in uploader.waiting)

    def deed(self, server, deed, reply):
        state = deed.state(server)
        if isinstance(state, str):
            self.wrong.append(state)
        elif reply is not None:
            self.answered += 1
            if reply.status not in (200, 201, 204):
                self.wrong.append("%s answered %d %s" % (deed.kind, reply.status, reply.body[:200]))
            elif not state:
                self.wrong.append("%s was answered and is not there" % deed.kind)
        else:
            self.there, self.lost = self.there + state, self.lost + (not state)
            self.kinds.setdefault(deed.kind, set()).add(state)
            again = deed.send(server.port)
            if again.status not in AGAIN[deed.method] or deed.state(server) is not True:
                self.wrong.append("%s said again: %d %s, %s" % (deed.kind, again.status, again.body[:200], deed.state(server)))

    def again(self, server, deed, unheard):
        """An upload sent once more: the same swing if it was there, the one swing if it was not."""
        before = stored(server, deed.key)
        reply = deed.send(server.port)
        if reply.status != 201 or len(before) > 1 or stored(server, deed.key) != (before or [reply.json["id"]]):
            self.wrong.append("an upload said again: %d %s, it was %s" % (reply.status, reply.body[:200], before))
            return
        if unheard:
            self.there, self.lost = self.there + bool(before), self.lost + (not before)
        self.uploads[deed.key] = reply.json["id"]

    def whole(self, students):
        """All uploads of all lives are there, and no other."""
        there = [row[0] for row in self.club.server.query(
            "SELECT s.id FROM swing s WHERE student_id IN (%s) AND EXISTS (SELECT 1 FROM report WHERE swing_id = s.id)" % ",".join("?" * len(students)), *students)]
        return sorted(there) == sorted(self.uploads.values())


def stored(server, key):
    return [row[0] for row in server.query("SELECT s.id FROM idempotency i JOIN swing s ON s.id = i.object_id WHERE i.key = ?", key)]
