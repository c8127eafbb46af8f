"""Power of an answer, for what coaches and families tell each other: 25 times (or a fifth of the first number given) the server is
killed with SIGKILL while three coaches hand over, invite, ask for consents, and end and open fixes again. After every restart what was
answered is there once, what is resent is done once, and nothing is half done: `leadside check` runs each time."""
import random
import sys
import threading
import time

import support
from support import Checks, Server

# What must never be there, whenever the server was killed.
HALVES = {
    "a hand-over that nobody was told of, or that is accepted and not in the audit": "SELECT h.id FROM handover AS h WHERE h.status = 'accepted' AND NOT EXISTS"
    " (SELECT 1 FROM audit WHERE object_id = h.id AND action = 'handover.accept')"
    " OR h.status = 'offered' AND NOT EXISTS (SELECT 1 FROM inbox WHERE handover_id = h.id AND kind = 'handover')",
    "a guardian who stands for nobody": "SELECT id FROM account WHERE role = 'guardian' AND NOT EXISTS (SELECT 1 FROM guardian WHERE account_id = account.id)",
    "a consent that was asked for and waits nowhere": "SELECT id FROM consent_request AS q WHERE answered_at IS NULL AND NOT EXISTS (SELECT 1 FROM inbox WHERE request_id = q.id)",
    "a fix that another coach was not told of": "SELECT f.id FROM fix AS f WHERE (SELECT count(*) FROM fix_event WHERE fix_id = f.id) - 1 <>"
    " (SELECT count(*) FROM inbox WHERE fix_id = f.id AND kind = 'fix_changed')",
}


class Coach(threading.Thread):
    """Does one after another until the line breaks. deeds: (key, path, body, id) that were answered; waiting: the one that was not."""

    def __init__(self, client, number, students, other, halt):
        super().__init__(daemon=True)
        self.client, self.number, self.students, self.other, self.halt = client, number, students, other, halt
        self.deeds, self.waiting, self.odd, self.count = [], None, [], 0

    def post(self, path, body):
        key = support.fresh_key()
        self.waiting = (key, path, body)
        reply = self.client.post(path, body, key=key)
        self.waiting = None
        if reply.status == 201:
            self.deeds.append((key, path, body, reply.json["id"]))
        elif reply.status != 409:
            self.odd.append("%s %d %s" % (path, reply.status, reply.body[:200]))
        return reply

    def deed(self):
        student, name = random.choice(self.students), support.fresh_key()
        what = random.randrange(3)
        if what == 0:
            offered = self.post("/v1/students/%s/handovers" % student, {"to": self.other[0], "note": "x", "stays": True})
            if offered.status == 201:
                self.other[1].patch("/v1/handovers/" + offered.json["id"], {"status": random.choice(("accepted", "declined"))}, match='"1"')
        elif what == 1:
            self.post("/v1/students/%s/requests" % student, {"scope": "teach_with"})
            self.post("/v1/students/%s/consents" % student, {"scope": "teach_with", "by": "Rowan"})
        else:
            self.post("/v1/accounts", {"role": "guardian", "name": "Rowan", "sign_in": name, "students": [student]})
        fix = self.client.get("/v1/students/%s/fixes" % student).json["fixes"][0]
        self.client.patch("/v1/fixes/" + fix["id"], {"status": "closed" if fix["status"] == "open" else "open", "reason": "x"}, match='"%d"' % fix["version"])

    def run(self):
        while not self.halt.is_set():
            try:
                self.deed()
            except Exception:  # the line broke: what was sent last is in waiting
                return


def life(server, heads, students, others):
    """One life of the server: who did what."""
    halt = threading.Event()
    coaches = [Coach(server.client(token), n, students[n], (others[n][0], server.client(others[n][1])), halt) for n, token in enumerate(heads)]
    for coach in coaches:
        coach.start()
    time.sleep(random.uniform(.05, .5))
    server.kill()
    halt.set()
    for coach in coaches:
        coach.join(30)
    return coaches


def main():
    rounds = max(5, next((int(argument) for argument in sys.argv[1:] if argument.isdigit()), 125) // 5)
    random.seed(20260503)
    checks = Checks("crash_writes")
    server = Server(checks, options=["--no-throttle"])
    head = server.sign_in()
    made = [server.account(head, "coach", "coach%d" % n) for n in range(3)]
    students = []
    for n, (_, client) in enumerate(made):
        own = [client.post("/v1/students", {"name": "Junior", "hand": "right", "birth_year": 2015, "consent": {"by": "Rowan"}}).json["id"] for _ in range(3)]
        for student in own:
            assert client.put("/v1/students/%s/team/%s" % (student, made[(n + 1) % 3][0])).status == 204
            assert support.assign(client, student, "crowding").status == 201
        students.append(own)
    answered = unheard = 0
    wrong = []
    for number in range(rounds):
        coaches = life(server, [client.token for _, client in made], students, [(made[(n + 1) % 3][0], made[(n + 1) % 3][1].token) for n in range(3)])
        server.start()
        for coach in coaches:
            client = server.client(made[coach.number][1].token)
            wrong += coach.odd
            answered += len(coach.deeds)
            again = random.sample(coach.deeds, min(3, len(coach.deeds))) + ([(*coach.waiting, None)] if coach.waiting else [])
            for key, path, body, was in again:
                reply = client.post(path, body, key=key)
                unheard += was is None
                if was and (reply.status, reply.header("Idempotency-Replayed"), reply.json.get("id")) != (201, "true", was):
                    wrong.append("round %d: %s resent: %d %s" % (number, path, reply.status, reply.body[:200]))
                if not was and reply.status not in (201, 409):
                    wrong.append("round %d: %s not answered, then: %d %s" % (number, path, reply.status, reply.body[:200]))
            client.close()
        for name, half in HALVES.items():
            wrong += ["round %d: %s: %s" % (number, name, row[0]) for row in server.query(half)]
        sound, output = server.check_file()
        wrong += [] if sound else ["round %d: check: %s" % (number, output)]
    print("%d kills, %d writes answered, %d under way when it was killed" % (rounds, answered, unheard))
    checks.ok(not wrong, "every answered write is there once, and none is half done", "; ".join(wrong[:5]))
    checks.ok(answered > 3 * rounds and unheard > 0, "kills came between writes and within them", (answered, unheard))
    server.end()
    checks.finish()


main()
