"""Rounds on the course: who keeps one, reads it and takes it away, what is refused, and the range beside the course, whose counts
are counted anew here out of what was sent."""
import json
import os
import time

import support
from support import Checks, Server

SIDES = ("left", "straight", "right")
CLASSES = {"flush": "flush", "thin": "thin", "topped": "thin", "fat": "fat", "heel": "off_centre", "toe": "off_centre"}
CASES = os.path.join(support.ROOT, "tests", "data", "bad_input", "round")


def shot(start="straight", curve="straight", strike="flush", hole=1):
    return {"hole": hole, "start": start, "curve": curve, "strike": strike}


class Course:
    def __init__(self, server):
        self.server, self.head = server, server.sign_in()
        self.ours = support.one_of_everything(server, self.head)
        self.path = "/v1/students/" + self.ours["students"]
        self.coach, self.student, self.guardian = (self.ours[who + " client"] for who in ("coach", "student", "guardian"))

    def grown_up(self, name, hand="right"):
        student = self.head.post("/v1/students", {"name": name, "hand": hand, "birth_year": 1980}).json["id"]
        return "/v1/students/" + student


def swing(head, path, at, **flight):
    made = head.post(path + "/swings", {"schema": "leadside.swing/1", "recorded_at": at, "hand": "right", "club": {"kind": "iron"},
                                        "measured": [{"measure": "shaft_cross", "checkpoint": "top", "value": 3, "sd": 2}], "flight": flight})
    if made.status != 201:
        raise RuntimeError(made.body)
    return made.json["id"]


def keeping(checks, course):
    before = len(support.listed(course.coach.get(course.path + "/rounds")))
    kept = {}
    for who in ("student", "guardian", "coach", "head"):
        client = getattr(course, who)
        made = client.post(course.path + "/rounds", {"played_at": "2026-05-09T15:00:00Z", "shots": [shot("right"), shot(strike="toe", hole=2), shot("unknown", "unknown", "unknown", 2)]})
        if checks.status(made, 201, "kept by the " + who):
            kept[who] = made.json
            checks.same((made.json["holes"], made.json["count"], made.json["shots"][1]), (2, 3, shot(strike="toe", hole=2)), "as it was tallied")
            checks.same(made.header("Location"), "/v1/rounds/" + made.json["id"], "with its address")
    for who in ("student", "guardian", "coach", "head"):
        rows = support.listed(getattr(course, who).get(course.path + "/rounds"))
        checks.same(len(rows), before + 4, "all are read by the " + who)
        checks.ok([row["id"] for row in rows] == sorted((row["id"] for row in rows), reverse=True) and "shots" not in rows[0], "newest first, without their shots", rows[0])
    first = course.coach.get(course.path + "/rounds?limit=1")
    checks.ok(len(first.json["rounds"]) == 1 and "after=" in (first.header("Link") or ""), "by pages", first.header("Link"))
    checks.same(course.coach.get("/v1/rounds/" + kept["student"]["id"]).json, kept["student"], "one by itself, with its shots")
    key = support.fresh_key()
    twice = [course.student.request("POST", course.path + "/rounds", {"shots": [shot()]}, key=key) for _ in range(2)]
    checks.ok(twice[0].json["id"] == twice[1].json["id"] and twice[1].header("Idempotency-Replayed") == "true", "sent again by a phone that heard nothing, it is one", twice[1].headers)
    told = [row["action"] for row in course.server.client(course.head.token).get("/v1/audit?student=" + course.ours["students"]).json["audit"]]
    checks.ok(told.count("round.create") >= 5, "the audit says so", told)
    export = course.student.get(course.path + "/export").json
    checks.ok(any(row["id"] == kept["coach"]["id"] and row["shots"] == kept["coach"]["shots"] for row in export["round"]), "and the export has it", export.get("round"))
    return kept


def removing(checks, course, kept):
    server = course.server
    for who, whose in (("coach", "student"), ("student", "coach"), ("guardian", "student")):
        checks.status(getattr(course, who).delete("/v1/rounds/" + kept[whose]["id"]), 403, "the %s doesn't take the %s's away" % (who, whose))
    checks.status(course.student.delete("/v1/rounds/" + kept["student"]["id"]), 204, "the student takes the own one away")
    checks.status(course.student.get("/v1/rounds/" + kept["student"]["id"]), 404, "it is gone")
    checks.same(server.query("SELECT count(*) FROM idempotency WHERE object_id = ?", kept["student"]["id"])[0][0], 0, "with the answer that was kept for it")
    week = 7 * 86400 * 1000
    server.write("UPDATE round SET created = created - %d WHERE id = '%s'" % (week + 1000, kept["guardian"]["id"]))
    late = course.guardian.delete("/v1/rounds/" + kept["guardian"]["id"])
    checks.ok(late.status == 409 and late.problem["type"].endswith("round-kept"), "after a week it stays", late.body)
    checks.status(course.head.delete("/v1/rounds/" + kept["guardian"]["id"]), 204, "but for the head")


def refusing(checks, course):
    """Folders of tests/data/bad_input/round: a change of a good round, and what the refusal says."""
    before = course.server.dump(without=("audit",))
    names = sorted(os.listdir(CASES))
    checks.ok(len(names) >= 8, "there are cases", names)
    for name in names:
        with open(os.path.join(CASES, name, "input.json"), encoding="utf-8") as file:
            body = file.read()
        with open(os.path.join(CASES, name, "error"), encoding="utf-8") as file:
            where, *words = file.read().split("\n")
        reply = course.student.post(course.path + "/rounds", body.encode())
        said = (reply.problem.get("path") or "", reply.problem.get("detail", ""))
        checks.ok(reply.status == 422 and said[0] == where and all(word in said[1] for word in words if word), "%s is refused" % name, "%s %s" % (reply.status, reply.body[:300]))
    long = {"shots": [shot()] * 151}
    checks.status(course.student.post(course.path + "/rounds", long), 422, "151 shots are too many")
    ahead = time.strftime("%Y-%m-%dT%H:%M:%SZ", time.gmtime(time.time() + 3600))
    checks.status(course.student.post(course.path + "/rounds", {"played_at": ahead, "shots": [shot()]}), 422, "a round of an hour ahead")
    checks.same(course.server.dump(without=("audit",)), before, "and nothing was kept")


def recount(places, aspect, key):
    """What is to be counted, out of what was sent: of each place, and of how many."""
    out = {}
    for place, shots in places.items():
        kinds = [CLASSES.get(one[aspect]) if aspect == "strike" else one[aspect] for one in shots]
        kinds = [kind for kind in kinds if kind not in (None, "unknown")]
        out[place] = {"of": len(kinds), **{name: kinds.count(name) for name in key}}
    return out


def comparing(checks, course):
    path = course.grown_up("Comparing")
    empty = course.head.get(path + "/transfer")
    checks.ok(empty.status == 200 and empty.json["verdict"] == "too_few" and empty.json["course"] == {"rounds": 0, "days": 0}, "nothing was played yet", empty.body)
    sent = {"course": [], "range": []}
    for n in range(2):
        shots = [shot("right" if k % 5 < 2 else "straight", SIDES[k % 3], "flush" if k % 2 else "topped", 1 + k // 2) for k in range(15)]
        sent["course"] += shots
        course.head.post(path + "/rounds", {"played_at": "2026-05-%02dT15:00:00Z" % (9 + n), "shots": shots})
    first = course.head.get(path + "/transfer").json
    checks.same((first["verdict"], first["needed"], first["course"]), ("too_few", {"shots": 20, "days": 2}, {"rounds": 2, "days": 2}), "without the range there is nothing to set beside")
    kept = []
    for n in range(40):
        one = shot("right" if n % 13 == 0 else "left" if n % 5 == 0 else "straight", SIDES[n % 3], "thin" if n % 2 else "heel")
        sent["range"].append(one)
        kept.append(swing(course.head, path, "2026-05-0%dT09:%02d:00Z" % (1 + n // 10, n), start=one["start"], curve=one["curve"], strike=one["strike"]))
    got = course.head.get(path + "/transfer").json
    for found in got["aspects"]:
        key = [name for name in found["course"] if name != "of"]
        checks.same({place: found[place] for place in sent}, recount(sent, found["aspect"], key), "the counts of %s are what was sent" % found["aspect"])
    start, curve, strike = got["aspects"]
    checks.ok(got["verdict"] == start["verdict"] == "another_pattern" and start["stands_out"] == "right", "12 of 30 against 4 of 40: another pattern", start)
    checks.ok(start["difference"]["value"] == .3 and 0 < start["difference"]["low"] < .3 < start["difference"]["high"] and 0 < start["p"] <= .05, "with its limits", start)
    checks.same(curve["verdict"], "no_sure_difference", "how it curves is no sure difference")
    checks.same(strike["verdict"], "another_pattern", "how it is struck is another")
    checks.same(got["range"], {"swings": 40, "days": 4}, "days and swings of the range")
    aside = course.head.post("/v1/swings/%s/void" % kept[1], {"reason": "another player"})
    checks.status(aside, 200, "a swing is set aside")
    checks.same(course.head.get(path + "/transfer").json["aspects"][0]["range"]["of"], 39, "and counts no longer")
    course.server.write("DELETE FROM report_measures")
    checks.same(course.head.get(path + "/transfer").json["aspects"][0]["range"]["of"], 39, "reports of before tell by their text")


def left_handed(checks, course):
    """Sides are as seen: a left-hander's too, on the course as on the range."""
    path = course.grown_up("Left", hand="left")
    document = {"schema": "leadside.swing/1", "recorded_at": "2026-05-01T09:00:00Z", "hand": "left", "club": {"kind": "iron"},
                "measured": [{"measure": "shaft_cross", "checkpoint": "top", "value": 3, "sd": 2}], "flight": {"start": "left", "curve": "right", "strike": "flush"}}
    checks.status(course.head.post(path + "/swings", document), 201, "a left-hander's swing")
    checks.status(course.head.post(path + "/rounds", {"shots": [shot("left", "right")]}), 201, "and round")
    for way in ("as it is kept", "by the report's text"):
        found = course.head.get(path + "/transfer").json["aspects"]
        checks.ok(all(found[0][place]["left"] == 1 and found[1][place]["right"] == 1 for place in ("course", "range")), "sides are as they were seen, " + way, json.dumps(found))
        course.server.write("DELETE FROM report_measures")


def numbers(checks, course):
    """A launch monitor's path and face tell where it started."""
    path = course.grown_up("Measured")
    swing(course.head, path, "2026-05-01T09:00:00Z", path_deg=6, face_deg=6, strike="flush")
    found = course.head.get(path + "/transfer").json["aspects"]
    checks.same((found[0]["range"]["right"], found[1]["range"]["straight"]), (1, 1), "path and face six to the right: it starts right and flies on")


def main():
    checks = Checks("test_rounds")
    server = Server(checks, options=["--no-throttle"])
    course = Course(server)
    kept = keeping(checks, course)
    removing(checks, course, kept)
    checks.parts((refusing, comparing, left_handed, numbers), course)
    server.end()
    checks.finish()


main()
