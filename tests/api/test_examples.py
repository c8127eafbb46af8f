"""The examples of docs/openapi.json, sent as they stand to a real club: the answer has the status, the schema and the shape
(the same keys and kinds) of the example. Ids and secrets of an example stand for what was made before: the first answer that
shows one says what it is from then on. An empty list or object in an example leaves out what is there."""
import base64
import copy
import json
import re
import time

import support
from authenticator import App
from support import Checks, Server
from test_openapi import Description, answer_fits, example_of, kind_of

# In an order in which each finds what it is about; and who asks. The head begins, and the coach comes by the one-time link.
STEPS = """
anyone isAlive isReady getMetrics getDescription getHome signIn
head getMe listSessions confirmMe createAccount getAccount listAccounts updateAccount createLink
anyone join
coach changePassword
head createDevice getDevice listDevices updateDevice
coach createStudent listStudents getStudent updateStudent
setup family
coach listFamily addToFamily
coach addToTeam removeFromTeam createHandover listHandovers getHandover answerHandover giveConsent listConsents askConsent listRequests createNote listNotes getNote
coach createSwing listSwings getSwing getSwingReport getSwingFile putStill listStills getStill correctMarks listRevisions getRevision
coach putOpinion listOpinions
coach createLesson listLessons getLessonReport
head createDrill getDrill listDrills updateDrill
coach createFix listToday listFixes getFix getProgress listRetests listDueRetests moveRetest
student listMyHomework createCalendar
anyone getCalendar
setup tick
student undoHomeworkDone markHomeworkDone
coach createRound listRounds getRound getTransfer removeRound
coach listHomework getHomework listInbox listenToEvents markInboxSeen updateHomework updateFix
student removeCalendar signOut
head getReliability getDrillEffects
head getAgreement getFigures importStudents exportStudents
head getOverview listAudit getStandard tryStandard
setup job
head getStandardJob putStandard listStandards getStandardVersion restoreStandard getMarkers putMarkers exportStudent
setup repeats
head takeSpread rescoreSwings stopStandardJob
coach startSecondFactor
setup app
coach confirmSecondFactor removeSecondFactor removeStill voidSwing moveSwing withdrawConsent
head eraseStudent leaveClub eraseAccount endSession
"""
SIGNED_IN = {"signIn": "head", "join": "coach"}  # whose token the answer holds
SECOND_STUDENT = "019a7c00-0000-7000-8000-000000000098"  # made beside the examples: whose the swing is in the end
SECOND_COACH = "019a7c00-0000-7000-8000-000000000099"  # made beside the examples: who joins the team
GUARDIAN, JUNIOR = ("019a7c00-0000-7000-8000-0000000000%d" % n for n in (71, 72))  # made beside the examples: a guardian of another junior
CODE = "492039"  # what the authenticator app shows
UUID = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}")
NAME = re.compile(r"^[^\s:;={]+", re.MULTILINE)  # of a line of text
SECRETS = ("token", "password", "url_path")


class Examples:
    def __init__(self, checks):
        self.checks = checks
        self.server = self.make_server(checks, ["--no-throttle"])
        self.description = Description(self.server.client().get("/v1/openapi.json").json)
        self.operations = {operation["operationId"]: (method, path, operation)
                           for method, path, operation, _ in self.description.operations()}
        self.clients = {"anyone": self.server.client()}
        self.sent = set()
        self.stands = {}  # what an example has: what it is here

    def make_server(self, checks, options):
        return Server(checks, options=options)

    # ---- what an example stands for ----

    def real(self, value):
        """An example with the ids and secrets of this club."""
        if isinstance(value, dict):
            return {name: self.real(item) for name, item in value.items()}
        if isinstance(value, list):
            return [self.real(item) for item in value]
        return self.stands.get(value, value) if isinstance(value, str) else value

    def faults(self, example, got, stands, where="$", name=""):
        """What of an answer has another shape than its example. stands learns what the example's ids stand for."""
        if kind_of(example) != kind_of(got) and {kind_of(example), kind_of(got)} != {"integer", "number"}:
            return ["%s is %s, the example has %s" % (where, kind_of(got), kind_of(example))]
        if isinstance(example, dict) and example:
            if set(example) != set(got):
                return ["%s has other keys than the example: %s" % (where, sorted(set(example) ^ set(got)))]
            return [fault for key in example for fault in self.faults(example[key], got[key], stands, where + "." + key, key)]
        if isinstance(example, list):
            return [fault for at, item in enumerate(example) for fault in self.item_faults(item, got, stands, "%s[%d]" % (where, at), name)]
        if isinstance(example, str) and (UUID.fullmatch(example) or name in SECRETS):
            if name == "url_path":
                example, got = (re.split("[=/]", text)[-1] for text in (example, got))
            if stands.setdefault(example, got) != got:
                return ["%s is %s, not what %s stood for before" % (where, got, example)]
        return []

    def item_faults(self, example, items, stands, where, name):
        """An example's item must be like one of the answer's."""
        nearest = ["%s: the answer's list is empty" % where]
        for item in items:
            tried = copy.copy(stands)
            found = self.faults(example, item, tried, where, name)
            if not found:
                stands.update(tried)
                return []
            nearest = found
        return nearest

    # ---- one operation ----

    def address(self, path, operation):
        def value(found):
            parameter = next(each for each in operation["parameters"] if each.get("name") == found.group(1))
            return self.real(parameter.get("example", "no example of " + found.group(1)))
        address = re.sub(r"\{([^}]+)\}", value, path)
        queries = ["%s=%s" % (each["name"], self.real(each["example"])) for each in operation.get("parameters", ())
                   if each.get("in") == "query" and "example" in each]
        return address + ("?" + "&".join(queries) if queries else "")

    def send(self, name, who):
        method, path, operation = self.operations[name]
        kind, body = example_of(operation.get("requestBody", {}).get("content"))
        if kind and "json" in kind:
            if name not in self.sent:
                faults = self.description.faults(operation["requestBody"]["content"][kind]["schema"], body)
                self.checks.ok(not faults, name + ": the example of the request is as its schema", faults)
                self.sent.add(name)
            body = self.real(body)
        elif kind and kind.startswith("text/"):
            body = body.encode()
        elif kind:
            body = base64.b64decode(body)
        asked = [each["$ref"].rsplit("/", 1)[-1] for each in operation.get("parameters", ()) if "$ref" in each]
        return self.clients[who].request(method, self.address(path, operation), body, content_type=kind,
                                         key=support.fresh_key() if "IdempotencyKey" in asked else None,
                                         match="*" if "IfMatch" in asked else None)

    def judge(self, name, reply):
        checks, operation = self.checks, self.operations[name][2]
        status = next(code for code in operation["responses"] if code.startswith("2"))
        if not checks.status(reply, int(status), "%s: the example is answered with %s" % (name, status)):
            return
        wrong = answer_fits(self.description, operation, reply)
        checks.ok(not wrong, name + ": the answer is as its schema", wrong)
        content = operation["responses"][status].get("content")
        kind, example = example_of(content)
        if not content:
            return
        if not checks.ok(kind is not None, name + ": its answer has an example"):
            return
        checks.same((reply.header("Content-Type") or "").split(";")[0], kind, name + ": the answer's kind is the example's")
        if "json" in kind:
            faults = self.description.faults(content[kind]["schema"], example)
            checks.ok(not faults, name + ": the example of the answer is as its schema", faults)
            faults = self.faults(example, reply.json, self.stands)
            checks.ok(not faults, name + ": the answer has the shape of its example", faults[:4])
        elif kind.startswith("text/"):
            names = set(re.findall(NAME, reply.body.decode()))
            checks.ok(set(re.findall(NAME, example)) <= names, name + ": the answer has the lines of its example", reply.body[:80])
        else:
            checks.same(reply.body, base64.b64decode(example), name + ": the answer is its example")

    # ---- all of them ----

    def setup(self, what):
        if what == "family":
            student = self.operations["createNote"][2]["parameters"][0]["example"]
            _, self.clients["student"] = self.server.account(self.clients["head"], "student", "linnet", "Linnet Tallowmere",
                                                             student_id=self.stands[student])
            juniors = [self.clients["coach"].post("/v1/students", {"name": "Junior %d" % n, "hand": "right", "birth_year": 2015, "consent": {"by": "Rowan"}}).json["id"]
                       for n in range(2)]
            self.stands[JUNIOR] = juniors[0]
            self.stands[GUARDIAN], _ = self.server.account(self.clients["head"], "guardian", "juniper", "Juniper", students=juniors[1:])
            made = self.clients["coach"].post("/v1/students", {"name": "Second Student", "hand": "right"})
            self.stands[SECOND_STUDENT] = made.json["id"]
            self.stands[SECOND_COACH], _ = self.server.account(self.clients["head"], "coach", "second.coach")
        elif what == "job":
            while self.clients["head"].get("/v1/standard/job").json["job"]["state"] == "running":
                time.sleep(.05)
        elif what == "repeats":
            for n in range(20):
                self.repeat(self.clients["head"], n)
        elif what == "tick":
            homework, tick = (each["example"] for each in self.operations["undoHomeworkDone"][2]["parameters"])
            self.stands[tick] = self.clients["student"].post("/v1/homework/%s/done" % self.stands[homework], {}).json["id"]
        else:
            self.stands[CODE] = App(self.secret).code()

    @staticmethod
    def repeat(head, n):
        """A student who made three swings in one lesson, by the eye of somebody who sees to three degrees."""
        student = head.post("/v1/students", {"name": "Repeating Student", "hand": "right"}).json["id"]
        swings = []
        for k in range(3):
            made = support.numbered(3 * n + k)
            made["measured"] = [{"measure": "shaft_cross", "checkpoint": "top", "value": n + 9 * k * (-1) ** n, "sd": 3, "source": "by eye"}]
            swings.append(head.post("/v1/students/%s/swings" % student, made).json["id"])
        head.post("/v1/students/%s/lessons" % student, {"held_at": "2026-02-01T09:00:00Z", "swings": swings})

    def step(self, name, who):
        reply = self.send(name, who)
        self.judge(name, reply)
        if name in SIGNED_IN and reply.status == 200:
            self.clients[SIGNED_IN[name]] = self.server.client(reply.json["token"])
        self.secret = reply.json["secret"] if name == "startSecondFactor" else getattr(self, "secret", None)

    def walk(self):
        steps = [(who, name) for who, *names in map(str.split, STEPS.strip().splitlines()) for name in names]
        named = [name for who, name in steps if who != "setup"]
        self.checks.same(sorted(named), sorted(self.operations), "every operation's example is sent, once")
        self.take(steps)

    def take(self, steps):
        for who, name in steps:
            if who == "setup":
                self.setup(name)
            else:
                self.step(name, who)


def main():
    checks = Checks("test_examples")
    examples = Examples(checks)
    examples.walk()
    examples.server.end()
    checks.finish()


if __name__ == "__main__":
    main()
