"""deploy/nginx.conf as it stands, with other ports and a certificate of the test's own, in front of a server: signing in by
cookie passes on a port that is not 443, and what nginx adds is there. Skipped where nginx is missing."""
import http.client
import json
import os
import re
import shutil
import socket
import ssl
import subprocess
import tempfile
import time

import support
from support import Checks, Server

NAME = "localhost"


class Proxy:
    """nginx in the foreground, in a folder of its own."""

    def __init__(self, upstream):
        self.folder = tempfile.mkdtemp(prefix="leadside-nginx-")
        self.port, self.plain = support.free_port(), support.free_port()
        key, certificate = os.path.join(self.folder, "key.pem"), os.path.join(self.folder, "certificate.pem")
        subprocess.run(["openssl", "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-days", "2", "-subj", "/CN=" + NAME,
                        "-keyout", key, "-out", certificate], check=True, stderr=subprocess.DEVNULL)
        with open(os.path.join(support.ROOT, "deploy", "nginx.conf")) as file:
            site = file.read()
        self.count = 0
        for old, new in ((r"listen \[::\]:\d+[^;]*;", ""), (r"listen 443 ", "listen 127.0.0.1:%d " % self.port),
                         (r"listen 80;", "listen 127.0.0.1:%d;" % self.plain), (r"academy\.example", NAME),
                         (r"/etc/ssl/certs/academy\.pem", certificate), (r"/etc/ssl/private/academy\.key", key),
                         (r"127\.0\.0\.1:8470", "127.0.0.1:%d" % upstream)):
            site, found = re.subn(old, new, site)
            self.count += found > 0
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
                               "X-Forwarded-For: 203.0.113.9", "https://127.0.0.1:%d/healthz" % proxy.port],
                              capture_output=True, text=True)
        checks.same(done.stdout, "2 200", "a request over HTTP/2 is answered")
    time.sleep(0.5)
    with open(log) as file:
        text = file.read()
    checks.ok('"from":"127.0.0.0/24"' in text and "203.0.113" not in text, "a caller's own X-Forwarded-For is not believed")


def main():
    checks = Checks("test_proxy")
    if not shutil.which("nginx") or not shutil.which("openssl"):
        checks.skip("the reverse proxy", "nginx or openssl is missing")
        checks.finish()
    log = tempfile.mktemp(prefix="leadside-log-")
    server = Server(checks, options=["--behind-proxy", "--no-throttle", "--log", log])
    proxy = Proxy(server.port)
    try:
        checks.same(proxy.count, 7, "every place that the test changes is in the file")
        cookies(checks, proxy)
        events(checks, server, proxy)
        added(checks, proxy, log)
    finally:
        proxy.end()
    server.end()
    os.unlink(log)
    checks.finish()


main()
