"""Reads a CSV table row by row; what is wrong is collected with its place, never raised singly."""

import csv
import io
from collections.abc import Iterator, Sequence
from enum import StrEnum
from typing import TypeVar

from ramet.domain.band import Band, exactly
from ramet.domain.problems import Place, Problem

Word = TypeVar("Word", bound=StrEnum)
_FLAGS = {"yes": True, "true": True, "no": False, "false": False}


class Row:
    """One row of a table. A bad cell becomes a problem and yields a harmless stand-in.

    Stand-ins let reading go on, so that all problems of all tables are reported together; the loader
    raises before anyone sees one.
    """

    def __init__(self, file: str, line: int, cells: dict[str, str], problems: list[Problem]) -> None:
        self.file = file
        self.line = line
        self._cells = cells
        self._problems = problems

    @property
    def first_column(self) -> str:
        """Name of the first column, which holds the key of most tables."""
        return next(iter(self._cells))

    def refuse(self, column: str, expected: str) -> None:
        """Note that a cell does not hold what is expected."""
        place = Place(self.file, self.line, column)
        self._problems.append(Problem(place, self._cells[column] or None, expected))

    def optional(self, column: str) -> str:
        """Return the text of a cell, which may be empty."""
        return self._cells[column]

    def text(self, column: str) -> str:
        """Return the text of a cell that must not be empty."""
        if not self._cells[column]:
            self.refuse(column, "some text")
        return self._cells[column]

    def word(self, column: str, words: type[Word]) -> Word:
        """Return a cell as one word of a closed list."""
        try:
            return words(self._cells[column])
        except ValueError:
            self.refuse(column, "one of: " + ", ".join(words))
            return next(iter(words))

    def one_of(self, column: str, known: Sequence[str]) -> str:
        """Return a cell that must stand in a list of known texts."""
        if self._cells[column] not in known:
            self.refuse(column, "one of: " + ", ".join(known))
        return self._cells[column]

    def flag(self, column: str) -> bool:
        """Return a yes or no."""
        found = _FLAGS.get(self._cells[column].lower())
        if found is None:
            self.refuse(column, "yes or no")
        return bool(found)

    def number(self, column: str, low: float, high: float) -> float:
        """Return a number within a range, bounds included."""
        try:
            value = float(self._cells[column])
        except ValueError:
            value = float("nan")
        if not low <= value <= high:
            self.refuse(column, f"a number from {low:g} to {high:g}")
            return low
        return value

    def optional_number(self, column: str, low: float, high: float) -> float | None:
        """Return a number within a range, or None for an empty cell."""
        return self.number(column, low, high) if self._cells[column] else None

    def whole(self, column: str, low: int, high: int) -> int:
        """Return a whole number within a range."""
        value = self.number(column, low, high)
        if not value.is_integer():
            self.refuse(column, f"a whole number from {low} to {high}")
        return int(value)

    def band(self, low: float, high: float, names: tuple[str, str, str] = ("low", "typical", "high")) -> Band:
        """Return the three cells of a band, each within a range and in order."""
        before = len(self._problems)
        values = [self.number(name, low, high) for name in names]
        if len(self._problems) > before:
            return exactly(low)
        if not values[0] <= values[1] <= values[2]:
            self.refuse(names[1], f"{names[0]} <= {names[1]} <= {names[2]}")
            return exactly(values[1])
        return Band(*values)


def read_rows(file: str, content: bytes, header: Sequence[str], problems: list[Problem]) -> Iterator[Row]:
    """Yield the rows of a table whose header must be exactly `header`."""
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as wrong:
        line = content[: wrong.start].count(b"\n") + 1
        problems.append(Problem(Place(file, line), None, "text in UTF-8"))
        return
    lines = _numbered(text, file, problems)
    _, found = next(lines, (1, []))
    if found != list(header):
        problems.append(Problem(Place(file, 1), ",".join(found), "the header " + ",".join(header)))
        return
    for line, cells in lines:
        if len(cells) == len(header):
            stripped = [cell.strip() for cell in cells]
            yield Row(file, line, dict(zip(header, stripped, strict=True)), problems)
        elif cells:
            expected = f"{len(header)} cells, not {len(cells)}"
            problems.append(Problem(Place(file, line), ",".join(cells), expected))


def _numbered(text: str, file: str, problems: list[Problem]) -> Iterator[tuple[int, list[str]]]:
    """Yield the rows of a CSV text, each with the line on which it starts."""
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    line = 1
    try:
        for cells in reader:
            yield line, cells
            line = reader.line_num + 1
    except csv.Error as wrong:
        problems.append(Problem(Place(file, line), None, f"well-formed CSV ({wrong})"))
