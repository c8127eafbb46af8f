"""Handing a student over: the next coach is told and answers, the team changes with a yes, the sender hears of a no, and a
message for one coach is nobody else's."""
import support
from support import Checks, Server


def items(client):
    return support.listed(client.get("/v1/inbox"))


class Club:
    def __init__(self, server):
        self.server, self.head = server, server.sign_in()
        self.head_id = self.head.get("/v1/me").json["id"]
        self.ids, self.coaches = {}, {}
        for name in ("one", "two", "three"):
            self.ids[name], self.coaches[name] = server.account(self.head, "coach", name)
        self.made = 0

    def student(self, *team):
        self.made += 1
        student = self.head.post("/v1/students", {"name": "Student %d" % self.made, "hand": "right", "birth_year": 1985}).json["id"]
        for coach in team:
            assert self.head.put("/v1/students/%s/team/%s" % (student, self.ids[coach])).status == 204
        return student

    def offer(self, student, sender, to, **more):
        return self.coaches[sender].post("/v1/students/%s/handovers" % student, {"to": self.ids[to], "note": "Away in June.", **more})


def answer(client, made, status, match=None, **more):
    return client.patch("/v1/handovers/" + made["id"], {"status": status, **more}, match=match or '"%d"' % made["version"])


def accepted(checks, club):
    student = club.student("one")
    path, two = "/v1/students/" + student, club.coaches["two"]
    made = club.offer(student, "one", "two")
    checks.status(made, 201, "a coach offers a student")
    checks.same((made.json["status"], made.json["from"], made.json["to"], made.json["note"], made.header("Location")),
                ("offered", club.ids["one"], club.ids["two"], "Away in June.", "/v1/handovers/" + made.json["id"]), "as it was said")
    told = items(two)
    checks.ok(len(told) == 1 and told[0]["kind"] == "handover" and told[0]["note"] == "Away in June." and told[0]["by"] == club.ids["one"]
              and told[0]["by_name"] == "One" and told[0]["student_name"] == "Student 1" and told[0]["handover_id"] == made.json["id"],
              "the next coach is told, with the note", told)
    checks.same([two.get("/v1/inbox").json["waiting"], items(club.coaches["one"]), items(club.coaches["three"]), items(club.head)], [1, [], [], []],
                "and nobody else")
    checks.status(two.get(path), 404, "before a yes the student is another's")
    checks.status(two.get("/v1/handovers/" + made.json["id"]), 200, "but the offer can be read")
    checks.status(club.coaches["three"].get("/v1/handovers/" + made.json["id"]), 404, "not by a stranger")
    checks.status(answer(club.coaches["three"], made.json, "accepted"), 404, "who can't answer it either")
    checks.status(answer(club.coaches["one"], made.json, "accepted"), 403, "nor can who offered it say yes")
    again = club.offer(student, "one", "two")
    checks.ok(again.status == 409 and again.problem["type"].endswith("handover-open"), "one offer at a time", again.body)
    checks.status(two.patch("/v1/handovers/" + made.json["id"], {"status": "accepted"}), 428, "the version read is said")
    checks.status(answer(two, made.json, "accepted", match='"7"'), 412, "and is the right one")
    checks.status(answer(two, made.json, "offered"), 422, "an answer is one of two")
    done = answer(two, made.json, "accepted")
    checks.ok(done.status == 200 and done.json["status"] == "accepted" and done.json["answered_by"] == club.ids["two"] and done.json["version"] == 2
              and done.header("ETag") == '"2"', "the coach says yes", done.body)
    checks.status(two.get(path), 200, "and the student is that coach's")
    checks.status(club.coaches["one"].get(path), 404, "and the former coach's no longer")
    checks.same(items(two), [], "what is answered waits no more")
    checks.same([item["kind"] for item in items(club.coaches["one"])], ["handover_accepted"], "the sender hears of it")
    late = answer(two, done.json, "declined")
    checks.ok(late.status == 409 and late.problem["type"].endswith("handover-answered"), "answered is answered", late.body)
    checks.same([h["id"] for h in support.listed(club.head.get(path + "/handovers"))], [made.json["id"]], "the head reads who handed over to whom")
    checks.same(club.server.query("SELECT action FROM audit WHERE object_kind = 'handover' ORDER BY id"), [("handover.create",), ("handover.accept",)],
                "both are in the audit")


def staying_on_the_team(checks, club):
    student = club.student("one")
    made = club.offer(student, "one", "two", stays=True).json
    checks.status(answer(club.coaches["two"], made, "accepted"), 200, "a yes to a hand-over after which the former coach stays")
    checks.same([club.coaches[who].get("/v1/students/" + student).status for who in ("one", "two")], [200, 200], "leaves both on the team")


def leaving_the_team(checks, club):
    student = club.student("one")
    made = club.offer(student, "one", "two").json
    checks.ok(made["stays"] is False and made["offered_by"] == club.ids["one"], "who hands over leaves, unless it is said otherwise", made)
    checks.status(club.coaches["one"].get("/v1/students/" + student), 200, "who leaves stays until the yes")
    checks.status(answer(club.coaches["two"], made, "accepted"), 200, "a yes")
    checks.status(club.coaches["one"].get("/v1/students/" + student), 404, "and the former coach has left")
    checks.status(club.coaches["one"].get("/v1/handovers/" + made["id"]), 404, "with what was handed over")
    told = [item for item in items(club.coaches["one"]) if item["handover_id"] == made["id"]]
    checks.ok(len(told) == 1 and told[0]["student_name"] == "Student %d" % club.made, "but hears of the yes", told)
    checks.status(club.coaches["one"].post("/v1/inbox/%s/seen" % told[0]["id"], {}), 204, "and can say so")
    checks.ok(told[0]["id"] not in [item["id"] for item in items(club.coaches["one"])], "then it is gone")


def declined(checks, club):
    student = club.student("one")
    made = club.offer(student, "one", "three").json
    done = answer(club.coaches["three"], made, "declined", reason="Full until July.")
    checks.ok(done.status == 200 and done.json["reason"] == "Full until July.", "a coach says no, and why", done.body)
    told = [item for item in items(club.coaches["one"]) if item["handover_id"] == made["id"]]
    checks.same([(item["kind"], item["note"], item["by"]) for item in told], [("handover_declined", "Full until July.", club.ids["three"])], "the sender is told")
    checks.status(club.coaches["three"].get("/v1/students/" + student), 404, "the student is not that coach's")
    back = club.offer(student, "one", "three").json
    checks.status(answer(club.coaches["one"], back, "declined"), 200, "the next offer is taken back")
    checks.same([item["kind"] for item in items(club.coaches["three"])], [], "and waits for nobody")


def the_head(checks, club):
    student = club.student("one")
    made = club.offer(student, "one", "two").json
    done = answer(club.head, made, "accepted")
    checks.ok(done.status == 200 and done.json["to"] == club.ids["two"] and done.json["answered_by"] == club.head_id, "the head says yes for the coach", done.body)
    checks.status(club.coaches["two"].get("/v1/students/" + student), 200, "whose student it is then")
    for who in ("one", "two"):
        told = [item["kind"] for item in items(club.coaches[who]) if item["handover_id"] == made["id"]]
        checks.same(told, ["handover_accepted"], "coach %s is told" % who)
    checks.status(club.coaches["one"].get("/v1/students/" + student), 404, "and the former coach's no longer")
    alone = club.student("one")
    moved = club.head.post("/v1/students/%s/handovers" % alone, {"to": club.ids["two"], "note": "Nearer to her school."})
    checks.ok(moved.status == 201 and (moved.json["from"], moved.json["offered_by"]) == (club.ids["one"], club.head_id),
              "the head hands over from the team's one coach", moved.body)
    checks.same([item["by"] for item in items(club.coaches["two"]) if item["handover_id"] == moved.json["id"]], [club.head_id], "the next coach reads whose doing it is")
    checks.status(answer(club.coaches["one"], moved.json, "declined"), 403, "it is not the former coach's to take back")
    checks.status(answer(club.coaches["two"], moved.json, "accepted"), 200, "a yes")
    checks.same([club.coaches[who].get("/v1/students/" + alone).status for who in ("one", "two")], [404, 200], "and the former coach has left the team")
    told = {who: [item["kind"] for item in items(client) if item["handover_id"] == moved.json["id"]] for who, client in (("one", club.coaches["one"]), ("head", club.head))}
    checks.same(told, {"one": ["handover_accepted"], "head": ["handover_accepted"]}, "who is told, as the head is")
    pair = club.student("one", "two")
    several = club.head.post("/v1/students/%s/handovers" % pair, {"to": club.ids["three"], "note": "x"}).json
    checks.same(several["from"], club.head_id, "of several coaches nobody is meant who was not named")
    checks.status(answer(club.head, several, "declined"), 200, "taken back")
    named = club.head.post("/v1/students/%s/handovers" % pair, {"to": club.ids["three"], "from": club.ids["two"], "note": "x"}).json
    checks.status(answer(club.coaches["three"], named, "accepted"), 200, "of one who was named")
    checks.same([club.coaches[who].get("/v1/students/" + pair).status for who in ("one", "two", "three")], [200, 404, 200], "that one leaves")
    checks.status(club.head.post("/v1/students/%s/handovers" % pair, {"to": club.ids["one"], "from": club.ids["two"], "note": "x"}), 422, "who must be on the team")
    checks.status(club.coaches["one"].post("/v1/students/%s/handovers" % pair, {"to": club.ids["two"], "from": club.ids["three"], "note": "x"}), 422, "and is the head's to name")
    other = club.student()
    checks.status(club.head.post("/v1/students/%s/handovers" % other, {"to": club.ids["three"], "note": "Please take her."}), 201, "the head offers as well")
    checks.status(club.coaches["one"].post("/v1/students/%s/handovers" % other, {"to": club.ids["three"], "note": "x"}), 404, "a stranger can't")


def refused(checks, club):
    student = club.student("one")
    path, one = "/v1/students/%s/handovers" % student, club.coaches["one"]
    family, phone = club.server.account(club.head, "student", "family", student_id=student)
    for name, to in (("oneself", club.ids["one"]), ("a student", family), ("nobody", student)):
        checks.status(one.post(path, {"to": to, "note": "x"}), 422, "to %s: refused" % name)
    checks.status(one.post(path, {"to": club.ids["two"]}), 422, "without a note too")
    made = club.offer(student, "one", "two").json
    export = club.head.get("/v1/students/%s/export" % student).json
    checks.ok(export["handover"][0]["note"] == "Away in June." and export["handover"][0]["stays"] is False, "the head's export has it", export["handover"])
    own = phone.get("/v1/students/%s/export" % student)
    checks.ok(own.status == 200 and b"Away in June." not in own.body and own.json["handover"][0]["id"] == made["id"], "the family's without the note", own.body[:200])
    leaver = club.head.get("/v1/accounts/" + club.ids["two"])
    checks.status(club.head.patch("/v1/accounts/" + club.ids["two"], {"disabled": True}, match=leaver.header("ETag")), 200, "the coach leaves meanwhile")
    late = answer(club.head, made, "accepted")
    checks.ok(late.status == 422 and late.problem["type"].endswith("no-such-coach"), "nobody is handed to who is gone", late.body)
    checks.same(club.head.get("/v1/handovers/" + made["id"]).json["status"], "offered", "and nothing was changed")


def main():
    checks = Checks("test_handover")
    server = Server(checks, options=["--no-throttle"])
    club = Club(server)
    checks.parts((accepted, staying_on_the_team, leaving_the_team, declined, the_head, refused), club)
    server.end()
    checks.finish()


main()
