"""Tables as an XLSX workbook, one a sheet; `ramet import` reads it back without loss."""

from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from openpyxl.cell import Cell
    from openpyxl.worksheet._write_only import WriteOnlyWorksheet

_NUMBERS = ("_mm", "_c", "_l", "_cm_s", "_h")
_NUMBER_NAMES = frozenset({"heads", "par", "salinity", "ph"})


def write_workbook(path: Path, tables: Mapping[str, Iterable[list[str]]]) -> None:
    """Write tables, header row first, by the name of their sheet.

    Sizes and readings become numbers. All else stays text, an id such as 007 or 1e5 too, and nothing is
    ever a formula.
    """
    from openpyxl import Workbook

    book = Workbook(write_only=True)
    for name, rows in tables.items():
        sheet = book.create_sheet(name)
        lines = iter(rows)
        header = next(lines)
        sheet.append([_text(sheet, title) for title in header])
        numeric = [title.endswith(_NUMBERS) or title in _NUMBER_NAMES for title in header]
        for line in lines:
            pairs = zip(line, numeric, strict=True)
            sheet.append([float(cell) if cell and number else _text(sheet, cell) for cell, number in pairs])
    book.save(path)


def _text(sheet: "WriteOnlyWorksheet", text: str) -> "Cell | None":
    from openpyxl.cell import WriteOnlyCell

    if not text:
        return None
    cell = WriteOnlyCell(sheet, value=text)
    cell.data_type = "s"
    return cell
