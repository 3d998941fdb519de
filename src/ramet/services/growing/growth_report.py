"""How one piece grows: the rate of its strain, its own readings, and its size in the months ahead."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from ramet.domain.band import Band
from ramet.domain.errors import BadInput
from ramet.domain.events import Event
from ramet.domain.piece import Piece, name_key
from ramet.domain.problems import Place, Problem
from ramet.ledger import queries
from ramet.ledger.fold import fold
from ramet.ledger.store import Ledger
from ramet.reference.tables import Reference
from ramet.science.growth import Sizes
from ramet.science.growth_rate import Z90
from ramet.services.growing.growth_laws import StrainRates, strain_rates
from ramet.services.growing.piece_areas import areas
from ramet.services.growing.ready_days import COUNTED_IN_HEADS, ReadyDays, ready_days, sizes_on
from ramet.services.growing.stock_arrays import StockArrays, day_number, day_of, stock_arrays
from ramet.services.growing.weights import WeightGrowth, weight_growth

HORIZON_D = (0, 30, 60, 90, 180, 365)
_LONGEST_D = 3650


@dataclass(frozen=True, slots=True)
class Ahead:
    """Size on a day: expected, with slow (5th percentile) and fast (95th) growth."""

    on: date
    length_mm: Band
    heads: Band | None
    tissue_cm2: Band


@dataclass(frozen=True, slots=True)
class Dates:
    """The days on which something is reached: expected, with fast and with slow growth. None: never."""

    expected: date | None
    fast: date | None
    slow: date | None


@dataclass(frozen=True, slots=True)
class GrowthReport:
    """All that is known of a piece's growth. `rate` is that of its strain, in `unit`."""

    piece: str
    strain: str
    taxon: str
    form: str
    rate: Band
    unit: str
    table_rate: Band
    source: str
    is_default: bool
    pieces_read_twice: int
    sized_on: date
    growing_from: date
    ahead: tuple[Ahead, ...]
    reaches: Dates | None
    doubling_d: Band | None
    weights: WeightGrowth | None


def growth_report(
    book: Ledger,
    reference: Reference,
    today: date,
    piece: str,
    *,
    reach_mm: float | None = None,
    reach_heads: int | None = None,
) -> GrowthReport:
    """Return how a piece in stock grows. Raises BadInput when there is no such piece."""
    with book.reading() as connection:
        stock = stock_arrays(connection)
        water = tuple(queries.water(connection))
    keys = [name_key(name) for name in stock.pieces]
    if name_key(piece) not in keys:
        raise BadInput([Problem(Place("piece"), piece, "a piece in stock")])
    at = keys.index(name_key(piece))
    rates = strain_rates(stock, reference)
    days = ready_days(stock, rates, reference, reach_mm)
    events = queries.history(book, piece)
    taxon, form = stock.kinds[stock.kind[at]]
    law = rates.kind_laws[stock.kind[at]]
    group = rates.group[at]
    mu, sigma = float(rates.mu[group]), float(rates.sigma[group])
    started = max(float(stock.sized_on[at]), float(days.healed[at]))
    one = _One(stock, rates, days, reference, at)
    return GrowthReport(
        piece=stock.pieces[at],
        strain=stock.strains[stock.strain[at]],
        taxon=taxon,
        form=form.value,
        rate=_band(mu, sigma),
        unit="1/d" if law.doubles else "cm/yr",
        table_rate=_band(law.rate.mu, law.rate.sigma),
        source=reference.sources[law.source].citation,
        is_default=law.is_default,
        pieces_read_twice=int(rates.used[group]),
        sized_on=day_of(float(stock.sized_on[at])),
        growing_from=day_of(started),
        ahead=tuple(one.ahead(today + timedelta(days=n)) for n in HORIZON_D),
        reaches=one.reaches(today, reach_mm, reach_heads),
        doubling_d=one.doubling(today),
        weights=weight_growth(events, water, _piece_of(events), reference),
    )


@dataclass(frozen=True, slots=True)
class _One:
    """One place of the arrays."""

    stock: StockArrays
    rates: StrainRates
    days: ReadyDays
    reference: Reference
    at: int

    def ahead(self, on: date) -> Ahead:
        slow, expected, fast = (self._size(on, z) for z in (-Z90, 0.0, Z90))
        heads = None
        if not np.isnan(expected.heads[0]):
            heads = Band(float(slow.heads[0]), float(expected.heads[0]), float(fast.heads[0]))
        length = Band(*(float(size.length_mm[0]) for size in (slow, expected, fast)))
        return Ahead(on, length, heads, self._tissue(slow, expected, fast))

    def reaches(self, today: date, reach_mm: float | None, heads: int | None) -> Dates | None:
        if reach_mm is None and heads is None:
            return None
        return Dates(*(self._first_day(today, reach_mm, heads, z) for z in (0.0, Z90, -Z90)))

    def doubling(self, today: date) -> Band | None:
        """Days in which the live area of today doubles at the coming pace."""
        found = [self._days_to_double(today, z) for z in (Z90, 0.0, -Z90)]
        known = [one for one in found if one is not None]
        return Band(known[0], known[1], known[2]) if len(known) == 3 else None

    def _size(self, on: date, z: float) -> Sizes:
        at = np.array([self.at])
        return sizes_on(self.stock, self.rates, self.days.healed, at, day_number(on), z, self.reference)

    def _tissue(self, *sizes: Sizes) -> Band:
        low, typical, high = (self._area(size) for size in sizes)
        return Band(low.low, typical.typical, high.high)

    def _area(self, size: Sizes) -> Band:
        taxon, form = self.stock.kinds[self.stock.kind[self.at]]
        length, width, height = (float(v[0]) for v in (size.length_mm, size.width_mm, size.height_mm))
        counted = form in COUNTED_IN_HEADS and not np.isnan(size.heads[0])
        heads = int(size.heads[0]) if counted else None
        return areas(self.reference, taxon, form, length, width, height, heads).tissue_cm2

    def _first_day(self, today: date, reach_mm: float | None, heads: int | None, z: float) -> date | None:
        def there(days: int) -> bool:
            size = self._size(today + timedelta(days=days), z)
            big = reach_mm is None or float(size.length_mm[0]) >= reach_mm
            return big and (heads is None or float(size.heads[0]) >= heads)

        days = _first(there)
        return None if days is None else today + timedelta(days=days)

    def _days_to_double(self, today: date, z: float) -> float | None:
        now = self._area(self._size(today, z)).typical
        days = _first(lambda n: self._area(self._size(today + timedelta(days=n), z)).typical >= 2 * now)
        return None if days is None else float(days)


def _first(there: Callable[[int], bool]) -> int | None:
    """Return the first day on which something that only grows is there, within ten years."""
    if there(0):
        return 0
    if not there(_LONGEST_D):
        return None
    low, high = 0, _LONGEST_D
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if there(middle) else (middle, high)
    return high


def _band(mu: float, sigma: float) -> Band:
    return Band(*(float(np.exp(mu + z * sigma)) for z in (-Z90, 0.0, Z90)))


def _piece_of(events: Sequence[Event]) -> Piece:
    (state,) = fold(events).values()
    return state.piece
