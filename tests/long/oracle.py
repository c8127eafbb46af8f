"""What must be there, and who may see it: held beside the server by whoever asks it, written from the house's rules (docs/api.md) and never
read from the server. A student's lock is held while something of that student is asked or changed; who is tied to whom changes only
while nobody asks anything."""
import contextlib
import hashlib
import json
import re
import threading

HEAD, COACH, STUDENT, GUARDIAN, NOBODY = "head", "coach", "student", "guardian", "nobody"
STAFF, FAMILY = (HEAD, COACH), (STUDENT, GUARDIAN)
MARK = re.compile(rb"Zq(\d{5})x")
SECRET = "between coaches"  # stands in every text that no family may read


class Actor:
    def __init__(self, role, account=None, client=None, student=None, children=()):
        self.role, self.id, self.student, self.children = role, account, student, list(children)
        self.token = client.token if client else None
        self.sign_in, self.password = (client.sign_in_name, client.password) if client and hasattr(client, "password") else (None, None)


class Student:
    """Everything that was ever said of a student stands under a mark of its own."""
    count = 0

    def __init__(self, junior=False, family=False):
        Student.count += 1
        self.number, self.junior, self.family = Student.count, junior, family
        self.mark = "Zq%05dx" % self.number
        self.lock, self.gone, self.team, self.pictures = threading.RLock(), False, set(), True
        self.id, self.version, self.wants = None, 1, None
        self.notes, self.swings, self.lessons, self.fixes, self.ticks, self.rounds = {}, {}, {}, {}, {}, {}

    def new(self):
        return {"name": "Student " + self.mark, "hand": "right", "birth_year": 2014 if self.junior else 1980, **({"consent": {"by": "Rowan"}} if self.junior else {})}

    def open_fix(self):
        return next((fix for fix in self.fixes.values() if fix["status"] == "open"), None)


class Swing:
    def __init__(self, recorded, report):
        self.recorded, self.report, self.voided, self.lesson, self.stills = recorded, report, False, None, {}


def digest(report):
    return hashlib.sha256(json.dumps(report, sort_keys=True).encode()).hexdigest()


class Gate:
    """Many may be inside together, or one alone."""

    def __init__(self):
        self.changed, self.inside, self.wanting = threading.Condition(), 0, 0

    @contextlib.contextmanager
    def shared(self):
        with self.changed:
            self.changed.wait_for(lambda: self.wanting == 0)
            self.inside += 1
        try:
            yield
        finally:
            with self.changed:
                self.inside -= 1
                self.changed.notify_all()

    @contextlib.contextmanager
    def alone(self):
        with self.changed:
            self.wanting += 1
            self.changed.wait_for(lambda: self.inside == 0)
            self.inside = 1
        try:
            yield
        finally:
            with self.changed:
                self.inside, self.wanting = 0, self.wanting - 1
                self.changed.notify_all()


class World:
    def __init__(self):
        self.gate, self.students, self.gone, self.actors, self.wrong = Gate(), [], [], [], []
        self.accounts = set()

    def blame(self, text):
        self.wrong.append(text)

    def sees(self, actor, student):
        if student.gone:
            return False
        return (actor.role == HEAD or (actor.role == COACH and actor.id in student.team) or (actor.role == STUDENT and actor.student is student)
                or (actor.role == GUARDIAN and student in actor.children and student.junior))

    def status(self, actor, student, roles, yes=200):
        """What an honest request about a student is answered."""
        return 401 if actor.role == NOBODY else 403 if actor.role not in roles else yes if self.sees(actor, student) else 404

    def seen_by(self, actor):
        return {student.id for student in self.students if self.sees(actor, student)}

    def look_over(self, actor, path, body):
        """Nothing of anybody whom this one may not see, and nothing that is between coaches before a family."""
        for number in set(MARK.findall(body)):
            if not any(self.sees(actor, student) for student in self.students if student.number == int(number)):
                self.blame("FOREIGN: a %s was shown something of Zq%sx at %s" % (actor.role, number.decode(), path))
        if actor.role not in STAFF and SECRET.encode() in body:
            self.blame("FOREIGN: a %s was shown what is between coaches at %s" % (actor.role, path))

    # ---- what a read must answer: (path, roles, check of the answer) ----

    def reads(self, student):
        s, at = student, "/v1/students/%s" % student.id
        everybody = STAFF + FAMILY
        found = [
            (at, everybody, lambda actor, got: (got["version"], got["wants"], got["name"], got["pictures"], set(got.get("team", s.team))) == (
                s.version, s.wants, "Student " + s.mark, s.pictures, s.team)),
            (at + "/notes?limit=200", everybody, lambda actor, got: {note["id"]: note["text"] for note in got["notes"]} == self.notes_of(actor, s)),
            (at + "/swings?limit=200", everybody, lambda actor, got: {swing["id"]: (bool(swing["voided"]), swing["lesson_id"]) for swing in got["swings"]} == {
                swing: (kept.voided, kept.lesson) for swing, kept in s.swings.items()}),
            (at + "/lessons?limit=200", everybody, lambda actor, got: {lesson["id"]: lesson.get("note") if actor.role in STAFF else None for lesson in got["lessons"]} == {
                lesson: note if actor.role in STAFF else None for lesson, note in s.lessons.items()}),
            (at + "/fixes?limit=200", everybody, lambda actor, got: {fix["id"]: (fix["status"], fix["version"]) for fix in got["fixes"]} == {
                fix: (kept["status"], kept["version"]) for fix, kept in s.fixes.items()}),
            (at + "/homework", everybody, lambda actor, got: {work["id"] for work in got["homework"]} == set((s.open_fix() or {"homework": []})["homework"])),
            (at + "/rounds?limit=200", everybody, lambda actor, got: {kept["id"]: kept["count"] for kept in got["rounds"]} == {kept: shots for kept, (shots, _) in s.rounds.items()}),
            (at + "/consents", everybody, lambda actor, got: got["pictures"] == s.pictures),
            (at + "/retests", STAFF, lambda actor, got: True), (at + "/family", STAFF, lambda actor, got: True),
            (at + "/handovers", STAFF, lambda actor, got: got["handovers"] == []), (at + "/transfer", everybody, lambda actor, got: True)]
        for name, one in list(s.swings.items())[-3:]:
            found.append(("/v1/swings/" + name, everybody, lambda actor, got, one=one: (got["document"]["recorded_at"], bool(got["voided"]), got["student_id"]) == (
                one.recorded, one.voided, s.id)))
            found.append(("/v1/swings/%s/report" % name, everybody, lambda actor, got, one=one: digest(got) == one.report))
            found.append(("/v1/swings/%s/stills" % name, everybody, lambda actor, got, one=one: (got["hidden"], {
                "%s-%s" % (still["view"], still["checkpoint"]) for still in got["stills"]}) == (not s.pictures, set(one.stills) if s.pictures else set())))
        for name, kept in list(s.fixes.items())[-1:]:
            found.append(("/v1/fixes/" + name, everybody, lambda actor, got, kept=kept: (got["status"], got["version"]) == (kept["status"], kept["version"])))
        for name, (shots, _) in list(s.rounds.items())[-1:]:
            found.append(("/v1/rounds/" + name, everybody, lambda actor, got, shots=shots: len(got["shots"]) == shots))
        return found

    def notes_of(self, actor, student):
        """A guardian of a junior reads every note that the student reads."""
        return {note: text for note, (text, readers) in student.notes.items() if actor.role in STAFF or "student" in readers or (
            actor.role == GUARDIAN and "guardian" in readers)}
