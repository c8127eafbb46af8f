"""What the records say: sensitivity, false alarms, can't tell, first fix, errors and coverage; and what could be had at
best from the stated errors."""
import numpy as np

from faults import STANDARD, fault_row, range_of

PRESENT, THRESHOLD = .8, .2  # as docs/measures.md
SPREAD = {(s["measure"], s.get("checkpoint")): s["sd"] for s in STANDARD["spread"]}


def share(flags):
    flags = list(flags)
    return sum(flags) / len(flags) if flags else float("nan")


def verdict(record, setup, fault):
    return record["reports"][setup]["faults"][fault][0]


def sd_of(records, setup, key):
    sds = [r["reports"][setup]["measures"][key][1] for r in records if key in r["reports"][setup]["measures"]]
    return float(np.median(sds)) if sds else None


def attainable(records, setup, fault, rng, alone, draws=160, inner=240):
    """How often an honest judge would say present: readings drawn about the truth with the stated sd, each judged by
    its own p(S >= 0.20); of one or two swings (alone) the judge knows besides that the player's next one is another. The
    part of swings on which a required sign was not observed counts as missed."""
    if not records:
        return float("nan")
    found = 0.0
    for r in records[:40]:
        measures = r["reports"][setup]["measures"]
        signs = [(s, (s["measure"], s.get("checkpoint"))) for s in fault_row(fault)["signs"]]
        seen = [(s, k) for s, k in signs if k in measures]
        if not any(s["required"] for s, _ in seen):
            continue
        total = np.zeros((draws, inner))
        weight = 0.0
        for s, k in seen:
            row, sd = range_of(k[0], k[1], r["club"]), measures[k][1]
            next_sd = np.hypot(sd, SPREAD.get(k, 0) if alone else 0)
            value = r["truth"][k] + sd * rng.normal(size=(draws, 1)) + next_sd * rng.normal(size=(draws, inner))
            ok, strong = row["ok_" + s["side"]], row["strong_" + s["side"]]
            total += s["weight"] * np.clip((value - ok) / (strong - ok), 0, 1)
            weight += s["weight"]
        found += np.mean(np.mean(total / weight >= THRESHOLD, axis=1) >= PRESENT)
    return found / len(records[:40])


def binomial_low(n, p, alpha=.001):
    """Fewest hits of n that chance alone still explains when p is right: P(X < it) <= alpha."""
    if n == 0:
        return 0
    from math import lgamma, log, exp
    total = 0.0
    for k in range(n + 1):
        if p >= 1:
            term = 1.0 if k == n else 0.0
        elif p <= 0:
            term = 1.0 if k == 0 else 0.0
        else:
            term = exp(lgamma(n + 1) - lgamma(k + 1) - lgamma(n - k + 1) + k * log(p) + (n - k) * log(1 - p))
        if total + term > alpha:
            return k
        total += term
    return n


def fault_line(records, clean, others, setup, fault, rng, alone=True):
    """Everything the truth table says of one fault in one set-up."""
    own = [r for r in records if setup in r["reports"]]
    clean = [r for r in clean if setup in r["reports"]]
    others = [r for r in others if setup in r["reports"]]
    verdicts = [verdict(r, setup, fault) for r in own]
    hit = [v == "present" for v in verdicts]
    firsts = [r["reports"][setup]["first"][:1] == [fault] for r, h in zip(own, hit) if h]
    only = [r for r, h in zip(own, hit) if h and sum(f[0] == "present" for f in r["reports"][setup]["faults"].values()) == 1]
    quiet = [verdict(r, setup, fault) for r in clean]
    return {"n": len(own), "sensitivity": share(hit), "hits": sum(hit), "attainable": attainable(own, setup, fault, rng, alone),
            "cant": share(v == "can't tell" for v in verdicts), "unseen": share(v == "not observed" for v in verdicts),
            "first": share(firsts), "first_n": len(firsts), "first_hits": sum(firsts),
            "alone_n": len(only), "first_alone": sum(r["reports"][setup]["first"][:1] == [fault] for r in only),
            "clean_n": len(clean), "false": share(v == "present" for v in quiet),
            "false_count": sum(v == "present" for v in quiet), "clean_cant": share(v == "can't tell" for v in quiet),
            "clean_unseen": share(v == "not observed" for v in quiet),
            "cross": share(verdict(r, setup, fault) == "present" for r in others)}


def measure_lines(records, setup):
    """{measure: n, bias, median and 95th centile of the error, empirical and stated sd, coverage of 1.96 sd}."""
    out = {}
    keys = sorted({k for r in records if setup in r["reports"] for k in r["truth"]}, key=lambda k: (k[0], k[1] or ""))
    for key in keys:
        error, sd, n = [], [], 0
        for r in records:
            if setup not in r["reports"]:
                continue
            n += 1
            m = r["reports"][setup]["measures"].get(key)
            if m is not None:
                error.append(m[0] - r["truth"][key])
                sd.append(m[1])
        if not error:
            out[key] = {"n": 0, "of": n}
            continue
        error, sd = np.array(error), np.array(sd)
        out[key] = {"n": len(error), "of": n, "bias": float(error.mean()), "median": float(np.median(np.abs(error))),
                    "p95": float(np.quantile(np.abs(error), .95)), "empirical": float(error.std()),
                    "stated": float(np.sqrt(np.mean(sd ** 2))), "cover": float(np.mean(np.abs(error) <= 1.96 * sd + 1e-9))}
    return out


def number(x, digits=2):
    return "–" if x is None or x != x else "%.*f" % (digits, x)


def fault_table(lines, strong, setup):
    out = ["", "### Faults, %s" % setup, "",
           "| fault | swings | found at clear | best possible | can't tell | not observed | found at strong | false alarms (clean) "
           "| can't tell (clean) | said of other faults' swings | first fix = the fault |", "|" + "---|" * 11]
    for fault, r in lines.items():
        out.append("| %s | %d | %s | %s | %s | %s | %s | %s | %s | %s | %s |" % (
            fault, r["n"], number(r["sensitivity"]), number(r["attainable"]), number(r["cant"]), number(r["unseen"]),
            number(strong[fault]["sensitivity"]), number(r["false"], 3), number(r["clean_cant"]), number(r["cross"], 3),
            number(r["first"])))
    return "\n".join(out)


def measure_table(lines, setup):
    out = ["", "### Errors of the measures, %s" % setup, "",
           "| measure @ checkpoint | observed | bias | median error | 95th centile | sd, seen | sd, stated | covered by ±1.96 sd |",
           "|" + "---|" * 8]
    for key, r in lines.items():
        name = key[0] + (" @ " + key[1] if key[1] else "")
        if r["n"] == 0:
            out.append("| %s | not observed | | | | | | |" % name)
            continue
        d = 1 if abs(r["p95"]) >= 3 else 3
        out.append("| %s | %.2f | %s | %s | %s | %s | %s | %.3f |" % (
            name, r["n"] / r["of"], number(r["bias"], d), number(r["median"], d), number(r["p95"], d),
            number(r["empirical"], d), number(r["stated"], d), r["cover"]))
    return "\n".join(out)
