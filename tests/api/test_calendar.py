"""The calendar feed of practice days, read back by a small RFC 5545 reader of the test's own: lines, dates, texts; who may make
one; and that an old address, or one whose owner may no longer look, opens nothing."""
import datetime
import re
import time

import support
from support import Checks, Server


def feed(server, path):
    return server.client().request("GET", path)


def read_lines(checks, body, label):
    checks.ok(body.endswith(b"\r\n") and b"\n" not in body.replace(b"\r\n", b"") and b"\r" not in body.replace(b"\r\n", b""),
              label + ": every line ends in CRLF")
    lines = body[:-2].split(b"\r\n")
    checks.ok(max(map(len, lines)) <= 75, label + ": no line is longer than 75 octets", max(map(len, lines)))
    for line in lines:
        line.decode()  # a character cut in two raises
    return re.sub(r"\r\n ", "", body.decode()).rstrip("\r\n").split("\r\n")


def unescape(text):
    return re.sub(r"\\(.)", lambda found: "\n" if found.group(1) in "nN" else found.group(1), text)


def read(checks, body, label):
    """[{name: value}] of the events."""
    lines = read_lines(checks, body, label)
    checks.same((lines[0], lines[-1]), ("BEGIN:VCALENDAR", "END:VCALENDAR"), label + ": one calendar")
    checks.ok("VERSION:2.0" in lines and any(line.startswith("PRODID:") for line in lines), label + ": with its version and maker")
    events, now = [], None
    for line in lines[1:-1]:
        name, _, value = line.partition(":")
        if line == "BEGIN:VEVENT":
            now = {}
        elif line == "END:VEVENT":
            events.append(now)
            now = None
        elif now is not None:
            checks.ok(name not in now, "once: " + name) if name in now else None
            now[name] = unescape(value)
    return events


def day(text):
    return datetime.datetime.strptime(text, "%Y%m%d").date()


def content(checks, server, ours):
    student = ours["student client"]
    reply = student.request("POST", "/v1/me/calendar")
    checks.status(reply, 201, "the student makes a feed")
    path = reply.json["url_path"]
    checks.ok(re.match(r"^/calendar/[A-Za-z0-9_-]{43}\.ics$", path), "with an address of 256 bits", path)
    seen = feed(server, path)
    checks.same((seen.status, seen.header("Content-Type"), seen.header("Cache-Control"), seen.header("X-Content-Type-Options")),
                (200, "text/calendar; charset=utf-8", "no-store, private", "nosniff"), "it is read without signing in")
    events = read(checks, seen.body, "the feed")
    sheet = student.get("/v1/me/homework").json["homework"]
    names = {item["drill"]["name"]: item for item in sheet}
    checks.same({event["SUMMARY"] for event in events}, set(names), "it has the homework's drills")
    today = datetime.datetime.now(datetime.timezone.utc).date()
    for name, item in names.items():
        days = sorted(day(event["DTSTART;VALUE=DATE"]) for event in events if event["SUMMARY"] == name)
        last = datetime.date.fromisoformat(item["retest_at"][:10])
        expected = [today + datetime.timedelta(n) for n in range((last - today).days + 1)]
        checks.same(days, [d for d in expected if d.weekday() in (0, 2, 4, 6)],
                    "%s: Monday, Wednesday, Friday and Sunday from today to the day of looking again" % name)
        some = [event for event in events if event["SUMMARY"] == name][0]
        wanted = "%d minutes." % item["dose"]["minutes"] + ("\n" + item["drill"]["cautions"] if item["drill"]["cautions"] else "")
        checks.same(some["DESCRIPTION"], wanted, name + ": minutes and the drill's cautions")
        checks.ok(re.match(r"^\d{8}T\d{6}Z$", some["DTSTAMP"]), name + ": stamped in UTC", some["DTSTAMP"])
        checks.same(day(some["DTEND;VALUE=DATE"]) - day(some["DTSTART;VALUE=DATE"]), datetime.timedelta(1), name + ": one day long")
    uids = [event["UID"] for event in events]
    checks.ok(len(set(uids)) == len(uids) > 0, "every event has a UID of its own", len(uids))
    time.sleep(1.1)
    checks.same(feed(server, path).body, seen.body, "read again it is the same, stamps and all")
    checks.ok(b"Own Student" not in seen.body and b"chicken" not in seen.body and b"elbow" not in b"".join(
        event["SUMMARY"].encode() for event in events), "it names neither the student nor the fault")
    return path


def overdue(checks, server, ours, path):
    """Who was to be looked at again and was not: the days end where they were said to end."""
    before = feed(server, path).body
    at = datetime.datetime.now(datetime.timezone.utc) - datetime.timedelta(3)
    kept = server.query("SELECT id, created, retest_at FROM homework")
    server.write("UPDATE homework SET created = ?, retest_at = ?", int((at.timestamp() - 14 * 86400) * 1000), int(at.timestamp() * 1000))
    days = [day(event["DTSTART;VALUE=DATE"]) for event in read(checks, feed(server, path).body, "overdue")]
    checks.same((len(set(days)) > 6, max(days) <= at.date(), max(days) > at.date() - datetime.timedelta(3)), (True, True, True),
                "no day after the day of looking again, though the fix is open still")
    for id, created, retest in kept:
        server.write("UPDATE homework SET created = ?, retest_at = ? WHERE id = ?", created, retest, id)
    checks.same(feed(server, path).body, before, "put back, it is as it was")


def in_german(checks, server, ours, path):
    """The reader's language is the phone's: the shipped drills, the minutes and the calendar's name; stamps and days stay."""
    def asked(language):
        seen = server.client().request("GET", path, headers={"Accept-Language": language} if language else {})
        checks.same((seen.status, seen.header("Vary")), (200, "Accept-Language"), "%s: a cache is told on what it depends" % language)
        return seen
    plain, german = asked(None), asked("de-AT,de;q=0.9,en;q=0.5")
    checks.same([asked(text).header("Content-Language") for text in (None, "de", "en, de;q=0.1", "fr, de;q=0.2, en;q=0.1", "fr", "de;q=0")],
                ["en", "de", "en", "de", "en", "en"], "the best of our languages is taken")
    checks.same(german.header("Content-Language"), "de", "a place's German is German")
    drills = {item["drill"]["name"]: item for item in ours["student client"].get("/v1/me/homework").json["homework"]}
    said = server.client().get("/words/de.json").json
    wanted = {}
    for name, item in drills.items():
        key = "drill.%s." % item["drill"]["id"]
        wanted[said[key + "name"]] = "%d Minuten.\n%s" % (item["dose"]["minutes"], said[key + "cautions"])
    events = read(checks, german.body, "the German feed")
    checks.same({event["SUMMARY"]: event["DESCRIPTION"] for event in events}, wanted, "drills and what to mind are told in German")
    checks.ok("X-WR-CALNAME:Üben\r\n".encode() in german.body, "and the calendar's name")
    days = [[(event["UID"], event["DTSTAMP"], event["DTSTART;VALUE=DATE"]) for event in read(checks, reply.body, "either")] for reply in (plain, german)]
    checks.same(days[0], days[1], "the days are the same")


def odd_words(checks, server, head, ours):
    """A club's own drill with every sign that has a meaning, given and read back."""
    name = "Half; quarter, \\whole\\ – swinging „slow“ üüüüüüüüüü"
    drill = {"name": name, "faults": ["hips_slide_away"], "how_to": "Swing.", "feel": "Slow.", "cautions": "Stop, when; it\nhurts \\ tires. " + "ü" * 90,
             "kit": [], "place": ["home"], "loads": [], "contraindicated": [], "ball": False, "balance": False,
             "adult_only": False, "minutes": 7}
    made = head.post("/v1/drills", drill)
    checks.status(made, 201, "a drill of odd words")
    fix = "/v1/fixes/" + ours["fixes"]  # one thing at a time: the first makes room
    ended = ours["coach client"].patch(fix, {"status": "changed", "reason": "for the test"}, match='"1"')
    checks.status(ended, 200, "the fix before is changed")
    opened = support.assign(ours["coach client"], ours["students"], "sway", [made.json["id"]], overrule="for the test")
    checks.same(opened.json["fault"], "hips_slide_away", "an earlier spelling of a fault is understood")
    path = ours["student client"].request("POST", "/v1/me/calendar").json["url_path"]
    events = [event for event in read(checks, feed(server, path).body, "odd words") if event["SUMMARY"] == name]
    checks.ok(events and events[0]["DESCRIPTION"] == "7 minutes.\nStop, when; it\nhurts \\ tires. " + "ü" * 90, "they come back as they were",
              events[:1])
    return path


def ends(checks, server, head, ours, old, path):
    student, guardian = ours["student client"], ours["guardian client"]
    checks.status(feed(server, old), 404, "an older address is over")
    for wrong in ("/calendar/" + "A" * 43 + ".ics", "/calendar/x.ics", "/calendar/.ics", path[:-4], path + "x", "/calendar/" + "%20" * 3):
        checks.status(feed(server, wrong), 404, "nothing at " + wrong[:30])
    theirs = guardian.request("POST", "/v1/me/calendar").json["url_path"]
    checks.status(feed(server, theirs), 200, "the guardian has one too")
    checks.status(feed(server, path), 200, "beside the student's")
    checks.status(guardian.request("POST", "/v1/me/calendar", {"student": "01900000-0000-7000-8000-000000000000"}), 404,
                  "not for somebody else's child")
    checks.status(student.delete("/v1/me/calendar"), 204, "the student takes it back")
    checks.status(feed(server, path), 404, "and it is over")
    checks.status(student.delete("/v1/me/calendar"), 404, "once")
    export = head.get("/v1/students/%s/export" % ours["students"]).json
    checks.same([sorted(row) for row in export["calendar"]], [["account_id", "created", "student_id"]], "the export tells of the other")
    row = [row for row in support.listed(head.get("/v1/accounts?limit=200")) if row["role"] == "guardian"][0]
    head.patch("/v1/accounts/" + row["id"], {"students": []}, match='"%d"' % row["version"])
    checks.status(feed(server, theirs), 404, "a guardian who no longer stands for the child sees nothing")
    checks.status(guardian.request("POST", "/v1/me/calendar"), 404, "and has nobody to make a feed for")
    head.patch("/v1/accounts/" + row["id"], {"students": [ours["students"]]}, match='"%d"' % (row["version"] + 1))
    checks.status(feed(server, theirs), 404, "standing for it again does not bring the old address back")
    theirs = guardian.request("POST", "/v1/me/calendar").json["url_path"]
    checks.status(feed(server, theirs), 200, "a new one does")
    head.patch("/v1/accounts/" + row["id"], {"disabled": True}, match='"%d"' % (row["version"] + 2))
    checks.status(feed(server, theirs), 404, "out of use, does not")
    head.delete("/v1/students/" + ours["students"])
    checks.same(server.query("SELECT count(*) FROM calendar"), [(0,)], "the feed goes with the student")


def main():
    checks = Checks("test_calendar")
    server = Server(checks, options=["--no-throttle"])
    head = server.sign_in()
    ours = support.one_of_everything(server, head)
    old = content(checks, server, ours)
    overdue(checks, server, ours, old)
    in_german(checks, server, ours, old)
    path = odd_words(checks, server, head, ours)
    ends(checks, server, head, ours, old, path)
    server.end()
    checks.finish()


main()
