"""Where each key of a TOML text stands. The standard reader checks the text but forgets the lines."""

import re
import tomllib
from bisect import bisect_right
from collections.abc import Callable

KeyPath = tuple[str | int, ...]
"""Keys and list positions (from 0) from the top of a file down to one value."""

_BLANK = re.compile(r"(?:[ \t\r\n]|#[^\n]*)*")
_SPACE = re.compile(r"[ \t]*")
_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")
_SCALAR = re.compile(r"[^,\]}\n#]*")
_STRINGS = (
    re.compile(r'"""(?:[^\\]|\\.)*?"""(?:"{0,2})', re.DOTALL),
    re.compile(r"'''.*?'''(?:'{0,2})", re.DOTALL),
    re.compile(r'"(?:[^"\\\n]|\\.)*"'),
    re.compile(r"'[^'\n]*'"),
)


def toml_places(text: str) -> dict[KeyPath, int]:
    """Return the line (from 1) of every table, key and list item in a text that is valid TOML."""
    return _Scan(text).places


class _Scan:
    """One pass over a text; each method starts at `at` and leaves `at` behind what it read."""

    def __init__(self, text: str) -> None:
        self.text, self.at = text, 0
        self.places: dict[KeyPath, int] = {}
        self._line_starts = [0, *(found.end() for found in re.finditer("\n", text))]
        self._tables: dict[KeyPath, int] = {}
        self._document()

    def _document(self) -> None:
        table: KeyPath = ()
        self._take(_BLANK)
        while self.at < len(self.text):
            if self.text[self.at] == "[":
                table = self._header()
            else:
                self._pair(table)
            self._take(_BLANK)

    def _header(self) -> KeyPath:
        line, several = self._line(), self.text.startswith("[[", self.at)
        self.at += 2 if several else 1
        path: KeyPath = ()
        keys = self._keys()
        for depth, key in enumerate(keys):
            path = (*path, key)
            self.places.setdefault(path, line)
            last = depth == len(keys) - 1
            if several and last:
                self._tables[path] = self._tables.get(path, -1) + 1
            if path in self._tables:
                path = (*path, self._tables[path])
                self.places.setdefault(path, line)
        self.at += 2 if several else 1
        return path

    def _pair(self, table: KeyPath) -> None:
        path, line = table, self._line()
        for key in self._keys():
            path = (*path, key)
            self.places.setdefault(path, line)
        self.at += 1  # the equals sign
        self._value(path)

    def _keys(self) -> list[str]:
        keys = []
        while True:
            self._take(_SPACE)
            keys.append(self._key())
            self._take(_SPACE)
            if self.text[self.at : self.at + 1] != ".":
                return keys
            self.at += 1

    def _key(self) -> str:
        for pattern in _STRINGS[2:]:
            found = pattern.match(self.text, self.at)
            if found is not None:
                self.at = found.end()
                return str(tomllib.loads(f"key = {found[0]}")["key"])  # undoes escapes
        return self._take(_BARE_KEY)

    def _value(self, path: KeyPath) -> None:
        self._take(_SPACE)
        for pattern in _STRINGS:
            found = pattern.match(self.text, self.at)
            if found is not None:
                self.at = found.end()
                return
        if self.text[self.at] == "[":
            self._list(path)
        elif self.text[self.at] == "{":
            self._items("}", lambda _: self._pair(path))
        else:
            self._take(_SCALAR)

    def _list(self, path: KeyPath) -> None:
        def item(index: int) -> None:
            self.places[(*path, index)] = self._line()
            self._value((*path, index))

        self._items("]", item)

    def _items(self, closing: str, read: Callable[[int], None]) -> None:
        self.at += 1
        index = 0
        while True:
            self._take(_BLANK)
            if self.text[self.at] == closing:
                self.at += 1
                return
            if self.text[self.at] == ",":
                self.at += 1
                continue
            read(index)
            index += 1

    def _take(self, pattern: re.Pattern[str]) -> str:
        found = pattern.match(self.text, self.at)
        if found is None:
            raise ValueError(f"not valid TOML in line {self._line()}")
        self.at = found.end()
        return found[0]

    def _line(self) -> int:
        return bisect_right(self._line_starts, self.at)
