"""A service manager as far as a socket needs one: it listens for the club, starts the server at the first who comes, with the
socket (LISTEN_FDS, sd_listen_fds(3)), and again for the next after it has ended."""
import os
import select
import signal
import socket
import threading
import time

import support


class Activated(support.Server):
    """The club's socket is there from the beginning; the server when it is needed. `path`: a socket in the file system."""

    def __init__(self, checks, options=("--no-throttle",), path=None, keep=True, **more):
        self.path, self.runs, self.statuses, self.pid, self.ending = path, 0, [], None, False
        super().__init__(checks, options=options, start=False, **more)
        self.listener = socket.socket(socket.AF_UNIX if path else socket.AF_INET)
        self.listener.bind(path or ("127.0.0.1", 0))
        self.listener.listen(511)
        self.port = None if path else self.listener.getsockname()[1]
        self.keeper = threading.Thread(target=self.keep)
        if keep:
            self.keeper.start()

    def keep(self):
        while not self.ending:
            if select.select([self.listener], [], [], .05)[0] and not self.ending:
                self.pid = self.spawn()
                self.runs += 1
                status = os.waitpid(self.pid, 0)[1]
                self.pid = None
                self.statuses.append(os.waitstatus_to_exitcode(status))
                if self.statuses[-1] != 0:
                    break

    def spawn(self, **changed):
        """The server with the socket as descriptor 3; `changed`: of what the manager says."""
        arguments = [self.program, "serve", "--data", self.data, *self.options]
        environment = self.environment()
        pid = os.fork()
        if pid == 0:
            try:
                os.dup2(self.listener.fileno(), 3)
                os.set_inheritable(3, True)  # where it was 3 already
                log = os.open(self.log_path, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o600)
                os.dup2(log, 1)
                os.dup2(log, 2)
                os.closerange(4, 1024)
                environment.update({"LISTEN_FDS": "1", "LISTEN_PID": str(os.getpid()), "LISTEN_FDNAMES": "leadside", **changed})
                os.execve(self.program, arguments, environment)
            finally:
                os._exit(127)
        return pid

    def connect(self, timeout=30):
        line = socket.socket(self.listener.family)
        line.settimeout(timeout)
        line.connect(self.path or ("127.0.0.1", self.port))
        return line

    def ask(self, path="/healthz", line=None):
        """(status, seconds) over a connection of its own, or over this one, from asking to the first bytes of the answer."""
        began = time.monotonic()
        own = line or self.connect()
        own.sendall(("GET %s HTTP/1.1\r\nHost: localhost\r\nConnection: %s\r\n\r\n" % (path, "keep-alive" if line else "close")).encode())
        got = own.recv(65536)
        seconds = time.monotonic() - began
        if line is None:
            while own.recv(65536):
                pass
            own.close()
        return int(got[9:12]) if got[:9] == b"HTTP/1.1 " else None, seconds

    def wait_asleep(self, seconds):
        until = time.monotonic() + seconds
        while self.pid and time.monotonic() < until:
            time.sleep(.01)
        return self.pid is None

    def stop(self, timeout=30):
        """The manager's end: takes its socket back, and stops the server where it runs. The last exit status."""
        self.ending = True
        self.keeper.join(.2)
        pid = self.pid
        if pid:
            os.kill(pid, signal.SIGTERM)
        self.keeper.join(timeout)
        self.listener.close()
        return self.statuses[-1] if self.statuses else 0
