"""A server on a disk with habits (disk.c), and a file system in a file whose power can be cut."""
import contextlib
import os
import signal
import subprocess
import sys
import tempfile
import time

sys.path.insert(0, os.path.join(os.path.dirname(os.path.dirname(os.path.abspath(__file__))), "api"))
import support  # noqa: E402

HERE = os.path.dirname(os.path.abspath(__file__))


@contextlib.contextmanager
def disk_library():
    """The built library's path, while it is needed."""
    with tempfile.TemporaryDirectory(prefix="leadside-disk-") as folder:
        library = os.path.join(folder, "disk.so")
        if subprocess.run(["cc", "-Wall", "-Wextra", "-shared", "-fPIC", "-O1", "-o", library, os.path.join(HERE, "disk.c")]).returncode != 0:
            sys.exit("disk.c can't be built")
        yield library


class Server(support.Server):
    """`habits`: what disk.c is told, at the next start."""

    def __init__(self, checks, library, habits=None, **more):
        self.library, self.habits = library, habits or {}
        super().__init__(checks, **more)

    def environment(self):
        env = super().environment()
        if self.habits:
            env["LD_PRELOAD"] = self.library
            env["ASAN_OPTIONS"] += ":verify_asan_link_order=0"
            env.update(self.habits)
        return env

    def stopped(self):
        with open("/proc/%d/stat" % self.process.pid) as file:
            return file.read().rpartition(")")[2].split()[0] in "Tt"

    def freeze(self):
        """Stopped with all its threads."""
        if not self.stopped():
            self.process.send_signal(signal.SIGSTOP)
        while not self.stopped():
            time.sleep(.0005)


class Volume:
    """ext4 in a file. What was written to it and not flushed is in the kernel's memory alone, as with a disk."""

    SIZE = 48 << 20

    def __init__(self, folder):
        self.folder, self.mounted, self.number = folder, None, 0
        self.where = os.path.join(folder, "mnt")
        os.makedirs(self.where)
        self.image = os.path.join(folder, "image-0")
        with open(self.image, "wb") as file:
            file.truncate(self.SIZE)

    def make(self):
        """Formats and mounts it; why not, if it can't be."""
        if os.geteuid() != 0:
            return "needs root"
        for command in (["mkfs.ext4", "-q", "-F", "-m", "0", "-E", "lazy_itable_init=0", self.image], ["mount", "-o", "loop", self.image, self.where]):
            try:
                done = subprocess.run(command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
            except FileNotFoundError:
                return command[0] + " is missing"
            if done.returncode != 0:
                return done.stdout.strip()
        self.mounted = True
        return None

    def contents(self):
        """What is on the disk: read until it is the same twice, for the kernel may be writing."""
        before = None
        while True:
            with open(self.image, "rb") as file:
                now = file.read()
            if now == before:
                return now
            before = now

    def keep(self, contents):
        """Another image of these contents, with holes where nothing is."""
        self.number += 1
        path = os.path.join(self.folder, "image-%d" % self.number)
        piece, nothing = 1 << 16, bytes(1 << 16)
        with open(path, "wb") as file:
            file.truncate(len(contents))
            for at in range(0, len(contents), piece):
                if contents[at:at + piece] != nothing:
                    file.seek(at)
                    file.write(contents[at:at + piece])
        return path

    def leave(self):
        for _ in range(200):
            if not self.mounted or subprocess.run(["umount", self.where], stderr=subprocess.DEVNULL).returncode == 0:
                self.mounted = False
                return
            time.sleep(.02)
        raise RuntimeError("%s can't be unmounted" % self.where)

    def become(self, image):
        """That image in the place of this: mounted, whereby the journal is replayed."""
        self.leave()
        os.unlink(self.image)
        self.image = image
        done = subprocess.run(["mount", "-o", "loop", image, self.where], stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
        if done.returncode != 0:
            raise RuntimeError("the image can't be mounted: " + done.stdout)
        self.mounted = True
