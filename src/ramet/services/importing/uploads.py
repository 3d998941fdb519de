"""Tables that came through a page: kept until they are imported, and mended there cell by cell."""

import csv
import io
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from ramet.domain.errors import BadInput
from ramet.domain.problems import Problem
from ramet.formats.records import HEALTH_COLUMNS, WATER_COLUMNS
from ramet.formats.stock import COLUMNS
from ramet.formats.table import Sheet, read_sheets
from ramet.services.beside import write_whole

LEAVE_OUT = "-"
"""Stands for a column that shall not be read."""
_MOST_ROWS = 60
_NAMES = {column.name for table in (COLUMNS, WATER_COLUMNS, HEALTH_COLUMNS) for column in table}


@dataclass(frozen=True, slots=True)
class BadCell:
    """A cell to mend: the name of its form field, its heading, what stands there, what is expected."""

    field: str
    header: str
    value: str
    expected: str


@dataclass(frozen=True, slots=True)
class BadRow:
    """A row with something to mend. `words` tell what is wrong and cannot be mended in a cell."""

    file: str
    line: int
    name: str
    cells: tuple[BadCell, ...]
    words: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Mending:
    """All that keeps some tables from being imported.

    `headers` are headings to rename or leave out; `missing` are columns that take one value for every row.
    """

    headers: tuple[BadCell, ...]
    missing: tuple[BadCell, ...]
    rows: tuple[BadRow, ...]
    more_rows: int
    words: tuple[str, ...]

    @property
    def rows_alone(self) -> bool:
        """Tell whether only rows are wrong, so that the others could be taken."""
        return not (self.headers or self.missing or self.words)


def keep_upload(folder: Path, files: Sequence[tuple[str, bytes]], pasted: str) -> tuple[Path, ...]:
    """Keep what was sent as CSV tables in `folder`, a workbook a file for each sheet, and return their paths.

    Raises BadInput for a file that cannot be read as a table.
    """
    sent = [(_safe(name), data) for name, data in files]
    if pasted.strip():
        sent.append(("pasted.csv", pasted.encode()))
    problems: list[Problem] = []
    for number, (name, data) in enumerate(sent, start=1):
        path = write_whole(folder / f"{number} {name}", data)
        sheets, wrong = read_sheets(path)
        problems += [_shown(problem) for problem in wrong]
        path.unlink()
        for place, sheet in enumerate(sheets, start=1):
            stem = Path(name).stem
            suffix = f" sheet {place}" if len(sheets) > 1 else ""
            write_whole(folder / f"{number} {stem}{suffix}.csv", _csv(sheet))
    if problems:
        raise BadInput(problems)
    return kept_tables(folder)


def kept_tables(folder: Path) -> tuple[Path, ...]:
    """Return the tables that are kept in a folder."""
    return tuple(sorted(folder.glob("*.csv")))


def mending_of(paths: Sequence[Path], problems: Sequence[Problem]) -> Mending:
    """Sort problems into what can be mended where, rows in the order of the file."""
    numbers = {str(path): number for number, path in enumerate(paths)}
    sheets = {str(path): read_sheets(path)[0][0] for path in paths if read_sheets(path)[0]}
    headers, missing, words = [], [], []
    rows: dict[tuple[str, int], BadRow] = {}
    for problem in problems:
        place = problem.place
        sheet = sheets.get(place.file)
        if sheet is None or place.line is None:
            words.append(problem)
        elif place.line == sheet.header_line and place.column and problem.value is None:
            field = f"missing|{numbers[place.file]}|{place.column}"
            missing.append(BadCell(field, place.column, "", _table_name(place.file)))
        elif place.line == sheet.header_line and place.column:
            field = f"header|{numbers[place.file]}|{place.column}"
            headers.append(BadCell(field, place.column, place.column, problem.expected))
        else:
            _add(rows, sheet, numbers[place.file], problem)
    told = sorted(rows.values(), key=lambda row: (row.file, row.line))
    return Mending(
        tuple(headers),
        tuple(missing),
        tuple(told[:_MOST_ROWS]),
        max(len(told) - _MOST_ROWS, 0),
        tuple(f"{_table_name(one.place.file)}: {one.expected}" for one in words),
    )


def mend(paths: Sequence[Path], typed: Mapping[str, str]) -> None:
    """Write what was typed into the tables: `cell|table|line|column`, `header|…`, and `missing|…` fields."""
    for number, path in enumerate(paths):
        sheets, _ = read_sheets(path)
        if sheets:
            write_whole(path, _csv(_mended(sheets[0], number, typed)))


def column_names() -> tuple[str, ...]:
    """Return every column that a table may have."""
    return tuple(sorted(_NAMES))


def _mended(sheet: Sheet, number: int, typed: Mapping[str, str]) -> Sheet:
    rows = []
    for line, cells in sheet.rows:
        padded = [*cells, *[""] * (len(sheet.headers) - len(cells))]
        for index, header in enumerate(sheet.headers):
            padded[index] = typed.get(f"cell|{number}|{line}|{header}", padded[index])
        rows.append((line, tuple(padded)))
    headers = tuple(typed.get(f"header|{number}|{header}", "") or header for header in sheet.headers)
    changed = _without(replace(sheet, headers=headers, rows=tuple(rows)), LEAVE_OUT)
    for name in sorted(_NAMES):
        value = typed.get(f"missing|{number}|{name}", "").strip()
        if value and name not in changed.headers:
            filled = tuple((line, (*cells, value)) for line, cells in changed.rows)
            changed = replace(changed, headers=(*changed.headers, name), rows=filled)
    return changed


def _without(sheet: Sheet, header: str) -> Sheet:
    kept = [index for index, one in enumerate(sheet.headers) if one != header]
    rows = tuple((line, tuple(cells[index] for index in kept)) for line, cells in sheet.rows)
    return replace(sheet, headers=tuple(sheet.headers[index] for index in kept), rows=rows)


def _add(rows: dict[tuple[str, int], BadRow], sheet: Sheet, number: int, problem: Problem) -> None:
    line, column = problem.place.line or 0, problem.place.column
    row = rows.get((sheet.file, line))
    if row is None:
        first = next((cells[0] for at, cells in sheet.rows if at == line and cells), "")
        row = BadRow(_table_name(sheet.file), line, first.strip(), (), ())
    if column in sheet.headers:
        row = replace(row, cells=_with_cell(row.cells, f"cell|{number}|{line}|{column}", problem))
    else:
        row = replace(row, words=(*row.words, f"{column or 'row'}: expected {problem.expected}"))
    rows[sheet.file, line] = row


def _with_cell(cells: tuple[BadCell, ...], field: str, problem: Problem) -> tuple[BadCell, ...]:
    """Add a cell; what else is wrong with a cell that is there joins its words."""
    for index, cell in enumerate(cells):
        if cell.field == field:
            both = replace(cell, expected=f"{cell.expected}; and {problem.expected}")
            return (*cells[:index], both, *cells[index + 1 :])
    return (*cells, BadCell(field, problem.place.column or "", problem.value or "", problem.expected))


def _csv(sheet: Sheet) -> bytes:
    """Write a table with each row on its line, so that a problem's line is still that of the user's file."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\n")
    at = 1
    for line, cells in ((sheet.header_line, sheet.headers), *sheet.rows):
        out.write("\n" * max(line - at, 0))
        writer.writerow(cells)
        at = max(line, at) + 1 + sum(cell.count("\n") for cell in cells)
    return out.getvalue().encode()


def _shown(problem: Problem) -> Problem:
    return replace(problem, place=replace(problem.place, file=_table_name(problem.place.file)))


def _table_name(file: str) -> str:
    return re.sub(r"^\d+ ", "", Path(file).name)


def _safe(name: str) -> str:
    plain = re.sub(r"[^\w. -]+", "_", Path(name.replace("\\", "/")).name).strip(" .")
    return plain[-80:] or "table.csv"
