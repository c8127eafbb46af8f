"""What a broken or hostile client may send: every answer is the right refusal, says what is wrong and where, and leaves
every row of the file as it was."""
import collections
import concurrent.futures
import json
import os
import time

import motion_files
import support
from support import Checks, Server, document

DEADLINE = 2  # seconds a request may take in all; the servers here run with --deadline 2


class Prober:
    """Sends one bad thing at a time and looks at the answer and at the file."""

    def __init__(self, checks, server):
        self.checks, self.server = checks, server
        self.before = server.dump()

    def untouched(self, name):
        after = self.server.dump()
        self.checks.same(after, self.before, name + ": the file is as it was")
        self.before = after

    def moved(self):
        """The file changed on purpose."""
        self.before = self.server.dump()

    def answer(self, name, reply, status, *words):
        """The status, and every word in path or detail (case does not matter)."""
        wanted = status if isinstance(status, tuple) else (status,)
        problem = reply.problem
        said = (str(problem.get("path", "")) + " | " + str(problem.get("detail", ""))).lower()
        missing = [word for word in words if word.lower() not in said]
        good = reply.status in wanted and problem.get("status") == reply.status and problem.get("detail") and \
            str(problem.get("type", "")) and not missing
        self.checks.ok(good, "%s: %s%s" % (name, "/".join(map(str, wanted)),
                                           " naming " + ", ".join(words) if words else ""),
                       "got %s %s%s" % (reply.status, reply.body[:300], " without " + str(missing) if missing else ""))
        self.untouched(name)

    def raw(self, name, data, statuses, words=(), within=None, **how):
        """Bytes as they are. statuses may hold None: cut without an answer."""
        status, received, seconds = support.raw(self.server.port, data, **how)
        text = received.decode("utf-8", "replace").lower()
        self.checks.ok(status in statuses and (status is None or all(word.lower() in text for word in words)),
                       "%s: %s" % (name, "/".join("cut off" if wanted is None else str(wanted) for wanted in statuses)),
                       "got %s %r after %.1f s" % (status, received[-300:], seconds))
        if within:
            self.checks.ok(seconds < within, "%s: over within %g s" % (name, within), "%.1f s" % seconds)
        self.untouched(name)


def head_of(method, path, token, *lines, host=True):
    first = ["%s %s HTTP/1.1" % (method, path)] + (["Host: localhost"] if host else [])
    if token:
        first.append("Authorization: Bearer " + token)
    return ("\r\n".join(first + list(lines)) + "\r\n\r\n").encode()


def framing(probe, token, student):
    path = "/v1/students/%s/swings" % student
    kind, key = "Content-Type: application/json", "Idempotency-Key: framing"
    body = json.dumps(document()).encode()
    length = "Content-Length: %d" % len(body)
    chunk = b"%x\r\n%s\r\n0\r\n\r\n" % (len(body), body)
    chunked = "Transfer-Encoding: chunked"
    send = probe.raw
    send("both a length and chunked", head_of("POST", path, token, kind, key, length, chunked) + chunk, (400,),
         ["content-length", "transfer-encoding"])
    send("chunked first, then a length", head_of("POST", path, token, kind, key, chunked, length) + chunk, (400,))
    send("two different lengths", head_of("POST", path, token, kind, key, length, "Content-Length: 3") + body, (400,),
         ["content-length"])
    send("two equal lengths", head_of("POST", path, token, kind, key, length, length) + body, (400,), ["content-length"])
    send("a length with a sign", head_of("POST", path, token, kind, key, "Content-Length: +%d" % len(body)) + body, (400,))
    send("a negative length", head_of("POST", path, token, kind, key, "Content-Length: -1") + body, (400,))
    send("an unknown transfer coding", head_of("POST", path, token, kind, key, "Transfer-Encoding: gzip, chunked") + chunk,
         (400, 501), within=4)
    send("no Host", head_of("GET", "/v1/me", token, host=False), (400,), ["host"])
    send("two Hosts", head_of("GET", "/v1/me", token, "Host: elsewhere"), (400,), ["host"])
    send("a doubled Idempotency-Key", head_of("POST", path, token, kind, key, "Idempotency-Key: other", length) + body, (400,))
    send("a header name with a space", head_of("GET", "/v1/me", token, "X Odd: 1"), (400,))
    send("not HTTP at all", b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03 hello\r\n\r\n", (400, None), within=4)
    for piece in ("%00", "%2f", "%2F", "/..", "/%2e%2e", "/%2E.", "/./", "%", "%zz", "%ff"):
        send("the path has " + piece, head_of("GET", "/v1/students/" + student + piece, token), (400,), ["address"])
    send("an address of 9 000 characters", head_of("GET", "/v1/me?x=" + "a" * 9000, token), (400, 414))
    send("an unknown method", head_of("BREW", "/v1/me", token), (405, 400, 501))
    send("100 KB of headers", head_of("GET", "/v1/me", token, *["X-%d: %s" % (n, "a" * 1000) for n in range(100)]),
         (431, 413, 400, None), within=6)


def slowness(probe, token, student):
    path = "/v1/students/%s/swings" % student
    head = head_of("POST", path, token, "Content-Type: application/json", "Idempotency-Key: slow", "Content-Length: 400")
    letters = [(1.0, b"x")] * 12
    probe.raw("a body that trickles a byte a second", head + b"{", (None, 408), within=DEADLINE + 3, pieces=letters)
    probe.raw("a body that never comes", head, (None, 408), within=DEADLINE + 3)
    start = b"GET /v1/me HTTP/1.1\r\nHost: localhost\r\nX-Slow: "
    probe.raw("a header that trickles", start, (None, 408), within=DEADLINE + 3, pieces=letters)
    probe.raw("a header that never ends", start, (None, 408), within=DEADLINE + 3)
    chunked = head_of("POST", path, token, "Content-Type: application/json", "Idempotency-Key: slow",
                      "Transfer-Encoding: chunked")
    probe.raw("chunked without an end", chunked + b"10\r\n0123456789abcdef\r\n", (None, 408), within=DEADLINE + 3)
    probe.raw("chunks that trickle", chunked, (None, 408), within=DEADLINE + 3, pieces=[(0.5, b"1\r\n{\r\n")] * 20)


def sizes(probe, head, student):
    path = "/v1/students/%s/swings" % student
    probe.raw("9 MiB announced", head_of("POST", path, head.token, "Content-Type: application/json", "Idempotency-Key: big",
                                         "Content-Length: %d" % (9 << 20)), (413,), ["bytes"], within=2)
    probe.raw("9 MiB sent at once", head_of("POST", path, head.token, "Content-Type: application/json", "Idempotency-Key: big",
                                            "Content-Length: %d" % (9 << 20)) + b" " * (9 << 20), (413, None), within=5)
    part = b"%x\r\n%s\r\n" % (1 << 16, b" " * (1 << 16))
    start = head_of("POST", path, head.token, "Content-Type: application/json", "Idempotency-Key: big",
                    "Transfer-Encoding: chunked")
    probe.raw("9 MiB in chunks", start + part * 144 + b"0\r\n\r\n", (413, None), within=6)
    probe.raw("64 MiB in chunks and no end", start + part * 1024, (413, None), within=8)
    probe.answer("a body on a GET", head.request("GET", "/v1/me", b"{}"), 400, "body")
    head.close()


def types(probe, head, student):
    path = "/v1/students/%s/swings" % student
    text = json.dumps(document())
    for kind in ("text/plain", "application/x-www-form-urlencoded", "application/json; charset=latin1", "multipart/form-data"):
        probe.answer("content type " + kind, head.post(path, text, content_type=kind), 415, "application/json")
        head.close()
    probe.answer("a compressed body", head.post(path, text, headers={"Content-Encoding": "gzip"}), 415, "compressed")
    head.close()
    probe.answer("no Idempotency-Key", head.post(path, document(), key=None), 400, "idempotency-key")
    probe.answer("a key of 129 letters", head.post(path, document(), key="k" * 129), 400, "idempotency-key")


def patched(good, patch):
    """good after a JSON Patch of "add", "replace" and "remove"."""
    made = json.loads(good)
    for operation in patch:
        *steps, last = operation["path"].split("/")[1:]
        at = made
        for step in steps:
            at = at[int(step) if isinstance(at, list) else step]
        if last == "-":
            at.append(operation["value"])
        elif operation["op"] == "remove":
            del at[last]
        else:
            at[int(last) if isinstance(at, list) else last] = operation["value"]
    return json.dumps(made)


def contents(*steps):
    with open(os.path.join(support.ROOT, *steps), "rb") as file:
        return file.read()


def cases(kind, good=()):
    """(name, bytes of the input, path, words) of every case of tests/data/bad_input/KIND."""
    where = os.path.join("tests", "data", "bad_input", kind)
    for name in sorted(os.listdir(os.path.join(support.ROOT, where))):
        path, *words = contents(where, name, "error").decode().splitlines()
        change = os.path.join(where, name, "change.json")
        body = patched(contents(*good), json.loads(contents(change))) if os.path.exists(os.path.join(support.ROOT, change)) \
            else contents(where, name, "input.json")
        yield kind + "/" + name, body, path, words


def refused(probe, name, reply, path, words):
    probe.answer(name, reply, (400, 422), *words)
    probe.checks.same(str(reply.problem.get("path", "")), path, name + ": the path")


def bad_documents(probe, head, student):
    """Every case that the readers refuse is refused here too, with the same words."""
    for case in cases("swing", ("tests", "data", "every_part.json")):
        refused(probe, case[0], head.post("/v1/students/%s/swings" % student, case[1]), *case[2:])
    for kind, good in (("standard", ("server", "standard", "default.json")), ("markers", ())):
        tag = head.get("/v1/" + kind).header("ETag")
        for case in cases(kind, good):
            refused(probe, case[0], head.put("/v1/" + kind, case[1], match=tag), *case[2:])
    for case in cases("standard", ("server", "standard", "default.json")):
        refused(probe, case[0] + ", tried", head.post("/v1/standard/try", case[1]), *case[2:])


def long_documents(probe, head, student):
    text = json.dumps(document())
    many = {"rate_hz": 240, "frame": "target_up_right", "points": {"lead_wrist": [[0, 1, 0]] * 10001}}
    crowd = document()
    crowd["views"][0]["frames"][0]["points"] = {"p%d" % n: [1, 1] for n in range(10001)}
    for name, body, words in (
            ("nesting 10 000 deep", "[" * 10000 + "]" * 10000, []),
            ("a number of 10 000 digits", text.replace("4.0", "4." + "0" * 10000, 1), []),
            ("10 001 samples", document(motion=many), ["motion.points.lead_wrist", "5000"]),
            ("10 001 points in a frame", crowd, ["views[0].frames[0].points.p0"])):
        probe.answer(name, head.post("/v1/students/%s/swings" % student, body), (400, 422), *words)


def bad_objects(probe, head, student):
    """The other bodies: unknown keys, wrong types, limits."""
    path = "/v1/students/" + student
    tag = head.get(path).header("ETag")
    bad = (400, 422)
    probe.answer("a student with an unknown key", head.post("/v1/students", {"name": "A", "hand": "right", "colour": "red"}),
                 bad, "colour")
    probe.answer("a student without a name", head.post("/v1/students", {"hand": "right"}), bad, "name")
    probe.answer("a student with an ambidextrous hand", head.post("/v1/students", {"name": "A", "hand": "both"}), bad, "hand")
    probe.answer("a name that is a number", head.post("/v1/students", {"name": 7, "hand": "right"}), bad, "name")
    probe.answer("a height of 17 m", head.patch(path, {"height_m": 17}, match=tag), bad, "height_m")
    probe.answer("an unknown role", head.post("/v1/accounts", {"role": "king", "sign_in": "k", "name": "K",
                                                               "password": "a long enough one"}), bad, "role")
    probe.answer("a short password", head.post("/v1/accounts", {"role": "coach", "sign_in": "k", "name": "K",
                                                                "password": "short"}), bad, "password")
    probe.answer("a fix for no fault", head.post(path + "/fixes", {"fault": "nothing_at_all"}), bad, "fault")
    probe.answer("a page of 0", head.get("/v1/students?limit=0"), bad, "limit")
    probe.answer("a page of a million", head.get("/v1/students?limit=1000000"), bad, "limit")
    probe.answer("a cursor that is none", head.get("/v1/students?after=%27%3B--"), bad, "after")
    probe.answer("an unknown query", head.get("/v1/students?page=2"), bad, "page")
    probe.answer("an id that is none", head.get("/v1/students/1"), (400, 404))
    probe.answer("nothing at this address", head.get("/v1/nothing"), 404)
    probe.answer("a method the address does not take", head.request("DELETE", "/v1/overview"), 405, "GET")


def versions(probe, head, student):
    path = "/v1/students/" + student
    tag = head.get(path).header("ETag")
    probe.answer("an edit without If-Match", head.patch(path, {"wants": "straighter"}), 428, "if-match")
    moved = head.patch(path, {"wants": "straighter"}, match=tag)
    probe.checks.status(moved, 200, "an edit with the right If-Match")
    probe.moved()
    probe.answer("a stale If-Match", head.patch(path, {"wants": "longer"}, match=tag), 412)
    probe.answer("an If-Match that is no tag", head.patch(path, {"wants": "longer"}, match="abc"), (400, 412), "if-match")
    probe.answer("If-Match of any", head.patch(path, {"wants": "longer"}, match='"999999"'), 412)
    swings = path + "/swings"
    first = head.post(swings, document(), key="same-key")
    probe.checks.status(first, 201, "an upload under a key")
    probe.moved()
    again = head.post(swings, document(), key="same-key")
    probe.checks.ok(again.status == first.status and again.body == first.body, "the same upload again: the same answer",
                    "%s %s" % (again.status, again.body[:200]))
    probe.untouched("the same upload again")
    probe.answer("the same key with another body", head.post(swings, support.numbered(1), key="same-key"), 422,
                 "idempotency-key")
    probe.answer("the same key at another address", head.post("/v1/students", {"name": "B", "hand": "left"}, key="same-key"),
                 422, "idempotency-key")


def tokens(probe, server, head, coach, student, other):
    me = "/v1/me"
    probe.answer("no token", server.client().get(me), 401)
    for name, token in (("a forged token", "A" * 43), ("a short token", "abc"), ("a token of 5 000 letters", "a" * 5000),
                        ("SQL for a token", "' OR 1=1 --"), ("a cut token", head.token[:-1]),
                        ("a token with one letter changed", ("B" if head.token[0] != "B" else "C") + head.token[1:])):
        probe.answer(name, server.client(token).get(me), 401)
    probe.answer("a bearer's token as a cookie", server.client().get(me, headers={"Cookie": "leadside_session=" + head.token}),
                 401)
    late = server.sign_in()
    server.write("UPDATE session SET expires = 1 WHERE id = (SELECT max(id) FROM session)")
    probe.moved()
    probe.answer("an expired token", late.get(me), 401)
    gone = server.sign_in()
    probe.checks.status(gone.request("POST", "/v1/sign-out"), (200, 204), "signing out")
    probe.moved()
    probe.answer("a revoked token", gone.get(me), 401)
    probe.answer("another team's student", coach.get("/v1/students/" + other), 404)
    probe.answer("an upload for another team's student", coach.post("/v1/students/%s/swings" % other, document()), 404)
    probe.answer("a student that is not there", coach.get("/v1/students/01900000-0000-7000-8000-000000000000"), 404)


def guesses(checks):
    """3 000 wrong passwords on 30 lines, with the limits that the server has unless told otherwise."""
    server = Server(checks)
    head = server.sign_in()
    probe = Prober(checks, server)
    began = time.monotonic()

    def guess(line):
        client, seen = server.client(), []
        for n in range(line, 3000, 30):
            name = support.HEAD["sign_in"] if n % 2 else "nobody%d" % (n % 50)
            reply = client.request("POST", "/v1/sign-in", {"sign_in": name, "password": "guess number %d" % n})
            seen.append((reply.status, reply.status in (429, 503) and not reply.header("Retry-After")))
        return seen

    with concurrent.futures.ThreadPoolExecutor(30) as pool:
        seen = [answer for answers in pool.map(guess, range(30)) for answer in answers]
    seconds = time.monotonic() - began
    counts, without = collections.Counter(status for status, _ in seen), sum(silent for _, silent in seen)
    print("3 000 guesses: %.1f s, %s" % (seconds, dict(counts)))
    checks.ok(len(seen) == 3000 and seconds < 60, "3 000 guesses are answered within a minute", seconds)
    checks.ok(set(counts) <= {401, 429, 503} and counts.get(429, 0) > 2700, "nearly all are answered 429", counts)
    checks.ok(seconds > 100 * .1 * .8, "and each of them after a moment, so that asking on costs little", seconds)
    checks.ok(counts.get(401, 0) > 0, "the first ones are looked at", counts)
    checks.same(without, 0, "every 429 says when to come again")
    checks.status(head.get("/v1/me"), 200, "who is signed in goes on working")
    sessions = server.query("SELECT count(*) FROM session")[0][0]
    checks.same(sessions, 1, "no session came of it")
    probe_tables = server.query("SELECT count(*) FROM audit")[0][0]
    checks.ok(probe_tables < 1000, "guessing does not fill the file", "%d audit rows" % probe_tables)
    del probe
    server.end()


def bad_motion(probe, head, student):
    """Marker files that lie, and motion that can't be measured."""
    path, query = "/v1/students/%s/swings" % student, motion_files.QUERY
    c3d_type, trc_type = "application/c3d", "text/tab-separated-values"
    names, frames = motion_files.recording()
    trc, c3d = motion_files.trc(names, frames), motion_files.c3d(names, frames)

    def send(name, body, kind, *words, query=query):
        probe.answer(name, head.post(path + query, body, content_type=kind), 422, *words)
    send("a TRC sent as C3D", trc, c3d_type, "header")
    send("a C3D sent as TRC", c3d, trc_type, "PathFileType")
    send("a C3D sent as JSON", c3d, "application/json")
    send("bytes of neither kind", b"RIFF" + bytes(600), "application/octet-stream", "c3d")
    send("a header that lies about its points", motion_files.c3d(names, frames, points=3000), c3d_type, "point")
    for end in (1, 2, 511, 512, 513, 900, len(c3d) // 2, len(c3d) - 600):
        send("a C3D cut after %d bytes" % end, c3d[:end], c3d_type)
    outside = bytearray(c3d)
    outside[0] = 200
    send("a parameter section outside the file", bytes(outside), c3d_type)
    lines = trc.split(b"\n")
    short = lines[:20] + [b"\t".join(lines[20].split(b"\t")[:-4])] + lines[21:]
    send("a TRC with a column missing", b"\n".join(short), trc_type, "line 21")
    for word in (b"nan", b"inf", b"1e400", b"x"):
        cells = lines[20].split(b"\t")
        cells[5] = word
        send("a TRC with the number " + word.decode(), b"\n".join(lines[:20] + [b"\t".join(cells)] + lines[21:]), trc_type, "line 21")
    send("a TRC of three frames", motion_files.trc(names, frames[:3]), trc_type)
    send("a TRC of nothing but gaps", b"\n".join(lines[:6] + [b"\t".join(line.split(b"\t")[:2] + [b""] * (3 * len(names)))
                                                            for line in lines[6:-1]] + [b""]), trc_type)
    send("one frame over and over", motion_files.trc(names, frames[:1] * len(frames)), trc_type)
    send("no target", trc, trc_type, "target", "point along", query="?up=%2Bz")
    send("a player who faces away from the target", trc, trc_type, "target", query=query.replace("-y", "%2By"))
    for count in (0, 1):
        made = motion_files.document(seconds=1.5)
        made["motion"]["points"] = {name: places[:count] for name, places in made["motion"]["points"].items()}
        probe.answer("a motion block of %d samples" % count, head.post(path, made), 422, "motion")
    made = motion_files.document()
    made["motion"]["points"]["clubhead"] = made["motion"]["points"]["clubhead"][:-1]
    probe.answer("points of unequal length", head.post(path, made), 422, "motion")
    probe.raw("a C3D of 9 MiB", head_of("POST", path + query, head.token, "Content-Type: application/c3d",
                                        "Idempotency-Key: big", "Content-Length: %d" % (9 << 20)), (413,), ["bytes"], within=2)


def main():
    checks = Checks("test_bad_input")
    server = Server(checks, options=["--no-throttle", "--deadline", str(DEADLINE)])
    head = server.sign_in()
    coach_id, coach = server.account(head, "coach", "coach")
    student = head.post("/v1/students", {"name": "Own Student", "hand": "right"}).json["id"]
    other = head.post("/v1/students", {"name": "Other Student", "hand": "left"}).json["id"]
    checks.status(head.put("/v1/students/%s/team/%s" % (student, coach_id)), (200, 201, 204), "the coach joins one team")
    probe = Prober(checks, server)
    for group, arguments in ((framing, (head.token, student)), (slowness, (head.token, student)), (sizes, (head, student)),
                             (types, (head, student)), (bad_documents, (head, student)),
                             (long_documents, (head, student)), (bad_objects, (head, student)),
                             (bad_motion, (head, student)),
                             (versions, (head, student)), (tokens, (server, head, coach, student, other))):
        group(probe, *arguments)
    checks.status(coach.post("/v1/students/%s/swings" % student, document()), 201, "after all that a good upload is stored")
    server.end()
    guesses(checks)
    checks.finish()


main()
