"""How many pieces of each strain could travel on a day, whole or cut by then, and why the others can't."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from ramet.domain.piece import Hold
from ramet.ledger.store import Ledger
from ramet.reference.tables import Reference
from ramet.services.growing.cut_yield import CutYield, cut_yields
from ramet.services.growing.growth_laws import Floats, StrainRates, strain_rates
from ramet.services.growing.ready_days import ReadyDays, ready_days, sizes_on
from ramet.services.growing.stock_arrays import Codes, StockArrays, by_code, day_number, day_of, stock_arrays
from ramet.services.health.holds_now import holds_now

SIZE_NAMES = ("small", "medium", "large", "colony")
_MOST_EXAMPLES = 4
Mask = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class NotReady:
    """Why some pieces of a strain will not be ready, how many, and what would change it."""

    code: str
    text: str
    pieces: int
    examples: tuple[str, ...]
    ready_if: str


@dataclass(frozen=True, slots=True)
class StrainReady:
    """One strain on a day. `whole` is expected; `whole_slow` and `whole_fast` if all grow slowly or fast."""

    strain: str
    taxon: str
    in_stock: int
    whole: int
    whole_slow: int
    whole_fast: int
    by_size: Mapping[str, int]
    cut: CutYield | None
    not_ready: tuple[NotReady, ...]


@dataclass(frozen=True, slots=True)
class Readiness:
    """The answer for a day. `size_mm` is the length that was asked for; None: the least of each kind."""

    today: date
    on: date
    size_mm: float | None
    strains: tuple[StrainReady, ...]

    @property
    def whole(self) -> int:
        """How many pieces can travel whole."""
        return sum(one.whole for one in self.strains)

    @property
    def by_cutting(self) -> int:
        """How many more can be cut in time."""
        return sum(one.cut.pieces for one in self.strains if one.cut is not None)


@dataclass(frozen=True, slots=True)
class Footing:
    """What every question about readiness stands on, read once."""

    stock: StockArrays
    rates: StrainRates
    days: ReadyDays
    held: Mapping[int, Hold]
    kept: Mask
    reference: Reference
    today: date


def read_footing(book: Ledger, reference: Reference, today: date, size_mm: float | None = None) -> Footing:
    """Read stock, growth and holds from an open ledger at one moment."""
    with book.reading() as connection:
        stock = stock_arrays(connection)
        holds = holds_now(connection, reference, today)
    rates = strain_rates(stock, reference)
    days = ready_days(stock, rates, reference, size_mm)
    kept = stock.is_mother | keepers(stock)
    return Footing(stock, rates, days, _held(stock, holds), kept, reference, today)


def readiness(
    book: Ledger,
    reference: Reference,
    today: date,
    on: date,
    *,
    size_mm: float | None = None,
    strain: str | None = None,
) -> Readiness:
    """Return what will be ready on a day, by strain, of all strains or of one (in any case)."""
    footing = read_footing(book, reference, today, size_mm)
    wanted = None if strain is None else strain.casefold()
    strains = tuple(
        one for one in _strains(footing, on, size_mm) if wanted is None or one.strain.casefold() == wanted
    )
    return Readiness(today, on, size_mm, strains)


def keepers(stock: StockArrays) -> Mask:
    """Return the piece of each strain that stays behind when all others go: a mother, else the longest."""
    order = np.lexsort((stock.sizes.length_mm, stock.is_mother, stock.strain))
    last = np.r_[np.diff(stock.strain[order]) != 0, True] if len(order) else np.zeros(0, dtype=bool)
    kept = np.zeros(len(stock), dtype=bool)
    kept[order[last]] = True
    return kept


def may_be_cut(footing: Footing) -> Mask:
    """Return the mothers, and the keepers of strains without one, that are neither held nor promised."""
    stock = footing.stock
    free = footing.kept & ~stock.is_promised
    free[list(footing.held)] = False
    return free


def _held(stock: StockArrays, holds: Sequence[Hold]) -> dict[int, Hold]:
    if not holds:
        return {}
    place = {name: n for n, name in enumerate(stock.pieces)}
    return {place[hold.piece]: hold for hold in holds if hold.piece in place}


def _strains(footing: Footing, on: date, size_mm: float | None) -> Iterator[StrainReady]:
    stock, days = footing.stock, footing.days
    day = day_number(on)
    masks = _why_not(footing, day)
    stays = np.logical_or.reduce(list(masks.values())) if masks else np.zeros(len(stock), dtype=bool)
    count = len(stock.strains)
    free = ~np.logical_or.reduce([mask for code, mask in masks.items() if code != "too_small"])
    totals = {
        "all": np.bincount(stock.strain, minlength=count),
        "whole": np.bincount(stock.strain[~stays], minlength=count),
        "slow": np.bincount(stock.strain[free & (days.grown_slow <= day)], minlength=count),
        "fast": np.bincount(stock.strain[free & (days.grown_fast <= day)], minlength=count),
    }
    sizes = _by_size(footing, ~stays, day)
    cuts = cut_yields(
        stock, footing.rates, days, footing.reference, may_be_cut(footing), footing.today, on, size_mm
    )
    reasons = _reasons(footing, masks, on)
    taxon = dict(zip(stock.strain.tolist(), stock.kind.tolist(), strict=True))
    for n in sorted(range(count), key=lambda n: stock.strains[n].casefold()):
        yield StrainReady(
            strain=stock.strains[n],
            taxon=stock.kinds[taxon[n]][0],
            in_stock=int(totals["all"][n]),
            whole=int(totals["whole"][n]),
            whole_slow=int(totals["slow"][n]),
            whole_fast=int(totals["fast"][n]),
            by_size={name: int(row[n]) for name, row in sizes.items() if row[n]},
            cut=cuts.get(n),
            not_ready=tuple(reasons.get(n, ())),
        )


def _why_not(footing: Footing, day: int) -> dict[str, Mask]:
    """Return for each reason the pieces it is the first reason of, in the order in which reasons are told."""
    stock, days = footing.stock, footing.days
    held = np.zeros(len(stock), dtype=bool)
    held[list(footing.held)] = True
    found = {
        "held": held,
        "promised": stock.is_promised,
        "kept": footing.kept,
        "not_healed": days.healed > day,
        "too_small": days.grown > day,
    }
    seen = np.zeros(len(stock), dtype=bool)
    for code, mask in found.items():
        found[code] = mask & ~seen
        seen |= mask
    return found


def _by_size(footing: Footing, ready: Mask, day: int) -> dict[str, NDArray[np.int64]]:
    """Count what is ready by the class of its expected length."""
    names = ("size_small_mm", "size_medium_mm", "size_large_mm")
    edges = [footing.reference.parameters[name].band.typical for name in names]
    stock = footing.stock
    grown = sizes_on(stock, footing.rates, footing.days.healed, slice(None), day, 0.0, footing.reference)
    classes = np.digitize(grown.length_mm, edges)
    count = len(stock.strains)
    return {
        name: np.bincount(stock.strain[ready & (classes == n)], minlength=count)
        for n, name in enumerate(SIZE_NAMES)
    }


def _reasons(footing: Footing, masks: Mapping[str, Mask], on: date) -> dict[int, list[NotReady]]:
    found: dict[int, list[NotReady]] = {}
    for code, mask in masks.items():
        for strain, some in by_code(footing.stock.strain, np.flatnonzero(mask)):
            found.setdefault(strain, []).append(_reason(footing, code, some, on))
    return found


def _reason(footing: Footing, code: str, at: Codes, on: date) -> NotReady:
    names = tuple(footing.stock.pieces[n] for n in at[:_MOST_EXAMPLES])
    text, ready_if = _words(footing, code, at, on)
    return NotReady(code, text, len(at), names, ready_if)


def _words(footing: Footing, code: str, at: Codes, on: date) -> tuple[str, str]:
    days = footing.days
    if code == "held":
        return _held_words(footing, at, on)
    if code == "promised":
        return "promised to somebody", "the promise is given up"
    if code == "kept":
        return "kept: a mother, or the last of its strain", "more of the strain are grown"
    if code == "not_healed":
        return "the cut edge is not closed by then", _from(days.healed[at], "closed")
    now = f"{_range(footing.stock.sizes.length_mm[at])} mm now, {_wanted(footing, at)}"
    return f"too small by then: {now}", _from(days.grown[at], "expected big enough")


def _held_words(footing: Footing, at: Codes, on: date) -> tuple[str, str]:
    holds = [footing.held[int(n)] for n in at]
    pests = sorted({hold.pest for hold in holds})
    words = [footing.reference.pests[p].words if p in footing.reference.pests else p for p in pests]
    latest = max((hold.earliest for hold in holds if hold.earliest is not None), default=None)
    may_end = latest is not None and latest <= on and all(hold.earliest for hold in holds)
    tail = "; the hold could end in time, on evidence" if may_end else "; the hold can't end by then"
    return f"held: {', '.join(words)}{tail}", holds[0].ends


def _wanted(footing: Footing, at: Codes) -> str:
    heads = footing.days.least_heads[at]
    wanted = f"{_range(footing.days.least_mm[at])} mm wanted"
    return f"{wanted}, or {_range(heads)} heads" if heads.max() > 0 else wanted


def _range(values: Floats) -> str:
    low, high = float(values.min()), float(values.max())
    return f"{low:.0f}" if round(low) == round(high) else f"{low:.0f}–{high:.0f}"


def _from(values: Floats, what: str) -> str:
    known = np.ceil(values[np.isfinite(values)])
    if not len(known):
        return "never at this pace"
    told = f"{what} from {day_of(known.min())}"
    if len(known) < len(values):
        return f"{told}; {len(values) - len(known)} never at this pace"
    return told if known.max() == known.min() else f"{told}; all from {day_of(known.max())}"
