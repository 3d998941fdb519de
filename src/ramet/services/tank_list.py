"""Hold a list of corals against a receiving tank without any shipment."""

import re
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any, cast

from ramet.domain.errors import BadInput
from ramet.domain.problems import Problem
from ramet.domain.words import Rank
from ramet.formats.plan import Caution
from ramet.formats.shipment import Shipment
from ramet.formats.table import Row, read_rows, read_sheets
from ramet.formats.tank import CORAL_COLUMNS, TankFile
from ramet.formats.tank_report import TankReport
from ramet.formats.toml_reader import read_text, read_toml
from ramet.reference.tables import Reference
from ramet.services.importing.stock_rows import UNKNOWN, UNKNOWN_FORM
from ramet.services.receiving.arriving import UNDATED, ArrivingPiece, Visit
from ramet.services.receiving.placing import PlacedPiece, place
from ramet.services.tank import tank_report

_REQUESTS = re.compile(r"^\s*\[\[\s*request\s*\]\]", re.MULTILINE)


PLACING_S = 0.5


@dataclass(frozen=True, slots=True)
class ListedCoral:
    """A coral of the list, as the tank's models and as placement see it."""

    arriving: ArrivingPiece
    placed: PlacedPiece


@dataclass(frozen=True, slots=True)
class TankAnswer:
    """What the tank says about the list. `defaults_used` names what stood in for a missing value.

    `unplaced` are the pieces for which no spot was found, each with the number that binds.
    """

    pieces: tuple[ArrivingPiece, ...]
    report: TankReport
    cautions: tuple[Caution, ...]
    defaults_used: tuple[str, ...]
    unplaced: tuple[tuple[str, str], ...] = ()

    @property
    def takes_the_list(self) -> bool:
        """Tell whether supply, biofilter and spots are expected to bear the list on day one."""
        return not self.why_not

    @property
    def why_not(self) -> tuple[str, ...]:
        """What the tank can't bear on day one, by the number that binds."""
        short = [one.text for one in self.cautions if one.code == "alkalinity_short"]
        thin = [] if self.report.biofilter.enough else [f"Biofilter: {self.report.biofilter.note}."]
        return (*short, *thin, *(f"{piece} has no place: {reason}." for piece, reason in self.unplaced))


def judge_list(
    reference: Reference,
    tank_path: Path,
    stock_path: Path,
    *,
    placing_s: float = PLACING_S,
    seed: int = 1,
    today: date | None = None,
) -> TankAnswer:
    """Read both files and return the answer. Raises BadInput with every problem of both.

    `placing_s` are the solver's deterministic seconds; no coral is placed with 0, nor in a tank whose file
    names neither zones nor spots. A tank alone is asked about corals that come `today`.
    """
    problems: list[Problem] = []
    read = _read_tank(tank_path)
    listed, defaults = read_corals(reference, stock_path, problems)
    if isinstance(read, tuple) or problems:
        raise BadInput([*(read if isinstance(read, tuple) else ()), *problems])
    tank, corals = read.tank, [one.arriving for one in listed]
    placing = None
    if placing_s > 0 and (tank.zone or tank.spot or tank.rock_heights_mm):
        placing = place(reference, tank, [one.placed for one in listed], placing_s, seed)
    report, cautions = tank_report(
        reference,
        tank,
        read.goods,
        corals,
        placement=placing.placements if placing else (),
        free=placing.free if placing else (),
        visit=_visit(read, today),
    )
    binding = placing is not None and bool(tank.spot or tank.rock_heights_mm)
    unplaced = placing.unplaced if placing is not None and binding else ()
    return TankAnswer(tuple(corals), report, cautions, tuple(defaults), unplaced)


def read_corals(
    reference: Reference, path: Path, problems: list[Problem]
) -> tuple[list[ListedCoral], list[str]]:
    """Read a list of corals; `count` repeats a row. Problems are added to `problems`."""
    sheets, wrong = read_sheets(path)
    problems += wrong
    pieces: list[ListedCoral] = []
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


def _visit(read: TankFile | Shipment, today: date | None) -> Visit:
    """Dates of the shipment; of a tank alone those of corals that would come today."""
    if isinstance(read, TankFile):
        return replace(UNDATED, arrives=today)
    leaves, arrives = read.leg[0].start, read.leg[-1].end
    return Visit(
        leaves=leaves.date(),
        arrives=read.due.date(),
        journey_h=(read.due - leaves).total_seconds() / 3600,
        per_bag_min=read.handling_min_per_bag,
        early_min=(read.due - arrives).total_seconds() / 60,
    )


def _pieces(reference: Reference, row: Row, defaults: list[str]) -> list[ListedCoral]:
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
    found = []
    for number in range(1, count + 1):
        piece = name if count == 1 else f"{name} ({number} of {count})"
        coral = ArrivingPiece(
            piece, taxon, form, (length, width, height), given.get("heads"), given.get("par")
        )
        # A row repeated by its count is one strain; rows without a strain are strangers.
        strain = given.get("strain") or name
        found.append(ListedCoral(coral, PlacedPiece(piece, strain, taxon, form, coral.size_mm, Rank.MUST)))
    return found
