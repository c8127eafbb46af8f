"""What may be done to a swing after it was sent, and what follows from it: corrected marks, a swing not to be counted, one that
belongs to another student. The figures before and after are worked out here from the reports and not read off the server."""
import hashlib
import itertools
import json
import os
import statistics
import threading
import time

import motion_files as files
import support
from support import Checks, Server, document, numbered, png

WITH_SIGN = "shaft_cross"  # the measure that the documents below say outright
WHY = {"reason": "two frames too early"}


def stamp(ahead=0.0):
    return time.strftime("%Y-%m-%dT%H:%M:%SZ", time.gmtime(time.time() + ahead))


def student(head, name="Ada", **more):
    made = head.post("/v1/students", {"name": name, "hand": "right", **more})
    assert made.status == 201, made.body
    return made.json["id"]


def swing_with(value, n):
    """A swing whose shaft at the top is `value` degrees across the line, said outright."""
    made = numbered(n)
    made["measured"] = [{"measure": WITH_SIGN, "checkpoint": "top", "value": value, "sd": 3, "source": "by eye"}]
    return made


def send(coach, who, body):
    reply = coach.post("/v1/students/%s/swings" % who, body)
    assert reply.status == 201, reply.body
    return reply.json["id"]


def swing(coach, id):
    return coach.get("/v1/swings/" + id)


def tag(coach, id):
    return swing(coach, id).header("ETag")


def correct(coach, id, body, reason="a slip", match=None):
    return coach.put("/v1/swings/%s/marks" % id, {"document": body, "reason": reason}, match=match or tag(coach, id))


def value_of(report, measure=WITH_SIGN):
    found = [each for each in report["measures"] if each["measure"] == measure and each.get("checkpoint") == "top"]
    return found[0]["value"] if found and found[0].get("value") is not None else None


def lesson_value(coach, lesson):
    return value_of(coach.get("/v1/lessons/%s/report" % lesson).json)


def progress(coach, who, fix):
    reply = coach.get("/v1/students/%s/progress?fix=%s" % (who, fix))
    assert reply.status == 200, reply.body
    return reply.json


def series(coach, who, fix):
    return [round(point["value"], 3) for point in progress(coach, who, fix)["series"]]


def refused(checks, reply, status, slug, label, path=None):
    problem = reply.problem
    checks.ok(reply.status == status and problem.get("type", "").endswith(":" + slug) and (path is None or problem.get("path") == path),
              label, "%s %s" % (reply.status, reply.body[:300]))


def audited(head, student_id, action):
    return [row for row in support.listed(head.get("/v1/audit?student=%s&limit=200" % student_id)) if row["action"] == action]


def future(checks, server, head):
    """The tablet's clock may be a little ahead, and not by days: such a swing would be the newest for years."""
    who = student(head)
    path = "/v1/students/%s/swings" % who
    before = server.dump()
    for ahead in (25 * 3600, 400 * 86400):
        refused(checks, head.post(path, document(recorded_at=stamp(ahead))), 422, "future-swing",
                "a swing of %d days ahead is refused" % (ahead // 86400), "recorded_at")
    checks.same(server.dump(), before, "and nothing is kept")
    kept = head.post(path, document(recorded_at=stamp(23 * 3600)))
    checks.status(kept, 201, "one of the next hours is taken: clocks and zones differ")
    refused(checks, correct(head, kept.json["id"], document(recorded_at=stamp(26 * 3600))), 422, "future-swing",
            "nor may a correction say so", "recorded_at")


def corrected(checks, server, head):
    """The marks anew: a new document and report, the former ones readable to the byte."""
    who = student(head)
    first = json.dumps(swing_with(20, 1), indent=3).encode()
    id = send(head, who, first)
    got = swing(head, id)
    checks.same((got.json["revision"], got.json["version"], got.json["revised"]), (1, 1, None), "a swing begins with its first revision")
    checks.ok((got.header("ETag") or "").startswith('"1-'), "its ETag has its version", got.header("ETag"))
    checks.status(head.get("/v1/swings/" + id, headers={"If-None-Match": got.header("ETag")}), 304, "and is asked for again for nothing")
    second = swing_with(2, 1)
    refused(checks, head.put("/v1/swings/%s/marks" % id, {"document": second, **WHY}), 428, "precondition-required", "without If-Match: 428")
    reply = correct(head, id, second, "the top was one frame late", got.header("ETag"))
    checks.status(reply, 200, "corrected")
    checks.same((reply.json["revision"], reply.json["version"], value_of(reply.json["report"])), (2, 2, 2), "a new revision and a new report")
    checks.same((reply.json["revised"]["reason"], bool(reply.json["revised"]["at"])), ("the top was one frame late", True), "it is said why and when")
    refused(checks, correct(head, id, swing_with(9, 1), "x", got.header("ETag")), 412, "stale", "the same again rests on what is no longer so: 412")
    checks.same(value_of(head.get("/v1/swings/%s/report" % id).json), 2, "the newest report counts")
    now = swing(head, id)
    checks.same(now.json["document"], second, "the document is the new one")
    checks.same(head.get("/v1/swings/%s/file" % id).body, json.dumps(second).encode(), "to the byte")
    checks.status(correct(head, id, swing_with(5, 1), "and a slip"), 200, "a third time")
    listed = head.get("/v1/swings/%s/revisions" % id).json["revisions"]
    checks.same([(each["number"], each["reason"]) for each in listed],
                [(3, "and a slip"), (2, "the top was one frame late"), (1, None)], "all revisions are listed, newest first")
    for number, body, value in ((1, json.loads(first), 20), (2, second, 2), (3, swing_with(5, 1), 5)):
        one = head.get("/v1/swings/%s/revisions/%d" % (id, number))
        checks.ok(one.status == 200 and one.json["document"] == body and value_of(one.json["report"]) == value,
                  "revision %d is what it was, with its report" % number, one.body[:200])
    checks.ok(first in head.get("/v1/swings/%s/revisions/1" % id).body, "byte for byte")
    for odd in ("0", "4", "01", "x"):
        checks.status(head.get("/v1/swings/%s/revisions/%s" % (id, odd)), 404, "there is no revision %s" % odd)
    rows = audited(head, who, "swing.correct")
    checks.same([row["detail"] for row in rows], [{"reason": "and a slip", "revision": 3}, {"reason": "the top was one frame late", "revision": 2}],
                "the audit knows who and why")
    export = head.get("/v1/students/%s/export" % who).json
    checks.same([(each["number"], value_of_document(each["document"])) for each in export["revision"]], [(1, 20), (2, 2)], "the export has the former ones")
    checks.same(value_of_document(export["swing"][0]["document"]), 5, "and the present one")
    checks.same(len(export["report"]), 3, "and each report")
    bad_marks(checks, head, id, server)


def value_of_document(body):
    return body["measured"][0]["value"]


def bad_marks(checks, head, id, server):
    """Refused as a new swing is, at the same path, and nothing changes."""
    match, before = tag(head, id), server.dump()
    broken = [("a point outside the picture", lambda body: body["views"][0]["frames"][0]["points"].update(grip=[99999, 1])),
              ("an unknown key", lambda body: body.update(nonsense=1)),
              ("another scheme", lambda body: body.update(schema="leadside.swing/9")),
              ("nothing in it", lambda body: [body.pop(key) for key in ("views", "weight", "measured", "seen")])]
    path = "/v1/students/%s/swings" % swing(head, id).json["student_id"]
    for label, change in broken:
        body = document()
        change(body)
        new, again = head.post(path, body), correct(head, id, body, match=match)
        checks.same((again.status, again.problem.get("type"), again.problem.get("path"), again.problem.get("detail")),
                    (new.status, new.problem.get("type"), new.problem.get("path"), new.problem.get("detail")), label + " is refused as in a new swing")
        checks.ok(again.status == 422, label + ": 422", again.body[:200])
    for label, body in (("no reason", {"document": document()}), ("an empty reason", {"document": document(), "reason": ""}),
                        ("no document", {"reason": "x"}), ("a document that is none", {"document": 5, "reason": "x"}), ("a list", []),
                        ("something else", {"document": document(), "reason": "x", "more": 1}), ("a long reason", {"document": document(), "reason": "x" * 2001}),
                        ("no JSON", b'{"document": {"a": }, "reason": "x"}'), ("a control character", {"document": document(), "reason": "a\u0007b"})):
        reply = head.put("/v1/swings/%s/marks" % id, body, match=match)
        checks.ok(reply.status == 422 and reply.problem["type"].endswith("invalid-document"), label + ": 422", reply.body[:200])
    checks.same(server.dump(), before, "and nothing was changed")


def lesson_follows(checks, server, head):
    """A lesson's report and the progress follow each change; what is void is in no figure, and comes back."""
    who = student(head)
    values = [18, 21, 26]
    ids = [send(head, who, swing_with(value, 10 + n)) for n, value in enumerate(values)]
    lesson = head.post("/v1/students/%s/lessons" % who, {"swings": ids}).json["id"]
    fix = support.assign(head, who, "across_the_line").json["id"]
    mean = lambda numbers: round(statistics.mean(numbers), 1)  # as a report says it
    checks.same(round(lesson_value(head, lesson), 3), mean(values), "a lesson's figure is its swings' mean")
    checks.same(series(head, who, fix), [mean(values)], "and stands in the progress")
    checks.status(correct(head, ids[1], swing_with(3, 11)), 200, "one of them is corrected")
    checks.same(round(lesson_value(head, lesson), 3), mean([18, 3, 26]), "the lesson's report is made anew")
    checks.same(series(head, who, fix), [mean([18, 3, 26])], "and the progress follows")
    refused(checks, correct(head, ids[0], {**swing_with(3, 10), "hand": "left"}), 422, "invalid", "a correction may not make it a lesson of two hands", "hand")
    reply = head.post("/v1/swings/%s/void" % ids[2], {"reason": "somebody else hit it"})
    checks.ok(reply.status == 200 and reply.json["voided"]["reason"] == "somebody else hit it" and reply.json["voided"]["by"], "one is set aside", reply.body[:300])
    checks.same(round(lesson_value(head, lesson), 3), mean([18, 3]), "it leaves the lesson's figure")
    checks.same(series(head, who, fix), [mean([18, 3])], "and the progress")
    checks.same([each["swings"] for each in support.listed(head.get("/v1/students/%s/lessons" % who))], [2], "the lesson counts two")
    checks.same(value_of(head.get("/v1/swings/%s/report" % ids[2]).json), 26, "its own report is there to read")
    listed = {each["id"]: each for each in support.listed(head.get("/v1/students/%s/swings" % who))}
    checks.ok(listed[ids[2]]["voided"] and not listed[ids[0]]["voided"], "the list says which counts")
    before = server.dump()
    again = head.post("/v1/swings/%s/void" % ids[2], {"reason": "said twice"})
    checks.ok(again.status == 200 and again.json["voided"]["reason"] == "somebody else hit it", "said again it is no failure", again.body[:300])
    checks.same(server.dump(), before, "and nothing is written")
    refused(checks, head.post("/v1/students/%s/lessons" % who, {"swings": [ids[2]]}), 422, "voided-swing", "a new lesson does not take it", "swings[0]")
    refused(checks, head.post("/v1/students/%s/fixes" % who, {"fault": "chicken_wing", "from_swing": ids[2], "reason": "x"}), 422, "unknown-baseline",
            "nor does a new fix begin with it", "from_swing")
    checks.status(correct(head, ids[2], swing_with(40, 12)), 200, "its marks may be corrected all the same")
    checks.same(round(lesson_value(head, lesson), 3), mean([18, 3]), "without any figure moving")
    back = head.post("/v1/swings/%s/void" % ids[2], {"void": False, "reason": "it was hers after all"})
    checks.ok(back.status == 200 and back.json["voided"] is None, "it is taken back", back.body[:300])
    checks.same(round(lesson_value(head, lesson), 3), mean([18, 3, 40]), "and counts again, as corrected")
    checks.same([row["detail"]["reason"] for row in audited(head, who, "swing.void") + audited(head, who, "swing.count")],
                ["somebody else hit it", "it was hers after all"], "the audit has both")
    for id in ids:
        checks.status(head.post("/v1/swings/%s/void" % id, {"reason": "all wrong"}), 200, "set aside")
    checks.status(head.get("/v1/lessons/%s/report" % lesson), 404, "a lesson of which nothing counts has no report")
    checks.same(series(head, who, fix), [], "and no point in the progress")
    checks.status(head.post("/v1/swings/%s/void" % ids[0], {"void": False, "reason": "one counts"}), 200, "one comes back")
    checks.same(round(lesson_value(head, lesson), 3), 18, "and so does the lesson")
    for body in ({}, {"reason": ""}, {"reason": "x", "void": 1}, {"reason": 5}, {"reason": "x", "more": 1}):
        checks.status(head.post("/v1/swings/%s/void" % ids[0], body), 422, "void with %s: 422" % json.dumps(body))


def single_swings(checks, server, head):
    """Progress, baseline, own spread, trial and overview without what is void."""
    who = student(head)
    ids = [send(head, who, swing_with(value, 100 + n)) for n, value in enumerate((30, 12, 8))]
    fix = support.assign(head, who, "across_the_line", from_swing=ids[0], overrule="seen by eye").json["id"]
    checks.same((series(head, who, fix), progress(head, who, fix)["baseline"]["value"]), ([30, 12, 8], 30), "three points, the first the baseline")
    head.post("/v1/swings/%s/void" % ids[0], {"reason": "warm-up"})
    told = progress(head, who, fix)
    checks.same(([point["value"] for point in told["series"]], told["baseline"]["value"]), ([12, 8], 8),
                "without it the baseline is the newest that was there when the fix was opened")
    checks.same(head.get("/v1/fixes/" + fix).json["from_swing"], ids[0], "the fix still says what it was opened from")
    head.post("/v1/swings/%s/void" % ids[0], {"void": False, "reason": "it was not"})
    checks.same(progress(head, who, fix)["baseline"]["value"], 30, "taken back, it is the baseline again")
    standard = head.get("/v1/standard").json["standard"]
    tried = support.trial(head, standard)["result"]["swings"]
    row = lambda: [each for each in head.get("/v1/overview?limit=200").json["students"] if each["student_id"] == who][0]
    last = row()["last_swing"]
    for id in ids:
        head.post("/v1/swings/%s/void" % id, {"reason": "none of them"})
    checks.same(support.trial(head, standard)["result"]["swings"], tried - 3, "a trial of the standard leaves them out")
    checks.ok(last and row()["last_swing"] is None, "the overview knows of no swing", row())
    spread(checks, head)


def spread(checks, head):
    """The player's own spread is worked out again without a void swing: the lesson's reported error moves as it does here."""
    who = student(head)
    values = (10, 14, 11, 15, 12, 60)
    ids = [send(head, who, swing_with(value, 200 + n)) for n, value in enumerate(values)]
    lesson = head.post("/v1/students/%s/lessons" % who, {"swings": ids[:3]}).json["id"]
    entry = lambda: [each for each in head.get("/v1/lessons/%s/report" % lesson).json["measures"] if each["measure"] == WITH_SIGN][0]
    before = entry()
    head.post("/v1/swings/%s/void" % ids[5], {"reason": "a slip of the ruler"})
    checks.status(correct(head, ids[0], swing_with(10, 200)), 200, "(the lesson is judged anew)")
    after = entry()
    checks.ok(before["value"] == after["value"] and before != after, "a swing set aside leaves the player's own spread", (before, after))
    ours = student(head)
    alone = [send(head, ours, swing_with(value, 300 + n)) for n, value in enumerate(values[:5])]
    same = head.post("/v1/students/%s/lessons" % ours, {"swings": alone[:3]}).json["report"]
    wanted = [each for each in same["measures"] if each["measure"] == WITH_SIGN][0]
    checks.same(after, wanted, "as if it had never been sent")


def within_days(checks, server, head):
    """A player who learns from one day to the next is no less steady: the spread is pooled within days, recomputed here."""
    days = {0: (31, 28, 30, 29), 9: (11, 8, 10, 9)}
    who = student(head)
    sent = {day: [send(head, who, swing_with(value, 86400 * day + n)) for n, value in enumerate(values)] for day, values in days.items()}
    made = head.post("/v1/students/%s/lessons" % who, {"swings": sent[9][:3]}).json["report"]
    entry = [each for each in made["measures"] if each["measure"] == WITH_SIGN][0]
    squares = sum((value - statistics.mean(values)) ** 2 for values in days.values() for value in values)
    own = (squares / (sum(map(len, days.values())) - len(days))) ** .5
    checks.ok(abs(entry["sd_random"] - own / 3 ** .5) < 0.006, "the spread is what swings of one day differ by", (entry, own))
    between = statistics.stdev(value for values in days.values() for value in values)
    checks.ok(between > 7 * own, "which is not what all of them differ by", (between, own))
    alone = student(head)
    ids = [send(head, alone, swing_with(value, 86400 * day)) for day, value in enumerate((30, 20, 10, 5, 0, -5))]
    made = head.post("/v1/students/%s/lessons" % alone, {"swings": ids[:3]}).json["report"]
    entry = [each for each in made["measures"] if each["measure"] == WITH_SIGN][0]
    checks.ok(abs(entry["sd_random"] - 3 / 3 ** .5) < 0.006, "swings of a day each say nothing of it: the standard's spread stands", entry)


def several_clubs(checks, server, head):
    """Each swing goes by its own club's range, whichever is sent first: a driver's 23 degrees of forward bend, an iron's 25 and a
    wedge's 27 were no fault where the driver came first, and one where the iron did."""
    ranges = {"wood": (26, 15), "iron": (30, 18), "wedge": (30, 18)}
    told = []
    for order in itertools.permutations((("driver", 23), ("iron", 25), ("wedge", 27))):
        who = student(head)
        ids = []
        for n, (kind, value) in enumerate(order):
            made = numbered(700 + n)
            made["club"] = {"kind": kind}
            made["measured"] = [{"measure": "spine_tilt", "checkpoint": "address", "value": value, "sd": 2, "source": "goniometer"}]
            ids.append(send(head, who, made))
        reply = head.post("/v1/students/%s/lessons" % who, {"swings": ids})
        checks.status(reply, 201, "a lesson of three clubs, " + order[0][0] + " first")
        bend = [each for each in reply.json["report"]["measures"] if each["measure"] == "spine_tilt"][0]
        fault = [each for each in reply.json["report"]["faults"] if each["fault"] == "upright_posture"][0]
        told.append((fault["verdict"], fault["p"], bend["value"], tuple(bend["ok"]), bend["severity"], reply.json["report"]["player"]["club"]))
    checks.same(set(told), {told[0]}, "the order of the swings changes nothing")
    low = statistics.mean(ok for ok, _ in ranges.values())
    strong = statistics.mean(far for _, far in ranges.values())
    checks.ok(abs(told[0][3][0] - low) < 0.001 and abs(told[0][4] - (low - 25) / (low - strong)) < 0.001 and told[0][5] == "any",
              "the mean is held against the mean of their ranges", told[0])


def moved(checks, server, head):
    """To another student of whom the caller is a coach too; the stills come along, what was said of the former one does not."""
    coach_id, coach = server.account(head, "coach", "mover")
    one, two, foreign = student(head, pain=["low back"], birth_year=1950), student(head, "Bea", birth_year=1990), student(head, "Cleo")
    for who in (one, two):
        head.put("/v1/students/%s/team/%s" % (who, coach_id))
    key = support.fresh_key()
    body = swing_with(20, 400)
    id = coach.post("/v1/students/%s/swings" % one, body, key=key).json["id"]
    other = send(coach, one, swing_with(10, 401))
    old_report = head.get("/v1/swings/%s/revisions" % id).json["revisions"][0]["report_id"]
    lesson = coach.post("/v1/students/%s/lessons" % one, {"swings": [id, other]}).json["id"]
    made = coach.post("/v1/students/%s/fixes" % one, {"fault": "across_the_line", "from_swing": id, "overrule": "x", "drills": [
        {"drill": support.fitting(head, "across_the_line")[0], "confirm_reason": "agreed"}]})
    checks.status(made, 201, "(a fix is opened from it)")
    fix = made.json["id"]
    coach.put("/v1/swings/%s/stills/face_on-top" % id, png(), content_type="image/png")
    where = "/v1/swings/%s/move" % id
    before = server.dump()
    nobody = coach.post(where, {"student_id": "01900000-0000-7000-8000-000000000000", "reason": "x"})
    hidden = coach.post(where, {"student_id": foreign, "reason": "x"})
    checks.same((hidden.status, hidden.problem["detail"]), (404, nobody.problem["detail"]), "to a student one has nothing to do with: as if there were none")
    for bad in ({}, {"student_id": two}, {"reason": "x"}, {"student_id": "x", "reason": "x"}, {"student_id": two, "reason": "x", "more": 1}):
        checks.status(coach.post(where, bad), 422, "move with %s: 422" % json.dumps(bad)[:40])
    checks.same(server.dump(), before, "and nothing was changed")
    reply = coach.post(where, {"student_id": two, "reason": "Bea stood there"})
    checks.ok(reply.status == 200 and reply.json["student_id"] == two and reply.json["lesson_id"] is None and reply.json["moved"]["reason"] == "Bea stood there",
              "moved, out of its lesson", reply.body[:400])
    new = send(coach, two, body)
    fresh = head.get("/v1/swings/%s/report" % new).json
    kept = head.get("/v1/swings/%s/report" % id).json
    checks.same(kept, fresh, "its report is the one that it would have had with the new student")
    checks.ok(kept.get("age_years") != 76 and "low back" not in json.dumps(kept), "and says nothing of the former one's age and pain")
    checks.same(coach.get("/v1/swings/%s/stills/face_on-top" % id).body, png(), "the still came along")
    checks.same([each["id"] for each in support.listed(coach.get("/v1/students/%s/swings" % one))], [other], "the former student has it no more")
    checks.same(round(lesson_value(coach, lesson), 3), 10, "the lesson is judged without it")
    got = coach.get("/v1/fixes/" + fix).json
    checks.ok(got["from_swing"] is None and got["status"] == "open" and got["version"] == 2, "a fix that was opened from it stays open without it", got)
    checks.same(progress(coach, one, fix)["baseline"]["value"], 10, "and compares with what else was there")
    export = head.get("/v1/students/%s/export" % one)
    elsewhere = {key: value for key, value in export.json.items() if key not in ("audit", "idempotency")}
    checks.ok(id not in json.dumps(elsewhere) and old_report not in export.body.decode(), "the former student's export knows it only in the audit",
              [key for key, value in elsewhere.items() if id in json.dumps(value)])
    answers = json.dumps([each["response"] for each in export.json["idempotency"]])
    checks.ok("measures" not in answers, "and no kept answer has its figures", answers[:300])
    checks.ok(old_report not in head.get("/v1/students/%s/export" % two).body.decode(), "nor does the new one's have the old report")
    checks.same([[row["detail"] for row in audited(head, who, "swing.move")] for who in (one, two)],
                [[{"reason": "Bea stood there", "from": one, "to": two}]] * 2, "both audits know it")
    repeat = coach.post("/v1/students/%s/swings" % one, body, key=key)
    refused(checks, repeat, 409, "swing-moved", "the upload repeated makes no second one")
    before = server.dump()
    checks.status(coach.post(where, {"student_id": two, "reason": "again"}), 200, "moved again to where it is: nothing to do")
    checks.same(server.dump(), before, "and nothing is written")
    head.delete("/v1/students/%s/team/%s" % (two, coach_id))
    checks.status(coach.post(where, {"student_id": one, "reason": "back"}), 404, "who is not tied to the swing's student sees no swing")
    head.put("/v1/students/%s/team/%s" % (two, coach_id))
    checks.status(coach.post(where, {"student_id": one, "reason": "it was Ada's after all"}), 200, "it goes back the same way")
    head.post("/v1/swings/%s/void" % id, {"reason": "neither"})
    voided = coach.post(where, {"student_id": two, "reason": "for the record"})
    checks.ok(voided.status == 200 and voided.json["voided"], "what is set aside stays so", voided.body[:300])


def juniors(checks, server, head):
    """A child's swings and pictures need the guardian's word, whichever way they come."""
    one = student(head)
    child = student(head, "Child", junior=True, birth_year=2015)
    id = send(head, one, swing_with(20, 500))
    head.put("/v1/swings/%s/stills/face_on-top" % id, png(), content_type="image/png")
    before = server.dump()
    refused(checks, head.post("/v1/swings/%s/move" % id, {"student_id": child, "reason": "hers"}), 409, "consent-missing", "a junior without consent: 409")
    checks.same(server.dump(), before, "and nothing was changed")
    head.post("/v1/students/%s/consents" % child, {"scope": "store_pictures", "by": "Guardian"})
    checks.status(head.post("/v1/swings/%s/move" % id, {"student_id": child, "reason": "hers"}), 200, "with it the swing goes over")
    grown = student(head, "Grown", birth_year=1980)
    head.delete("/v1/students/%s/consents/store_pictures" % grown)
    refused(checks, head.post("/v1/swings/%s/move" % id, {"student_id": grown, "reason": "x"}), 409, "consent-missing",
            "with pictures, to one who took consent back: 409", "student_id")
    head.delete("/v1/swings/%s/stills/face_on-top" % id)
    checks.status(head.post("/v1/swings/%s/move" % id, {"student_id": grown, "reason": "x"}), 200, "without pictures it goes")
    head.delete("/v1/students/%s/consents/store_pictures" % child)
    mine = send(head, one, swing_with(20, 501))
    refused(checks, head.post("/v1/swings/%s/move" % mine, {"student_id": child, "reason": "x"}), 409, "consent-missing", "taken back is missing")


def recordings(checks, server, head):
    """Marker files have no marks to correct; they are set aside and moved like others, and a lesson of more than a MiB of them is
    judged anew on a thread of its own."""
    one, two = student(head), student(head, "Bea")
    names, frames = files.recording()
    ids = []
    for kind, body in (("application/c3d", files.c3d(names, frames)), ("text/tab-separated-values", files.trc(names, frames))):
        made = head.post("/v1/students/%s/swings?target=-y&up=%%2Bz&club=iron" % one, body, content_type=kind)
        checks.status(made, 201, "(%s)" % kind)
        ids.append(made.json["id"])
    refused(checks, correct(head, ids[0], document()), 409, "not-a-document", "a marker file is not corrected by a document")
    whole = head.get("/v1/swings/%s/revisions/1" % ids[0]).json
    checks.ok(whole["document"] is None and whole["report"], "its one revision has a report and no document", list(whole))
    body = {**files.document(), "recorded_at": "2026-05-02T09:14:05Z"}
    size, large = len(json.dumps(body)), []
    for n in range(max(2, (1 << 20) // size + 2)):
        large.append(send(head, one, {**body, "recorded_at": "2026-05-02T09:14:%02dZ" % n}))
    checks.ok(size * len(large) > 1 << 20, "(a lesson of %d KiB)" % (size * len(large) >> 10))
    lesson = head.post("/v1/students/%s/lessons" % one, {"swings": large}).json["id"]
    swings = lambda: head.get("/v1/lessons/%s/report" % lesson).json["swings"]
    checks.same(swings(), len(large), "(all of them)")
    checks.status(head.post("/v1/swings/%s/void" % large[0], {"reason": "a slip"}), 200, "one of a heavy lesson is set aside")
    checks.same(swings(), len(large) - 1, "and the lesson is judged without it")
    checks.status(correct(head, large[1], {**body, "recorded_at": "2026-05-02T09:14:01Z"}), 200, "one is corrected")
    checks.status(head.post("/v1/swings/%s/move" % large[1], {"student_id": two, "reason": "Bea's"}), 200, "and moved")
    checks.same(swings(), len(large) - 2, "the lesson is judged without both")
    moved_file = head.post("/v1/swings/%s/move" % ids[1], {"student_id": two, "reason": "Bea's"})
    checks.ok(moved_file.status == 200 and moved_file.json["report"]["motion"], "a marker file moves too, and is read by the map that it came with", moved_file.body[:300])


def family(checks, server, head):
    """The family reads what became of a swing, and not what coaches said to each other about it."""
    who = student(head, "Own")
    _, client = server.account(head, "student", "own.reader", student_id=who)
    id = send(head, who, swing_with(20, 600))
    correct(head, id, swing_with(19, 600), "between coaches")
    head.post("/v1/swings/%s/void" % id, {"reason": "between coaches"})
    for path in ("/v1/swings/" + id, "/v1/swings/%s/revisions" % id, "/v1/swings/%s/revisions/2" % id, "/v1/students/%s/swings" % who,
                 "/v1/students/%s/export" % who):
        reply = client.get(path)
        checks.ok(reply.status == 200 and b"between coaches" not in reply.body, path.split("/", 2)[2].replace(id, "ID") + " says no reason", reply.body[:200])
    checks.ok(swing(client, id).json["voided"]["at"] and swing(client, id).json["revised"]["at"], "but that it was")


def at_once(checks, server, head):
    """Many coaches correct the same swings at the same moment: each answer is one or the other, and the lesson is that of what
    is kept at the end."""
    who = student(head)
    ids = [send(head, who, swing_with(10, 700 + n)) for n in range(3)]
    lesson = head.post("/v1/students/%s/lessons" % who, {"swings": ids}).json["id"]
    answers, clients = [], [server.client(head.token) for _ in range(6)]
    tags = [tag(head, id) for id in ids]

    def work(at):
        for turn in range(4):
            id = ids[(at + turn) % 3]
            if turn % 2:
                reply = clients[at].post("/v1/swings/%s/void" % id, {"reason": "x", "void": at % 2 == 0})
            else:
                reply = correct(clients[at], id, swing_with(at + turn, 700 + (at + turn) % 3), match=tags[(at + turn) % 3] if turn == 0 else None)
            answers.append((reply.status, reply.problem.get("type", "")))
    threads = [threading.Thread(target=work, args=(at,)) for at in range(6)]
    [thread.start() for thread in threads]
    [thread.join() for thread in threads]
    checks.ok({status for status, _ in answers} <= {200, 409, 412} and all(slug.endswith(("stale", "swing-changed", "")) for _, slug in answers),
              "each is done or refused", answers)
    for id in ids:
        head.post("/v1/swings/%s/void" % id, {"reason": "x", "void": False})
    values = [value_of(head.get("/v1/swings/%s/report" % id).json) for id in ids]
    checks.same(round(lesson_value(head, lesson), 3), round(statistics.mean(values), 1), "the lesson's figure is that of the swings as they are")


def erased(checks, server, head):
    """No byte of a revision outlives its student, nor the reasons."""
    who, heir = student(head), student(head, "Heir")
    marks = [hashlib.sha256(os.urandom(8)).hexdigest()[:40] for _ in range(5)]
    def marked(n):
        body = swing_with(20, 800)
        body["measured"][0]["source"] = marks[n]
        return body
    id = send(head, who, marked(0))
    correct(head, id, marked(1), marks[3])
    head.post("/v1/swings/%s/move" % id, {"student_id": heir, "reason": marks[4]})
    correct(head, id, marked(2))
    head.post("/v1/swings/%s/void" % id, {"reason": marks[4]})
    checks.same(server.query("SELECT count(*) FROM revision WHERE swing_id = ?", id), [(2,)], "two former documents are there")
    fresh = head.request("POST", "/v1/me/confirm", {"password": support.HEAD["password"]})
    checks.ok(fresh.status in (200, 204), "(confirmed)", fresh.body)
    for gone in (heir, who):
        checks.status(head.delete("/v1/students/" + gone, match=head.get("/v1/students/" + gone).header("ETag")), (200, 204), "erased")
    checks.same(server.query("SELECT count(*) FROM revision WHERE swing_id = ?", id) + server.query("SELECT count(*) FROM swing_edit WHERE swing_id = ?", id),
                [(0,), (0,)], "they are gone")
    held = [name for name in os.listdir(server.data) if os.path.isfile(os.path.join(server.data, name))
            for mark in marks if mark.encode() in open(os.path.join(server.data, name), "rb").read()]
    checks.same(held, [], "and no byte of them is in any file")


def killed(checks, server, head):
    """A server killed amid corrections: each that was answered is there, whole, with its report and its former document."""
    own = Server(checks, options=["--no-throttle"])
    client = own.sign_in()
    who = student(client)
    ids = [send(client, who, swing_with(0, 900 + n)) for n in range(4)]
    lesson = client.post("/v1/students/%s/lessons" % who, {"swings": ids}).json["id"]
    done, stop = {id: 0 for id in ids}, threading.Event()

    def work(id, n):
        mine = own.client(client.token)
        value = 0
        while not stop.is_set():
            try:
                value += 1
                reply = correct(mine, id, swing_with(value % 40, 900 + n))
                if reply.status == 200:
                    done[id] = reply.json["revision"]
            except Exception:
                return
    threads = [threading.Thread(target=work, args=(id, n)) for n, id in enumerate(ids)]
    [thread.start() for thread in threads]
    began = time.monotonic()
    while time.monotonic() < began + 1.5 or (min(done.values()) < 2 and time.monotonic() < began + 20):
        time.sleep(0.05)
    own.kill()
    stop.set()
    [thread.join() for thread in threads]
    own.start()
    client = own.sign_in()
    for id in ids:
        revisions = client.get("/v1/swings/%s/revisions" % id).json["revisions"]
        checks.ok(revisions[0]["number"] >= done[id] > 0, "every answered correction is there (%d)" % done[id], revisions[0])
        checks.same([each["number"] for each in revisions], list(range(revisions[0]["number"], 0, -1)), "with all that were before it")
        newest = client.get("/v1/swings/%s/revisions/%d" % (id, revisions[0]["number"])).json
        checks.same(value_of(newest["report"]), value_of_document(newest["document"]), "and the report is that of the document")
    values = [value_of(client.get("/v1/swings/%s/report" % id).json) for id in ids]
    checks.ok(abs(lesson_value(client, lesson) - statistics.mean(values)) < .0501, "the lesson is of one moment with them", (lesson_value(client, lesson), values))
    own.end()


PARTS = (future, corrected, lesson_follows, single_swings, within_days, several_clubs, moved, juniors, recordings, family, at_once, erased, killed)


def main():
    checks = Checks("test_after_sending")
    server = Server(checks, options=["--no-throttle"])
    head = server.sign_in()
    for part in PARTS:
        try:
            part(checks, server, head)
        except Exception as error:  # one part's surprise must not hide the others
            checks.ok(False, part.__name__ + " ran to its end", repr(error))
    server.end()
    checks.finish()


if __name__ == "__main__":
    main()
