"""What was typed into a form, as rows of a table: read and checked as those of a file are."""

from collections.abc import Mapping, Sequence

from ramet.domain.problems import Place, Problem
from ramet.formats.table import Column, Row, Sheet, read_rows


def rows_of(
    verb: str, typed: Sequence[Mapping[str, str]], columns: Sequence[Column]
) -> tuple[list[Row], list[Problem]]:
    """Return rows with their cells read, and what is wrong. A field that is not named is left as it is.

    The rows count from 1; all have the fields of the first.
    """
    headers = tuple(typed[0]) if typed else ()
    lines = tuple((n, tuple(one.get(name, "") for name in headers)) for n, one in enumerate(typed, start=1))
    return read_rows(Sheet(verb, headers, lines, 0), columns)


def placed(problem: Problem, verb: str, alone: bool) -> Problem:
    """Return a problem with the place of a form's field: without a line where there is but one row."""
    line = None if alone else problem.place.line
    return Problem(Place(verb, line, problem.place.column), problem.value, problem.expected)
