"""Reads a user's TOML or JSON file into a model, or tells everything that is wrong with it, and where."""

import difflib
import json
import re
import tomllib
from collections.abc import Callable, Iterable
from datetime import date, datetime, time
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from ramet.domain.problems import Place, Problem
from ramet.formats.expected import expected_words, known_keys
from ramet.formats.fields import Misfit, Misfits
from ramet.formats.json_places import json_places
from ramet.formats.toml_places import KeyPath, toml_places

M = TypeVar("M", bound=BaseModel)
_AT = re.compile(r" \(at (?:line (\d+), column (\d+)|end of document)\)$")
_LONGEST_VALUE = 60


def read_toml(path: Path, model: type[M]) -> M | tuple[Problem, ...]:
    """Return the model that a TOML file holds, or every problem with its line and key."""
    text = read_text(path)
    if not isinstance(text, str):
        return text
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        return (_broken_toml(path, text, str(error)),)
    except RecursionError:
        return (Problem(Place(str(path)), "tables nested too deeply", "tables of a few levels"),)
    as_json = json.dumps(data, default=_iso)
    return _validated(path, as_json, data, model, toml_places)


def read_json(path: Path, model: type[M]) -> M | tuple[Problem, ...]:
    """Return the model that a JSON file holds, or every problem with its line and key."""
    text = read_text(path)
    if not isinstance(text, str):
        return text
    try:
        data = json.loads(text)
    except json.JSONDecodeError as error:
        place = Place(str(path), error.lineno)
        found = _shown_line(text, error.lineno)
        return (Problem(place, found, f"valid JSON; in column {error.colno}: {error.msg}"),)
    except RecursionError:
        return (Problem(Place(str(path)), "lists nested too deeply", "lists of a few levels"),)
    return _validated(path, text, data, model, json_places)


def read_text(path: Path) -> str | tuple[Problem, ...]:
    """Return the text of a UTF-8 file, or why it can't be had."""
    place = Place(str(path))
    try:
        raw = path.read_bytes()
    except FileNotFoundError:
        return (Problem(place, None, "a file at this path"),)
    except IsADirectoryError:
        return (Problem(place, "a folder", "a file"),)
    except OSError as error:
        return (Problem(place, error.strerror or str(error), "a file that can be read"),)
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        found = f"byte 0x{raw[error.start]:02X} at position {error.start + 1}"
        return (Problem(Place(str(path), line), found, "text saved as UTF-8"),)


def key_words(path: KeyPath) -> str:
    """Return a key path as a user would point at it; list items count from 1: `leg[2].high_c`."""
    words = ""
    for key in path:
        words += f"[{key + 1}]" if isinstance(key, int) else f".{key}"
    return words.removeprefix(".")


def _validated(
    path: Path, text: str, data: Any, model: type[M], places: Callable[[str], dict[KeyPath, int]]
) -> M | tuple[Problem, ...]:
    try:
        return model.model_validate_json(text, strict=True)
    except ValidationError as error:
        known = places(path.read_text("utf-8-sig"))
        found = [one for each in error.errors(include_url=False) for one in _misfits(each, data, model)]
        problems = [Problem(_place(path, one.path, known), one.value, one.expected) for one in found]
        return tuple(sorted(problems, key=lambda one: (one.place.line or 0, one.place.column or "")))


def _misfits(error: Any, data: Any, model: type[BaseModel]) -> Iterable[Misfit]:
    """Turn one refusal into our words. The value shown is the one in the file, before any conversion."""
    keys: KeyPath = tuple(error["loc"])
    cause = error.get("ctx", {}).get("error")
    there = _found(data, keys)
    if isinstance(cause, Misfits):
        yield from (Misfit((*keys, *one.path), one.value, one.expected) for one in cause.found)
    elif error["type"] == "extra_forbidden":
        nearest = _nearest_key(str(keys[-1]), known_keys(model, keys[:-1]))
        yield Misfit(keys, str(keys[-1]), nearest)
    elif error["type"] == "missing":
        yield Misfit(keys, None, expected_words(model, keys))
    elif error["type"] == "too_short" and len(there) >= error["ctx"]["min_length"]:
        return  # the list is long enough; its items are told about one by one
    elif isinstance(cause, ValueError):
        yield Misfit(keys, None if isinstance(there, dict) else _shown(there), str(cause))
    else:
        yield Misfit(keys, _shown(there), expected_words(model, keys))


def _found(data: Any, keys: KeyPath) -> Any:
    for key in keys:
        if isinstance(data, dict) and key in data:
            data = data[str(key)]
        elif isinstance(data, list) and isinstance(key, int) and key < len(data):
            data = data[key]
    return data


def _nearest_key(key: str, known: tuple[str, ...]) -> str:
    near = difflib.get_close_matches(key, known, n=1, cutoff=0.6)
    if near:
        return f"a known key; nearest is “{near[0]}”"
    return "a known key, out of: " + ", ".join(known)


def _place(path: Path, keys: KeyPath, places: dict[KeyPath, int]) -> Place:
    line = None
    for length in range(len(keys), 0, -1):
        if keys[:length] in places:
            line = places[keys[:length]]
            break
    return Place(str(path), line, key_words(keys) or None)


def _shown(value: Any) -> str:
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list):
        return f"a list of {len(value)}"
    if isinstance(value, (datetime, date, time)):
        return _iso(value)
    text = json.dumps(value) if isinstance(value, bool) or value is None else str(value)
    return text if len(text) <= _LONGEST_VALUE else text[: _LONGEST_VALUE - 1] + "…"


def _shown_line(text: str, line: int) -> str | None:
    lines = text.splitlines()
    return _shown(lines[line - 1].strip()) if 0 < line <= len(lines) and lines[line - 1].strip() else None


def _broken_toml(path: Path, text: str, message: str) -> Problem:
    found = _AT.search(message)
    said = _AT.sub("", message)
    if found is None or found[1] is None:
        last = max(1, len(text.splitlines()))
        return Problem(Place(str(path), last), _shown_line(text, last), f"valid TOML; at its end: {said}")
    line, column = int(found[1]), int(found[2])
    return Problem(Place(str(path), line), _shown_line(text, line), f"valid TOML; in column {column}: {said}")


def _iso(value: object) -> str:
    if isinstance(value, (datetime, date, time)):
        return value.isoformat()
    raise TypeError(f"no text form for {type(value).__name__}")
