"""The health of the house on a day: what is held and why, in corals, water and goods, and where fish are."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from ramet.domain.piece import ThingHold, name_key
from ramet.ledger import day_rows
from ramet.ledger.records import FishRecord, fish
from ramet.ledger.store import Ledger, open_ledger
from ramet.reference.tables import Reference
from ramet.services.health.holds import open_outbreaks
from ramet.services.health.holds_now import herd_now
from ramet.services.health.thing_holds import thing_holds
from ramet.services.today import Unhealthy, unhealthy_of


@dataclass(frozen=True, slots=True)
class SystemHealth:
    """A system: how many corals, whether fish are in it (None: nobody has said), and since when so."""

    system: str
    pieces: int
    fish: bool | None
    fish_since: date | None
    last_inspected: date | None


@dataclass(frozen=True, slots=True)
class HealthReport:
    """All that is held on a day, and the systems."""

    on: date
    unhealthy: tuple[Unhealthy, ...]
    things: tuple[ThingHold, ...]
    systems: tuple[SystemHealth, ...]


def read_health(ledger: str, reference: Reference, today: date) -> HealthReport:
    """Read the health of the house from a ledger by path or URL."""
    with open_ledger(ledger) as book:
        return health_in(book, reference, today)


def health_in(book: Ledger, reference: Reference, today: date) -> HealthReport:
    """Return the health of the house on a day, from an open ledger."""
    with book.reading() as connection:
        herd = herd_now(connection, reference)
        counts = day_rows.stock_by_system(connection)
        looks = day_rows.last_looks(connection, today)
        said = fish(connection)
    return HealthReport(
        on=today,
        unhealthy=tuple(unhealthy_of(one) for one in open_outbreaks(herd, reference, today)),
        things=thing_holds(herd, reference, today),
        systems=tuple(
            SystemHealth(system, count, *_fish_in(system, said, today), looks.get(name_key(system)))
            for system, count in counts.items()
        ),
    )


def _fish_in(system: str, said: Sequence[FishRecord], today: date) -> tuple[bool | None, date | None]:
    """Return whether fish are in a system, and since when it has been so without a break."""
    records = [one for one in said if name_key(one.system) == name_key(system) and one.on <= today]
    if not records:
        return None, None
    since = records[-1].on
    for one in reversed(records):
        if one.present != records[-1].present:
            break
        since = one.on
    return records[-1].present, since
