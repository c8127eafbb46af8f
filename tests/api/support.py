"""What every test over real HTTP needs: a server of its own in a fresh directory, clients, documents, and honest totals.

The program under test is LEADSIDE_BUILD/leadside (or the first argument's). Standard library only; run by /usr/bin/python3.
A sanitizer report of any process started here, or an exit status other than 0 after SIGTERM, is a failure.
"""
import calendar
import copy
import glob
import hashlib
import http.client
import json
import os
import re
import shutil
import signal
import socket
import sqlite3
import struct
import subprocess
import sys
import tempfile
import time
import zlib

HERE = os.path.dirname(os.path.abspath(__file__))
ROOT = os.path.dirname(os.path.dirname(HERE))
HEAD = {"sign_in": "head", "password": "a quiet green morning"}
STUDENT_ID = re.compile(r"^[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$")


def build_dir():
    where = sys.argv[1] if len(sys.argv) > 1 and os.path.isdir(sys.argv[1]) else os.environ.get("LEADSIDE_BUILD")
    if not where:
        sys.exit("say which build to test: LEADSIDE_BUILD=DIR or the first argument")
    program = os.path.join(where, "leadside")
    if not os.access(program, os.X_OK):
        sys.exit(program + " is not there: build it first")
    return os.path.abspath(where)


class Checks:
    """Counts checks and prints one line for each; finish() prints the totals and ends the program."""

    def __init__(self, name):
        self.name, self.passed, self.failed, self.skipped = name, 0, 0, 0

    def ok(self, condition, label, detail=""):
        if condition:
            self.passed += 1
            print("ok      " + label, flush=True)
        else:
            self.failed += 1
            print("FAILED  %s: %s" % (label, str(detail)[:600]), flush=True)
        return bool(condition)

    def same(self, got, expected, label):
        return self.ok(got == expected, label, "expected %r, got %r" % (expected, got))

    def parts(self, parts, scene):
        """Plays each part(checks, scene): one part's surprise must not hide the others."""
        for part in parts:
            try:
                part(self, scene)
            except Exception as error:
                self.ok(False, part.__name__ + " ran to its end", repr(error))

    def skip(self, label, why):
        self.skipped += 1
        print("skipped %s: %s" % (label, why), flush=True)

    def status(self, reply, expected, label):
        wanted = expected if isinstance(expected, (tuple, list, set)) else (expected,)
        return self.ok(reply.status in wanted, label, "expected %s, got %s %s" % (
            "/".join(map(str, wanted)), reply.status, reply.body[:300]))

    def finish(self):
        print("%s: %d passed, %d failed, %d skipped" % (self.name, self.passed, self.failed, self.skipped), flush=True)
        sys.exit(1 if self.failed or not (self.passed or self.skipped) else 0)


class Reply:
    def __init__(self, status, headers, body):
        self.status, self.headers, self.body = status, headers, body

    @property
    def json(self):
        return json.loads(self.body)

    def header(self, name):
        for key, value in self.headers:
            if key.lower() == name.lower():
                return value
        return None

    @property
    def problem(self):
        """The problem document, or {} when the answer is none."""
        if not (self.header("Content-Type") or "").startswith("application/problem+json"):
            return {}
        try:
            return self.json
        except ValueError:
            return {}


class Client:
    """One kept-alive connection with (or without) a token."""

    def __init__(self, port, token=None, device=None, timeout=60):
        self.port, self.token, self.device, self.timeout = port, token, device, timeout
        self.connection = None

    def request(self, method, path, body=None, headers=None, key=None, match=None, content_type="application/json"):
        sent = {"Accept": "application/json"}
        if self.token:
            sent["Authorization"] = "Bearer " + self.token
        if self.device:
            sent["X-Leadside-Device"] = self.device
        if body is not None and not isinstance(body, (bytes, str)):
            body = json.dumps(body)
        if body is not None:
            body = body.encode() if isinstance(body, str) else body
            sent["Content-Type"] = content_type
        if key:
            sent["Idempotency-Key"] = key
        if match:
            sent["If-Match"] = match
        sent.update(headers or {})
        for attempt in (0, 1):
            if self.connection is None:
                self.connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=self.timeout)
            fresh = self.connection.sock is None
            try:
                self.connection.request(method, path, body, sent)
                answer = self.connection.getresponse()
                if answer.getheader("Content-Type") == "text/event-stream":  # what it begins with: it has no end
                    data = b"".join(iter(answer.readline, b"\n")) + b"\n"
                    self.close()
                    return Reply(answer.status, answer.getheaders(), data)
                data = answer.read()
                return Reply(answer.status, answer.getheaders(), data)
            except (http.client.RemoteDisconnected, ConnectionResetError, BrokenPipeError):
                self.close()
                # a kept-alive connection may have been closed meanwhile; a fresh one may not
                if fresh or attempt:
                    raise
            except Exception:
                self.close()
                raise
        raise AssertionError("unreachable")

    def close(self):
        if self.connection is not None:
            self.connection.close()
            self.connection = None

    def get(self, path, **more):
        return self.request("GET", path, **more)

    def post(self, path, body=None, key="", **more):
        """A POST with a fresh Idempotency-Key unless one is given (None = without one)."""
        key = fresh_key() if key == "" else key
        return self.request("POST", path, body, key=key, **more)

    def put(self, path, body=None, **more):
        return self.request("PUT", path, body, **more)

    def patch(self, path, body=None, **more):
        return self.request("PATCH", path, body, **more)

    def delete(self, path, **more):
        return self.request("DELETE", path, **more)


def datetime_of(text):
    """Seconds since 1970 of an RFC 3339 text of the server's."""
    return calendar.timegm(time.strptime(text[:19], "%Y-%m-%dT%H:%M:%S"))


def fresh_key():
    return "key-" + os.urandom(12).hex()


def raw(port, data, timeout=15, half_close=False, pieces=None):
    """Sends bytes as they are, returns (status or None, all bytes received, seconds). pieces: [(delay, bytes), ...]."""
    started = time.monotonic()
    received = b""
    with socket.create_connection(("127.0.0.1", port), timeout=timeout) as line:
        try:
            if data:
                line.sendall(data)
            for delay, piece in pieces or ():
                line.settimeout(max(delay, 0.001))
                try:
                    early = line.recv(65536)
                    received += early
                    break  # answered, or closed, before we were done
                except socket.timeout:
                    pass
                line.settimeout(timeout)
                line.sendall(piece)
            if half_close:
                line.shutdown(socket.SHUT_WR)
        except (BrokenPipeError, ConnectionResetError):
            pass
        line.settimeout(timeout)
        try:
            while True:
                more = line.recv(65536)
                if not more:
                    break
                received += more
                if complete(received):
                    break
        except (socket.timeout, ConnectionResetError):
            pass
    found = re.match(rb"HTTP/1\.[01] (\d{3})", received)
    return (int(found.group(1)) if found else None), received, time.monotonic() - started


def complete(data):
    """Is one whole answer with a Content-Length there?"""
    head, mark, body = data.partition(b"\r\n\r\n")
    length = re.search(rb"(?im)^content-length: *(\d+)", head)
    return bool(mark) and length is not None and len(body) >= int(length.group(1))


def free_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


class Server:
    """`leadside serve` on a fresh club (or a directory that is there already)."""

    def __init__(self, checks, options=(), data=None, init=True, start=True):
        self.checks, self.options = checks, list(options)
        self.build = build_dir()
        self.program = os.path.join(self.build, "leadside")
        self.root = tempfile.mkdtemp(prefix="leadside-test-")
        self.data = data or os.path.join(self.root, "data")
        self.reports = os.path.join(self.root, "san")
        os.makedirs(self.reports, exist_ok=True)
        self.log_path = os.path.join(self.root, "serve.log")
        self.process, self.port, self.start_seconds = None, None, None
        if init:
            self.init()
        if start:
            self.start()

    def environment(self):
        env = dict(os.environ)
        env["ASAN_OPTIONS"] = "log_path=%s/asan:detect_leaks=1:abort_on_error=0" % self.reports
        env["UBSAN_OPTIONS"] = "log_path=%s/ubsan:print_stacktrace=1" % self.reports
        return env

    def command(self, *arguments, text=None, timeout=120):
        return subprocess.run([self.program, *arguments], input=text, text=True, timeout=timeout,
                              stdout=subprocess.PIPE, stderr=subprocess.PIPE, env=self.environment())

    def init(self):
        done = self.command("init", "--data", self.data, "--club", "Larkfield Heath", "--name", "Head Professional",
                            "--sign-in", HEAD["sign_in"], text=HEAD["password"] + "\n" + HEAD["password"] + "\n")
        if done.returncode != 0:
            sys.exit("leadside init failed: %s %s" % (done.stdout, done.stderr))

    def launch(self):
        """Begins to start, and waits for nothing."""
        self.port = free_port()
        log = open(self.log_path, "ab")
        self.process = subprocess.Popen([self.program, "serve", "--data", self.data, "--listen",
                                         "127.0.0.1:%d" % self.port, *self.options],
                                        stdout=log, stderr=log, env=self.environment())
        log.close()

    def start(self, wait=20):
        began = time.monotonic()
        self.launch()
        while time.monotonic() - began < wait:
            if self.process.poll() is not None:
                raise RuntimeError("serve ended with %s: %s" % (self.process.returncode, self.log_tail()))
            try:
                with socket.create_connection(("127.0.0.1", self.port), timeout=1) as line:
                    line.settimeout(2)
                    line.sendall(b"GET /readyz HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n")
                    if line.recv(12) == b"HTTP/1.1 200":
                        self.start_seconds = time.monotonic() - began
                        return self
            except OSError:
                pass
            time.sleep(0.002)
        raise RuntimeError("not ready after %d s: %s" % (wait, self.log_tail()))

    def log_tail(self):
        with open(self.log_path, "rb") as log:
            return log.read()[-2000:].decode("utf-8", "replace")

    def kill(self):
        self.process.send_signal(signal.SIGKILL)
        self.process.wait()

    def stop(self, timeout=30):
        """SIGTERM; returns the exit status (None when it had to be killed)."""
        if self.process.poll() is None:
            self.process.send_signal(signal.SIGTERM)
        try:
            return self.process.wait(timeout)
        except subprocess.TimeoutExpired:
            self.kill()
            return None

    def sanitizer_reports(self):
        return sorted(glob.glob(self.reports + "/*"))

    def check_file(self):
        """`leadside check`: (sound?, output)."""
        done = self.command("check", "--data", self.data)
        return done.returncode == 0, done.stdout + done.stderr

    def end(self, keep=False):
        """Stops, and checks the ending: exit 0, a sound file, no sanitizer report. Removes everything."""
        status = self.stop()
        self.checks.ok(status == 0, "SIGTERM ends the server with 0", "%s: %s" % (status, self.log_tail()))
        sound, output = self.check_file()
        self.checks.ok(sound, "leadside check finds the file sound", output)
        reports = self.sanitizer_reports()
        text = "".join(open(path, errors="replace").read()[:1500] for path in reports[:2])
        self.checks.ok(not reports, "no sanitizer report", text)
        if not keep:
            shutil.rmtree(self.root, ignore_errors=True)

    # ---- clients ----

    def client(self, token=None, device=None, timeout=60):
        return Client(self.port, token, device, timeout)

    def sign_in(self, sign_in=HEAD["sign_in"], password=HEAD["password"], device=None):
        reply = self.client(device=device).request("POST", "/v1/sign-in", {"sign_in": sign_in, "password": password})
        if reply.status not in (200, 201):
            raise RuntimeError("sign-in of %s: %s %s" % (sign_in, reply.status, reply.body))
        return self.client(reply.json["token"], device)

    def account(self, head, role, sign_in, name=None, **more):
        """An account whose first password has been changed to a lasting one: (id, signed-in client)."""
        reply = head.post("/v1/accounts", {"role": role, "sign_in": sign_in, "name": name or sign_in.title(), **more})
        if reply.status != 201:
            raise RuntimeError("account %s: %s %s" % (sign_in, reply.status, reply.body))
        client = self.sign_in(sign_in, reply.json["password"])
        client.sign_in_name, client.password = sign_in, "lasting words of " + sign_in
        changed = client.request("POST", "/v1/me/password", {"old": reply.json["password"], "new": client.password})
        if changed.status != 204:
            raise RuntimeError("password of %s: %s %s" % (sign_in, changed.status, changed.body))
        return reply.json["id"], client

    # ---- the file, read from outside ----

    MOVING = {"session": ("last_seen",), "device": ("last_seen",)}
    ARRIVING = {"audit": "action NOT IN ('student.read', 'student.list')"}

    def dump(self, without=()):
        """Hash of every row of every table, without what legitimately moves (when a session was last seen) or
        arrives by itself (who read what, which no reader waits for)."""
        database = sqlite3.connect("file:%s/leadside.db?mode=ro" % self.data, uri=True)
        total = hashlib.sha256()
        try:
            database.execute("BEGIN")
            names = [row[0] for row in database.execute(
                "SELECT name FROM sqlite_schema WHERE type='table' AND name NOT LIKE 'sqlite_%' ORDER BY name")
                if row[0] not in without]
            for name in names:
                moving = self.MOVING.get(name, ())
                columns = [row[1] for row in database.execute("PRAGMA table_info(%s)" % name) if row[1] not in moving]
                listed = ",".join('"%s"' % column for column in columns)
                rows = sorted(repr(row) for row in database.execute("SELECT %s FROM %s WHERE %s" % (
                    listed, name, self.ARRIVING.get(name, "1"))))
                total.update((name + "\n" + "\n".join(rows) + "\n").encode())
        finally:
            database.close()
        return total.hexdigest()

    def write(self, sql, *values):
        """Changes the file beside the running server, which seals the pages when it folds them in (a plain SQLite that closes
        the file last, or folds them in itself, would leave them without their seals)."""
        database = sqlite3.connect(self.data + "/leadside.db", timeout=10)
        database.execute("PRAGMA wal_autocheckpoint = 0")
        try:
            with database:
                return database.execute(sql, values).rowcount
        finally:
            database.close()

    def query(self, sql, *values):
        database = sqlite3.connect("file:%s/leadside.db?mode=ro" % self.data, uri=True)
        database.create_function("unpacked", 2, unpacked)
        try:
            return database.execute(sql, values).fetchall()
        finally:
            database.close()


def unpacked(packed, size):
    """What the program keeps packed: a zlib stream begun with one of its dictionaries."""
    for dictionary in sorted(glob.glob(os.path.join(ROOT, "server", "store", "engine", "packed_with", "*.json"))):
        with open(dictionary, "rb") as file:
            try:
                text = zlib.decompressobj(zdict=file.read()).decompress(packed)
                return text if len(text) == size else None
            except zlib.error:
                continue
    return None


# ---- documents ----

DOCUMENT = {
    "schema": "leadside.swing/1",
    "recorded_at": "2026-05-02T09:14:05Z",
    "shot": "full",
    "hand": "right",
    "club": {"kind": "iron", "number": 7, "length_m": 0.94},
    "views": [
        {"view": "down_the_line", "fps": 60,
         "image": {"width": 1920, "height": 1080},
         "camera": {"hfov_deg": 62, "distance_m": 4.0, "height_m": 1.0},
         "sticks": [[[912, 1010], [955, 640]], [[700, 1015], [905, 640]]],
         "target": [948, 402],
         "frames": [
             {"checkpoint": "address", "time_s": 0.00,
              "points": {"grip": [1001, 655], "butt": [985, 640], "clubhead": [1180, 905], "ball": [1190, 915],
                         "lead_hip": [930, 560]}},
             {"checkpoint": "top", "time_s": 0.92, "points": {"grip": [870, 330], "clubhead": [925, 318]}}]},
        {"view": "face_on", "fps": 60,
         "image": {"width": 1920, "height": 1080},
         "camera": {"hfov_deg": 62, "distance_m": 4.0, "height_m": 1.0},
         "frames": [
             {"checkpoint": "address", "time_s": 0.00,
              "points": {"neck": [940, 380], "lead_shoulder": [1010, 410], "trail_shoulder": [870, 415],
                         "lead_hip": [985, 620], "trail_hip": [895, 620], "lead_ankle": [1030, 960],
                         "trail_ankle": [850, 960], "grip": [960, 600], "clubhead": [965, 950], "head": [942, 310]}},
             {"checkpoint": "shaft_through", "time_s": 1.30,
              "points": {"lead_shoulder": [1000, 400], "lead_elbow": [1130, 520], "lead_wrist": [1090, 600],
                         "lead_hip": [1020, 620], "trail_hip": [930, 620], "neck": [930, 380]}}]}],
    "weight": [{"checkpoint": "arm_back", "lead_share": 0.34, "source": "scale"}],
    "flight": {"start": "left", "curve": "right", "strike": "thin", "path_deg": -4.1, "face_deg": 1.5},
    "measured": [{"measure": "shaft_direction", "checkpoint": "shaft_back", "value": -24, "sd": 2, "source": "by eye"},
                 {"measure": "shaft_cross", "checkpoint": "top", "value": 20, "sd": 3, "source": "by eye"}],
    "seen": [{"fault": "chicken_wing", "severity": "clear"}],
}


def document(**changes):
    made = copy.deepcopy(DOCUMENT)
    made.update(changes)
    return made


def numbered(n):
    """A document whose bytes differ from every other n's (its recording time counts seconds)."""
    stamp = time.strftime("%Y-%m-%dT%H:%M:%SZ", time.gmtime(1767225600 + n))
    return document(recorded_at=stamp)


def assign(coach, student, fault, drills=(), **more):
    """Opens a fix; with drills, those are given, else what the report suggests. Returns the reply, which must be 201."""
    body = {"fault": fault, "reason": "seen on the lesson tee", **more}
    if drills:
        body["drills"] = [{"drill": drill} for drill in drills]
    reply = coach.post("/v1/students/%s/fixes" % student, body)
    if reply.status != 201:
        raise RuntimeError("fix: %s %s" % (reply.status, reply.body))
    return reply


def trial(head, standard):
    """The trial of a standard, once it has gone through every swing."""
    begun = head.post("/v1/standard/try", standard)
    assert begun.status == 202, begun.body
    return job_over(head)


def job_over(head):
    """The standard's job when it no longer runs."""
    deadline = time.monotonic() + 120
    while time.monotonic() < deadline:
        job = head.get("/v1/standard/job").json["job"]
        if job["state"] != "running":
            return job
        time.sleep(.05)
    raise AssertionError("the job did not end: %s" % job)


def sanitized(server):
    """Whether the program has its memory watched: linked into it by one compiler, beside it by another."""
    with open("/proc/%d/maps" % server.process.pid) as maps, open(server.program, "rb") as program:
        return "libasan" in maps.read() or b"__asan_init" in program.read()


def png(width=8, height=6, chunks=()):
    """A small grey picture; chunks: [(type, body), ...] to stand between its header and its pixels."""
    def chunk(kind, body):
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))
    rows = b"".join(b"\0" + bytes((x * 16 + y) % 256 for x in range(width)) for y in range(height))
    return (b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0))
            + b"".join(chunk(*each) for each in chunks) + chunk(b"IDAT", zlib.compress(rows)) + chunk(b"IEND", b""))


def listed(reply):
    """The items of a list, whatever it is a list of."""
    lists = [value for value in reply.json.values() if isinstance(value, list)]
    assert len(lists) == 1, reply.body
    return lists[0]


def listed_all(client, path, name):
    """Every page of a list."""
    items = []
    while path:
        reply = client.get(path)
        items += reply.json[name]
        link = re.search(r'<([^>]+)>; *rel="next"', reply.header("Link") or "")
        path = link and link.group(1)
    return items


def one_of_everything(server, head):
    """One student with a team, a family and one row of each kind: {collection of the path: id, "... client": client}."""
    student = head.post("/v1/students", {"name": "Own Student", "hand": "right", "junior": True, "birth_year": 2013,
                                         "consent": {"by": "Own Guardian"}})
    if student.status != 201:
        raise RuntimeError("student: %s" % student.body)
    mine = {"students": student.json["id"]}
    path = "/v1/students/" + mine["students"]
    mine["account_id"], mine["coach client"] = server.account(head, "coach", "own.coach")
    mine["accounts"] = mine["account_id"]
    mine["family"], mine["student client"] = server.account(head, "student", "own.student", student_id=mine["students"])
    _, mine["guardian client"] = server.account(head, "guardian", "own.guardian", students=[mine["students"]])
    joined = head.put("%s/team/%s" % (path, mine["account_id"]))
    if joined.status != 204:
        raise RuntimeError("team: %s" % joined.body)
    coach = mine["coach client"]
    with open(os.path.join(ROOT, "tests", "data", "two_views.json"), "rb") as file:
        swing = coach.post(path + "/swings", file.read())
    if swing.status != 201:
        raise RuntimeError("swing: %s" % swing.body)
    mine["swings"] = swing.json["id"]
    mine["scope"] = "store_pictures"
    mine["number"] = "1"
    mine["stills"] = mine["still"] = "face_on-top"
    still = coach.put("/v1/swings/%s/stills/%s" % (mine["swings"], mine["still"]), png(), content_type="image/png")
    if still.status != 200:
        raise RuntimeError("still: %s" % still.body)
    mine["fixes"] = assign(coach, mine["students"], "chicken_wing").json["id"]
    mine["retests"] = listed(coach.get(path + "/retests"))[0]["id"]
    lesson = coach.post(path + "/lessons", {"held_at": "2026-05-02T09:00:00Z", "swings": [mine["swings"]]})
    mine["lessons"] = lesson.json["id"] if lesson.status == 201 else None
    mine["lesson reply"] = lesson
    mine["homework"] = mine["student client"].get("/v1/me/homework").json["homework"][0]["id"]
    said = mine["student client"].post("/v1/homework/%s/done" % mine["homework"], {"comment": "went well"})
    if said.status != 201:
        raise RuntimeError("tick: %s" % said.body)
    mine["tick"] = mine["student client"].post("/v1/homework/%s/done" % mine["homework"], {}).json["id"]
    mine["rounds"] = mine["student client"].post(path + "/rounds", {"shots": [{"hole": 1, "start": "right", "curve": "straight", "strike": "flush"}]}).json["id"]
    mine["notes"] = coach.post(path + "/notes", {"text": "Keep the grip light.", "readers": ["student", "guardian"]}).json["id"]
    heir, _ = server.account(head, "coach", "own.heir")
    mine["handovers"] = coach.post(path + "/handovers", {"to": heir, "note": "In May."}).json["id"]
    mine["inbox"] = listed(coach.get("/v1/inbox"))[0]["id"]
    mine["token"] = mine["guardian client"].request("POST", "/v1/me/calendar").json["url_path"].rpartition("/")[2]
    mine["drills"] = fitting(head, "chicken_wing")[0]
    device = head.post("/v1/devices", {"name": "Bay 1"})
    mine["devices"] = device.json["id"] if device.status == 201 else None
    mine["session"] = mine["sessions"] = listed(head.get("/v1/me/sessions"))[0]["id"]
    return mine


def fitting(head, fault):
    """Two drills that fit a fault."""
    drills = listed(head.get("/v1/drills?limit=200"))
    return [drill["id"] for drill in drills if fault in drill["faults"]][:2]
