"""Work in the background by the standard: a trial of another one and scoring anew, with progress, one at a time, stopped, overtaken
by a new version, and killed in the middle: afterwards each swing was looked at once, and every old report is there as it was."""
import copy
import json
import os
import shutil
import time

import support
from support import Checks, Server

SWINGS = 240  # enough that a kill comes in the middle of scoring them anew
WAIT = 120


class Club:
    def __init__(self, checks):
        self.checks = checks
        self.server = Server(checks, options=["--no-throttle"])
        self.head = self.server.sign_in()
        self.student = self.head.post("/v1/students", {"name": "Linnet Tallowmere", "hand": "right", "sex": "female", "height_m": 1.68}).json["id"]
        self.documents = []
        for name in ("two_views", "down_the_line", "face_on", "every_part"):
            with open(os.path.join(support.ROOT, "tests", "data", name + ".json")) as file:
                self.documents.append(json.load(file))
        self.ids, self.asked = [], {}
        self.count = 0
        self.send(36)
        self.lessons = [self.head.post("/v1/students/%s/lessons" % self.student, {"held_at": "2026-05-03T09:00:00Z", "swings": self.ids[at:at + 4]}).json["id"]
                        for at in (0, 8)]

    def send(self, count):
        for _ in range(count):
            document = copy.deepcopy(self.documents[self.count % len(self.documents)])
            document["recorded_at"] = "2026-05-02T%02d:%02d:05Z" % divmod(self.count, 60)
            made = self.head.post("/v1/students/%s/swings" % self.student, document)
            assert made.status == 201, made.body
            self.ids.append(made.json["id"])
            self.count += 1

    def job(self):
        return self.head.get("/v1/standard/job").json["job"]

    def wait(self):
        """The job when it is over."""
        return support.job_over(self.head)

    def standard(self, label, **changes):
        """The standard in force under another name and with these members; its ETag."""
        now = self.head.get("/v1/standard")
        made = copy.deepcopy(now.json["standard"])
        made.update(version=label, **changes)
        return made, now.header("ETag")

    def save(self, label, **changes):
        made, tag = self.standard(label, **changes)
        reply = self.head.put("/v1/standard", made, match=tag)
        assert reply.status == 200, reply.body
        return reply.json["number"]

    def reports(self):
        """Every report's row that the file holds: number, whose, by which standard, and its text as it lies there."""
        return self.server.query("SELECT number, swing_id, lesson_id, standard, hex(coalesce(packed, json)) FROM report ORDER BY number")

    def twin(self):
        """A server on a copy of the file as it is, with nothing kept beside the reports; and its head."""
        self.server.stop()
        other = Server(self.checks, options=["--no-throttle"], init=False, start=False)
        shutil.copytree(self.server.data, other.data)
        self.server.start()
        self.head = self.server.client(self.head.token)
        other.start()
        other.write("DELETE FROM report_measures")
        return other, other.client(self.head.token)

    def newest(self):
        return {swing: self.head.get("/v1/swings/%s/report" % swing).json for swing in self.ids}


def none_yet(checks, club):
    checks.same(club.head.get("/v1/standard/job").json, {"job": None}, "before there was one there is no job")
    checks.status(club.head.delete("/v1/standard/job"), 404, "nor any to stop")


def a_trial(checks, club):
    """What it counts is what the reports by either standard say."""
    looser, _ = club.standard("looser", threshold=.35)
    before = club.reports()
    begun = club.head.post("/v1/standard/try", looser)
    checks.same((begun.status, begun.header("Location")), (202, "/v1/standard/job"), "a trial is begun")
    job = begun.json["job"]
    checks.same((job["kind"], job["state"], job["tried"], job["standard"], job["done"], job["of"]), ("trial", "running", "looser", 1, 0, None), "and says what it is")
    done = club.wait()
    checks.same((done["id"], done["state"], done["done"], done["of"], done["unread"]), (job["id"], "done", len(club.ids), len(club.ids), 0), "it goes through every swing")
    checks.same(club.reports(), before, "and changes no report")
    now = club.newest()
    present = {}
    for report in now.values():
        for fault in report["faults"]:
            if fault["verdict"] == "present":
                present[fault["fault"]] = present.get(fault["fault"], 0) + 1
    result = done["result"]
    checks.same({row["fault"]: row["present_now"] for row in result["faults"] if row["present_now"]}, present, "what it finds now is what the reports say")
    checks.same(result["swings"], len(club.ids), "of all swings")
    checks.ok(sum(row["lost"] for row in result["faults"]) > 0 and all(row["present_now"] + row["gained"] - row["lost"] == row["present_then"] for row in result["faults"]),
              "a trial that changes nothing would prove nothing, and its columns add up", result["faults"])
    club.trial, club.first = result, now


def as_foretold(checks, club):
    """Scoring anew by what was tried gives the reports that the trial spoke of; the old ones stay."""
    before = club.reports()
    club.save("looser", threshold=.35)
    twin, head = club.twin()
    checks.same((club.reports(), club.head.get("/v1/standard/versions").json["versions"][0]["swings"]), (before, 0), "a new version by itself scores nothing")
    begun = club.head.post("/v1/standard/rescore", {})
    checks.status(begun, 202, "the club is scored anew")
    done = club.wait()
    total = len(club.ids) + len(club.lessons)
    checks.same((done["kind"], done["state"], done["standard"], done["done"], done["of"], done["unread"], done["result"]),
                ("rescore", "done", 2, total, total, 0, {"swings": len(club.ids), "lessons": len(club.lessons)}), "each swing and each lesson once")
    after = club.reports()
    checks.same(after[:len(before)], before, "the old reports are there to the last byte")
    checks.same(sorted(filter(None, (row[1] for row in after[len(before):]))), sorted(club.ids), "beside them stands one more for each swing")
    checks.same(sorted(filter(None, (row[2] for row in after[len(before):]))), sorted(club.lessons), "and one for each lesson")
    checks.same({row[3] for row in after[len(before):]}, {2}, "all by the version in force")
    now = club.newest()
    by = lambda number: {swing: club.head.get("/v1/swings/%s/report?standard=%s" % (swing, number)) for swing in club.ids}
    checks.same([{swing: reply.json for swing, reply in by(number).items()} for number in (1, 2)], [club.first, now], "what either version said can be read")
    checks.same({reply.status for reply in by(3).values()}, {404}, "of one that has judged nothing there is no report")
    checks.same({reply.status for number in ("0", "x", "1x", "") for reply in by(number).values()}, {422}, "and a version is named by its number")
    checks.ok(all(report["standard"]["number"] == 2 for report in now.values()), "which are what is read from now on")
    present, changed = {}, 0
    for swing, report in now.items():
        for fault in report["faults"]:
            if fault["verdict"] == "present":
                present[fault["fault"]] = present.get(fault["fault"], 0) + 1
        first = [[fix["fault"] for fix in each["first_fixes"]] for each in (report, club.first[swing])]
        changed += (len(first[0]), first[0][:1]) != (len(first[1]), first[1][:1])
    told = {row["fault"]: row["present_then"] for row in club.trial["faults"] if row["present_then"]}
    checks.same(told, present, "the trial had told how many would have each fault")
    checks.same(club.trial["first_fix_changed"], changed, "and how many another first fix")
    lesson = club.head.get("/v1/lessons/%s/report" % club.lessons[0]).json
    checks.same((lesson["standard"]["number"], lesson["swings"]), (2, 4), "a lesson's swings are judged together again")
    then = lambda number: club.head.get("/v1/lessons/%s/report?standard=%s" % (club.lessons[0], number))
    checks.same([then(number).json["standard"]["number"] for number in (1, 2)], [1, 2], "and what either version said of them can be read")
    checks.same((then(2).json, then(1).json["swings"], then(3).status, then("x").status), (lesson, 4, 404, 422), "as of a swing")
    checks.same(club.head.get("/v1/standard/versions").json["versions"][0]["swings"], len(club.ids), "the version counts them")
    from_documents(checks, club, twin, head)
    again = club.head.post("/v1/standard/rescore", {})
    checks.same((again.status, club.wait()["result"], club.reports()), (202, {"swings": 0, "lessons": 0}, after), "a second time there is nothing left to score")


def from_documents(checks, club, twin, head):
    """What was kept beside the reports gave the very reports that the documents give, and the same is kept beside them."""
    head.post("/v1/standard/rescore", {})
    checks.same(support.job_over(head)["result"], {"swings": len(club.ids), "lessons": len(club.lessons)}, "a copy of the club is scored from its documents")
    made = "SELECT r.swing_id, r.lesson_id, hex(coalesce(r.packed, r.json)), hex(m.packed) FROM report r JOIN report_measures m ON m.report = r.number WHERE r.standard = 2 ORDER BY 1, 2"
    rows = twin.query(made)
    checks.same((len(rows), club.server.query(made)), (len(club.ids) + len(club.lessons), rows), "to the same reports, byte for byte")
    twin.end()


def what_does_not_count(checks, club):
    """A swing that was set aside stays as it was; one that comes meanwhile, or is corrected, is not scored twice."""
    club.head.post("/v1/swings/%s/void" % club.ids[20], {"reason": "another player's"})
    club.save("third", threshold=.2)
    club.send(2)
    before = len(club.reports())
    club.head.post("/v1/standard/rescore", {})
    done = club.wait()
    checks.same((done["state"], done["result"]["swings"], len(club.reports()) - before), ("done", len(club.ids) - 3, len(club.ids) - 3 + len(club.lessons)),
                "neither what was set aside nor what the version has judged already")
    checks.same(club.head.get("/v1/swings/%s/report" % club.ids[20]).json["standard"]["number"], 2, "what does not count keeps its report")


def one_at_a_time(checks, club):
    club.send(SWINGS - len(club.ids))
    other, _ = club.standard("other", threshold=.3)
    club.save("fourth", threshold=.25)
    checks.status(club.head.post("/v1/standard/rescore", {}), 202, "a long job is begun")
    refused = club.head.post("/v1/standard/try", other)
    checks.same((refused.status, refused.problem["type"].split(":")[-1].split("/")[-1]), (409, "job-running"), "a second one is refused while it runs")
    checks.status(club.head.post("/v1/standard/rescore", {}), 409, "of either kind")
    checks.status(club.head.delete("/v1/standard/job"), 204, "it is stopped")
    stopped = club.job()
    checks.same((stopped["state"], stopped["ended"] is not None), ("stopped", True), "and says so at once")
    checks.status(club.head.delete("/v1/standard/job"), 404, "a stopped one is not stopped again")
    made = stopped["result"]["swings"] + stopped["result"]["lessons"]
    time.sleep(1.2)
    by_it = club.server.query("SELECT count(*) FROM report WHERE standard = 4")[0][0]
    checks.same((club.job(), by_it), (stopped, made), "nothing is scored after that")
    checks.status(club.head.post("/v1/standard/try", other), 202, "then another may begin")
    checks.same(club.wait()["state"], "done", "and is done")


def overtaken(checks, club):
    checks.status(club.head.post("/v1/standard/rescore", {}), 202, "scoring anew is begun")
    club.save("fifth", threshold=.22)
    job = club.wait()
    checks.ok(job["state"] == "overtaken" and job["standard"] == 4, "a new version ends what went by the one before", job)


def killed(checks, club):
    """SIGKILL again and again in the middle: each swing and lesson gets one report, and no old one is lost."""
    before = club.reports()
    wanted = len(club.ids) + len(club.lessons) - 1  # one swing was set aside
    checks.status(club.head.post("/v1/standard/rescore", {}), 202, "scoring anew is begun")
    id, standard, places = club.job()["id"], club.job()["standard"], []
    made = lambda: club.server.query("SELECT count(*) FROM report WHERE standard = ?", standard)[0][0]
    for share in (.1, .3, .5, .7):
        deadline = time.monotonic() + WAIT
        while made() < share * wanted and time.monotonic() < deadline:
            time.sleep(.002)
        seen = club.job()["done"]
        club.server.kill()
        places.append(made())
        club.server.start()
        club.head = club.server.client(club.head.token)
        back = club.job()
        checks.ok(back["id"] == id and back["done"] >= seen, "a server that was killed goes on where it was", (seen, back))
    done = club.wait()
    checks.ok(any(0 < at < wanted for at in places), "the kill came in the middle", places)
    after = club.reports()
    fresh = [row[1] or row[2] for row in after[len(before):]]
    checks.same((done["state"], done["done"], done["of"]), ("done", done["of"], len(club.ids) + len(club.lessons)), "it is done in the end")
    checks.same(after[:len(before)], before, "every old report is there as it was")
    checks.same((len(fresh), len(set(fresh))), (wanted, wanted), "each swing and lesson was scored once")
    checks.same(done["result"]["swings"] + done["result"]["lessons"], wanted, "and counted once")
    tallies = "SELECT standard, swings FROM standard_tally WHERE swings > 0 ORDER BY 1"
    recount = "SELECT standard, count(DISTINCT swing_id) FROM report WHERE swing_id IS NOT NULL GROUP BY standard ORDER BY 1"
    checks.same(club.server.query(tallies), club.server.query(recount), "so do the versions' own counts")


def trial_of_older_reports(checks, club):
    """What was kept without all that judging takes is measured again, and found the same."""
    other, _ = club.standard("other", threshold=.3)
    club.head.post("/v1/standard/try", other)
    quick = club.wait()
    club.server.stop()
    club.server.start()
    club.head = club.server.client(club.head.token)
    club.server.write("UPDATE report_measures SET packed = zeroblob(length(packed)) WHERE report % 2 = 0")
    club.server.write("DELETE FROM report_measures WHERE report % 3 = 0")
    club.head.post("/v1/standard/try", other)
    slow = club.wait()
    checks.same((slow["state"], slow["result"], slow["done"]), ("done", quick["result"], quick["done"]), "a trial finds the same in what older programs kept")


def stopped_with_the_server(checks, club):
    club.save("sixth", threshold=.21)
    checks.status(club.head.post("/v1/standard/rescore", {}), 202, "scoring anew is begun")
    began = time.monotonic()
    code = club.server.stop()
    checks.ok(code == 0 and time.monotonic() - began < 10, "the server ends without waiting for it", code)
    club.server.start()
    club.head = club.server.client(club.head.token)
    checks.same(club.wait()["state"], "done", "and goes on with it")


def refused(checks, club):
    bad, _ = club.standard("bad")
    bad["ranges"][8]["ok_low"] = 1000
    reply = club.head.post("/v1/standard/try", bad)
    checks.same((reply.status, reply.problem.get("type", "").split("/")[-1].split(":")[-1], reply.problem.get("path", "")[:9]), (422, "invalid-standard", "ranges[8]"), "a standard that can't be is not tried")
    checks.status(club.head.post("/v1/standard/rescore", {"all": True}), 422, "an unknown member is refused")
    deeds = [row["action"] for row in club.head.get("/v1/audit?limit=200").json["audit"] if row["entity"] == "standard"]
    checks.ok({"standard.try", "standard.rescore", "standard.stop"} <= set(deeds), "the audit has who began and who stopped", deeds)


def main():
    checks = Checks("test_standard_job")
    club = Club(checks)
    checks.parts((none_yet, a_trial, as_foretold, what_does_not_count, one_at_a_time, overtaken, killed, trial_of_older_reports, stopped_with_the_server, refused), club)
    club.server.end()
    checks.finish()


if __name__ == "__main__":
    main()
