"""Tables as users keep them: CSV or XLSX, any order of columns, every problem with its place."""

import csv
import difflib
import io
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from pathlib import Path

from ramet.domain.problems import Place, Problem

MOST_MB = 100
SHEETS = ("stock", "water", "health", "spots")
"""Sheets that are read where a workbook has several; notes and sums beside them are nobody's business."""
Reader = Callable[[str], object]
"""Reads the text of a cell; raises ValueError with what is expected instead."""


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a table: its name, how its cells are read, and other headers it goes by."""

    name: str
    read: Reader
    required: bool = False
    aliases: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Sheet:
    """A table as text. `rows` hold the line of the file and the cells."""

    file: str
    headers: tuple[str, ...]
    rows: tuple[tuple[int, tuple[str, ...]], ...]
    header_line: int = 1


@dataclass(frozen=True, slots=True)
class Row:
    """A row whose cells were read. `indexes` tells where each column stands in the sheet.

    Of a `broken` row some cells could not be read; they are missing from `values`.
    """

    sheet: Sheet = field(repr=False)
    line: int
    cells: tuple[str, ...]
    values: Mapping[str, object]
    indexes: Mapping[str, int] = field(repr=False)
    broken: bool = False

    @property
    def file(self) -> str:
        """The file, and sheet, of the row."""
        return self.sheet.file

    def problem(self, column: str, expected: str) -> Problem:
        """Return a problem with the cell of this row in `column`."""
        index = self.indexes.get(column)
        header = column if index is None else self.sheet.headers[index]
        text = "" if index is None or index >= len(self.cells) else self.cells[index].strip()
        return Problem(Place(self.file, self.line, header), text or None, expected)


def read_sheets(path: Path) -> tuple[list[Sheet], list[Problem]]:
    """Read the tables of a file: of a workbook its only sheet, or those that are named for a table."""
    file = str(path)
    if not path.is_file():
        found = "a folder" if path.is_dir() else None
        return [], [Problem(Place(file), found, "a CSV or XLSX file that exists")]
    if path.stat().st_size > MOST_MB * 1_000_000:
        return [], [Problem(Place(file), f"{path.stat().st_size} bytes", f"at most {MOST_MB} MB")]
    suffix = path.suffix.lower()
    if suffix == ".xlsx":
        return _read_xlsx(path)
    if suffix in {".csv", ".tsv", ".txt", ""}:
        return _read_csv(path)
    return [], [Problem(Place(file), path.suffix, "a file that ends with .csv or .xlsx")]


def match_headers(sheet: Sheet, columns: Sequence[Column]) -> tuple[dict[int, Column], list[Problem]]:
    """Find the column behind each header, whatever the order, and what is wrong with the headers."""
    known = {alias: column for column in columns for alias in (column.name, *column.aliases)}
    found: dict[int, Column] = {}
    problems = []
    for index, header in enumerate(sheet.headers):
        place = Place(sheet.file, sheet.header_line, header)
        column = known.get(header_key(header))
        if column is None:
            problems.append(Problem(place, header, _nearest_header(header, known)))
        elif column in found.values():
            problems.append(Problem(place, header, f"one column only for “{column.name}”"))
        else:
            found[index] = column
    missing = [column for column in columns if column.required and column not in found.values()]
    problems += [
        Problem(Place(sheet.file, sheet.header_line, column.name), None, f"a column “{column.name}”")
        for column in missing
    ]
    return found, problems


def read_rows(sheet: Sheet, columns: Sequence[Column]) -> tuple[list[Row], list[Problem]]:
    """Read every row, and tell what is wrong. A row with a problem is marked as broken."""
    found, problems = match_headers(sheet, columns)
    if problems:
        return [], problems
    indexes = {column.name: index for index, column in found.items()}
    rows = []
    for line, cells in sheet.rows:
        values, bad = _read_cells(sheet, line, cells, found)
        problems += bad
        rows.append(Row(sheet, line, cells, values, indexes, broken=bool(bad)))
    return rows, problems


def header_key(header: str) -> str:
    """Return a header without regard to case, and to blanks or hyphens for underscores."""
    return re.sub(r"[\s-]+", "_", header.strip().lower())


def _read_cells(
    sheet: Sheet, line: int, cells: Sequence[str], found: Mapping[int, Column]
) -> tuple[dict[str, object], list[Problem]]:
    values: dict[str, object] = {}
    problems = []
    beyond = [cell for cell in cells[len(sheet.headers) :] if cell.strip()]
    if beyond:
        expected = f"no more cells than the {len(sheet.headers)} headers"
        problems.append(Problem(Place(sheet.file, line), beyond[0], expected))
    count = len(cells)
    for index, column in found.items():
        text = cells[index].strip() if index < count else ""
        if not text and not column.required:
            values[column.name] = None
            continue
        try:
            if not text:
                raise ValueError("a value (this column is required)")
            values[column.name] = column.read(text)
        except ValueError as error:
            place = Place(sheet.file, line, sheet.headers[index])
            problems.append(Problem(place, text or None, str(error)))
    return values, problems


def _nearest_header(header: str, known: Mapping[str, Column]) -> str:
    near = difflib.get_close_matches(header_key(header), known, n=1, cutoff=0.5)
    if near:
        return f"a known column; the nearest is “{known[near[0]].name}”"
    return "a known column: " + ", ".join(dict.fromkeys(column.name for column in known.values()))


def _read_csv(path: Path) -> tuple[list[Sheet], list[Problem]]:
    file, data = str(path), path.read_bytes()
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        found = f"byte 0x{data[error.start]:02x} at offset {error.start}"
        return [], [Problem(Place(file, line), found, "text in UTF-8 (save the table as “CSV UTF-8”)")]
    if "\0" in text:
        line = text.count("\n", 0, text.index("\0")) + 1
        return [], [Problem(Place(file, line), "a zero byte", "plain text in UTF-8")]
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=_delimiter(text), strict=True)
    lines = []
    started = 1
    try:
        for cells in reader:
            lines.append((started, tuple(cells)))
            started = reader.line_num + 1
    except csv.Error as error:
        return [], [Problem(Place(file, started), str(error), "a CSV row with its quotes closed")]
    return _sheets(file, [("", lines)])


def _delimiter(text: str) -> str:
    """Return the mark that splits the first line into most cells: some programs save “CSV” with others."""
    first = text.lstrip().split("\n", 1)[0]
    return max(",;\t", key=first.count)


def _read_xlsx(path: Path) -> tuple[list[Sheet], list[Problem]]:
    from python_calamine import CalamineError, CalamineWorkbook

    try:
        book = CalamineWorkbook.from_path(str(path))
        named = [
            (name, _numbered(book.get_sheet_by_name(name).to_python(skip_empty_area=False)))
            for name in book.sheet_names
        ]
    except (CalamineError, OSError) as error:
        return [], [Problem(Place(str(path)), None, f"a workbook that can be opened ({error})")]
    filled = [(name, lines) for name, lines in named if any(any(cells) for _, cells in lines)]
    if len(filled) > 1:
        known = [(name, lines) for name, lines in filled if header_key(name) in SHEETS]
        if not known:
            names = ", ".join(name for name, _ in filled)
            return [], [Problem(Place(str(path)), names, f"a sheet named {', '.join(SHEETS)}")]
        return _sheets(str(path), known)
    return _sheets(str(path), [("", lines) for _, lines in filled])


def _numbered(rows: Sequence[Sequence[object]]) -> list[tuple[int, tuple[str, ...]]]:
    return [(line, tuple(_cell_text(cell) for cell in row)) for line, row in enumerate(rows, start=1)]


def _cell_text(cell: object) -> str:
    """Return a workbook's cell as the text a CSV file would hold: whole numbers bare, dates ISO."""
    if isinstance(cell, float) and cell.is_integer():
        return str(int(cell))
    if isinstance(cell, datetime):
        midnight = not (cell.hour or cell.minute or cell.second)
        return cell.date().isoformat() if midnight else cell.isoformat(sep=" ")
    return cell.isoformat() if isinstance(cell, date) else str(cell)


def _sheets(
    file: str, named: Sequence[tuple[str, list[tuple[int, tuple[str, ...]]]]]
) -> tuple[list[Sheet], list[Problem]]:
    sheets = [sheet for name, lines in named for sheet in _sheet(f"{file} ({name})" if name else file, lines)]
    if not sheets:
        return [], [Problem(Place(file, 1), None, "a row of column headers")]
    return sheets, []


def _sheet(file: str, lines: Sequence[tuple[int, tuple[str, ...]]]) -> Iterator[Sheet]:
    filled = [(line, cells) for line, cells in lines if any(cell.strip() for cell in cells)]
    if filled:
        (header_line, cells), *rows = filled
        width = max(index for index, cell in enumerate(cells) if cell.strip()) + 1
        yield Sheet(file, tuple(cell.strip() for cell in cells[:width]), tuple(rows), header_line)
