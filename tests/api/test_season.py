"""Twelve weeks of a club, played over HTTP with a stepped clock: a head, three coaches, twelve students (three children), hand-overs,
conflicts, pain, second opinions, a consent taken back, a birthday, an erasure, a coach put out of use, a backup put in place. What
the server then tells is recomputed here from what was sent: figures by month and by coach, verdicts of change, agreement (kappa by
statsmodels where Debian has it)."""
import calendar
import collections
import datetime
import json
import os
import random
import shutil
import statistics
import time

import support
from stepped import DAY, Stepped, clock_library
from support import Checks

try:
    import numpy
    import scipy.stats
    from statsmodels.stats import inter_rater
except ImportError:
    inter_rater = None

WEEKS, FAULT = 12, "across_the_line"
WORDS = ("absent", "cant_see", "present")
COACHES = ("ada", "bert", "cleo")


def document(at, value):
    return {"schema": "leadside.swing/1", "recorded_at": at, "shot": "full", "hand": "right", "club": {"kind": "iron", "number": 7, "length_m": 0.94},
            "measured": [{"measure": "shaft_cross", "checkpoint": "top", "value": value, "sd": 2, "source": "by eye"}]}


class Club:
    """The people, how each signs in, and a diary of what was done: (what, whose, month, student, fault)."""

    def __init__(self, checks, server):
        self.checks, self.server, self.diary, self.dice = checks, server, [], random.Random(12)
        self.ids, self.people, self.passwords = {}, {}, {}
        self.step(0)
        self.head = server.sign_in()
        for name in COACHES:
            self.enter("coach", name)
        self.students = []
        for n in range(12):
            self.take_on(n)
        self.fixes, self.resting = {}, set()  # who has no homework to do
        self.heir = None  # of the coach who leaves
        self.begun, self.newest, self.until = {}, {}, {}  # lessons: a fix's first, the newest, and the newest of one that is closed

    def enter(self, role, name, **more):
        self.ids[name], self.people[name] = self.server.account(self.head, role, name, **more)

    def take_on(self, n):
        """Four to each coach; the first three are children, the third grows up in the sixth week; two have one guardian."""
        born = {0: "2014-05-01", 1: "2013-03-09", 2: self.day(5 * 7 + 3, years=-18)}.get(n, "%d-06-01" % (1950 + 3 * n))
        more = {"consent": {"by": "Rowan Testing"}} if n < 3 else {}
        made = self.head.post("/v1/students", {"name": "Student %02d" % n, "hand": "right", "birth_date": born, **more})
        assert made.status == 201, made.body
        self.students.append(made.json["id"])
        assert self.head.put("/v1/students/%s/team/%s" % (made.json["id"], self.ids[COACHES[n % 3]])).status == 204
        self.enter("student", "student%02d" % n, student_id=made.json["id"])
        if n in (1, 2):
            self.enter("guardian", "guardian%d" % n, students=self.students[:2] if n == 1 else [made.json["id"]])

    # ---- time ----

    def step(self, week, days=0.0):
        self.ahead = int((7 * week + days) * DAY)
        self.server.step(self.ahead)

    def now(self):
        return time.gmtime(time.time() + self.ahead)

    def month(self):
        return time.strftime("%Y-%m", self.now())

    def stamp(self, minutes=0):
        return time.strftime("%Y-%m-%dT%H:%M:%SZ", time.gmtime(time.time() + self.ahead - 3600 + 60 * minutes))

    @staticmethod
    def day(days, years=0):
        day = datetime.datetime.now(datetime.timezone.utc).date() + datetime.timedelta(days=days)
        return day.replace(year=day.year + years, day=min(day.day, calendar.monthrange(day.year + years, day.month)[1])).isoformat()

    def begin_week(self, week):
        """Everybody signs in anew: a token lasts two weeks without use, thirty days at most."""
        self.step(week)
        self.head = self.server.sign_in()
        for name in list(self.people):
            old = self.people[name]
            self.people[name] = self.server.sign_in(old.sign_in_name, old.password)
            self.people[name].sign_in_name, self.people[name].password = old.sign_in_name, old.password

    # ---- deeds ----

    def coach_of(self, n):
        return self.heir if self.heir and n % 3 == 2 else COACHES[n % 3]

    def wrote(self, what, whose, n, fault=None):
        self.diary.append((what, self.ids[whose], self.month(), self.students[n], fault))

    def lesson(self, n, values, who=None):
        """A lesson of so many swings; (lesson, swings)."""
        who = who or self.coach_of(n)
        swings = []
        for minute, value in enumerate(values):
            sent = self.people[who].post("/v1/students/%s/swings" % self.students[n], document(self.stamp(minute), value))
            assert sent.status == 201, sent.body
            swings.append(sent.json["id"])
            self.wrote("swings", who, n)
        made = self.people[who].post("/v1/students/%s/lessons" % self.students[n], {"held_at": self.stamp(10), "swings": swings})
        assert made.status == 201, made.body
        self.wrote("lessons", who, n)
        self.newest[n] = made.json["id"]
        return made.json["id"], swings

    def open_fix(self, n, lesson):
        who = self.coach_of(n)
        made = self.people[who].post("/v1/students/%s/fixes" % self.students[n], {"fault": FAULT, "reason": "seen all lesson", "from_lesson": lesson,
                                                                                  "overrule": "it comes first for this player"})
        assert made.status == 201, made.body
        self.wrote("fixes_opened", who, n, FAULT)
        self.fixes[n], self.begun[n] = made.json, lesson

    def tick(self, n, **body):
        work = self.fixes[n]["homework"][0]
        done = self.people["student%02d" % n].post("/v1/homework/%s/done" % work["id"], body)
        if done.status == 201 and ("passed" in body or "pain" not in body):  # what tells of pain alone is no session
            self.wrote("sessions_done", COACHES[n % 3], n)  # whoever gave the homework
        return done

    def inbox(self, who):
        return support.listed((self.head if who == "head" else self.people[who]).get("/v1/inbox?limit=200"))


def value_of(club, n, week):
    """Odd students get better by three degrees a week once they practise, even ones stay as they are."""
    return round(26 - (3 * max(0, week - 1) if n % 2 else 0) + club.dice.gauss(0, 1.5), 1)


def every_week(checks, club, week):
    for n, student in enumerate(club.students):
        if student is None or (n == 11 and week > 9):
            continue
        lesson, _ = club.lesson(n, [value_of(club, n, week) for _ in range(3)])
        if week == 1:
            club.open_fix(n, lesson)
        elif week > 1 and n not in club.resting:
            for _ in range(2):
                done = club.tick(n, passed={"of": 10, "n": min(10, 3 + week // 2)})
                checks.status(done, 201, "week %d: student %d practised" % (week, n)) if done.status != 201 else None


def conflict(checks, club):
    """Another coach on the team wants a second fix: told what speaks against it, it waits in line with a reason, and the first coach reads why."""
    student = club.students[3]
    assert club.head.put("/v1/students/%s/team/%s" % (student, club.ids["bert"])).status == 204
    body = {"fault": "chicken_wing", "reason": "the elbow"}
    refused = club.people["bert"].post("/v1/students/%s/fixes" % student, body)
    kinds = {each["kind"] for each in refused.problem.get("conflicts", [])}
    checks.ok(refused.status == 409 and refused.problem["type"].endswith("fix-conflict") and "two_fixes_open" in kinds, "a second fix is not opened unasked", refused.body)
    ruled = club.people["bert"].post("/v1/students/%s/fixes" % student, {**body, "overrule": "the elbow hurts his ball flight"})
    checks.ok(ruled.status == 201 and ruled.json["waiting"], "with a reason it waits in line", ruled.body)
    club.diary.append(("fixes_opened", club.ids["bert"], club.month(), student, "chicken_wing"))
    checks.ok(any(item["fix_id"] == ruled.json["id"] for item in club.inbox("ada")), "and the first coach reads it", club.inbox("ada"))
    homework = club.people["student03"].get("/v1/me/homework").json["homework"]
    checks.same({work["fix_id"] for work in homework if not work.get("waiting")} - {club.fixes[3]["id"]}, set(), "the student sees one fix")


def pain(checks, club):
    told = club.tick(4, pain={"area": "low back", "level": 5}, comment="it hurt")
    checks.ok(told.status == 201 and told.json["paused"], "pain of five pauses the drill", told.body)
    first = club.inbox("bert")[0]
    checks.same((first["kind"], first["urgent"], first["student_id"], first["pain"]), ("pain", True, club.students[4], {"area": "low back", "level": 5}),
                "and stands first with the coach")
    checks.ok(club.tick(4).status == 409, "a paused drill is not ticked")
    club.resting.add(4)


def resumed(checks, club):
    work = club.fixes[4]["homework"][0]["id"]
    coach = club.people["bert"]
    again = coach.patch("/v1/homework/" + work, {"paused": False, "reason": "pain free at half speed"},
                        match=coach.get("/v1/homework/" + work).header("ETag"))
    checks.status(again, 200, "a coach's word resumes it")
    checks.status(club.tick(4), 201, "and it is practised again")
    club.resting.remove(4)


def handed_over(checks, club):
    """One student goes to another coach, one offer is declined."""
    made = club.people["ada"].post("/v1/students/%s/handovers" % club.students[6], {"to": club.ids["cleo"], "note": "Away in spring.", "stays": True})
    checks.status(made, 201, "a student is offered to another coach")
    yes = club.people["cleo"].patch("/v1/handovers/" + made.json["id"], {"status": "accepted"}, match='"1"')
    checks.ok(yes.status == 200 and club.people["cleo"].get("/v1/students/" + club.students[6]).status == 200, "who takes over", yes.body)
    made = club.people["bert"].post("/v1/students/%s/handovers" % club.students[7], {"to": club.ids["cleo"], "note": "Too many."})
    no = club.people["cleo"].patch("/v1/handovers/" + made.json["id"], {"status": "declined"}, match='"1"')
    checks.ok(no.status == 200 and club.people["cleo"].get("/v1/students/" + club.students[7]).status == 404, "or not", no.body)
    told = [item["kind"] for item in club.inbox("bert") if item["student_id"] == club.students[7]]
    checks.ok(told.count("handover_declined") == 1, "and the sender hears of it", told)


def grown_up(checks, club, before):
    """Student 2 turns eighteen in the sixth week: the guardian's right ends that day."""
    seen = club.people["guardian2"].get("/v1/me/homework?student=" + club.students[2]).status
    checks.same(seen == 200, before, "the guardian reads on" if before else "the guardian's right ends on the birthday")
    told = {item["kind"] for item in club.inbox("head") + club.inbox(club.coach_of(2)) if item["student_id"] == club.students[2]}
    checks.same(("coming_of_age" in told, "of_age" in told), (True, not before), "the head's and the coach's inbox say " + ("so weeks before" if before else "that the student is asked anew"))
    if not before:
        checks.same(club.head.get("/v1/students/" + club.students[2]).json["junior"], False, "who is grown up from then on")


def second_opinions(checks, club, said):
    """Every coach says of the same swings of student 8, whom all of them teach, before seeing anything of the others'."""
    for name in COACHES:
        club.head.put("/v1/students/%s/team/%s" % (club.students[8], club.ids[name]))
    for value in (27, 25, 6):
        sent = club.people["cleo"].post("/v1/students/%s/swings" % club.students[8], document(club.stamp(30 + len(said)), value))
        assert sent.status == 201, sent.body
        club.wrote("swings", "cleo", 8)
        truth = "present" if value > 20 else "absent"
        said[sent.json["id"]] = [truth if club.dice.random() < .75 else club.dice.choice(WORDS) for _ in COACHES]
        for name, word in zip(COACHES, said[sent.json["id"]]):
            reply = club.people[name].put("/v1/swings/%s/opinion" % sent.json["id"], {FAULT: word})
            assert reply.status == 200, reply.body


def agreement(checks, club, said):
    got = club.head.get("/v1/agreement").json
    row = next(each for each in got["faults"] if each["fault"] == FAULT)["coaches"]
    checks.same((got["swings"], row["swings"]), (len(said), len(said)), "agreement rests on the swings that all spoke of")
    checks.same({each["swing_id"] for each in got["divided"]}, {swing for swing, words in said.items() if {"present", "absent"} <= set(words)}, "these divide")
    if inter_rater is None:
        checks.skip("kappa by statsmodels", "python3-statsmodels is not installed")
        return
    table = numpy.array([[words.count(word) for word in WORDS] for words in said.values()])
    checks.ok(abs(row["kappa"] - inter_rater.fleiss_kappa(table)) < .001, "Fleiss' kappa is that of statsmodels", (row, inter_rater.fleiss_kappa(table)))
    for pair in got["pairs"]:
        i, j = (COACHES.index(next(name for name in COACHES if club.ids[name] == pair[who])) for who in ("first", "second"))
        square = numpy.zeros((3, 3))
        for words in said.values():
            square[WORDS.index(words[i]), WORDS.index(words[j])] += 1
        for name, weights in (("plain", None), ("weighted", "linear")):
            kappa = inter_rater.cohens_kappa(square, wt=weights).kappa
            checks.ok(abs(pair[name]["kappa"] - kappa) < .001, "a pair's %s kappa is that of statsmodels" % name, (pair[name], kappa))


def consent_taken_back(checks, club):
    """Of a child's pictures: hidden from everybody at once."""
    n, (_, swings) = 0, club.lesson(0, [25.0])
    still = "/v1/swings/%s/stills/face_on-top" % swings[0]
    assert club.people["ada"].put(still, support.png(), content_type="image/png").status in (200, 201)
    checks.status(club.people["ada"].get(still), 200, "a child's picture is there for the coach")
    gone = club.people["guardian1"].delete("/v1/students/%s/consents/store_pictures" % club.students[n])
    checks.status(gone, (200, 204), "the guardian takes the consent back")
    checks.same([club.people["ada"].get(still).status, club.head.get(still).status], [403, 403], "and nobody sees it any more")
    again = club.people["guardian1"].post("/v1/students/%s/consents" % club.students[n], {"scope": "store_pictures"})
    checks.status(again, 201, "given anew, lessons go on")


def set_aside(checks, club):
    """A swing sent for the wrong student leaves the figures."""
    _, swings = club.lesson(5, [11.0])
    done = club.people["cleo"].post("/v1/swings/%s/void" % swings[0], {"reason": "somebody else's"})
    checks.status(done, 200, "a swing is set aside")
    for what in ("swings", "lessons"):  # and the lesson that was nothing else
        at = next(i for i in reversed(range(len(club.diary))) if club.diary[i][0] == what)
        del club.diary[at]


def closed(checks, club, week):
    """The fix of a student who has got better is closed by its coach."""
    coach, fix = club.people["bert"], club.fixes[1]["id"]
    verdict = coach.get("/v1/students/%s/progress?fix=%s" % (club.students[1], fix)).json["verdict"]
    checks.same(verdict, "improved", "week %d: who practised is better" % week)
    ended = coach.patch("/v1/fixes/" + fix, {"status": "closed", "reason": "gone over three lessons"}, match=coach.get("/v1/fixes/" + fix).header("ETag"))
    checks.status(ended, 200, "and the fix is closed")
    club.wrote("fixes_ended", "bert", 1)
    club.until[1] = club.newest[1]
    club.resting.add(1)


def cross(report):
    return next(m for m in report["measures"] if (m["measure"], m["checkpoint"]) == ("shaft_cross", "top"))


def shown_at_first(club, spread):
    """(mean, sd) of the players among each other, by the first swing of each."""
    firsts = []
    for student in support.listed(club.head.get("/v1/students?limit=200")):
        swings = [swing["id"] for swing in support.listed(club.head.get("/v1/students/%s/swings?limit=200" % student["id"])) if not swing.get("voided_at")]
        if swings:
            firsts.append(cross(club.head.get("/v1/swings/%s/report" % min(swings)).json))
    values = [m["value"] for m in firsts]
    error = statistics.mean(m["sd_random"] ** 2 + m["sd_systematic"] ** 2 + spread ** 2 for m in firsts)
    return statistics.mean(values), max(0, statistics.variance(values) - error) ** .5


def verdicts(checks, club):
    """Each student's, by the rule of docs/api.md, out of the reports."""
    told = collections.Counter()
    spread = next(row["sd"] for row in club.head.get("/v1/standard").json["standard"]["spread"] if (row["measure"], row.get("checkpoint")) == ("shaft_cross", "top"))
    mean, sd = shown_at_first(club, spread)
    for n, fix in club.fixes.items():
        if n in (1, 11):
            continue
        got = club.people[club.coach_of(n)].get("/v1/students/%s/progress?fix=%s" % (club.students[n], fix["id"])).json
        newest = max(got["series"], key=lambda point: point["at"])
        report = club.head.get("/v1/lessons/%s/report" % newest["lesson_id"] if newest["lesson_id"] else "/v1/swings/%s/report" % newest["swing_id"]).json
        after = cross(report)
        checks.ok(abs(newest["value"] - after["value"]) < 1e-9, "student %d: the newest point is the newest report's" % n)
        first = next(point for point in got["series"] if point["at"] == got["baseline"]["at"])
        before = cross(club.head.get("/v1/lessons/%s/report" % first["lesson_id"]).json)
        noise = before["sd_random"] ** 2 + (spread ** 2 / before["observed_in"] if before["observed_in"] < 3 else 0)
        stays = sd ** 2 + before["sd_systematic"] ** 2
        start = mean + stays / (stays + noise) * (before["value"] - mean)
        checks.ok(got["change"]["kind"] == "drawn_to_club" and abs(got["change"]["from"] - start) < .011, "student %d: the first look is drawn to the club's mean" % n,
                  (got["change"], start, mean, sd))
        moved, needed = got["change"]["difference"], got["change"]["needed"]
        checks.ok(abs(moved - (after["value"] - start)) < .011, "student %d: the difference" % n, got["change"])
        high = got["range"]["ok"][1]
        nearer = max(0, after["value"] - high) < max(0, start - high)
        expected = "no_real_change" if abs(moved) <= needed else "improved" if nearer else "worse"
        checks.same(got["verdict"], expected, "student %d: the verdict" % n)
        told[(n % 2, got["verdict"])] += 1
    checks.same(told[(1, "improved")], sum(k for (odd, _), k in told.items() if odd), "all who got better are told so")
    checks.same(told[(0, "worse")], 0, "and nobody is told worse who stayed as they were")


def figures(checks, club):
    def sums(deeds):
        count = collections.Counter(deed[0] for deed in deeds)
        faults = collections.Counter(deed[4] for deed in deeds if deed[0] == "fixes_opened")
        return {**{what: count[what] for what in ("lessons", "swings", "fixes_opened", "fixes_ended", "sessions_done")},
                "students": len({deed[3] for deed in deeds if deed[0] in ("lessons", "swings")}),
                "faults": [{"fault": fault, "fixes": faults[fault]} for fault in sorted(faults)]}
    deeds = [deed for deed in club.diary if deed[3] != "erased"]
    for by, place, key in (("month", 2, "month"), ("coach", 1, "account_id")):
        got = club.head.get("/v1/figures?by=" + by)
        checks.status(got, 200, "the figures by " + by)
        told = {row[key]: {name: row[name] for name in sums([])} for row in got.json["figures"]}
        wanted = {group: sums([deed for deed in deeds if deed[place] == group]) for group in sorted({deed[place] for deed in deeds})}
        told = {group: row for group, row in told.items() if any(row[name] for name in row)}
        checks.same(told, wanted, "by %s they are what was done" % by)
        checks.same({name: got.json["total"][name] for name in sums([])}, sums(deeds), "and all together")


def erased(checks, club):
    student = club.students[11]
    before = club.server.command("backup", "--data", club.server.data, "--to", os.path.join(club.server.root, "before.db"))
    assert before.returncode == 0, before.stderr
    gone = club.head.delete("/v1/students/" + student, match=club.head.get("/v1/students/" + student).header("ETag"))
    checks.status(gone, (200, 204), "a student is erased")
    club.diary = [deed[:3] + (("erased",) + deed[4:] if deed[3] == student else deed[3:]) for deed in club.diary]
    club.people.pop("student11")
    names = [row[0] for row in club.server.query("SELECT name FROM student")]
    checks.ok("Student 11" not in names and len(names) == 11, "who is in no row", names)


def coach_leaves(checks, club):
    """Cleo leaves in the tenth week: refused while somebody would be left behind, then all of hers go to Ada, who is told."""
    path, cleo = "/v1/accounts/%s/leave" % club.ids["cleo"], club.people["cleo"]
    refused = club.head.post(path, {"heirs": []})
    checks.ok(refused.status in (409, 422), "nobody is left behind unseen", refused.body)
    done = club.head.post(path, {"heirs": [{"account_id": club.ids["ada"]}]})
    checks.status(done, (200, 204), "a coach leaves")
    checks.status(cleo.get("/v1/me"), 401, "and is out at once")
    checks.same([club.people["ada"].get("/v1/students/" + club.students[n]).status for n in (2, 5, 6, 8)], [200] * 4, "the heir has all of them")
    told = [item["kind"] for item in club.inbox("ada") if item["student_id"] == club.students[5]]
    checks.ok(told.count("handover") == 1, "and is told so", told)
    club.heir = "ada"
    club.people.pop("cleo")


def pooled(checks, club, row):
    """Each student's change in units of its own error, and what all say together, worked out anew from the reports."""
    each = {one["student_id"]: one for one in row["effect"]["each"]}
    spread = next(r["sd"] for r in club.head.get("/v1/standard").json["standard"]["spread"] if (r["measure"], r.get("checkpoint")) == ("shaft_cross", "top"))
    mean, sd = shown_at_first(club, spread)
    changes = []
    for n, lesson in club.begun.items():
        if n == 11:
            continue
        before, after = (cross(club.head.get("/v1/lessons/%s/report" % id).json) for id in (lesson, club.until.get(n, club.newest[n])))
        stays, noise = sd ** 2 + before["sd_systematic"] ** 2, before["sd_random"] ** 2  # by eye, as it stood: the systematic part stays
        kept = stays / (stays + noise)
        start = mean + kept * (before["value"] - mean)
        changes.append((start - after["value"]) / (kept * noise + after["sd_random"] ** 2) ** .5)
        told = each.get(club.students[n])
        checks.ok(told and abs(told["change"] - changes[-1]) < .03, "student %d: the change in units of its error" % n, (told, changes[-1]))
    if inter_rater is None:
        checks.skip("pooling by numpy", "python3-statsmodels is not installed")
        return
    changes = numpy.array(changes)
    tau2 = max(0.0, changes.var(ddof=1) - 1)  # equal errors of 1: Paule and Mandel in closed form
    middle, free = changes.mean(), len(changes) - 1
    half = scipy.stats.t.ppf(.975, free) * (max(1, ((changes - middle) ** 2).sum() / (1 + tau2) / free) * (1 + tau2) / len(changes)) ** .5
    got = row["effect"]
    wanted = {"mean": middle, "low": middle - half, "high": middle + half, "tau": tau2 ** .5}
    checks.ok(all(abs(got[name] - value) < .03 for name, value in wanted.items()), "mean, interval and tau are numpy's and scipy's", (got, wanted))
    drawn = {club.students[n]: (tau2 * change + middle) / (tau2 + 1) for n, change in zip((n for n in club.begun if n != 11), changes)}
    checks.ok(all(abs(each[who]["pooled"] - value) < .03 for who, value in drawn.items()), "and each is drawn to the mean as they say", (each, drawn))


def drills_effect(checks, club):
    """Of the drill that most were given: everybody who practised counts once, and nothing is told by coach."""
    works = collections.Counter(fix["homework"][0]["drill"] for n, fix in club.fixes.items() if n != 11)
    drill, students = works.most_common(1)[0]
    row = next(row for row in club.head.get("/v1/drills/effect").json["effects"] if (row["drill"], row["fault"]) == (drill, FAULT))
    checks.same(row["students"], students, "the effect of a drill counts each student who did it once")
    pooled(checks, club, row)
    checks.ok("account" not in json.dumps(row) and "coach" not in json.dumps(row), "and it says nothing of coaches")


def put_back(checks, club):
    """The copy from before the erasure is put in place: the erased student doesn't come back."""
    server = club.server
    checks.same(server.stop(), 0, "the server stops")
    for end in ("", "-wal", "-shm"):
        if os.path.exists(server.data + "/leadside.db" + end):
            os.unlink(server.data + "/leadside.db" + end)
    shutil.copy(os.path.join(server.root, "before.db"), server.data + "/leadside.db")
    os.chmod(server.data + "/leadside.db", 0o600)
    server.start()
    club.head = server.sign_in()
    listed = support.listed_all(club.head, "/v1/students?limit=100", "students")
    checks.same(sorted(each["name"] for each in listed), ["Student %02d" % n for n in range(11)], "a copy put back brings back all but the erased")


def main():
    checks = Checks("test_season")
    with clock_library() as library:
        server = Stepped(checks, library, options=["--no-throttle"])
        club, said = Club(checks, server), {}
        for week in range(WEEKS):
            club.begin_week(week)
            every_week(checks, club, week)
            if 2 <= week <= 6:
                second_opinions(checks, club, said)
            for when, deed in {2: conflict, 3: pain, 4: resumed, 7: consent_taken_back, 8: set_aside}.items():
                if when == week:
                    deed(checks, club)
            if week in (5, 6):
                grown_up(checks, club, week == 5)
            if week == 5:
                handed_over(checks, club)
            if week == 10:
                coach_leaves(checks, club)
            if week == 9:
                closed(checks, club, week)
                erased(checks, club)
        club.begin_week(WEEKS)
        verdicts(checks, club)
        agreement(checks, club, said)
        figures(checks, club)
        drills_effect(checks, club)
        put_back(checks, club)
        server.end()
    checks.finish()


main()
