"""Take an action back, whatever it was: by new entries, so that nothing is ever erased."""

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from ramet.domain.errors import ImpossibleEvent
from ramet.domain.events import Event, Kind, PieceState, Standing
from ramet.domain.piece import name_key
from ramet.ledger import lookups, projections
from ramet.ledger.fold import States, carry, restoring
from ramet.ledger.rows import taken_back, undoings
from ramet.ledger.store import Ledger, version_of
from ramet.services.recording.recorded import Draft, Recorded, Scribe, record

if TYPE_CHECKING:
    from sqlalchemy import Connection


def undo(ledger: Ledger, scribe: Scribe, number: int | None = None) -> Recorded:
    """Take back the whole action to which an entry belongs; without a number the latest that stands.

    An undoing can be undone by its number. What later entries rest on is refused, naming them.
    """
    draft = Draft("undo", scribe)

    def decide(connection: "Connection") -> None:
        found = undoings(connection)
        gone = taken_back(found)
        wanted = number if number is not None else _latest(connection, gone)
        action = [] if wanted is None else lookups.action_of(connection, wanted)
        events = [event for event in action if event.seq not in gone]
        if not action:
            draft.problem("entry", number, "the number of an entry in the ledger")
        elif not events:
            draft.problem("entry", wanted, "an action that was not undone before")
        else:
            newest = taken_back([*found, (0, [event.seq for event in events])])
            _enter(connection, draft, events, newest)

    return record(ledger, draft, decide)


def _latest(connection: "Connection", gone: frozenset[int]) -> int | None:
    """Return the number of the latest event that stands and is no undoing itself."""
    below = version_of(connection) + 1
    while found := lookups.latest_numbers(connection, below):
        for seq, kind in found:
            if seq not in gone and kind != Kind.UNDONE.value:
                return seq
        below = found[-1][0]
    return None


def _enter(connection: "Connection", draft: Draft, events: Sequence[Event], gone: frozenset[int]) -> None:
    by_key: dict[str, list[int]] = {}
    systems: dict[str | None, list[int]] = {}
    for event in events:
        if event.entry.piece is None:
            systems.setdefault(event.entry.system, []).append(event.seq)
        else:
            by_key.setdefault(name_key(event.entry.piece), []).append(event.seq)
    now = projections.states(connection, by_key)
    histories = lookups.events_of(connection, by_key)
    for key, numbers in by_key.items():
        before = _without(draft, histories[key], gone)
        _check_children(connection, draft, now[key], before, set(by_key))
        after = before or replace(now[key], standing=Standing.UNDONE)
        draft.enter_all(Kind.UNDONE, {"undoes": numbers, "restores": restoring(after)}, now[key].piece.piece)
    for system, numbers in systems.items():
        draft.enter_all(Kind.UNDONE, {"undoes": numbers}, system=system)


def _without(draft: Draft, events: Sequence[Event], gone: frozenset[int]) -> PieceState | None:
    """Return the state that the events leave that still count; None when the piece was never born."""
    states: States = {}
    for event in events:
        if event.seq in gone or event.entry.kind is Kind.UNDONE:
            continue
        try:
            carry(states, event)
        except ImpossibleEvent as error:
            expected = f"entry {event.seq} ({event.entry.kind.value} of {error.piece}) to be undone first"
            draft.problem("entry", event.entry.piece, expected)
            return None
    return next(iter(states.values()), None)


def _check_children(
    connection: "Connection", draft: Draft, now: PieceState, before: PieceState | None, undone: set[str]
) -> None:
    if before is not None:
        return
    children = lookups.children_of(connection, now.piece.piece)
    if left := [name for name in children if name_key(name) not in undone]:
        expected = f"its children to be undone first: {', '.join(left[:4])}"
        draft.problem("entry", now.piece.piece, expected)
