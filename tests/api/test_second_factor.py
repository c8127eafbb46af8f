"""Who is it, really: the password's rule, a second factor from its start to its end, and proving again before what gives much
away. Codes are computed without the server's library, in authenticator.py."""
import base64
import concurrent.futures
import os
import stat
import time

import support
from authenticator import App, hotp
from support import HEAD, Checks, Server, fresh_key

TEN_MINUTES = 600
FRESH = ("POST /v1/accounts", "PATCH /v1/accounts/{id}", "POST /v1/accounts/{id}/link", "GET /v1/students/{id}/export",
         "DELETE /v1/students/{id}", "POST /v1/me/second-factor", "DELETE /v1/me/second-factor")


def enter(server, name, password, **more):
    return server.client().post("/v1/sign-in", {"sign_in": name, "password": password, **more}, key=None)


def slug(reply):
    return str(reply.problem.get("type", "")).rsplit(":", 1)[-1]


def refused(checks, reply, status, kind, label):
    return checks.ok(reply.status == status and slug(reply) == kind, label, "%s %s" % (reply.status, reply.body[:200]))


def age(server, seconds, name="head"):
    """Every session of the account was last confirmed so long ago."""
    server.write("UPDATE session SET confirmed_at = confirmed_at - ? WHERE account_id = (SELECT id FROM account WHERE sign_in = ?)",
                 seconds * 1000, name)


def audited(server, action):
    return server.query("SELECT count(*) FROM audit WHERE action = ?", action)[0][0]


# ---- passwords ----

def passwords(checks, server, head):
    coach_id, coach = server.account(head, "coach", "wren.halloway", name="Wren Halloway")
    for password, why in (("tall oaks 2", "11 characters"), ("password1234", "the list's"), ("Dragon-2026!!", "the list's, dressed up"),
                          ("wren.halloway", "the sign-in name"), ("Halloway 2026", "the person's name"),
                          ("Larkfield Heath 1", "the club's name"), ("leadside2026", "the program's"),
                          ("xxxxxxxxxxxx", "one character"), ("qwertyuasdfg", "along the keyboard")):
        reply = coach.request("POST", "/v1/me/password", {"old": coach.password, "new": password})
        checks.ok(reply.status == 422 and reply.problem.get("path") == "new", "%s is refused as a password (%s)" % (password, why),
                  "%s %s" % (reply.status, reply.body))
        made = head.post("/v1/accounts", {"role": "coach", "name": "Wren Halloway", "sign_in": "wren.halloway", "password": password})
        checks.ok(made.status == 422 and made.problem.get("path") == "password", "and for a new account", made.body)
        token = head.post("/v1/accounts/%s/link" % coach_id, {}).json["url_path"].split("=")[1]
        joined = server.client().post("/v1/join", {"token": token, "password": password}, key=None)
        checks.ok(joined.status == 422 and joined.problem.get("path") == "password", "and by a link", joined.body)
        done = server.command("account", "password", "--data", server.data, "--sign-in", "wren.halloway", text=password + "\n")
        # the command knows the names that are typed, and the club's
        if why != "the person's name":
            checks.ok(done.returncode == 1 and "password" in done.stderr, "and by the command", done.stderr)
    for password in ("tall oaks 2", "password1234", "Hazel Moor 2026"):
        done = server.command("init", "--data", server.root + "/none", "--club", "Hazel Moor", "--name", "Head", "--sign-in", "h", text=password + "\n")
        checks.ok(done.returncode == 1 and "password" in done.stderr and not os.path.exists(server.root + "/none"),
                  "no club begins with %s" % password, done.stderr)
    kept = coach.request("POST", "/v1/me/password", {"old": coach.password, "new": "seven slow herons"})
    checks.status(kept, 204, "a good one is taken")


def old_ones_still_open(checks, server, head):
    """The rule is about choosing: an account from before it signs in as ever."""
    _, coach = server.account(head, "coach", "old.hand")
    build = server.build
    short = "short one"
    made = __import__("subprocess").run(["argon2", "saltsaltsalt", "-id", "-t", "2", "-k", "8192", "-p", "1", "-l", "32", "-e"],
                                        input=short, text=True, stdout=-1)
    checks.ok(made.returncode == 0, "a hash made elsewhere (%s)" % os.path.basename(build), made.returncode)
    server.write("UPDATE account SET password_hash = ? WHERE sign_in = 'old.hand'", made.stdout.strip())
    checks.status(enter(server, "old.hand", short), 200, "a short password from before still signs in")


# ---- confirming ----

def confirming(checks, server, head, ours):
    _, guardian = server.account(head, "guardian", "confirming.family", students=[ours])
    student_path = "/v1/students/" + ours
    asks = {"POST /v1/accounts": ({"role": "coach", "name": "N", "sign_in": "n.n"}, "/v1/accounts"),
            "PATCH /v1/accounts/{id}": ({"name": "Other"}, "/v1/accounts/" + guardian_id(head)),
            "POST /v1/accounts/{id}/link": ({}, "/v1/accounts/%s/link" % guardian_id(head)),
            "GET /v1/students/{id}/export": (None, student_path + "/export"),
            "DELETE /v1/students/{id}": (None, student_path),
            "POST /v1/me/second-factor": ({}, "/v1/me/second-factor"),
            "DELETE /v1/me/second-factor": (None, "/v1/me/second-factor")}
    checks.same(sorted(asks), sorted(FRESH), "every route that asks for it is tried")
    marked = {method.upper() + " " + path for path, item in server.client().get("/v1/openapi.json").json["paths"].items()
              for method, operation in item.items() if isinstance(operation, dict) and operation.get("x-fresh")}
    checks.ok(set(FRESH) <= marked, "and the description says so", marked)
    age(server, TEN_MINUTES + 1)
    head.port = guardian.port = server.port
    head.close(), guardian.close()
    before = server.dump()
    for route, (body, path) in sorted(asks.items()):
        reply = head.request(route.split(" ")[0], path, body, key=fresh_key(), match='"1"')
        refused(checks, reply, 403, "confirm-needed", route + " asks to confirm first, ten minutes on")
    checks.same(server.dump(), before, "and nothing was changed")
    checks.status(head.get(student_path), 200, "reading a student does not")
    checks.status(guardian.get(student_path + "/export"), 200, "somebody else's fresh session is not concerned")

    refused(checks, head.post("/v1/me/confirm", {"password": "not this one at all"}, key=None), 422, "wrong-password", "a wrong password confirms nothing")
    refused(checks, head.get(student_path + "/export"), 403, "confirm-needed", "and so it stays")
    checks.status(head.post("/v1/me/confirm", {}, key=None), 422, "no password, no confirmation")
    other = server.sign_in()
    done = head.post("/v1/me/confirm", {"password": HEAD["password"]}, key=None)
    checks.ok(done.status == 204 and not done.body, "the right one does", done.body)
    checks.status(head.get(student_path + "/export"), 200, "and the export is given")
    checks.status(head.post("/v1/accounts/%s/link" % guardian_id(head), {}), 201, "and the link")
    checks.ok(audited(server, "session.confirm") >= 1, "the audit knows of it")

    # one session's proof is not another's
    age(server, TEN_MINUTES + 1)
    for client in (head, other):
        client.port = server.port
        client.close()
    checks.status(head.post("/v1/me/confirm", {"password": HEAD["password"]}, key=None), 204, "one session confirms")
    refused(checks, other.get(student_path + "/export"), 403, "confirm-needed", "the other must for itself")
    age(server, TEN_MINUTES - 30)
    head.port = server.port
    head.close()
    checks.status(head.get(student_path + "/export"), 200, "nine and a half minutes on it still counts")
    age(server, 40)
    head.port = server.port
    head.close()
    refused(checks, head.get(student_path + "/export"), 403, "confirm-needed", "ten minutes on it does not")
    checks.status(head.post("/v1/me/confirm", {"password": HEAD["password"]}, key=None), 204, "and may be renewed")


def guardian_id(head):
    return next(a["id"] for a in head.get("/v1/accounts?limit=200").json["accounts"] if a["sign_in"] == "confirming.family")


def confirm_waits(checks, server, head):
    _, coach = server.account(head, "coach", "waits.here")
    seen = [coach.post("/v1/me/confirm", {"password": "guess number %d" % i}, key=None) for i in range(6)]
    checks.same([reply.status for reply in seen[:4]], [422] * 4, "the first wrong tries are looked at")
    checks.ok(any(reply.status == 429 and int(reply.header("Retry-After")) >= 1 for reply in seen[4:]), "then there is a wait",
              [reply.status for reply in seen])
    checks.status(enter(server, "waits.here", coach.password), 200, "which keeps nobody from signing in")


# ---- the second factor ----

def set_up(checks, server, head, name):
    _, client = server.account(head, "coach", name)
    other = server.sign_in(name, client.password)
    checks.same(client.get("/v1/me").json["second_factor"], False, "at first there is no second factor")
    started = client.post("/v1/me/second-factor", {}, key=None)
    checks.status(started, 201, "one is started")
    secret = started.json["secret"]
    checks.ok(("secret=" + secret) in started.json["uri"] and started.json["uri"].startswith("otpauth://totp/Larkfield%20Heath:" + name),
              "its address names the club and the account", started.json["uri"])
    checks.ok(started.json["qr_svg"].startswith("<svg "), "and there is a picture")
    checks.status(enter(server, name, client.password), 200, "until its first code nothing asks for it")
    refused(checks, client.post("/v1/me/second-factor/confirm", {"code": App(secret).wrong()}, key=None), 422, "wrong-code", "a wrong first code turns nothing on")
    again = client.post("/v1/me/second-factor", {}, key=None)
    checks.ok(again.status == 201 and again.json["secret"] != secret, "started again, there is another secret", again.body)
    app = App(again.json["secret"])
    refused(checks, client.post("/v1/me/second-factor/confirm", {"code": App(secret).code()}, key=None), 422, "wrong-code", "the first secret is gone")
    on = client.post("/v1/me/second-factor/confirm", {"code": app.code()}, key=None)
    checks.status(on, 200, "the first code turns it on")
    codes = on.json["recovery_codes"]
    checks.ok(len(codes) == 10 and len(set(codes)) == 10 and all(len(code) == 19 for code in codes), "with ten recovery codes", codes)
    checks.same(client.get("/v1/me").json["second_factor"], True, "me says so")
    checks.status(other.get("/v1/me"), 401, "every other session has ended")
    refused(checks, client.post("/v1/me/second-factor", {}, key=None), 409, "second-factor-on", "a second one is not started over it")
    refused(checks, client.post("/v1/me/second-factor/confirm", {"code": app.wrong()}, key=None), 409, "second-factor-not-started", "nor confirmed twice")
    return client, app, codes


def signing_in(checks, server, client, app, codes):
    name, password = client.sign_in_name, client.password
    refused(checks, enter(server, name, password), 401, "second-factor-needed", "the password alone is not enough")
    refused(checks, enter(server, name, "not this one at all"), 401, "wrong-password", "a wrong password never hears of a code")
    refused(checks, enter(server, name, "not this one at all", code=app.again(server).code()), 401, "wrong-password", "not even with a right code")
    refused(checks, enter(server, name, password, code=app.wrong()), 401, "wrong-code", "a wrong code is none")
    code = app.again(server).code()
    checks.status(enter(server, name, password, code=code), 200, "password and code sign in")
    refused(checks, enter(server, name, password, code=code), 401, "wrong-code", "a code is taken once")
    used = App(base64.b32encode(app.secret).decode())
    earlier = hotp(used.secret, app.used - 1)
    refused(checks, enter(server, name, password, code=earlier), 401, "wrong-code", "an earlier one is over, though never used")
    checks.status(enter(server, name, password, code=codes[0].upper().replace("-", " ")), 200, "a recovery code stands in, however it is typed")
    refused(checks, enter(server, name, password, code=codes[0]), 401, "wrong-code", "once")
    refused(checks, enter(server, name, password, code="zzzz-zzzz-zzzz-zzzz"), 401, "wrong-code", "and no other does")
    checks.status(enter(server, name, password, code=codes[1]), 200, "the next one does")
    checks.same(audited(server, "second_factor.recover"), 2, "each is in the audit")
    checks.status(enter(server, name, password, code=""), 422, "an empty code is no code")


def at_once(checks, server, client, app, codes):
    """One code sent eight times at once opens once: the writer looks at them one after another."""
    for name, kept in (("a code", None), ("a recovery code", codes[3])):
        passed = enter(server, client.sign_in_name, client.password, code=app.again(server).code())
        while passed.status == 429:  # wrong ones before have to be waited for; a right one wipes them out
            time.sleep(int(passed.header("Retry-After")))
            passed = enter(server, client.sign_in_name, client.password, code=app.again(server).code())
        checks.status(passed, 200, "nobody waits before " + name)
        code = kept or app.again(server).code()
        with concurrent.futures.ThreadPoolExecutor(8) as pool:
            seen = list(pool.map(lambda _: enter(server, client.sign_in_name, client.password, code=code).status, range(8)))
        checks.ok(seen.count(200) == 1 and set(seen) <= {200, 401, 429}, name + " sent eight times at once opens once", seen)
    # the wrong ones of the two have to be waited for
    for _ in range(60):
        reply = enter(server, client.sign_in_name, client.password, code=codes[4])
        if reply.status != 429:
            break
        time.sleep(0.5)
    checks.status(reply, 200, "and the next right one ends the wait")


def proving(checks, server, client, app, codes):
    refused(checks, client.post("/v1/me/confirm", {"password": client.password}, key=None), 422, "second-factor-needed", "confirming asks for the code too")
    refused(checks, client.post("/v1/me/confirm", {"password": client.password, "code": app.wrong()}, key=None), 422, "wrong-code", "and not for any")
    checks.status(client.post("/v1/me/confirm", {"password": client.password, "code": app.again(server).code()}, key=None), 204, "both confirm")
    checks.status(client.post("/v1/me/confirm", {"password": client.password, "code": codes[2]}, key=None), 204, "so does a recovery code")


def joining(checks, server, head, client, app):
    """A one-time link gives a new password; it is no way round the second factor, and is not used up by a wrong try."""
    account = client.get("/v1/me").json["id"]
    token = head.post("/v1/accounts/%s/link" % account, {}).json["url_path"].split("=")[1]

    def join(**more):
        return server.client().post("/v1/join", {"token": token, "password": "a meadow at first light", **more}, key=None)
    refused(checks, join(), 401, "second-factor-needed", "a link asks for the code too")
    refused(checks, join(code=app.wrong()), 401, "wrong-code", "a wrong one opens nothing")
    checks.status(join(code=app.again(server).code()), 200, "with the code it opens")
    client.password = "a meadow at first light"
    back = enter(server, client.sign_in_name, client.password, code=app.again(server).code())
    checks.status(back, 200, "and the new password is right")
    client.token = back.json["token"]


def waits(checks, server, head):
    """Wrong codes wait as wrong passwords do, whatever the right password does in between."""
    client, app, codes = set_up(checks, server, head, "guessed.at")
    # the wrong one of the set-up was forgotten with the right one
    seen = []
    for i in range(8):
        seen.append(enter(server, "guessed.at", client.password, code="%06d" % (900000 + i)).status)
        if i % 2:
            enter(server, "guessed.at", client.password)
    checks.ok(429 in seen and seen[:3] == [401] * 3, "guessing codes has to wait", seen)
    asked = []
    for code in codes: # between two that have to wait; a wait may end between two requests of a machine that is slow
        while enter(server, "guessed.at", client.password, code="900000").status != 429:
            pass
        asked = [enter(server, "guessed.at", client.password, code=one).status for one in (code, "900000")]
        if asked[1] == 429:
            break
    checks.ok(asked == [429, 429], "for a recovery code too", asked)


def kept(checks, server, client, codes):
    """What lies on the disk: no secret and no code as it is; a key of the server's own that no copy holds."""
    key = os.path.join(server.data, "leadside.key")
    checks.same(stat.S_IMODE(os.stat(key).st_mode), 0o600, "the server's key is its owner's alone")
    copy = os.path.join(server.root, "copy.db")
    checks.ok(server.command("backup", "--data", server.data, "--to", copy).returncode == 0, "a copy is taken")
    with open(copy, "rb") as file:
        data = file.read()
    with open(key, "rb") as file:
        secret = file.read()
    plain = [code.encode() for code in codes] + [code.replace("-", "").encode() for code in codes]
    checks.ok(not any(word in data for word in plain), "no recovery code is in the file")
    checks.ok(len(secret) == 32 and secret not in data and secret.hex().encode() not in data, "nor the key")
    return copy, data


def key_lost(checks, server, client, app, codes):
    server.stop()
    key = os.path.join(server.data, "leadside.key")
    os.rename(key, key + ".away")
    server.start()
    refused(checks, enter(server, client.sign_in_name, client.password, code=app.again(server).code()), 401, "second-factor-unreadable",
            "without the key no code can be checked, and that is said")
    checks.status(enter(server, client.sign_in_name, client.password, code=codes[5]), 200, "a recovery code still opens")
    server.stop()
    os.rename(key + ".away", key)
    server.start()
    checks.status(enter(server, client.sign_in_name, client.password, code=app.again(server).code()), 200, "with it back, codes are right again")


def taking_away(checks, server, head):
    client, app, codes = set_up(checks, server, head, "taken.away")
    account = client.get("/v1/me").json
    listed = {a["sign_in"]: a["second_factor"] for a in head.get("/v1/accounts?limit=200").json["accounts"]}
    checks.ok(listed["taken.away"] is True and listed["head"] is False, "the head sees who has one", listed)
    tag = '"%d"' % account["version"]
    checks.status(head.patch("/v1/accounts/" + account["id"], {"second_factor": False}, match=tag), 200, "the head takes it away")
    checks.status(enter(server, "taken.away", client.password), 200, "and the password is enough")
    plain = head.patch("/v1/accounts/" + account["id"], {"second_factor": True}, match='"%d"' % (account["version"] + 1))
    checks.ok(plain.status == 422 and plain.problem.get("path") == "second_factor", "nobody turns one on for somebody else", plain.body)
    checks.same(audited(server, "second_factor.off"), 1, "the audit has it")
    checks.status(client.delete("/v1/me/second-factor"), 404, "there is none to take away any more")

    own, app, codes = set_up(checks, server, head, "takes.own")
    checks.status(own.delete("/v1/me/second-factor"), 204, "its owner takes it away")
    checks.status(enter(server, "takes.own", own.password), 200, "and signs in without")
    checks.same(server.query("SELECT count(*) FROM recovery_code AS r JOIN account AS a ON a.id = r.account_id WHERE a.sign_in IN "
                             "('takes.own', 'taken.away')")[0][0], 0, "no recovery code is left behind")

    lost, app, codes = set_up(checks, server, head, "lost.phone")
    done = server.command("account", "remove-second-factor", "--data", server.data, "--sign-in", "lost.phone")
    checks.ok(done.returncode == 0, "on the host it is taken away, beside the running server", done.stderr)
    checks.status(enter(server, "lost.phone", lost.password), 200, "for who lost everything")
    done = server.command("account", "remove-second-factor", "--data", server.data, "--sign-in", "lost.phone")
    checks.ok(done.returncode == 1 and "no second factor" in done.stderr, "a second time it says that there is none", done.stderr)
    checks.same(audited(server, "second_factor.off"), 3, "all three are in the audit")


def main():
    checks = Checks("test_second_factor")
    # RFC 4226, appendix D: the codes computed here are the standard's
    checks.same([hotp(b"12345678901234567890", i) for i in range(3)], ["755224", "287082", "359152"], "this test computes codes as the standard does")
    server = Server(checks, options=["--no-throttle"])
    head = server.sign_in()
    ours = head.post("/v1/students", {"name": "Linnet Tallowmere", "hand": "right", "junior": True, "birth_year": 2014}).json["id"]
    passwords(checks, server, head)
    client, app, codes = set_up(checks, server, head, "factor.one")
    signing_in(checks, server, client, app, codes)
    at_once(checks, server, client, app, codes)
    proving(checks, server, client, app, codes)
    joining(checks, server, head, client, app)
    waits(checks, server, head)
    kept(checks, server, client, codes)
    taking_away(checks, server, head)
    confirm_waits(checks, server, head)
    key_lost(checks, server, client, app, codes)
    head = server.sign_in()
    old_ones_still_open(checks, server, head)
    head = server.sign_in()
    confirming(checks, server, head, ours)
    server.end()
    checks.finish()


main()
