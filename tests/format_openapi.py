#!/usr/bin/python3
"""Writes docs/openapi.json the way it is kept: what fits on a line of 140 characters stands on one, everything else one member a
line. With --check it changes nothing and says by its exit status whether the file is so already."""
import json
import os
import sys

FILE = os.path.join(os.path.dirname(os.path.dirname(os.path.abspath(__file__))), "docs", "openapi.json")
WIDTH = 140


def written(value, indent=0, before=0):
    """value as text; before: what stands in front of it on its line."""
    flat = json.dumps(value, ensure_ascii=False)
    if not isinstance(value, (dict, list)) or not value or indent + before + len(flat) + 1 <= WIDTH:
        return flat
    inner = indent + 1
    if isinstance(value, list):
        parts = [written(item, inner) for item in value]
    else:
        names = [json.dumps(name, ensure_ascii=False) + ": " for name in value]
        parts = [name + written(item, inner, len(name)) for name, item in zip(names, value.values())]
    open_mark, close_mark = "[]" if isinstance(value, list) else "{}"
    return open_mark + "\n" + ",\n".join(" " * inner + part for part in parts) + "\n" + " " * indent + close_mark


def main():
    with open(FILE, encoding="utf-8") as file:
        text = file.read()
    wanted = written(json.loads(text)) + "\n"
    if "--check" in sys.argv:
        sys.exit(0 if text == wanted else "docs/openapi.json is not as tests/format_openapi.py writes it")
    with open(FILE, "w", encoding="utf-8") as file:
        file.write(wanted)


if __name__ == "__main__":
    main()
