"""What a program that keeps itself in step with the server relies on: conditional requests (RFC 9110, 13), pages by a valid
place, and a token's refusal that says so (RFC 6750, 3.1)."""
import os

import support
from support import Checks, Server


def conditional(checks, club):
    head, path = club["head"], "/v1/students/" + club["ours"]["students"]
    first = head.get(path)
    tag, version = first.header("ETag"), first.json["version"]
    for field, status in ((tag, 304), ("W/" + tag, 304), ('"none", ' + tag, 304), ("*", 304), ('"none"', 200),
                          ('"%d"' % version, 200), ("none", 400), ('"none', 400)):
        reply = head.get(path, headers={"If-None-Match": field})
        checks.status(reply, status, "a student, If-None-Match: " + field)
        if status == 304:
            checks.ok(reply.body == b"" and reply.header("ETag") == tag, "nothing but its tag", reply.headers)
    coach = head.post("/v1/accounts", {"role": "coach", "sign_in": "another.coach", "name": "Another"}).json["id"]
    checks.status(head.put("%s/team/%s" % (path, coach)), 204, "another coach on the team")
    moved = head.get(path, headers={"If-None-Match": tag})
    checks.ok(moved.status == 200 and coach in moved.json["team"], "is seen by whoever has the answer without", moved.body)
    for field, status in (('"none"', 412), ("W/" + tag, 412), ("none", 400), ('"1" "2"', 400), ("", 428)):
        checks.status(head.patch(path, {"wants": "distance"}, match=field), status, "an edit, If-Match: " + field)
    for field in (tag, "*"):
        checks.status(head.patch(path, {"wants": "distance"}, match=field), 200, "an edit, If-Match: " + field)
    checks.status(head.patch(path, {"wants": "more"}, match=tag), 412, "the first tag again: it was changed")
    now = head.get(path).json["version"]
    checks.status(head.patch(path, {"wants": "more"}, match='"none", "%d"' % now), 200, "a list with the version in it")
    checks.same(head.get(path).json["version"], now + 1, "one edit more")
    standard = head.get("/v1/standard")
    checks.status(head.get("/v1/standard", headers={"If-None-Match": standard.header("ETag")}), 304, "the standard too")


def locations(checks, club):
    """Whatever is made says where it is, and is there for whoever made it; with a tag where it can be edited."""
    head, ours = club["head"], club["ours"]
    coach, family, path = ours["coach client"], ours["student client"], "/v1/students/" + ours["students"]
    with open(os.path.join(support.ROOT, "tests", "data", "two_views.json"), "rb") as file:
        swing = coach.post(path + "/swings", file.read())
    drill = {key: value for key, value in head.get("/v1/drills").json["drills"][0].items()
             if key not in ("id", "built_in", "created", "retired", "version")}
    made = (
        ("a student", coach, coach.post("/v1/students", {"name": "New", "hand": "left"}), True),
        ("an account", head, head.post("/v1/accounts", {"role": "coach", "sign_in": "new.coach", "name": "New"}), True),
        ("a tablet", head, head.post("/v1/devices", {"name": "Bay 7"}), True),
        ("a drill", head, head.post("/v1/drills", dict(drill, name="Another")), True),
        ("a note", coach, coach.post(path + "/notes", {"text": "between coaches"}), False),
        ("a swing", coach, swing, False),
        ("a lesson", coach, coach.post(path + "/lessons", {"held_at": "2026-05-03T09:00:00Z", "swings": [swing.json["id"]]}), False),
        ("a tick", family, family.post("/v1/homework/%s/done" % ours["homework"], {}), True),
        ("a fix", coach, support.assign(coach, ours["students"], "overswing"), True),
        ("a consent", coach, coach.post(path + "/consents", {"scope": "teach_with", "by": "Own Guardian"}), False),
        ("a link", head, head.request("POST", "/v1/accounts/%s/link" % ours["family"]), True),
        ("a second factor", head, head.request("POST", "/v1/me/second-factor"), True),
        ("a calendar", family, family.request("POST", "/v1/me/calendar"), False))
    for name, client, reply, edited in made:
        place = reply.header("Location")
        if not checks.ok(reply.status == 201 and place, name + " is made and says where", "%s %s" % (reply.status, reply.body)):
            continue
        read = client.get(place.partition("#")[0])
        checks.ok(read.status == 200 and bool(read.header("ETag")) is edited, name + " is there: " + place, read.headers)
        if edited:
            checks.status(client.get(place.partition("#")[0], headers={"If-None-Match": read.header("ETag")}), 304, "unchanged: 304")
    note = made[4][2].header("Location")
    for who in ("student client", "guardian client"):
        checks.status(ours[who].get(note), 404, "a note between coaches is not there for the " + who.split()[0])
    waiting = made[8][2].header("Location")
    checks.ok(coach.get(waiting).json["waiting"], "the second fix waits", coach.get(waiting).body)
    checks.status(family.get(waiting), 404, "and is not there for the family")


def pages(checks, club):
    head, student = club["head"], "/v1/students/" + club["ours"]["students"]
    for path in ("/v1/students", "/v1/accounts", "/v1/devices", "/v1/audit", "/v1/inbox", "/v1/overview",
                 student + "/swings", student + "/lessons", student + "/fixes", student + "/notes"):
        reply = head.get(path + "?after=nonsense")
        checks.ok(reply.status == 422 and reply.problem.get("path") == "after", path + "?after=nonsense: 422", reply.body)
        checks.status(head.get(path + "?after=01900000-0000-7000-8000-000000000000"), 200, "an id, though nobody's, is a place")
    checks.status(head.get("/v1/drills?after=nonsense"), 200, "a drill's id may be a word")


def tokens(checks, club):
    nobody = club["server"].client()
    checks.same(nobody.get("/v1/me").header("WWW-Authenticate"), "Bearer", "without a token: Bearer")
    forged = club["server"].client("Z" * 43)
    checks.same(forged.get("/v1/me").header("WWW-Authenticate"), 'Bearer error="invalid_token"', "with a bad one: so it says")


def ended(checks, club):
    coach, ours = club["ours"]["coach client"], club["ours"]
    fix = "/v1/fixes/" + ours["fixes"]
    checks.status(coach.patch(fix, {"status": "closed", "reason": "it holds"}, match="*"), 200, "the fix is closed")
    rows = coach.get("/v1/students/%s/homework?all=true" % ours["students"]).json["homework"]
    mine = [row for row in rows if row["id"] == ours["homework"]]
    checks.ok(mine and mine[0]["ended_at"], "its homework says when it ended", mine)
    refused = ours["student client"].post("/v1/homework/%s/done" % ours["homework"], {})
    checks.ok(refused.status == 409 and refused.problem.get("type", "").endswith("homework-ended"), "and can't be ticked", refused.body)


def main():
    checks = Checks("test_client")
    server = Server(checks, options=["--no-throttle"])
    head = server.sign_in()
    club = {"server": server, "head": head, "ours": support.one_of_everything(server, head)}
    for part in (conditional, locations, pages, tokens, ended):
        try:
            part(checks, club)
        except Exception as error:  # one part's surprise must not hide the others
            checks.ok(False, part.__name__ + " ran to its end", repr(error))
    server.end()
    checks.finish()


main()
