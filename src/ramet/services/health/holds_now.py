"""What bears on holds, and the holds, reading no more than the findings on record make necessary."""

from datetime import date

from sqlalchemy import Connection

from ramet.domain.piece import Hold
from ramet.ledger import herd_rows, queries
from ramet.ledger.records import fish, goods
from ramet.reference.facts import LivesOn
from ramet.reference.tables import Reference
from ramet.services.bulk import collector_paused
from ramet.services.health.holds import Herd, holds

NO_HERD = Herd({}, (), (), ())


def holds_now(connection: Connection, reference: Reference, today: date) -> tuple[Hold, ...]:
    """Return every hold of a piece in stock on a day."""
    herd = herd_now(connection, reference)
    return holds(herd, reference, today) if herd.health else ()


def herd_now(connection: Connection, reference: Reference) -> Herd:
    """Return the corals that can be held, where they were since the first finding, and what was seen."""
    found = [one for one in herd_rows.findings(connection) if one.pest in reference.pests]
    if not found:
        return NO_HERD
    since = min(one.on for one in found)
    pests = {one.pest for one in found}
    with collector_paused():
        states = herd_rows.states_of_genera(
            connection, _genera(pests, reference), {one.piece for one in found if one.piece}, since
        )
        return Herd(
            states,
            tuple(herd_rows.stays_since(connection, states, since)),
            tuple(queries.water(connection)),
            herd_rows.health_of_pests(connection, pests),
            fish(connection),
            goods(connection),
        )


def _genera(pests: set[str], reference: Reference) -> frozenset[str] | None:
    """Return the genera that some of these pests live on; None when one of them travels on anything."""
    found = [reference.pests[pest] for pest in pests]
    if any(pest.lives_on is not LivesOn.CORALS for pest in found):
        return None
    return frozenset(genus for pest in found for genus in pest.host_genera)
