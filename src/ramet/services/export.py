"""Write a ledger as plain files: tables that can be imported again, and every event as a line of JSON."""

import csv
import json
import os
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

from ramet.domain.errors import BadInput
from ramet.domain.events import Event
from ramet.domain.problems import Place, Problem
from ramet.formats.records import health_table, water_table
from ramet.formats.spots import spot_table
from ramet.formats.stock import stock_table
from ramet.ledger.queries import all_events, contents
from ramet.ledger.store import open_ledger
from ramet.services.bulk import collector_paused


@dataclass(frozen=True, slots=True)
class ExportReport:
    """The files that were written, and what is in them."""

    files: tuple[str, ...]
    pieces: int
    events: int


def export(ledger: str, folder: Path) -> ExportReport:
    """Write `stock.csv`, `water.csv`, `health.csv` and `events.jsonl` into a folder.

    Each file is written beside its place and moved there when whole. Raises BadInput when there is no
    ledger, or when the folder cannot be one.
    """
    with collector_paused(), open_ledger(ledger) as book:
        found = contents(book)
        _make(folder)
        states = [state for _, state in sorted(found.states.items())]
        tables = {
            "stock.csv": stock_table(states),
            "water.csv": water_table(found.water),
            "health.csv": health_table(found.health),
            "spots.csv": spot_table(found.spots),
        }
        files = [_write_table(folder / name, rows) for name, rows in tables.items()]
        with book.reading() as connection:
            lines = (_line(event) for event in all_events(connection) if event.seq <= found.version)
            files.append(_write(folder / "events.jsonl", lines))
    return ExportReport(tuple(files), len(states), found.version)


def _make(folder: Path) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise BadInput([Problem(Place(str(folder)), error.strerror, "a folder to write into")]) from error


def _line(event: Event) -> str:
    entry = event.entry
    values = {
        "seq": event.seq,
        "kind": entry.kind,
        "piece": entry.piece,
        "system": entry.system,
        "at": entry.at.isoformat(),
        "payload": entry.payload,
        "recorded_at": event.recorded_at.isoformat(),
        "recorded_by": event.recorded_by,
        "batch": event.batch,
    }
    return json.dumps(values, ensure_ascii=False) + "\n"


def _write_table(path: Path, rows: Iterable[list[str]]) -> str:
    class Echo:
        """Hands back the text of a row instead of writing it."""

        def write(self, text: str) -> str:
            return text

    writer = csv.writer(Echo(), lineterminator="\n")
    return _write(path, (str(writer.writerow(row)) for row in rows))


def _write(path: Path, lines: Iterator[str]) -> str:
    beside = path.with_name(f".{path.name}.part")
    with beside.open("w", encoding="utf-8", newline="") as file:
        file.writelines(lines)
    os.replace(beside, path)
    return str(path)
