#!/usr/bin/python3
"""The first fix against the definition, evaluated backwards by plain recursion, on random acyclic graphs."""
import random
import subprocess
import sys

CASES = 800
NOT_OBSERVED, PRESENT = 0, 3


def random_case(rng, faults, stages):
    case_contested = rng.choice([0, 0.2, 0.7, 0.95])
    case = {
        "verdict": [rng.choice([0, 1, 2, 3, 3]) for _ in range(faults)],
        "stage": [rng.randrange(stages) for _ in range(faults)],
        "ease": [rng.uniform(0.5, 1.5) for _ in range(stages)],
        "importance": [rng.uniform(0, 1) for _ in range(faults)],
        "match": [rng.choice([0.0, rng.uniform(0.05, 1), -rng.uniform(0.05, 1)]) for _ in range(faults)],
        "contested": [rng.random() < case_contested for _ in range(faults)],
        "expected": [rng.uniform(0, 1) for _ in range(faults)],
    }
    limits = {0: (0, 0), 1: (0, 0.2), 2: (0.2, 0.8), 3: (0.8, 1)}
    case["p"] = [rng.uniform(*limits[v]) for v in case["verdict"]]
    order = list(range(faults))
    rng.shuffle(order)
    density = rng.uniform(0.03, 0.25)
    edges = [(order[a], order[b], rng.uniform(0.05, 0.9)) for a in range(faults) for b in range(a + 1, faults)
             if rng.random() < density]
    rng.shuffle(edges)
    case["edges"] = edges
    return case


def share(case, source, target):
    if source == target:
        return 1.0
    left = 1.0
    for parent, child, strength in case["edges"]:
        if child == target and (parent == source or case["verdict"][parent] in (NOT_OBSERVED, PRESENT)):
            left *= 1 - share(case, source, parent) * strength
    return 1 - left


def ancestors_share(case, faults):
    """share() for every present source; the recursion is cut where the source cannot reach the target."""
    children = {f: set() for f in range(faults)}
    for parent, child, _ in case["edges"]:
        children[parent].add(child)
    table = {}
    for source in range(faults):
        if case["verdict"][source] != PRESENT:
            continue
        reach, stack = {source}, [source]
        while stack:
            for child in children[stack.pop()] - reach:
                reach.add(child)
                stack.append(child)
        part = dict(case, edges=[e for e in case["edges"] if e[0] in reach and e[1] in reach])
        table[source] = [share(part, source, j) if j in reach else 0.0 for j in range(faults)]
    return table


def ball(match):
    """A ball that fits counts up to half more; one that doesn't, with a likelihood ratio of 1/9 at least, as much less."""
    return 1 + match / 2 if match >= 0 else (1 + max(1 + match, 1 / 9)) / 2


def may_lead(case, table, i):
    if not case["contested"][i] or case["match"][i] != 0:
        return not case["contested"][i] or case["match"][i] > 0
    return any(j != i and case["verdict"][j] == PRESENT and not case["contested"][j] and r >= 0.1 for j, r in enumerate(table[i]))


def solve(case, faults):
    u = [case["p"][j] * case["expected"][j] * case["importance"][j] for j in range(faults)]
    table = ancestors_share(case, faults)
    chosen = []
    while len(chosen) < 2:
        scores = {i: sum(r * x for r, x in zip(table[i], u)) * case["ease"][case["stage"][i]] *
                  ball(case["match"][i]) for i in table if i not in [c[0] for c in chosen] and (chosen or may_lead(case, table, i))}
        if not scores:
            break
        best = max(sorted(scores), key=lambda i: scores[i])
        if chosen and scores[best] < chosen[0][1] / 2:
            break
        chosen.append((best, scores[best]))
        u = [x * (1 - r) for x, r in zip(u, table[best])]
    return chosen, table


def main():
    build = sys.argv[1]
    rng = random.Random(8)
    driver = f"{build}/tests/external_firstfix"
    first = subprocess.run([driver], input="", capture_output=True, text=True, check=True).stdout
    faults, stages = (int(x) for x in first.split())
    cases = [random_case(rng, faults, stages) for _ in range(CASES)]
    text = []
    for case in cases:
        for f in range(faults):
            text.append(f"{case['verdict'][f]} {case['p'][f]!r} {case['expected'][f]!r} {case['importance'][f]!r} "
                        f"{case['stage'][f]} {case['match'][f]!r} {int(case['contested'][f])}")
        text.append(" ".join(repr(e) for e in case["ease"]))
        text.append(f"{len(case['edges'])} " + " ".join(f"{a} {b} {s!r}" for a, b, s in case["edges"]))
    out = subprocess.run([driver], input="\n".join(text) + "\n", capture_output=True, text=True, check=True)
    lines = out.stdout.splitlines()[1:]
    wrong = {"choice": 0, "priority": 0, "explains": 0, "leave alone": 0}
    if len(lines) != CASES:
        print(f"the driver answered {len(lines)} of {CASES} cases")
        wrong["choice"] += 1
    twice = held = 0
    for case, line in zip(cases, lines):
        row = line.split()
        count, got, at = int(row[0]), [], 1
        for _ in range(count):
            got.append((int(row[at]), float(row[at + 1]), [float(x) for x in row[at + 2:at + 2 + faults]]))
            at += 2 + faults
        alone = [int(x) for x in row[at:]]
        want, table = solve(case, faults)
        twice += len(want) == 2
        held += want[:1] != solve(dict(case, contested=[False] * faults), faults)[0][:1]
        if [g[0] for g in got] != [w[0] for w in want]:
            wrong["choice"] += 1
            continue
        wrong["priority"] += any(abs(g[1] - w[1]) > 1e-9 for g, w in zip(got, want))
        for fault, _, explains in got:
            expect = [table[fault][j] if case["verdict"][j] == PRESENT and j != fault else 0 for j in range(faults)]
            wrong["explains"] += any(abs(a - b) > 1e-9 for a, b in zip(explains, expect))
        chosen = [g[0] for g in got]
        wrong["leave alone"] += alone != [int(case["verdict"][j] == PRESENT and j not in chosen) for j in range(faults)]
    passed = failed = 0
    for what, count in wrong.items():
        good = count == 0
        passed, failed = passed + good, failed + (not good)
        print(f"{what}: {count} of {CASES} random graphs differ {'ok' if good else 'FAILED'}")
    good = CASES // 5 < twice < CASES - CASES // 5  # both ways are tried often
    passed, failed = passed + good, failed + (not good)
    print(f"graphs with two fixes: {twice} {'ok' if good else 'FAILED'}")
    good = held > CASES // 20
    passed, failed = passed + good, failed + (not good)
    print(f"graphs in which a contested fault would have come first: {held} {'ok' if good else 'FAILED'}")
    print(f"check_firstfix: {passed} passed, {failed} failed, 0 skipped")
    return 1 if failed else 0


sys.exit(main())
