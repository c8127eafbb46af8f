"""Erasing an account over HTTP: nothing of the person is left in the file, what was done stays under an id, and whom it can't
be done to. A student's own account goes alone; the record stays."""
import os

import support
from support import Checks, Server

NAME, SIGN_IN = "Quillon Featherstonehaugh", "Quillon.Featherstonehaugh"


def in_files(server, text):
    """Is the text in any file of the club's folder?"""
    found = []
    for name in os.listdir(server.data):
        with open(os.path.join(server.data, name), "rb") as file:
            if text.encode() in file.read():
                found.append(name)
    return found


def rows_naming(server, account):
    """{table: count} of the rows that hold the id in any column."""
    tables = [row[0] for row in server.query("SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite_%'")]
    counts = {}
    for table in tables:
        columns = [row[1] for row in server.query("PRAGMA table_info(%s)" % table)]
        where = " OR ".join('CAST("%s" AS TEXT) = ?1' % column for column in columns)
        count = server.query('SELECT count(*) FROM "%s" WHERE %s' % (table, where), account)[0][0]
        if count:
            counts[table] = count
    return counts


def coach(checks, server, head):
    student = head.post("/v1/students", {"name": "Student", "hand": "right"}).json["id"]
    account, client = server.account(head, "coach", SIGN_IN, NAME)
    head.put("/v1/students/%s/team/%s" % (student, account))
    swing = client.post("/v1/students/%s/swings" % student, support.document())
    note = client.post("/v1/students/%s/notes" % student, {"text": "a note", "readers": ["student"]})
    fix = support.assign(client, student, "across_the_line", overrule="seen by eye").json
    homework = client.get("/v1/homework/" + fix["homework"][0]["id"]) if fix["homework"] else None
    planned = client.get("/v1/students/%s/retests" % student).json["retests"][0]
    moved = client.patch("/v1/retests/" + planned["id"], {"due_at": planned["due_at"][:10] + "T23:59:00Z", "reason": "after the summer"}, match='"%d"' % planned["version"])
    seen = client.put("/v1/swings/%s/opinion" % swing.json["id"], {"across_the_line": "present"})
    asked = client.post("/v1/students/%s/requests" % student, {"scope": "teach_with", "note": "for the club evening"})
    heir, _ = server.account(head, "coach", "heir.coach")
    offer = client.post("/v1/students/%s/handovers" % student, {"to": heir, "note": "Yours from now on."})
    checks.same([homework.status, moved.status, seen.status, asked.status, offer.status], [200, 200, 200, 201, 201], "who works with others")
    link = head.request("POST", "/v1/accounts/%s/link" % account)
    checks.same([swing.status, note.status, link.status], [201, 201, 200 if link.status == 200 else 201], "a coach at work")
    checks.ok(in_files(server, NAME), "whose name is in the file")
    before = rows_naming(server, account)
    done = {"swing", "note", "audit", "fix", "fix_event", "homework", "retest", "look", "consent_request", "handover", "inbox"}
    checks.ok(done | {"account", "session", "team", "idempotency", "account_link"} <= set(before),
              "and whose id is in many tables", before)
    _, taught = server.account(head, "student", "taught.student", student_id=student)
    feed = taught.request("POST", "/v1/me/calendar").json["url_path"]
    checks.status(server.client().get(feed), 200, "a student of the coach has a calendar")
    _, other = server.account(head, "coach", "other.coach")
    checks.status(other.delete("/v1/accounts/" + account), 403, "a coach erases nobody")
    checks.status(client.get("/v1/me"), 200, "who is signed in")
    checks.status(head.delete("/v1/accounts/" + account), 204, "the head erases the account")
    checks.status(client.get("/v1/me"), 401, "its sessions are over")
    checks.status(server.client().get(feed), 404, "the calendars of the coach's students end, as when a coach leaves the team")
    checks.status(head.delete("/v1/accounts/" + account), 404, "once")
    checks.same(server.query("SELECT count(*) FROM account WHERE name = ? OR sign_in = ?", NAME, SIGN_IN)[0][0], 0, "no row has the name")
    after = rows_naming(server, account)
    checks.same(set(after), done | {"ended"}, "the id stays with what was done, and there alone")
    checks.same(head.get("/v1/swings/" + swing.json["id"]).status, 200, "the swing is there")
    checks.same(server.query("SELECT count(*) FROM audit WHERE action = 'account.erase' AND object_id = ?", account)[0][0], 1,
                "the audit says so by id")
    checks.ok(NAME not in head.get("/v1/students/%s/export" % student).body.decode(), "the student's export doesn't name the coach")
    server.stop()  # folds the log into the file
    for text in (NAME, SIGN_IN, SIGN_IN.lower()):
        checks.same(in_files(server, text), [], "no file holds %r" % text)
    server.start()
    return server.sign_in()


def heads(checks, server, head):
    own = head.get("/v1/me").json["id"]
    reply = head.delete("/v1/accounts/" + own)
    checks.same((reply.status, reply.problem.get("type")), (409, "urn:leadside:problem:oneself"), "nobody erases himself")
    second, other = server.account(head, "head", "second.head")
    checks.status(other.delete("/v1/accounts/" + own[:-1] + ("0" if own[-1] != "0" else "1")), 404, "an unknown account is not found")
    checks.status(other.delete("/v1/accounts/nonsense"), 404, "nor is nonsense")
    etag = [account for account in support.listed(head.get("/v1/accounts?limit=200")) if account["id"] == second][0]["version"]
    checks.status(head.patch("/v1/accounts/" + second, {"disabled": True}, match='"%d"' % etag), 200, "a head out of use")
    checks.status(head.delete("/v1/accounts/" + second), 204, "can be erased")


def family(checks, server, head):
    student = head.post("/v1/students", {"name": "Young Student", "hand": "right", "junior": True, "birth_year": 2014,
                                         "consent": {"by": "A Guardian"}}).json["id"]
    account, client = server.account(head, "student", "young.student", student_id=student)
    guardian, _ = server.account(head, "guardian", "a.guardian", students=[student])
    checks.status(client.request("POST", "/v1/me/calendar"), 201, "a student with a calendar")
    checks.status(head.delete("/v1/accounts/" + account), 204, "a student's account goes")
    checks.same(head.get("/v1/students/" + student).json["name"], "Young Student", "and the record stays")
    checks.same(set(rows_naming(server, account)), {"audit", "ended"}, "nothing else of the account does")
    checks.status(head.delete("/v1/accounts/" + guardian), 204, "a guardian's account goes")
    checks.same(set(rows_naming(server, guardian)), {"audit", "ended"}, "with its ties")
    again = head.post("/v1/accounts", {"role": "student", "sign_in": "young.student", "name": "Y", "student_id": student})
    checks.status(again, 201, "the student may have a new account of the same name")
    last, _ = server.account(head, "guardian", "last.guardian", students=[student])
    checks.status(head.delete("/v1/students/" + student), 204, "the student is erased")
    checks.same(server.query("SELECT kind FROM ended WHERE object_id = ?", last), [("account",)],
                "and a guardian of nobody else with them, each in the ledger: no restore brings one back")


def main():
    checks = Checks("test_erase_account")
    server = Server(checks, options=["--no-throttle"])
    head = coach(checks, server, server.sign_in())
    heads(checks, server, head)
    family(checks, server, head)
    server.end()
    checks.finish()


main()
