"""An authenticator app: codes computed from the two standards with hmac, without the server's library.

Sources: RFC 4226 (section 5.3), RFC 6238 (section 4); RFC 4648 for base32."""
import base64
import hashlib
import hmac
import struct
import time


def hotp(secret, counter):
    mac = hmac.new(secret, struct.pack(">Q", counter), hashlib.sha1).digest()
    at = mac[-1] & 15
    return "%06d" % ((struct.unpack(">I", mac[at:at + 4])[0] & 0x7fffffff) % 1000000)


class App:
    """An authenticator app. The server takes a step once, so a further code of the same half minute needs again(server)."""

    def __init__(self, secret):
        self.secret, self.used = base64.b32decode(secret), 0

    def code(self):
        self.used = max(int(time.time()) // 30, self.used + 1)
        if self.used > int(time.time()) // 30 + 1:
            raise RuntimeError("the app is ahead of the clock: say again() first")
        return hotp(self.secret, self.used)

    def again(self, server):
        """As if the codes so far had been of long ago: what they proved is proved, and nobody waits half a minute."""
        server.write("UPDATE second_factor SET last_step = 0 WHERE confirmed IS NOT NULL")
        self.used = 0
        return self

    def wrong(self):
        now = int(time.time()) // 30
        near = {hotp(self.secret, step) for step in range(now - 3, now + 5)}
        return next(code for code in ("000000", "111111", "222222", "333333", "444444", "555555") if code not in near)
