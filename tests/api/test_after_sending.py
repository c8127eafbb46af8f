"""What may be done to a swing after it was sent, and what follows from it: corrected marks, a swing not to be counted, one that
belongs to another student. The figures before and after are worked out here from the reports and not read off the server."""
import time

import support
from support import Checks, Server, document


def stamp(ahead=0.0):
    return time.strftime("%Y-%m-%dT%H:%M:%SZ", time.gmtime(time.time() + ahead))


def student(head, name="Ada", **more):
    made = head.post("/v1/students", {"name": name, "hand": "right", **more})
    assert made.status == 201, made.body
    return made.json["id"]


def future(checks, server, head):
    """The tablet's clock may be a little ahead, and not by days: such a swing would be the newest for years."""
    path = "/v1/students/%s/swings" % student(head)
    before = server.dump()
    for ahead in (25 * 3600, 400 * 86400):
        reply = head.post(path, document(recorded_at=stamp(ahead)))
        checks.ok(reply.status == 422 and reply.problem["type"].endswith("future-swing") and reply.problem["path"] == "recorded_at",
                  "a swing of %d days ahead is refused" % (ahead // 86400), reply.body[:300])
    checks.same(server.dump(), before, "and nothing is kept")
    checks.status(head.post(path, document(recorded_at=stamp(23 * 3600))), 201, "one of the next hours is taken: clocks and zones differ")


PARTS = (future,)


def main():
    checks = Checks("test_after_sending")
    server = Server(checks, options=["--no-throttle"])
    head = server.sign_in()
    for part in PARTS:
        try:
            part(checks, server, head)
        except Exception as error:  # one part's surprise must not hide the others
            checks.ok(False, part.__name__ + " ran to its end", repr(error))
    server.end()
    checks.finish()


if __name__ == "__main__":
    main()
