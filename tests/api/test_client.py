"""What a program that keeps itself in step with the server relies on: conditional requests (RFC 9110, 13), pages by a valid
place, and a token's refusal that says so (RFC 6750, 3.1)."""
import os
import time

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
    with open(os.path.join(support.ROOT, "tests", "data", "left_handed.json"), "rb") as file:
        left = coach.post(path + "/swings", file.read())
    both = coach.post(path + "/lessons", {"held_at": "2026-05-03T09:00:00Z", "swings": [swing.json["id"], left.json["id"]]})
    checks.same([both.status, both.json.get("path"), both.json.get("detail")],
                [422, "swings[1]", "All swings of a lesson must be by one student, all right-handed or all left-handed."],
                "a lesson of two hands is refused")
    drill = {key: value for key, value in head.get("/v1/drills").json["drills"][0].items()
             if key not in ("id", "built_in", "created", "retired", "version")}
    made = (
        ("a student", coach, coach.post("/v1/students", {"name": "New", "hand": "left"}), True),
        ("an account", head, head.post("/v1/accounts", {"role": "coach", "sign_in": "new.coach", "name": "New"}), True),
        ("a tablet", head, head.post("/v1/devices", {"name": "Bay 7"}), True),
        ("a drill", head, head.post("/v1/drills", dict(drill, name="Another")), True),
        ("a note", coach, coach.post(path + "/notes", {"text": "between coaches"}), False),
        ("a swing", coach, swing, True),
        ("a lesson", coach, coach.post(path + "/lessons", {"held_at": "2026-05-03T09:00:00Z", "swings": [swing.json["id"]]}), False),
        ("a tick", family, family.post("/v1/homework/%s/done" % ours["homework"], {}), True),
        ("a fix", coach, support.assign(coach, ours["students"], "overswing", overrule="both are wanted"), True),
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


def ids(reply, path):
    """The ids of a list; [] when the answer is none (its status is told)."""
    name = path.partition("?")[0].rpartition("/")[2]
    return [row["id"] for row in reply.json[name]] if reply.status == 200 else [reply.status]


def narrowed(checks, club):
    """Each list by each of its queries: what is in it, what is not, and what is malformed."""
    head, ours = club["head"], club["ours"]
    mine = "/v1/students/" + ours["students"]
    umlaut = head.post("/v1/students", {"name": "Jörg Ähnlich", "hand": "left"}).json["id"]
    gone = head.post("/v1/students", {"name": "Gone 100% Away", "hand": "left"})
    archived = gone.json["id"]
    checks.status(head.patch("/v1/students/" + archived, {"archived": True}, match=gone.header("ETag")), 200, "one is archived")
    out = head.post("/v1/accounts", {"role": "coach", "sign_in": "out.coach", "name": "Out Coach"}).json["id"]
    disabled = head.patch("/v1/accounts/" + out, {"disabled": True}, match="*")
    checks.status(disabled, 200, "an account is disabled")
    own = ours["students"]
    lately, later = "2026-01-01T00:00:00Z", "2099-01-01T00:00:00%2B01:00"
    table = (
        ("/v1/students?name=J%C3%96RG", umlaut, own), ("/v1/students?name=%C3%A4hnl", umlaut, own),
        ("/v1/students?name=own", own, umlaut), ("/v1/students?name=0%25%20a", archived, own), ("/v1/students?name=%25", archived, own),
        ("/v1/students?archived=true", archived, own), ("/v1/students?archived=false", own, archived),
        ("/v1/students?archived=true&name=away", archived, own), ("/v1/students?archived=false&name=away", None, archived),
        ("/v1/students?updated_since=" + lately, own, None), ("/v1/students?updated_since=" + later, None, own),
        ("/v1/students?updated_since=%s&name=own" % lately, own, umlaut),
        ("/v1/accounts?name=OUT%20c", out, ours["accounts"]), ("/v1/accounts?disabled=true", out, ours["accounts"]),
        ("/v1/accounts?disabled=false", ours["accounts"], out),
        (mine + "/fixes?updated_since=" + lately, ours["fixes"], None), (mine + "/fixes?updated_since=" + later, None, ours["fixes"]),
        (mine + "/fixes?status=open&updated_since=" + later, None, ours["fixes"]),
        (mine + "/homework?updated_since=" + lately, ours["homework"], None),
        (mine + "/homework?all=true&updated_since=" + later, None, ours["homework"]),
        (mine + "/swings?updated_since=" + lately, ours["swings"], None), (mine + "/swings?updated_since=" + later, None, ours["swings"]),
        (mine + "/swings?to=" + later, ours["swings"], None), (mine + "/swings?from=" + later, None, ours["swings"]),
        (mine + "/lessons?from=2026-05-02T09:00:00Z&to=2026-05-02T09:00:00.001Z", ours["lessons"], None),
        (mine + "/lessons?to=2026-05-02T09:00:00Z", None, ours["lessons"]),
        (mine + "/lessons?from=2026-05-02T09:00:00.001Z", None, ours["lessons"]),
        (mine + "/notes?from=%s&to=%s" % (lately, later), ours["notes"], None), (mine + "/notes?from=" + later, None, ours["notes"]),
        (mine + "/notes?updated_since=" + later, None, ours["notes"]), (mine + "/notes?to=" + lately, None, ours["notes"]))
    for path, inside, outside in table:
        reply = head.get(path)
        found = ids(reply, path)
        checks.ok(reply.status == 200 and (inside is None or inside in found) and outside not in found, path, reply.body)
    coach = ours["coach client"]
    checks.same([row["id"] for row in support.listed(coach.get("/v1/students?name=own"))], [own], "a coach's own, by name")
    checks.same(support.listed(coach.get("/v1/students?name=%C3%A4hnl")), [], "and nobody else's")
    for path, query in (("/v1/students", "archived=yes"), ("/v1/students", "archived="), ("/v1/students", "name="),
                        ("/v1/students", "updated_since=yesterday"), ("/v1/accounts", "disabled=1"), ("/v1/accounts", "name=" + 201 * "a"),
                        ("/v1/audit", "from=2026-02-30T00:00:00Z"), ("/v1/audit", "to=1"), (mine + "/fixes", "updated_since="),
                        (mine + "/homework", "updated_since=x"), (mine + "/swings", "from=x"), (mine + "/lessons", "to=2026-05-02"),
                        (mine + "/notes", "updated_since=-1")):
        reply = head.get(path + "?" + query)
        checks.ok(reply.status == 422 and reply.problem.get("path") == query.partition("=")[0], path + "?%.40s: 422" % query, reply.body)
    for path in ("/v1/devices?name=a", "/v1/accounts?archived=true", "/v1/students?disabled=true", mine + "/fixes?from=" + lately):
        checks.status(head.get(path), 400, path + " is not known there")
    link = head.get("/v1/students?limit=1&name=w&updated_since=2026-01-01T00:00:00%2B01:00").header("Link") or ""
    checks.ok("name=w&updated_since=2026-01-01T00%3A00%3A00%2B01%3A00&limit=1&after=" in link, "the next page is narrowed alike", link)
    follow = head.get(link[1:link.find(">")])
    checks.ok(follow.status == 200 and follow.json["students"][0]["id"] != head.get("/v1/students?limit=1&name=w").json["students"][0]["id"],
              "and follows", follow.body)


def moment():
    now = time.time()
    return time.strftime("%Y-%m-%dT%H:%M:%S", time.gmtime(now)) + ".%03dZ" % (now % 1 * 1000)


def in_step(checks, club):
    """Whatever changes is among the changes since just before, and what was left alone is not; the audit holds the same moment."""
    head, ours = club["head"], club["ours"]
    coach, family, mine = ours["coach client"], ours["student client"], "/v1/students/" + ours["students"]
    lists = {"students": "/v1/students?", "fixes": mine + "/fixes?", "homework": mine + "/homework?all=true&", "swings": mine + "/swings?",
             "notes": mine + "/notes?"}

    def edit():
        return head.patch(mine, {"wants": "a draw"}, match="*")

    def consent():
        return coach.post(mine + "/consents", {"scope": "store_pictures", "by": "Own Guardian"})

    def withdraw():
        return coach.request("DELETE", mine + "/consents/store_pictures")

    def tick():
        return family.post("/v1/homework/%s/done" % ours["homework"], {"comment": "again"})

    def lesson():
        return coach.post(mine + "/lessons", {"held_at": "2026-05-04T09:00:00Z", "swings": [ours["swing 2"]]})

    def close():
        return coach.patch("/v1/fixes/" + ours["fixes"], {"status": "closed", "reason": "it holds"}, match="*")

    with open(os.path.join(support.ROOT, "tests", "data", "two_views.json"), "rb") as file:
        ours["swing 2"] = coach.post(mine + "/swings", file.read()).json["id"]
    for change, changed in ((edit, {"students": ours["students"]}), (consent, {"students": ours["students"]}),
                            (withdraw, {"students": ours["students"]}), (tick, {"homework": ours["homework"]}),
                            (lesson, {"swings": ours["swing 2"]}),
                            (close, {"fixes": ours["fixes"], "homework": ours["homework"]})):
        time.sleep(0.02)
        before = moment()
        made = change()
        checks.ok(made.status in (200, 201, 204), change.__name__, made.body)
        for name, path in lists.items():
            reply = head.get(path + "updated_since=" + before)
            rows = ids(reply, path)
            if name in changed:
                checks.ok(changed[name] in rows, "%s: among the %s since" % (change.__name__, name), reply.body)
            else:
                checks.same(rows, [], "%s: no %s" % (change.__name__, name))
        time.sleep(0.02)
        after = moment()
        rows = head.get("/v1/audit?from=%s&to=%s" % (before, after)).json["audit"]
        about = head.get("/v1/audit?student=%s&from=%s&to=%s" % (ours["students"], before, after)).json["audit"]
        checks.ok(rows and about and all(before <= row["at"] < after for row in rows), change.__name__ + ": the audit of that moment", rows)
    guardian = [row["id"] for row in head.get("/v1/accounts?name=own.guardian").json["accounts"]]
    checks.status(head.request("POST", "/v1/accounts/%s/link" % guardian[0]), 201, "a link for the guardian of one student")
    row = head.get("/v1/audit?limit=1").json["audit"][0]
    checks.same((row["action"], row["entity_id"], row["student_id"]), ("account.link", guardian[0], ours["students"]),
                "is in the audit of that student")
    everything = head.get("/v1/audit?limit=200").json["audit"]
    middle = everything[len(everything) // 2]["at"]
    checks.same([row["id"] for row in head.get("/v1/audit?limit=200&to=" + middle).json["audit"]],
                [row["id"] for row in everything if row["at"] < middle], "all before a moment")
    checks.same([row["id"] for row in head.get("/v1/audit?limit=200&from=" + middle).json["audit"]],
                [row["id"] for row in everything if row["at"] >= middle], "and all from then on")
    checks.status(coach.patch("/v1/fixes/" + ours["fixes"], {"status": "open", "reason": "it came back", "overrule": "both are needed"}, match="*"), 200, "open again")


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
    checks.parts((conditional, locations, pages, narrowed, in_step, tokens, ended), club)
    server.end()
    checks.finish()


main()
