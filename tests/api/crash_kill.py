"""The power of an answer: 200 times (or the first number given) the server is killed with SIGKILL at a random moment while six clients do a
deed each, in turn of every kind in deeds.py, and two upload swings. After every restart what was answered is there with all that
belongs to it, once; what was not answered is there whole or not at all, and said again it is there once. `leadside check` runs after
every tenth kill, and counts anew what is kept of each coach. Every third time the server is killed once more while it starts.

The kill models a crash of the program, not of the machine: what the kernel holds is not lost (tests/long/power_cut.py)."""
import random
import sys
import time

from deeds import KINDS, Club, Life, Told
from support import Checks, Server


def main():
    rounds = next((int(argument) for argument in sys.argv[1:] if argument.isdigit()), 200)
    random.seed(20261127)
    checks = Checks("crash_kill")
    server = Server(checks, options=["--no-throttle"])
    club = Club(server)
    told, students, starts, clean, looked, early = Told(club), [club.student("Uploading %d" % n) for n in range(2)], [], 0, 0, 0
    for number in range(rounds):
        life = Life(club, number, students)
        server.kill()
        life.over()
        if number % 3 == 0:
            server.launch()
            time.sleep(random.uniform(0, starts[-1] if starts else .1))
            server.kill()
            early += 1
        server.start()
        starts.append(server.start_seconds)
        club.moved_to(server.port)
        told.after(life)
        if number % 10 == 9 or number == rounds - 1:
            sound, output = server.check_file()
            clean, looked = clean + sound, looked + 1
            told.wrong += [] if sound else ["kill %d: check: %s" % (number, output)]
        if len(told.wrong) > 10:
            break
    print("%d kills and %d while it started: %d answered and there; unanswered %d on disk and %d not, of %s; start to ready %.0f ms (median)" % (
        len(starts), early, told.answered, told.there, told.lost, {kind: sorted(states) for kind, states in sorted(told.kinds.items())},
        1000 * sorted(starts)[len(starts) // 2]))
    checks.same(len(starts), rounds, "the server came back after each kill")
    checks.ok(not told.wrong, "what was answered is there whole, what was not is there whole or not at all, and once when said again", "; ".join(map(str, told.wrong[:5])))
    checks.ok(told.lost > 0 and (told.there > 0 or rounds < 100), "kills came both before and after a commit that was never answered", (told.there, told.lost))
    checks.ok(len(told.kinds) == len(KINDS) or rounds < 60, "of every kind one was killed unanswered", sorted(told.kinds))
    checks.ok(told.uploads and told.whole(students), "the file holds one swing, with its report, for each upload and no other", len(told.uploads))
    checks.same(clean, looked, "leadside check was clean every time")
    server.end()
    checks.finish()


main()
