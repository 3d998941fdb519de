"""How full each tank gets: the ground its corals cover against the ground there is, weeks ahead."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from ramet.domain.band import Band
from ramet.domain.piece import name_key
from ramet.ledger import columns
from ramet.ledger.records import tank_floors
from ramet.ledger.store import Ledger
from ramet.reference.tables import Reference
from ramet.science.growth_rate import Z90
from ramet.services.growing.growth_laws import Floats, StrainRates, strain_rates
from ramet.services.growing.outlook import WEEKS, week_days
from ramet.services.growing.piece_areas import form_factors
from ramet.services.growing.ready_days import sizes_on
from ramet.services.growing.stock_arrays import Codes, StockArrays, coded, day_number, stock_arrays


@dataclass(frozen=True, slots=True)
class TankSpace:
    """The ground that corals cover in a tank [cm²] on each of `days`, and how much they may cover.

    `room_cm2` is None when nobody has told how big the tank is. `full_on` is the first of the days on which
    the expected cover is above it.
    """

    system: str
    tank: str
    pieces: int
    days: tuple[date, ...]
    covered_cm2: tuple[Band, ...]
    room_cm2: float | None
    full_on: date | None


def tank_space(
    book: Ledger, reference: Reference, today: date, *, weeks: int = WEEKS, every: int = 2
) -> tuple[TankSpace, ...]:
    """Return how full each tank gets, every few weeks, if nothing were cut, moved or sent.

    Low and high are all strains growing slowly or fast together. The room is the floor of the tank times the
    share that corals may cover before they touch (parameter `tank_fill_share`).
    """
    with book.reading() as connection:
        stock = stock_arrays(connection)
        systems, tanks = columns.alive_columns(connection, ("system", "tank"))
        floors = tank_floors(connection)
    pairs = list(zip(systems, tanks, strict=True))
    names, place = coded(["\0".join(pair) for pair in pairs])
    days = week_days(today, weeks)[::every]
    covers = _covers(stock, strain_rates(stock, reference), place, len(names), days, reference)
    share = reference.parameter("tank_fill_share").band.typical
    counts = np.bincount(place, minlength=len(names))
    return tuple(
        _space(names[n], int(counts[n]), covers[n], days, floors, share)
        for n in sorted(range(len(names)), key=lambda n: names[n].casefold())
    )


def _covers(
    stock: StockArrays,
    rates: StrainRates,
    place: Codes,
    tanks: int,
    days: Sequence[date],
    reference: Reference,
) -> list[tuple[Band, ...]]:
    factor = np.array(
        [form_factors(reference, taxon, form).footprint_per_ellipse.typical for taxon, form in stock.kinds]
    )
    healed = np.nan_to_num(stock.wounded_on + rates.healing_d[stock.kind], nan=-np.inf)

    def covered(day: date, z: float) -> Floats:
        grown = sizes_on(stock, rates, healed, slice(None), day_number(day), z, reference)
        ellipse = np.pi / 4 * grown.length_mm * grown.width_mm / 100
        return np.bincount(place, ellipse * factor[stock.kind], tanks).astype(float)

    by_day = [[covered(day, z) for z in (-Z90, 0.0, Z90)] for day in days]
    return [tuple(Band(*(float(each[n]) for each in three)) for three in by_day) for n in range(tanks)]


def _space(
    name: str,
    pieces: int,
    covered: tuple[Band, ...],
    days: tuple[date, ...],
    floors: Mapping[tuple[str, str], float],
    share: float,
) -> TankSpace:
    system, tank = name.split("\0")
    floor = floors.get((name_key(system), name_key(tank)))
    room = None if floor is None else floor * share
    full = [day for day, band in zip(days, covered, strict=True) if room is not None and band.typical > room]
    return TankSpace(system, tank, pieces, days, covered, room, full[0] if full else None)
