"""Hold a list of corals against a receiving tank without any shipment."""

import re
from dataclasses import dataclass
from pathlib import Path
from typing import Any, cast

from ramet.domain.errors import BadInput
from ramet.domain.problems import Problem
from ramet.formats.plan import Caution
from ramet.formats.shipment import Shipment
from ramet.formats.table import Row, read_rows, read_sheets
from ramet.formats.tank import CORAL_COLUMNS, TankFile
from ramet.formats.tank_report import TankReport
from ramet.formats.toml_reader import read_text, read_toml
from ramet.reference.tables import Reference
from ramet.services.receiving.arriving import ArrivingPiece
from ramet.services.stock_rows import UNKNOWN, UNKNOWN_FORM
from ramet.services.tank import tank_report

_REQUESTS = re.compile(r"^\s*\[\[\s*request\s*\]\]", re.MULTILINE)


@dataclass(frozen=True, slots=True)
class TankAnswer:
    """What the tank says about the list. `defaults_used` names what stood in for a missing value."""

    pieces: tuple[ArrivingPiece, ...]
    report: TankReport
    cautions: tuple[Caution, ...]
    defaults_used: tuple[str, ...]

    @property
    def takes_the_list(self) -> bool:
        """Tell whether alkalinity supply and biofilter are expected to bear the list on day one."""
        return self.report.biofilter.enough and all(one.code != "alkalinity_short" for one in self.cautions)


def judge_list(reference: Reference, tank_path: Path, stock_path: Path) -> TankAnswer:
    """Read both files and return the answer. Raises BadInput with every problem of both."""
    problems: list[Problem] = []
    read = _read_tank(tank_path)
    pieces, defaults = read_corals(reference, stock_path, problems)
    if isinstance(read, tuple) or problems:
        raise BadInput([*(read if isinstance(read, tuple) else ()), *problems])
    report, cautions = tank_report(reference, read.tank, read.goods, pieces)
    return TankAnswer(tuple(pieces), report, cautions, tuple(defaults))


def read_corals(
    reference: Reference, path: Path, problems: list[Problem]
) -> tuple[list[ArrivingPiece], list[str]]:
    """Read a list of corals; `count` repeats a row. Problems are added to `problems`."""
    sheets, wrong = read_sheets(path)
    problems += wrong
    pieces: list[ArrivingPiece] = []
    defaults: list[str] = []
    for sheet in sheets:
        rows, wrong = read_rows(sheet, CORAL_COLUMNS)
        problems += wrong
        for row in rows:
            expected = _taxon_expected(reference, row)
            if expected is not None:
                problems.append(row.problem("taxon", expected))
            elif not row.broken:
                pieces += _pieces(reference, row, defaults)
    return pieces, defaults


def _read_tank(path: Path) -> TankFile | Shipment | tuple[Problem, ...]:
    """Read a tank file, or a whole shipment file when it holds requests."""
    text = read_text(path)
    if isinstance(text, str) and _REQUESTS.search(text):
        return read_toml(path, Shipment)
    return read_toml(path, TankFile)


def _taxon_expected(reference: Reference, row: Row) -> str | None:
    """Return what is wrong with a taxon, or None. Nearest names are suggested, never filled in."""
    if "taxon" not in row.values:
        return None
    taxon = str(row.values["taxon"])
    if reference.genus(taxon) is not None or row.values.get("form") or taxon.casefold() == UNKNOWN:
        return None
    near = reference.nearest(taxon)
    hint = f" (nearest: {', '.join(near)})" if near else ""
    return f"a genus of the reference table{hint}; or give the row a form; or “{UNKNOWN}”"


def _pieces(reference: Reference, row: Row, defaults: list[str]) -> list[ArrivingPiece]:
    given = cast("dict[str, Any]", row.values)
    name = given.get("piece") or f"row {row.line}"
    taxon, length = given["taxon"], given["length_mm"]
    form, width, height = given.get("form"), given.get("width_mm"), given.get("height_mm")
    if form is None:
        genus = reference.genus(taxon)
        form = UNKNOWN_FORM if genus is None else genus.default_form
        defaults.append(f"{name}: form")
    if width is None:
        width = length
        defaults.append(f"{name}: width_mm")
    if height is None:
        height = length * reference.parameter(f"height_per_length_{form}").band.typical
        defaults.append(f"{name}: height_mm")
    count = given.get("count") or 1
    return [
        ArrivingPiece(
            piece=name if count == 1 else f"{name} ({number} of {count})",
            taxon=taxon,
            form=form,
            size_mm=(length, width, height),
            heads=given.get("heads"),
            source_par=given.get("par"),
        )
        for number in range(1, count + 1)
    ]
