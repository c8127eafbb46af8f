"""A server whose wall clock is stepped from outside (step_clock.c, loaded before the C library); the kernel waits by the right one."""
import contextlib
import os
import subprocess
import sys
import tempfile

import support
from support import Server

DAY = 86400


@contextlib.contextmanager
def clock_library():
    """The built library's path, while it is needed."""
    with tempfile.TemporaryDirectory(prefix="leadside-step-") as folder:
        library = os.path.join(folder, "step_clock.so")
        if subprocess.run(["cc", "-shared", "-fPIC", "-O1", "-o", library, os.path.join(support.HERE, "step_clock.c")]).returncode != 0:
            sys.exit("step_clock.c can't be built")
        yield library


class Stepped(Server):
    """A server whose wall clock is ahead by what step() last said."""

    def __init__(self, checks, library, **more):
        self.library, self.clock = library, tempfile.mktemp(prefix="leadside-clock-")
        self.step(0)
        super().__init__(checks, **more)

    def step(self, seconds):
        with open(self.clock + ".new", "w") as file:
            file.write("%d\n" % seconds)
        os.rename(self.clock + ".new", self.clock)

    def environment(self):
        env = super().environment()
        env["LD_PRELOAD"], env["STEP_CLOCK"] = self.library, self.clock
        env["ASAN_OPTIONS"] += ":verify_asan_link_order=0"
        return env

    def end(self, keep=False):
        super().end(keep)
        os.unlink(self.clock)
