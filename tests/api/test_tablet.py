"""What a shared range tablet rests on: when it was last seen, and that nothing is done in the name of another account than
the page speaks for."""
import time

import support
from support import Checks, Server

HOUR_MS = 3600 * 1000


def seen(server, device):
    return server.query("SELECT last_seen FROM device WHERE id = ?", device)[0][0]


def age(server, device):
    """Everything was last seen an hour ago."""
    server.write("UPDATE device SET last_seen = last_seen - ?, created = created - ?", HOUR_MS, HOUR_MS)
    server.write("UPDATE session SET last_seen = last_seen - ?", HOUR_MS)
    return seen(server, device)


def last_seen(checks, server, coach):
    head = server.sign_in()
    made = head.post("/v1/devices", {"name": "Bay 3"})
    checks.status(made, 201, "a tablet is enrolled")
    device, token = made.json["id"], made.json["token"]
    checks.same(made.json["last_seen"], made.json["created"], "it was last seen when it was enrolled")

    before = age(server, device)
    carried = server.sign_in(coach.sign_in_name, coach.password, device=token)
    after = seen(server, device)
    checks.ok(after - before >= HOUR_MS - 1000, "signing in on it is seen", (before, after))

    before = age(server, device)
    elsewhere = server.sign_in(coach.sign_in_name, coach.password)
    elsewhere.get("/v1/me")
    checks.same(seen(server, device), before, "signing in elsewhere is not")

    carried = server.client(carried.token)  # the bearer token alone: which tablet it is on says the session
    checks.status(carried.get("/v1/me"), 200, "a request of the session it carries is answered")
    for _ in range(100):
        after = seen(server, device)
        if after != before:
            break
        time.sleep(0.05)  # not waited for by the request
    checks.ok(after - before >= HOUR_MS - 1000, "and seen", (before, after))
    listed = [item for item in support.listed(server.sign_in().get("/v1/devices")) if item["id"] == device][0]
    checks.ok(listed["last_seen"] > listed["created"], "the head reads when", listed)


def other_account(checks, server, coach, other, coach_id, other_id):
    head = server.sign_in()
    student = head.post("/v1/students", {"name": "Wren Tallow", "hand": "right"}).json["id"]
    for account in (coach_id, other_id):
        checks.status(head.put("/v1/students/%s/team/%s" % (student, account)), 204, "both coaches have the student")
    path = "/v1/students/%s/swings" % student
    swings = lambda: server.query("SELECT count(*) FROM swing")[0][0]
    meant = {"X-Leadside-Account": coach_id}

    refused = other.post(path, support.document(), key="tablet-1", headers=meant)
    checks.ok(refused.status == 409 and refused.problem["type"].endswith(":other-account"),
              "a swing meant for one account is refused under another's session", refused.body)
    checks.same(swings(), 0, "and not stored")
    for method, address, body in (("GET", "/v1/me", None), ("GET", "/v1/students", None), ("POST", "/v1/sign-out", {})):
        reply = other.request(method, address, body, headers=meant)
        checks.status(reply, 409, "so is %s %s" % (method, address))
    checks.status(other.get("/v1/me"), 200, "the session that was not meant lives on")
    for name in ("", "nobody", coach_id.upper(), coach_id + " x"):
        reply = coach.get("/v1/me", headers={"X-Leadside-Account": name})
        checks.status(reply, 409, "a name that is not the account's own id is refused: %r" % name)
    checks.status(server.client().get("/v1/me", headers=meant), 401, "by itself it opens nothing")

    sent = coach.post(path, support.document(), key="tablet-1", headers=meant)
    checks.status(sent, 201, "under the own session it is stored")
    again = coach.post(path, support.document(), key="tablet-1", headers=meant)
    checks.ok(again.status == 201 and again.json["id"] == sent.json["id"], "and sent again it is the same", again.body)
    checks.same(server.query("SELECT count(*), min(uploaded_by) FROM swing")[0], (1, coach_id), "one swing, the right coach's")


def main():
    checks = Checks("tablet")
    server = Server(checks, options=["--no-throttle"])
    head = server.sign_in()
    coach_id, coach = server.account(head, "coach", "first.coach")
    other_id, other = server.account(head, "coach", "second.coach")
    other_account(checks, server, coach, other, coach_id, other_id)
    last_seen(checks, server, coach)
    server.end()
    checks.finish()


main()
