"""deploy/nginx.conf as it stands, with other ports and a certificate of the test's own, in front of a server: signing in by
cookie passes on a port that is not 443, and what nginx adds is there. Skipped where nginx is missing."""
import contextlib
import http.client
import json
import os
import re
import shutil
import socket
import ssl
import subprocess
import sys
import tempfile
import time

import support
from activate import Activated
from support import Checks, Server

NAME = "localhost"


def has_six():
    try:
        with socket.socket(socket.AF_INET6) as probe:
            probe.bind(("::1", 0))
        return True
    except OSError:
        return False


class Proxy:
    """nginx in the foreground, in a folder of its own; `changes` of the file besides those that a test needs: (what, by what)."""

    def __init__(self, upstream, changes=()):
        self.folder = tempfile.mkdtemp(prefix="leadside-nginx-")
        self.port, self.plain = support.free_port(), support.free_port()
        key, certificate = os.path.join(self.folder, "key.pem"), os.path.join(self.folder, "certificate.pem")
        subprocess.run(["openssl", "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-days", "2", "-subj", "/CN=" + NAME,
                        "-keyout", key, "-out", certificate], check=True, stderr=subprocess.DEVNULL)
        with open(os.path.join(support.ROOT, "deploy", "nginx.conf")) as file:
            site = file.read()
        self.six = has_six()
        for old, new in ((r"listen \[::\]:80", "listen [::1]:%d" % self.plain if self.six else "#"),
                         (r"listen \[::\]:443", "listen [::1]:%d" % self.port if self.six else "#"),
                         (r"listen 443 ", "listen 127.0.0.1:%d " % self.port), (r"listen 80;", "listen 127.0.0.1:%d;" % self.plain),
                         (r"academy\.example", NAME), (r"/etc/ssl/certs/academy\.pem", certificate),
                         (r"/etc/ssl/private/academy\.key", key), (r"127\.0\.0\.1:8470", "127.0.0.1:%d" % upstream), *changes):
            site, found = re.subn(old, new, site)
            if not found:
                sys.exit("deploy/nginx.conf has no %s any more" % old)
        paths = "".join("%s_temp_path %s;\n" % (name, os.path.join(self.folder, name))
                        for name in ("client_body", "proxy", "fastcgi", "uwsgi", "scgi"))
        whole = ("daemon off; pid %s/pid; error_log %s/error.log; worker_processes 1;\nevents {}\nhttp {\ninclude /etc/nginx/mime.types;\n"
                 "access_log %s/access.log;\n%s%s}\n" % (self.folder, self.folder, self.folder, paths, site))
        with open(os.path.join(self.folder, "nginx.conf"), "w") as file:
            file.write(whole)
        self.process = subprocess.Popen(["nginx", "-e", self.folder + "/error.log", "-c", self.folder + "/nginx.conf"],
                                        stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        until = time.monotonic() + 10
        while time.monotonic() < until:
            try:
                socket.create_connection(("127.0.0.1", self.port), timeout=1).close()
                break
            except OSError:
                time.sleep(0.05)

    def context(self):
        context = ssl.create_default_context(cafile=os.path.join(self.folder, "certificate.pem"))
        context.check_hostname = False  # the name is there as a common name alone
        return context

    def ask(self, method, path, body=None, headers=None):
        line = http.client.HTTPSConnection(NAME, self.port, timeout=20, context=self.context())
        sent = {"Content-Type": "application/json"} if body is not None else {}
        sent.update(headers or {})
        line.request(method, path, None if body is None else json.dumps(body), sent)
        answer = line.getresponse()
        reply = support.Reply(answer.status, answer.getheaders(), answer.read())
        line.close()
        return reply

    def protocol(self):
        context = self.context()
        context.set_alpn_protocols(["h2", "http/1.1"])
        with context.wrap_socket(socket.create_connection(("127.0.0.1", self.port)), server_hostname=NAME) as line:
            return line.selected_alpn_protocol()

    def end(self):
        self.process.terminate()
        self.process.wait(20)
        shutil.rmtree(self.folder)


def cookies(checks, proxy):
    origin = "https://%s:%d" % (NAME, proxy.port)
    person = dict(support.HEAD, cookie=True)
    reply = proxy.ask("POST", "/v1/sign-in", person, {"Origin": origin, "Sec-Fetch-Site": "same-origin"})
    checks.status(reply, 200, "signing in by cookie on port %d" % proxy.port)
    cookie = (reply.header("Set-Cookie") or "").partition(";")[0]
    checks.ok(cookie.startswith("__Host-") and "Secure" in reply.header("Set-Cookie"), "the cookie is a secure one", reply.headers)
    own = {"Origin": origin, "Sec-Fetch-Site": "same-origin", "Cookie": cookie}
    made = proxy.ask("POST", "/v1/students", {"name": "Student", "hand": "right"}, dict(own, **{"Idempotency-Key": "k-1"}))
    checks.status(made, 201, "and writing with it")
    path = "/v1/students/" + made.json["id"]
    etag = proxy.ask("GET", path, headers=dict(own, **{"Accept-Encoding": "gzip"})).header("ETag")
    checks.ok(re.match(r'^"\d+-[0-9a-f]{16}"$', etag or ""), "an ETag comes through whole", etag)
    checks.status(proxy.ask("PATCH", path, {"wants": "to play"}, dict(own, **{"If-Match": etag})), 200, "and fits If-Match")
    for foreign in ("https://%s" % NAME, "https://elsewhere.example:%d" % proxy.port, "https://%s:%d" % (NAME, proxy.port + 1)):
        reply = proxy.ask("POST", "/v1/sign-in", person, {"Origin": foreign})
        checks.same((reply.status, reply.problem.get("type")), (403, "urn:leadside:problem:foreign-origin"), "not from " + foreign)


def events(checks, server, proxy):
    """One comes through as it happens: nothing waits for a buffer to fill."""
    head = server.sign_in()
    with proxy.context().wrap_socket(socket.create_connection(("127.0.0.1", proxy.port)), server_hostname=NAME) as line:
        line.sendall(("GET /v1/events HTTP/1.1\r\nHost: %s\r\nAuthorization: Bearer %s\r\nAccept-Encoding: gzip\r\n\r\n" % (NAME, head.token)).encode())
        line.settimeout(5)
        got = b""
        while b"ready" not in got:
            got += line.recv(4096)
        checks.status(head.post("/v1/students", {"name": "Another", "hand": "left"}), 201, "something happens")
        began = time.monotonic()
        while b"event: change" not in got and time.monotonic() < began + 5:
            got += line.recv(4096)
        checks.ok(b"event: change" in got and time.monotonic() - began < 2, "an event comes through at once", got)
        checks.ok(b"content-encoding" not in got.lower(), "and is not packed", got)


def added(checks, proxy, log):
    page = proxy.ask("GET", "/leadside.css", headers={"Accept-Encoding": "gzip"})
    checks.same((page.status, page.header("Content-Encoding")), (200, "gzip"), "pages are compressed")
    checks.same(page.header("Strict-Transport-Security"), "max-age=31536000", "the browser is told to stay with TLS")
    checks.same(proxy.ask("GET", "/v1/me").header("Strict-Transport-Security"), "max-age=31536000", "with a refusal as well")
    checks.same(proxy.protocol(), "h2", "HTTP/2 is spoken")
    plain = http.client.HTTPConnection("127.0.0.1", proxy.plain, timeout=10)
    plain.request("GET", "/desk.html?x=1", headers={"Host": NAME})
    answer = plain.getresponse()
    checks.same((answer.status, answer.getheader("Location")), (308, "https://%s/desk.html?x=1" % NAME), "port 80 leads to TLS")
    plain.close()
    checks.status(proxy.ask("GET", "/metrics"), 403, "figures are not for everybody")
    if shutil.which("curl"):
        done = subprocess.run(["curl", "-sk", "--http2", "-o", "/dev/null", "-w", "%{http_version} %{http_code}", "-H",
                               "X-Forwarded-For: 203.0.113.9", "-H", "Host: " + NAME, "https://127.0.0.1:%d/healthz" % proxy.port],
                              capture_output=True, text=True)
        checks.same(done.stdout, "2 200", "a request over HTTP/2 is answered")
    time.sleep(0.5)
    with open(log) as file:
        text = file.read()
    checks.ok('"from":"127.0.0.0/24"' in text and "203.0.113" not in text, "a caller's own X-Forwarded-For is not believed")


def curl(*arguments):
    return subprocess.run(["curl", "-sk", *arguments], capture_output=True, text=True, timeout=60).stdout


def names(checks, proxy, other):
    """Each name leads to its own club, over IPv4 and IPv6, and another to none; plain HTTP leads to the port that is said."""
    token = other.sign_in().token

    def status(name, address="127.0.0.1"):
        return curl("-o", "/dev/null", "-w", "%{http_code}", "-H", "Host: %s:%d" % (name, proxy.port), "-H", "Authorization: Bearer " + token,
                    "https://%s:%d/v1/me" % (address, proxy.port))

    checks.same([status("north.example"), status(NAME), status("elsewhere.example")], ["200", "401", "421"],
                "one club's token is good under its name alone, and no other name leads anywhere")
    if proxy.six:
        checks.same(status("north.example", "[::1]"), "200", "over IPv6 as well")
    checks.same(curl("-o", "/dev/null", "-w", "%{redirect_url}", "-H", "Host: north.example", "http://127.0.0.1:%d/a?b=c" % proxy.plain),
                "https://north.example:8443/a?b=c", "a port of its own is in the redirect")


def woken(checks, proxy, sleeper):
    """A name may lead to a club that is not running: its socket wakes it."""
    checks.same(sleeper.runs, 0, "a club that nobody came to isn't running")
    said = curl("-o", "/dev/null", "-w", "%{http_code}", "-H", "Host: south.example", "https://127.0.0.1:%d/v1/me" % proxy.port)
    checks.same((said, sleeper.runs), ("401", 1), "who comes to its name wakes it and is answered")


def limits(checks, proxy):
    """Too many requests of one address are refused as Leadside refuses, and others go on."""
    said = curl("-i", "https://127.0.0.1:%d/healthz#[1-60]" % proxy.port, "-H", "Host: " + NAME)
    counts = {code: len(re.findall(r"HTTP/2 %s" % code, said)) for code in ("200", "429", "50.")}
    checks.ok(counts["429"] > 20 and counts["200"] >= 10 and counts["50."] == 0, "past its burst an address is told 429", counts)
    checks.ok("urn:leadside:problem:too-often" in said and "retry-after: 2" in said.lower() and said.lower().count("strict-transport") == 60,
              "as a problem, with Retry-After", said[-400:])
    time.sleep(1.2)
    lines = []
    for _ in range(4):
        line = proxy.context().wrap_socket(socket.create_connection(("127.0.0.1", proxy.port)), server_hostname=NAME)
        line.sendall(("POST /v1/sign-in HTTP/1.1\r\nHost: %s\r\nContent-Type: application/json\r\nContent-Length: 9\r\n\r\n{" % NAME).encode())
        line.settimeout(3)
        lines.append(line)
        time.sleep(0.25)
    got = b""
    with contextlib.suppress(socket.timeout):
        got = lines[3].recv(4096)
    checks.ok(b" 429 " in got, "more at once than it may have is refused", got)
    for line in lines:
        line.close()


def main():
    checks = Checks("test_proxy")
    if not shutil.which("nginx") or not shutil.which("openssl"):
        checks.skip("the reverse proxy", "nginx or openssl is missing")
        checks.finish()
    log = tempfile.mktemp(prefix="leadside-log-")
    server = Server(checks, options=["--behind-proxy", "--no-throttle", "--log", log])
    proxy = Proxy(server.port)
    try:
        cookies(checks, proxy)
        events(checks, server, proxy)
        added(checks, proxy, log)
    finally:
        proxy.end()
    if shutil.which("curl"):
        other = Server(checks, options=["--behind-proxy", "--no-throttle"])
        folder = tempfile.mkdtemp(prefix="leadside-socket-")
        sleeper = Activated(checks, options=["--behind-proxy"], path=os.path.join(folder, "south.sock"))
        os.chmod(folder, 0o755)
        os.chmod(sleeper.path, 0o666)  # nginx's workers are somebody else
        proxy = Proxy(server.port, ((r"#north\.example 127\.0\.0\.1:8471", "north.example 127.0.0.1:%d" % other.port),
                                    (r"#south\.example unix:/run/leadside/south\.sock", "south.example unix:" + sleeper.path),
                                    (r"server_name localhost;", "server_name localhost north.example south.example;"), (r'tls_port ""', 'tls_port ":8443"'),
                                    (r"rate=100r/s", "rate=5r/s"), (r"burst=1000", "burst=10"), (r"at_once 256", "at_once 3")))
        try:
            names(checks, proxy, other)
            woken(checks, proxy, sleeper)
            time.sleep(1.2)
            limits(checks, proxy)
        finally:
            proxy.end()
        other.end()
        sleeper.end()
        shutil.rmtree(folder)
    server.end()
    os.unlink(log)
    checks.finish()


main()
