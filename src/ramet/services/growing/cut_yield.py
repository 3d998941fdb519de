"""What can be cut from mothers so that it has healed by a day: as the planner cuts, for all strains."""

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from ramet.reference.tables import Reference
from ramet.science.areas import SEEN_FROM_ABOVE, hulls_cm2
from ramet.services.growing.growth_laws import Floats, StrainRates
from ramet.services.growing.ready_days import ReadyDays, sizes_on
from ramet.services.growing.stock_arrays import StockArrays, by_code, day_number
from ramet.services.planning.cutting import COUNTED_IN_HEADS, NEVER_CUT

_MOST_EXAMPLES = 4


@dataclass(frozen=True, slots=True)
class CutYield:
    """Pieces that the mothers of a strain can give when cut by `cut_by`; `size_mm` is the length of each."""

    pieces: int
    size_mm: float
    cut_by: date
    mothers: tuple[str, ...]


def cut_yields(
    stock: StockArrays,
    rates: StrainRates,
    days: ReadyDays,
    reference: Reference,
    may_be_cut: NDArray[np.bool_],
    today: date,
    on: date,
    size_mm: float | None = None,
) -> dict[int, CutYield]:
    """Return for each strain (by its code) what can be cut after today and be healed on a day.

    A mother gives a share of her tissue or heads at the size she is expected to have on the day of the cut,
    with her own last wound closed, in pieces of `size_mm` or the least of her kind.
    """
    heals = rates.healing_d
    cut_day = day_number(on) - heals
    usable = np.array([form not in NEVER_CUT for _, form in stock.kinds], dtype=bool)
    usable &= cut_day > day_number(today)
    at = np.flatnonzero(may_be_cut & usable[stock.kind] & (days.healed <= cut_day[stock.kind]))
    if not len(at):
        return {}
    length, gives = _gives(stock, rates, days, reference, at, cut_day, size_mm)
    found: dict[int, CutYield] = {}
    of_mother = np.zeros(len(stock), dtype=np.int64)
    of_mother[at], piece_mm = gives, dict(zip(at.tolist(), length.tolist(), strict=True))
    for strain, mine in by_code(stock.strain, at[gives > 0]):
        cut_by = on - timedelta(days=int(heals[stock.kind[mine[0]]]))
        names = tuple(stock.pieces[n] for n in mine[:_MOST_EXAMPLES])
        found[strain] = CutYield(int(of_mother[mine].sum()), round(piece_mm[int(mine[0])], 1), cut_by, names)
    return found


def _gives(
    stock: StockArrays,
    rates: StrainRates,
    days: ReadyDays,
    reference: Reference,
    at: NDArray[np.int64],
    cut_day: Floats,
    size_mm: float | None,
) -> tuple[Floats, NDArray[np.int64]]:
    """Return length and number of the pieces that each mother gives."""
    kind = stock.kind[at]
    grown = sizes_on(stock, rates, days.healed, at, cut_day[kind], 0.0, reference)
    whole = np.array([grown.length_mm, grown.width_mm, grown.height_mm])
    least = _by_kind(stock, reference, "minimum_piece_mm")[kind]
    length = least if size_mm is None else np.maximum(least, size_mm)
    part = np.array([length, np.minimum(whole[1], length), np.minimum(whole[2], length)])
    share = _by_kind(stock, reference, "cut_share")[kind]
    flat = np.array([form in SEEN_FROM_ABOVE | COUNTED_IN_HEADS for _, form in stock.kinds])[kind]
    by_tissue = np.floor(hulls_cm2(flat, whole) * share / hulls_cm2(flat, part))
    in_heads = np.array([form in COUNTED_IN_HEADS for _, form in stock.kinds])[kind]
    least_heads = np.ceil(_by_kind(stock, reference, "minimum_heads"))[kind]
    heads = np.nan_to_num(grown.heads)
    each = np.maximum(least_heads, np.round(heads * (length / whole[0]) ** 2))
    gives = np.where(in_heads, np.floor(heads * share / np.maximum(each, 1)), by_tissue)
    gives = np.where(length < whole[0], gives, 0)
    return length, gives.astype(np.int64)


def _by_kind(stock: StockArrays, reference: Reference, trait: str) -> Floats:
    return np.array([reference.trait(*kind, trait).band.typical for kind in stock.kinds])
