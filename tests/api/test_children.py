"""Who is a child, and what follows: nobody but the head makes a child grown up, a guardian reads whatever the child does, on the
18th birthday the guardian's right ends, and who read or exported a child's data stands in the audit. Birth dates are
relative to today (UTC), so that the day itself is tried."""
import datetime
import json
import time

import support
from support import Checks, Server, png


def today():
    return datetime.datetime.now(datetime.timezone.utc).date()


def years_ago(years, days=0):
    """The day so many years ago, and some days on; 29 February gives 1 March."""
    now = today()
    try:
        day = now.replace(year=now.year - years)
    except ValueError:
        day = datetime.date(now.year - years, 3, 1)
    return (day + datetime.timedelta(days)).isoformat()


def take_on(client, **more):
    return client.post("/v1/students", {"name": "Wren Testing", "hand": "right", **more})


def change(client, student, body):
    tag = client.get("/v1/students/" + student).header("ETag")
    return client.patch("/v1/students/" + student, body, match=tag)


class Family:
    """A child on a coach's team, with accounts of its own and of a guardian's."""

    def __init__(self, server, head, name, **birth):
        made = take_on(head, **birth, consent={"by": "Rowan Testing"})
        assert made.status == 201, made.body
        self.made = made.json
        self.student, self.path = made.json["id"], "/v1/students/" + made.json["id"]
        self.coach_id, self.coach = server.account(head, "coach", name + ".coach")
        self.child_id, self.child = server.account(head, "student", name + ".child", student_id=self.student)
        self.guardian_id, self.guardian = server.account(head, "guardian", name + ".guardian", students=[self.student])
        head.put("%s/team/%s" % (self.path, self.coach_id))


def hiding(checks, server, head):
    """A coach who calls a child grown up for a moment, to write what the guardian doesn't see or to keep a picture."""
    family = Family(server, head, "hide", birth_date=years_ago(12))
    path, coach = family.path, family.coach
    for body, where in (({"birth_date": None, "birth_year": None, "junior": False}, "junior"),
                        ({"birth_date": years_ago(30)}, "junior"), ({"birth_date": years_ago(12, -1)}, "birth_date"),
                        ({"birth_date": None}, "birth_date"), ({"birth_date": years_ago(11)}, "birth_date")):
        reply = change(coach, family.student, body)
        checks.ok(reply.status == 403 and reply.problem["type"].endswith("not-allowed") and reply.problem["path"] == where,
                  "a coach can't change a child's age: %s" % body, "%s %s" % (reply.status, reply.body[:300]))
    checks.status(change(coach, family.student, {"junior": False}), 422, "nor deny what the date says")
    checks.status(change(coach, family.student, {"wants": "to hit it far", "birth_date": years_ago(12)}), 200,
                  "but everything else, and may send the date as it is")
    checks.same(change(head, family.student, {"birth_date": None, "birth_year": None, "junior": False}).json["junior"], False,
                "the head may, where it was wrong")
    row = server.query("SELECT action, detail FROM audit WHERE student_id = ? ORDER BY id DESC LIMIT 1", family.student)[0]
    checks.same((row[0], json.loads(row[1])), ("student.update", {"fields": ["birth_date", "birth_year", "junior"]}),
                "and the audit has what was changed, by name and not by value")
    checks.status(coach.post(path + "/notes", {"text": "just between us", "readers": ["student"]}), 201,
                  "a note from that time")
    checks.status(change(head, family.student, {"birth_year": today().year - 12}), 200, "the child is a child again")
    notes = family.guardian.get(path + "/notes").json["notes"]
    checks.same([note["text"] for note in notes], ["just between us"], "the guardian reads it")
    export = family.guardian.get(path + "/export").json
    checks.same([note["text"] for note in export.get("note", [])], ["just between us"], "and has it in the export")
    rows = [row for row in head.get("/v1/audit?limit=50&student=" + family.student).json["audit"] if row["action"] == "student.update"]
    checks.ok(rows and rows[0]["detail"] == {"fields": ["birth_year"]}, "the head sees which fields in the audit", rows[:1])
    grown = take_on(coach, birth_year=1990)
    reply = change(coach, grown.json["id"], {"birth_year": today().year - 10})
    checks.status(reply, 403, "nor does a coach make a child of a grown-up, which would bring a guardian back")
    checks.status(change(coach, grown.json["id"], {"birth_year": None}), 403, "not in two steps either, by forgetting the year first")
    unknown = take_on(coach)
    reply = change(coach, unknown.json["id"], {"birth_date": years_ago(10)})
    checks.ok(reply.status == 200 and reply.json["junior"], "an age that nobody knew is filled in by a coach", reply.body)
    stale = coach.patch("/v1/students/" + unknown.json["id"], {"wants": "x"}, match='"1"')
    checks.status(stale, 412, "a change of an older version is refused")


def dates(checks, head):
    for birth, junior, of_age in (
            ({"birth_date": years_ago(18, 1)}, True, years_ago(0, 1)), ({"birth_date": years_ago(18)}, False, None),
            ({"birth_year": today().year - 18}, True, "%d-01-01" % (today().year + 1)),
            ({"birth_year": today().year - 19}, False, None), ({}, False, None)):
        made = take_on(head, **birth)
        checks.ok(made.status == 201 and (made.json["junior"], made.json["comes_of_age"]) == (junior, of_age),
                  "%s: %s" % (birth, "a junior" if junior else "grown up"), made.body[:400])
        if "birth_date" in birth:
            checks.same(made.json["birth_year"], int(birth["birth_date"][:4]), "the year is that of the date")
    for birth, where in (({"birth_date": "2012-02-31"}, "birth_date"), ({"birth_date": years_ago(0, 1)}, "birth_date"),
                         ({"birth_date": "1879-01-01"}, "birth_date"), ({"birth_date": "2012"}, "birth_date"),
                         ({"birth_date": "2012-05-02", "birth_year": 2013}, "birth_year"),
                         ({"birth_year": today().year + 1}, "birth_year"), ({"junior": True}, "birth_year"),
                         ({"birth_year": 1990, "junior": True}, "junior"),
                         ({"birth_year": today().year - 18, "junior": False}, "junior")):
        reply = take_on(head, **birth)
        checks.ok(reply.status == 422 and reply.problem.get("path") == where, "refused: %s" % birth, reply.body[:300])
    waits = take_on(head, birth_date=years_ago(17, 0)).json["id"]
    rows = {row["student_id"]: row["comes_of_age"] for row in support.listed_all(head, "/v1/overview?limit=200", "students")}
    due = years_ago(-1)
    checks.same(rows[waits], due if due[:4] == str(today().year) else None, "17 today: of age next year, not in this one's list")
    soon = take_on(head, birth_year=today().year - 18).json["id"]
    rows = {row["student_id"]: row["comes_of_age"] for row in support.listed_all(head, "/v1/overview?limit=200", "students")}
    checks.same(rows[soon], "%d-01-01" % (today().year + 1), "the head sees who comes of age this year")
    checks.ok(sum(1 for day in rows.values() if day) < len(rows), "and not the others")


def hours(checks, server, head):
    """Weekly hours of sport go by the age: to the day, or the lower one where the year alone is known."""
    for birth, limit in (({"birth_date": years_ago(12)}, 12), ({"birth_date": years_ago(12, 1)}, 11),
                         ({"birth_year": today().year - 12}, 11)):
        made = take_on(head, **birth, consent={"by": "Rowan"}).json
        swing = head.post("/v1/students/%s/swings" % made["id"], support.document())
        checks.status(swing, 201, "a swing of %s" % birth)
        support.assign(head, made["id"], "chicken_wing")
        homework = head.get("/v1/students/%s/homework" % made["id"]).json
        checks.ok({"code": "hours", "hours": limit} in homework["cautions"], "%s: %d hours of sport a week at most" % (birth, limit),
                  homework["cautions"])


def heights(checks, server, head):
    """A child's lengths are judged by the height in the file, else shown and not judged; the bay's own scoring reads the same file."""
    for height, whom in ((None, None), (1.376, "height")):
        more = {} if height is None else {"height_m": height}
        made = take_on(head, birth_date=years_ago(12), consent={"by": "Rowan"}, **more).json
        document = {**support.document(), "measured": [
            {"measure": "hands_gap", "checkpoint": "address", "value": .12, "sd": .01, "source": "rule"},
            {"measure": "spine_tilt", "checkpoint": "address", "value": 35, "sd": 2, "source": "goniometer"}]}
        swing = head.post("/v1/students/%s/swings" % made["id"], document)
        checks.status(swing, 201, "a swing of a child, height %s" % height)
        rows = {m["measure"]: m for m in swing.json["report"]["measures"]}
        gap = rows["hands_gap"]
        checks.same((gap.get("made_for"), gap.get("adult_only", False)), (whom, whom is None), "height %s: its length" % height)
        checks.same(gap.get("ok"), None if height is None else [.064, .176], "height %s: its range" % height)
        checks.same(rows["spine_tilt"]["made_for"], "guide", "an adult's angle is a guide")


def growing_up(checks, server, head):
    """The day before and the day itself."""
    family = Family(server, head, "grow", birth_date=years_ago(18, 1))
    path, guardian = family.path, family.guardian
    swing = family.coach.post(path + "/swings", support.document()).json["id"]
    still = "/v1/swings/%s/stills/face_on-top" % swing
    checks.status(family.coach.put(still, png(), content_type="image/png"), 200, "a picture with the guardian's consent")
    feed = guardian.request("POST", "/v1/me/calendar").json["url_path"]
    reads = [path, path + "/notes", path + "/swings", path + "/fixes", path + "/homework", path + "/export", path + "/consents",
             "/v1/swings/" + swing, still, "/v1/me/homework?student=" + family.student]
    for address in reads:
        checks.status(guardian.get(address), 200, "the day before the guardian reads " + address.split("?")[0][-24:])
    checks.status(server.client().get(feed), 200, "and the feed answers")
    checks.status(change(head, family.student, {"birth_date": years_ago(18)}), 200, "the child is 18")
    checks.same(head.get(path).json["junior"], False, "and grown up, without anybody saying so")
    for address in reads:
        checks.status(guardian.get(address), 404, "the guardian no longer does: " + address.split("?")[0][-24:])
    checks.status(server.client().get(feed), 404, "the feed stops")
    checks.same(guardian.get("/v1/me").json["students"], [], "the account stands for nobody")
    alone = guardian.get("/v1/me/homework")
    checks.ok(alone.status == 404 and alone.problem["type"].endswith("nobody-to-see") and "18" in alone.problem["detail"],
              "and is told why in plain words", alone.body)
    checks.status(guardian.post(path + "/consents", {"scope": "store_pictures"}), 404, "consent is no longer the guardian's")
    checks.status(family.coach.get(still), 403, "what the guardian agreed to is hidden")
    checks.same(family.coach.get("/v1/swings/%s/stills" % swing).json, {"hidden": True, "stills": []}, "also in the list")
    checks.status(family.coach.put("/v1/swings/%s/stills/face_on-impact" % swing, png(), content_type="image/png"), 409,
                  "and none is added")
    checks.status(family.coach.post(path + "/swings", support.numbered(5)), 201, "swings need no consent of a grown-up")
    checks.status(family.child.post(path + "/consents", {"scope": "store_pictures"}), 201, "asked anew, the person agrees")
    checks.status(family.child.get(still), 200, "and the pictures are there again")


def audited(server, student):
    rows = server.query("SELECT a.action, a.object_kind, c.role FROM audit AS a JOIN account AS c ON c.id = a.account_id "
                        "WHERE a.student_id = ? AND a.action IN ('student.read', 'student.export') ORDER BY a.id", student)
    return sorted(rows)


def wait_for(what, count):
    """Readers don't wait for their rows."""
    for _ in range(100):
        rows = what()
        if len(rows) >= count:
            return rows
        time.sleep(0.05)
    return what()


def reading(checks, server, head):
    family = Family(server, head, "read", birth_date=years_ago(12))
    path, coach = family.path, family.coach
    swing = coach.post(path + "/swings", support.document()).json["id"]
    coach.put("/v1/swings/%s/stills/face_on-top" % swing, png(), content_type="image/png")
    checks.same(audited(server, family.student), [], "nothing was read yet")
    for _ in range(3):
        for address in (path, path + "/notes", path + "/swings", "/v1/swings/" + swing, "/v1/swings/%s/report" % swing,
                        "/v1/swings/%s/stills/face_on-top" % swing, path + "/lessons", path + "/fixes", path + "/homework",
                        path + "/consents"):
            checks.status(coach.get(address), 200, "read: " + address[-20:])
    kinds = ["consent", "fix", "homework", "lesson", "note", "report", "still", "student", "swing"]
    expected = [("student.read", kind, "coach") for kind in kinds]
    checks.same(wait_for(lambda: audited(server, family.student), len(expected)), expected,
                "each kind of thing read by the coach is on record once")
    family.child.get(path)
    family.guardian.get(path)
    head.get(path)
    more = [("student.read", "student", "guardian"), ("student.read", "student", "head")]
    checks.same(wait_for(lambda: audited(server, family.student), len(expected) + 2), sorted(expected + more),
                "the guardian's and the head's too, but not one's own")
    checks.status(coach.get(path + "/export"), 200, "an export")
    coach.get(path + "/export")
    exports = [row for row in audited(server, family.student) if row[0] == "student.export"]
    checks.same(exports, [("student.export", "student", "coach")] * 2, "leaves a row each time, before it goes out")
    adult = take_on(head, birth_year=1980).json["id"]
    head.get("/v1/students/" + adult)
    head.get("/v1/students/%s/export" % adult)
    checks.same(audited(server, adult), [("student.export", "student", "head")], "a grown-up's exports too; readings not")
    head.get("/v1/students")
    head.get("/v1/overview")
    listed = wait_for(lambda: server.query("SELECT student_id FROM audit WHERE action = 'student.list'"), 1)
    checks.same(listed, [(None,)], "who read the list of all")
    before = len(audited(server, family.student))
    server.stop()
    server.start()
    again = server.sign_in("read.coach", coach.password)
    again.get(path)
    again.get(path + "/notes")
    time.sleep(0.5)
    checks.same(len(audited(server, family.student)), before, "a restart on the same day doubles nothing")


def main():
    checks = Checks("test_children")
    server = Server(checks, options=["--no-throttle"])
    head = server.sign_in()
    dates(checks, head)
    hiding(checks, server, head)
    hours(checks, server, head)
    heights(checks, server, head)
    growing_up(checks, server, head)
    reading(checks, server, head)
    sound, output = server.check_file()
    checks.ok(sound, "the file is sound", output)
    server.end()
    checks.finish()


main()
