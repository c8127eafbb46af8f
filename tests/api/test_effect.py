"""How well measures repeat in a club, and what became of a fault after a drill: a club whose values were dealt out here, and every
figure worked out again from them."""
import math
import random
import statistics

import support
from support import Checks, Server, numbered

WHAT, AT = "shaft_cross", "top"
FAULT = "across_the_line"
T_975 = {7: 2.364624, 8: 2.306004, 9: 2.262157, 10: 2.228139}


def swing_with(value, n):
    made = numbered(n)
    made["measured"] = [{"measure": WHAT, "checkpoint": AT, "value": value, "sd": 3, "source": "by eye"}]
    return made


class Club:
    def __init__(self, server):
        self.server, self.head = server, server.sign_in()
        self.coach_id, self.coach = server.account(self.head, "coach", "one")
        self.n, self.dice = 0, random.Random(8)
        self.firsts = {}  # what each student showed at first
        self.drill = support.fitting(self.head, FAULT)[0]

    def student(self):
        made = self.head.post("/v1/students", {"name": "S", "hand": "right", "birth_year": 1980}).json["id"]
        assert self.head.put("/v1/students/%s/team/%s" % (made, self.coach_id)).status == 204
        return made

    def swing(self, student, value):
        self.n += 1
        reply = self.coach.post("/v1/students/%s/swings" % student, swing_with(value, self.n))
        assert reply.status == 201, reply.body
        found = [each for each in reply.json["report"]["measures"] if (each["measure"], each.get("checkpoint")) == (WHAT, AT)]
        self.firsts.setdefault(student, found[0])
        return reply.json["id"], found[0]

    def prior(self):
        """(mean, sd) of the players among each other, by their first readings."""
        values = [each["value"] for each in self.firsts.values()]
        error = statistics.mean(each["sd_random"] ** 2 + each["sd_systematic"] ** 2 + spread_of(self) ** 2 for each in self.firsts.values())
        return statistics.mean(values), math.sqrt(max(0, statistics.variance(values) - error))

    def homework(self, before, after, ticks):
        """A student whose swing of value `before` was worked on with the drill and then made one of value `after`."""
        student = self.student()
        swing, was = self.swing(student, before)
        fix = support.assign(self.coach, student, FAULT, [self.drill], from_swing=swing).json["id"]
        opened = self.server.query("SELECT recorded_at FROM swing WHERE id = ?", swing)[0][0] + 1
        self.server.write("UPDATE fix SET opened_at = ? WHERE id = ?", opened, fix)
        work = self.server.query("SELECT id FROM homework WHERE fix_id = ?", fix)[0][0]
        for k in range(ticks):
            self.server.write("INSERT INTO homework_done (id, homework_id, done_at) VALUES (?, ?, ?)", "01900000-0000-7000-8%03d-%012d" % (k, self.n), work, opened + k)
        _, now = self.swing(student, after) if after is not None else (None, None)
        return student, was, now, ticks

    def effect(self, client=None, query=""):
        rows = (client or self.head).get("/v1/drills/effect" + query).json["effects"]
        return [row for row in rows if (row["drill"], row["fault"]) == (self.drill, FAULT)]


def few(checks, club):
    none = club.head.post("/v1/standard/spread", {"version": "own"}, match="*")
    checks.ok(none.status == 409 and none.problem["type"].endswith("too-few-repeats"), "no spread of the club's own yet", none.body)
    club.done = [club.homework(24 + n, 20 - 2 * n, 1 + n % 4) for n in range(7)]
    club.homework(26, 12, 0)
    club.homework(26, None, 3)
    row = club.effect()[0]
    checks.same((row["students"], row["undone"], row["effect"]), (7, 1, None), "of seven students nothing is told; undone is counted apart")


def change_of(club, was, now, drawn=True):
    """By eye the systematic part is the same error twice."""
    spread, (mean, sd) = spread_of(club), club.prior()
    value, *noise = was["value"], *(each["sd_random"] ** 2 + spread ** 2 for each in (was, now))
    if drawn:
        stays = sd ** 2 + was["sd_systematic"] ** 2
        kept = stays / (stays + noise[0])
        value, noise[0] = mean + kept * (value - mean), kept * noise[0]
    return (value - now["value"]) / math.sqrt(sum(noise))


def pooled(values):
    """Of changes whose error is 1 each: tau as their spread beyond it."""
    mean, count = statistics.mean(values), len(values)
    squares = statistics.variance(values)
    tau2 = max(0, squares - 1)
    half = T_975[count - 1] * math.sqrt((1 + tau2) / count * max(1, squares / (1 + tau2)))
    return mean, mean - half, mean + half, math.sqrt(tau2), [mean + tau2 / (tau2 + 1) * (each - mean) for each in values]


def spread_of(club):
    standard = club.head.get("/v1/standard").json["standard"]
    return [each["sd"] for each in standard["spread"] if (each["measure"], each.get("checkpoint")) == (WHAT, AT)][0]


def effect(checks, club):
    club.done.append(club.homework(31, 3, 9))
    row = club.effect()[0]["effect"]
    changes = [change_of(club, was, now) for _, was, now, _ in club.done]
    mean, low, high, tau, each = pooled(changes)
    checks.ok(all(abs(got - want) < .02 for got, want in zip((row["mean"], row["low"], row["high"], row["tau"]), (mean, low, high, tau))),
              "of eight students the pooled effect is told", (row, mean, low, high, tau))
    checks.ok(abs(row["sessions"] - statistics.mean(ticks for *_, ticks in club.done)) < .06 and row["drawn"] == 8, "with how often it was done, and each first value drawn to the club's mean", row)
    got = {one["student_id"]: one for one in row["each"]}
    checks.ok(len(got) == 8 and all(abs(got[who]["change"] - raw) < .02 and abs(got[who]["pooled"] - drawn) < .02 and got[who]["sessions"] == ticks
                                    for (who, _, _, ticks), raw, drawn in zip(club.done, changes, each)), "and each student's, drawn to the mean", got)
    theirs = club.effect(club.coach)[0]["effect"]
    checks.same((theirs["mean"], theirs["each"]), (row["mean"], []), "a coach sees the drill's, and no student one by one")
    checks.ok(not any("coach" in key or "account" in key for key in [*club.effect()[0], *row, *row["each"][0]]), "nobody is told by coach")
    checks.same(club.effect(query="?to=2020-01-01T00:00:00Z"), [], "nothing was given then")


def anova(table):
    n, k = len(table), len(table[0])
    every = statistics.mean(x for row in table for x in row)
    rows = k * statistics.variance([statistics.mean(row) for row in table])
    columns = n * statistics.variance([statistics.mean(column) for column in zip(*table)])
    rest = sum((x - statistics.mean(row) - statistics.mean(column) + every) ** 2 for row in table for x, column in zip(row, zip(*table))) / ((n - 1) * (k - 1))
    within = sum(statistics.variance(row) for row in table) / n
    return {"mean": every, "icc_agreement": (rows - rest) / (rows + (k - 1) * rest + k * (columns - rest) / n), "icc_consistency": (rows - rest) / (rows + (k - 1) * rest),
            "sem": math.sqrt(rest), "mdc": 1.96 * math.sqrt(2 * rest)}, within


def reliability(checks, club):
    table, seen = [], []
    for n in range(21):
        student, level = club.student(), club.dice.gauss(10, 8)
        made = [club.swing(student, round(club.dice.gauss(level, 6), 1)) for _ in range(3 + n % 2)]
        if n == 20:  # two that count are too few
            assert club.coach.post("/v1/swings/%s/void" % made[0][0], {"reason": "a practice swing"}).status == 200
            made = made[1:]
            club.firsts[student] = made[0][1]
        lesson = club.coach.post("/v1/students/%s/lessons" % student, {"held_at": "2026-02-01T09:00:00Z", "swings": [id for id, _ in made]})
        assert lesson.status == 201, lesson.body
        if n < 20:
            table.append([measure["value"] for _, measure in made[:3]])
            seen += [measure for _, measure in made[:3]]
        if n == 18:
            few = [row for row in club.head.get("/v1/reliability").json["measures"] if (row["measure"], row["checkpoint"]) == (WHAT, AT)][0]
            checks.same((few["students"], few["enough"]), (19, False), "nineteen students are too few")
    row = [row for row in club.head.get("/v1/reliability").json["measures"] if (row["measure"], row["checkpoint"]) == (WHAT, AT)][0]
    wanted, within = anova(table)
    checks.same((row["students"], row["enough"], row["unit"], row["club"]), (20, True, "deg", "iron"), "twenty are enough")
    checks.ok(all(abs(row[key] - wanted[key]) < .01 for key in wanted), "ICC, SEM and least change are those of the values dealt", (row, wanted))
    noise = statistics.mean(each["sd_random"] ** 2 for each in seen)
    checks.ok(abs(row["spread"] - math.sqrt(within - noise)) < .01 and row["standard_spread"] == spread_of(club), "what measuring adds is taken off the spread", (row, within, noise))
    checks.status(club.coach.get("/v1/reliability"), 403, "it is the head's")
    effect = club.effect()[0]["effect"]
    changes = [change_of(club, was, now) for _, was, now, _ in club.done]
    checks.ok(effect["drawn"] == 8 and abs(effect["mean"] - statistics.mean(changes)) < .02, "the mean that a first value is drawn to is of all who came since", (effect, changes))
    checks.ok(effect["mean"] < statistics.mean(change_of(club, was, now, False) for _, was, now, _ in club.done), "and the effect is told smaller than undrawn")


def taken_over(checks, club):
    """The club's own spread in the standard's place."""
    before = club.head.get("/v1/standard")
    row = [row for row in club.head.get("/v1/reliability").json["measures"] if (row["measure"], row["checkpoint"]) == (WHAT, AT)][0]
    body = {"version": "with our own spreads"}
    checks.status(club.coach.post("/v1/standard/spread", body, match="*"), 403, "the head's alone")
    checks.status(club.head.post("/v1/standard/spread", body), 428, "If-Match is needed")
    checks.status(club.head.post("/v1/standard/spread", body, match='"77"'), 412, "of the standard in force")
    reply = club.head.post("/v1/standard/spread", body, match=before.header("ETag"))
    checks.ok(reply.status == 200 and reply.json["number"] == before.json["number"] + 1 and reply.json["standard"]["version"] == body["version"], "a new version", reply.body[:300])
    own = float("%.3g" % row["spread"])
    enough = [(each["measure"], each["checkpoint"]) for each in club.head.get("/v1/reliability").json["measures"] if each["enough"]]
    was, now = before.json["standard"], reply.json["standard"]
    checks.ok(abs(spread_of(club) - own) < 1e-9 and own != row["standard_spread"], "its spread is the club's own", (spread_of(club), own))
    same = [each for each in was["spread"] if (each["measure"], each.get("checkpoint")) not in enough]
    checks.ok(all(each in now["spread"] for each in same) and {**was, "spread": 0, "version": 0} == {**now, "spread": 0, "version": 0}, "and nothing else is another")
    student = club.student()
    made = [club.swing(student, value) for value in (4, 9, 14)]
    lesson = club.coach.post("/v1/students/%s/lessons" % student, {"held_at": "2026-02-02T09:00:00Z", "swings": [id for id, _ in made]}).json["report"]
    got = [each for each in lesson["measures"] if (each["measure"], each.get("checkpoint")) == (WHAT, AT)][0]
    wanted = math.sqrt((statistics.mean(each["sd_random"] ** 2 for _, each in made) + own ** 2) / 3)
    checks.ok(abs(got["sd_random"] - wanted) < .02, "a lesson's error goes by it", (got, wanted))


def main():
    checks = Checks("test_effect")
    server = Server(checks, options=["--no-throttle"])
    club = Club(server)
    checks.parts((few, effect, reliability, taken_over), club)
    server.end()
    checks.finish()


main()
