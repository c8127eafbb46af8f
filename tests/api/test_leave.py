"""A coach leaves: nobody is left behind unseen, the students go to others who are told, and nothing lets the coach in again."""
import support
from support import Checks, Server


class Club:
    def __init__(self, server):
        self.server, self.head = server, server.sign_in()
        self.ids, self.coaches = {}, {}
        for name in ("leaver", "heir", "other"):
            self.ids[name], self.coaches[name] = server.account(self.head, "coach", name)

    def student(self, name, *team, **more):
        student = self.head.post("/v1/students", {"name": name, "hand": "right", "birth_year": 1985}).json["id"]
        for coach in team:
            assert self.head.put("/v1/students/%s/team/%s" % (student, self.ids[coach])).status == 204
        return student

    def leave(self, *heirs, who="leaver"):
        return self.head.request("POST", "/v1/accounts/%s/leave" % self.ids[who], {"heirs": [
            {"account_id": self.ids.get(heir, heir), **({"student_id": student} if student else {})} for student, heir in heirs]})


def team(club, student):
    return set(club.head.get("/v1/students/" + student).json["team"])


def slug(reply):
    return reply.problem.get("type", "").split(":")[-1]


def refused(checks, club, ada, bea, cyd):
    none = club.leave()
    checks.ok(none.status == 409 and slug(none) == "heirs-needed", "students would be left behind", none.body)
    checks.same({row["name"] for row in none.problem["students"]}, {"Ada", "Bea"}, "who they are: not who has another coach, nor who is archived")
    some = club.leave((ada, "heir"))
    checks.ok(slug(some) == "heirs-needed" and [row["id"] for row in some.problem["students"]] == [bea], "one heir is not enough for two", some.body)
    checks.same(slug(club.leave((ada, "heir"), (bea, "leaver"))), "no-such-coach", "nobody inherits from himself")
    checks.same(slug(club.leave((None, ada))), "no-such-coach", "an heir is a coach")
    stranger = club.student("Stranger", "other")
    checks.same(slug(club.leave((None, "heir"), (stranger, "heir"))), "not-of-the-team", "of the coach's own students")
    checks.status(club.leave((ada, "heir"), (ada, "other"), (bea, "heir")), 422, "one heir for each")
    own = club.head.request("POST", "/v1/accounts/%s/leave" % club.head.get("/v1/me").json["id"], {"heirs": []})
    checks.same(slug(own), "oneself", "the head does not take himself out")
    family, _ = club.server.account(club.head, "student", "ada", student_id=ada)
    checks.same(slug(club.head.request("POST", "/v1/accounts/%s/leave" % family, {"heirs": []})), "not-a-coach", "a family does not leave so")
    checks.status(club.head.request("POST", "/v1/accounts/%s/leave" % ada, {"heirs": []}), 404, "nor nobody")
    checks.same(club.server.query("SELECT count(*) FROM handover")[0][0], 0, "nothing was done: no hand-over")
    checks.ok(club.ids["leaver"] in team(club, ada), "and the coach is on the team still")


def left(checks, club, ada, bea, cyd, old):
    leaver = club.coaches["leaver"]
    offer = club.coaches["other"].post("/v1/students/%s/handovers" % cyd, {"to": club.ids["leaver"], "note": "More of yours."})
    link = club.head.request("POST", "/v1/accounts/%s/link" % club.ids["leaver"], {})
    tablet = club.head.post("/v1/devices", {"name": "Bay 1"}).json
    with_tablet = club.server.sign_in("leaver", leaver.password, device=tablet["token"])
    own = club.head.post("/v1/devices", {"name": "Bay 2"}).json["id"]
    club.server.write("UPDATE device SET enrolled_by = ? WHERE id = ?", club.ids["leaver"], own)  # as one who was head had
    done = club.leave((ada, "other"), (None, "heir"))
    checks.status(done, 200, "with an heir for each the coach leaves")
    checks.same({(row["student_id"], row["account_id"]) for row in done.json["students"]},
                {(ada, club.ids["other"]), (bea, club.ids["heir"]), (cyd, club.ids["heir"]), (old, club.ids["heir"])}, "who went to whom")
    checks.same([team(club, student) for student in (ada, bea, cyd)], [{club.ids["other"]}, {club.ids["heir"]}, {club.ids["heir"], club.ids["other"]}], "as the teams are")
    told = [(item["kind"], item["student_name"], item["by"]) for item in support.listed(club.coaches["heir"].get("/v1/inbox"))]
    checks.same(sorted(told), [("handover", name, club.ids["leaver"]) for name in ("Bea", "Cyd", "Old")], "the heirs are told")
    answers = [item["kind"] for item in support.listed(club.coaches["other"].get("/v1/inbox")) if item["handover_id"] == offer.json["id"]]
    checks.same(answers, ["handover_declined"], "who had offered another student hears that it is declined")
    checks.status(leaver.get("/v1/me"), 401, "the session is over")
    checks.status(with_tablet.get("/v1/me"), 401, "on the tablet as well")
    checks.status(club.server.client().request("POST", "/v1/sign-in", {"sign_in": "leaver", "password": leaver.password}), 401, "there is no new one")
    checks.status(link, 201, "there is a link into the account")
    checks.status(club.server.client().request("POST", "/v1/join", {"token": link.json["url_path"].split("=")[-1], "password": "a good long password"}), 410, "nor is the link of use")
    checks.same([club.head.get("/v1/devices/" + device).json["revoked"] is not None for device in (own, tablet["id"])], [True, False], "a tablet of his own ends, the club's stays")
    checks.same(done.json["devices_ended"], 1, "as it is told")
    checks.ok(club.head.get("/v1/accounts/" + club.ids["leaver"]).json["disabled"], "the account is out of use")
    rows = club.server.query("SELECT action, count(*) FROM audit WHERE action IN ('account.leave', 'team.add') AND at >= (SELECT max(at) - 1 FROM audit WHERE action = 'account.leave') GROUP BY action ORDER BY action")
    checks.same(rows, [("account.leave", 1), ("team.add", 4)], "it is in the audit, student by student")
    again = club.leave()
    checks.ok(again.status == 200 and again.json["students"] == [], "said again it changes nothing", again.body)


def main():
    checks = Checks("test_leave")
    server = Server(checks, options=["--no-throttle"])
    club = Club(server)
    ada, bea, cyd, old = club.student("Ada", "leaver"), club.student("Bea", "leaver"), club.student("Cyd", "leaver", "other"), club.student("Old", "leaver")
    tag = club.head.get("/v1/students/" + old).header("ETag")
    checks.status(club.head.patch("/v1/students/" + old, {"archived": True}, match=tag), 200, "one student is archived")
    for part in (lambda: refused(checks, club, ada, bea, cyd), lambda: left(checks, club, ada, bea, cyd, old)):
        try:
            part()
        except Exception as error:  # one part's surprise must not hide the others
            checks.ok(False, "a part ran to its end", repr(error))
    server.end()
    checks.finish()


main()
