"""The program as a command: help, version, exit statuses and where they are written; the manual pages and the completion
name what the commands have; and the units that systemd reads. No server is started."""
import glob
import os
import re
import shutil
import subprocess
import tempfile

import support
from support import Checks

PROGRAM = os.path.join(support.build_dir(), "leadside")


def run(*arguments, text="", **more):
    return subprocess.run([PROGRAM, *arguments], input=text, text=True, capture_output=True, timeout=60, **more)


def commands():
    return re.findall(r"^  ([a-z]+) ", run("--help").stdout, re.M)


def options_of(text):
    return set(re.findall(r"--[a-z][a-z-]*", text))


def helps(checks):
    names = commands()
    checks.ok({"serve", "init", "account", "score", "demo", "backup", "restore", "check", "key"} <= set(names), "--help lists the commands", names)
    for arguments in (("--help",), ("-h",), ("help",)):
        done = run(*arguments)
        checks.same((done.returncode, done.stderr, commands() == names), (0, "", True), "%s: to standard output, 0" % (arguments,))
    for arguments in (("--version",), ("-V",)):
        done = run(*arguments)
        checks.ok(done.returncode == 0 and re.fullmatch(r"leadside \d+\.\d+\.\d+\n", done.stdout), "%s tells name and number" % (arguments,), done.stdout)
    for name in names:
        whole = run(name, "--help")
        checks.ok(whole.returncode == 0 and whole.stderr == "" and whole.stdout.startswith("usage: leadside " + name), name + " --help", whole.stderr)
        same = [run(name, "-h").stdout, run("help", name).stdout, run(name, "--data", "/nowhere", "--help").stdout]
        checks.same(same, [whole.stdout] * 3, "-h, help %s and --help behind other options say the same" % name)
        wide = max(len(line) for line in whole.stdout.split("\n"))
        checks.ok(wide <= 120, "%s's help is read on any screen" % name, wide)


def statuses(checks):
    for why, arguments in (
            ("nothing said", ()), ("no such command", ("dance",)), ("no such option", ("--dance",)), ("help of no command", ("help", "dance")),
            *(("%s without its options" % name, (name,)) for name in commands()),
            *(("%s with an option that is not its own" % name, (name, "--dance", "x")) for name in commands()),
            ("an option without its value", ("backup", "--data", "x", "--to")), ("an option twice", ("check", "--data", "x", "--data", "y")),
            ("two ways at once", ("check", "--data", "x", "--copy", "y")), ("a deed that is none", ("account", "dance", "--data", "x"))):
        done = run(*arguments)
        checks.ok(done.returncode == 2 and done.stdout == "" and "usage" in done.stderr or "no command" in done.stderr,
                  "%s: 2, and usage on standard error" % why, (done.returncode, done.stdout[:80], done.stderr[:200]))
    for why, arguments in (("no club to check", ("check", "--data", "/nowhere")), ("no club to copy", ("backup", "--data", "/nowhere", "--to", "/nowhere/x")),
                           ("no copy", ("restore", "--data", "/nowhere/x", "--from", "/nowhere/y")), ("no folder for a key", ("key", "--make", "/nowhere/key")),
                           ("no club to serve", ("serve", "--data", "/nowhere"))):
        done = run(*arguments)
        checks.ok(done.returncode == 1 and done.stdout == "" and done.stderr.startswith("leadside %s: " % arguments[0]),
                  "%s: 1, and why on standard error" % why, (done.returncode, done.stderr))
    for arguments in (("--version",), ("--help",), ("serve", "--help")):
        with open("/dev/full", "w") as full:
            done = subprocess.run([PROGRAM, *arguments], stdout=full, stderr=subprocess.PIPE, text=True)
        checks.ok(done.returncode == 1 and "standard output" in done.stderr, "%s to a full disk is no success" % (arguments,), done.returncode)


def equals(checks):
    with tempfile.TemporaryDirectory(prefix="leadside-commands-") as folder:
        password = support.HEAD["password"] + "\n"
        done = run("init", "--data=" + folder + "/club", "--club=Larkfield Heath = the invented one", "--name", "Head", "--sign-in=head", text=password)
        checks.ok(done.returncode == 0 and "Larkfield Heath = the invented one" in done.stdout, "--option=value is --option value", done.stderr)
        checks.same(run("check", "--data=" + folder + "/club").returncode, 0, "and it is a club")


def manuals(checks):
    pages = {os.path.basename(path): open(path).read().replace("\\-", "-") for path in glob.glob(os.path.join(support.ROOT, "docs", "man", "*"))}
    where = {"serve": "leadside-serve.8", "backup": "leadside-backup.8", "restore": "leadside-backup.8", "check": "leadside-backup.8", "key": "leadside-backup.8"}
    for name in commands():
        page = pages[where.get(name, "leadside.1")]
        missing = options_of(run(name, "--help").stdout) - options_of(page)
        checks.same(missing, set(), "%s tells every option of %s" % (where.get(name, "leadside.1"), name))
        checks.ok(re.search(r"\b%s\b" % name, pages["leadside.1"]), "leadside.1 names " + name)
    known = set().union(*(options_of(run(name, "--help").stdout) for name in commands())) | {"--help", "--version"}
    if not shutil.which("man"):
        checks.skip("the manual pages' form", "man is missing")
    for name, page in sorted(pages.items()):
        checks.same({option for option in options_of(page) if option not in known} - {"--now"}, set(), name + " tells no other")
        if shutil.which("man"):
            done = subprocess.run(["man", "--warnings", "-E", "UTF-8", "-l", "-Tutf8", "-Z", os.path.join(support.ROOT, "docs", "man", name)],
                                  stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True, env=dict(os.environ, MANWIDTH="80", LC_ALL="C.UTF-8"))
            checks.same(done.stderr, "", name + " is well formed")


def completion(checks):
    """What bash offers at the end of a line that was typed so far."""
    with tempfile.TemporaryDirectory(prefix="leadside-completion-") as folder:
        for name in ("club", "copies"):
            os.mkdir(os.path.join(folder, name))
        open(os.path.join(folder, "copy.db"), "w").close()

        def offered(*words):
            script = ('. "$1"; shift; COMP_WORDS=("$@"); COMP_CWORD=$(($# - 1)); _leadside; printf "%s\\n" "${COMPREPLY[@]}"')
            done = subprocess.run(["bash", "-uc", script, "bash", os.path.join(support.ROOT, "deploy", "leadside.bash-completion"), PROGRAM, *words],
                                  capture_output=True, text=True, cwd=folder)
            checks.same(done.stderr, "", "completing %s complains of nothing" % (words,))
            return set(done.stdout.split())

        names = set(commands())
        checks.same(offered(""), names | {"help", "--help", "--version"}, "the first word is a command")
        checks.same(offered("b"), {"backup"}, "one that begins so")
        checks.same(offered("help", "s"), {name for name in names if name.startswith("s")}, "and so is what help is of")
        for name in sorted(names):
            checks.same(offered(name, *(["add"] if name == "account" else []), "--"), options_of(run(name, "--help").stdout) | {"--help"}, name + "'s options")
        checks.same(offered("serve", "--per"), {"--per-address", "--per-client"}, "those that begin so")
        checks.same(offered("account", ""), {"add", "password", "remove-second-factor", "--help"}, "what account does")
        checks.same(offered("backup", "--data", ""), {"club", "copies"}, "a folder where one is asked for")
        checks.same(offered("restore", "--from", "co"), {"copies", "copy.db"}, "a file where one is asked for")
        checks.same(offered("score", "cop"), {"copies", "copy.db"}, "files to score")


def units(checks):
    """As systemd reads them; what it finds of their rights (0 = none at all) is held down."""
    if not shutil.which("systemd-analyze"):
        checks.skip("the units", "systemd-analyze is missing")
        return
    for unit, most in (("leadside.service", 1.2), ("leadside@.service", 1.2), ("leadside-backup.service", 0.5), ("leadside-backup@.service", 0.5)):
        path = os.path.join(support.build_dir(), "units", unit)
        done = subprocess.run(["systemd-analyze", "security", "--offline=yes", "--no-pager", path], capture_output=True, text=True)
        found = re.search(r"exposure level for \S+: ([\d.]+)", done.stdout)
        checks.ok(found and float(found.group(1)) <= most, "%s: exposure %s at most" % (unit, most), done.stdout[-200:] + done.stderr)
    with tempfile.TemporaryDirectory(prefix="leadside-units-") as folder:
        for path in glob.glob(os.path.join(support.build_dir(), "units", "*")):
            with open(path) as file:
                text = file.read()  # the program is in no path of systemd's here, nor are the pages
            with open(os.path.join(folder, os.path.basename(path)), "w") as file:
                file.write(re.sub(r"^Documentation=.*\n", "", text, flags=re.M).replace("ExecStart=leadside ", "ExecStart=/bin/true "))
        names = [name.replace("@.", "@north.") for name in os.listdir(folder)]
        checks.same(len(names), 7, "one club's units, and those of many with the socket that wakes one")
        done = subprocess.run(["systemd-analyze", "verify", "--man=no", *(os.path.join(folder, name) for name in names)], capture_output=True, text=True)
        said = [line for line in done.stderr.split("\n") if "leadside" in line]
        checks.same((done.returncode, said), (0, []), "systemd finds nothing wrong with them")


def main():
    checks = Checks("test_commands")
    for part in (helps, statuses, equals, manuals, completion, units):
        part(checks)
    checks.finish()


main()
