"""What speaks against a fix is told before it is opened, all of it at once: two coaches never pull one student in opposite
directions without knowing it. With a reason it is opened all the same, and the others read why."""
import json
import os
import threading

import support
from support import Checks, Server


def items(client):
    return support.listed(client.get("/v1/inbox"))


class Club:
    def __init__(self, server):
        self.server, self.head = server, server.sign_in()
        self.ids, self.coaches = {}, {}
        for name in ("one", "two"):
            self.ids[name], self.coaches[name] = server.account(self.head, "coach", name)
        with open(os.path.join(support.ROOT, "tests", "data", "two_views.json")) as file:
            self.document = json.load(file)

    def student(self, name, team=("one", "two"), **more):
        student = self.head.post("/v1/students", {"name": name, "hand": "right", "birth_year": 1985, **more}).json["id"]
        for coach in team:
            assert self.head.put("/v1/students/%s/team/%s" % (student, self.ids[coach])).status == 204
        return student

    def swing(self, student, **flight):
        reply = self.head.post("/v1/students/%s/swings" % student, {**self.document, "flight": flight})
        assert reply.status == 201, reply.body
        return reply.json["id"], reply.json["report"]["first_fixes"][0]["fault"]

    def ask(self, who, student, fault, *drills, **more):
        body = {"fault": fault, **({"drills": [{"drill": drill} for drill in drills]} if drills else {}), **more}
        return self.coaches[who].post("/v1/students/%s/fixes" % student, body)


def kinds(reply):
    return [conflict["kind"] for conflict in reply.problem.get("conflicts", [])]


def all_at_once(checks, club):
    student = club.student("Wren Tallow", pain=["neck"])
    swing, first = club.swing(student, start="right", curve="right", strike="fat")
    checks.ok(first not in ("across_the_line", "laid_off"), "the report puts something else first", first)
    begun = club.ask("one", student, "laid_off", "top-check-in-a-mirror", overrule="a plan since March")
    checks.status(begun, 201, "one coach works at the top of the swing")
    asked = club.ask("two", student, "across_the_line", "three-quarter-stops", from_swing=swing)
    checks.ok(asked.status == 409 and asked.problem["type"].endswith("fix-conflict") and asked.problem["path"] == "overrule", "the other is warned", asked.body)
    checks.same(kinds(asked), ["opposite_measure", "drill_against", "two_fixes_open", "another_first", "sore_area", "ball_flight"], "of everything at once")
    found = {conflict["kind"]: conflict for conflict in asked.problem["conflicts"]}
    other = {"fix_id": begun.json["id"], "fault": "laid_off", "opened_by": club.ids["one"]}
    for kind in ("opposite_measure", "drill_against", "two_fixes_open"):
        checks.same({key: found[kind][key] for key in other}, other, kind + ": with whose fix")
    checks.same((found["opposite_measure"]["measure"], found["opposite_measure"]["checkpoint"]), ("shaft_cross", "top"), "the measure that both need")
    checks.same((found["drill_against"]["drill"], found["drill_against"]["measure"]), ("three-quarter-stops", "shaft_cross"), "the drill that pulls the other way")
    checks.same(found["another_first"]["fault"], first, "what the report puts first")
    checks.same((found["sore_area"]["drill"], found["sore_area"]["areas"]), ("three-quarter-stops", ["neck"]), "what hurts and would be loaded")
    checks.same(found["ball_flight"]["flight"], {"start": "right", "curve": "right", "strike": "fat"}, "and what the ball did")
    checks.same(len(support.listed(club.head.get("/v1/students/%s/fixes" % student))), 1, "nothing was opened")
    reason = club.ask("two", student, "across_the_line", "three-quarter-stops", from_swing=swing, reason="I want it")
    checks.ok(reason.status == 409 and len(kinds(reason)) == 6, "a reason for the family answers none of them", reason.body)
    done = club.ask("two", student, "across_the_line", "three-quarter-stops", from_swing=swing, overrule="the plan has changed")
    checks.ok(done.status == 201 and done.json["waiting"] and done.json["conflicts"] == asked.problem["conflicts"]
              and done.json["homework"][0]["confirmed"] == "the plan has changed", "with a reason between coaches it is opened, and waits", done.body)
    told = [item for item in items(club.coaches["one"]) if item["kind"] == "fix_conflict" and item["fix_id"] == done.json["id"]]
    checks.ok(len(told) == 1 and told[0]["by"] == club.ids["two"] and told[0]["note"] == "the plan has changed" and told[0]["fault"] == "across_the_line"
              and told[0]["conflicts"] == asked.problem["conflicts"], "the other coach reads what and why", told)
    checks.ok(done.json["id"] not in [item["fix_id"] for item in items(club.coaches["two"])], "who did it needs no telling")
    _, phone = club.server.account(club.head, "student", "wren", student_id=student)
    seen = phone.get("/v1/students/%s/fixes" % student).body + phone.get("/v1/students/%s/export" % student).body
    checks.ok(b"opposite_measure" not in seen and b"the plan has changed" not in seen, "the family reads none of it", seen[:300])


def each_by_itself(checks, club):
    student = club.student("Ash Merrow")
    swing, first = club.swing(student, start="left", curve="right", strike="thin")
    checks.status(club.ask("one", student, first, from_swing=swing), 201, "what the report suggests needs no word")
    second = club.ask("two", student, "hurried_tempo")
    checks.same(kinds(second), ["two_fixes_open"], "a second fix")
    both = club.ask("two", student, "hurried_tempo", "pause-and-drop", together="both before the match", reason="seen")
    checks.ok(both.status == 409 and both.problem["type"].endswith("too-many-drills"), "both at once is a word for it, and still two drills in all", both.body)
    other = club.student("Linnet Marl")
    swing, first = club.swing(other, start="left", curve="right", strike="thin")
    asked = club.ask("one", other, "hurried_tempo", from_swing=swing)
    checks.same(kinds(asked), ["another_first"], "another than the report's first")
    checks.status(club.ask("one", other, "hurried_tempo", from_swing=swing, reason="seen on the tee"), 201, "which any reason answers")
    old = club.student("Teal Harrow")
    checks.status(club.ask("one", old, "inside_takeaway", "far-side-hand-takeaway", overrule="seen"), 201, "a takeaway that is too far inside")
    drills = club.ask("two", old, "steep_delivery", "towel-outside-the-takeaway")
    checks.same(kinds(drills), ["drill_against", "two_fixes_open"], "a drill that leads the other way, though the fault does not")
    young = club.student("Pip Lark", pain=["knee"])
    sore = club.ask("one", young, "hips_slide_away", "trail-hip-by-the-rail", reason="seen")
    checks.same(kinds(sore), ["sore_area"], "a drill for what hurts")
    word = club.coaches["one"].post("/v1/students/%s/fixes" % young, {"fault": "hips_slide_away", "reason": "seen", "drills": [
        {"drill": "trail-hip-by-the-rail", "confirm_reason": "she is cleared for it"}]})
    checks.ok(word.status == 201 and word.json["homework"][0]["confirmed"] == "she is cleared for it", "which a word for this drill answers", word.body)


def who_is_told(checks, club):
    student = club.student("Jay Fenwick")
    begun = club.ask("one", student, "overswing", overrule="seen").json
    checks.same([i for i in items(club.coaches["two"]) if i["student_id"] == student], [], "what nothing speaks against is told to nobody")
    closed = club.coaches["two"].patch("/v1/fixes/" + begun["id"], {"status": "closed", "reason": "it holds"}, match='"1"')
    checks.status(closed, 200, "another coach closes the fix")
    told = [item for item in items(club.coaches["one"]) if item["fix_id"] == begun["id"]]
    checks.same([(i["kind"], i["fix_status"], i["by"], i["note"], i["fault"]) for i in told], [("fix_changed", "closed", club.ids["two"], "it holds", "overswing")],
                "who opened it is told")
    alone = club.student("Kit Sorrel", team=("one",), pain=["low back"])
    checks.status(club.ask("one", alone, "standing_up", "seat-on-the-wall", overrule="cleared"), 201, "a coach alone gives a drill for a sore back")
    checks.same([i for i in items(club.head) + items(club.coaches["one"]) if i["student_id"] == alone], [], "and there is nobody to tell")


def again(checks, club, fix, who="one", **more):
    return club.coaches[who].patch("/v1/fixes/" + fix["id"], {"status": "open", "reason": "it came back", **more}, match='"%d"' % fix["version"])


def opened_again(checks, club):
    """What has ended is opened again as a new one is: told what speaks against it, and with a reason all the same."""
    student = club.student("Rook Tarn")
    fix = club.ask("one", student, "laid_off", "top-check-in-a-mirror", overrule="seen").json
    ended = club.coaches["one"].patch("/v1/fixes/" + fix["id"], {"status": "closed", "reason": "it holds"}, match='"1"').json
    alone = again(checks, club, ended)
    checks.ok(alone.status == 200 and alone.json["status"] == "open" and alone.json["conflicts"] is None, "what nothing speaks against is opened again", alone.body)
    checks.same([item["kind"] for item in items(club.coaches["two"]) if item["fix_id"] == fix["id"]], ["fix_changed", "fix_changed"], "and the other coach is told of both")
    ended = club.coaches["one"].patch("/v1/fixes/" + fix["id"], {"status": "changed", "reason": "something else first"}, match='"3"').json
    checks.status(club.ask("two", student, "across_the_line", "three-quarter-stops", overrule="seen"), 201, "meanwhile another coach works the other way")
    asked = again(checks, club, ended)
    checks.ok(asked.status == 409 and asked.problem["type"].endswith("fix-conflict") and kinds(asked) == ["opposite_measure", "drill_against", "two_fixes_open"],
              "then the first is told what speaks against it", asked.body)
    checks.same(club.head.get("/v1/fixes/" + fix["id"]).json["status"], "changed", "and nothing was opened")
    done = again(checks, club, ended, overrule="both of us have talked")
    checks.ok(done.status == 200 and done.json["waiting"] and kinds_of(done.json) == kinds(asked) and done.json["overrule"] == "both of us have talked",
              "with a reason between coaches it is opened, and waits", done.body)
    told = [item for item in items(club.coaches["two"]) if item["fix_id"] == fix["id"] and item["kind"] == "fix_conflict"]
    checks.same([(item["by"], item["note"], [each["kind"] for each in item["conflicts"]]) for item in told], [(club.ids["one"], "both of us have talked", kinds(asked))],
                "and the other coach reads who did it, and why")
    checks.status(club.coaches["one"].patch("/v1/fixes/" + fix["id"], {"status": "closed", "reason": "x", "overrule": "y"}, match='"%d"' % done.json["version"]), 422,
                  "nothing is overruled by an end")
    side = club.coaches["one"].patch("/v1/fixes/" + fix["id"], {"status": "open", "together": "both before the match"}, match='"%d"' % done.json["version"])
    checks.ok(side.status == 409 and side.problem["type"].endswith("too-many-drills") or side.status == 200 and not side.json["waiting"],
              "what it was opened with all the same holds where it is to run beside the other", side.body)


def sore_since(checks, club):
    student = club.student("Fen Alder")
    fix = club.ask("one", student, "standing_up", "seat-on-the-wall", overrule="seen").json
    ended = club.coaches["one"].patch("/v1/fixes/" + fix["id"], {"status": "closed", "reason": "it holds"}, match='"1"').json
    path = "/v1/students/" + student
    checks.status(club.head.patch(path, {"pain": ["low back"]}, match=club.head.get(path).header("ETag")), 200, "what its drill loads is sore meanwhile")
    asked = again(checks, club, ended, who="two")
    checks.same((asked.status, kinds(asked)), (409, ["sore_area"]), "and speaks against it")
    checks.status(again(checks, club, ended, who="two", overrule="cleared by her doctor"), 200, "until a coach says why")


def kinds_of(fix):
    return [conflict["kind"] for conflict in fix["conflicts"] or []]


def at_the_same_moment(checks, club):
    """Both look, see nothing open, and ask: one of them is told to look again."""
    for turn in range(5):
        student = club.student("Twin %d" % turn)
        replies = {}

        def ask(who, fault):
            replies[who] = club.ask(who, student, fault, reason="seen")
        threads = [threading.Thread(target=ask, args=pair) for pair in (("one", "inside_takeaway"), ("two", "outside_takeaway"))]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        statuses = sorted(reply.status for reply in replies.values())
        late = [reply.problem.get("type", "").split(":")[-1] for reply in replies.values() if reply.status == 409]
        checks.ok(statuses == [201, 409] and late[0] in ("fix-conflict", "fixes-changed"), "one of two opposite fixes, turn %d" % turn, (statuses, late))


def main():
    checks = Checks("test_conflicts")
    server = Server(checks, options=["--no-throttle"])
    club = Club(server)
    checks.parts((all_at_once, each_by_itself, who_is_told, opened_again, sore_since, at_the_same_moment), club)
    server.end()
    checks.finish()


main()
