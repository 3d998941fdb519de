"""The holds on pieces as the ledger has them, reading no more than the findings make necessary."""

from datetime import date

from sqlalchemy import Connection

from ramet.domain.events import HealthKind
from ramet.domain.piece import Hold
from ramet.ledger import projections, queries
from ramet.ledger.records import fish, goods
from ramet.reference.tables import Reference
from ramet.services.holds import Herd, holds


def holds_now(connection: Connection, reference: Reference, today: date) -> tuple[Hold, ...]:
    """Return every hold of a piece in stock on a day."""
    health = tuple(queries.health(connection))
    if not any(record.kind is HealthKind.FINDING for record in health):
        return ()
    states = projections.states(connection)
    herd = Herd(
        states,
        tuple(queries.stays(connection, states)),
        tuple(queries.water(connection)),
        health,
        fish(connection),
        goods(connection),
    )
    return holds(herd, reference, today)
