"""The inbox: what students said with their homework, for everybody who teaches them and nobody else, until each has seen it."""
import datetime
import time

import support
from support import Checks, Server


def items(client, query=""):
    return support.listed(client.get("/v1/inbox" + query))


class Club:
    def __init__(self, server):
        self.server, self.head = server, server.sign_in()
        self.coaches = {name: server.account(self.head, "coach", name) for name in ("one", "two", "stranger")}
        self.students, self.phones, self.work = {}, {}, {}
        for name, team in (("ada", ("one", "two")), ("bea", ("one",)), ("cyd", ())):
            student = self.head.post("/v1/students", {"name": name.title(), "hand": "right", "birth_year": 1985}).json["id"]
            for coach in team:
                assert self.head.put("/v1/students/%s/team/%s" % (student, self.coaches[coach][0])).status == 204
            self.students[name] = student
            self.phones[name] = server.account(self.head, "student", name, student_id=student)[1]
            support.assign(self.head, student, "crowding")
            self.work[name] = self.phones[name].get("/v1/me/homework").json["homework"][0]["id"]

    def coach(self, name):
        return self.coaches[name][1]

    def tick(self, name, **said):
        reply = self.phones[name].post("/v1/homework/%s/done" % self.work[name], said)
        assert reply.status == 201, reply.body
        return reply.json


def who_reads(checks, club):
    club.tick("ada")
    checks.same(club.coach("one").get("/v1/inbox").json, {"waiting": 0, "inbox": []}, "a bare tick waits for nobody")
    club.tick("ada", comment="the first")
    club.tick("bea", comment="from Bea", passed={"of": 10, "n": 9})
    club.tick("ada", pain={"area": "wrist", "level": 0})
    checks.same([i["comment"] for i in items(club.coach("one"))], ["from Bea", "the first"], "newest first, of the own students")
    checks.same([i["comment"] for i in items(club.coach("two"))], ["the first"], "each team its own")
    checks.same(items(club.coach("stranger")), [], "a stranger has nothing")
    ask, until = "SELECT count(*) FROM audit WHERE action = 'student.list' AND account_id = ?", time.monotonic() + 10
    while club.server.query(ask, club.coaches["two"][0]) != [(1,)] and time.monotonic() < until:
        time.sleep(.05)
    checks.same(club.server.query(ask, club.coaches["two"][0]), [(1,)], "and who read the inbox is in the audit")
    checks.same(len(items(club.head)), 2, "the head sees all")
    item = items(club.coach("one"))[0]
    checks.ok(item["kind"] == "comment" and item["student_name"] == "Bea" and item["passed"] == {"of": 10, "n": 9} and item["drill_name"]
              and item["fault"] == "crowding" and item["urgent"] is False and item["done_at"], "who, what and when", item)


def pain_first(checks, club):
    club.tick("ada", comment="it hurts", pain={"area": "low back", "level": 5})
    club.tick("bea", comment="later, and harmless")
    first = items(club.coach("one"))[0]
    checks.ok(first["urgent"] and first["kind"] == "pain" and first["pain"] == {"area": "low back", "level": 5} and first["paused"]
              and first["comment"] == "it hurts", "pain that pauses comes first for the team", first)
    checks.ok(items(club.coach("two"))[0]["urgent"], "for every coach of it")
    checks.ok(not items(club.head)[0]["urgent"], "the head's first thing it is not: coaches are there", items(club.head)[0])
    club.tick("bea", pain={"area": "hip", "level": 7})
    checks.ok(items(club.head)[0]["urgent"] and items(club.head)[0]["student_name"] == "Bea", "from seven on it is")
    club.tick("cyd", pain={"area": "knee", "level": 4})
    checks.same([i["student_name"] for i in items(club.head)[:2]], ["Cyd", "Bea"], "and whenever nobody is on the team")
    checks.same([i["student_name"] for i in items(club.coach("one"))][:2], ["Bea", "Ada"], "the team's order is its own")


def taken_back(checks, club):
    """A tick by mistake: it and its words are gone for everybody; pain that was told stays, and so does what is old."""
    phone, done = club.phones["cyd"], "/v1/homework/%s/done" % club.work["cyd"]
    count = lambda: phone.get("/v1/me/homework").json["homework"][0]["done"]
    before, waits = count(), club.head.get("/v1/inbox").json["waiting"]
    tick = phone.post(done, {"comment": "the wrong drill"}, key="slip-1")
    checks.ok(count()["count"] == before["count"] + 1 and club.head.get("/v1/inbox").json["waiting"] == waits + 1, "a tick with a word counts and waits", count())
    path = "%s/%s" % (done, tick.json["id"])
    checks.status(club.phones["ada"].delete(path), 404, "it is not another's to take back")
    checks.status(club.coach("one").delete(path), 403, "nor a coach's")
    checks.status(phone.delete("/v1/homework/%s/done/%s" % (club.work["ada"], tick.json["id"])), 404, "nor under another homework")
    checks.status(phone.delete(path), 204, "one's own is taken back")
    checks.status(phone.delete(path), 404, "once")
    checks.ok(count() == before and club.head.get("/v1/inbox").json["waiting"] == waits, "it counts no longer and its word waits for nobody", count())
    checks.same(club.server.query("SELECT count(*) FROM idempotency WHERE object_id = ?", tick.json["id"]), [(0,)], "no answer is kept for it")
    checks.same(club.server.query("SELECT count(*) FROM audit WHERE action = 'homework.withdraw' AND object_id = ?", tick.json["id"]), [(1,)], "who took it back is in the audit")
    again = phone.post(done, {"comment": "the wrong drill"}, key="slip-1")
    checks.ok(again.status == 201 and again.json["id"] != tick.json["id"], "the same request afterwards ticks anew", again.body)
    pain = phone.post(done, {"pain": {"area": "neck", "level": 1}})
    checks.ok(phone.delete("%s/%s" % (done, pain.json["id"])).problem["type"].endswith(":tick-told"), "what told of pain stays")
    old = "01900000-0000-7000-8000-00000000000a"
    bare = phone.post(done, {}).json["id"]
    for table, column in (("homework_done", "id"), ("idempotency", "object_id")):
        club.server.write("UPDATE %s SET %s = ? WHERE %s = ?" % (table, column, column), old, bare)
    checks.ok(phone.delete("%s/%s" % (done, old)).problem["type"].endswith(":tick-kept"), "and what arrived more than ten minutes ago")


def pages(checks, club):
    one = club.coach("one")
    whole = [i["id"] for i in items(one)]
    got, path = [], "/v1/inbox?limit=2"
    while path:
        reply = one.get(path)
        got += [i["id"] for i in support.listed(reply)]
        checks.same(reply.json["waiting"], len(whole), "every page tells how many wait")
        link = reply.header("Link") or ""
        path = link[link.find("<") + 1:link.find(">")] if "next" in link else None
    checks.same(got, whole, "page by page the same order, nothing lost or doubled")


def seen(checks, club):
    one, two = club.coach("one"), club.coach("two")
    item = items(two)[0]["id"]
    before = one.get("/v1/inbox").json["waiting"]
    checks.status(two.post("/v1/inbox/%s/seen" % item, {}), 204, "seen")
    checks.status(two.post("/v1/inbox/%s/seen" % item, {}), 204, "twice is as good")
    checks.ok(item not in [i["id"] for i in items(two)], "it waits no longer for who has seen it")
    checks.ok(item in [i["id"] for i in items(one)] and one.get("/v1/inbox").json["waiting"] == before, "for the others it does")
    checks.status(club.coach("stranger").post("/v1/inbox/%s/seen" % item, {}), 404, "a stranger can't even say so")
    checks.status(club.phones["ada"].post("/v1/inbox/%s/seen" % item, {}), 403, "nor the student")
    checks.status(club.phones["ada"].get("/v1/inbox"), 403, "who has no inbox")


def asked(checks, club):
    """A consent that was asked for: the family sees it, who asked hears the answer, and the team that there is none."""
    student, one, two, phone = club.students["bea"], club.coach("one"), club.coach("two"), club.phones["bea"]
    assert club.head.put("/v1/students/%s/team/%s" % (student, club.coaches["two"][0])).status == 204
    path = "/v1/students/%s/requests" % student
    made = one.post(path, {"scope": "teach_with", "note": "For Thursday."})
    checks.ok(made.status == 201 and (made.json["asked_by_name"], made.json["agreed"]) == ("One", None), "a coach asks the family", made.body)
    again = two.post(path, {"scope": "teach_with"})
    checks.ok(again.status == 409 and again.problem["type"].endswith("consent-asked"), "which is asked once", again.body)
    checks.status(phone.post(path, {"scope": "teach_with"}), 403, "by the team alone")
    checks.status(one.post(path, {"scope": "all"}), 422, "for one of the things there are")
    checks.same([(r["scope"], r["note"], r["answered_at"]) for r in phone.get(path).json["requests"]], [("teach_with", "For Thursday.", None)], "the student reads it")
    mine = lambda client, kind: [item for item in items(client) if item["request_id"] == made.json["id"] and item["kind"] == kind]
    checks.same((mine(one, "consent_request"), mine(two, "consent_request")), ([], []), "a week is given for it")
    club.server.write("UPDATE inbox SET due_at = due_at - 604800000 WHERE request_id = ?", made.json["id"])
    for who, client in (("who asked", one), ("the other coach", two), ("the head", club.head)):
        checks.same([(i["by_name"], i["scope"], i["agreed"], bool(i["asked_at"])) for i in mine(client, "consent_request")], [("One", "teach_with", None, True)],
                    "then %s reads that nobody answered" % who)
    checks.status(phone.post("/v1/students/%s/consents" % student, {"scope": "teach_with"}), 201, "the student says yes")
    checks.same((mine(one, "consent_request"), mine(two, "consent_request"), mine(two, "consent_answered")), ([], [], []), "nothing waits any more")
    checks.same([(i["by_name"], i["agreed"]) for i in mine(one, "consent_answered")], [("Bea", True)], "and who asked hears it")
    checks.same([r["agreed"] for r in one.get(path).json["requests"]], [True], "as the list says")
    no = one.post(path, {"scope": "share_with_club"}).json["id"]
    checks.status(phone.delete("/v1/students/%s/consents/share_with_club" % student), 204, "another is answered with a no")
    checks.same([(i["kind"], i["agreed"]) for i in items(one) if i["request_id"] == no], [("consent_answered", False)], "which is told as well")
    own = one.post(path, {"scope": "share_with_club"}).json["id"]
    checks.status(one.post("/v1/students/%s/consents" % student, {"scope": "share_with_club", "by": "Bea"}), 409, "what the family refused stays refused")
    checks.same([r["agreed"] for r in one.get(path).json["requests"] if r["id"] == own], [None], "and is still asked for")
    export = phone.get("/v1/students/%s/export" % student).json
    checks.same(len(export["consent_request"]), 3, "the export has what was asked")


def of_age(checks, club):
    """Sixty days before the 18th birthday it is told, and on the day that the student is asked anew."""
    day = lambda ahead: (datetime.date.today().replace(day=1) + datetime.timedelta(datetime.date.today().day - 1 + ahead))
    born = lambda ahead: "%04d-%02d-%02d" % (day(ahead).year - 18, day(ahead).month, min(day(ahead).day, 28))
    make = lambda ahead: club.coach("one").post("/v1/students", {"name": "Young", "hand": "right", "birth_date": born(ahead), "consent": {"by": "Rowan"}}).json["id"]
    told = lambda client, student: [(i["kind"], i["comes_of_age"]) for i in items(client) if i["student_id"] == student]
    soon, later = make(40), make(100)
    when = "%04d%s" % (int(born(40)[:4]) + 18, born(40)[4:])
    for who, client in (("the coach", club.coach("one")), ("the head", club.head)):
        checks.same((told(client, soon), told(client, later)), ([("coming_of_age", when)], []), "%s reads who comes of age within sixty days" % who)
    checks.same(told(club.coach("two"), soon), [], "not a coach of others")
    path = "/v1/students/" + soon
    change = lambda body: checks.status(club.head.patch(path, body, match=club.head.get(path).header("ETag")), 200, "(%s)" % list(body))
    change({"birth_date": born(100)})
    checks.same(told(club.head, soon), [], "another date is another day")
    change({"birth_date": born(40)})
    change({"archived": True})
    checks.same(told(club.head, soon), [], "who is archived waits for nobody")
    change({"archived": False})
    checks.same(len(told(club.head, soon)), 1, "until taken up again")
    change({"handicap": 12})
    checks.same(club.server.query("SELECT count(*) FROM inbox WHERE student_id = ?", soon), [(2,)], "what is no date makes nothing anew")
    club.server.write("UPDATE inbox SET due_at = due_at - ? WHERE student_id = ? AND kind = 'of_age'", 60 * 86400000, soon)
    checks.same(sorted(told(club.coach("one"), soon)), [("coming_of_age", when), ("of_age", when)], "on the day it is told that the student is to be asked")
    checks.status(club.coach("one").post(path + "/consents", {"scope": "store_pictures", "by": "Young"}), 201, "whose word")
    checks.same(told(club.coach("one"), soon), [("coming_of_age", when)], "ends it")


def erased(checks, club):
    """Nothing of an erased student stays in anybody's inbox."""
    path = "/v1/students/" + club.students["ada"]
    tag = club.head.get(path).header("ETag")
    export = club.head.get(path + "/export").json
    said = [row["kind"] for row in export["inbox"] if row["due_at"] is None]
    checks.ok(len(said) == 2 and len(export["inbox"]) == 3 and export["homework_done"][-1]["pain_area"] == "low back", "the export has it", export["inbox"])
    flags = [export["student"][0]["junior"], export["fix"][0]["waits"]] + [row["urgent"] for row in export["inbox"]]
    checks.ok(all(isinstance(flag, bool) for flag in flags), "with true and false where that is meant", flags)
    checks.status(club.head.delete(path, match=tag), (200, 204), "a student is erased")
    checks.same([i for i in items(club.head) if i["student_id"] == club.students["ada"]], [], "the inbox forgets")
    checks.same(club.server.query("SELECT count(*) FROM inbox_seen")[0][0], 0, "and who had seen it")


def main():
    checks = Checks("test_inbox")
    server = Server(checks, options=["--no-throttle"])
    club = Club(server)
    checks.parts((who_reads, taken_back, pain_first, pages, seen, erased, asked, of_age), club)
    server.end()
    checks.finish()


main()
