"""Students out of a spreadsheet and back into one: every kind of bad row is named, doubles are shown, all come or none, and no cell
that goes out is a formula."""
import csv
import io
import time

import support
from support import Checks, Server

HEAD_ROW = "name,hand,sex,birth_date,birth_year,height_m,handicap,junior,wants,tendencies,consent_by,coach"


class Club:
    def __init__(self, server):
        self.server, self.head = server, server.sign_in()
        self.coach_id, self.coach = server.account(self.head, "coach", "rowan")

    def send(self, text, query="", client=None, **more):
        body = text if isinstance(text, bytes) else text.encode()
        return (client or self.head).post("/v1/import/students" + query, body, content_type="text/csv", **more)

    def dry(self, text):
        reply = self.send(text, "?dry_run=true")
        assert reply.status == 200, reply.body
        return reply.json

    def names(self):
        return [each["name"] for each in support.listed_all(self.head, "/v1/students?limit=200", "students")]


def every_bad_row(checks, club):
    rows = [("Ada Good,right,female,1990-02-03,,1.70,12.4,,,,,", None), (",right,,,,,,,,,,", "name"), ("No Hand,,,,,,,,,,,", "hand"), ("Odd Hand,up,,,,,,,,,,", "hand"),
            ("Odd Sex,left,other,,,,,,,,,", "sex"), ("Odd Day,left,,1990-02-30,,,,,,,,", "birth_date"), ("Tomorrow,left,,2199-01-01,,,,,,,,", "birth_date"),
            ("Odd Year,left,,,ninety,,,,,,,", "birth_year"), ("Two Years,left,,1990-01-01,1991,,,,,,,", "birth_year"), ("Giant,left,,,,2.7,,,,,,", "height_m"),
            ("Odd Handicap,left,,,,,a lot,,,,,", "handicap"), ("Odd Junior,left,,,,,,perhaps,,,,", "junior"), ("Child,left,,,,,,true,,,,", "birth_year"),
            ("No Child,left,,1980-01-01,,,,true,,,,", "junior"), ("No Coach,left,,,,,,,,,,nobody", "coach"), ("Bad\u202eName,left,,,,,,,,,,", "name"),
            ("Bea Good,left,,2014-05-06,,,,true,,,Cleo Good,rowan", None)]
    text = HEAD_ROW + "\n" + "\n".join(row for row, _ in rows) + "\n"
    before = club.server.dump(without=("audit",))
    got = club.dry(text)
    wanted = [(number + 2, column) for number, (_, column) in enumerate(rows) if column]
    checks.same([(bad["row"], bad["column"]) for bad in got["bad"]], wanted, "each bad row with its column")
    checks.ok(all(bad["what"] for bad in got["bad"]), "and why", got["bad"])
    checks.same((got["rows"], got["students"], got["bad_rows"], got["double_rows"], got["dry_run"]), (17, 2, 15, 0, True), "how many come")
    reply = club.send(text)
    checks.ok(reply.status == 422 and reply.problem["type"].endswith("invalid-rows") and "row 3" in reply.problem["detail"], "all or nothing: nothing", reply.body)
    checks.same(club.server.dump(without=("audit",)), before, "and no row of the club has changed")


def contact(checks, club):
    """A member number is one student's; an address and a number look like ones; all three go in and out with the table."""
    known = {"member_number": "1147", "email": "ada@example.org", "phone": "+44 20 7946 0018"}
    made = club.coach.post("/v1/students", {"name": "Ada Reached", "hand": "right", **known})
    checks.ok(made.status == 201 and {key: made.json[key] for key in known} == known, "kept as it was said", made.body)
    path = "/v1/students/" + made.json["id"]
    for body, where in (({"email": "ada"}, "email"), ({"email": "a@b@c"}, "email"), ({"email": "@club"}, "email"), ({"email": "ada@ex ample"}, "email"), ({"email": "a@b,c@d"}, "email"),
                        ({"phone": "ring me"}, "phone"), ({"phone": "--()--"}, "phone"), ({"phone": "12"}, "phone"), ({"phone": "0" * 41}, "phone"), ({"member_number": "7" * 41}, "member_number")):
        reply = club.coach.patch(path, body, match=club.coach.get(path).header("ETag"))
        checks.ok(reply.status == 422 and reply.problem["path"] == where, "no %s: %s" % (where, body), reply.body)
    other = club.coach.post("/v1/students", {"name": "Ada Reached", "hand": "left", "birth_year": 1970, "member_number": "1148"}).json["id"]
    for reply in (club.coach.post("/v1/students", {"name": "Eve", "hand": "right", "member_number": "1147"}),
                  club.coach.patch("/v1/students/" + other, {"member_number": "1147"}, match=club.coach.get("/v1/students/" + other).header("ETag"))):
        checks.ok(reply.status == 409 and reply.problem["type"].endswith("member-number-taken") and reply.problem["path"] == "member_number", "a number is one student's", reply.body)
    numbers = {row["student_id"]: row["member_number"] for row in support.listed_all(club.head, "/v1/overview?limit=200", "students")}
    checks.same((numbers[made.json["id"]], numbers[other]), ("1147", "1148"), "the overview tells two of one name apart")
    got = club.dry("name;hand;Mitgliedsnummer;E-Mail;Telefon\nSomebody Else;right;1147;;\nNova Reached;left;2001;new@example.org;+49 30 901820\nNova Second;left;2001;;\nOdd;left;;nowhere;\n")
    checks.same(([(d["row"], d["of_row"], d["student_id"]) for d in got["doubles"]], [(b["row"], b["column"]) for b in got["bad"]]),
                ([(2, None, made.json["id"]), (4, 3, "")] if got["doubles"][1]["student_id"] == "" else [(2, None, made.json["id"]), (4, 3, None)], [(5, "email")]), "a number that is there already is a double, in the club or in the file")
    checks.status(club.send("name,hand,member_number,email,phone\nSomebody Else,right,1147,,\nNova Reached,left,2001,new@example.org,+49 30 901820\n", "?doubles=skip"), 201, "the others come")
    out = list(csv.DictReader(io.StringIO(club.head.get("/v1/export/students.csv").body.decode("utf-8-sig"))))
    checks.same([(row["member_number"], row["email"], row["phone"]) for row in out if row["name"] == "Nova Reached"], [("2001", "new@example.org", "'+49 30 901820")], "and go out, a plus as no formula")
    everything = club.head.get(path + "/export").json["student"][0]
    checks.same({key: everything[key] for key in known}, known, "the student's own export has them")
    cleared = club.coach.patch(path, {"member_number": None, "email": "", "phone": None}, match=club.coach.get(path).header("ETag"))
    checks.ok(cleared.status == 200 and [cleared.json[key] for key in known] == [None] * 3, "null or nothing clears them", cleared.body)
    for student in [made.json["id"], other] + [row["id"] for row in support.listed_all(club.head, "/v1/students?limit=200", "students") if row["name"] == "Nova Reached"]:
        club.head.delete("/v1/students/" + student)


def whole_tables(checks, club):
    for text, label in (("", "an empty file"), ("hand\nright\n", "without names"), ("name,hand,shoe\nAda,right,42\n", "an unknown column"),
                        ("name,hand,name\nAda,right,Eve\n", "a column twice"), ('name,hand\n"Ada,right\n', "an open quote"), ('name,hand\n"A"da,right\n', "a quote within"),
                        ("name,hand\nJürgen,right\n".encode("latin-1"), "not UTF-8"), ("name,hand\n" + "A,right\n" * 5001, "too many rows"), (b"name,hand\nA\0da,right\n", "a NUL")):
        reply = club.send(text, "?dry_run=true")
        checks.ok(reply.status == 422 and reply.problem["type"].endswith("invalid-table"), label + " is refused", reply.body)
    checks.status(club.head.post("/v1/import/students", {"name": "Ada"}), 415, "JSON is no table")
    checks.status(club.send("name,hand\n", "?dry_run=perhaps"), 422, "true or false")
    checks.status(club.send("name,hand\nAda,right\n", client=club.coach), 403, "a coach may not")


def german(checks, club):
    """As a German spreadsheet saves it."""
    text = ("\ufeffName;Hand;Geschlecht;Geburtsdatum;Größe;Handicap;Ziel;Trainer\r\n"
            "\"Grün; Jürgen\";Links;männlich;2.5.1980;1,83;-2,5;\"Mehr \"\"Länge\"\"\r\nund Ruhe\";ROWAN\r\n\r\nBlau, Ida;rechts;w;;;;;\r\n")
    reply = club.send(text)
    checks.ok(reply.status == 201 and reply.json["students"] == 2, "semicolons, mark, quotes, commas in numbers, German words", reply.body)
    listed = {each["name"]: each for each in support.listed(club.head.get("/v1/students?limit=200"))}
    made = listed["Grün; Jürgen"]
    checks.same([made[key] for key in ("hand", "sex", "birth_date", "height_m", "handicap", "wants")],
                ["left", "male", "1980-05-02", 1.83, -2.5, "Mehr \"Länge\"\r\nund Ruhe"], "are what they mean")
    checks.same(club.head.get("/v1/students/" + made["id"]).json["team"], [club.coach_id], "and the coach is on the team")
    bad = club.dry("Name;Hand\r\n\r\nAda;rechts\r\n;links\r\n\"Zwei\r\nZeilen\";quer\r\n")["bad"]
    checks.same([row["row"] for row in bad], [4, 5], "rows are counted as the spreadsheet does")
    rows = club.server.query("SELECT action, object_kind FROM audit WHERE student_id = ? OR action = 'student.import' ORDER BY id", made["id"])
    checks.same(rows, [("student.create", "student"), ("student.import", "list")], "the audit has each and the whole")


def doubles(checks, club):
    made = club.head.post("/v1/students", {"name": "Ida  Blau", "hand": "right", "birth_date": "1990-01-01"})
    ida = made.json["id"]
    text = ("name,hand,birth_date,birth_year\nida blau,left,,1990\nIda Blau,left,1991-01-01,\nIda Blau,left,,\nNew One,right,1970-01-01,\nnew one,left,1970-01-01,\n"
            "New One,left,1971-01-01,\n")
    got = club.dry(text)
    checks.same([(row["row"], row["student_id"], row["of_row"]) for row in got["doubles"]], [(2, ida, None), (4, ida, None), (6, None, 5)], "who may be there already, and where")
    checks.same((got["students"], got["double_rows"]), (3, 3), "and how many come without them")
    reply = club.send(text)
    checks.ok(reply.status == 409 and reply.problem["type"].endswith("doubles"), "not without a word", reply.body)
    before = len(club.names())
    key = support.fresh_key()
    reply = club.send(text, "?doubles=skip", key=key)
    checks.ok(reply.status == 201 and reply.json["students"] == 3 and len(club.names()) == before + 3, "skipped, the others come", reply.body)
    again = club.send(text, "?doubles=skip", key=key)
    checks.ok(again.status == 201 and again.body == reply.body and len(club.names()) == before + 3, "sent again, nothing is doubled")


def formulas(checks, club):
    texts = ["=cmd|' /C calc'!A0", "+1+1", "-2+3", "@SUM(1)", "\t=1", "'plain", "a, \"b\"; c", "two\nlines"]
    for text in texts:
        assert club.head.post("/v1/students", {"name": "Eve " + str(texts.index(text)), "hand": "left", "wants": text, "handicap": -3.5}).status == 201
    reply = club.head.get("/v1/export/students.csv")
    checks.ok(reply.status == 200 and reply.header("Content-Type") == "text/csv; charset=utf-8" and "students.csv" in reply.header("Content-Disposition"), "the roll goes out", reply.headers)
    rows = list(csv.DictReader(io.StringIO(reply.body.decode("utf-8-sig"), newline="")))
    checks.same(sorted(row["name"] for row in rows), sorted(club.names()), "everybody is on it")
    cells = [cell for row in rows for column, cell in row.items() if column != "handicap"]
    checks.same([cell for cell in cells if cell[:1] in tuple("=+-@\t\r\n")], [], "no cell is a formula")
    eves = {row["name"]: row for row in rows if row["name"].startswith("Eve")}
    checks.same([eves["Eve %d" % n]["wants"].removeprefix("'" if text[0] in "=+-@\t" else "") for n, text in enumerate(texts)], texts, "and every text is whole")
    checks.same({row["handicap"] for row in eves.values()}, {"-3.5"}, "a number stays one")
    got = club.dry(reply.body)
    checks.same((got["bad_rows"], got["double_rows"]), (0, len(rows)), "the import knows everybody again")
    checks.same(club.server.query("SELECT count(*) FROM audit WHERE action = 'student.export' AND object_kind = 'list'"), [(1,)], "it is on record")
    checks.status(club.coach.get("/v1/export/students.csv"), 403, "a coach has no roll")
    archived = [each for each in support.listed_all(club.head, "/v1/students?limit=200", "students") if each["name"] == "Eve 0"][0]
    club.head.patch("/v1/students/" + archived["id"], {"archived": True}, match='"%d"' % archived["version"])
    checks.ok("Eve 0" not in club.head.get("/v1/export/students.csv").body.decode(), "who is not in lessons is not on it")
    export = club.head.get("/v1/students/" + archived["id"]).json
    again = club.send("name,hand,wants\nRound Trip,left,'=cmd\n")
    trip = [each for each in support.listed_all(club.head, "/v1/students?limit=200", "students") if each["name"] == "Round Trip"][0]
    checks.ok(again.status == 201 and trip["wants"] == "=cmd" and export["wants"] == texts[0], "what was kept from being a formula comes back as it was", trip)


def many(checks, club):
    before = len(club.names())
    text = HEAD_ROW + "\n" + "".join("Row %d,%s,,%d-0%d-1%d,,,,,,,,rowan\n" % (n, "left" if n % 9 == 0 else "right", 1950 + n % 60, n % 9 + 1, n % 9) for n in range(2000))
    began = time.monotonic()
    reply = club.send(text)
    took = time.monotonic() - began
    checks.ok(reply.status == 201 and reply.json["students"] == 2000 and took < 5, "2 000 rows in one write", (took, reply.body[:200]))
    checks.same(len(club.names()), before + 2000, "all of them are there")
    print("        2000 rows took %.2f s" % took)


def main():
    checks = Checks("test_import")
    server = Server(checks, options=["--no-throttle"])
    club = Club(server)
    checks.parts((every_bad_row, whole_tables, german, doubles, formulas, many, contact), club)
    server.end()
    checks.finish()


main()
