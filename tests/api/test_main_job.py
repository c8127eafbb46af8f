"""The whole job over HTTP, as docs tell it: the head makes accounts, a coach takes a swing, the report picks the first fix,
another coach carries on, the student and the guardian do the homework, the head oversees, and what is held on a student is
handed out and erased."""
import os
import re

import support
from support import Checks, Server


def swing_document():
    path = os.path.join(support.ROOT, "tests", "data", "two_views.json")
    with open(path) as file:
        return file.read()


class Job:
    def __init__(self, checks):
        self.checks = checks
        self.server = Server(checks, options=["--no-throttle"])
        self.head = self.server.sign_in()

    def people(self):
        checks, head, server = self.checks, self.head, self.server
        me = head.get("/v1/me")
        checks.ok(me.status == 200 and me.json["role"] == "head", "the head is signed in", me.body)
        made = head.post("/v1/students", {"name": "Wren Tallow", "hand": "right", "sex": "female", "birth_year": 1988,
                                          "height_m": 1.71, "wants": "stop slicing"}, key="student-1")
        checks.status(made, 201, "the head takes a student on")
        self.student = made.json["id"]
        checks.ok(support.STUDENT_ID.match(self.student), "the student's id is a UUIDv7", self.student)
        checks.ok((made.header("Location") or "").endswith(self.student), "and the answer says where", made.headers)
        again = head.post("/v1/students", {"name": "Wren Tallow", "hand": "right", "sex": "female", "birth_year": 1988,
                                           "height_m": 1.71, "wants": "stop slicing"}, key="student-1")
        checks.ok(again.status == 201 and again.body == made.body, "sent again: the same student", again.body)
        checks.same(len(support.listed(head.get("/v1/students"))), 1, "and only one")
        junior = head.post("/v1/students", {"name": "Pip Larch", "hand": "left", "birth_year": 2015,
                                            "junior": True})
        checks.status(junior, 201, "a junior is taken on")
        self.junior = junior.json["id"]
        self.first_id, self.first = server.account(head, "coach", "first.coach")
        self.second_id, self.second = server.account(head, "coach", "second.coach")
        self.third_id, self.third = server.account(head, "coach", "third.coach")
        for coach in (self.first_id, self.second_id):
            for student in (self.student, self.junior):
                checks.status(head.put("/v1/students/%s/team/%s" % (student, coach)), 204, "a coach joins a team")
        _, self.wren = server.account(head, "student", "wren", student_id=self.student)
        self.guardian_id, self.guardian = server.account(head, "guardian", "guardian", students=[self.junior])
        seen = support.listed(self.first.get("/v1/students"))
        checks.same({student["id"] for student in seen}, {self.student, self.junior}, "a coach lists the own students")
        checks.same(support.listed(self.third.get("/v1/students")), [], "a coach without students lists none")

    def swing(self):
        checks, path = self.checks, "/v1/students/%s/swings" % self.student
        text = swing_document()
        sent = self.first.post(path, text, key="swing-1")
        checks.status(sent, 201, "the coach sends a swing")
        self.swing_id = sent.json["id"]
        again = self.first.post(path, text, key="swing-1")
        checks.ok(again.status == 201 and again.body == sent.body, "the tablet resends: the same answer", again.body[:200])
        checks.same(len(support.listed(self.first.get(path))), 1, "one swing is stored")
        other = self.first.post(path, support.document(), key="swing-1")
        checks.status(other, 422, "another swing under the same key is refused")
        kept = self.server.query("SELECT iif(packed IS NULL, document, unpacked(packed, size)) FROM swing")[0][0]
        checks.ok(bytes(kept) == text.encode(), "the document is kept byte for byte", len(kept))
        report = self.first.get("/v1/swings/%s/report" % self.swing_id)
        checks.status(report, 200, "the report is there")
        self.report = report.json
        checks.same(self.report["schema"], "leadside.report/1", "a report of the schema")
        checks.ok(all("sd" in measure and measure["sd"] > 0 for measure in self.report["measures"]
                      if "value" in measure), "no measure without its error", self.report["measures"][:3])
        checks.ok(self.report["first_fixes"] and self.report["first_fixes"][0].get("why"), "it says what to fix first, and why",
                  self.report.get("first_fixes"))
        checks.ok(len(self.report["first_fixes"]) <= 2, "two fixes at most")
        present = [fault["fault"] for fault in self.report["faults"] if fault["verdict"] == "present"]
        self.fault = self.report["first_fixes"][0]["fault"]
        checks.ok(self.fault in present, "the first fix is a fault that is really there", (self.fault, present))
        whole = self.first.get("/v1/swings/" + self.swing_id)
        checks.status(whole, 200, "the swing itself can be read")
        checks.status(self.second.get("/v1/swings/%s/report" % self.swing_id), 200, "the other coach of the team reads it")
        checks.status(self.third.get("/v1/swings/%s/report" % self.swing_id), 404, "a coach outside does not")

    def consent(self):
        """No picture of a junior before a guardian's consent is on record."""
        checks, path = self.checks, "/v1/students/" + self.junior
        refused = self.first.post(path + "/swings", support.document(hand="left"))
        checks.ok(refused.status == 409 and "consent" in refused.problem["detail"].lower(),
                  "a junior's swing is refused without a guardian's consent", refused.body)
        checks.same(self.server.query("SELECT count(*) FROM swing WHERE student_id = ?", self.junior)[0][0], 0,
                    "and not stored")
        given = self.first.post(path + "/consents", {"scope": "store_pictures", "by": "Guardian of Pip"})
        checks.status(given, 201, "the consent is recorded")
        checks.status(self.first.post(path + "/swings", support.document(hand="left")), 201, "then it is taken")
        unsaid = self.head.post("/v1/students", {"name": "Fen Alder", "hand": "right", "birth_year": 2016})
        checks.ok(unsaid.status == 201 and unsaid.json["junior"] is True, "a child is a junior though nobody said so", unsaid.body)
        denied = self.head.post("/v1/students", {"name": "Fen Alder", "hand": "right", "birth_year": 2016, "junior": False})
        checks.ok(denied.status == 422 and denied.problem.get("path") == "junior", "and can't be called grown up", denied.body)
        grown = self.head.post("/v1/accounts", {"role": "guardian", "sign_in": "nobodys", "name": "Nobody's guardian",
                                                "students": [self.student]})
        checks.ok(grown.status == 422 and grown.problem.get("path") == "students", "nobody stands for a grown-up", grown.body)

    def fix(self):
        checks, path = self.checks, "/v1/students/%s/fixes" % self.student
        made = self.first.post(path, {"fault": self.fault, "from_swing": self.swing_id}, key="fix-1")
        checks.status(made, 201, "the coach assigns the first fix")
        again = self.first.post(path, {"fault": self.fault, "from_swing": self.swing_id}, key="fix-1")
        checks.ok(again.body == made.body, "resent: the same fix", again.body[:200])
        self.fix_id = made.json["id"]
        twice = self.second.post(path, {"fault": self.fault, "from_swing": self.swing_id})
        checks.status(twice, 409, "the other coach can't open the same fix again")
        seen = support.listed(self.second.get(path))
        checks.ok(len(seen) == 1 and seen[0]["id"] == self.fix_id and seen[0]["status"] == "open",
                  "but sees it and carries on", seen)
        checks.ok(1 <= len(seen[0]["homework"]) <= 2, "one or two drills go with it", seen[0].get("homework"))
        checks.status(self.third.get(path), 404, "a coach outside sees nothing")
        shown = support.listed(self.wren.get(path))
        checks.ok(len(shown) == 1 and "overrule" not in shown[0] and "confirmed" not in shown[0]["homework"][0],
                  "the student sees the fix, but not what coaches tell each other of it", shown)
        checks.ok("overrule" in seen[0] and "confirmed" in seen[0]["homework"][0], "which the coaches do", seen)

    def homework(self):
        checks = self.checks
        reply = self.wren.get("/v1/me/homework")
        checks.status(reply, 200, "the student fetches the homework")
        items = reply.json["homework"]
        checks.ok(1 <= len(items) <= 2 and all(item["drill"]["how_to"] for item in items), "it says how to do each drill", items)
        care = reply.json["cautions"]
        checks.ok({"warm_up", "stop_on_pain"} <= {c for c in care if isinstance(c, str)}, "the sheet carries the cautions", care)
        first = items[0]["id"]
        tick = self.wren.post("/v1/homework/%s/done" % first, {"comment": "in the garden"}, key="tick-1")
        checks.status(tick, 201, "the student ticks it off")
        again = self.wren.post("/v1/homework/%s/done" % first, {"comment": "in the garden"}, key="tick-1")
        checks.ok(again.status == 201 and again.body == tick.body, "a resent tick", again.body[:200])
        checks.same(self.server.query("SELECT count(*) FROM homework_done")[0][0], 1, "counts once")
        checks.status(self.guardian.post("/v1/homework/%s/done" % first, {}), 404, "another family can't tick it off")
        own = self.guardian.get("/v1/me/homework")
        checks.status(own, 200, "the guardian fetches the junior's homework")

    def oversee(self):
        checks = self.checks
        reply = self.head.get("/v1/overview")
        checks.status(reply, 200, "the head sees the overview")
        coaches = {coach["name"]: coach for coach in reply.json["coaches"]}
        first = coaches.get("First.Coach", {})
        checks.ok(first.get("students") == 2 and first.get("students_without_fix") == 1 and first.get("homework_done_this_week") == 1,
                  "who has how many students, fixes and ticks", coaches)
        checks.status(self.first.get("/v1/overview"), 403, "a coach does not")

    OF_TRIALS = ("standard_job", "audit", "event")

    def try_standard(self):
        """What if the club tightened a range? Counted on its own swings, nothing stored."""
        checks = self.checks
        current = self.head.get("/v1/standard")
        checks.ok(current.status == 200 and current.header("ETag"), "the head reads the house standard", current.body[:200])
        before = self.server.dump(self.OF_TRIALS)
        job = support.trial(self.head, current.json["standard"])
        same = job["result"]
        checks.ok(job["state"] == "done" and job["unread"] == 0 and same["swings"] == 2 and
                  same["first_fix_changed"] == 0 and all(row["gained"] == row["lost"] == 0 for row in same["faults"]),
                  "trying the same standard changes nothing", job)
        checks.ok(self.fault in [row["fault"] for row in same["faults"]], "and counts what is there", job)
        loosened = {**current.json["standard"], "version": "looser", "threshold": 0.95}
        tried = support.trial(self.head, loosened)["result"]
        checks.ok(sum(row["lost"] for row in tried["faults"]) > 0 and
                  sum(row["gained"] for row in tried["faults"]) == 0, "a looser one finds less", tried)
        checks.same(self.server.dump(self.OF_TRIALS), before, "nothing else is stored")
        checks.status(self.first.post("/v1/standard/try", loosened), 403, "a coach can't try")

    def editing(self):
        checks, path = self.checks, "/v1/students/" + self.student
        read = self.first.get(path)
        tag = read.header("ETag")
        checks.ok(read.status == 200 and re.match(r'^"[^"]+"$', tag or ""), "a student carries an ETag", read.headers)
        checks.status(self.first.request("GET", path, headers={"If-None-Match": tag}), (200, 304), "asked again with it")
        edited = self.first.patch(path, {"height_m": 1.72}, match=tag)
        checks.ok(edited.status == 200 and edited.header("ETag") not in (None, tag), "an edit gives a new one", edited.body)
        checks.status(self.second.patch(path, {"wants": "distance"}, match=tag), 412, "the other coach's stale edit is refused")
        checks.status(self.second.patch(path, {"wants": "distance"}), 428, "an edit without If-Match too")
        fresh = self.second.get(path)
        checks.ok(fresh.json["height_m"] == 1.72 and fresh.json["wants"] == "stop slicing", "nothing was lost", fresh.body)
        fix = "/v1/fixes/" + self.fix_id
        listed = support.listed(self.second.get(path + "/fixes"))[0]
        tag = '"%s"' % listed["version"] if "version" in listed else listed.get("etag")
        closed = self.second.patch(fix, {"status": "closed", "reason": "it holds up"}, match=tag)
        checks.ok(closed.status == 200 and closed.json["status"] == "closed", "the fix is closed with a reason", closed.body)
        checks.same(self.wren.get("/v1/me/homework").json["homework"], [], "and its homework is off the list")

    def paging(self):
        checks = self.checks
        made = set()
        for n in range(23):
            made.add(self.head.post("/v1/students", {"name": "Pager %02d" % n, "hand": "right"}).json["id"])
        seen, path, pages = [], "/v1/students?limit=10", 0
        while path and pages < 10:
            reply = self.head.get(path)
            items = support.listed(reply)
            checks.ok(reply.status == 200 and len(items) <= 10, "a page of ten at most", len(items))
            seen += [item["id"] for item in items]
            found = re.search(r'<([^>]+)>; *rel="?next"?', reply.header("Link") or "")
            path, pages = (found.group(1) if found else None), pages + 1
            if pages == 1:  # somebody is added while we read
                made.add(self.head.post("/v1/students", {"name": "Late", "hand": "left"}).json["id"])
        checks.same(pages, 3, "26 students in three pages, by Link rel=next")
        checks.ok(len(seen) == len(set(seen)) and made <= set(seen), "nobody twice, nobody left out", len(seen))

    def leaving(self):
        checks, path = self.checks, "/v1/students/" + self.student
        export = self.wren.get(path + "/export")
        checks.status(export, 200, "the student takes the own data along")
        text = export.body.decode()
        checks.ok("Wren Tallow" in text and self.fault in text and "in the garden" in text and "leadside.swing/1" in text,
                  "with person, fix, tick and swing", text[:300])
        checks.ok("argon2" not in text and "Pip Larch" not in text, "without secrets or other people")
        tag = self.head.get(path).header("ETag")
        checks.status(self.first.delete(path, match=tag), 403, "a coach can't erase a student")
        gone = self.head.delete(path, match=tag)
        checks.status(gone, (200, 204), "the head erases the student")
        checks.status(self.head.get(path), 404, "and the student is gone")
        checks.status(self.wren.get("/v1/me"), 401, "so is the account")
        left = [table for table, column in (("swing", "student_id"), ("fix", "student_id"), ("homework", "student_id"),
                                            ("note", "student_id"), ("lesson", "student_id"), ("team", "student_id"),
                                            ("account", "student_id"), ("idempotency", "student_id"))
                if self.server.query("SELECT 1 FROM %s WHERE %s = ?" % (table, column), self.student)]
        checks.same(left, [], "no table holds a row of that student")

    def run(self):
        for step in (self.people, self.swing, self.consent, self.fix, self.homework, self.oversee, self.try_standard, self.editing, self.paging, self.leaving):
            step()
        self.server.end()


def main():
    checks = Checks("test_main_job")
    Job(checks).run()
    checks.finish()


main()
