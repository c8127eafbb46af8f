#!/usr/bin/python3
"""Writes the seeds of tests/fuzz/corpus for small texts: numbers, UTF-8, times, JSON of any shape, single headers,
heads of requests, and the file of erasures. Run again after a change of the targets: tests/fuzz/text_seeds.py"""
import pathlib

here = pathlib.Path(__file__).resolve().parent


def save(kind, name, value):
    folder = here / "corpus" / kind
    folder.mkdir(parents=True, exist_ok=True)
    (folder / f"seed-{name}").write_bytes(value if isinstance(value, bytes) else value.encode())


def numbers():  # the first byte chooses the decimals
    for i, text in enumerate(("0", "-0", "-12.5e+3", "0.1", "123456789012345678", "1e-320", "9007199254740993", "1e309", "01",
                              "1.e1", " 7,", "0." + "0" * 58 + "1234")):
        save("number", f"{i:02d}", f"{i % 10}{text}")


def texts():
    save("utf8", "names", "Änne O'Neil-Łuk אב")
    save("utf8", "wide", "日本 👩‍🏫 \U0010ffff")
    save("utf8", "hidden", "a\u202eb\u200bc")
    save("utf8", "escapes", "\"\\/\b\f\n\r\t\x01")
    save("utf8", "refused", b"\xed\xa0\x80 \xc0\xaf \xf4\x90\x80\x80 \xe2\x82")


def times():
    for i, text in enumerate(("2026-05-02T09:14:05.123Z", "2024-02-29t23:59:60+14:30", "1969-12-31T23:59:59.9999999-00:01",
                              "0000-01-01T00:00:00Z", "9999-12-31T23:59:59.999z", "2026-02-29T00:00:00Z", "2026-05-02",
                              "01932f3a-7c11-7abc-8def-0123456789ab", "9999-12-31T23:59:60Z",
                              "0000-01-01T00:00:00+00:01")):  # the last two have no text of their own
        save("time", f"{i:02d}", text)


def fields():
    save("fields", "thing", '{"kind":"thing","name":"a\\u00fc\\ud83d\\ude00","x":-1.5,"y":0,"numbers":[0.5,1e2],'
                            '"points":[{"u":1},{"u":10.0}]}')
    save("fields", "least", ' {"x" : 5 ,\n"kind": "thing"}\t')
    save("fields", "refused-number", '{"kind":"thing","x":6}')
    save("fields", "refused-twice", '{"kind":"thing","x":1,"x":1}')
    save("fields", "refused-long", '{"kind":"thing","x":1,"numbers":[0,1,1,1]}')
    save("fields", "any", '[null,true,false,-0,1e5,0.25,"\\"\\\\\\/\\b\\f\\n\\r\\t",{"":[]},{"a":{"b":[[]]}}]')
    save("fields", "deep", "[" * 33 + "]" * 33)
    save("fields", "refused-half", '["\\ud800"]')
    save("fields", "refused-nul", '{"kind":"thing","x":1\0}')  # jansson passes over it
    save("fields", "long", f'[{"1" * 65}]')


def headers():  # the first byte chooses the reader, by its remainder of nine; "H" is the first
    kinds = {"H": ("*", '"3"', 'W/"3-5f0c91aa5f0c91aa" , "12"', ',, "3-x",', '"3" "3"', '"a,b"'),
             "I": ("gzip, deflate", "gzip;q=0, *", "br;q=1.0, X-Gzip ; q=0.05", "*;q=0"),
             "J": ("de-AT,de;q=0.9,en;q=0.5", "*", "he;q=0.3 , fr", "en-GB;q=0.001, de"),
             "K": ("192.0.2.7", "2001:db8::1", "::ffff:192.0.2.7", "fe80::1%eth0", "unknown",
                   "ffff:ffff:ffff:ffff:ffff:ffff:255.255.255.255", "ffff:ffff:ffff:ffff:ffff:ffff:255.255.255.2550"),  # was cut to fit
             "L": ("A" * 43, "A" * 42 + "B", "Bearer  " + "x" * 42 + "8", b"A" * 21 + b"\x99" + b"A" * 21),  # was taken
             "M": ("k7mw-x2hd-abcd-2345", "123 456", "K7MW X2HD ABCD 2345"),
             "N": ("Anna.Berg@club", " a", "ü"),
             "O": ("1", "999999999", "0", "1000000000", "07"),
             "P": ("https://club.example\nclub.example", "null\nclub.example", "HTTPS://a:8443\nA:8443")}
    for kind, values in kinds.items():
        for i, value in enumerate(values):
            save("header", f"{kind}{i}", kind.encode() + (value if isinstance(value, bytes) else value.encode()))


def requests():
    def head(name, line, *lines, end="\r\n"):
        save("request", name, end.join((line, *lines, "", "")))

    head("get", "GET /v1/things/a%20b?x=1&y=%C3%A4+b HTTP/1.1", "Host: club.example:8443", "Accept-Encoding: gzip")
    head("page", "GET /v1/things?limit=50&after=01932f3a-7c11-7abc-8def-0123456789ab&name=a&from=1970-01-01T00:00:00Z"
         "&to=2026-05-02T09:14:05%2b02:00&archived=true HTTP/1.1", "Host: a")
    head("beside", "GET /v1/things?hand=left&target=%2Bx&up=+z&club=iron&club_number=7&club_length_m=0.94 HTTP/1.1", "Host: a")
    head("put", "PUT /v1/things/7/parts/top HTTP/1.1", "Host: [::1]", "Content-Type: application/json; charset=utf-8",
         "Content-Length: 12", 'If-Match: "3"', "X-Forwarded-For: 10.0.0.1, 192.0.2.7")
    head("chunked", "POST /v1/things HTTP/1.1", "Host: a", "Transfer-Encoding: chunked", "Content-Type: application/json",
         "Expect: 100-continue")
    head("absolute", "GET http://other.example?x HTTP/1.1", "Host: club.example")
    head("absolute-path", "GET http://other.example/v1/things HTTP/1.1", "Host: club.example")
    head("old", "GET /v1/things HTTP/1.0", end="\n")
    head("options", "OPTIONS /v1/things HTTP/1.1", "Host: a")
    head("refused-two-lengths", "POST /v1/things HTTP/1.1", "Host: a", "Content-Length: 1", "Transfer-Encoding: chunked")
    head("refused-dots", "GET /v1/%2e%2E/things HTTP/1.1", "Host: a")
    head("refused-slash", "GET /v1/things/%2f HTTP/1.1", "Host: a")
    head("refused-twice", "GET /v1/things?a=1&%61=2 HTTP/1.1", "Host: a")
    head("refused-nul", "GET /v1/things HTTP/1.1", "Host: a\0b")
    head("refused-nul-in-line", "GET /v1/things\0x HTTP/1.1", "Host: a")
    head("refused-type", "POST /v1/things HTTP/1.1", "Host: a", "Content-Type: text/plain", "Content-Length: 3")
    head("refused-large", "POST /v1/things HTTP/1.1", "Host: a", "Content-Type: application/json", "Content-Length: 1001")


def ledgers():
    line = "%s 01932f3a-7c11-7abc-8def-0123456789ab %s\n"
    save("ledger", "lines", line % ("start", 1777713245123) + line % ("student", -5) + line % ("kept", 0))
    save("ledger", "torn", line % ("start", 1) + "stu")
    save("ledger", "spaces", line.replace(" ", "  ") % ("session", 12))
    save("ledger", "refused-number", line % ("start", "1x"))
    save("ledger", "refused-kind", line % ("a-kind-that-is-too-long", 1))
    save("ledger", "refused-nul", "start\0" + line % ("start", 1) + "\n")  # the reader ran past the last line


numbers()
texts()
times()
fields()
headers()
requests()
ledgers()
