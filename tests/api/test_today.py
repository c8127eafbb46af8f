"""Today's students in one answer: whoever had a swing or a lesson, and whom the tablet names, with the open fix, the last note, the
hand-over and what waits; of the own team, and as the single lists have it."""
import datetime
import time

import support
from support import Checks, Server


class Club:
    def __init__(self, server):
        self.server, self.head = server, server.sign_in()
        self.ids, self.coaches = {}, {}
        for name in ("one", "two"):
            self.ids[name], self.coaches[name] = server.account(self.head, "coach", name)
        self.students = [self.coaches["one"].post("/v1/students", {"name": "Student %d" % n, "hand": "right", "birth_year": 1985}).json["id"] for n in range(4)]
        self.foreign = self.coaches["two"].post("/v1/students", {"name": "Foreign", "hand": "left"}).json["id"]

    def today(self, who="one", query=""):
        reply = (self.head if who == "head" else self.coaches[who]).get("/v1/students/today" + query)
        assert reply.status == 200, reply.body
        return reply.json["students"]


def who_is_there(checks, club):
    one, path = club.coaches["one"], "/v1/students/%s/swings"
    checks.same(club.today(), [], "nobody was there yet")
    for n in (2, 0):
        assert one.post(path % club.students[n], support.numbered(n)).status == 201
    checks.same([s["name"] for s in club.today()], ["Student 0", "Student 2"], "who had a swing, the last first")
    tomorrow = (datetime.datetime.now(datetime.timezone.utc) + datetime.timedelta(days=1)).strftime("%Y-%m-%dT%H:%M:%SZ")
    checks.same(club.today(query="?since=" + tomorrow), [], "since then")
    named = club.today(query="?students=%s,%s" % (club.students[3], club.students[0]))
    checks.same([s["name"] for s in named], ["Student 3", "Student 0", "Student 2"], "whom the tablet names come first, each once")
    checks.same([s["name"] for s in club.today(query="?students=" + club.foreign)], ["Student 0", "Student 2"], "another's student is left out, as one who does not exist")
    checks.same([s["name"] for s in club.today("head", "?students=" + club.foreign)], ["Foreign"], "the head may name anybody")
    checks.same(club.today("two"), [], "each coach has the own team's")
    tag = one.get("/v1/students/" + club.students[2]).header("ETag")
    assert one.patch("/v1/students/" + club.students[2], {"archived": True}, match=tag).status == 200
    checks.same([s["name"] for s in club.today()], ["Student 0"], "who is archived is not there")
    for query, where in (("?since=noon", "since"), ("?students=x", "students"), ("?students=" + ",".join([club.foreign] * 51), "students")):
        reply = one.get("/v1/students/today" + query)
        checks.ok(reply.status == 422 and reply.problem["path"] == where, "refused: " + query[:20], reply.body)


def what_is_told(checks, club):
    one, student = club.coaches["one"], club.students[0]
    path = "/v1/students/" + student
    row = club.today()[0]
    checks.same([row[key] for key in ("fix", "note", "handover", "waiting", "urgent", "pain", "junior", "open_fixes", "still")], [None, None, None, 0, False, [], False, 0, None], "of whom nothing is known nothing is told")
    phone = club.server.account(club.head, "student", "phone", student_id=student)[1]
    fix = support.assign(one, student, "crowding").json
    second = one.post(path + "/fixes", {"fault": "chicken_wing", "overrule": "seen"}).json
    one.post(path + "/notes", {"text": "older"})
    note = one.post(path + "/notes", {"text": "tires after twenty balls"}).json
    handed = one.post(path + "/handovers", {"to": club.ids["two"], "note": "one cue at a time"}).json
    one.patch(path, {"pain": ["knee"], "pain_note": "since May"}, match=one.get(path).header("ETag"))
    work = phone.get("/v1/me/homework").json["homework"][0]["id"]
    phone.post("/v1/homework/%s/done" % work, {"comment": "went well"})
    row = club.today()[0]
    due = [r["due_at"] for r in support.listed(one.get(path + "/retests")) if r["fix_id"] == fix["id"]][0]
    checks.same(row["fix"], {"id": fix["id"], "fault": "crowding", "opened_at": fix["opened_at"], "retest_at": due}, "the one open fix, not the one that waits")
    checks.ok(row["open_fixes"] == 2 and second["waiting"], "and how many are open", row)
    checks.same((row["note"]["id"], row["note"]["text"], row["note"]["author_name"]), (note["id"], "tires after twenty balls", "One"), "the last note and whose")
    checks.same((row["handover"]["id"], row["handover"]["note"], row["handover"]["from_name"]), (handed["id"], "one cue at a time", "One"), "the last hand-over")
    checks.same((row["pain"], row["pain_note"], row["waiting"], row["urgent"]), (["knee"], "since May", 1, False), "what hurts, and how much waits")
    phone.post("/v1/homework/%s/done" % work, {"pain": {"area": "hip", "level": 6}})
    row = club.today()[0]
    checks.same((row["waiting"], row["urgent"]), (2, True), "pain that pauses is urgent")
    waits = [item for item in support.listed(one.get("/v1/inbox")) if item["student_id"] == student]
    checks.same(len(waits), row["waiting"], "as many as in the inbox")
    for item in waits:
        one.post("/v1/inbox/%s/seen" % item["id"], {})
    checks.same((club.today()[0]["waiting"], club.today("head", "?students=" + student)[0]["waiting"]), (0, len([i for i in support.listed(club.head.get("/v1/inbox")) if i["student_id"] == student])),
                "what was seen waits no longer, for who saw it")
    pictures(checks, club, student, phone)
    checks.status(phone.get("/v1/students/today"), 403, "it is the coaches'")
    ask, until = "SELECT count(*) FROM audit WHERE action = 'student.list' AND account_id = ?", time.monotonic() + 10
    while club.server.query(ask, club.ids["one"]) != [(1,)] and time.monotonic() < until:
        time.sleep(.05)
    checks.same(club.server.query(ask, club.ids["one"]), [(1,)], "and who asked is in the audit, once a day")


def pictures(checks, club, student, phone):
    """The newest picture of the newest swings that count: on the list of today, in the inbox and in the list of swings, for as long as
    it may be shown."""
    one, path = club.coaches["one"], "/v1/students/%s" % student
    work = [item for item in one.get(path + "/homework").json["homework"] if not item["paused"]]
    phone.post("/v1/homework/%s/done" % work[0]["id"], {"comment": "with a picture"})
    shown = lambda: (club.today()[0]["still"], [i["still"] for i in support.listed(one.get("/v1/inbox")) if i["student_id"] == student][0])
    checks.same(shown(), (None, None), "no picture was sent")
    swings = [one.post(path + "/swings", support.numbered(n)).json["id"] for n in (10, 11)]
    listed = lambda: {s["id"]: s["still"] for s in support.listed(one.get(path + "/swings"))}
    row = club.today()[0]
    checks.same(row["last_swing"], one.get("/v1/swings/" + swings[1]).json["recorded_at"], "when the last swing was")
    at = ["/v1/swings/%s/stills/%s" % (swing, name) for swing, name in ((swings[0], "face_on-top"), (swings[1], "down_the_line-address"), (swings[1], "down_the_line-top"))]
    for n, address in enumerate(at):
        checks.status(one.put(address, support.png(), content_type="image/png"), 200, "a picture is sent")
        checks.same(shown(), (address, address), "the newest swing's, at its top where there is one (%d)" % n)
    checks.same([listed()[swing] for swing in swings], [at[0], at[2]], "each swing has its own in the list")
    checks.status(one.get(at[2]), 200, "and there it is")
    one.post("/v1/swings/%s/void" % swings[1], {"reason": "somebody else's"})
    checks.same(shown(), (at[0], at[0]), "of a swing that was set aside none")
    checks.ok([i["open_fault"] for i in support.listed(one.get("/v1/inbox")) if i["student_id"] == student] == ["crowding"], "and what is worked on stands there")
    offered = [(i["kind"], i["still"], i["open_fault"]) for i in support.listed(club.coaches["two"].get("/v1/inbox")) if i["student_id"] == student]
    checks.same(offered, [("handover", None, None)], "to whom the student is only offered neither is shown")
    phone.delete(path + "/consents/store_pictures")
    checks.same((shown(), set(listed().values())), ((None, None), {None}), "taken back, no list has any")


def main():
    checks = Checks("test_today")
    server = Server(checks, options=["--no-throttle"])
    club = Club(server)
    checks.parts((who_is_there, what_is_told), club)
    server.end()
    checks.finish()


main()
