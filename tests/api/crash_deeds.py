"""Every kind of write that several coaches share, killed: 40 times (or a fifth of the first number given) the server is killed with SIGKILL at a
random moment while six clients offer students, take them over and stay, give opinions, tick with pain, ask for consents and record
them, invite families, end fixes and open them again, import lists, move planned looks, write notes, keep rounds, make accounts and let coaches
leave. Each such deed changes several rows in one: after every restart what was answered is there with all that belongs to it, once;
what was not answered is there whole or not at all, and said again it is there once. `leadside check` runs after every tenth kill, and
counts anew what is kept of each coach."""
import http.client
import json
import random
import sys
import threading
import time

import support
from support import Checks, Server

CLIENTS = 6
FAULT = "across_the_line"


class Deed:
    """A request, and what must be in the file when it was done and when it was not: [(query, arguments, done, not done)]."""

    def __init__(self, kind, who, method, path, body, proof, match=None, content_type="application/json"):
        self.kind, self.who, self.method, self.path, self.proof, self.match = kind, who, method, path, proof, match
        self.body = body.encode() if isinstance(body, str) else json.dumps(body).encode()
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
        self.ids, self.coaches = {}, {}
        for name in ("ada", "bert"):
            self.ids[name], self.coaches[name] = server.account(self.head, "coach", name)
        self.ticked = []  # (student client, student, homework), a drill each
        for n in range(CLIENTS):
            student = self.student("Ticking %d" % n)
            _, family = server.account(self.head, "student", "ticking%d" % n, student_id=student)
            fix = self.fix(student)
            self.ticked.append((family, student, fix["homework"][0]["id"]))

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
        work = self.must(self.head.get("/v1/homework/" + homework))
        if work["paused"]:
            self.must(self.head.patch("/v1/homework/" + homework, {"paused": False, "reason": "pain free"}, match='"%d"' % work["version"]))
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
        played = time.strftime("%Y-%m-%dT%H:%M:%SZ", time.gmtime(1.7e9 + random.randrange(10 ** 8)))
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


KINDS = ("offered", "handover", "stays", "opinion", "pain", "consent", "asked", "invited", "closed", "reopened", "imported", "moved", "note", "round", "account",
         "leave")
AGAIN = {"PATCH": (200, 412, 409), "PUT": (200,), "POST": (200, 201, 204, 409)}


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


def life(server, club, number):
    """Six deeds at once, killed in their midst; the deeds and their doers."""
    deeds = [getattr(club, KINDS[(number * CLIENTS + n) % len(KINDS)])(n) for n in range(CLIENTS)]
    go = threading.Event()
    doers = [Doer(deed, server.port, go) for deed in deeds]
    for doer in doers:
        doer.start()
    go.set()
    time.sleep(random.choice((random.uniform(0, .004), random.uniform(.004, .04), random.uniform(.02, .3))))
    server.kill()
    for doer in doers:
        doer.join(30)
    return doers


def main():
    rounds = max(1, next((int(argument) for argument in sys.argv[1:] if argument.isdigit()), 200) // 5)
    random.seed(20261127)
    checks = Checks("crash_deeds")
    server = Server(checks, options=["--no-throttle"])
    club = Club(server)
    wrong, told = [], {"answered": 0, "on disk, unheard": 0, "lost, unheard": 0}
    kinds, sound_files, clean = {}, 0, 0
    for number in range(rounds):
        doers = life(server, club, number)
        server.start()
        for client in (club.head, *club.coaches.values(), *(family for family, _, _ in club.ticked)):
            client.port = server.port
            client.close()
        for doer in doers:
            deed, state = doer.deed, doer.deed.state(server)
            wrong += [doer.odd] if doer.odd else []
            if isinstance(state, str):
                wrong.append(state)
                continue
            if doer.reply is not None:
                told["answered"] += 1
                if doer.reply.status not in (200, 201, 204):
                    wrong.append("%s answered %d %s" % (deed.kind, doer.reply.status, doer.reply.body[:200]))
                elif not state:
                    wrong.append("%s was answered and is not there" % deed.kind)
                continue
            told["on disk, unheard" if state else "lost, unheard"] += 1
            kinds.setdefault(deed.kind, set()).add(state)
            again = deed.send(server.port)
            if again.status not in AGAIN[deed.method] or deed.state(server) is not True:
                wrong.append("%s said again: %d %s, %s" % (deed.kind, again.status, again.body[:200], deed.state(server)))
        if number % 10 == 9 or number == rounds - 1:
            sound, output = server.check_file()
            clean += sound
            sound_files += 1
            wrong += [] if sound else ["round %d: check: %s" % (number, output)]
        if len(wrong) > 10:
            break
    print("%d kills: %s; unanswered of %s" % (rounds, told, {kind: sorted(states) for kind, states in sorted(kinds.items())}))
    checks.ok(not wrong, "what was answered is there whole, what was not is there whole or not at all, and once when said again", "; ".join(map(str, wrong[:5])))
    checks.ok(told["lost, unheard"] > 0 and told["answered"] + told["on disk, unheard"] > 0, "kills came before and after", told)
    checks.ok(len(kinds) == len(KINDS) or rounds < 30, "of every kind one was killed unanswered", sorted(kinds))
    checks.same(clean, sound_files, "leadside check was clean every time")
    server.end()
    checks.finish()


main()
