"""Enter water readings of a system, and what a tank or a spot is like."""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from ramet.domain.piece import name_key
from ramet.formats.records import WATER_COLUMNS
from ramet.formats.spots import SPOT_COLUMNS
from ramet.ledger import lookups, queries
from ramet.ledger.store import Ledger
from ramet.services.importing.record_checks import CheckedRecords, Names, check_water
from ramet.services.importing.spot_checks import check_spots
from ramet.services.recording.form_rows import placed, rows_of
from ramet.services.recording.recorded import Draft, Recorded, Scribe, record
from ramet.services.recording.stock_look import NEW_PLACE

if TYPE_CHECKING:
    from sqlalchemy import Connection


def read_water(ledger: Ledger, typed: Mapping[str, str], scribe: Scribe) -> Recorded:
    """Enter a reading from fields named like the columns of the water table, as text.

    Without `on` it is of the scribe's day. A reading of a day that has one replaces what it names.
    """
    draft = Draft("water", scribe)
    rows, problems = rows_of("water", [{"on": scribe.day.isoformat()} | dict(typed)], WATER_COLUMNS)
    draft.problems += [placed(problem, "water", True) for problem in problems]

    def decide(connection: "Connection") -> None:
        if draft.problems:
            return
        known = tuple(queries.water(connection))
        names = Names({}, lookups.known_places(connection).systems)
        _take(draft, check_water(rows, known, names, scribe.today, update=True), alone=True)

    return record(ledger, draft, decide)


def set_spots(ledger: Ledger, typed: Sequence[Mapping[str, str]], scribe: Scribe) -> Recorded:
    """Enter places from fields named like the columns of the spots table, as text.

    A system that nobody knows needs the word `new-place`.
    """
    draft = Draft("spot", scribe)
    alone = len(typed) == 1
    rows, problems = rows_of("spot", typed, SPOT_COLUMNS)
    draft.problems += [placed(problem, "spot", alone) for problem in problems]

    def decide(connection: "Connection") -> None:
        if draft.problems:
            return
        systems = lookups.known_places(connection).systems
        for row in rows:
            name = str(row.values["system"])
            if name_key(name) not in systems:
                draft.ask(NEW_PLACE, f"no system “{name}” is known")
        checked = check_spots(rows, tuple(queries.spots(connection)), Names({}, systems), scribe.day)
        _take(draft, checked, alone)

    return record(ledger, draft, decide)


def _take(draft: Draft, checked: CheckedRecords, alone: bool) -> None:
    draft.problems += [placed(problem, draft.verb, alone) for problem in checked.problems]
    draft.entries += checked.entries
    if checked.known:
        draft.caution("known", f"{checked.known} of them the ledger has already")
