"""What light a piece has had: its moves and the records of its places, day by day."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from ramet.domain.events import Event, Kind
from ramet.domain.piece import Piece, name_key
from ramet.domain.places import SpotRecord
from ramet.ledger import lookups, queries
from ramet.ledger.fold import States, carry
from ramet.ledger.rows import undone
from ramet.ledger.store import Ledger
from ramet.science.light import daily_light_mol_m2

DAYS = 30
_PLACING = frozenset({Kind.ACQUIRED, Kind.CUT, Kind.MOVED, Kind.CORRECTED})
_LEAVING = frozenset({Kind.SENT, Kind.LOST, Kind.SPLIT, Kind.FUSED})
_Place = tuple[str, str, str]


@dataclass(frozen=True, slots=True)
class DayLight:
    """One day: where the piece stood and what light it had there; None where nobody has recorded it.

    `read_on` tells whose reading the PAR is: the `piece` itself, its `spot`, or its `tank` as a whole.
    """

    on: date
    system: str
    tank: str
    spot: str | None
    par: float | None
    read_on: str | None
    photoperiod_h: float | None

    @property
    def mol_m2(self) -> float | None:
        """The daily light integral [mol/m²/d]; None when the light or its hours are not known."""
        if self.par is None or self.photoperiod_h is None:
            return None
        return daily_light_mol_m2(self.par, self.photoperiod_h)


@dataclass(frozen=True, slots=True)
class LightHistory:
    """The light of the days before and including one day, the latest last.

    `mean_mol_m2` is over the `known_days`; None when there is none.
    """

    piece: str
    days: tuple[DayLight, ...]

    @property
    def known_days(self) -> int:
        """How many days have a daily light integral."""
        return sum(1 for day in self.days if day.mol_m2 is not None)

    @property
    def mean_mol_m2(self) -> float | None:
        """The mean daily light integral of the known days [mol/m²/d]."""
        known = [light for day in self.days if (light := day.mol_m2) is not None]
        return sum(known) / len(known) if known else None


def light_histories(
    ledger: Ledger, pieces: Sequence[str], today: date, days: int = DAYS
) -> tuple[LightHistory, ...]:
    """Return the light of some pieces over the last days, in the order asked; unknown ids are left out.

    What was said first of a place is taken to hold for the days before as well.
    """
    with ledger.reading() as connection:
        keys = [name_key(name) for name in pieces]
        events = lookups.events_of(connection, keys)
        gone = undone(connection)
        places = by_place(queries.spots(connection))
    found = (_history(events[key], gone, places, today, days) for key in keys)
    return tuple(one for one in found if one is not None)


def by_place(records: Iterable[SpotRecord]) -> dict[_Place, list[SpotRecord]]:
    """Return the records of each place in the order of their days."""
    found: dict[_Place, list[SpotRecord]] = {}
    for record in sorted(records, key=lambda one: one.on):
        found.setdefault(_key(record.system, record.tank, record.spot), []).append(record)
    return found


def light_of(piece: Piece, places: Mapping[_Place, Sequence[SpotRecord]], on: date) -> DayLight:
    """Return the light of a piece where it stands: its own reading, else its spot's, else its tank's."""
    spot = _as_of(places.get(_key(piece.system, piece.tank, piece.spot), ()), on) if piece.spot else None
    tank = _as_of(places.get(_key(piece.system, piece.tank, None), ()), on)
    readings = (
        ("piece", piece.par),
        ("spot", spot.par if spot else None),
        ("tank", tank.par if tank else None),
    )
    read_on, par = next(((name, par) for name, par in readings if par is not None), (None, None))
    hours = [record.photoperiod_h for record in (spot, tank) if record and record.photoperiod_h is not None]
    return DayLight(on, piece.system, piece.tank, piece.spot, par, read_on, hours[0] if hours else None)


def _history(
    events: Sequence[Event],
    gone: frozenset[int],
    places: Mapping[_Place, Sequence[SpotRecord]],
    today: date,
    days: int,
) -> LightHistory | None:
    counting = [event for event in events if event.seq not in gone]
    waiting = [event for event in counting if event.entry.kind in _PLACING]
    if not waiting:
        return None
    key, name = name_key(waiting[0].entry.piece or ""), waiting[0].entry.piece or ""
    left = next((event.entry.on for event in counting if event.entry.kind in _LEAVING), today)
    states: States = {}
    if not {"acquired_on", "cut_on"} & waiting[0].entry.payload.keys():
        # A stock list that is entered for the first time is no arrival.
        carry(states, waiting.pop(0))
    found = []
    for back in range(days - 1, -1, -1):
        on = today - timedelta(days=back)
        while waiting and waiting[0].entry.on <= on:
            carry(states, waiting.pop(0))
        if states and on <= left:
            found.append(light_of(states[key].piece, places, on))
    return LightHistory(name, tuple(found))


def _key(system: str, tank: str, spot: str | None) -> _Place:
    return name_key(system), name_key(tank), name_key(spot or "")


def _as_of(records: Sequence[SpotRecord], on: date) -> SpotRecord | None:
    before = [record for record in records if record.on <= on]
    return before[-1] if before else next(iter(records), None)
