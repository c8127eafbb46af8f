"""Second opinions: blind until one has given one's own, kept as they were said first; and how far a club's coaches see the same,
recomputed here with statsmodels' definitions in plain Python."""
import random

import support
from support import Checks, Server, numbered

FAULTS = ("chicken_wing", "hips_slide_away", "crowding")
WORDS = ("absent", "cant_see", "present")


def opinion(client, swing, body, **more):
    return client.put("/v1/swings/%s/opinion" % swing, body, **more)


class Club:
    def __init__(self, server):
        self.server, self.head = server, server.sign_in()
        self.people = [server.account(self.head, "coach", name) for name in ("one", "two", "three")]
        self.coaches = [client for _, client in self.people]
        self.stranger = server.account(self.head, "coach", "stranger")[1]
        self.ada, self.bea = self.student("Ada"), self.student("Bea")

    def student(self, name):
        made = self.head.post("/v1/students", {"name": name, "hand": "right"}).json["id"]
        for account, _ in self.people:
            assert self.head.put("/v1/students/%s/team/%s" % (made, account)).status == 204
        return made

    def swing(self, n, student=None):
        reply = self.coaches[0].post("/v1/students/%s/swings" % (student or self.ada), numbered(n))
        assert reply.status == 201, reply.body
        return reply.json["id"]


def blind(checks, club):
    one, two, _ = club.coaches
    swing = club.swing(1)
    path = "/v1/swings/%s/opinions" % swing
    checks.same(one.get(path).json, {"opinions": [], "given": 0, "blind": True, "core": None}, "nothing was said yet")
    first = opinion(one, swing, {"hips_slide_away": "present", "crowding": "cant_see"})
    checks.ok(first.status == 200 and first.header("ETag") == '"1"' and first.json["faults"] == first.json["first"]
              == {"crowding": "cant_see", "hips_slide_away": "present"} and first.json["changed_at"] is None, "a coach says first", first.body)
    checks.same(two.get(path).json, {"opinions": [], "given": 1, "blind": True, "core": None}, "another sees neither that nor the report's")
    checks.ok(two.get(path).header("ETag") is None, "and no ETag of nothing")
    opinion(two, swing, {"hips_slide_away": "absent"})
    seen = two.get(path).json
    checks.same([each["account_id"] for each in seen["opinions"]], [account for account, _ in club.people[:2]], "with one's own said, both are there")
    report = {each["fault"]: each["verdict"] for each in one.get("/v1/swings/%s/report" % swing).json["faults"]}
    known = {"present": "present", "absent": "absent"}
    checks.same(seen["core"], {fault: known.get(verdict, "cant_see") for fault, verdict in report.items()}, "and what the report says")
    checks.same(club.head.get(path).json["opinions"], [], "the head is blind as well until the head has said")
    checks.status(club.stranger.get(path), 404, "a coach of another team has no such swing")
    checks.status(opinion(club.stranger, swing, {"hips_slide_away": "absent"}), 404, "nor an opinion on it")


def changed(checks, club):
    one, two, _ = club.coaches
    swing = club.swing(2)
    checks.status(opinion(one, swing, {"hips_slide_away": "present"}, match='"1"'), 412, "no version of what is not there")
    opinion(one, swing, {"hips_slide_away": "present"})
    opinion(two, swing, {"hips_slide_away": "absent"})
    checks.status(opinion(one, swing, {"hips_slide_away": "present"}), 200, "said again it is a repeat")
    checks.status(opinion(one, swing, {"hips_slide_away": "absent"}), 428, "a change needs If-Match")
    checks.status(opinion(one, swing, {"hips_slide_away": "absent"}, match='"7"'), 412, "of what one has read")
    tag = one.get("/v1/swings/%s/opinions" % swing).header("ETag")
    after = opinion(one, swing, {"hips_slide_away": "absent", "crowding": "present"}, match=tag)
    checks.ok(after.status == 200 and after.header("ETag") == '"2"' and after.json["first"] == {"hips_slide_away": "present"}
              and after.json["faults"] == {"crowding": "present", "hips_slide_away": "absent"} and after.json["changed_at"], "what was said first stays", after.body)
    for body, path in (({}, ""), ({"hips_slide_away": "maybe"}, "hips_slide_away"), ({"slice": "present"}, "slice"), ({"hips_slide_away": 1}, "hips_slide_away"), ([], "")):
        reply = opinion(one, swing, body, match="*")
        checks.ok(reply.status == 422 and (reply.problem.get("path") or "") == path, "refused: %r" % (body,), reply.body)
    rows = club.server.query("SELECT action, object_kind FROM audit WHERE object_kind = 'opinion' AND student_id = ? ORDER BY id DESC LIMIT 3", club.ada)
    checks.same(rows, [("opinion.change", "opinion"), ("opinion.give", "opinion"), ("opinion.give", "opinion")], "each is in the audit")


def follows(checks, club):
    """Set aside, moved, erased."""
    one, two, _ = club.coaches
    swing, gone = club.swing(3), club.swing(4)
    for each in (swing, gone):
        opinion(two, each, {"hips_slide_away": "present"})
    before = club.head.get("/v1/agreement").json["opinions"]
    assert one.post("/v1/swings/%s/void" % gone, {"reason": "a practice swing"}).status == 200
    checks.same(club.head.get("/v1/agreement").json["opinions"], before - 1, "a swing that is not to be counted is left out")
    reply = opinion(one, gone, {"hips_slide_away": "present"})
    checks.ok(reply.status == 422 and reply.problem["type"].endswith("voided-swing"), "and not judged any more", reply.body)
    checks.ok(len(two.get("/v1/swings/%s/opinions" % gone).json["opinions"]) == 1, "what was said of it stays to be read")
    assert one.post("/v1/swings/%s/move" % swing, {"student_id": club.bea, "reason": "it was Bea"}).status == 200
    checks.same(two.get("/v1/swings/%s/opinions" % swing).json["given"], 1, "moved, its opinions come along")
    export = club.head.get("/v1/students/%s/export" % club.bea).json
    checks.same([(row["swing_id"], row["look"]) for row in export["look"]], [(swing, {"hips_slide_away": "present"})], "the export has them")
    tag = club.head.get("/v1/students/" + club.bea).header("ETag")
    checks.status(club.head.delete("/v1/students/" + club.bea, match=tag), (200, 204), "the student is erased")
    checks.same(club.server.query("SELECT count(*) FROM look WHERE swing_id = ?", swing), [(0,)], "and what was said of the swing")


def kappa(pairs, weighted=False):
    """Cohen's, of a list of (first, second)."""
    n, near = len(pairs), lambda a, b: 1 - abs(WORDS.index(a) - WORDS.index(b)) / 2 if weighted else float(a == b)
    agreed = sum(near(a, b) for a, b in pairs) / n
    chance = sum(near(a, b) for a, _ in pairs for _, b in pairs) / n ** 2
    return agreed, (agreed - chance) / (1 - chance)


def fleiss(swings):
    """swings: for each, what was said."""
    alike = sum(sum(said.count(w) * (said.count(w) - 1) for w in WORDS) / (len(said) * (len(said) - 1)) for said in swings) / len(swings)
    every = [word for said in swings for word in said]
    chance = sum((every.count(w) / len(every)) ** 2 for w in WORDS)
    return alike, (alike - chance) / (1 - chance)


def agreement(checks, club):
    dice = random.Random(5)
    start = club.server.query("SELECT max(created) FROM look")[0][0] + 1
    said = {}  # swing: [of each coach]
    for n in range(12):
        swing = club.swing(100 + n)
        truth = {fault: dice.choice(WORDS) for fault in FAULTS}
        said[swing] = [{f: w if dice.random() < .7 else dice.choice(WORDS) for f, w in truth.items() if dice.random() < .9} or {"hips_slide_away": "absent"}
                       for _ in club.coaches[:3 if n % 3 else 2]]
        for coach, body in zip(club.coaches, said[swing]):
            assert opinion(coach, swing, body).status == 200
    since = club.server.query("SELECT strftime('%Y-%m-%dT%H:%M:%fZ', ? / 1000.0, 'unixepoch')", start)[0][0]
    got = club.head.get("/v1/agreement?from=" + since).json
    checks.same((got["swings"], got["opinions"], got["complete"]), (12, sum(map(len, said.values())), True), "what it rests on")
    for row in got["faults"]:
        swings = [[each[row["fault"]] for each in all_of if row["fault"] in each] for all_of in said.values()]
        swings = [each for each in swings if len(each) > 1]
        agreed, value = fleiss(swings)
        told = row["coaches"]
        checks.ok(told["swings"] == len(swings) and abs(told["agreed"] - agreed) < .001 and (told["kappa"] is None if len(swings) < 10 else
                  abs(told["kappa"] - value) < .001 and told["low"] < told["kappa"] < told["high"]), row["fault"] + ": many coaches", told)
    ids = [account for account, _ in club.people]
    for row in got["pairs"]:
        i, j = ids.index(row["first"]), ids.index(row["second"])
        both = [[(of[i][f], of[j][f]) for f in FAULTS if f in of[i] and f in of[j]] for of in said.values() if len(of) > j]
        flat = [each for swing in both for each in swing]
        few = len([each for each in both if each]) < 10
        for name, weighted in (("plain", False), ("weighted", True)):
            agreed, value = kappa(flat, weighted)
            told = row[name]
            checks.ok(abs(told["agreed"] - agreed) < .001 and (told["kappa"] is None if few else abs(told["kappa"] - value) < .001),
                      "a pair, %s%s" % (name, ", too few" if few else ""), (told, agreed, value))
    checks.same(len(got["pairs"]), 3, "each pair once")
    core = {swing: club.coaches[0].get("/v1/swings/%s/opinions" % swing).json["core"] for swing in said}
    first = [row for row in got["coaches"] if row["account_id"] == ids[0]][0]
    flat = [(of[0][f], core[swing][f]) for swing, of in said.items() for f in FAULTS if f in of[0] and f in core[swing]]
    checks.ok(first["name"] == "One" and first["swings"] == 12 and abs(first["core"]["plain"]["agreed"] - kappa(flat)[0]) < .001, "coach against core", first)
    checks.same([row["account_id"] for row in got["coaches"]], sorted(ids), "in no order of merit")
    divided = {(swing, f) for swing, of in said.items() for f in FAULTS if {"present", "absent"} <= {each.get(f) for each in of}}
    checks.same({(row["swing_id"], row["fault"]) for row in got["divided"]}, divided, "the swings that divide")
    checks.ok(all(row["student_id"] == club.ada and len(row["said"]) > 1 for row in got["divided"]), "with whose they are and what was said")
    empty = club.head.get("/v1/agreement?to=2020-01-01T00:00:00Z").json
    checks.same((empty["swings"], empty["faults"], empty["pairs"]), (0, [], []), "nothing in another time")
    checks.status(club.head.get("/v1/agreement?from=yesterday"), 422, "a time is a time")
    checks.status(club.coaches[0].get("/v1/agreement"), 403, "it is the head's")


def main():
    checks = Checks("test_opinions")
    server = Server(checks, options=["--no-throttle"])
    club = Club(server)
    checks.parts((blind, changed, follows, agreement), club)
    server.end()
    checks.finish()


main()
