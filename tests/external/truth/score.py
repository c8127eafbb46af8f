"""Runs `leadside score --json` over documents and keeps what the comparison needs."""
import json
import os
import subprocess
import tempfile


def binary(build):
    for path in (os.path.join(build, "leadside"), os.path.join(build, "server", "leadside")):
        if os.path.exists(path):
            return path
    raise RuntimeError("no leadside in " + build)


def run(build, groups, lesson=False, batch=20):
    """groups: a list of documents, or of lists of documents when they are lessons. Returns the reports in order."""
    program, reports = binary(build), []
    with tempfile.TemporaryDirectory() as folder:
        if lesson:
            for group in groups:
                names = []
                for i, doc in enumerate(group):
                    names.append(os.path.join(folder, "%d.json" % i))
                    with open(names[-1], "w") as f:
                        f.write(json.dumps(doc)) # dump() encodes in Python, four times as slow
                reports += _ask(program, names, ["--lesson"])
            return reports
        for start in range(0, len(groups), batch):
            names = []
            for i, doc in enumerate(groups[start:start + batch]):
                names.append(os.path.join(folder, "%d.json" % i))
                with open(names[-1], "w") as f:
                    f.write(json.dumps(doc)) # dump() encodes in Python, four times as slow
            got = _ask(program, names, [])
            if len(got) != len(names):
                raise RuntimeError("%d reports for %d documents" % (len(got), len(names)))
            reports += got
    return reports


def _ask(program, names, options):
    done = subprocess.run([program, "score", "--json"] + options + names, capture_output=True, text=True)
    if done.returncode != 0:
        raise RuntimeError("leadside score failed: " + done.stderr[-2000:])
    return [json.loads(line) for line in done.stdout.splitlines() if line.strip()]


def brief(report):
    """What is kept of a report: values and sd, verdicts, first fix."""
    return {"measures": {(m["measure"], m.get("checkpoint")): (m["value"], m["sd"], m["sd_random"], m["source"])
                         for m in report["measures"]},
            "faults": {f["fault"]: (f["verdict"], f.get("p"), f.get("score")) for f in report["faults"]},
            "first": [f["fault"] for f in report["first_fixes"]],
            "camera": [c.get("issue") for c in report.get("camera", [])]}
