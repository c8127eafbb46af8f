"""A server whose calls can be made to fail while it runs (fail.c, loaded before the C library): armed for one request, then right again."""
import contextlib
import ctypes
import errno
import mmap
import os
import re
import shutil
import subprocess
import sys
import tempfile

HERE = os.path.dirname(os.path.abspath(__file__))
sys.path.insert(0, os.path.join(os.path.dirname(HERE), "api"))

from support import Server  # noqa: E402

WRITES, SYNCS, SIZES, OPENS, READS, MEMORY = 1, 2, 4, 8, 16, 32


class Kind:
    """One way of failing: which calls, with what, whether every later one fails as well; and every how many-th call is taken."""

    def __init__(self, name, bits, code=0, on=False, step=1):
        self.name, self.bits, self.code, self.on, self.step = name, bits, code, on, step
        self.full = code == errno.ENOSPC


KINDS = [Kind("no memory, once", MEMORY, errno.ENOMEM), Kind("no memory from there on", MEMORY, errno.ENOMEM, True, 7),
         Kind("a write fails, once", WRITES, errno.EIO), Kind("writes fail from there on", WRITES, errno.EIO, True),
         Kind("the disk is full, once", WRITES | SIZES, errno.ENOSPC), Kind("the disk is full from there on", WRITES | SIZES | OPENS, errno.ENOSPC, True),
         Kind("a short write", WRITES), Kind("a sync fails, once", SYNCS, errno.EIO), Kind("syncs fail from there on", SYNCS, errno.EIO, True),
         Kind("a size can't be set", SIZES, errno.EIO), Kind("an opening fails", OPENS, errno.EMFILE),
         Kind("a read fails, once", READS, errno.EIO), Kind("reads fail from there on", READS, errno.EIO, True)]


class Place(ctypes.Structure):
    _fields_ = [("offset", ctypes.c_int64), ("module", ctypes.c_char * 48)]


class Control(ctypes.Structure):
    _fields_ = [(name, ctypes.c_int64) for name in ("kinds", "code", "left", "on", "seen", "failed", "frames")] + [("where", Place * 24)]


@contextlib.contextmanager
def fault_library():
    """The built library's path, while it is needed."""
    with tempfile.TemporaryDirectory(prefix="leadside-fail-") as folder:
        library = os.path.join(folder, "fail.so")
        if subprocess.run(["cc", "-shared", "-fPIC", "-O1", "-fno-builtin", "-o", library, os.path.join(HERE, "fail.c")]).returncode != 0:
            sys.exit("fail.c can't be built")
        yield library


class Armed(Server):
    """A server that arm() makes fail; commands run beside it under the same control."""

    def __init__(self, checks, library, **more):
        self.library, self.memory_counts = library, None
        file, self.control_path = tempfile.mkstemp(prefix="leadside-control-")
        os.ftruncate(file, ctypes.sizeof(Control))
        self.map = mmap.mmap(file, ctypes.sizeof(Control))
        os.close(file)
        self.control = Control.from_buffer(self.map)
        super().__init__(checks, **more)

    def environment(self):
        env = super().environment()
        env["LD_PRELOAD"], env["FAULTS_CONTROL"] = self.library, self.control_path
        env["ASAN_OPTIONS"] += ":verify_asan_link_order=0"
        return env

    def arm(self, kind, n):
        control = self.control
        control.code, control.left, control.on, control.seen, control.failed, control.frames = kind.code, n, int(kind.on), 0, 0, 0
        control.kinds = kind.bits

    def disarm(self):
        """How many calls were made to fail."""
        self.control.kinds = 0
        return self.control.failed

    def place(self, most=14):
        """Where the first failing call was made."""
        found = []
        for place in self.control.where[:self.control.frames]:
            module = place.module.decode()
            if module == os.path.basename(self.program):
                told = subprocess.run(["addr2line", "-sfe", self.program, hex(place.offset - 1)], text=True, stdout=subprocess.PIPE).stdout.split()
                found.append("%s(%s)" % (told[0], told[1]) if len(told) > 1 else hex(place.offset))
            elif module != "fail.so" and not (found and found[-1] == module):
                found.append(module)
        return " < ".join(found[:most])

    def reported(self):
        """What the sanitizers have complained of, told once. Where a thread begins AddressSanitizer itself needs memory, and ends the program
        for want of it: that is told apart, as "own"."""
        told = []
        for path in self.sanitizer_reports():
            with open(path, errors="replace") as file:
                text = file.read()
            os.unlink(path)
            told.append("own" if "CHECK failed: sanitizer_" in text else "\n".join(re.findall(r"ERROR:.*|SUMMARY.*|    #\d+ .*", text)[:24]))
        return told

    def descriptors(self):
        """What the process holds open, but for sockets."""
        folder, held = "/proc/%d/fd" % self.process.pid, []
        for name in os.listdir(folder):
            with contextlib.suppress(OSError):
                what = os.readlink(os.path.join(folder, name))
                if not what.startswith("socket:"):
                    held.append(what)
        return held

    # ---- the club as it was ----

    def keep(self):
        """A copy of the data folder while nobody writes; taken again when the log was folded in meanwhile."""
        kept = tempfile.mkdtemp(prefix="leadside-kept-")
        while True:
            before = self.stamps()
            shutil.copytree(self.data, kept, dirs_exist_ok=True)
            if self.stamps() == before:
                return kept
            shutil.rmtree(kept)

    def stamps(self):
        return sorted((entry.name, entry.stat().st_size, entry.stat().st_mtime_ns) for entry in os.scandir(self.data) if not entry.name.endswith("-shm"))

    def go_back(self, kept, kill=False):
        """Starts again on what keep() copied. Returns the exit status of the server before."""
        if kill:
            self.kill()
        status = self.stop()
        shutil.rmtree(self.data)
        shutil.copytree(kept, self.data)
        with contextlib.suppress(FileNotFoundError):
            os.unlink(os.path.join(self.data, "leadside.db-shm"))
        self.start()
        return status

    def end(self, keep=False):
        super().end(keep)
        os.unlink(self.control_path)
