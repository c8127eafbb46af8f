"""What every answer carries whatever it is (policies of the browser), the forms in which a request may name its target, and
answers packed with gzip."""
import gzip
import json
import re

import support
from support import Checks, Server, raw

PAGE = "script-src 'self'"
DATA = "default-src 'none'; frame-ancestors 'none'"


def policies(checks, server, head, mine):
    """One place says it for all kinds of answers."""
    kinds = {
        "page": ("/", PAGE), "bay": ("/bay.html", "'wasm-unsafe-eval'"), "script": ("/front.js", PAGE), "style": ("/leadside.css", DATA),
        "drawing": ("/icon.svg", DATA), "JSON": ("/v1/me", DATA), "list": ("/v1/students", DATA), "report": (
            "/v1/swings/%s/report" % mine["swings"], DATA), "still": ("/v1/swings/%s/stills/face_on-top" % mine["swings"], DATA),
        "calendar": ("/calendar/" + mine["token"], DATA), "export": ("/v1/students/%s/export" % mine["students"], DATA),
        "description": ("/v1/openapi.json", DATA), "metrics": ("/metrics", DATA), "nothing there": ("/nothing", DATA),
        "refused": ("/v1/students?nonsense=1", DATA)}
    for name, (path, policy) in kinds.items():
        told(checks, name, head.get(path), policy)
    told(checks, "not signed in", server.client().get("/v1/me"), DATA)
    told(checks, "made", head.post("/v1/students", {"name": "Perch Testing", "hand": "right"}), DATA)
    told(checks, "no content", head.put("/v1/students/%s/team/%s" % (mine["students"], mine["account_id"])), DATA)
    told(checks, "other method", head.delete("/v1/me"), DATA)
    _, text, _ = raw(server.port, b"GET /a\\b HTTP/1.1\r\nHost: h\r\n\r\n")
    checks.ok(b"Referrer-Policy: no-referrer" in text, "a bad address is answered with the policies as well", text[:300])


def told(checks, name, reply, policy):
    wanted = {"X-Content-Type-Options": "nosniff", "Referrer-Policy": "no-referrer",
              "Permissions-Policy": ("camera=(self), microphone=(self)" if name == "bay" else "camera=(), microphone=()") + ", geolocation=()"}
    got = {key: reply.header(key) for key in wanted}
    checks.same(got, wanted, "%s (%d) carries the policies" % (name, reply.status))
    found = reply.header("Content-Security-Policy") or ""
    checks.ok(policy in found and "frame-ancestors 'none'" in found, name + " carries its content policy", found)
    checks.ok("unsafe-inline" not in found and "unsafe-eval'" not in found.replace("'wasm-unsafe-eval'", ""),
              name + ": nothing inline", found)


def targets(checks, server):
    def status(text):
        return raw(server.port, text.encode())[0]
    checks.same(status("GET http://h/healthz HTTP/1.1\r\nHost: h\r\nConnection: close\r\n\r\n"), 200, "a whole address is a target")
    checks.same(status("GET HTTPS://h:8470/healthz?x=1 HTTP/1.1\r\nHost: h\r\n\r\n"), 400, "its query is looked at")
    checks.same(status("GET http://other HTTP/1.1\r\nHost: h\r\nConnection: close\r\n\r\n"), 200, "without a path it is the front page")
    checks.same(status("GET http://other?x=1 HTTP/1.1\r\nHost: h\r\nConnection: close\r\n\r\n"), 400, "and then with a query")
    for bad in ("http:///healthz", "http://a@b/healthz", "http://h/..", "ftp://h/healthz", "http:/healthz", "//h/../healthz"):
        checks.same(status("GET %s HTTP/1.1\r\nHost: h\r\n\r\n" % bad), 400, bad + " is none")
    checks.same(status("GET http://h/healthz HTTP/1.1\r\n\r\n"), 400, "HTTP/1.1 needs a Host beside it")
    checks.same(status("GET /healthz HTTP/1.0\r\n\r\n"), 200, "HTTP/1.0 needs no Host")
    checks.same(status("GET /healthz HTTP/1.0\r\nHost: a\r\nHost: b\r\n\r\n"), 400, "two are two in HTTP/1.0 as well")
    checks.same(status("GET /healthz HTTP/1.0\r\nHost: a b\r\n\r\n"), 400, "and one that is none is refused")
    signed = server.client().request("POST", "/v1/sign-in", {**support.HEAD, "cookie": True},
                                     headers={"Origin": "http://127.0.0.1:%d" % server.port})
    cookie = "; ".join(value.split(";")[0] for name, value in signed.headers if name.lower() == "set-cookie")

    def change(target, origin):
        return status("POST %s HTTP/1.1\r\nHost: mine\r\nOrigin: %s\r\nCookie: %s\r\nContent-Length: 2\r\n"
                      "Content-Type: application/json\r\nConnection: close\r\n\r\n{}" % (target, origin, cookie))
    checks.same(change("http://theirs/v1/me/confirm", "http://mine"), 403, "the host of the target counts, not the other one")
    checks.same(change("http://mine/v1/me/confirm", "http://mine"), 422, "and is an origin like any")


def packed(checks, server, head, mine):
    for n in range(12):
        head.post("/v1/students", {"name": "Alder Testing %d" % n, "hand": "left"})
    plain = head.get("/v1/students")
    checks.same(plain.header("Content-Encoding"), None, "who says nothing gets it plain")
    checks.same(plain.header("Vary"), "Accept-Encoding", "and a cache is told that there are two")
    takes = ("gzip", "gzip, deflate, br", "x-gzip", "*", "br;q=1, gzip;q=0.001", "GZIP; Q=1", "identity;q=0, *;q=0.5")
    for accepted in takes:
        reply = head.get("/v1/students", headers={"Accept-Encoding": accepted})
        checks.same(reply.header("Content-Encoding"), "gzip", accepted + " takes gzip")
        checks.ok(len(reply.body) < len(plain.body) / 2 and json.loads(gzip.decompress(reply.body)) == plain.json,
                  accepted + ": it is the same list", len(reply.body))
    for accepted in ("identity", "gzip;q=0", "gzip;q=0.000, *", "*;q=0", "gzipped", "br", "", "gzip;q=nonsense"):
        reply = head.get("/v1/students", headers={"Accept-Encoding": accepted})
        checks.same(reply.header("Content-Encoding"), None, "%r does not" % accepted)
    gz = {"Accept-Encoding": "gzip"}
    report = "/v1/swings/%s/report" % mine["swings"]
    plain, short = head.get(report), head.get(report, headers=gz)
    checks.same([(reply.header("Content-Encoding"), reply.header("Vary")) for reply in (plain, short)],
                [(None, "Accept-Encoding"), ("gzip", "Accept-Encoding")], "a report is packed for whoever takes it, plain for others")
    checks.ok(len(short.body) < len(plain.body) / 2 and gzip.decompress(short.body) == plain.body, "to the same bytes",
              (len(plain.body), len(short.body)))
    checks.same(head.get("/v1/me", headers=gz).header("Content-Encoding"), None, "a short answer stays as it is")
    checks.same(head.get("/v1/standard", headers=gz).header("Content-Encoding"), None, "what has an ETag for If-Match as well")
    made = server.client().request("POST", "/v1/sign-in", support.HEAD, headers=gz)
    checks.same(made.header("Content-Encoding"), None, "and what holds a token")


def files(checks, server, head):
    """Pages and the description: a strong tag for each representation, 304 for what is known, a worker that names all it keeps."""
    gz = {"Accept-Encoding": "gzip"}
    for path in ("/", "/bay.html", "/front.js", "/leadside.css", "/words/de.json", "/v1/openapi.json"):
        plain, short = head.get(path), head.get(path, headers=gz)
        checks.ok(len(short.body) < len(plain.body) and gzip.decompress(short.body) == plain.body and
                  short.header("Content-Encoding") == "gzip", path + " is the same, packed", len(short.body))
        checks.same([plain.header("Vary"), short.header("Vary")], ["Accept-Encoding"] * 2, path + " depends on what is accepted")
        checks.same([plain.header("Cache-Control"), short.header("Cache-Control")], ["no-cache"] * 2, path + " is asked for anew")
        tags = [plain.header("ETag"), short.header("ETag")]
        checks.ok(tags[0] != tags[1] and not any(tag.startswith("W/") for tag in tags), path + " has two strong tags", tags)
        for known in (tags[0], '"x", %s' % tags[0], "W/" + tags[0], "*", "W/\"y\",%s" % tags[0]):
            reply = head.get(path, headers={"If-None-Match": known})
            checks.same([reply.status, reply.body, reply.header("ETag"), reply.header("Vary")], [304, b"", tags[0], "Accept-Encoding"],
                        "%s is known by %s" % (path, known))
            policy = reply.header("Content-Security-Policy")
            checks.ok(policy in (None, plain.header("Content-Security-Policy")), path + ": its policy stays as it was kept", policy)
        for other in (tags[1], tags[0].strip('"'), '"x"', tags[0][:-1], ""):
            checks.same(head.get(path, headers={"If-None-Match": other}).status, 200, "%s is not known by %s" % (path, other))
        checks.same(head.get(path, headers={"If-None-Match": tags[1], **gz}).status, 304, path + ": the packed one is known by its own")
    worker = head.get("/worker.js").body.decode()
    kept = json.loads(re.search(r"const SHELL = (\[.*?\]);", worker).group(1))
    gone = [path for path in kept if head.get(path).status != 200]
    checks.ok(len(kept) > 40 and not gone and "/bay/bay.js" in kept and {"/home.html", "/home/home.js", "/home/round.js", "/home/home.css"} <= set(kept) and "/words/en.json" in kept, "the worker keeps what is there", gone)
    checks.ok(not any(path.startswith(("/desk", "/worker")) for path in kept), "and no room that needs the network", kept)
    checks.ok(re.search(r'"leadside-pages-[0-9a-f]{16}"', worker), "under a version of all of it")


def main():
    checks = Checks("test_answers")
    server = Server(checks, options=["--no-throttle"])
    head = server.sign_in()
    targets(checks, server)
    mine = support.one_of_everything(server, head)
    packed(checks, server, head, mine)
    files(checks, server, head)
    policies(checks, server, head, mine)
    server.end()
    checks.finish()


main()
