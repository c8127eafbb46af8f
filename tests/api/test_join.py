"""One-time links: made by the head and by coaches for their own families, opened once with a password, refused ever after;
nothing but the hash is kept; two who open one at the same time; throttled as signing in is."""
import threading
import time

import support
from support import Checks, Server


def link(checks, client, account, label):
    reply = client.request("POST", "/v1/accounts/%s/link" % account)
    checks.status(reply, 201, label)
    return reply.json["url_path"].partition("#join=")[2] if reply.status == 201 else ""


def join(server, token, password="a meadow at first light", **more):
    headers = more.pop("headers", None)
    return server.client().request("POST", "/v1/join", {"token": token, "password": password, **more}, headers=headers)


def over(checks, reply, label):
    checks.ok(reply.status == 410 and reply.problem.get("type", "").endswith(":link-over"), label, reply.body[:200])


def whole(checks, server, head, student):
    made = head.post("/v1/accounts", {"role": "student", "sign_in": "linnet", "name": "Linnet", "student_id": student}).json
    before = server.sign_in("linnet", made["password"])
    reply = head.request("POST", "/v1/accounts/%s/link" % made["id"])
    checks.status(reply, 201, "the head makes a link")
    token = reply.json["url_path"].partition("#join=")[2]
    checks.ok(reply.json["url_path"].startswith("/#join=") and len(token) == 43, "it holds a token of 256 bits", reply.body)
    left = (support.datetime_of(reply.json["expires"]) - time.time()) / 86400
    checks.ok(6.99 < left < 7.01, "for seven days", left)
    checks.ok(token.encode() not in open(server.data + "/leadside.db", "rb").read()
              + open(server.data + "/leadside.db-wal", "rb").read(), "the token itself is nowhere in the file")
    for password, why in (("short", "too short"), ("linnet", "the sign-in name"), ("x" * 200, "too long")):
        checks.status(join(server, token, password), 422, "a password is refused: " + why)
    origin = "http://127.0.0.1:%d" % server.port
    checks.status(join(server, token, cookie=True), 403, "a cookie is not given to a page of nowhere")
    good = join(server, token, cookie=True, headers={"Origin": origin, "Sec-Fetch-Site": "same-origin"})
    checks.ok(good.status == 200 and "token" not in good.json and good.json["account"]["sign_in"] == "linnet"
              and good.json["account"]["password_temporary"] is False, "then it opens", good.body[:300])
    cookie = (good.header("Set-Cookie") or "").split(";")[0]
    checks.ok("HttpOnly" in (good.header("Set-Cookie") or ""), "with the cookie of a sign-in", good.headers)
    checks.status(server.client().get("/v1/me/homework", headers={"Cookie": cookie}), 200, "which signs in at once")
    checks.status(before.get("/v1/me"), 401, "older sessions have ended")
    over(checks, join(server, token), "a second time: over")
    checks.status(server.client().request("POST", "/v1/sign-in", {"sign_in": "linnet", "password": made["password"]}), 401,
                  "the old password is worth nothing")
    server.sign_in("linnet", "a meadow at first light")
    rows = server.query("SELECT action, account_id FROM audit WHERE action IN ('account.link', 'account.join') ORDER BY id")
    checks.same([row[0] for row in rows], ["account.link", "account.join"], "both are in the audit")
    checks.same(rows[1][1], made["id"], "the joining as the student's own doing")
    return made["id"]


def ends(checks, server, head, account):
    for token, label in (("", "an empty token"), ("A" * 43, "a made-up one"), ("é" * 20, "one that is no token"),
                         ("x" * 150, "a long one")):
        reply = join(server, token)
        if token:
            over(checks, reply, label + ": over")
        else:
            checks.status(reply, (410, 422), label)
    old = link(checks, head, account, "a link")
    new = link(checks, head, account, "a newer one")
    over(checks, join(server, old), "the older is over")
    server.write("UPDATE account_link SET expires = created - 1")
    over(checks, join(server, new), "the newer is over after its time")
    row = [row for row in support.listed(head.get("/v1/accounts?limit=200")) if row["id"] == account][0]
    token = link(checks, head, account, "one more")
    head.patch("/v1/accounts/" + account, {"disabled": True}, match='"%d"' % row["version"])
    over(checks, join(server, token), "that of an account out of use is over")
    checks.status(head.request("POST", "/v1/accounts/%s/link" % account), 409, "and no other is made")
    head.patch("/v1/accounts/" + account, {"disabled": False}, match='"%d"' % (row["version"] + 1))
    checks.status(head.request("POST", "/v1/accounts/%s/link" % account, {"days": 30}), 422, "nothing is asked for")


def coaches(checks, server, head):
    ours = support.one_of_everything(server, head)
    coach = ours["coach client"]
    link(checks, coach, ours["family"], "a coach makes one for an own student")
    guardian = [row for row in support.listed(head.get("/v1/accounts?limit=200")) if row["role"] == "guardian"][0]
    link(checks, coach, guardian["id"], "and for the guardian")
    other = head.post("/v1/students", {"name": "Sister", "hand": "right", "junior": True, "birth_year": 2015,
                                       "consent": {"by": "Own Guardian"}}).json["id"]
    head.patch("/v1/accounts/" + guardian["id"], {"students": [ours["students"], other]}, match='"%d"' % guardian["version"])
    path = "/v1/accounts/%s/link"
    checks.status(coach.request("POST", path % guardian["id"]), 404, "not for one who also stands for another team's junior")
    heads = [row for row in support.listed(head.get("/v1/accounts?limit=200")) if row["role"] == "head"][0]["id"]
    for account, label in ((ours["account_id"], "own account"), (heads, "head's"), ("nobody", "malformed id"),
                           ("01900000-0000-7000-8000-000000000000", "nobody's")):
        checks.status(coach.request("POST", path % account), 404, "a coach makes none: " + label)
    _, stranger = server.account(head, "coach", "stranger")
    checks.status(stranger.request("POST", path % ours["family"]), 404, "another team's coach neither")
    checks.status(ours["student client"].request("POST", path % ours["family"]), 403, "nor the student")
    token = link(checks, head, ours["account_id"], "the head makes one for a coach")
    checks.ok(join(server, token, "a coach's own long words").json["account"]["role"] == "coach", "which opens as theirs")
    token = link(checks, head, ours["family"], "a last one")
    results = []
    racers = [threading.Thread(target=lambda: results.append(join(server, token).status)) for _ in range(6)]
    for racer in racers:
        racer.start()
    for racer in racers:
        racer.join()
    checks.same(sorted(results), [200] + [410] * 5, "of six who open one at the same time, one is let in")
    export = head.get("/v1/students/%s/export" % ours["students"]).json
    checks.ok("account_link" not in export, "a used link is nowhere")
    link(checks, head, ours["family"], "another")
    export = head.get("/v1/students/%s/export" % ours["students"]).json
    checks.same(sorted(export["account_link"][0]), ["account_id", "created", "expires", "made_by"], "a standing one is in the export")
    head.delete("/v1/students/" + ours["students"])
    checks.same(server.query("SELECT count(*) FROM account_link WHERE account_id = ?", ours["family"]), [(0,)],
                "and goes with the student")


def throttled(checks):
    server = Server(checks)
    answers = [join(server, "A" * 43) for _ in range(60)]
    late = [reply for reply in answers if reply.status == 429]
    checks.ok(late and late[0].header("Retry-After"), "guessing is slowed down", [reply.status for reply in answers])
    checks.same({reply.status for reply in answers}, {410, 429}, "and never let in")
    server.end()


def main():
    checks = Checks("test_join")
    server = Server(checks, options=["--no-throttle"])
    head = server.sign_in()
    student = head.post("/v1/students", {"name": "Linnet Tallowmere", "hand": "right"}).json["id"]
    account = whole(checks, server, head, student)
    ends(checks, server, head, account)
    coaches(checks, server, head)
    server.end()
    throttled(checks)
    checks.finish()


main()
