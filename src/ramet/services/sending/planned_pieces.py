"""The pieces of a plan as the ledger has them now: where they stand, and which of all holds are theirs."""

from collections.abc import Iterable, Mapping

from ramet.domain.events import Standing
from ramet.domain.piece import Hold, Piece, name_key
from ramet.formats.plan import Plan
from ramet.ledger import projections
from ramet.ledger.store import open_ledger


def planned_in_stock(ledger: str, plan: Plan) -> Mapping[str, Piece]:
    """Return the planned pieces that are in stock, and the mothers of those to be cut, by `name_key`."""
    with open_ledger(ledger) as book, book.reading() as connection:
        found = projections.states(connection, _keys(plan))
    return {key: state.piece for key, state in found.items() if state.standing is Standing.ALIVE}


def of_plan(plan: Plan, holds: Iterable[Hold]) -> tuple[Hold, ...]:
    """Return the holds on planned pieces, and on mothers of those to be cut."""
    keys = _keys(plan)
    return tuple(one for one in holds if name_key(one.piece) in keys)


def _keys(plan: Plan) -> set[str]:
    return {name_key(name) for one in plan.chosen for name in (one.piece, one.mother) if name}
