"""When one piece could travel, and what keeps it: for lists and pages that show many pieces at once."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from ramet.domain.piece import Hold, name_key
from ramet.services.growing.readiness import Footing
from ramet.services.growing.stock_arrays import day_of

FURTHEST_D = 3650
"""A day further off than this is as good as never."""


@dataclass(frozen=True, slots=True)
class Travels:
    """From when a piece could travel: `on` None: not as it grows now. `holds` keep it whatever its size."""

    on: date | None
    heals_until: date | None
    holds: tuple[Hold, ...] = ()


class TravelDays:
    """Looks up when pieces could travel, by their names in any case."""

    def __init__(self, footing: Footing, holds: Mapping[str, tuple[Hold, ...]]) -> None:
        self._footing = footing
        self._holds = holds
        self._place = {name_key(name): n for n, name in enumerate(footing.stock.pieces)}

    @property
    def held(self) -> frozenset[str]:
        """The keys of all pieces that are held."""
        return frozenset(self._holds)

    def of(self, piece: str) -> Travels | None:
        """Return when a piece could travel; None for one that is not in stock."""
        key = name_key(piece)
        place = self._place.get(key)
        if place is None:
            return None
        healed = float(self._footing.days.healed[place])
        grown = float(self._footing.days.grown[place])
        both = (_day(max(healed, grown), self._footing), _day(healed, self._footing))
        return Travels(*both, self._holds.get(key, ()))


def by_piece(holds: tuple[Hold, ...]) -> dict[str, tuple[Hold, ...]]:
    """Return holds by the case-blind key of their piece."""
    found: dict[str, list[Hold]] = {}
    for hold in holds:
        found.setdefault(name_key(hold.piece), []).append(hold)
    return {key: tuple(some) for key, some in found.items()}


def _day(number: float, footing: Footing) -> date | None:
    today = footing.today
    if number == -math.inf:
        return today
    far = (today - date(1970, 1, 1)).days + FURTHEST_D
    return None if not math.isfinite(number) or number > far else day_of(math.ceil(number))
