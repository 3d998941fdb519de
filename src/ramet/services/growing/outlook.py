"""Half a year ahead: how many pieces of each strain could travel in each week, whole or cut by then."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from ramet.ledger.store import Ledger
from ramet.reference.tables import Reference
from ramet.services.growing.cut_yield import cut_yields
from ramet.services.growing.readiness import Footing, may_be_cut, read_footing
from ramet.services.growing.stock_arrays import day_number

WEEKS = 26


@dataclass(frozen=True, slots=True)
class StrainOutlook:
    """One strain over the weeks: pieces that can travel whole, and those that mothers can give by then."""

    strain: str
    taxon: str
    in_stock: int
    whole: tuple[int, ...]
    by_cutting: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Outlook:
    """The weeks by their first day, and every strain over them."""

    today: date
    weeks: tuple[date, ...]
    strains: tuple[StrainOutlook, ...]


def outlook(
    book: Ledger, reference: Reference, today: date, *, size_mm: float | None = None, weeks: int = WEEKS
) -> Outlook:
    """Return what each strain could give in each of the next weeks, if nothing were sent meanwhile.

    Pieces that are held today stay out of it: evidence frees them, not time. Each number by cutting is what
    the mothers could give once, for that week.
    """
    footing = read_footing(book, reference, today, size_mm)
    days = week_days(today, weeks)
    whole, cut = _whole(footing, days), _by_cutting(footing, days, size_mm)
    stock = footing.stock
    in_stock = np.bincount(stock.strain, minlength=len(stock.strains))
    kind = dict(zip(stock.strain.tolist(), stock.kind.tolist(), strict=True))
    order = sorted(range(len(stock.strains)), key=lambda n: stock.strains[n].casefold())
    strains = tuple(
        StrainOutlook(
            stock.strains[n],
            stock.kinds[kind[n]][0],
            int(in_stock[n]),
            tuple(whole[n].tolist()),
            tuple(cut[n].tolist()),
        )
        for n in order
    )
    return Outlook(today, days, strains)


def week_days(today: date, weeks: int) -> tuple[date, ...]:
    """Return today and the same day of each of the following weeks."""
    return tuple(today + timedelta(weeks=n) for n in range(weeks))


def _whole(footing: Footing, days: Sequence[date]) -> NDArray[np.int64]:
    """Count the pieces by strain and by the first week in which they are ready, then add up the weeks."""
    stock, ready = footing.stock, footing.days
    stays = footing.kept | stock.is_promised
    stays[list(footing.held)] = True
    first = np.maximum(ready.healed, ready.grown)
    week = np.searchsorted(np.array([day_number(day) for day in days]), first)
    goes = ~stays & (week < len(days))
    shape = (len(stock.strains), len(days))
    counts = np.bincount(stock.strain[goes] * len(days) + week[goes], minlength=shape[0] * shape[1])
    summed: NDArray[np.int64] = np.cumsum(counts.reshape(shape), axis=1)
    return summed


def _by_cutting(footing: Footing, days: Sequence[date], size_mm: float | None) -> NDArray[np.int64]:
    table = np.zeros((len(footing.stock.strains), len(days)), dtype=np.int64)
    free = may_be_cut(footing)
    for week, day in enumerate(days):
        found = cut_yields(
            footing.stock, footing.rates, footing.days, footing.reference, free, footing.today, day, size_mm
        )
        table[list(found), week] = [one.pieces for one in found.values()]
    return table
