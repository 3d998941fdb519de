"""Where each key and list item of a JSON text stands."""

import json
import re
from bisect import bisect_right

from ramet.formats.toml_places import KeyPath

_STRING = re.compile(r'"(?:[^"\\]|\\.)*"')
_BLANK = re.compile(r"[ \t\r\n]*")
_SCALAR = re.compile(r"[^,\]} \t\r\n]+")


def json_places(text: str) -> dict[KeyPath, int]:
    """Return the line (from 1) of every key and list item in a text that is valid JSON."""
    line_starts = [0, *(found.end() for found in re.finditer("\n", text))]
    places: dict[KeyPath, int] = {}

    def blank(at: int) -> int:
        found = _BLANK.match(text, at)
        return at if found is None else found.end()

    def value(at: int, path: KeyPath) -> int:
        at = blank(at)
        if path:
            places.setdefault(path, bisect_right(line_starts, at))
        if text[at] in "{[":
            return items(at, path)
        found = _STRING.match(text, at) or _SCALAR.match(text, at)
        return len(text) if found is None else found.end()

    def items(at: int, path: KeyPath) -> int:
        keyed, closing, index = text[at] == "{", "}" if text[at] == "{" else "]", 0
        at = blank(at + 1)
        while text[at] != closing:
            key: str | int = index
            found = _STRING.match(text, at) if keyed else None
            if found is not None:
                key = str(json.loads(found[0]))
                places[(*path, key)] = bisect_right(line_starts, at)
                at = blank(found.end()) + 1  # the colon
            at, index = blank(value(at, (*path, key))), index + 1
            at = blank(at + 1) if text[at] == "," else at
        return at + 1

    value(0, ())
    return places
