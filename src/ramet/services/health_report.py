"""The health of the house on a day: what is held and why, in corals, water and goods, and where fish are."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from ramet.domain.events import HealthKind, HealthRecord, Standing
from ramet.domain.piece import ThingHold, name_key
from ramet.ledger.queries import Contents, contents
from ramet.ledger.store import open_ledger
from ramet.reference.tables import Reference
from ramet.services.holds import herd_of, open_outbreaks
from ramet.services.thing_holds import thing_holds
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
        return health_of(contents(book), reference, today)


def health_of(found: Contents, reference: Reference, today: date) -> HealthReport:
    """Return the health that a ledger's contents amount to on a day."""
    herd = herd_of(found)
    return HealthReport(
        on=today,
        unhealthy=tuple(unhealthy_of(one) for one in open_outbreaks(herd, reference, today)),
        things=thing_holds(herd, reference, today),
        systems=tuple(_systems(found, today)),
    )


def _systems(found: Contents, today: date) -> Sequence[SystemHealth]:
    counts: dict[str, int] = {}
    names: dict[str, str] = {}
    for state in found.states.values():
        if state.standing is Standing.ALIVE:
            key = name_key(state.piece.system)
            names.setdefault(key, state.piece.system)
            counts[key] = counts.get(key, 0) + 1
    looks = _looks(found.health, found, today)
    systems = []
    for key in sorted(names):
        records = [one for one in found.fish if name_key(one.system) == key and one.on <= today]
        last = records[-1] if records else None
        since = None
        for one in reversed(records):
            if last is None or one.present != last.present:
                break
            since = one.on
        systems.append(
            SystemHealth(
                names[key], counts[key], None if last is None else last.present, since, looks.get(key)
            )
        )
    return systems


def _looks(health: Sequence[HealthRecord], found: Contents, today: date) -> dict[str, date]:
    looks: dict[str, date] = {}
    for record in health:
        state = found.states.get(name_key(record.piece)) if record.piece is not None else None
        system = record.system or (state.piece.system if state is not None else None)
        looked = record.kind in (HealthKind.CLEAN, HealthKind.FINDING)
        if system is not None and looked and record.on <= today:
            key = name_key(system)
            looks[key] = max(record.on, looks.get(key, record.on))
    return looks
