"""Write a ledger as plain files: tables that can be imported again, and every event as a line of JSON."""

import csv
import os
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from ramet.domain.errors import BadInput
from ramet.domain.events import PieceState
from ramet.domain.problems import Place, Problem
from ramet.formats.darwin_core import archive
from ramet.formats.event_lines import event_line
from ramet.formats.records import health_table, water_table
from ramet.formats.spots import spot_table
from ramet.formats.stock import stock_table
from ramet.formats.workbook import write_workbook
from ramet.ledger.queries import Contents, all_events, contents, fusions, last_recorded_on
from ramet.ledger.store import open_ledger
from ramet.services.bulk import collector_paused
from ramet.services.importing.take_over import EVENTS


@dataclass(frozen=True, slots=True)
class ExportReport:
    """The files that were written, and what is in them."""

    files: tuple[str, ...]
    pieces: int
    events: int


def export(ledger: str, folder: Path, *, workbook: bool = False) -> ExportReport:
    """Write the tables, every event (`events.jsonl`) and a Darwin Core archive (`dwca.zip`) into a folder.

    The tables are `stock.csv`, `water.csv`, `health.csv` and `spots.csv`; with `workbook` they stand in
    `stock.xlsx` too, each on a sheet. Each file is written beside its place and moved there when whole.
    Raises BadInput when there is no ledger, or when the folder cannot be one.
    """
    with collector_paused(), open_ledger(ledger) as book:
        found = contents(book)
        _make(folder)
        states = [state for _, state in sorted(found.states.items())]
        files = [_write_table(folder / f"{name}.csv", rows) for name, rows in _tables(found, states)]
        if workbook:
            files.append(_write_workbook(folder / "stock.xlsx", dict(_tables(found, states))))
        with book.reading() as connection:
            lines = (event_line(event) for event in all_events(connection) if event.seq <= found.version)
            files.append(_write(folder / EVENTS, lines))
            fused = fusions(connection)
            on = last_recorded_on(connection)
        beside = _beside(folder / "dwca.zip")
        beside.write_bytes(archive(states, fused, on, f"Coral stock, {len(states)} pieces"))
        os.replace(beside, folder / "dwca.zip")
        files.append(str(folder / "dwca.zip"))
    return ExportReport(tuple(files), len(states), found.version)


def _tables(found: Contents, states: Sequence[PieceState]) -> Iterator[tuple[str, Iterable[list[str]]]]:
    yield "stock", stock_table(states)
    yield "water", water_table(found.water)
    yield "health", health_table(found.health)
    yield "spots", spot_table(found.spots)


def _make(folder: Path) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise BadInput([Problem(Place(str(folder)), error.strerror, "a folder to write into")]) from error


def _write_table(path: Path, rows: Iterable[list[str]]) -> str:
    class Echo:
        """Hands back the text of a row instead of writing it."""

        def write(self, text: str) -> str:
            return text

    writer = csv.writer(Echo(), lineterminator="\n")
    return _write(path, (str(writer.writerow(row)) for row in rows))


def _write(path: Path, lines: Iterator[str]) -> str:
    beside = _beside(path)
    with beside.open("w", encoding="utf-8", newline="") as file:
        file.writelines(lines)
    os.replace(beside, path)
    return str(path)


def _write_workbook(path: Path, tables: Mapping[str, Iterable[list[str]]]) -> str:
    beside = _beside(path)
    write_workbook(beside, tables)
    os.replace(beside, path)
    return str(path)


def _beside(path: Path) -> Path:
    return path.with_name(f".{path.name}.part")
