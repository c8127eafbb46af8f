"""Stills over HTTP: put, seen, listed, replaced, removed; by whom; without what was said about them; a junior's only with
consent; gone with the student; and the file found unsound when one was changed behind the server's back."""
import io

import support
from PIL import Image

from support import Checks, Server, png

ORIENTED = b"II*\0\x08\0\0\0\x01\0\x12\x01\x03\0\x01\0\0\0\x06\0\0\0\0\0\0\0"


def put(client, swing, name, data, kind="image/png"):
    return client.put("/v1/swings/%s/stills/%s" % (swing, name), data, content_type=kind)


def upload(server, head):
    """A grown-up's swing."""
    student = head.post("/v1/students", {"name": "Linnet Tallowmere", "hand": "right"}).json["id"]
    return student, head.post("/v1/students/%s/swings" % student, support.numbered(1)).json["id"]


def kept(checks, head, swing):
    told = png(chunks=[(b"tEXt", b"Author\0somebody"), (b"iTXt", b"XML:com.adobe.xmp\0\0\0\0\0<x/>")])
    reply = put(head, swing, "down_the_line-top", told)
    checks.status(reply, 200, "a picture is kept")
    checks.same((reply.json["width"], reply.json["height"], reply.json["size"]), (8, 6, len(png())), "its size is told")
    seen = head.get("/v1/swings/%s/stills/down_the_line-top" % swing)
    checks.same(seen.body, png(), "it comes back with the same pixels and nothing else")
    checks.same([seen.header(name) for name in ("Content-Type", "X-Content-Type-Options", "Cache-Control", "Content-Disposition")],
                ["image/png", "nosniff", "no-store, private", "inline"], "under headers that keep it what and where it is")
    checks.ok("default-src 'none'" in (seen.header("Content-Security-Policy") or ""), "that let it run nothing")
    checks.status(put(head, swing, "down_the_line-top", png(20, 10)), 200, "another takes its place")
    put(head, swing, "face_on-impact", png())
    stills = head.get("/v1/swings/%s/stills" % swing).json["stills"]
    checks.same([(s["view"], s["checkpoint"], s["width"]) for s in stills],
                [("down_the_line", "top", 20), ("face_on", "impact", 8)], "the list has one for each place")
    checks.status(head.delete("/v1/swings/%s/stills/face_on-impact" % swing), 204, "one is removed")
    checks.status(head.get("/v1/swings/%s/stills/face_on-impact" % swing), 404, "and is gone")
    checks.status(head.delete("/v1/swings/%s/stills/face_on-impact" % swing), 404, "and can't be removed again")


def refused(checks, server, head, swing):
    for name, data, kind, status, word in (
            ("a text", b"no picture at all", "image/png", 422, "is no JPEG"),
            ("a PNG that is called a JPEG", png(), "image/jpeg", 422, "another kind"),
            ("one that is cut off", png()[:-5], "image/png", 422, "cut off"),
            ("one whose checksum is wrong", png()[:-14] + bytes([png()[-14] ^ 1]) + png()[-13:], "image/png", 422, "checksum"),
            ("one that is to be turned", png(chunks=[(b"eXIf", ORIENTED)]), "image/png", 422, "turned"),
            ("one of 5000 pixels", png(5000, 1), "image/png", 422, "4096"),
            ("an SVG", b"<svg xmlns='http://www.w3.org/2000/svg'/>", "image/svg+xml", 415, ""),
            ("JSON", b"{}", "application/json", 415, "")):
        reply = put(server.client(head.token), swing, "face_on-top", data, kind)
        checks.ok(reply.status == status and word in reply.problem.get("detail", ""), "refused: " + name,
                  "%s %s" % (reply.status, reply.body[:200]))
    announced = ("PUT /v1/swings/%s/stills/face_on-top HTTP/1.1\r\nHost: localhost\r\nAuthorization: Bearer %s\r\n"
                 "Content-Type: image/png\r\nContent-Length: 524289\r\n\r\n" % (swing, head.token))
    checks.same(support.raw(server.port, announced.encode())[0], 413, "refused: one byte more than 512 KiB, before it is sent")
    for name in ("face_on", "face_on-", "sideways-top", "face_on-nowhere", "face_on-top.png"):
        checks.status(put(head, swing, name, png()), 404, "no such place: " + name)
        checks.status(head.get("/v1/swings/%s/stills/%s" % (swing, name)), 404, "nor to be read: " + name)
    checks.same(head.get("/v1/swings/%s/stills" % swing).json["stills"][1:], [], "nothing of these was kept")


def progressive(colours, more=0):
    """A progressive JPEG as libjpeg writes it, its last scan repeated so many times: (bytes, scans)."""
    picture = Image.new(colours, (320, 240), 40 if colours == "L" else (40, 90, 30, 10)[:len(colours)])
    out = io.BytesIO()
    picture.save(out, "JPEG", progressive=True, quality=60)
    data = out.getvalue()
    last = data.rindex(b"\xff\xda")
    table = data.rfind(b"\xff\xc4", 0, last)
    begin = table if data.find(b"\xff\xda", table) == last else last
    data = data[:-2] + data[begin:-2] * more + b"\xff\xd9"
    return data, data.count(b"\xff\xda")


def passes(checks, head, swing):
    """Pictures that come in passes, as they are written by honest programs, and those that are all passes."""
    for colours, scans in (("L", 6), ("RGB", 10), ("CMYK", 18)):
        data, count = progressive(colours)
        checks.same(count, scans, "%s: libjpeg's own passes" % colours)
        checks.status(put(head, swing, "face_on-finish", data, "image/jpeg"), 200, "%s: are kept" % colours)
    for more, status in ((22, 200), (23, 422), (1000, 422)):
        data, count = progressive("RGB", more)
        Image.open(io.BytesIO(data)).load()
        reply = put(head, swing, "face_on-finish", data, "image/jpeg")
        checks.same(reply.status, status, "%d passes in %d bytes: %d" % (count, len(data), status))
    checks.ok("passes" in reply.problem.get("detail", ""), "and it says why", reply.body)
    checks.status(head.delete("/v1/swings/%s/stills/face_on-finish" % swing), 204, "the last good one was kept meanwhile")


def consent(checks, head):
    """A junior's swing may be stored and the consent then be taken back."""
    made = head.post("/v1/students", {"name": "Young One", "hand": "right", "junior": True, "birth_year": 2014,
                                      "consent": {"by": "A Guardian"}})
    student = made.json["id"]
    swing = head.post("/v1/students/%s/swings" % student, support.numbered(2)).json["id"]
    checks.status(put(head, swing, "face_on-top", png()), 200, "a junior's, with consent")
    checks.status(head.delete("/v1/students/%s/consents/store_pictures" % student), 204, "the consent is taken back")
    reply = put(head, swing, "face_on-address", png())
    checks.ok(reply.status == 409 and reply.problem["type"].endswith("consent-missing"), "and not without", reply.body[:200])


def rights(checks, server, head):
    ours = support.one_of_everything(server, head)
    path = "/v1/swings/%s/stills/%s" % (ours["swings"], ours["still"])
    for who in ("coach client", "student client", "guardian client"):
        checks.status(ours[who].get(path), 200, "seen by the " + who.split()[0])
    for who in ("student client", "guardian client"):
        checks.status(ours[who].put(path, png(), content_type="image/png"), 403, "not put by the " + who.split()[0])
        checks.status(ours[who].delete(path), 403, "nor removed")
    _, stranger = server.account(head, "coach", "stranger")
    checks.status(stranger.get(path), 404, "another team's coach sees nothing")
    export = ours["guardian client"].get("/v1/students/%s/export" % ours["students"]).json
    checks.same(export["still"][0]["address"], path, "the export names it and where it is fetched")
    rows = server.query("SELECT action FROM audit WHERE action LIKE 'still.%' AND student_id = ?", ours["students"])
    checks.same(rows, [("still.put",)], "putting leaves a row in the audit")
    checks.status(head.delete("/v1/students/" + ours["students"]), 204, "the student is erased")
    checks.same(server.query("SELECT count(*) FROM still WHERE swing_id = ?", ours["swings"]), [(0,)], "with the picture")


def tampered(checks, server, swing):
    changed = server.write("UPDATE still SET picture = zeroblob(picture_size) WHERE swing_id = ?", swing)
    sound, output = server.check_file()
    checks.ok(changed == 1 and not sound and "The picture of still" in output, "check sees a changed picture", output)
    server.write("DELETE FROM still WHERE swing_id = ?", swing)


def main():
    checks = Checks("test_stills")
    server = Server(checks, options=["--no-throttle"])
    head = server.sign_in()
    _, swing = upload(server, head)
    kept(checks, head, swing)
    refused(checks, server, head, swing)
    passes(checks, head, swing)
    consent(checks, head)
    rights(checks, server, head)
    tampered(checks, server, swing)
    server.end()
    checks.finish()


main()
