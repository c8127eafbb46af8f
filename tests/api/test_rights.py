"""Who may do what: every route with every role, own and foreign. The expectations stand here, written from the house's rules
and not read from the server; a route that the server describes and this table does not name is a failure, and the reverse.

For each route: 401 without a token, 403 for a role that may not, 404 for a student one is not tied to (before anything of the
request is looked at), and for who may: a read answers 200, a write with an empty request is refused for being empty and not
for who sends it. No refusal changes a row."""
import os
import re

import support
from support import Checks, Server

OPEN, SIGNED, CLUB, TEAM = "open", "signed in", "club", "team"
HEAD, STAFF, FAMILY = {"head"}, {"head", "coach"}, {"student", "guardian"}
ALL = STAFF | FAMILY

# route: (scope, roles). TEAM: heads oversee all, coaches by team, students by being it, guardians by their link.
TABLE = {
    "GET /": (OPEN, None), "GET /healthz": (OPEN, None), "GET /readyz": (OPEN, None),
    "GET /metrics": (OPEN, None), "GET /v1/openapi.json": (OPEN, None), "POST /v1/sign-in": (OPEN, None),
    "POST /v1/join": (OPEN, None), "POST /v1/accounts/{id}/link": (TEAM, STAFF),
    "POST /v1/sign-out": (SIGNED, ALL), "GET /v1/me": (SIGNED, ALL), "POST /v1/me/password": (SIGNED, ALL),
    "POST /v1/me/confirm": (SIGNED, ALL), "POST /v1/me/second-factor": (SIGNED, ALL),
    "POST /v1/me/second-factor/confirm": (SIGNED, ALL), "DELETE /v1/me/second-factor": (SIGNED, ALL),
    "GET /v1/me/sessions": (SIGNED, ALL), "DELETE /v1/me/sessions/{id}": (SIGNED, ALL),
    "GET /v1/me/homework": (SIGNED, FAMILY), "POST /v1/me/calendar": (SIGNED, FAMILY),
    "DELETE /v1/me/calendar": (SIGNED, FAMILY), "GET /calendar/{token}": (OPEN, None),
    "GET /v1/accounts": (CLUB, HEAD), "POST /v1/accounts": (CLUB, STAFF), "PATCH /v1/accounts/{id}": (CLUB, HEAD), "GET /v1/accounts/{id}": (TEAM, STAFF),
    "DELETE /v1/accounts/{id}": (CLUB, HEAD), "POST /v1/accounts/{id}/leave": (CLUB, HEAD),
    "GET /v1/devices": (CLUB, HEAD), "POST /v1/devices": (CLUB, HEAD), "PATCH /v1/devices/{id}": (CLUB, HEAD), "GET /v1/devices/{id}": (CLUB, HEAD),
    "GET /v1/students": (CLUB, STAFF), "GET /v1/students/today": (CLUB, STAFF), "POST /v1/students": (CLUB, STAFF),
    "POST /v1/import/students": (CLUB, HEAD), "GET /v1/export/students.csv": (CLUB, HEAD),
    "GET /v1/students/{id}": (TEAM, ALL), "PATCH /v1/students/{id}": (TEAM, STAFF),
    "DELETE /v1/students/{id}": (TEAM, HEAD), "GET /v1/students/{id}/export": (TEAM, ALL),
    "PUT /v1/students/{id}/team/{account_id}": (TEAM, STAFF), "DELETE /v1/students/{id}/team/{account_id}": (TEAM, STAFF),
    "GET /v1/students/{id}/family": (TEAM, STAFF), "PUT /v1/students/{id}/family/{account_id}": (TEAM, STAFF),
    "POST /v1/students/{id}/handovers": (TEAM, STAFF), "GET /v1/students/{id}/handovers": (TEAM, STAFF),
    "GET /v1/handovers/{id}": (TEAM, STAFF), "PATCH /v1/handovers/{id}": (TEAM, STAFF),
    "GET /v1/students/{id}/consents": (TEAM, ALL), "POST /v1/students/{id}/consents": (TEAM, ALL),
    "DELETE /v1/students/{id}/consents/{scope}": (TEAM, ALL),
    "POST /v1/students/{id}/requests": (TEAM, STAFF), "GET /v1/students/{id}/requests": (TEAM, ALL),
    "GET /v1/students/{id}/notes": (TEAM, ALL), "POST /v1/students/{id}/notes": (TEAM, STAFF),
    "POST /v1/students/{id}/swings": (TEAM, STAFF), "GET /v1/students/{id}/swings": (TEAM, ALL),
    "GET /v1/swings/{id}": (TEAM, ALL), "GET /v1/swings/{id}/report": (TEAM, ALL),
    "GET /v1/swings/{id}/file": (TEAM, ALL),
    "PUT /v1/swings/{id}/marks": (TEAM, STAFF), "POST /v1/swings/{id}/void": (TEAM, STAFF), "POST /v1/swings/{id}/move": (TEAM, STAFF),
    "PUT /v1/swings/{id}/opinion": (TEAM, STAFF), "GET /v1/swings/{id}/opinions": (TEAM, STAFF),
    "GET /v1/swings/{id}/revisions": (TEAM, ALL), "GET /v1/swings/{id}/revisions/{number}": (TEAM, ALL),
    "GET /v1/swings/{id}/stills": (TEAM, ALL), "GET /v1/swings/{id}/stills/{still}": (TEAM, ALL),
    "PUT /v1/swings/{id}/stills/{still}": (TEAM, STAFF), "DELETE /v1/swings/{id}/stills/{still}": (TEAM, STAFF),
    "POST /v1/students/{id}/lessons": (TEAM, STAFF), "GET /v1/students/{id}/lessons": (TEAM, ALL),
    "GET /v1/lessons/{id}/report": (TEAM, ALL),
    "POST /v1/students/{id}/fixes": (TEAM, STAFF), "GET /v1/students/{id}/fixes": (TEAM, ALL),
    "PATCH /v1/fixes/{id}": (TEAM, STAFF), "GET /v1/fixes/{id}": (TEAM, ALL), "GET /v1/notes/{id}": (TEAM, ALL),
    "GET /v1/students/{id}/retests": (TEAM, STAFF), "GET /v1/retests": (CLUB, STAFF), "PATCH /v1/retests/{id}": (TEAM, STAFF),
    "GET /v1/students/{id}/homework": (TEAM, ALL), "POST /v1/homework/{id}/done": (TEAM, FAMILY), "DELETE /v1/homework/{id}/done/{tick}": (TEAM, FAMILY),
    "PATCH /v1/homework/{id}": (TEAM, STAFF), "GET /v1/homework/{id}": (TEAM, ALL), "GET /v1/inbox": (CLUB, STAFF), "GET /v1/events": (SIGNED, ALL), "POST /v1/inbox/{id}/seen": (TEAM, STAFF),
    "POST /v1/students/{id}/rounds": (TEAM, ALL), "GET /v1/students/{id}/rounds": (TEAM, ALL), "GET /v1/rounds/{id}": (TEAM, ALL),
    "DELETE /v1/rounds/{id}": (TEAM, ALL), "GET /v1/students/{id}/transfer": (TEAM, ALL),
    "GET /v1/drills": (CLUB, ALL), "POST /v1/drills": (CLUB, HEAD), "PATCH /v1/drills/{id}": (CLUB, HEAD), "GET /v1/drills/{id}": (CLUB, ALL),
    "GET /v1/students/{id}/progress": (TEAM, ALL), "GET /v1/audit": (CLUB, HEAD),
    "GET /v1/overview": (CLUB, HEAD), "GET /v1/agreement": (CLUB, HEAD), "GET /v1/figures": (CLUB, HEAD),
    "GET /v1/reliability": (CLUB, HEAD), "POST /v1/standard/spread": (CLUB, HEAD), "GET /v1/drills/effect": (CLUB, STAFF), "GET /v1/standard": (CLUB, STAFF), "PUT /v1/standard": (CLUB, HEAD),
    "POST /v1/standard/try": (CLUB, HEAD), "GET /v1/standard/versions": (CLUB, STAFF), "GET /v1/standard/versions/{number}": (CLUB, STAFF),
    "POST /v1/standard/versions/{number}/restore": (CLUB, HEAD), "POST /v1/standard/rescore": (CLUB, HEAD), "GET /v1/standard/job": (CLUB, HEAD), "DELETE /v1/standard/job": (CLUB, HEAD),
    "GET /v1/markers": (CLUB, STAFF), "PUT /v1/markers": (CLUB, HEAD),
}
# Who may is proved elsewhere for these: an empty request would already do it.
DOES_IT = {"POST /v1/sign-out", "DELETE /v1/me/sessions/{id}", "DELETE /v1/students/{id}", "DELETE /v1/accounts/{id}",
           "PUT /v1/students/{id}/team/{account_id}", "DELETE /v1/students/{id}/team/{account_id}", "PUT /v1/students/{id}/family/{account_id}", "POST /v1/homework/{id}/done", "DELETE /v1/homework/{id}/done/{tick}",
           "POST /v1/inbox/{id}/seen", "DELETE /v1/rounds/{id}", "DELETE /v1/swings/{id}/stills/{still}", "DELETE /v1/students/{id}/consents/{scope}", "POST /v1/accounts/{id}/link",
           "POST /v1/me/calendar", "DELETE /v1/me/calendar", "POST /v1/standard/rescore", "DELETE /v1/standard/job",
           "POST /v1/me/second-factor", "DELETE /v1/me/second-factor"}


class World:
    """Two families and their coaches. `ours` is about the first student, whom the strangers have nothing to do with."""

    def __init__(self, server):
        self.server = server
        head = server.sign_in()
        self.ours = support.one_of_everything(server, head)
        self.other = head.post("/v1/students", {"name": "Other Student", "hand": "left", "junior": True, "birth_year": 2014}).json["id"]
        stranger_id, stranger = server.account(head, "coach", "stranger")
        done = head.put("/v1/students/%s/team/%s" % (self.other, stranger_id))
        assert done.status == 204, done.body
        _, other_student = server.account(head, "student", "other.student", student_id=self.other)
        _, other_guardian = server.account(head, "guardian", "other.guardian", students=[self.other])
        self.people = [  # (who, role, tied to our student?, client)
            ("head", "head", True, head), ("coach of the team", "coach", True, self.ours["coach client"]),
            ("coach of another team", "coach", False, stranger), ("the student", "student", True, self.ours["student client"]),
            ("another student", "student", False, other_student),
            ("the guardian", "guardian", True, self.ours["guardian client"]),
            ("another guardian", "guardian", False, other_guardian)]


def address(path, ours):
    if path.endswith("/link") or path == "/v1/accounts/{id}":
        return path.replace("{id}", ours["family"])
    first = path.split("/")[2] if path.count("/") > 1 else ""
    return path.replace("{account_id}", ours["account_id"]).replace("{file}", "leadside.css").replace(
        "{still}", ours["stills"]).replace("{number}", "1").replace("{scope}", "store_pictures").replace("{tick}", NOBODY).replace(
        "{id}", ours.get("session" if "/sessions/" in path else first, "0"))


def expected(scope, roles, role, tied):
    if scope == OPEN:
        return "open"
    if role is None:
        return 401
    if role not in roles:
        return 403
    return 404 if scope == TEAM and not tied else "yes"


def described(server):
    paths = server.client().get("/v1/openapi.json").json["paths"]
    return {method.upper() + " " + path for path, item in paths.items()
            for method in ("get", "post", "put", "patch", "delete") if method in item}


def registered():
    """The rows of the server's own table, as its source has them."""
    with open(os.path.join(support.ROOT, "server", "api", "frame", "routes.c")) as file:
        source = file.read()
    prefixes = {"": "", **dict(re.findall(r'#define ([SW]) "([^"]+)"', source))}
    rows = re.findall(r'\{HTTP_([A-Z]+),\s*([SW]?)\s*(?:"([^"]*)")?', source)
    return {method + " " + prefixes[short] + (path or "") for method, short, path in rows}


def same_routes(checks, server):
    rows = {row for row in registered() if row.split(" ")[1].startswith("/v1") or not row.endswith((".css", ".js", ".html"))}
    checks.ok(len(rows) > 40, "the server's table can be read", len(rows))
    checks.same(sorted(rows - set(TABLE)), [], "the server has no route but those of this table")
    checks.same(sorted(set(TABLE) - rows), [], "and every route of this table")
    names = described(server)
    checks.same(sorted(names - set(TABLE)), [], "the description has no route but those of this table")
    checks.same(sorted({route for route in TABLE if "/v1/" in route} - names), [], "and every one below /v1")


def one(checks, world, route, who, role, tied, client):
    scope, roles = TABLE[route]
    method, path = route.split(" ")
    wanted = expected(scope, roles, role, tied)
    if wanted == "open" or (wanted == "yes" and route in DOES_IT):
        return
    body = b"{}" if method in ("POST", "PUT", "PATCH") and path not in ("/v1/sign-out",) and "/team/" not in path else None
    query = "?fix=" + world.ours["fixes"] if path.endswith("/progress") else ""
    kind = "image/png" if "/stills/" in path else "text/csv" if "/import/" in path else "application/json"
    reply = client.request(method, address(path, world.ours) + query, body, content_type=kind)
    name = "%s, %s: " % (route, who)
    if wanted == "yes" and method == "GET":
        checks.ok(reply.status == 200, name + "200", "%s %s" % (reply.status, reply.body[:200]))
    elif wanted == "yes":
        checks.ok(reply.status in (400, 409, 422, 428), name + "may, and is told what is missing",
                  "%s %s" % (reply.status, reply.body[:200]))
    else:
        checks.ok(reply.status == wanted and reply.problem.get("status") == wanted, name + str(wanted),
                  "%s %s" % (reply.status, reply.body[:200]))
        if wanted == 404:
            absent = client.request(method, address(path, {**world.ours, "students": NOBODY, "swings": NOBODY,
                                                           "lessons": NOBODY, "fixes": NOBODY, "notes": NOBODY, "homework": NOBODY, "inbox": NOBODY, "handovers": NOBODY, "retests": NOBODY, "rounds": NOBODY, "family": NOBODY}), body,
                                    content_type=kind)
            checks.ok((absent.status, absent.problem.get("detail")) == (404, reply.problem.get("detail")),
                      name + "just as if there were none", "%s beside %s" % (reply.body[:200], absent.body[:200]))


NOBODY = "01900000-0000-7000-8000-000000000000"


def matrix(checks, world):
    server = world.server
    nobody = server.client()
    before = server.dump(without=("audit",))
    for route, (scope, _) in TABLE.items():
        if scope != OPEN:
            one(checks, world, route, "nobody", None, False, nobody)
            nobody.close()
            forged = server.client("Z" * 43)
            method, path = route.split(" ")
            reply = forged.request(method, address(path, world.ours))
            checks.ok(reply.status == 401, route + ", a forged token: 401", reply.status)
            forged.close()
        for who, role, tied, client in world.people:
            one(checks, world, route, who, role, tied, client)
    checks.same(server.dump(without=("audit",)), before, "none of these changed a row")


def who_does_it(checks, world):
    """Those that would have done it: tried on things that may go."""
    server, ours = world.server, world.ours
    head, coach = world.people[0][3], ours["coach client"]
    extra = head.post("/v1/students", {"name": "Passing", "hand": "right"}).json["id"]
    team = "/v1/students/%s/team/%s" % (extra, ours["account_id"])
    checks.status(coach.get("/v1/students/" + extra), 404, "before joining the team: 404")
    checks.status(head.put(team), 204, "the head puts a coach on a team")
    checks.status(coach.get("/v1/students/" + extra), 200, "now the coach may")
    checks.status(head.delete(team), 204, "and takes the coach off")
    checks.status(coach.get("/v1/students/" + extra), 404, "and may no longer")
    checks.status(head.delete("/v1/standard/job"), 404, "the head is told that there is no job to stop")
    checks.status(head.post("/v1/standard/rescore", {}), 202, "and has the club scored anew")
    done = "/v1/homework/%s/done" % ours["homework"]
    tick = ours["student client"].post(done, {})
    checks.status(tick, 201, "the student ticks off")
    checks.status(ours["guardian client"].delete("%s/%s" % (done, tick.json["id"])), 404, "a guardian can't take that back")
    checks.status(ours["student client"].delete("%s/%s" % (done, tick.json["id"])), 204, "the student can")
    checks.status(ours["guardian client"].post(done, {}), 201, "the guardian ticks off too")
    tag = head.get("/v1/students/" + extra).header("ETag")
    checks.status(head.delete("/v1/students/" + extra, match=tag), (200, 204), "the head erases a student")
    private = coach.post("/v1/students/%s/notes" % ours["students"], {"text": "between coaches only"})
    checks.status(private, 201, "a coach writes a private note")
    for who in ("student client", "guardian client"):
        text = ours[who].get("/v1/students/%s/notes" % ours["students"]).body
        checks.ok(b"between coaches only" not in text, "the %s never reads it" % who.split()[0], text[:200])
        export = ours[who].get("/v1/students/%s/export" % ours["students"])
        checks.ok(export.status == 200 and b"between coaches only" not in export.body,
                  "nor in the export of the " + who.split()[0], export.status)


def sessions(checks, world):
    server, ours = world.server, world.ours
    client = ours["coach client"]
    second = server.sign_in(client.sign_in_name, client.password)
    own = support.listed(second.get("/v1/me/sessions"))
    checks.ok(len(own) >= 2, "a list of one's own sessions", own)
    checks.ok("token" not in second.get("/v1/me/sessions").body.decode(), "without tokens")
    foreign = [row for row in server.query("SELECT id FROM session WHERE account_id <> ?", ours["account_id"])][0][0]
    checks.status(second.delete("/v1/me/sessions/" + foreign), 404, "another's session can't be ended")
    mine = [session["id"] for session in own if session.get("current")]
    checks.same(len(mine), 1, "one of them is this one")
    third = server.sign_in(client.sign_in_name, client.password)
    newest = server.query("SELECT max(id) FROM session WHERE account_id = ?", ours["account_id"])[0][0]
    checks.status(second.delete("/v1/me/sessions/" + newest), 204, "one's own can")
    checks.status(third.get("/v1/me"), 401, "and its token is worth nothing")
    checks.status(second.request("POST", "/v1/sign-out"), 204, "signing out")
    checks.status(second.get("/v1/me"), 401, "ends this session")
    checks.status(client.get("/v1/me"), 200, "and no other")


def disabled(checks, world):
    server, head = world.server, world.people[0][3]
    account, leaver = server.account(head, "coach", "leaver")
    listed = {row["id"]: row for row in support.listed(head.get("/v1/accounts?limit=200"))}
    tag = '"%d"' % listed[account]["version"]
    checks.status(head.patch("/v1/accounts/" + account, {"disabled": True}, match=tag), 200, "the head disables an account")
    checks.status(leaver.get("/v1/me"), 401, "its sessions end at once")
    again = server.client().request("POST", "/v1/sign-in", {"sign_in": "leaver", "password": leaver.password})
    checks.status(again, 401, "and it can't sign in")
    mine = [row for row in listed.values() if row["role"] == "head"][0]
    last = head.patch("/v1/accounts/" + mine["id"], {"disabled": True}, match='"%d"' % mine["version"])
    checks.status(last, (409, 422), "the last head can't be disabled")


def temporary(checks, world):
    server, head = world.server, world.people[0][3]
    made = head.post("/v1/accounts", {"role": "coach", "name": "New Coach", "sign_in": "new.coach"}).json
    client = server.sign_in("new.coach", made["password"])
    checks.status(client.get("/v1/me"), 200, "with a password somebody else chose: who am I")
    checks.status(client.get("/v1/students"), 403, "but nothing else")
    weak = client.request("POST", "/v1/me/password", {"old": made["password"], "new": "short"})
    checks.status(weak, 422, "a short new password is refused")
    wrong = client.request("POST", "/v1/me/password", {"old": "not this one", "new": "a good long password"})
    checks.status(wrong, (401, 403, 422), "a wrong old one too")
    right = client.request("POST", "/v1/me/password", {"old": made["password"], "new": "a good long password"})
    checks.status(right, 204, "until it is changed")
    checks.status(server.sign_in("new.coach", "a good long password").get("/v1/students"), 200, "then the rest")


def devices(checks, world):
    """A tablet may only carry a signed-in coach's session, and goes when it is revoked."""
    server, ours, head = world.server, world.ours, world.people[0][3]
    made = head.post("/v1/devices", {"name": "Bay 3"})
    checks.ok(made.status == 201 and made.json.get("token"), "the head enrols a tablet", made.body[:200])
    token, device = made.json["token"], made.json["id"]
    checks.status(server.client(token).get("/v1/me"), 401, "a tablet's token alone is nobody")
    checks.status(server.client(token).get("/v1/students"), 401, "and reads nothing")
    checks.status(server.client(device=token).get("/v1/students"), 401, "nor as a device header")
    coach = ours["coach client"]
    carried = server.sign_in(coach.sign_in_name, coach.password, device=token)
    checks.status(carried.get("/v1/students"), 200, "a coach signs in on it")
    for who in ("student client", "guardian client"):
        client = ours[who]
        reply = server.client(device=token).request("POST", "/v1/sign-in", {
            "sign_in": client.sign_in_name, "password": client.password})
        checks.status(reply, (401, 403), "the %s can't" % who.split()[0])
    forged = server.client(device="Q" * 43).request("POST", "/v1/sign-in", {
        "sign_in": coach.sign_in_name, "password": coach.password})
    checks.status(forged, (401, 403), "nor anybody on a tablet that was never enrolled")
    tag = made.header("ETag") or '"%d"' % [row for row in support.listed(head.get("/v1/devices"))
                                           if row["id"] == device][0]["version"]
    checks.status(head.patch("/v1/devices/" + device, {"revoked": True}, match=tag), 200, "the tablet is revoked")
    checks.status(carried.get("/v1/students"), 401, "what it carried ends at once")
    late = server.client(device=token).request("POST", "/v1/sign-in", {"sign_in": coach.sign_in_name,
                                                                       "password": coach.password})
    checks.status(late, (401, 403), "and nobody signs in on it again")
    gone = head.get("/v1/devices/" + device)
    back = head.patch("/v1/devices/" + device, {"revoked": False}, match=gone.header("ETag"))
    checks.ok(back.status == 409 and back.json["type"].endswith("device-revoked") and "enrol it anew" in back.json["detail"],
              "revoked is for good", back.body[:200])
    named = head.patch("/v1/devices/" + device, {"name": "Bay 3, broken"}, match=gone.header("ETag"))
    checks.ok(named.status == 200 and named.json["revoked"] == gone.json["revoked"], "a new name leaves it so", named.body[:200])
    checks.status(head.patch("/v1/devices/" + device, {"revoked": True}, match=named.header("ETag")), 200, "said again it is no failure")


def cookies(checks, world):
    """Browsers: an HttpOnly, SameSite=Strict cookie, and no write without the page's own Origin."""
    server, coach = world.server, world.ours["coach client"]
    body = {"sign_in": coach.sign_in_name, "password": coach.password, "cookie": True}
    origin = "http://127.0.0.1:%d" % server.port
    reply = server.client().request("POST", "/v1/sign-in", body, headers={"Origin": origin, "Sec-Fetch-Site": "same-origin"})
    cookie = reply.header("Set-Cookie") or ""
    checks.ok(reply.status == 200 and "HttpOnly" in cookie and "SameSite=Strict" in cookie, "a browser gets a cookie", cookie)
    checks.ok("token" not in reply.json, "and no token", reply.body[:200])
    pair = {"Cookie": cookie.split(";")[0]}
    checks.status(server.client().get("/v1/me", headers=pair), 200, "it reads with it")
    note = "/v1/students/%s/notes" % world.ours["students"]
    good = {**pair, "Origin": origin, "Sec-Fetch-Site": "same-origin"}
    checks.status(server.client().post(note, {"text": "from the page"}, headers=good), 201, "it writes from its own page")
    for name, more in (("without an Origin", {}), ("from elsewhere", {"Origin": "http://elsewhere.example"}),
                       ("from null", {"Origin": "null"}),
                       ("cross-site", {"Origin": origin, "Sec-Fetch-Site": "cross-site"})):
        checks.status(server.client().post(note, {"text": "x"}, headers={**pair, **more}), 403, "a write %s: 403" % name)


def main():
    checks = Checks("test_rights")
    server = Server(checks, options=["--no-throttle"])
    same_routes(checks, server)
    world = World(server)
    checks.parts((matrix, who_does_it, sessions, temporary, devices, cookies, disabled), world)
    server.end()
    checks.finish()


main()
