"""Care: a drill for a sore area only with a coach's word, one fix at a time and two drills in all, told pain pauses a drill
until a coach says that it goes on, and what coaches tell each other stays with them."""
import json
from datetime import datetime, timezone

import support
from support import Checks, Server


def make(head, name, **more):
    return head.post("/v1/students", {"name": name, "hand": "right", **more}).json["id"]


def sore(client, student, areas):
    path = "/v1/students/" + student
    reply = client.patch(path, {"pain": areas}, match=client.get(path).header("ETag"))
    assert reply.status == 200, reply.body


def fixes(client, student, query=""):
    return {fix["fault"]: fix for fix in support.listed(client.get("/v1/students/%s/fixes%s" % (student, query)))}


def sore_in(reply):
    """The drills that a refusal names for what hurts."""
    conflicts = reply.problem.get("conflicts", []) if reply.status == 409 and reply.problem["type"].endswith("fix-conflict") else []
    return [(conflict["drill"], conflict["areas"]) for conflict in conflicts if conflict["kind"] == "sore_area"]


class Story:
    def __init__(self, checks, server):
        self.checks, self.server = checks, server
        self.head = server.sign_in()
        self.coach_id, self.coach = server.account(self.head, "coach", "first.coach")

    def student(self, name, sign_in, **more):
        student = make(self.head, name, **more)
        assert self.head.put("/v1/students/%s/team/%s" % (student, self.coach_id)).status == 204
        return student, self.server.account(self.head, "student", sign_in, student_id=student)[1]

    def sore_area(self):
        checks, head = self.checks, self.head
        student, _ = self.student("Wren Tallow", "wren", birth_year=1990)
        path = "/v1/students/%s/fixes" % student
        sore(head, student, ["low back"])
        none = self.coach.post(path, {"fault": "standing_up", "reason": "seen"})
        checks.ok(none.status == 409 and none.problem["type"].endswith("no-drill-fits"),
                  "every drill loads the sore area: none is taken by itself", none.body)
        refused = self.coach.post(path, {"fault": "standing_up", "reason": "seen", "drills": [{"drill": "seat-on-the-wall"}]})
        checks.same(sore_in(refused), [("seat-on-the-wall", ["low back"])], "nor one that the coach names without a word")
        ruled = self.coach.post(path, {"fault": "upright_posture", "reason": "seen",
                                       "drills": [{"drill": "hip-hinge-with-a-club-on-the-back"}]})
        checks.same(sore_in(ruled), [("hip-hinge-with-a-club-on-the-back", ["low back"])], "one that is ruled out too")
        given = self.coach.post(path, {"fault": "standing_up", "reason": "seen", "drills": [
            {"drill": "seat-on-the-wall", "confirm_reason": "her physiotherapist asked for it"}]})
        checks.ok(given.status == 201 and given.json["homework"][0]["confirmed"] == "her physiotherapist asked for it",
                  "with the coach's word it is given, and the word is kept", given.body)

    def falls(self):
        checks = self.checks
        student, _ = self.student("Ash Merrow", "ash", birth_year=1940)
        path = "/v1/students/%s/fixes" % student
        given = self.coach.post(path, {"fault": "hurried_tempo", "reason": "seen"})
        drills = [item["drill"] for item in given.json["homework"]]
        checks.ok(given.status == 201 and drills and "count-one-two-three" not in drills, "nobody past 65 closes the eyes unasked", drills)
        named = self.coach.post(path, {"fault": "hanging_back", "reason": "seen", "drills": [{"drill": "step-through-swings"}]})
        kinds = [(conflict["kind"], conflict["drill"]) for conflict in named.problem.get("conflicts", [])]
        checks.ok(named.status == 409 and ("unsteady", "step-through-swings") in kinds, "nor stands on one leg without a word", named.body)

    def one_at_a_time(self):
        checks, coach = self.checks, self.coach
        student, phone = self.student("Linnet Marl", "linnet", birth_year=1985)
        path = "/v1/students/%s/fixes" % student
        first = coach.post(path, {"fault": "chicken_wing", "overrule": "SECRET WHY"})
        second = coach.post(path, {"fault": "hips_slide_away", "overrule": "SECRET SINCE NOBODY SUGGESTED IT"})
        checks.ok(first.status == 201 and first.json["waiting"] is False, "the first fix runs", first.body[:200])
        checks.ok(second.status == 201 and second.json["waiting"] is True, "a second one waits in line", second.body[:200])
        shown = phone.get("/v1/me/homework").json["homework"]
        checks.same({item["fault"] for item in shown}, {"chicken_wing"}, "the student does one thing")
        checks.ok(len(shown) <= 2, "with two drills at most", len(shown))
        checks.same(list(fixes(phone, student)), ["chicken_wing"], "and sees one fix")
        checks.same(len(fixes(coach, student)), 2, "coaches see both")
        family = phone.get("/v1/students/%s/export" % student).body + phone.get(path).body
        checks.ok(b"SECRET" not in family, "why the report was overruled is between coaches, in the list and in the export")
        checks.ok("SECRET SINCE" in str(fixes(coach, student)["hips_slide_away"]["overrule"]), "who read it")
        early = phone.post("/v1/homework/%s/done" % second.json["homework"][0]["id"], {})
        checks.ok(early.status == 409 and early.problem["type"].endswith("homework-waits"), "what waits can't be ticked off", early.body)
        row = [s for s in self.head.get("/v1/overview?limit=200").json["students"] if s["student_id"] == student][0]
        checks.same((row["faults"], row["open_fixes"], row["waiting_fixes"]), (["chicken_wing"], 2, 1), "the overview tells them apart")
        third = coach.post(path, {"fault": "reaching", "reason": "seen"})
        checks.status(third, 409, "a third is refused")
        full = coach.patch("/v1/fixes/" + second.json["id"], {"status": "open", "together": "both before the match"}, match='"1"')
        checks.ok(full.status == 409 and full.problem["type"].endswith("too-many-drills"), "both at once would be four drills", full.body)
        for item in shown[1:]:
            version = [h for h in coach.get("/v1/students/%s/homework" % student).json["homework"] if h["id"] == item["id"]][0]["version"]
            off = coach.patch("/v1/homework/" + item["id"], {"ended": True, "reason": "one is enough"}, match='"%d"' % version)
            checks.status(off, 200, "a coach takes a drill off")
        waits = [h for h in coach.get("/v1/students/%s/homework?all=true" % student).json["homework"] if h["fault"] == "hips_slide_away"]
        for item in waits[1:]:
            coach.patch("/v1/homework/" + item["id"], {"ended": True, "reason": "one is enough"}, match='"%d"' % item["version"])
        both = coach.patch("/v1/fixes/" + second.json["id"], {"status": "open", "together": "both before the match"}, match='"1"')
        checks.ok(both.status == 200 and both.json["waiting"] is False and both.json["together"] == "both before the match",
                  "with two drills in all a coach may say why both run", both.body[:300])
        checks.same(len(phone.get("/v1/me/homework").json["homework"]), 2, "then the student has one drill of each")

    def the_next_begins(self):
        checks, coach = self.checks, self.coach
        student, phone = self.student("Teal Harrow", "teal", birth_year=1985)
        path = "/v1/students/%s/fixes" % student
        first = coach.post(path, {"fault": "chicken_wing", "reason": "seen"}).json
        second = coach.post(path, {"fault": "reaching", "overrule": "seen"}).json
        closed = coach.patch("/v1/fixes/" + first["id"], {"status": "closed", "reason": "it holds"}, match='"1"')
        checks.status(closed, 200, "the first is closed")
        now = fixes(coach, student, "?status=open")
        checks.ok(list(now) == ["reaching"] and now["reaching"]["waiting"] is False and now["reaching"]["version"] == 2,
                  "the one that waited begins", now)
        shown = phone.get("/v1/me/homework").json["homework"]
        checks.ok({item["fault"] for item in shown} == {"reaching"} and shown[0]["given_at"] > second["homework"][0]["given_at"],
                  "its days are counted from then", shown[:1])
        checks.status(phone.post("/v1/homework/%s/done" % shown[0]["id"], {}), 201, "and can be ticked off")

    def small_child(self):
        checks, coach = self.checks, self.coach
        year = datetime.now(timezone.utc).year
        for name, age, passed, own_size in (("Dot Lark", 6, {"n": 2, "of": 3}, True), ("Ida Lark", 11, {"n": 6, "of": 9}, True), ("Bo Lark", 15, {"n": 6, "of": 9}, False)):
            student, phone = self.student(name, name.split()[0].lower(), birth_year=year - age, junior=True, consent={"by": "Her Guardian"})
            coach.post("/v1/students/%s/fixes" % student, {"fault": "hanging_back", "reason": "seen", "drills": [{"drill": "finish-and-watch"}]})
            sheet = phone.get("/v1/me/homework").json
            work = sheet["homework"][0]
            checks.same((work["dose"]["pass"], work["drill"]["pass"]["of"], "own_size" in sheet["cautions"]), (passed, 9, own_size),
                        "at %d: how many holes, and whether a club of one's own size is asked for" % age)

    def pain(self):
        checks, coach = self.checks, self.coach
        student, phone = self.student("Pip Lark", "pip", birth_year=2013, junior=True, consent={"by": "Her Guardian"})
        guardian = self.server.account(self.head, "guardian", "pips", students=[student])[1]
        calendar = guardian.request("POST", "/v1/me/calendar").json["url_path"]
        coach.post("/v1/students/%s/fixes" % student, {"fault": "hanging_back", "reason": "seen",
                                                       "drills": [{"drill": "step-through-swings"}]})
        work = phone.get("/v1/me/homework").json["homework"][0]
        checks.ok(b"BEGIN:VEVENT" in self.server.client().get(calendar).body, "the calendar shows the practice days")
        done = "/v1/homework/%s/done" % work["id"]
        checks.ok(work["paused"] is None and "ticks" not in work, "a fresh drill runs", work)
        for bad, where in (({"pain": {"area": "nose", "level": 1}}, "pain.area"), ({"pain": {"area": "knee", "level": 11}}, "pain.level"),
                           ({"pain": {"area": "knee"}}, "pain.level"), ({"passed": {"of": 5, "n": 6}}, "passed.n"),
                           ({"pain": {"area": "knee", "level": 1, "x": 1}}, "pain.x")):
            reply = phone.post(done, bad)
            checks.ok(reply.status == 422 and reply.problem.get("path") == where, "refused: %s" % bad, reply.body)
        little = phone.post(done, {"passed": {"of": 10, "n": 8}, "pain": {"area": "knee", "level": 1}})
        checks.ok(little.status == 201 and little.json["paused"] is False and little.json["passed"] == {"of": 10, "n": 8},
                  "a little pain is noted", little.body)
        key = phone.post(done, {"comment": "my knee", "pain": {"area": "knee", "level": 3}}, key="rise")
        checks.ok(key.status == 201 and key.json["paused"] is True, "a rise of two pauses the drill", key.body)
        counted = [phone.get("/v1/me/homework").json["homework"][0]["done"], fixes(coach, student)["hanging_back"]["homework"][0]]
        month = self.head.get("/v1/figures").json["total"]["sessions_done"]
        week = [c for c in self.head.get("/v1/overview").json["coaches"] if c["account_id"] == self.coach_id][0]["homework_done_this_week"]
        before = self.server.query("SELECT count(*) FROM homework_done AS d JOIN homework AS h ON h.id = d.homework_id WHERE h.student_id <> ?", student)[0][0]
        checks.same((counted[0]["count"], counted[0]["this_week"], counted[1]["done"], counted[1]["done_this_week"], month - before, week - before), (1, 1, 1, 1, 1, 1),
                    "a session in which it hurt counts as one, what was told of pain alone does not: at home, for the coach, in the figures and the overview")
        again = phone.post(done, {"comment": "my knee", "pain": {"area": "knee", "level": 3}}, key="rise")
        checks.ok(again.body == key.body, "resent: the same answer, once", again.body)
        checks.same(self.server.query("SELECT count(*) FROM inbox WHERE student_id = ? AND done_id IS NOT NULL", student)[0][0], 2, "and one item")
        for who, client in (("student", phone), ("guardian", guardian)):
            paused = client.get("/v1/me/homework").json["homework"][0]["paused"]
            checks.ok(paused and (paused["why"], paused["areas"], paused["level"]) == ("pain", ["knee"], 3), "the %s sees it paused" % who, paused)
        feed = self.server.client().get(calendar)
        checks.ok(feed.status == 200 and b"BEGIN:VEVENT" not in feed.body, "the calendar asks for no paused drill", feed.body[:200])
        stop = phone.post(done, {})
        checks.ok(stop.status == 409 and stop.problem["type"].endswith("homework-paused"), "a paused drill can't be ticked off", stop.body)
        checks.status(phone.post(done, {"pain": {"area": "knee", "level": 2}}), 201, "but pain can always be told")
        seen = coach.get("/v1/students/%s/homework" % student).json["homework"][0]
        checks.ok([tick["pain"]["level"] for tick in seen["ticks"]] == [2, 3, 1] and seen["ticks"][1]["comment"] == "my knee",
                  "the coach reads comments and pain", seen["ticks"])
        tag = '"%d"' % seen["version"]
        home = "/v1/homework/" + work["id"]
        checks.status(coach.patch(home, {"paused": False}, match=tag), 422, "it goes on only with a reason")
        checks.status(coach.patch(home, {"paused": True, "reason": "x"}, match=tag), 422, "a coach does not pause this way")
        checks.status(coach.patch(home, {"paused": False, "reason": "seen her, fine"}), 428, "and with If-Match")
        checks.status(phone.patch(home, {"paused": False, "reason": "I want to"}, match=tag), 403, "never by the student")
        on = coach.patch(home, {"paused": False, "reason": "SECRET seen her, fine"}, match=tag)
        checks.ok(on.status == 200 and on.json["paused"] is None and on.json["resumed_by"] == self.coach_id, "a coach's word sets it going", on.body)
        checks.status(coach.patch(home, {"paused": False, "reason": "again"}, match='"%d"' % on.json["version"]), 409, "which is said once")
        checks.ok(b"SECRET" not in phone.get("/v1/me/homework").body + guardian.get("/v1/students/%s/export" % student).body,
                  "the word itself is between coaches")
        checks.status(phone.post(done, {}), 201, "then it can be ticked off again")
        strong = phone.post(done, {"pain": {"area": "hip", "level": 4}})
        checks.ok(strong.json["paused"] is True, "four pauses it in any area", strong.body)

    def newly_sore(self):
        """An area that becomes sore later holds what loads it, until a coach gives his word for that area."""
        checks, coach = self.checks, self.coach
        student, phone = self.student("Jay Cole", "jay", birth_year=1985)
        coach.post("/v1/students/%s/fixes" % student, {"fault": "hips_slide_away", "overrule": "seen", "drills": [{"drill": "chair-behind-the-hips"}]})
        sore(coach, student, ["hip"])
        work = phone.get("/v1/me/homework").json["homework"][0]
        checks.ok(work["paused"] and (work["paused"]["why"], work["paused"]["areas"]) == ("sore_area", ["hip"]), "the drill waits for a word", work["paused"])
        care = phone.get("/v1/me/homework").json["cautions"]
        checks.ok({"code": "sore", "areas": ["hip"]} in care, "as the sheet says", care)
        checks.status(phone.post("/v1/homework/%s/done" % work["id"], {}), 409, "and can't be ticked off")
        version = coach.get("/v1/students/%s/homework" % student).json["homework"][0]["version"]
        checks.status(coach.patch("/v1/homework/" + work["id"], {"paused": False, "reason": "small turns only"}, match='"%d"' % version), 200, "the word is given")
        checks.same(phone.get("/v1/me/homework").json["homework"][0]["paused"], None, "it goes on")
        sore(coach, student, ["hip", "knee"])
        checks.same(phone.get("/v1/me/homework").json["homework"][0]["paused"]["areas"], ["knee"], "but not for the next area")

    def renewed(self):
        """A club of an older program gets the drills' care with the newer one; what it has changed itself stays its own."""
        checks, server = self.checks, self.server
        drills = {d["id"]: d for d in support.listed(self.head.get("/v1/drills?limit=200"))}
        own = drills["seat-on-the-wall"]
        change = {k: v for k, v in own.items() if k not in ("id", "built_in", "version", "created", "retired", "retired_at")}
        ours = self.head.patch("/v1/drills/seat-on-the-wall", {**change, "minutes": 7}, match='"%d"' % own["version"])
        checks.status(ours, 200, "the club changes a drill")
        for drill in ("chair-behind-the-hips", "seat-on-the-wall"):
            text = json.loads(server.query("SELECT json FROM drill WHERE id = ?", drill)[0][0])
            server.write("UPDATE drill SET json = ? WHERE id = ?", json.dumps({**text, "loads": []}), drill)
        server.write("DELETE FROM drill WHERE id = 'clap-the-count'")  # as if the club's file were from before there was one
        server.stop()
        server.start()
        self.head = server.sign_in()
        after = {d["id"]: d for d in support.listed(self.head.get("/v1/drills?limit=200"))}
        checks.same(after["chair-behind-the-hips"]["loads"], ["low back", "hip", "knee"], "an untouched drill is renewed at the start")
        checks.same((after["seat-on-the-wall"]["loads"], after["seat-on-the-wall"]["minutes"]), ([], 7), "one that the club changed is not")
        checks.same(after.get("clap-the-count", {}).get("built_in"), True, "one that is new comes in")
        checks.ok(any(row["action"] == "drill.renew" for row in support.listed(self.head.get("/v1/audit?limit=20"))), "and it is in the audit")

    def levels(self):
        """A drill that a club wrote before there were levels gets one by its ball and kit; what contradicts itself is refused."""
        checks, head = self.checks, self.head
        drill = {"name": "Our own", "faults": ["crowding"], "how_to": "Swing.", "feel": "Slow.", "kit": ["club"], "place": ["range"], "ball": False, "loads": [], "minutes": 5}
        made = head.post("/v1/drills", drill)
        checks.same((made.status, made.json["level"], "next" in made.json), (201, 2, False), "with a club and without a ball it is at level 2")
        path = "/v1/drills/" + made.json["id"]
        ball = head.patch(path, {"ball": True, "kit": ["club", "balls"]}, match="*")
        checks.same((ball.status, ball.json.get("level")), (200, 3), "with a ball at 3")
        refused = head.patch(path, {"level": 1}, match="*")
        checks.same((refused.status, refused.problem.get("pointer", refused.problem.get("path"))), (422, "level"), "level 1 with a ball is refused")
        whole = {"level": 4, "place": ["course"], "entry": "Ten good ones.", "pass": {"n": 6, "of": 9, "what": "holes"}, "next": "clap-the-count",
                 "easier": "Sit.", "why": "It may.", "source": "practice", "asks": [{"measure": "hands_gap", "checkpoint": "address", "value": 0.12}]}
        kept = head.patch(path, whole, match="*")
        checks.same({key: kept.json.get(key) for key in whole}, whole, "all that a step has is kept as it was sent")
        gone = head.patch(path, {key: None for key in whole if key != "place"}, match="*")
        checks.same(([key for key in whole if key in gone.json], gone.json.get("level")), (["level", "place"], 3), "and null takes each away")


def main():
    checks = Checks("test_pain")
    server = Server(checks, options=["--no-throttle"])
    story = Story(checks, server)
    for part in (story.sore_area, story.falls, story.one_at_a_time, story.the_next_begins, story.small_child, story.pain, story.newly_sore, story.renewed, story.levels):
        try:
            part()
        except Exception as error:  # one part's surprise must not hide the others
            checks.ok(False, part.__name__ + " ran to its end", repr(error))
    server.end()
    checks.finish()


main()
