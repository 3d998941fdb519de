"""How the cells of a table are read and written. A reader raises ValueError with what it expects."""

import math
import re
import unicodedata
from collections.abc import Callable
from datetime import date
from enum import StrEnum
from typing import TypeVar

from ramet.domain.quantities import to_unit

Word = TypeVar("Word", bound=StrEnum)

_NUMBER = re.compile(r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?")
_FORMULA = re.compile(r"[=+\-@]")
_RUN_FIRST = "=+-@"
_SHIELDED = re.compile(r"'+[=+\-@]")


def text_up_to(most: int, *, lines: bool = False) -> Callable[[str], str]:
    """Return a reader of text of at most `most` characters. Text that a spreadsheet would run is refused.

    A formula behind an apostrophe is harmless there and is read as the text that it shows.
    """

    def read(cell: str) -> str:
        text = cell if cell.isascii() else unicodedata.normalize("NFC", cell)
        first = text[:1]
        if first in _RUN_FIRST and first:
            raise ValueError("text that does not begin with = + - or @ (a spreadsheet would run it)")
        if first == "'" and _SHIELDED.match(text):
            text = text[1:]
        # Printable text needs no look at each character, and nearly all text is.
        if not text.isprintable() and any(_is_control(mark, lines) for mark in text):
            raise ValueError("text without control characters" + ("" if lines else ", on one line"))
        if len(text) > most:
            raise ValueError(f"at most {most} characters, not {len(text)}")
        return text

    return read


def shielded(text: str) -> str:
    """Return text so that no spreadsheet runs it; `text_up_to` reads it back unchanged."""
    return "'" + text if _FORMULA.match(text.lstrip("'")) else text


def number(low: float, high: float, words: str, *, above_low: bool = False) -> Callable[[str], float]:
    """Return a reader of a bare number in a range."""

    def read(cell: str) -> float:
        return _in_range(_bare(cell, words), low, high, words, above_low)

    return read


def quantity(
    unit: str, low: float, high: float, words: str, *, above_low: bool = False
) -> Callable[[str], float]:
    """Return a reader of a number in the column's unit, or of text with a unit of its own (“2 in”)."""

    def read(cell: str) -> float:
        if _NUMBER.fullmatch(cell):
            return _in_range(float(cell), low, high, words, above_low)
        try:
            value = to_unit(cell, unit)
        except ValueError as error:
            raise ValueError(f"{words}: {error}") from None
        return _in_range(round(value, 6), low, high, words, above_low)

    return read


def whole_number(low: int, high: int, words: str) -> Callable[[str], int]:
    """Return a reader of a whole number in a range."""

    def read(cell: str) -> int:
        value = _in_range(_bare(cell, words), low, high, words, above_low=False)
        if value != int(value):
            raise ValueError(words)
        return int(value)

    return read


def day(cell: str) -> date:
    """Read a day in ISO form."""
    try:
        if re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", cell):
            return date.fromisoformat(cell)
    except ValueError:
        pass
    raise ValueError("a day such as 2027-01-31 (year-month-day)")


def word_of(words: type[Word]) -> Callable[[str], Word]:
    """Return a reader of one word out of a closed list."""
    listed = ", ".join(words)

    def read(cell: str) -> Word:
        try:
            return words(cell.lower())
        except ValueError:
            raise ValueError(f"one of: {listed}") from None

    return read


def written(value: object) -> str:
    """Return a value as the text of a cell: None blank, numbers in their shortest exact form."""
    if value is None:
        return ""
    if isinstance(value, float):
        return str(int(value)) if value.is_integer() and abs(value) < 1e15 else repr(value)
    if isinstance(value, date):
        return value.isoformat()
    return shielded(str(value))


def _is_control(mark: str, lines: bool) -> bool:
    """Tell whether a character has no place in text; surrogates cannot be stored at all."""
    return unicodedata.category(mark) in {"Cc", "Cs"} and not (lines and mark in "\n\t")


def _bare(cell: str, words: str) -> float:
    if not _NUMBER.fullmatch(cell):
        raise ValueError(words)
    return float(cell)


def _in_range(value: float, low: float, high: float, words: str, above_low: bool) -> float:
    if not math.isfinite(value) or not low <= value <= high or (above_low and value == low):
        raise ValueError(words)
    return value
