"""The house standard over its versions: who made each and how many swings it has judged, one beside another, and going back,
which is saving an old one again. What history there is stays."""
import json
import os

import support
from support import Checks, Server

NOBODY = "01900000-0000-7000-8000-000000000000"


class Club:
    def __init__(self, checks):
        self.checks = checks
        self.server = Server(checks, options=["--no-throttle"])
        self.head = self.server.sign_in()
        self.student = self.head.post("/v1/students", {"name": "Linnet Tallowmere", "hand": "right"}).json["id"]

    def swing(self, name="two_views", student=None):
        with open(os.path.join(support.ROOT, "tests", "data", name + ".json"), "rb") as file:
            made = self.head.post("/v1/students/%s/swings" % (student or self.student), file.read())
        assert made.status == 201, made.body
        return made.json["id"]

    def version(self, label, **changes):
        """Saves the standard in force under another name and with these members; its number."""
        now = self.head.get("/v1/standard")
        made = self.head.put("/v1/standard", {**now.json["standard"], "version": label, **changes}, match=now.header("ETag"))
        assert made.status == 200, made.body
        return made.json["number"]

    def versions(self):
        return self.head.get("/v1/standard/versions").json["versions"]


def the_list(checks, club):
    first = club.versions()
    checks.same([(row["number"], row["created_by"], row["swings"], row["in_force"]) for row in first], [(1, None, 0, True)], "a new club has the shipped version alone")
    swing = club.swing()
    club.swing("face_on")
    checks.same(club.versions()[0]["swings"], 2, "a version counts the swings that it judged")
    checks.same(club.version("stricter", threshold=.15), 2, "a second version")
    club.swing("sound")
    now = club.head.get("/v1/swings/" + swing)
    with open(os.path.join(support.ROOT, "tests", "data", "two_views.json")) as file:
        document = json.load(file)
    document["recorded_at"] = "2026-05-01T09:14:05Z"
    fixed = club.head.put("/v1/swings/%s/marks" % swing, {"reason": "a mark was off", "document": document}, match=now.header("ETag"))
    checks.status(fixed, 200, "a swing's marks are corrected")
    listed = club.versions()
    checks.same([(row["number"], row["label"], row["swings"], row["in_force"]) for row in listed], [(2, "stricter", 2, True), (1, first[0]["label"], 2, False)],
                "newest first; a swing that was judged again counts for both")
    checks.same((listed[0]["created_by_name"], listed[1]["created_by_name"]), (club.head.get("/v1/me").json["name"], None), "with who made it")
    now = club.head.get("/v1/swings/" + swing)
    document["recorded_at"] = "2026-05-01T09:14:06Z"
    again = club.head.put("/v1/swings/%s/marks" % swing, {"reason": "and another", "document": document}, match=now.header("ETag"))
    checks.same((again.status, club.versions()[0]["swings"]), (200, 2), "a second report by the same version is no second swing")
    recount = "SELECT standard, count(DISTINCT swing_id) FROM report WHERE swing_id IS NOT NULL GROUP BY standard ORDER BY 1"
    tallies = "SELECT standard, swings FROM standard_tally WHERE swings > 0 ORDER BY 1"
    checks.same(club.server.query(tallies), club.server.query(recount), "the tallies are what a recount finds")
    other = club.head.post("/v1/students", {"name": "Passing", "hand": "right"}).json["id"]
    club.swing(student=other)
    checks.same(club.versions()[0]["swings"], 3, "another student's swing counts")
    checks.status(club.head.delete("/v1/students/" + other), 204, "and is erased with its student")
    checks.same((club.versions()[0]["swings"], club.server.query(tallies)), (2, club.server.query(recount)), "an erased student's swings count no longer")


def one_of_them(checks, club):
    old = club.head.get("/v1/standard/versions/1")
    checks.same((old.status, old.json["number"], old.header("ETag")), (200, 1, None), "a former version is read, and has no ETag")
    now = club.head.get("/v1/standard").json
    checks.same(club.head.get("/v1/standard/versions/%d" % now["number"]).json, now, "the newest is the one in force")
    differing = sorted(name for name in now["standard"] if now["standard"][name] != old.json["standard"].get(name))
    checks.same(differing, ["threshold", "version"], "two of them show what was changed")
    for number in ("99", "0", "01", "-1", "1x", "9999999999999999999999", "%31%00", "one"):
        checks.status(club.head.get("/v1/standard/versions/" + number), (400, 404), "there is no version " + number)


def going_back(checks, club):
    before = club.versions()
    tag = club.head.get("/v1/standard").header("ETag")
    path = "/v1/standard/versions/1/restore"
    checks.status(club.head.post(path, {}), 428, "going back needs the version it leaves")
    checks.status(club.head.post(path, {}, match='"1"'), 412, "and is refused where somebody was faster")
    checks.status(club.head.post("/v1/standard/versions/99/restore", {}, match=tag), 404, "to none there is no way back")
    checks.status(club.head.post(path, {"version": 1}, match=tag), 422, "an unknown member is refused")
    checks.same(club.versions(), before, "none of these made a version")
    back = club.head.post(path, {}, match=tag)
    checks.status(back, 200, "the head goes back to the first version")
    first = club.head.get("/v1/standard/versions/1").json
    checks.same((back.json["number"], back.json["standard"], back.json["label"]), (3, first["standard"], first["standard"]["version"]), "which is kept once more, as the third")
    checks.same(club.head.get("/v1/standard").json["number"], 3, "and is in force")
    checks.same([row["number"] for row in club.versions()], [3, 2, 1], "the one between stays")
    checks.same(club.head.get("/v1/swings/%s/report" % club.swing("face_on")).json["standard"]["number"], 3, "and judges from now on")
    deed = next(item for item in club.head.get("/v1/audit?limit=50").json["audit"] if item["action"] == "standard.back")
    checks.same((deed["entity_id"], deed["detail"]), ("3", {"from": 1}), "the audit tells what was gone back to")


def main():
    checks = Checks("test_standard")
    club = Club(checks)
    checks.parts((the_list, one_of_them, going_back), club)
    club.server.end()
    checks.finish()


if __name__ == "__main__":
    main()
