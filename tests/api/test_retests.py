"""A fix is looked at again after its homework's days: planned, moved, due in the inbox, and judged beside a second look or a first
one that is drawn to the mean of others. The verdicts are worked out here from the reports that the server gives."""
import math
import time

import support
from support import Checks, Server

DAY = 86400


def stamp(seconds):
    return time.strftime("%Y-%m-%dT%H:%M:%SZ", time.gmtime(seconds))


class Club:
    def __init__(self, server):
        self.server, self.head = server, server.sign_in()
        self.ids, self.coaches = {}, {}
        for name in ("one", "stranger"):
            self.ids[name], self.coaches[name] = server.account(self.head, "coach", name)
        standard = self.head.get("/v1/standard").json
        standard = standard.get("standard", standard)
        mine = [row for row in standard["ranges"] if (row["measure"], row.get("checkpoint")) == ("shaft_cross", "top")][0]
        self.low, self.high = mine.get("ok_low", (mine.get("ok") or [None, None])[0]), mine.get("ok_high", (mine.get("ok") or [None, None])[1])
        self.spread = [row for row in standard["spread"] if (row["measure"], row.get("checkpoint")) == ("shaft_cross", "top")][0]["sd"]
        self.now = time.time()

    def swing(self, student, at, value, kind="iron", source="by eye"):
        number = {"number": 7} if kind == "iron" else {}
        reply = self.head.post("/v1/students/%s/swings" % student, {
            "schema": "leadside.swing/1", "recorded_at": stamp(at), "shot": "full", "hand": "right", "club": {"kind": kind, **number, "length_m": 0.94},
            "measured": [{"measure": "shaft_cross", "checkpoint": "top", "value": value, "sd": 2, "source": source}]})
        assert reply.status == 201, reply.body
        measured = [m for m in reply.json["report"]["measures"] if (m["measure"], m["checkpoint"]) == ("shaft_cross", "top")][0]
        return reply.json["id"], measured

    def begin(self, name, values, days=10, more=()):
        """A student whose fix was opened today from a lesson of some days ago; (student, fix, readings of that lesson)."""
        student = self.head.post("/v1/students", {"name": name, "hand": "right", "birth_year": 1985}).json["id"]
        assert self.head.put("/v1/students/%s/team/%s" % (student, self.ids["one"])).status == 204
        made = [self.swing(student, self.now - days * DAY + n, value) for n, value in enumerate(values)]
        lesson = self.head.post("/v1/students/%s/lessons" % student, {"held_at": stamp(self.now - days * DAY), "swings": [id for id, _ in made]}).json["id"]
        second = [self.swing(student, self.now - 5 * DAY + n, value)[1] for n, value in enumerate(more)]
        fix = support.assign(self.coaches["one"], student, "across_the_line", from_lesson=lesson, overrule="for the test").json
        return student, fix, [m for _, m in made], second

    def retests(self, student):
        return support.listed(self.coaches["one"].get("/v1/students/%s/retests" % student))

    def move(self, retest, at, **more):
        return self.coaches["one"].patch("/v1/retests/" + retest["id"], {"due_at": stamp(at), "reason": "she is here today"}, **{"match": '"%d"' % retest["version"], **more})

    def again(self, student, values, **more):
        """Moved to today, and swings of today."""
        assert self.move(self.retests(student)[0], self.now).status == 200
        return [self.swing(student, self.now + n, value, **more)[1] for n, value in enumerate(values)]

    def inbox(self, who="one"):
        return [item for item in support.listed(self.coaches[who].get("/v1/inbox?limit=200")) if item["kind"] == "retest_due"]


def look(readings, spread):
    """(mean, squared random error of it, systematic)"""
    n = len(readings)
    mean = sum(m["value"] for m in readings) / n
    between = sum((m["value"] - mean) ** 2 for m in readings) / (n - 1) if n > 1 else 0
    return mean, max(between, spread ** 2 + sum(m["sd_random"] ** 2 for m in readings) / n) / n, sum(m["sd_systematic"] for m in readings) / n


def drawn(first, mean, sd):
    """In the same set-up the systematic part stays."""
    value, random, systematic = first
    stays = sd ** 2 + systematic ** 2
    kept = stays / (stays + random)
    return mean + kept * (value - mean), kept * random, kept


def near(got, want):
    return got is not None and abs(got - want) < 2e-3


def planned_and_moved(checks, club):
    student, fix, _, _ = club.begin("Linnet Tallowmere", (24, 25, 26))
    plan = club.retests(student)
    due = {item["retest_at"] for item in fix["homework"]}
    checks.ok(len(plan) == 1 and plan[0]["state"] == "planned" and plan[0]["fix_id"] == fix["id"] and {plan[0]["due_at"]} == due
              and plan[0]["outcome"] is None and plan[0]["version"] == 1, "with the fix a look is planned, when the homework says", plan)
    checks.same(round((support.datetime_of(plan[0]["due_at"]) - support.datetime_of(plan[0]["begun_at"])) / DAY), 14, "after the dose's days")
    one, stranger = club.coaches["one"], club.coaches["stranger"]
    checks.ok(student not in [row["student_id"] for row in support.listed(one.get("/v1/retests")) + club.inbox()], "it is not due, and no inbox has it")
    soon = "/v1/retests?due_before=" + stamp(club.now + 30 * DAY)
    ahead = lambda client: [row["student_id"] for row in support.listed(client.get(soon))].count(student)
    checks.same([ahead(client) for client in (one, club.head, stranger)], [1, 1, 0], "who looks ahead sees it, of the own students")
    checks.status(one.get("/v1/retests?due_before=soon"), 422, "a time is a time")
    checks.status(one.patch("/v1/retests/" + plan[0]["id"], {"due_at": stamp(club.now), "reason": "x"}), 428, "moving it needs the version that was read")
    checks.status(club.move(plan[0], club.now, match='"9"'), 412, "the right one")
    checks.status(club.move(plan[0], club.now - 9 * DAY), 422, "not into the past")
    checks.status(stranger.patch("/v1/retests/" + plan[0]["id"], {"due_at": stamp(club.now), "reason": "x"}, match='"1"'), 404, "and no stranger")
    moved = club.move(plan[0], club.now)
    checks.ok(moved.status == 200 and moved.json["moved_by"] == club.ids["one"] and moved.json["moved_reason"] == "she is here today" and moved.json["version"] == 2
              and moved.header("ETag") == '"2"', "a coach moves it", moved.body)
    work = one.get("/v1/students/%s/homework" % student).json["homework"]
    checks.same({item["retest_at"] for item in work}, {moved.json["due_at"]}, "what the homework says moves along")
    checks.same([(club.retests(student)[0]["state"], row["student_name"]) for row in support.listed(one.get("/v1/retests?due_before=" + stamp(club.now + 60))) if row["student_id"] == student],
                [("due", "Linnet Tallowmere")], "now it is due")
    checks.same([(item["retest_id"], item["fault"], item["student_name"]) for item in club.inbox() if item["student_id"] == student], [(plan[0]["id"], "across_the_line", "Linnet Tallowmere")], "and in the inbox of the team")
    checks.same(club.inbox("stranger"), [], "of no other")
    second = support.assign(one, student, "hurried_tempo", overrule="later").json
    waits = [row for row in club.retests(student) if row["fix_id"] == second["id"]]
    checks.ok(waits[0]["state"] == "waiting" and ahead(one) == 1, "what waits is not looked at", waits)
    closed = one.patch("/v1/fixes/" + fix["id"], {"status": "closed", "reason": "it holds"}, match='"1"')
    checks.status(closed, 200, "the fix is closed")
    rows = {row["fix_id"]: row for row in club.retests(student)}
    checks.ok(rows[fix["id"]]["ended_at"] and rows[second["id"]]["state"] == "planned", "its look is over, the next fix has its own", rows)
    checks.ok(student not in [item["student_id"] for item in club.inbox()], "and nothing is due")
    late = club.move(rows[fix["id"]], club.now)
    checks.ok(late.status == 409 and late.problem["type"].endswith("retest-over"), "what is over is not moved", late.body)
    tag = one.get("/v1/fixes/" + second["id"]).header("ETag")
    one.patch("/v1/fixes/" + second["id"], {"status": "closed", "reason": "enough"}, match=tag)
    checks.status(one.patch("/v1/fixes/" + fix["id"], {"status": "open", "reason": "it came back"}, match='"2"'), 200, "the first comes back")
    checks.same(sum(row["ended_at"] is None for row in club.retests(student)), 1, "with a new look")


def not_comparable(checks, club):
    student, _, _, _ = club.begin("Wren Tallow", (24, 25, 26))
    told = lambda: (club.retests(student)[0]["outcome"], club.retests(student)[0]["proposal"], club.retests(student)[0]["reason"])
    club.again(student, (10, 11, 12), kind="driver")
    checks.same(told(), ("not_comparable", "keep", "other_club"), "another club says nothing")
    club.again(student, (10, 11))
    checks.same(told(), ("not_comparable", "keep", "too_few"), "two swings are too few")
    club.again(student, (12,))
    checks.same(club.retests(student)[0]["after"]["swings"], 3, "three are enough")


def verdicts(checks, club):
    """While the club has fewer than eight players the standard speaks."""
    mean, sd = (club.low + club.high) / 2, (club.high - club.low) / 2 / 1.645
    for name, before, after, ticks in (("came into the range", (34, 35, 36), (1, 2, 3), 0), ("on the way", (44, 45, 46), (17, 18, 19), 0), ("not practised", (24, 25, 26), (23, 25, 24), 0),
                                       ("practised", (24, 25, 26), (23, 25, 24), 8), ("worse", (14, 15, 16), (43, 44, 45), 0), ("nearer by itself", (30, 31, 32), (24, 25, 26), 0)):
        student, fix, first, _ = club.begin(name.title(), before)
        if ticks:
            club.server.write("UPDATE homework SET created = created - 86400000 WHERE student_id = ?", student)
            _, phone = club.server.account(club.head, "student", "phone", student_id=student)
            for item in fix["homework"]:
                for _ in range(ticks):
                    assert phone.post("/v1/homework/%s/done" % item["id"], {}).status == 201
        readings = club.again(student, after)
        if ticks:  # as if the two weeks had passed
            club.server.write("UPDATE retest SET begun_at = due_at - 14 * 86400000 WHERE student_id = ?", student)
        value, random, kept = drawn(look(first, club.spread), mean, sd)
        now = look(readings, club.spread)
        difference, needed = now[0] - value, 1.96 * math.sqrt(random + now[1])
        worse = abs(difference) > needed and difference > 0
        better = abs(difference) > needed and difference < 0
        inside = club.low <= now[0] <= club.high
        want = ("improved", "close", "in_range") if better and inside else ("improved", "keep", "moving") if better else ("worse", "change", "got_worse") if worse \
            else ("no_real_change", "change", "practised") if ticks else ("no_real_change", "keep", "not_practised")
        got = club.retests(student)[0]
        checks.same((got["outcome"], got["proposal"], got["reason"], got["state"], got["baseline"]["kind"]), (*want, "looked", "drawn_to_standard"), name)
        checks.ok(near(got["difference"], difference) and near(got["needed"], needed) and near(got["baseline"]["kept"], kept) and near(got["baseline"]["value"], value)
                  and near(got["baseline"]["seen"], look(first, club.spread)[0]), name + ": by the numbers worked out here", (got, difference, needed, kept, value))


def by_the_club(checks, club):
    """With enough players the club's own first readings take the place of the standard's middle."""
    made = [club.begin("Player %d" % n, (value,)) for n, value in enumerate((6, 9, 12, 16, 19, 23, 27, 33))]
    firsts = []
    for student in [row["id"] for row in support.listed(club.head.get("/v1/students?limit=200"))]:
        swings = sorted(swing["id"] for swing in support.listed(club.head.get("/v1/students/%s/swings?limit=200" % student)))
        report = club.head.get("/v1/swings/%s/report" % swings[0]).json
        firsts.append([m for m in report["measures"] if (m["measure"], m["checkpoint"]) == ("shaft_cross", "top")][0])
    values, errors = [m["value"] for m in firsts], [m["sd_random"] ** 2 + m["sd_systematic"] ** 2 + club.spread ** 2 for m in firsts]
    mean = sum(values) / len(values)
    sd = math.sqrt(max(0, sum((v - mean) ** 2 for v in values) / (len(values) - 1) - sum(errors) / len(errors)))
    student, fix, first, _ = made[7]
    readings = club.again(student, (30, 31, 32))
    value, random, kept = drawn(look(first, club.spread), mean, sd)
    now = look(readings, club.spread)
    got = club.retests(student)[0]
    checks.ok(got["baseline"]["kind"] == "drawn_to_club" and near(got["baseline"]["kept"], kept) and near(got["baseline"]["value"], value)
              and near(got["difference"], now[0] - value) and near(got["needed"], 1.96 * math.sqrt(random + now[1])), "drawn to the mean of %d first readings" % len(values),
              (got, mean, sd, kept, value))
    change = club.head.get("/v1/students/%s/progress?fix=%s" % (student, fix["id"])).json["change"]
    checks.ok(change["kind"] == "drawn_to_club" and near(change["kept"], kept) and near(change["from"], value) and near(change["difference"], readings[-1]["value"] - value),
              "the progress is judged beside the same", change)


def second_look(checks, club):
    student, _, first, second = club.begin("Teal Harrow", (33, 34, 35), more=(24, 25, 26))
    readings = club.again(student, (20, 21, 22))
    got = club.retests(student)[0]
    was, now = look(second, club.spread), look(readings, club.spread)
    checks.ok(got["baseline"]["kind"] == "second_look" and got["baseline"]["kept"] == 1 and near(got["baseline"]["value"], 25) and near(got["difference"], -4)
              and near(got["needed"], 1.96 * math.sqrt(was[1] + now[1])), "a second look soon after the first is the baseline, as it stands", got)
    checks.same((got["outcome"], first[0]["value"]), ("no_real_change", 33), "beside it nothing has changed")


def main():
    checks = Checks("test_retests")
    server = Server(checks, options=["--no-throttle"])
    club = Club(server)
    checks.parts((verdicts, planned_and_moved, not_comparable, second_look, by_the_club), club)
    server.end()
    checks.finish()


main()
