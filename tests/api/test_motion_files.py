"""Marker files over HTTP: sent as TRC, C3D or a document's motion block they give one swing; sent again nothing is doubled;
the bytes come back as they were; and a changed map of marker names leaves kept swings as they were read."""
import base64

import motion_files as files
import support
from motion_files import QUERY
from support import Checks, Server

C3D, TRC, BYTES = "application/c3d", "text/tab-separated-values", "application/octet-stream"


def values(report):
    """{(measure, checkpoint): (value, source)} of what was seen."""
    return {(m["measure"], m.get("checkpoint")): (m["value"], m.get("source")) for m in report["measures"]
            if m.get("value") is not None}


def near(a, b, tolerance=0.05):
    return a.keys() == b.keys() and all(abs(a[key][0] - b[key][0]) <= tolerance for key in a)


def formats(checks, coach, path, names, frames):
    trc, c3d = files.trc(names, frames), files.c3d(names, frames)
    made = {}
    for name, body, kind in (("TRC", trc, TRC), ("C3D", c3d, C3D), ("TRC as bytes", trc, BYTES), ("C3D as bytes", c3d, BYTES)):
        reply = coach.post(path + QUERY, body, content_type=kind)
        if checks.status(reply, 201, name + " is taken"):
            made[name] = reply.json
    document = coach.post(path, files.document(seed=1))
    checks.status(document, 201, "the same as a document's motion block")
    reports = {name: one["report"] for name, one in made.items()}
    reports["document"] = document.json["report"]
    seen = values(reports["TRC"])
    checks.ok(len(seen) > 20, "more than twenty measures are seen", sorted(seen))
    checks.same({source for _, source in seen.values()}, {"motion"}, "all of them from motion")
    for name, report in reports.items():
        checks.ok(near(values(report), seen), name + " gives the values of the TRC", "%s %s" % (values(report), seen))
        motion = report["motion"][0]
        checks.same([f for f in motion["findings"] if f["fault"]], [], name + ": no fault is found in the record")
        checks.ok(motion["has_club"] and motion["taken"] == "by_impact", name + ": the club passes the ball", motion["taken"])
        impact = [c["time_s"] for c in motion["checkpoints"] if c["checkpoint"] == "impact"]
        true = files.STILL + files.BACK + files.DOWN
        checks.ok(impact and abs(impact[0] - true) < 0.01, name + ": impact when it was", "%s beside %s" % (impact, true))
    checks.ok("missing" in reports["TRC"]["motion"][0]["markers"], "a marker file's report says what no marker shows")
    checks.ok("markers" not in reports["document"]["motion"][0], "a document's does not")
    checks.ok("iron" in reports["TRC"]["player"]["club"], "the club of the address is in the report", reports["TRC"]["player"])
    return trc, c3d, made, document.json


def kept(checks, coach, trc, c3d, made, document):
    for name, body, kind, end in (("TRC", trc, TRC, "trc"), ("C3D", c3d, C3D, "c3d"), ("C3D as bytes", c3d, C3D, "c3d")):
        swing = coach.get("/v1/swings/" + made[name]["id"])
        checks.status(swing, 200, name + " is read back")
        checks.same(swing.json["media_type"], kind, name + ": its kind is kept")
        checks.ok("document" not in swing.json, name + ": it is no document")
        reading = swing.json["reading"]
        checks.same([reading.get(key) for key in ("schema", "hand", "target", "up", "club", "club_number")],
                    ["leadside.reading/1", "right", "-y", "+z", "iron", 7], name + ": what stands beside it")
        checks.ok("clubhead" in reading["map"]["points"], name + ": with the map")
        file = coach.get(swing.json["file"])
        checks.ok(file.status == 200 and file.body == body, name + ": the same bytes", "%s %d" % (file.status, len(file.body)))
        checks.same([file.header(h) for h in ("Content-Type", "X-Content-Type-Options", "Content-Disposition")],
                    [kind, "nosniff", 'attachment; filename="swing-%s.%s"' % (made[name]["id"], end)], name + ": its headers")
    swing = coach.get("/v1/swings/" + document["id"]).json
    checks.ok(swing["media_type"] == "application/json" and "document" in swing and "reading" not in swing,
              "a document is read back as one", list(swing))
    file = coach.get(swing["file"])
    checks.ok(file.header("Content-Type") == "application/json" and file.json == swing["document"], "and is a file as well")


def resent(checks, server, coach, path, trc):
    key = support.fresh_key()
    first = coach.post(path + QUERY, trc, key=key, content_type=TRC)
    checks.status(first, 201, "a file under a key of its own")
    count = server.query("SELECT count(*) FROM swing")
    again = coach.post(path + QUERY, trc, key=key, content_type=TRC)
    checks.ok(again.status == 201 and again.json == first.json and again.header("Idempotency-Replayed") == "true",
              "sent again: the same answer", "%s %s" % (again.status, again.body[:200]))
    turned = "?" + "&".join(reversed(QUERY[1:].split("&")))
    checks.ok(coach.post(path + turned, trc, key=key, content_type=TRC).json == first.json, "in another order too")
    for name, query, kind, body in (("another target", QUERY.replace("target=-y", "target=%2By"), TRC, trc),
                                    ("one more parameter", QUERY + "&hand=right", TRC, trc),
                                    ("one parameter fewer", QUERY.replace("&club_number=7", ""), TRC, trc),
                                    ("another byte", QUERY, TRC, trc + b"\n")):
        reply = coach.post(path + query, body, key=key, content_type=kind)
        checks.ok(reply.status == 422 and (reply.problem.get("type") or "").endswith(("key-reused", "unusable-motion")),
                  "the same key with %s: 422" % name, "%s %s" % (reply.status, reply.body[:200]))
    checks.same(server.query("SELECT count(*) FROM swing"), count, "none of these made a swing")


def refused(checks, server, coach, path, names, frames, trc, c3d):
    before = server.dump()

    def bad(name, reply, status, where, *words):
        problem = reply.problem
        checks.ok(reply.status == status and problem.get("path") == where and
                  all(word in problem.get("detail", "") for word in words),
                  "%s: %s at %r" % (name, status, where), "%s %s" % (reply.status, reply.body[:400]))
    send = lambda query, body=trc, kind=TRC: coach.post(path + query, body, content_type=kind)
    bad("no target", send("?up=%2Bz"), 422, "target", "point along")
    bad("a target that is no axis", send("?target=north"), 422, "target")
    bad("a target along the upright axis", send("?target=-z&up=%2Bz"), 422, "target", "level")
    bad("a hand that is none", send(QUERY + "&hand=both"), 422, "hand")
    bad("a club that is none", send("?target=-y&club=broom"), 422, "club")
    bad("a club's number in words", send("?target=-y&club_number=seven"), 422, "club_number")
    bad("a club's number out of range", send("?target=-y&club_number=99"), 422, "club_number")
    bad("a length that is no number", send("?target=-y&club_length_m=nan"), 422, "club_length_m")
    bad("a length in another unit", send("?target=-y&club_length_m=37"), 422, "club_length_m")
    bad("a time without a zone", send("?target=-y&recorded_at=yesterday"), 422, "recorded_at")
    bad("an unknown parameter", send(QUERY + "&colour=red"), 400, "colour")
    bad("a parameter twice", send(QUERY + "&target=-y"), 400, "target", "twice")
    bad("a parameter beside a document", coach.post(path + "?hand=left", support.document()), 422, "hand", "document")
    bad("a C3D called TRC", send(QUERY, c3d, TRC), 422, "line 1", "PathFileType")
    reply = send(QUERY, trc, C3D)
    checks.ok(reply.status == 422 and reply.problem.get("detail"), "a TRC called C3D: 422", reply.body[:200])
    reply = send(QUERY, trc, "application/json")
    checks.ok(reply.status == 422, "a TRC called JSON: 422", reply.body[:200])
    bad("bytes that are neither", send(QUERY, b"GIF89a" + b"\0" * 600, BYTES), 422, "")
    checks.status(send(QUERY, b"", BYTES), 422, "nothing at all: 422")
    lying = files.c3d(names, frames, points=3000)
    reply = send(QUERY, lying, C3D)
    checks.ok(reply.status == 422 and reply.problem.get("path"), "a C3D whose header lies about its points: 422", reply.body[:300])
    reply = send(QUERY, c3d[:len(c3d) // 2], C3D)
    checks.ok(reply.status == 422 and reply.problem.get("path"), "half a C3D: 422", reply.body[:300])
    lines = trc.split(b"\n")
    lines[20] = b"\t".join(lines[20].split(b"\t")[:-4])
    reply = send(QUERY, b"\n".join(lines))
    checks.ok(reply.status == 422 and "line 21" in reply.problem.get("path", ""), "a TRC with a column missing: 422, where",
              reply.body[:300])
    bad("no marker that is known", send(QUERY, files.trc(["M%d" % n for n in range(len(names))], frames)), 422, "markers", "M0")
    still = files.recording(pose=lambda t: files.pose(0))
    reply = send(QUERY, files.trc(*still))
    bad("somebody who only stands there", reply, 422, "")
    checks.ok((reply.problem.get("type") or "").endswith("unusable-motion"), "is called unusable", reply.body[:300])
    reply = send(QUERY.replace("-y", "%2By"))
    bad("the target on the wrong side", reply, 422, "")
    short = files.document(seconds=0.05)
    bad("a document with nothing but 50 ms of motion", coach.post(path, short), 422, "motion")
    announced = ("POST %s HTTP/1.1\r\nHost: localhost\r\nAuthorization: Bearer %s\r\nContent-Type: %s\r\nIdempotency-Key: big\r\n"
                 "Content-Length: %d\r\n\r\n" % (path + QUERY, coach.token, C3D, 9 << 20)).encode()
    checks.same(support.raw(server.port, announced)[0], 413, "9 MiB: 413")
    checks.same(server.dump(), before, "none of these changed a row")


def maps(checks, server, head, coach, path, names, frames, trc, old):
    """A laboratory of its own names."""
    first = head.get("/v1/markers")
    checks.ok(first.status == 200 and first.header("ETag") == '"1"' and first.json["created_by"] is None,
              "the map that comes with the program is number 1", first.body[:200])
    checks.status(head.put("/v1/markers", first.json["markers"]), 428, "without If-Match: 428")
    checks.status(head.put("/v1/markers", first.json["markers"], match='"7"'), 412, "with a wrong one: 412")
    reply = head.put("/v1/markers", {"schema": "leadside.markers/1", "points": {"left_wing": [["LW"]]}}, match='"1"')
    checks.ok(reply.status == 422 and "left_wing" in reply.problem.get("path", ""), "an unknown point: 422, where", reply.body[:200])
    strange = {name: "zz" + name[::-1] for name in names}
    odd = files.trc([strange[name] for name in names], frames)
    reply = coach.post(path + QUERY, odd, content_type=TRC)
    checks.ok(reply.status == 422 and "zz" in reply.problem.get("detail", ""), "strange names are refused, and named",
              reply.body[:200])
    points = {}
    for point, name in zip(files.pose(0), names):
        points[point.replace("lead_", "left_").replace("trail_", "right_")] = [[strange[name]]]
    new = head.put("/v1/markers", {"schema": "leadside.markers/1", "points": points}, match='"1"')
    checks.ok(new.status == 200 and new.header("ETag") == '"2"' and new.json["number"] == 2, "the head puts a map in force",
              new.body[:200])
    checks.status(head.put("/v1/markers", first.json["markers"], match='"1"'), 412, "the old ETag is stale")
    audit = server.query("SELECT object_kind, object_id FROM audit WHERE action = 'markers.replace'")
    checks.same(audit, [("markers", "2")], "it is in the audit once")
    checks.same(coach.get("/v1/markers").json["markers"]["points"], points, "a coach reads it")
    made = coach.post(path + QUERY, odd, content_type=TRC)
    checks.status(made, 201, "now the strange names are read")
    checks.ok(near(values(made.json["report"]), values(old["TRC"]["report"])), "to the same values")
    reply = coach.post(path + QUERY, trc, content_type=TRC)
    checks.status(reply, 422, "and the usual ones are not")
    lesson = coach.post(path.replace("/swings", "/lessons"), {"swings": [old["TRC"]["id"], old["C3D"]["id"], made.json["id"]]})
    checks.status(lesson, 201, "a lesson of old and new: each is read by its own map")
    checks.ok(lesson.status == 201 and len(lesson.json["report"]["motion"]) == 3, "with three motions", lesson.body[:200])
    standard = head.get("/v1/standard").json["standard"]
    tried = support.trial(head, standard)
    checks.ok(tried["state"] == "done" and tried["unread"] == 0 and tried["result"]["swings"] >= 6 and
              tried["result"]["first_fix_changed"] == 0, "trying the standard reads every one again, to the same", tried)
    return made.json["id"]


def left_hander(checks, head, right):
    student = head.post("/v1/students", {"name": "Left Hander", "hand": "left"}).json["id"]
    path = "/v1/students/%s/swings" % student
    body = files.trc(*files.recording(left=True))
    made = head.post(path + QUERY, body, content_type=TRC)
    checks.status(made, 201, "a left-hander's file: the hand is the student's")
    checks.same(head.get("/v1/swings/" + made.json["id"]).json["reading"]["hand"], "left", "and is kept")
    checks.ok(near(values(made.json["report"]), values(right), 0.6), "the mirrored swing has the values of the right-hander's",
              [(k, values(made.json["report"])[k], v) for k, v in values(right).items()
               if abs(values(made.json["report"]).get(k, (9e9,))[0] - v[0]) > 0.6])
    checks.same(made.json["report"]["player"]["hand"], "left", "the report is a left-hander's")
    wrong = head.post(path + QUERY + "&hand=right", body, content_type=TRC)
    checks.ok(wrong.status == 422, "said to be a right-hander's it is refused", wrong.body[:300])


def junior(checks, head):
    student = head.post("/v1/students", {"name": "Young Player", "hand": "right", "junior": True, "birth_year": 2014}).json["id"]
    reply = head.post("/v1/students/%s/swings" % student + QUERY, files.trc(*files.recording()), content_type=TRC)
    checks.ok(reply.status == 409 and (reply.problem.get("type") or "").endswith("consent-missing"),
              "a junior without consent: refused as any swing is", reply.body[:200])


def exported(checks, head, student, trc, made):
    export = head.get("/v1/students/%s/export" % student)
    checks.status(export, 200, "the export")
    rows = {row["id"]: row for row in export.json["swing"]}
    row = rows[made["TRC"]["id"]]
    checks.ok(row["media_type"] == TRC and base64.b64decode(row["file"]) == trc and row["document"] is None and
              row["reading"]["hand"] == "right", "holds the file, its kind and what stood beside it", str(row)[:200])
    documents = [row for row in rows.values() if row["media_type"] == "application/json"]
    checks.ok(documents and all(row["file"] is None and row["document"]["schema"] for row in documents),
              "and documents as they were")


def main():
    checks = Checks("test_motion_files")
    server = Server(checks, options=["--no-throttle"])
    head = server.sign_in()
    coach_id, coach = server.account(head, "coach", "lab.coach")
    student = head.post("/v1/students", {"name": "Lab Player", "hand": "right"}).json["id"]
    head.put("/v1/students/%s/team/%s" % (student, coach_id))
    path = "/v1/students/%s/swings" % student
    names, frames = files.recording()
    trc, c3d, made, document = formats(checks, coach, path, names, frames)
    kept(checks, coach, trc, c3d, made, document)
    resent(checks, server, coach, path, trc)
    refused(checks, server, coach, path, names, frames, trc, c3d)
    left_hander(checks, head, made["TRC"]["report"])
    maps(checks, server, head, coach, path, names, frames, trc, made)
    junior(checks, head)
    exported(checks, head, student, trc, made)
    server.end()
    checks.finish()


main()
