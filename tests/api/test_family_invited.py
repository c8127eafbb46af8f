"""A coach invites a student's family: accounts for own students and their guardians, entered by a one-time link, and a guardian
of several juniors; nothing of another coach's students, no coach, no head, and no password that the coach knows."""
import support
from support import Checks, Server


class Club:
    def __init__(self, server):
        self.server, self.head = server, server.sign_in()
        self.ids, self.coaches = {}, {}
        for name in ("one", "two"):
            self.ids[name], self.coaches[name] = server.account(self.head, "coach", name)
        self.made = 0

    def student(self, who, **more):
        self.made += 1
        made = self.coaches[who].post("/v1/students", {"name": "Student %d" % self.made, "hand": "right", **more})
        assert made.status == 201, made.body
        return made.json["id"]

    def junior(self, who):
        return self.student(who, birth_year=2015, consent={"by": "Rowan Testing"})

    def invite(self, who, role, sign_in, **more):
        return self.coaches[who].post("/v1/accounts", {"role": role, "sign_in": sign_in, "name": sign_in.title(), **more})

    def enter(self, who, account):
        """By the link: a signed-in client of the account's."""
        link = self.coaches[who].post("/v1/accounts/%s/link" % account, {})
        assert link.status == 201, link.body
        token = link.json["url_path"].split("=")[1]
        joined = self.server.client().request("POST", "/v1/join", {"token": token, "password": "a long way to the green"})
        assert joined.status == 200, joined.body
        return self.server.client(joined.json["token"])


def invited(checks, club):
    student = club.student("one", birth_year=1990)
    made = club.invite("one", "student", "wren", student_id=student)
    checks.ok(made.status == 201 and made.json["password"] is None and made.json["student_id"] == student, "a coach makes an account for an own student, and knows no password", made.body)
    where = made.header("Location")
    checks.ok(where == "/v1/accounts/" + made.json["id"] and club.coaches["one"].get(where).json["name"] == "Wren", "which the coach can look at", where)
    checks.status(club.coaches["two"].get(where), 404, "and no other coach")
    again = club.coaches["one"].post("/v1/accounts", {"role": "student", "sign_in": "wren2", "name": "Wren", "student_id": student})
    checks.ok(again.status == 409 and again.problem["path"] == "sign_in", "a student has one account", again.body)
    phone = club.enter("one", made.json["id"])
    checks.status(phone.get("/v1/students/" + student), 200, "by the link the student is in")
    checks.status(phone.get("/v1/me/homework"), 200, "and at the homework")
    family = club.coaches["one"].get("/v1/students/%s/family" % student).json["accounts"]
    checks.same([(a["id"], a["role"], a["sign_in"], bool(a["last_seen"])) for a in family], [(made.json["id"], "student", "wren", True)], "the coach sees who has an account")
    checks.status(club.coaches["two"].get("/v1/students/%s/family" % student), 404, "of own students alone")
    checks.same(club.server.query("SELECT account_id, action FROM audit WHERE object_id = ? AND action LIKE 'account.%' ORDER BY id", made.json["id"])[:2],
                [(club.ids["one"], "account.create"), (club.ids["one"], "account.link")], "the audit has who made it")


def refused(checks, club):
    student, foreign, junior = club.student("one", birth_year=1990), club.junior("two"), club.junior("one")
    before = club.server.query("SELECT count(*) FROM account")
    for role in ("head", "coach"):
        checks.status(club.invite("one", role, "climber"), 403, "no coach makes a " + role)
    unknown = club.invite("one", "student", "nobody", student_id="01900000-0000-7000-8000-000000000000")
    other = club.invite("one", "student", "nobody", student_id=foreign)
    checks.ok(other.status == 422 and other.problem["detail"] == unknown.problem["detail"], "another's student is as none", (other.body, unknown.body))
    checks.status(club.invite("one", "guardian", "nobody", students=[junior, foreign]), 422, "nor beside an own one")
    checks.status(club.invite("one", "guardian", "nobody"), 422, "a guardian stands for somebody")
    checks.status(club.invite("one", "guardian", "nobody", students=[student]), 422, "who is a junior")
    checks.status(club.invite("one", "student", "nobody", student_id=student, password="the coach knows this one"), 422, "the family chooses its own password")
    checks.same(club.server.query("SELECT count(*) FROM account"), before, "none of these made an account")
    theirs = club.invite("two", "guardian", "theirs", students=[foreign]).json["id"]
    for method, path, body in (("PATCH", "", {"new_password": True}), ("DELETE", "", None)):
        checks.status(club.coaches["one"].request(method, "/v1/accounts/%s%s" % (theirs, path), body, match="*"), 403, "%s of an account is the head's" % method)
    checks.status(club.coaches["one"].post("/v1/accounts/%s/link" % theirs, {}), 404, "a link into another's family is not to be had")
    club.server.write("UPDATE session SET confirmed_at = 0, created = 0 WHERE account_id = ?", club.ids["two"])
    stale = club.invite("two", "student", "late", student_id=club.student("two", birth_year=1990))
    checks.ok(stale.status == 403 and stale.problem["type"].endswith("confirm-needed"), "and who asks proves it first", stale.body)


def siblings(checks, club):
    """One guardian with several juniors: made for one, and added to the next."""
    first, second, foreign = club.junior("one"), club.junior("one"), club.junior("two")
    made = club.invite("one", "guardian", "rowan", students=[first])
    checks.ok(made.status == 201 and made.json["students"] == [first], "a guardian is invited for a junior", made.body)
    guardian = club.enter("one", made.json["id"])
    put = lambda who, student, account: club.coaches[who].put("/v1/students/%s/family/%s" % (student, account))
    checks.status(guardian.get("/v1/students/" + second), 404, "who sees no other child")
    tag = club.head.get("/v1/accounts/" + made.json["id"]).header("ETag")
    checks.status(put("one", second, made.json["id"]), 204, "the coach adds a second one")
    checks.status(put("one", second, made.json["id"]), 204, "twice is as good")
    checks.same([guardian.get("/v1/students/" + child).status for child in (first, second)], [200, 200], "and the guardian sees both")
    checks.status(club.head.patch("/v1/accounts/" + made.json["id"], {"students": [first]}, match=tag), 412, "which the head's older view does not take back unseen")
    checks.same([[a["id"] for a in club.coaches["one"].get("/v1/students/%s/family" % child).json["accounts"]] for child in (first, second)], [[made.json["id"]]] * 2, "both files show it")
    theirs = club.head.post("/v1/accounts", {"role": "guardian", "sign_in": "apart", "name": "Apart", "students": [foreign]}).json["id"]
    checks.status(put("one", first, theirs), 404, "a guardian of nobody whom the coach teaches is not to be had")
    checks.status(put("two", first, theirs), 404, "nor a junior of another's")
    grown = club.student("one", birth_year=1990)
    checks.status(put("one", grown, made.json["id"]), 422, "a grown-up has no guardian")
    own = club.head.post("/v1/accounts", {"role": "student", "sign_in": "child", "name": "Child", "student_id": first}).json["id"]
    checks.status(club.head.put("/v1/students/%s/family/%s" % (second, own)), 422, "nobody but a guardian stands for a child")
    checks.status(guardian.put("/v1/students/%s/family/%s" % (second, made.json["id"])), 403, "and no guardian helps himself")
    checks.same(club.server.query("SELECT count(*) FROM audit WHERE action = 'family.add' AND student_id = ?", second), [(2,)], "the audit has it")


def main():
    checks = Checks("test_family_invited")
    server = Server(checks, options=["--no-throttle"])
    club = Club(server)
    checks.parts((invited, siblings, refused), club)
    server.end()
    checks.finish()


main()
