"""The stock as arrays, so that a question about every piece takes one pass instead of one step a piece."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray
from sqlalchemy import Connection

from ramet.domain.words import Form
from ramet.ledger import columns
from ramet.science.growth import Sizes
from ramet.services.bulk import collector_paused

Codes = NDArray[np.int64]
Places = NDArray[np.int64] | slice
Days = NDArray[np.float64]
"""Days from 1 January 1970; nan where a day is not known."""


@dataclass(frozen=True, slots=True)
class StockArrays:
    """Every piece in stock, one place an array. Codes point into the lists of names beside them.

    `kinds` are pairs of taxon and form. The baseline is nan where nothing was measured after it.
    """

    pieces: Sequence[str]
    strains: tuple[str, ...]
    strain: Codes
    kinds: tuple[tuple[str, Form], ...]
    kind: Codes
    sizes: Sizes
    wounded_on: Days
    sized_on: Days
    base_on: Days
    base_length_mm: NDArray[np.float64]
    base_heads: NDArray[np.float64]
    is_promised: NDArray[np.bool_]
    is_mother: NDArray[np.bool_]

    def __len__(self) -> int:
        return len(self.pieces)


_EPOCH = date(1970, 1, 1).toordinal()
_NAMES = tuple(name for name in columns.COLUMNS if name not in {"system", "tank"})


def stock_arrays(connection: Connection) -> StockArrays:
    """Read the pieces in stock."""
    with collector_paused():
        found = dict(zip(_NAMES, columns.alive_columns(connection, _NAMES), strict=True))
        texts, group = coded(found["group"])
        parts = [text.split(columns.SEPARATOR) for text in texts]
        strains, strain_of = coded([strain for strain, _, _ in parts])
        kinds, kind_of = coded([columns.SEPARATOR.join(kind) for _, *kind in parts])
        pairs = (kind.split(columns.SEPARATOR) for kind in kinds)
        mothers = columns.mothers(connection)
        return StockArrays(
            pieces=found["piece"],
            strains=tuple(strains),
            strain=strain_of[group],
            kinds=tuple((taxon, Form(form)) for taxon, form in pairs),
            kind=kind_of[group],
            sizes=Sizes(*(_numbers(found[n]) for n in ("length_mm", "width_mm", "height_mm", "heads"))),
            wounded_on=_numbers(found["wounded_on"]),
            sized_on=_numbers(found["sized_on"]),
            base_on=_numbers(found["base_on"]),
            base_length_mm=_numbers(found["base_length_mm"]),
            base_heads=_numbers(found["base_heads"]),
            is_promised=np.array(found["is_promised"], dtype=bool),
            is_mother=np.array([name in mothers for name in found["piece"]], dtype=bool),
        )


def coded(values: Sequence[str]) -> tuple[list[str], Codes]:
    """Return the different values in the order of their first place, and the number of each value."""
    number = {value: n for n, value in enumerate(dict.fromkeys(values))}
    return list(number), np.array([number[value] for value in values], dtype=np.int64)


def by_code(codes: Codes, at: Codes) -> Iterator[tuple[int, Codes]]:
    """Return the places `at` by their code, each code with its places in their order."""
    if not len(at):
        return
    ordered = at[np.argsort(codes[at], kind="stable")]
    starts = np.flatnonzero(np.diff(codes[ordered])) + 1
    for some in np.split(ordered, starts):
        yield int(codes[some[0]]), some


def day_number(day: date) -> int:
    """Return the days from 1 January 1970 to a day."""
    return day.toordinal() - _EPOCH


def day_of(number: float) -> date:
    """Return the day with this number."""
    return date.fromordinal(round(number) + _EPOCH)


def _numbers(values: Sequence[float | None]) -> NDArray[np.float64]:
    return np.array(values, dtype=float)
