"""What access rests on: one-time links and calendar feeds end with it, a head's new password is the last word, sessions end
with the role they were made for, and a browser has one session; wrong passwords make the guesser wait and nobody else; what is
kept of a request gives no password away; names hold nothing that can't be seen."""
import hashlib
import json
import os
import resource
import sqlite3
import threading
import unicodedata

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
    for row in rows:
        server.write("INSERT OR REPLACE INTO account_link VALUES (?, ?, ?, ?, ?)", *row)
    checks.same([family.works(role)[0] for role in ("student", "guardian")], [False, False],
                "even a link that still stands opens nothing once its maker is off the team")


def names_the_maker(checks, server, head):
    family = Family(server, head, "told")
    family.works("student")
    row = [row for row in listed(head.get("/v1/audit?limit=50&account=" + family.ids["student"]))
           if row["action"] == "account.join"][0]
    checks.same((row["account_id"], (row.get("detail") or {}).get("made_by")), (family.ids["student"], family.coach_id),
                "the audit of joining names the account and who made the link")
    other = [row for row in listed(head.get("/v1/audit?limit=50")) if row["action"] == "account.link"][0]
    checks.same((other.get("detail") or {}).get("made_by"), None, "other rows have no such maker")


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


# ---- wrong passwords ----

def guess(server, name, password="not the password", remote=None, device=None, cookie=None):
    headers = {"X-Forwarded-For": remote} if remote else {}
    body = {"sign_in": name, "password": password}
    if cookie is not None:
        headers.update({"Origin": "https://127.0.0.1:%d" % server.port, "Sec-Fetch-Site": "same-origin", "Cookie": cookie})
        body["cookie"] = True
    return server.client(device=device).request("POST", "/v1/sign-in", body, headers=headers)


def known_cookie(reply):
    return [value.split(";")[0] for key, value in reply.headers
            if key.lower() == "set-cookie" and "leadside_known_" in value][0]


def locked(server, name, remote, tries=9, device=None, cookie=None):
    """Guesses until told to wait; the number of answers 429."""
    return sum(guess(server, name, remote=remote, device=device, cookie=cookie).status == 429 for _ in range(tries))


def while_waiting(server, name, remote, **more):
    """The right password in the same breath as a guess that was told to wait."""
    while guess(server, name, remote=remote).status != 429:
        pass
    return guess(server, name, support.HEAD["password"], remote, **more)


def strangers(checks):
    server = Server(checks, options=["--no-throttle", "--behind-proxy"])
    head = server.sign_in()
    tablet = head.post("/v1/devices", {"name": "Bay 1"}).json["token"]
    browser = guess(server, "head", support.HEAD["password"], "192.0.2.1", cookie="")
    checks.status(browser, 200, "a browser signs in")
    cookie = known_cookie(browser)
    whole = [value for key, value in browser.headers if key.lower() == "set-cookie" and "leadside_known_" in value][0]
    checks.ok(all(part in whole for part in ("__Secure-", "HttpOnly", "Secure", "SameSite=Strict", "Path=/v1/sign-in")),
              "and is known from then on, to sign-ins alone", whole)
    checks.ok(locked(server, "head", "203.0.113.5") > 0, "a stranger is made to wait")
    checks.status(while_waiting(server, "head", "203.0.113.5"), 429, "there even with the right password")
    checks.status(guess(server, "head", support.HEAD["password"], "198.51.100.7"), 200, "the head elsewhere is not")
    checks.status(while_waiting(server, "head", "203.0.113.5", device=tablet), 200,
                  "nor on the club's tablet next to the stranger")
    checks.status(while_waiting(server, "head", "203.0.113.5", cookie=cookie), 200,
                  "nor in a browser that has signed in before")
    forged = cookie[:-2] + ("AA" if cookie[-2:] != "AA" else "BB")
    checks.status(while_waiting(server, "head", "203.0.113.5", cookie=forged), 429, "a forged cookie is none")
    _, coach = server.account(head, "coach", "linnet")
    other = guess(server, "linnet", coach.password, "192.0.2.1", cookie="")
    swapped = cookie.split("=")[0] + "=" + known_cookie(other).split("=", 1)[1]
    checks.status(while_waiting(server, "head", "203.0.113.5", cookie=swapped), 429,
                  "nor is that of another account")
    # IPv6: a host has a whole /64, a household a whole /48
    seen = [guess(server, "head", remote="2001:db8:1:2::%x" % n).status for n in range(1, 13)]
    checks.ok(seen[:4] == [401] * 4 and seen.count(401) <= 6 and 429 in seen, "addresses of one /64 are one guesser", seen)
    seen = [guess(server, "head", remote="2001:db8:9:%x::1" % n).status for n in range(1, 31)]
    checks.ok(seen.count(401) <= 14 and 429 in seen, "and networks of one /48 are held too", seen)
    # from everywhere
    seen = [guess(server, "head", remote="11.%d.%d.1" % (n, n)).status for n in range(1, 121)]
    checks.ok(20 <= seen.count(401) <= 50 and set(seen[60:]) == {429}, "guesses from 120 networks stop at the name's budget",
              (seen.count(401), seen[-5:]))
    checks.status(guess(server, "head", support.HEAD["password"], "203.0.113.6", device=tablet), 200, "the tablet still signs in")
    checks.status(guess(server, "head", support.HEAD["password"], "203.0.113.6", cookie=cookie), 200, "so does the browser")
    checks.ok(locked(server, "head", "203.0.113.6", cookie=cookie) > 0, "though not to guess without end")
    checks.ok(locked(server, "linnet", "203.0.113.6", device=tablet) > 0, "nor does the tablet")
    same = [[guess(server, name, remote="203.0.113.9").status for _ in range(6)] for name in ("nobody here", "linnet")]
    checks.same(same[0], same[1], "names that nobody has are treated alike")
    server.end()


def at_once(checks):
    """40 guesses at the same moment: the queue is too short for them, few are looked at, and none that was not counts."""
    server = Server(checks, options=["--no-throttle"])
    answers = []
    racers = [threading.Thread(target=lambda: answers.append(guess(server, "head"))) for _ in range(40)]
    for racer in racers:
        racer.start()
    for racer in racers:
        racer.join()
    checks.ok(1 <= sum(reply.status == 401 for reply in answers) <= 4, "of 40 guesses sent at once 4 at most are looked at",
              sorted(reply.status for reply in answers))
    server.end()
    # many names keep the queue full: those turned away by it are not counted
    server = Server(checks, options=["--no-throttle"])
    stop, busy = threading.Event(), []

    def crowd(mine):
        client = server.client()
        for n in range(100000):
            if stop.is_set():
                return
            client.request("POST", "/v1/sign-in", {"sign_in": "crowd %d %d" % (mine, n), "password": "not the password"})

    racers = [threading.Thread(target=crowd, args=(n,)) for n in range(30)]
    for racer in racers:
        racer.start()
    tries = [guess(server, "head", support.HEAD["password"]) for _ in range(60)]
    busy = [reply for reply in tries if reply.problem.get("type", "").endswith(":busy")]
    waiting = [reply for reply in tries if reply.problem.get("type", "").endswith(":too-often")]
    stop.set()
    for racer in racers:
        racer.join()
    checks.ok(len(busy) >= 5, "the queue was full %d times of 60" % len(busy), [reply.status for reply in tries])
    checks.same(len(waiting), 0, "which never counts as a wrong password")
    checks.status(guess(server, "head", support.HEAD["password"]), 200, "and then the head signs in")
    server.end()


def made_up_names(checks):
    """A guesser who waits is not let off by a flood of names, each from another address of the network."""
    server = Server(checks, options=["--behind-proxy", "--no-throttle"])
    while guess(server, "head", remote="2001:db8::1").status != 429:
        pass
    stop = threading.Event()
    done = [0] * 4

    def flood(mine):
        client = server.client()
        while not stop.is_set():
            client.request("POST", "/v1/sign-in", {"sign_in": "made up %d %d" % (mine, done[mine]), "password": "x" * 8},
                           headers={"X-Forwarded-For": "2001:db8::%x:%x" % (mine + 1, done[mine] + 1)})
            done[mine] += 1

    racers = [threading.Thread(target=flood, args=(mine,)) for mine in range(4)]
    for racer in racers:
        racer.start()
    let = 0
    started = support.time.monotonic()
    while support.time.monotonic() - started < 12:
        let += guess(server, "head", remote="2001:db8::1").status == 401
        support.time.sleep(0.05)
    stop.set()
    for racer in racers:
        racer.join()
    checks.ok(let <= 4, "in 12 s and %d made-up names the guesser gets no more tries than alone" % sum(done), let)
    server.end()


def limited(checks):
    """Unknown callers are limited by network: a /64 is one."""
    server = Server(checks, options=["--behind-proxy"])
    seen = [server.client().request("POST", "/v1/join", {"token": "A" * 43, "password": "a heron over the reeds"},
                                    headers={"X-Forwarded-For": "2001:db8:5:6::%x" % n}).status for n in range(1, 61)]
    checks.ok(seen.count(410) < 45 and 429 in seen, "60 addresses of one /64 share one limit", seen.count(410))
    checks.status(server.client().request("POST", "/v1/join", {"token": "A" * 43, "password": "a heron over the reeds"},
                                          headers={"X-Forwarded-For": "2001:db8:5:7::1"}), 410, "the next /64 has its own")
    server.end()


def short_memory(checks):
    """No memory for the hash: 503 and not counted, rather than a wrong password."""
    server = Server(checks, options=["--no-throttle"])
    head = server.sign_in()
    limits = resource.prlimit(server.process.pid, resource.RLIMIT_AS)
    with open("/proc/%d/statm" % server.process.pid) as file:
        size = int(file.read().split()[0]) * resource.getpagesize()
    resource.prlimit(server.process.pid, resource.RLIMIT_AS, (size + (8 << 20), limits[1]))  # Argon2 wants 19 MiB
    replies = [guess(server, "head", support.HEAD["password"]) for _ in range(6)] + [guess(server, "nobody") for _ in range(2)]
    replies.append(head.request("POST", "/v1/me/password", {"old": support.HEAD["password"], "new": "another long sentence"}))
    resource.prlimit(server.process.pid, resource.RLIMIT_AS, limits)
    checks.same({(reply.status, bool(reply.header("Retry-After")), reply.problem.get("type", "").rpartition(":")[2])
                 for reply in replies}, {(503, True, "busy")}, "short memory is told as such, with Retry-After")
    checks.status(guess(server, "head", support.HEAD["password"]), 200, "and counts as nothing: the next one is let in")
    server.end()


def origins(checks):
    for options, right in (([], "http"), (["--behind-proxy"], "https")):
        server = Server(checks, options=["--no-throttle", *options])
        for scheme in ("http", "https"):
            page = {"Origin": "%s://127.0.0.1:%d" % (scheme, server.port), "Sec-Fetch-Site": "same-origin"}
            reply = server.client().request("POST", "/v1/sign-in", {**support.HEAD, "cookie": True}, headers=page)
            checks.status(reply, 200 if scheme == right else 403, "%s: an Origin of %s" % (" ".join(options) or "plain", scheme))
        server.end()


# ---- what is kept of a request ----

def kept(checks):
    server = Server(checks, options=["--no-throttle"])
    head = server.sign_in()
    body = json.dumps({"role": "coach", "sign_in": "linnet", "name": "Linnet", "password": "an easy phrase 12"})
    made = head.post("/v1/accounts", body, key="same")
    checks.status(made, 201, "an account with a chosen temporary password")
    hashes = [row[0] for row in server.query("SELECT body_hash FROM idempotency WHERE key = 'same'")]
    plain = hashlib.sha256(body.encode()).digest()
    tried = {hash_(data).digest()[:32] for data in (body.encode(), plain) for hash_ in
             (hashlib.sha256, lambda each: hashlib.blake2b(each, digest_size=32), lambda each: hashlib.blake2b(each, digest_size=24))}
    checks.ok(len(hashes) == 1 and not any(part in hashes[0] for part in {each[:16] for each in tried}),
              "what is kept of it is no hash that a copy of the file lets one guess at", hashes)
    checks.ok(os.stat(server.data + "/leadside.key").st_mode & 0o777 == 0o600, "its key is readable by the server's user alone")
    again = head.post("/v1/accounts", body, key="same")
    checks.ok(again.status == 201 and again.header("Idempotency-Replayed") == "true", "a resend is known", again.body)
    checks.status(head.post("/v1/accounts", body.replace("12", "13"), key="same"), 422, "and another body told apart")
    student = head.post("/v1/students", {"name": "Linnet", "hand": "right"}).json["id"]
    other = head.post("/v1/students", {"name": "Wren", "hand": "right"}).json["id"]
    swing = head.post("/v1/students/%s/swings" % student, support.numbered(1), key="swing")
    checks.status(swing, 201, "a swing")
    copy = os.path.join(server.root, "copy")
    done = server.command("backup", "--data", server.data, "--to", copy + "/leadside.db") if os.makedirs(copy) is None else None
    checks.ok(done.returncode == 0 and os.listdir(copy) == ["leadside.db"], "a backup holds no key", os.listdir(copy))
    old = open(server.data + "/leadside.key", "rb").read()
    checks.ok(old not in open(copy + "/leadside.db", "rb").read(), "nowhere in it")
    server.stop()
    os.remove(server.data + "/leadside.key")
    server.start()
    head = server.sign_in()
    checks.ok(open(server.data + "/leadside.key", "rb").read() != old, "a lost key is made anew")
    again = head.post("/v1/students/%s/swings" % student, support.numbered(1), key="swing")
    checks.ok(again.status == 201 and again.json["id"] == swing.json["id"] and again.header("Idempotency-Replayed") == "true",
              "then a resend still doubles nothing", again.body[:200])
    checks.status(head.post("/v1/students/%s/swings" % other, support.numbered(1), key="swing"), 422, "nor goes to another student")
    checks.status(head.post("/v1/students", {"name": "Wren", "hand": "right"}, key="swing"), 422, "nor to another address")
    server.stop()
    open(server.data + "/leadside.key", "wb").write(b"short")
    try:
        server.start()
        checks.ok(False, "a damaged key keeps the server from starting")
    except RuntimeError as error:
        checks.ok("leadside.key" in str(error), "a damaged key keeps the server from starting, and is named", error)
    os.remove(server.data + "/leadside.key")
    server.start()
    server.end()


def as_version(number, path):
    """The same rows in a file of an earlier version, whatever the present one is."""
    new = sqlite3.connect(path)
    new.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    application = new.execute("PRAGMA application_id").fetchone()[0]
    new.close()
    old = sqlite3.connect(path + ".3")
    folder = os.path.join(support.ROOT, "migrations")
    for name in sorted(os.listdir(folder)):
        if int(name[:4]) <= number:
            with open(os.path.join(folder, name)) as file:
                old.executescript(file.read())
    old.executescript("PRAGMA foreign_keys = OFF; PRAGMA application_id = %d; PRAGMA user_version = %d; "
                      "PRAGMA journal_mode = WAL; ATTACH '%s' AS new;" % (application, number, path))
    for (table,) in old.execute("SELECT name FROM main.sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite_%'").fetchall():
        there = {row[1] for row in old.execute("PRAGMA new.table_info(%s)" % table)}
        columns = ", ".join(row[1] for row in old.execute("PRAGMA main.table_info(%s)" % table) if row[1] in there)
        old.execute("INSERT INTO main.%s (%s) SELECT %s FROM new.%s" % (table, columns, columns, table))
    old.commit()
    old.close()
    for end in ("", "-wal", "-shm"):
        if os.path.exists(path + end):
            os.remove(path + end)
    os.rename(path + ".3", path)


def old_file(checks):
    """A file of the version before: what it kept without a key is forgotten, and its resends still double nothing."""
    server = Server(checks, options=["--no-throttle"])
    student = server.sign_in().post("/v1/students", {"name": "Linnet", "hand": "right"}, key="old")
    server.stop()
    path = server.data + "/leadside.db"
    as_version(3, path)
    database = sqlite3.connect(path)
    database.execute("UPDATE idempotency SET body_hash = ?", (hashlib.sha256(b"as it was").digest(),))
    database.commit()
    database.close()
    server.start()
    checks.same(server.query("SELECT DISTINCT body_hash FROM idempotency"), [(bytes(32),)], "hashes made without a key are gone")
    again = server.sign_in().post("/v1/students", {"name": "Linnet", "hand": "right"}, key="old")
    checks.same((again.status, again.json), (201, student.json), "a resend gets the first answer")
    server.end()


NEW_NAMES = {"shaft_plan": "shaft_direction", "pelvis_thrust": "hips_to_ball", "sway": "hips_slide_away", "flat_shoulder_turn": "level_shoulders"}


def renamed(value, key=None):
    """A report of the first release as it is answered: its codes by their present names, its sentences as they were."""
    if isinstance(value, dict):
        return {k: renamed(v, k) for k, v in value.items()}
    if isinstance(value, list):
        return [renamed(v, key) for v in value]
    return NEW_NAMES.get(value, value) if key in ("measure", "fault") else value


def first_release(checks):
    """A report that the first release wrote into its own file: readable, and nothing but names has changed."""
    server = Server(checks, options=["--no-throttle"])
    head = server.sign_in()
    student = head.post("/v1/students", {"name": "Linnet", "hand": "right"}).json["id"]
    document, report = (open(os.path.join(support.ROOT, "tests", "data", name), "rb").read() for name in ("down_the_line.json", "first_release/report.json"))
    swing = head.post("/v1/students/%s/swings" % student, json.loads(document)).json["id"]
    present = head.get("/v1/swings/%s/report" % swing).json
    server.stop()
    path = server.data + "/leadside.db"
    as_version(1, path)
    database = sqlite3.connect(path)
    database.execute("UPDATE swing SET document = ?, document_hash = ?, document_size = ?", (document, hashlib.sha256(document).digest(), len(document)))
    database.execute("UPDATE report SET json = ?", (report.decode().rstrip(),))
    checks.same(database.execute("SELECT name FROM pragma_table_info('report')").fetchall()[-1], ("json",), "the file is the first release's")
    database.commit()
    database.close()
    server.start()
    head = server.sign_in()
    old = json.loads(report)
    got = head.get("/v1/swings/%s/report" % swing)
    checks.same((got.status, got.json), (200, renamed(old)), "its report is as the first release wrote it, by the present names")
    checks.ok(got.json != old and got.json != present, "which are others, and it is not made anew")
    checks.same(head.get("/v1/swings/%s" % swing).json["document"], json.loads(document), "its document is there")
    fix = support.assign(head, student, "inside_takeaway", ["stick-along-the-toes"], overrule="for the test").json["id"]
    series = head.get("/v1/students/%s/progress?fix=%s" % (student, fix))
    value = next(m["value"] for m in old["measures"] if m["measure"] == "shaft_plan" and m["checkpoint"] == "shaft_back")
    checks.same((series.status, (series.json or {}).get("measure"), [row["value"] for row in (series.json or {}).get("series", [])]),
                (200, "shaft_direction", [value]), "and its figures count")
    server.end()


# ---- names ----

REFUSED = ("\u0001", "a\nb", "a\tb", "a\x7f", "a\x9b", "a\u202eb", "a\u202a", "a\u2066", "a\u2069", "a\u200e", "a\u200f",
           "\ufeffa", "a\u200bb", "a\u200db", "a\u00adb", "\u3164", " ", "\u00a0")
TAKEN = ("Zo\u00eb O'Brien", "\u0639\u0644\u06cc\u200c\u0631\u0636\u0627", "\u9673\u5927\u6587",
         "\u845b\U000e0100\u57ce", "\u0dc1\u0dca\u200d\u0dbb\u0dd3")
DRILL = ("name", "faults", "how_to", "feel", "cautions", "ball", "balance", "adult_only", "minutes", "kit", "place", "loads",
         "contraindicated")


def places_of_names(server, head):
    """{what: a function that sends a name there and gives (the path a refusal must tell, the reply)}"""
    drill = [row for row in listed(head.get("/v1/drills?limit=200")) if row["id"] == support.fitting(head, "chicken_wing")[0]][0]
    drill = {key: value for key, value in drill.items() if key in DRILL}
    device = head.post("/v1/devices", {"name": "Bay 1"}).json["id"]
    student = head.post("/v1/students", {"name": "Linnet", "hand": "right"}).json["id"]
    account, _ = server.account(head, "coach", "linnet")
    count = [0]

    def fresh():
        count[0] += 1
        return "name%d" % count[0]

    def edit(path, body, collection=None):
        if collection is None:
            return head.patch(path, body, match=head.get(path).header("ETag"))
        row = [row for row in listed(head.get(collection + "?limit=200")) if path.endswith(row["id"])][0]
        return head.patch(path, body, match='"%d"' % row["version"])

    return student, drill, {
        "a student": lambda name: ("name", head.post("/v1/students", {"name": name, "hand": "left"})),
        "a student's new name": lambda name: ("name", edit("/v1/students/" + student, {"name": name})),
        "who consents": lambda name: ("consent.by", head.post("/v1/students", {
            "name": "W", "hand": "left", "junior": True, "birth_year": 2015, "consent": {"by": name}})),
        "an account": lambda name: ("name", head.post("/v1/accounts", {"role": "coach", "sign_in": fresh(), "name": name})),
        "an account's new name": lambda name: ("name", edit("/v1/accounts/" + account, {"name": name}, "/v1/accounts")),
        "a sign-in name": lambda name: ("sign_in", head.post("/v1/accounts", {"role": "coach", "sign_in": name, "name": "W"})),
        "a device": lambda name: ("name", head.post("/v1/devices", {"name": name})),
        "a device's new name": lambda name: ("name", edit("/v1/devices/" + device, {"name": name}, "/v1/devices")),
        "a drill": lambda name: ("name", head.post("/v1/drills", {**drill, "name": name})),
    }


def names(checks):
    server = Server(checks, options=["--no-throttle"])
    head = server.sign_in()
    student, drill, places = places_of_names(server, head)
    for label, send in places.items():
        wrong = [(name, reply.status, reply.problem.get("path")) for name in REFUSED for path, reply in [send(name)]
                 if reply.status != 422 or reply.problem.get("path") != path]
        checks.same(wrong, [], "%s: %d names with what can't be seen are refused, and the place is told" % (label, len(REFUSED)))
        wrong = [(name, reply.body[:200]) for name in TAKEN for _, reply in [send(name)] if reply.status not in (200, 201)]
        checks.same(wrong, [], "%s: %d names of other scripts are taken" % (label, len(TAKEN)))
    reply = head.post("/v1/students", {"name": "a\u202eb", "hand": "right"})
    checks.same(reply.problem.get("detail"), "name: must not hold the invisible character U+202E.", "and why")
    for raw in (b'{"name":"a\\u0000b","hand":"right"}', b'{"name":"a\\ud800b","hand":"right"}', b'{"name":"a\xffb","hand":"right"}',
                b'{"name":"a\x00b","hand":"right"}'):
        checks.status(head.post("/v1/students", raw), (400, 422), "%r is no name" % raw)
    # every format character that Python's copy of Unicode knows: what stays is visible, or a joiner behind a letter
    visible = {*range(0x600, 0x606), 0x6dd, 0x70f, 0x890, 0x891, 0x8e2, 0x110bd, 0x110cd, *range(0x13430, 0x13440)}
    wrong = []
    for code in range(0x110000):
        if unicodedata.category(chr(code)) in ("Cf", "Cc", "Zl", "Zp"):
            taken = head.post("/v1/devices", {"name": "A%cB" % code}).status == 201
            wrong += ["U+%04X" % code] * (taken != (code in visible))
    checks.same(wrong, [], "of all control and format characters of Unicode %s visible ones alone are taken" % unicodedata.unidata_version)
    prose(checks, head, student, drill)
    for command, option in (("init", "--club"), ("init", "--name"), ("account", "--name"), ("account", "--sign-in")):
        arguments = {"--data": server.root + "/other" if command == "init" else server.data, "--name": "W", "--sign-in": "wren"}
        arguments.update({"--club": "C"} if command == "init" else {"--role": "coach"})
        arguments[option] = "a\u202eb"
        done = server.command(command, *(["add"] if command == "account" else []),
                              *[part for pair in arguments.items() for part in pair], text="a long enough sentence\n")
        checks.ok(done.returncode == 1 and "U+202E" in done.stderr and option in done.stderr,
                  "leadside %s %s says so" % (command, option), done.stderr)
    server.end()


def prose(checks, head, student, drill):
    for text, taken in (("two\nlines\tand a tab\r\nand a third", True), ("a\rb", False), ("a\u0001b", False), ("a\x1bb", False),
                        ("a\x9bb", False), ("\u05e9\u05dc\u05d5\u05dd \u200f(1)", True)):
        path = "/v1/students/" + student
        replies = [head.post(path + "/notes", {"text": text}),
                   head.patch(path, {"wants": text}, match=head.get(path).header("ETag")),
                   head.post("/v1/drills", {**drill, "how_to": text})]
        checks.ok(all(reply.status in ((200, 201) if taken else (422,)) for reply in replies),
                  "prose %r is %s" % (text, "taken" if taken else "refused"), [(reply.status, reply.body[:120]) for reply in replies])


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
    for part in (short_memory, strangers, at_once, made_up_names, limited, origins, kept, old_file, first_release, names):
        part(checks)
    checks.finish()


main()
