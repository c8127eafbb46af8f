"""Consents: who may give, record and take back what for whom; what can't be a consent; and that pictures are hidden from
everybody the moment consent is taken back or runs out, and shown again when it is given anew."""
import datetime
import time

import support
from support import Checks, Server, png

HIDDEN = [" ", "\t", "\u00a0", "\u200b", "\u2800", "\u202eRowan", "Rowan\u0001", "\ufeff", "Ro\u200dwan", "\u3164"]


def later(**delta):
    return (datetime.datetime.now(datetime.timezone.utc) + datetime.timedelta(**delta)).strftime("%Y-%m-%dT%H:%M:%SZ")


def give(client, path, scope="store_pictures", **more):
    return client.post(path + "/consents", {"scope": scope, **more})


class Scene:
    """A child with a swing, a still and the people around; consent recorded when the child was taken on."""

    def __init__(self, server, head):
        self.ours = support.one_of_everything(server, head)
        self.head, self.path = head, "/v1/students/" + self.ours["students"]
        self.coach, self.child, self.guardian = (self.ours[who + " client"] for who in ("coach", "student", "guardian"))
        self.stills = "/v1/swings/%s/stills" % self.ours["swings"]
        self.still = self.stills + "/" + self.ours["still"]
        self.everybody = [("head", head), ("coach", self.coach), ("child", self.child), ("guardian", self.guardian)]

    def seen(self, checks, shown, when):
        for who, client in self.everybody:
            checks.status(client.get(self.still), 200 if shown else 403, "%s: the picture, for the %s" % (when, who))
            listed = client.get(self.stills).json
            checks.same((listed["hidden"], len(listed["stills"])), (not shown, 1 if shown else 0),
                        "%s: the list, for the %s" % (when, who))
            export = client.get(self.path + "/export").json
            checks.same(len(export.get("still", [])), 1 if shown else 0, "%s: the export, for the %s" % (when, who))
            checks.status(client.get("/v1/swings/%s/report" % self.ours["swings"]), 200, when + ": the report stays")
        student = self.head.get(self.path).json
        checks.same((student["pictures"], student["consent"] is not None), (shown, shown), when + ": the record says so")
        reply = self.coach.put(self.stills + "/face_on-impact", png(), content_type="image/png")
        checks.status(reply, 200 if shown else 409, when + ": another picture")
        if shown:
            self.coach.delete(self.stills + "/face_on-impact")
        else:
            checks.ok(reply.problem["type"].endswith("consent-missing"), "and why", reply.body)
            checks.status(self.coach.post(self.path + "/swings", support.numbered(9)), 409, when + ": a swing")


def standing(checks, scene):
    scene.seen(checks, True, "given at the start")
    first = scene.guardian.get(scene.path + "/consents").json
    checks.same([(c["scope"], c["by"], c["counts"], c["for_a_junior"], c["withdrawn_at"]) for c in first["consents"]],
                [("store_pictures", "Own Guardian", True, True, None)], "it is on record")
    checks.ok(first["consents"][0]["recorded_by"] not in (None, scene.ours["account_id"]), "with who recorded it: the head")
    reply = scene.coach.patch(scene.path, {"consent": None}, match=scene.coach.get(scene.path).header("ETag"))
    checks.ok(reply.status == 422 and reply.problem["path"] == "consent" and "/consents" in reply.problem["detail"],
              "it isn't taken back by changing the student", reply.body)


def taking_back(checks, server, scene):
    away = scene.path + "/consents/store_pictures"
    denied = scene.child.delete(away)
    checks.ok(denied.status == 403 and "guardian" in denied.problem["detail"], "a junior doesn't decide alone", denied.body)
    for who, client in (("guardian", scene.guardian), ("coach", scene.coach), ("head", scene.head)):
        checks.status(client.delete(away), 204, "the %s takes it back" % who)
        scene.seen(checks, False, "taken back by the " + who)
        checks.status(client.delete(away), 404, "nothing more to take back")
        newest = scene.head.get(scene.path + "/consents").json
        checks.ok(not newest["pictures"] and newest["consents"][0]["withdrawn_at"] and not newest["consents"][0]["counts"],
                  "and that stands there", newest)
        for staff in (scene.coach, scene.head) if who == "guardian" else ():
            reply = give(staff, scene.path, by="Own Guardian")
            checks.ok(reply.status == 409 and reply.problem["type"].endswith("consent-withdrawn"),
                      "what the family took back themselves nobody else says yes to", reply.body)
        again = give(client, scene.path, by="Own Guardian")
        checks.status(again, 201, "the %s gives or records it anew" % who)
        scene.seen(checks, True, "given anew by the " + who)
    checks.status(give(scene.child, scene.path, by="Me"), 403, "a junior can't consent alone")
    own = give(scene.guardian, scene.path)
    checks.ok(own.status == 201 and own.json["by"] == "Own.Guardian" and own.json["counts"], "a guardian need not say who", own.body)
    checks.status(give(scene.coach, scene.path), 422, "the team says whose word it was")
    rows = server.query("SELECT action, detail FROM audit WHERE student_id = ? AND action LIKE 'consent.%' ORDER BY id",
                        scene.ours["students"])
    checks.same([row[0] for row in rows], ["consent.give"] + ["consent.withdraw", "consent.give"] * 3 + ["consent.give"],
                "each in the audit")
    checks.same({row[1] for row in rows}, {'{"scope":"store_pictures"}'}, "with its scope and nobody's name")
    key = support.fresh_key()
    body = {"scope": "share_with_club", "by": "Own Guardian"}
    one, two = (scene.guardian.post(scene.path + "/consents", body, key=key) for _ in range(2))
    checks.ok(one.status == two.status == 201 and one.json["id"] == two.json["id"], "sent twice, given once", two.body)


def not_a_consent(checks, scene):
    for body, where in ([({"scope": "store_pictures", "by": by}, "by") for by in HIDDEN] + [
            ({"scope": "store_pictures", "by": ""}, "by"), ({"scope": "store_pictures", "by": "x" * 201}, "by"),
            ({"scope": "everything", "by": "Rowan"}, "scope"), ({"by": "Rowan"}, "scope"),
            ({"scope": "store_pictures", "by": "Rowan", "given_at": "9999-12-31T23:59:59Z"}, "given_at"),
            ({"scope": "store_pictures", "by": "Rowan", "given_at": later(hours=1)}, "given_at"),
            ({"scope": "store_pictures", "by": "Rowan", "given_at": "1999-01-01T00:00:00Z"}, "given_at"),
            ({"scope": "store_pictures", "by": "Rowan", "expires": "9999-12-31T23:59:59Z"}, "expires"),
            ({"scope": "store_pictures", "by": "Rowan", "expires": later(seconds=-5)}, "expires"),
            ({"scope": "store_pictures", "by": "Rowan", "given": later()}, "given")]):
        reply = scene.coach.post(scene.path + "/consents", body)
        checks.ok(reply.status == 422 and reply.problem.get("path") == where, "refused: %s" % ascii(body), reply.body[:200])
    for consent, where in (({"by": " "}, "consent.by"), ({"by": "Rowan", "at": "9999-12-31T23:59:59Z"}, "consent.at"),
                           ({"by": "Rowan", "at": "1999-01-01T00:00:00Z"}, "consent.at")):
        reply = scene.head.post("/v1/students", {"name": "New", "hand": "left", "birth_year": 2015, "consent": consent})
        checks.ok(reply.status == 422 and reply.problem.get("path") == where, "nor with a new student: %s" % consent, reply.body[:200])
    checks.status(scene.head.delete(scene.path + "/consents/everything"), 404, "no such scope")
    checks.status(give(scene.coach, scene.path, by="Jörg 李 O'Neill-Ḥasan", given_at=later(days=-3)), 201, "a name is a name")


def running_out(checks, scene):
    checks.status(give(scene.guardian, scene.path, expires=later(seconds=3)), 201, "for three seconds")
    checks.status(scene.coach.get(scene.still), 200, "shown until then")
    time.sleep(4.2)
    scene.seen(checks, False, "run out")
    checks.status(give(scene.guardian, scene.path, expires=later(days=365)), 201, "for a year")
    scene.seen(checks, True, "given anew")


def other_scopes(checks, scene):
    for scope in ("share_with_club", "teach_with"):
        checks.status(give(scene.coach, scene.path, scope, by="Own Guardian"), 201, scope + " is recorded")
        checks.status(scene.guardian.delete(scene.path + "/consents/" + scope), 204, "and taken back")
        checks.status(scene.coach.get(scene.still), 200, "which hides no picture")
    told = scene.head.get(scene.path + "/consents").json["consents"]
    checks.same({c["scope"]: c["counts"] for c in reversed(told)},
                {"store_pictures": True, "share_with_club": False, "teach_with": False}, "each scope for itself")


def strangers(checks, server, scene):
    _, other = server.account(scene.head, "coach", "stranger")
    child = scene.head.post("/v1/students", {"name": "Other", "hand": "left", "birth_year": 2015}).json["id"]
    _, guardian = server.account(scene.head, "guardian", "other.guardian", students=[child])
    for who, client in (("another team's coach", other), ("another child's guardian", guardian)):
        checks.status(client.get(scene.path + "/consents"), 404, who + " sees none")
        checks.status(give(client, scene.path, by="Me"), 404, "gives none")
        checks.status(client.delete(scene.path + "/consents/store_pictures"), 404, "takes none back")


def grown_up(checks, server, head):
    student = head.post("/v1/students", {"name": "Linnet Tallowmere", "hand": "right", "birth_year": 1990}).json["id"]
    path = "/v1/students/" + student
    _, own = server.account(head, "student", "linnet", student_id=student)
    swing = head.post(path + "/swings", support.numbered(3)).json["id"]
    still = "/v1/swings/%s/stills/face_on-top" % swing
    checks.status(head.put(still, png(), content_type="image/png"), 200, "a grown-up's picture needs nobody's consent")
    checks.status(own.delete(path + "/consents/store_pictures"), 204, "but a grown-up may say no")
    checks.status(head.get(still), 403, "then it is hidden")
    checks.status(head.put(still, png(), content_type="image/png"), 409, "and none is added")
    row = head.get(path + "/consents").json["consents"][0]
    checks.same((row["by"], row["given_at"], row["counts"]), (None, None, False), "a no that was never a yes")
    checks.status(head.delete(path + "/consents/store_pictures"), 404, "once is enough")
    checks.status(own.post(path + "/consents", {"scope": "store_pictures"}), 201, "and yes again")
    checks.status(head.get(still), 200, "then it is shown")
    checks.status(head.delete(path), 204, "erased")
    checks.same(server.query("SELECT count(*) FROM consent WHERE student_id = ?", student), [(0,)], "with the consents")
    rows = server.query("SELECT detail FROM audit WHERE student_id = ? AND action LIKE 'consent.%'", student)
    checks.ok(rows and all(row[0] is None for row in rows), "of which the audit keeps the kind alone", rows)


def main():
    checks = Checks("test_consent")
    server = Server(checks, options=["--no-throttle"])
    head = server.sign_in()
    scene = Scene(server, head)
    standing(checks, scene)
    taking_back(checks, server, scene)
    not_a_consent(checks, scene)
    running_out(checks, scene)
    other_scopes(checks, scene)
    strangers(checks, server, scene)
    grown_up(checks, server, head)
    sound, output = server.check_file()
    checks.ok(sound, "the file is sound", output)
    server.end()
    checks.finish()


main()
