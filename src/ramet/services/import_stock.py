"""Take stock lists, water readings, health records and spots into the ledger: all of it, or nothing."""

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path

from ramet.domain.errors import BadInput
from ramet.domain.events import Entry
from ramet.domain.piece import Piece, name_key
from ramet.domain.problems import Place, Problem
from ramet.formats.records import HEALTH_COLUMNS, WATER_COLUMNS
from ramet.formats.spots import SPOT_COLUMNS
from ramet.formats.stock import COLUMNS as STOCK_COLUMNS
from ramet.formats.table import Column, Row, Sheet, header_key, read_rows, read_sheets
from ramet.ledger.queries import EMPTY, Contents, contents
from ramet.ledger.store import Clock, exists, open_ledger
from ramet.reference.tables import Reference
from ramet.services.bulk import collector_paused
from ramet.services.importing.record_checks import CheckedRecords, Names, check_health, check_water
from ramet.services.importing.spot_checks import check_spots
from ramet.services.importing.stock_checks import Checked, check_rows
from ramet.services.importing.stock_rows import Proposed, entries, trait_defaults
from ramet.services.importing.take_over import event_file, take_over
from ramet.services.stock import RATES

_TABLES = {
    "stock": STOCK_COLUMNS,
    "water": WATER_COLUMNS,
    "health": HEALTH_COLUMNS,
    "spots": SPOT_COLUMNS,
}


@dataclass(frozen=True, slots=True)
class ImportReport:
    """What an import did. `problems` are those of rows left out at the user's word."""

    pieces_added: int
    pieces_changed: int
    pieces_unchanged: int
    readings_added: int
    health_added: int
    spots_added: int
    records_known: int
    version: int
    events_added: int = 0
    defaults_used: tuple[str, ...] = ()
    problems: tuple[Problem, ...] = ()

    @property
    def rows_left_out(self) -> int:
        """How many rows were left out."""
        return len({(problem.place.file, problem.place.line) for problem in self.problems})


@dataclass(slots=True)
class _Tables:
    """Rows by kind of table. Problems of whole files stop an import even when bad rows are accepted."""

    rows: dict[str, list[Row]] = field(default_factory=lambda: {kind: [] for kind in _TABLES})
    row_problems: list[Problem] = field(default_factory=list)
    file_problems: list[Problem] = field(default_factory=list)

    def whole(self, kind: str) -> list[Row]:
        """Return the rows of a kind whose every cell was read."""
        return [row for row in self.rows[kind] if not row.broken]


def import_files(
    ledger: str,
    paths: Sequence[Path],
    reference: Reference,
    today: date,
    *,
    update: bool = False,
    accept_good_rows: bool = False,
    clock: Clock | None = None,
) -> ImportReport:
    """Read files into the ledger at a path or URL, which is created when there is none.

    The kind of each table is told by its headers. A file of events (`events.jsonl`), or a folder that an
    export wrote, is taken over event by event into an empty ledger, or into one that holds its first events
    already. Raises BadInput with every problem of every file, and
    then has written nothing; with `accept_good_rows` only rows without a problem go in.
    """
    with collector_paused():
        if (lines := event_file(paths)) is not None:
            version, added = take_over(ledger, lines, clock)
            return ImportReport(0, 0, 0, 0, 0, 0, 0, version, events_added=added)
        return _import(ledger, paths, reference, today, update, accept_good_rows, clock)


def _import(
    ledger: str,
    paths: Sequence[Path],
    reference: Reference,
    today: date,
    update: bool,
    accept_good_rows: bool,
    clock: Clock | None,
) -> ImportReport:
    tables = _read(paths)
    if tables.file_problems:
        raise BadInput([*tables.file_problems, *tables.row_problems])
    before = _contents(ledger, clock)
    stock = check_rows(tables.rows["stock"], before.states, reference, today, update)
    # A record about a row that does not hold is no second problem, unless that row is to be left out.
    told = [one.row for one in stock.good] if accept_good_rows else tables.rows["stock"]
    names = _names(before, told)
    water = check_water(tables.whole("water"), before.water, names, today, update)
    health = check_health(tables.whole("health"), before, names, reference, today)
    spots = check_spots(tables.whole("spots"), before.spots, names, today)
    records = (water, health, spots)
    found = [problem for one in records for problem in one.problems]
    problems = [*tables.row_problems, *stock.problems, *found]
    if problems and not accept_good_rows:
        raise BadInput(sorted(problems, key=lambda one: _in_order(one, paths)))
    problems += stock.orphans
    new = [entry for one in stock.good for entry in entries(one, today)]
    new += [entry for one in records for entry in one.entries]
    version = before.version if not new else _write(ledger, new, before.version, paths, clock)
    return _report(stock, records, version, problems, reference)


def _read(paths: Sequence[Path]) -> _Tables:
    tables = _Tables()
    for path in paths:
        sheets, problems = read_sheets(path)
        tables.file_problems += problems
        for sheet in sheets:
            kind = _kind(sheet)
            rows, problems = read_rows(sheet, _TABLES[kind])
            if kind == "stock" and not sheet.rows and not problems:
                place = Place(sheet.file, sheet.header_line)
                problems = [Problem(place, None, "at least one piece under the headers")]
            whole_file = all(problem.place.line == sheet.header_line for problem in problems)
            (tables.file_problems if whole_file else tables.row_problems).extend(problems)
            tables.rows[kind] += rows
    return tables


def _kind(sheet: Sheet) -> str:
    """Return the kind of table most of whose columns the headers name."""
    headers = {header_key(header) for header in sheet.headers}
    return max(_TABLES, key=lambda kind: _share(headers, _TABLES[kind]))


def _share(headers: set[str], columns: Sequence[Column]) -> tuple[int, int]:
    required = {column.name for column in columns if column.required}
    known = {alias for column in columns for alias in (column.name, *column.aliases)}
    return len(headers & known), -len(required - headers)


def _contents(ledger: str, clock: Clock | None) -> Contents:
    if not exists(ledger):
        return EMPTY
    with open_ledger(ledger, clock=clock, create=True) as book:
        return contents(book)


def _names(before: Contents, rows: Sequence[Row]) -> Names:
    pieces = {key: state.piece.piece for key, state in before.states.items()}
    systems = {name_key(stay.system): stay.system for stay in before.stays}
    systems |= {name_key(spot.system): spot.system for spot in before.spots}
    for row in rows:
        for column, names in (("piece", pieces), ("system", systems)):
            if (name := row.values.get(column)) is not None:
                names.setdefault(name_key(str(name)), str(name))
    return Names(pieces, systems)


def _in_order(problem: Problem, paths: Sequence[Path]) -> tuple[int, int]:
    """Order problems by the file as it was named, then by line."""
    place = problem.place
    file = next((n for n, path in enumerate(paths) if place.file.startswith(str(path))), len(paths))
    return file, place.line or 0


def _write(
    ledger: str, new: Sequence[Entry], read_version: int, paths: Sequence[Path], clock: Clock | None
) -> int:
    digest = hashlib.sha256(b"".join(path.read_bytes() for path in paths)).hexdigest()
    batch = f"import {digest[:16]}"
    with open_ledger(ledger, create=True, clock=clock) as book:
        return book.append(new, read_version=read_version, recorded_by="import", batch=batch, alone=True)


def _report(
    stock: Checked,
    records: tuple[CheckedRecords, CheckedRecords, CheckedRecords],
    version: int,
    problems: Sequence[Problem],
    reference: Reference,
) -> ImportReport:
    water, health, spots = records
    added = sum(1 for one in stock.good if one.before is None)
    changed = sum(1 for one in stock.good if one.changes)
    return ImportReport(
        pieces_added=added,
        pieces_changed=changed,
        pieces_unchanged=len(stock.good) - added - changed,
        readings_added=len(water.entries),
        health_added=len(health.entries),
        spots_added=len(spots.entries),
        records_known=sum(one.known for one in records),
        version=version,
        defaults_used=_defaults(stock.good, reference),
        problems=tuple(problems),
    )


def _defaults(good: Sequence[Proposed], reference: Reference) -> tuple[str, ...]:
    """Return what was filled in: by piece for sizes and form, by taxon and form for rates."""
    told = [f"{one.piece.piece}: {name}" for one in good for name in one.piece.defaults_used]
    kinds: dict[tuple[str, str], Piece] = {}
    for one in good:
        kinds.setdefault((one.piece.genus, one.piece.form), one.piece)
    for (genus, form), piece in sorted(kinds.items()):
        told += [f"{genus} {form}: {name}" for name in trait_defaults(piece, reference, RATES)]
    return tuple(told)
