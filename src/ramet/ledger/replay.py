"""Events of another ledger taken over as they are, numbers and all."""

from collections.abc import Iterable, Iterator
from itertools import islice

from ramet.domain.errors import BadInput, ImpossibleEvent
from ramet.domain.events import Event
from ramet.domain.problems import Place, Problem
from ramet.ledger import projections
from ramet.ledger.fold import States, carry
from ramet.ledger.rows import all_events
from ramet.ledger.store import Ledger, insert_events, version_of

_PORTION = 20_000


def replay(ledger: Ledger, events: Iterable[Event], file: str) -> tuple[int, int]:
    """Enter events with all that is theirs; return the version of the ledger and how many were added.

    The ledger is empty, or holds the same events up to some point: those are compared and left. All go in,
    or none. Raises BadInput, naming the line, when the ledger holds others or an event does not fit.
    """
    source = iter(events)
    with ledger.writing() as connection:
        found = version_of(connection)
        if found:
            for mine, theirs in zip(all_events(connection), source, strict=False):
                if mine != theirs:
                    raise _other_events(file, theirs.seq)
        states = projections.states(connection) if found else {}
        added = 0
        for portion in _portions(source):
            for event in portion:
                _carry(states, event, file)
            insert_events(connection, portion)
            added += len(portion)
        if added:
            projections.rewrite(connection, states)
        return found + added, added


def _portions(source: Iterator[Event]) -> Iterator[list[Event]]:
    while portion := list(islice(source, _PORTION)):
        yield portion


def _carry(states: States, event: Event, file: str) -> None:
    try:
        carry(states, event)
    except (ImpossibleEvent, KeyError, TypeError, ValueError) as error:
        problem = Problem(Place(file, event.seq), event.entry.kind.value, f"an event that fits: {error}")
        raise BadInput([problem]) from error


def _other_events(file: str, line: int) -> BadInput:
    expected = (
        "the event that the ledger has; import into an empty ledger (--ledger NEW) to take this file over"
    )
    return BadInput([Problem(Place(file, line), "another event", expected)])
