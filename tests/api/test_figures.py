"""Figures of a time, by month and by coach, recomputed here from what was sent."""
import collections
import random

import support
from support import Checks, Server, numbered

WHATS = ("lessons", "swings", "fixes_opened", "fixes_ended", "sessions_done")


class Season:
    """What three coaches did, written down as it was done: (what, coach, month, student, fault)."""

    def __init__(self, server):
        self.server, self.head, self.done = server, server.sign_in(), []
        self.coaches = [server.account(self.head, "coach", name) for name in ("one", "two", "three")]
        self.now = server.query("SELECT strftime('%Y-%m', 'now')")[0][0]
        self.months = [server.query("SELECT strftime('%Y-%m', 'now', ?)", "-%d days" % (40 * ago))[0][0] for ago in range(1, 6)]
        dice = random.Random(3)
        for n in range(6):
            made = self.head.post("/v1/students", {"name": "S%d" % n, "hand": "right", "birth_year": 1980}).json["id"]
            for account, _ in self.coaches:
                assert self.head.put("/v1/students/%s/team/%s" % (made, account)).status == 204
            phone = server.account(self.head, "student", "s%d" % n, student_id=made)[1]
            self.one(dice, n, made, phone)

    def one(self, dice, n, student, phone):
        for k in range(3):
            account, coach = self.coaches[dice.randrange(2)]
            swing = coach.post("/v1/students/%s/swings" % student, numbered(10 * n + k)).json["id"]
            self.done.append(("swings", account, self.now, student, None))
            held = dice.choice(self.months) + "-15T10:00:00Z"
            assert coach.post("/v1/students/%s/lessons" % student, {"held_at": held, "swings": [swing]}).status == 201
            self.done.append(("lessons", account, held[:7], student, None))
        account, coach = self.coaches[n % 2]
        fault = ("crowding", "chicken_wing")[n % 3 == 0]
        fix = support.assign(coach, student, fault)
        self.done.append(("fixes_opened", account, self.now, student, fault))
        work = phone.get("/v1/me/homework").json["homework"][0]["id"]
        for _ in range(n % 3):
            assert phone.post("/v1/homework/%s/done" % work, {}).status == 201
            self.done.append(("sessions_done", account, self.now, student, None))
        if n == 1:
            ended = coach.patch("/v1/fixes/" + fix.json["id"], {"status": "closed", "reason": "done"}, match=coach.get("/v1/fixes/" + fix.json["id"]).header("ETag"))
            assert ended.status == 200, ended.body
            self.done.append(("fixes_ended", account, self.now, student, None))

    def counted(self, key, deeds):
        groups = collections.defaultdict(list)
        for deed in deeds:
            groups[key(deed)].append(deed)
        return {name: self.figures(group) for name, group in groups.items()}

    @staticmethod
    def figures(deeds):
        count = collections.Counter(deed[0] for deed in deeds)
        faults = collections.Counter(deed[4] for deed in deeds if deed[4])
        return {**{what: count[what] for what in WHATS}, "students": len({deed[3] for deed in deeds if deed[0] in ("lessons", "swings")}),
                "faults": [{"fault": fault, "fixes": faults[fault]} for fault in sorted(faults)]}


def same(checks, got, key, season, deeds, label):
    rows = [{k: v for k, v in row.items() if k not in ("month", "account_id", "name")} for row in got["figures"]]
    wanted = season.counted(key, deeds)
    checks.same([row.get("month") or row.get("account_id") for row in got["figures"]], sorted(wanted), label + ": who and when, in order")
    checks.same(rows, [wanted[name] for name in sorted(wanted)], label + ": each figure")
    checks.same(got["total"], season.figures(deeds), label + ": all of them")


def figures(checks, season):
    path = "/v1/figures?from=%s-01T00:00:00Z" % season.months[4]
    same(checks, season.head.get(path).json, lambda deed: deed[2], season, season.done, "by month")
    by_coach = season.head.get(path + "&by=coach").json
    same(checks, by_coach, lambda deed: deed[1], season, season.done, "by coach")
    checks.same([row["name"] for row in by_coach["figures"]], ["One", "Two"], "with their names")
    first, end = season.months[3], season.months[1]
    part = [deed for deed in season.done if first <= deed[2] < end]
    same(checks, season.head.get("/v1/figures?from=%s-01T00:00:00Z&to=%s-01T00:00:00Z" % (first, end)).json, lambda deed: deed[2], season, part, "of a part")
    year = season.head.get("/v1/figures").json
    checks.same(year["total"], season.figures(season.done), "the last year where no time is said")
    checks.ok(support.datetime_of(year["to"]) - support.datetime_of(year["from"]) == 365 * 86400, "365 days", (year["from"], year["to"]))
    checks.status(season.head.get("/v1/figures?by=name"), 422, "by coach or by month")
    checks.status(season.coaches[0][1].get("/v1/figures"), 403, "it is the head's")


def set_aside(checks, season):
    swing = season.server.query("SELECT id, lesson_id FROM swing ORDER BY id LIMIT 1")[0][0]
    before = season.head.get("/v1/figures").json["total"]
    assert season.head.post("/v1/swings/%s/void" % swing, {"reason": "a practice swing"}).status == 200
    after = season.head.get("/v1/figures").json["total"]
    checks.same((before["swings"] - after["swings"], before["lessons"] - after["lessons"]), (1, 1), "what is set aside is in no figure, nor a lesson of nothing else")


def main():
    checks = Checks("test_figures")
    server = Server(checks, options=["--no-throttle"])
    season = Season(server)
    checks.parts((figures, set_aside), season)
    server.end()
    checks.finish()


main()
