"""What access rests on: one-time links and calendar feeds end with it, a head's new password is the last word, sessions end
with the role they were made for, and a browser has one session."""
import threading

import support
from support import Checks, Server, listed


class Family:
    """A junior with a coach, an account of its own and a guardian; a link of the coach's into each, and a feed of each."""

    def __init__(self, server, head, name):
        self.server, self.head, self.name = server, head, name
        self.student = head.post("/v1/students", {"name": name, "hand": "right", "junior": True, "birth_year": 2014,
                                                  "consent": {"by": "A Guardian"}}).json["id"]
        self.coach_id, self.coach = server.account(head, "coach", name + ".coach")
        self.team(self.coach_id)
        self.ids, self.clients = {}, {}
        self.ids["student"], self.clients["student"] = server.account(head, "student", name, student_id=self.student)
        self.ids["guardian"], self.clients["guardian"] = server.account(head, "guardian", name + ".guardian",
                                                                        students=[self.student])
        self.links = {role: self.link(role) for role in self.ids}
        self.feeds = {role: self.clients[role].request("POST", "/v1/me/calendar").json["url_path"] for role in self.ids}

    def team(self, coach, method="PUT"):
        reply = self.head.request(method, "/v1/students/%s/team/%s" % (self.student, coach))
        assert reply.status == 204, reply.body

    def link(self, role, maker=None):
        reply = (maker or self.coach).request("POST", "/v1/accounts/%s/link" % self.ids[role])
        assert reply.status == 201, reply.body
        return reply.json["url_path"].partition("#join=")[2]

    def patch(self, account, body):
        row = [row for row in listed(self.head.get("/v1/accounts?limit=200")) if row["id"] == account][0]
        reply = self.head.patch("/v1/accounts/" + account, body, match='"%d"' % row["version"])
        assert reply.status == 200, reply.body
        return reply

    def works(self, role):
        """(the link opens, the feed answers)"""
        feed = self.server.client().get(self.feeds[role]).status == 200
        joined = self.server.client().request("POST", "/v1/join", {"token": self.links[role],
                                                                   "password": "a heron over the reeds"})
        assert joined.status in (200, 410), joined.body
        return joined.status == 200, feed


def second_junior(family):
    other = family.head.post("/v1/students", {"name": "Sibling", "hand": "right", "junior": True, "birth_year": 2015,
                                              "consent": {"by": "A Guardian"}}).json["id"]
    family.patch(family.ids["guardian"], {"students": [family.student, other]})


def newer(family):
    for role in family.ids:
        family.link(role)
        family.clients[role].request("POST", "/v1/me/calendar")


def own_password(family):
    for role, client in family.clients.items():
        reply = client.request("POST", "/v1/me/password", {"old": client.password, "new": "another long sentence"})
        assert reply.status == 204, reply.body


def disabled(family):
    for role in family.ids:
        family.patch(family.ids[role], {"disabled": True})


EVENTS = (
    ("the coach who made it has left the team", lambda f: f.team(f.coach_id, "DELETE"), ("student", "guardian")),
    ("the coach who made it is out of use", lambda f: f.patch(f.coach_id, {"disabled": True}), ("student", "guardian")),
    ("the coach who made it has another role", lambda f: f.patch(f.coach_id, {"role": "head"}), ("student", "guardian")),
    ("the owner has changed the password", own_password, ("student", "guardian")),
    ("the head has set a new password", lambda f: [f.patch(f.ids[r], {"new_password": True}) for r in f.ids],
     ("student", "guardian")),
    ("the account is out of use", disabled, ("student", "guardian")),
    ("the account was out of use and is in use again",
     lambda f: (disabled(f), [f.patch(f.ids[r], {"disabled": False}) for r in f.ids]), ("student", "guardian")),
    ("the guardian has a second junior", second_junior, ("guardian",)),
    ("the guardian has lost the junior", lambda f: f.patch(f.ids["guardian"], {"students": []}), ("guardian",)),
    ("the student is erased", lambda f: f.head.delete("/v1/students/" + f.student), ("student", "guardian")),
    ("a newer one was made", newer, ("student", "guardian")),
)


def ends_with(checks, server, head):
    worked = []
    for number, (label, event, roles) in enumerate(EVENTS):
        family = Family(server, head, "linnet%d" % number)
        event(family)
        for role in roles:
            link, feed = family.works(role)
            worked += ["%s, link, %s" % (label, role)] * link + ["%s, feed, %s" % (label, role)] * feed
            checks.same((link, feed), (False, False), "0 of link and feed of a %s work: %s" % (role, label))
    checks.same(worked, [], "none works after what it rested on has gone")
    family = Family(server, head, "control")
    for role in ("student", "guardian"):
        checks.same(family.works(role), (True, True), "untouched, those of a %s do" % role)
    checks.same([server.client().get(family.feeds[role]).status for role in ("student", "guardian")], [404, 404],
                "and joining by the link has ended the feeds too")


def asked_anew(checks, server, head):
    """Whoever left by another door (an old file, a command): reach is asked again where the link is used."""
    family = Family(server, head, "stale")
    rows = server.query("SELECT token_hash, account_id, made_by, created, expires FROM account_link WHERE made_by = ?",
                        family.coach_id)
    family.team(family.coach_id, "DELETE")
    database = support.sqlite3.connect(server.data + "/leadside.db", timeout=10)
    database.executemany("INSERT OR REPLACE INTO account_link VALUES (?, ?, ?, ?, ?)", rows)
    database.commit()
    database.close()
    checks.same([family.works(role)[0] for role in ("student", "guardian")], [False, False],
                "even a link that still stands opens nothing once its maker is off the team")


def names_the_maker(checks, server, head):
    family = Family(server, head, "told")
    family.works("student")
    row = [row for row in listed(head.get("/v1/audit?limit=50&account=" + family.ids["student"]))
           if row["action"] == "account.join"][0]
    checks.same((row["account_id"], row.get("made_by")), (family.ids["student"], family.coach_id),
                "the audit of joining names the account and who made the link")
    other = [row for row in listed(head.get("/v1/audit?limit=50")) if row["action"] == "account.link"][0]
    checks.same(other.get("made_by", ""), None, "other rows have no such maker")


def reset(checks, server, head):
    """A thief who knows the password changes it back and forth while the head gives a new one."""
    won = stale = 0
    rounds = 10
    for number in range(rounds):
        name = "robbed%d" % number
        account, owner = server.account(head, "coach", name)
        stop, passwords = threading.Event(), [owner.password]

        def thief(mine):
            client, at = server.client(owner.token), 0
            while not stop.is_set():
                fresh = "stolen words %s %d" % (mine, at)
                reply = client.request("POST", "/v1/me/password", {"old": passwords[-1], "new": fresh})
                if reply.status == 204:
                    passwords.append(fresh)
                elif reply.status == 401:
                    return
                at += 1

        thieves = [threading.Thread(target=thief, args=(mine,)) for mine in range(3)]
        for each in thieves:
            each.start()
        support.time.sleep(0.08)
        for _ in range(50):
            version = [row for row in listed(head.get("/v1/accounts?limit=200")) if row["id"] == account][0]["version"]
            reply = head.patch("/v1/accounts/" + account, {"new_password": True}, match='"%d"' % version)
            if reply.status != 412:
                break
            stale += 1
        support.time.sleep(0.15)
        stop.set()
        for each in thieves:
            each.join()
        given = reply.json.get("password", "") if reply.status == 200 else ""
        signed_in = server.client().request("POST", "/v1/sign-in", {"sign_in": name, "password": given or "none given"})
        owned = server.query("SELECT password_temporary FROM account WHERE id = ?", account)[0][0]
        won += reply.status != 200 or signed_in.status != 200 or owned != 1
    checks.same(stale, 0, "changing one's own password does not make the head's change stale (%d rounds)" % rounds)
    checks.same(won, 0, "the thief wins 0 of %d" % rounds)


def roles_and_browsers(checks, server, head):
    account, coach = server.account(head, "coach", "riser")
    version = [row for row in listed(head.get("/v1/accounts?limit=200")) if row["id"] == account][0]["version"]
    checks.status(head.patch("/v1/accounts/" + account, {"name": "Riser Tallow"}, match='"%d"' % version), 200, "another name")
    checks.status(coach.get("/v1/me"), 200, "leaves sessions alone")
    checks.status(head.patch("/v1/accounts/" + account, {"role": "head"}, match='"%d"' % (version + 1)), 200, "made a head")
    checks.status(coach.get("/v1/me"), 401, "ends the coach's sessions")
    again = server.sign_in("riser", coach.password)
    checks.status(again.get("/v1/overview"), 200, "the next is a head's")
    checks.status(head.patch("/v1/accounts/" + account, {"role": "coach"}, match='"%d"' % (version + 2)), 200, "and back")
    checks.status(again.get("/v1/me"), 401, "ends the head's sessions")

    page = {"Origin": "http://127.0.0.1:%d" % server.port, "Sec-Fetch-Site": "same-origin"}

    def browser(cookie=None, name="riser", password=coach.password):
        headers = {**page, "Cookie": cookie} if cookie else page
        reply = server.client().request("POST", "/v1/sign-in", {"sign_in": name, "password": password, "cookie": True},
                                        headers=headers)
        assert reply.status == 200, reply.body
        return [value.split(";")[0] for key, value in reply.headers
                if key.lower() == "set-cookie" and value.startswith("leadside_session=")][0]

    first, elsewhere = browser(), browser()
    second = browser(first)
    checks.same([server.client().get("/v1/me", headers={"Cookie": cookie}).status for cookie in (first, second, elsewhere)],
                [401, 200, 200], "signing in again ends this browser's old session, and no other")
    third = browser(second, support.HEAD["sign_in"], support.HEAD["password"])
    checks.same([server.client().get("/v1/me", headers={"Cookie": cookie}).status for cookie in (second, third)], [401, 200],
                "also when somebody else signs in")


def main():
    checks = Checks("test_access")
    server = Server(checks, options=["--no-throttle"])
    head = server.sign_in()
    ends_with(checks, server, head)
    asked_anew(checks, server, head)
    names_the_maker(checks, server, head)
    reset(checks, server, head)
    roles_and_browsers(checks, server, head)
    server.end()
    checks.finish()


main()
