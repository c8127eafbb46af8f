"""The server's password hashes against the `argon2` program (the authors' own implementation of Argon2id).

Usage: check_password.py BUILD. RFC 9106's published vectors need 4 lanes, a secret and associated data, which libsodium
does not offer, so they can't be run through the server's code; the same function with one lane is compared instead.
"""

import base64
import os
import random
import re
import shutil
import subprocess
import sys

counts = {"passed": 0, "failed": 0, "skipped": 0}


def check(name, fine, detail=""):
    counts["passed" if fine else "failed"] += 1
    if not fine:
        print(f"FAILED {name}: {detail}")


def run(*command, stdin=None):
    return subprocess.run(command, input=stdin, capture_output=True, check=True).stdout.decode().strip()


def argon2(password, salt, kib, passes, form):
    return run("argon2", salt, "-id", "-v", "13", "-p", "1", "-t", str(passes), "-k", str(kib), "-l", "32", form,
               stdin=password.encode())


def main():
    driver = os.path.join(sys.argv[1], "tests", "external_password")
    if shutil.which("argon2") is None:
        counts["skipped"] += 1
        print("skipped: the argon2 program is not installed")
        return
    choose = random.Random(9106)
    letters = "abcdefghijklmnopqrstuvwxyz0123456789"
    cases = [(64, 1), (64, 3), (1000, 2), (8192, 1), (19456, 2), (19456, 2), (65536, 2)]
    for kib, passes in cases:
        password = "".join(choose.choice(letters + " ") for _ in range(choose.randint(8, 100))) + "é"
        salt = "".join(choose.choice(letters) for _ in range(16))
        theirs = argon2(password, salt, kib, passes, "-r")
        ours = run(driver, "raw", str(kib), str(passes), salt.encode().hex(), password)
        check(f"raw {kib} KiB {passes} passes", ours == theirs, f"{ours} {theirs}")

        # A hash made by the other program is accepted, and with another password it is not.
        encoded = argon2(password, salt, kib, passes, "-e")
        check(f"verify {kib}", run(driver, "verify", encoded, password) == "yes", encoded)
        check(f"refuse {kib}", run(driver, "verify", encoded, password + "x") == "no", encoded)

    # A hash as the server stores it: the other program comes to the same bytes from the salt it names.
    for kib, passes in [(64, 1), (19456, 2)]:
        password = "two wide pines"
        stored = run(driver, "hash", str(kib), str(passes), password)
        form = re.fullmatch(r"\$argon2id\$v=19\$m=(\d+),t=(\d+),p=1\$([A-Za-z0-9+/]{22})\$([A-Za-z0-9+/]{43})", stored)
        check(f"form {kib}", form is not None and form.group(1, 2) == (str(kib), str(passes)), stored)
        salt = base64.b64decode(form.group(3) + "==")
        # The program takes its salt as an argument, so a salt with a zero byte can't be handed over.
        while b"\0" in salt:
            stored = run(driver, "hash", str(kib), str(passes), password)
            salt = base64.b64decode(stored.split("$")[4] + "==")
        theirs = argon2(password, salt, kib, passes, "-e")
        check(f"stored {kib}", theirs == stored, f"{theirs} {stored}")


if __name__ == "__main__":
    main()
    print(f"password: {counts['passed']} passed, {counts['failed']} failed, {counts['skipped']} skipped")
    sys.exit(1 if counts["failed"] else 0)
