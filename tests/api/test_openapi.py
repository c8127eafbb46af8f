"""The description at /v1/openapi.json against the server: every path and method that it names is there and answers as it says
(status, content type, and for JSON the described shape); linted with redocly when npm can fetch it, else skipped."""
import json
import re
import shutil
import subprocess
import tempfile

import support
from support import Checks, Server

METHODS = ("get", "post", "put", "patch", "delete")


class Description:
    def __init__(self, document):
        self.document = document

    def operations(self):
        for path, item in self.document["paths"].items():
            for method in METHODS:
                if method in item:
                    yield method.upper(), path, item[method], item.get("parameters", [])

    def resolve(self, node):
        while isinstance(node, dict) and "$ref" in node:
            at = self.document
            for step in node["$ref"].lstrip("#/").split("/"):
                at = at[step.replace("~1", "/").replace("~0", "~")]
            node = at
        return node

    def faults(self, schema, value, where="$"):
        """What of a value breaks a schema: the part of JSON Schema that the description uses."""
        schema = self.resolve(schema)
        if schema is True or not schema:
            return []
        found = []
        for part in schema.get("allOf", ()):
            found += self.faults(part, value, where)
        for word in ("oneOf", "anyOf"):
            if word in schema:
                tried = [self.faults(part, value, where) for part in schema[word]]
                if not any(not one for one in tried):
                    found += min(tried, key=len)
        kinds = schema.get("type")
        kinds = [kinds] if isinstance(kinds, str) else kinds
        if kinds and kind_of(value) not in kinds and not (kind_of(value) == "integer" and "number" in kinds):
            return found + ["%s is %s, not %s" % (where, kind_of(value), "/".join(kinds))]
        if "enum" in schema and value not in schema["enum"]:
            found.append("%s is %r, not one of %s" % (where, value, schema["enum"]))
        if "const" in schema and value != schema["const"]:
            found.append("%s is %r, not %r" % (where, value, schema["const"]))
        if isinstance(value, (int, float)) and not isinstance(value, bool):
            if value < schema.get("minimum", value) or value > schema.get("maximum", value):
                found.append("%s is %r, out of range" % (where, value))
        if isinstance(value, str):
            if "pattern" in schema and not re.search(schema["pattern"], value):
                found.append("%s does not match %s" % (where, schema["pattern"]))
            if len(value) > schema.get("maxLength", len(value)) or len(value) < schema.get("minLength", 0):
                found.append("%s has %d characters" % (where, len(value)))
        if isinstance(value, list):
            for index, item in enumerate(value[:20]):
                found += self.faults(schema.get("items", {}), item, "%s[%d]" % (where, index))
        if isinstance(value, dict):
            properties = schema.get("properties", {})
            found += ["%s lacks %s" % (where, name) for name in schema.get("required", ()) if name not in value]
            for name, item in value.items():
                if name in properties:
                    found += self.faults(properties[name], item, where + "." + name)
                elif schema.get("additionalProperties") is False:
                    found.append("%s has %s, which is not described" % (where, name))
                elif isinstance(schema.get("additionalProperties"), dict):
                    found += self.faults(schema["additionalProperties"], item, where + "." + name)
        return found


def kind_of(value):
    if value is None:
        return "null"
    if isinstance(value, bool):
        return "boolean"
    return {int: "integer", float: "number", str: "string", list: "array", dict: "object"}[type(value)]


def answer_fits(description, operation, reply):
    """None, or what is wrong with an answer."""
    responses = operation.get("responses", {})
    response = responses.get(str(reply.status)) or responses.get("%dXX" % (reply.status // 100)) or responses.get("default")
    if response is None:
        return "status %d is not described" % reply.status
    content = description.resolve(response).get("content")
    kind = (reply.header("Content-Type") or "").split(";")[0].strip()
    if not content:
        return None if not reply.body or reply.status >= 400 else "a body where none is described"
    if kind not in content:
        return "content type %r, described are %s" % (kind, list(content))
    if "json" not in kind:
        return None
    faults = description.faults(content[kind].get("schema", {}), reply.json)
    return "; ".join(faults[:4]) if faults else None


def example_of(content):
    """(content type, example) of a body; (None, None) where there is none."""
    for kind, media in (content or {}).items():
        if "example" in media:
            return kind, media["example"]
    return None, None


def unexplained(operation):
    """What an operation lacks of description and examples (test_examples.py sends them)."""
    bodies = {"its request": operation.get("requestBody", {}).get("content")}
    bodies.update((code, response["content"]) for code, response in operation["responses"].items()
                  if code.startswith("2") and "content" in response)
    lacking = [] if operation.get("description", "").endswith(".") else ["a description"]
    return lacking + ["an example of " + name for name, content in bodies.items() if content and example_of(content)[0] is None]


class Club:
    """One of everything, so that every address can be filled in."""

    def __init__(self, server):
        self.head = server.sign_in()
        self.values = support.one_of_everything(server, self.head)

    def fill(self, path):
        missing = []

        def value(found):
            name = found.group(1)
            before = path[:found.start()].rstrip("/").rsplit("/", 1)[-1]
            known = self.values.get(name) or self.values.get(before)
            if known is None:
                missing.append(before + "/{" + name + "}")
                return "0"
            return known
        return re.sub(r"\{([^}]+)\}", value, path), missing


def walk(checks, server, description):
    club = Club(server)
    student = club.values["student client"]
    reads = [operation for operation in description.operations() if operation[0] == "GET"]
    writes = [operation for operation in description.operations() if operation[0] != "GET"]
    for method, path, operation, _ in reads + writes:
        name = method + " " + path
        address, missing = club.fill(path)
        checks.ok(not missing, name + ": the test knows an object for its address", missing)
        client = student if path.startswith(("/v1/me/homework", "/v1/homework")) else club.head
        roles = operation.get("x-roles") or []
        if method == "GET":
            reply = client.get(address + ("?fix=" + club.values["fixes"] if path.endswith("/progress") else ""))
            checks.ok(200 <= reply.status < 400, name + " answers", "%s %s" % (reply.status, reply.body[:200]))
        else:
            # nothing valid is sent: the refusal is what is looked at, and nothing is lost
            content = operation.get("requestBody", {}).get("content", {})
            kind = next(iter(content), "application/json")
            body = {} if content else None
            reply = server.client().request(method, address, body, content_type=kind)
            checks.ok(reply.status in (400, 401, 422, 204, 429), name + " without a token is refused", reply.status)
            wrong = answer_fits(description, operation, reply)
            checks.ok(not wrong, name + ": the refusal is as described", wrong)
            if not operation.get("requestBody"):
                continue
            reply = client.request(method, address, {"no_such_key": 1}, key=support.fresh_key(), match='"1"',
                                   content_type=kind)
            checks.ok(reply.status in (400, 401, 403, 410, 412, 422), name + ": an unknown key is refused",
                      "%s %s" % (reply.status, reply.body[:200]))
        wrong = answer_fits(description, operation, reply)
        checks.ok(not wrong, "%s: the answer %d is as described" % (name, reply.status), wrong)
        checks.ok(operation.get("operationId") and operation.get("summary"), name + " is named", roles)
        checks.same(unexplained(operation), [], name + " has a description and examples")


def members(description, schema, value, path=()):
    """Each member of a value that a closed object of the schema describes: (path, whether it has to be there)."""
    schema = description.resolve(schema)
    if isinstance(value, list) and value:
        yield from members(description, schema.get("items", {}), value[0], path + (0,))
    if isinstance(value, dict) and schema.get("additionalProperties") is False:
        for name, item in value.items():
            yield path + (name,), name in schema.get("required", ())
            yield from members(description, schema["properties"][name], item, path + (name,))


def swing(checks, server, description):
    """The description of a swing document says what the program asks of one: names, and which members have to be there."""
    with open(support.ROOT + "/core/swing.h") as file:
        header = file.read()
    named = {name: re.findall(r'"(\w+)"', text) for name, text in re.findall(r"#define (\w+)_NAMES\(X\)(.*?)\n\n", header, re.S)}
    schemas = description.document["components"]["schemas"]
    flight = schemas["SwingDocument"]["properties"]["flight"]["properties"]
    said = {"POINT": schemas["PointName"], "CHECKPOINT": schemas["Checkpoint"], "STRIKE": flight["strike"], "FLIGHT_SIDE": flight["curve"],
            "CLUB_KIND": schemas["SwingDocument"]["properties"]["club"]["properties"]["kind"]}
    wrong = [name for name, schema in said.items() if schema["enum"] != named[name]]
    checks.ok(not wrong, "points, checkpoints, clubs and strikes are described by the names that the program knows", wrong)
    whole = support.document()
    whole["views"][0]["target"] = [900, 500]
    whole["views"][0]["frames"][0]["confirmed"] = ["grip"]
    whole["measured"] = [{"measure": "shaft_cross", "checkpoint": "top", "value": 20, "sd": 3, "source": "by eye"}]
    whole["seen"] = [{"fault": "chicken_wing", "severity": "clear"}]
    whole["motion"] = {"rate_hz": 100, "frame": "y_up", "points": {"grip": [[0, 1, 0], None] * 40}}
    head = server.sign_in()
    path = "/v1/students/%s/swings" % head.post("/v1/students", {"name": "Swing Described", "hand": "right"}).json["id"]
    unlike = []
    for where, needed in [((), False), *members(description, schemas["SwingDocument"], whole)]:
        less = json.loads(json.dumps(whole))
        at = less
        for step in where[:-1]:
            at = at[step]
        if where:
            del at[where[-1]]
        reply = head.post(path, less)
        if reply.status != (422 if needed else 201):
            unlike.append((where, needed, reply.status, reply.body))
    checks.ok(not unlike, "what the description of a swing document asks for the program asks for, and nothing else", unlike[:4])


def lint(checks, text):
    npx = shutil.which("npx")
    if not npx:
        checks.skip("redocly lint", "npx is not installed")
        return
    with tempfile.TemporaryDirectory() as folder:
        with open(folder + "/openapi.json", "wb") as file:
            file.write(text)
        with open(folder + "/redocly.yaml", "w") as file:
            file.write("extends: [minimal]\n")
        try:
            done = subprocess.run([npx, "--yes", "@redocly/cli@2.77.0", "lint", "openapi.json"], cwd=folder, timeout=150,
                                  stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True,
                                  env={**__import__("os").environ, "REDOCLY_TELEMETRY": "off", "CI": "1"})
        except subprocess.TimeoutExpired:
            checks.skip("redocly lint", "npm did not answer")
            return
    if "Validating" not in done.stdout and "validat" not in done.stdout:
        checks.skip("redocly lint", "npm could not fetch it: " + done.stdout[-200:].replace("\n", " "))
        return
    checks.ok(done.returncode == 0, "redocly finds no error in the description", done.stdout[-600:])


def main():
    checks = Checks("test_openapi")
    server = Server(checks, options=["--no-throttle"])
    reply = server.client().get("/v1/openapi.json")
    checks.status(reply, 200, "the description is served")
    document = reply.json
    checks.ok(document.get("openapi", "").startswith("3.1"), "it is OpenAPI 3.1", document.get("openapi"))
    description = Description(document)
    ids = [operation.get("operationId") for _, _, operation, _ in description.operations()]
    checks.ok(len(ids) > 30 and len(set(ids)) == len(ids), "every operation has a name of its own", len(ids))
    tags = {tag["name"] for tag in document.get("tags", ()) if tag.get("description")}
    stray = [operation["operationId"] for _, _, operation, _ in description.operations()
             if len(operation.get("tags", ())) != 1 or operation["tags"][0] not in tags]
    checks.ok(len(tags) == 4 and not stray, "every operation stands under one of the four explained tags", stray)
    form = subprocess.run([support.ROOT + "/tests/format_openapi.py", "--check"], stderr=subprocess.PIPE, text=True)
    checks.ok(form.returncode == 0, "the file is as tests/format_openapi.py writes it", form.stderr)
    walk(checks, server, description)
    swing(checks, server, description)
    lint(checks, reply.body)
    server.end()
    checks.finish()


if __name__ == "__main__":
    main()
