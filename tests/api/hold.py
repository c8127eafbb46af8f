"""Connections that are opened and held: bodies half sent, answers not fetched; and what the server's memory makes of it."""
import json
import os
import re
import socket
import time

import support

MIB = 1 << 20


def resident(pid):
    """MiB in memory."""
    with open("/proc/%d/status" % pid) as status:
        return int(re.search(r"VmRSS:\s+(\d+)", status.read()).group(1)) / 1024


def dial(port, receive=None):
    line = socket.socket()
    if receive:
        line.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, receive)
    line.settimeout(30)
    line.connect(("127.0.0.1", port))
    return line


def head(method, path, token=None, length=None, more=""):
    return ("%s %s HTTP/1.1\r\nHost: localhost\r\n%s%s%s\r\n" % (
        method, path, "Authorization: Bearer %s\r\n" % token if token else "",
        "" if length is None else "Content-Type: application/json\r\nContent-Length: %d\r\n" % length, more)).encode()


def hold_bodies(port, path, count, size, token=None):
    """So many connections, each with all of a body sent but its last bytes: [socket]. Those answered meanwhile are still held."""
    lines = []
    body = b"[" + b"1," * (size // 2 - 8)
    for n in range(count):
        line = dial(port)
        try:
            line.sendall(head("POST", path, token, size, "Idempotency-Key: held-%d\r\n" % n) + body)
        except OSError:
            pass
        lines.append(line)
    return lines


def hold_answers(port, path, count, token):
    """So many connections that ask and don't read."""
    lines = []
    for _ in range(count):
        line = dial(port, 4096)
        line.sendall(head("GET", path, token))
        lines.append(line)
    return lines


def close_all(lines):
    for line in lines:
        line.close()


def read_head(line):
    """(status, Content-Length, what came of the body)"""
    data = b""
    while b"\r\n\r\n" not in data:
        piece = line.recv(4096)
        if not piece:
            break
        data += piece
    top, _, rest = data.partition(b"\r\n\r\n")
    status = re.match(rb"HTTP/1\.1 (\d{3})", top)
    length = re.search(rb"(?i)content-length: *(\d+)", top)
    return int(status.group(1)) if status else None, int(length.group(1)) if length else None, rest


def read_rest(line, length, rest):
    data = bytearray(rest)
    try:
        while len(data) < length:
            piece = line.recv(1 << 20)
            if not piece:
                break
            data += piece
    except OSError:
        pass
    return bytes(data)


def settled(pid, wait=1.0):
    """Memory once it has stopped growing."""
    last = resident(pid)
    until = time.monotonic() + 10
    while time.monotonic() < until:
        time.sleep(wait)
        now = resident(pid)
        if abs(now - last) < 1:
            break
        last = now
    return now


def padded(document, size):
    """The document's bytes, with spaces up to that size."""
    text = json.dumps(document).encode()
    return text[:-1] + b" " * (size - len(text)) + b"}"


def recording(n, factor=16):
    """A recorded swing of the made-up player, at many times the camera's rate: a large document."""
    with open(os.path.join(support.ROOT, "tests", "data", "motion.json")) as file:
        document = json.load(file)
    motion = document["motion"]
    motion["rate_hz"] *= factor
    for name, samples in motion["points"].items():
        finer = []
        for before, after in zip(samples, samples[1:]):
            finer += [None if before is None or after is None else
                      [round(a + (b - a) * k / factor, 4) for a, b in zip(before, after)] for k in range(factor)]
        motion["points"][name] = finer
    document["recorded_at"] = time.strftime("%Y-%m-%dT%H:%M:%SZ", time.gmtime(1767225600 + n))
    return document
