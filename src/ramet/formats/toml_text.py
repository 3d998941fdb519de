"""Writes plain values as TOML: keys first, then tables, then lists of tables, as people write such files."""

import json
import re
from collections.abc import Iterator, Mapping, Sequence
from datetime import date, datetime, time
from typing import Any

_BARE = re.compile(r"[A-Za-z0-9_-]+")


def toml_text(data: Mapping[str, Any]) -> str:
    """Return a table as TOML. None is left out: TOML has no word for it.

    >>> print(toml_text({"name": "reef", "box": [{"type": "cube_305", "count": 2}]}), end="")
    name = "reef"
    <BLANKLINE>
    [[box]]
    type = "cube_305"
    count = 2
    """
    return "\n".join(_table(data, ())).strip("\n") + "\n"


def _table(data: Mapping[str, Any], path: tuple[str, ...]) -> Iterator[str]:
    tables: list[tuple[str, Any]] = []
    for key, value in data.items():
        if isinstance(value, Mapping) or _is_list_of_tables(value):
            tables.append((key, value))
        elif value is not None:
            yield f"{_key(key)} = {_value(value)}"
    for key, value in tables:
        name = ".".join(_key(one) for one in (*path, key))
        for one in [value] if isinstance(value, Mapping) else value:
            yield ""
            yield f"[{name}]" if isinstance(value, Mapping) else f"[[{name}]]"
            yield from _table(one, (*path, key))


def _is_list_of_tables(value: object) -> bool:
    return isinstance(value, (list, tuple)) and bool(value) and all(isinstance(one, Mapping) for one in value)


def _key(key: str) -> str:
    return key if _BARE.fullmatch(key) else _text(key)


def _value(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, (datetime, date, time)):
        return value.isoformat()
    if isinstance(value, str):
        return _text(value)
    if isinstance(value, float):
        return str(int(value)) if value.is_integer() and abs(value) < 1e15 else repr(value)
    if isinstance(value, Mapping):
        inner = ", ".join(f"{_key(key)} = {_value(one)}" for key, one in value.items() if one is not None)
        return "{ " + inner + " }"
    if isinstance(value, Sequence):
        return "[" + ", ".join(_value(one) for one in value) + "]"
    return str(value)


def _text(text: str) -> str:
    # JSON's escapes are TOML's too, but for DEL, which TOML wants escaped.
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
