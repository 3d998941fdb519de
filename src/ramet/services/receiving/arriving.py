"""What arrives at a receiving tank, as its models need it."""

from dataclasses import dataclass
from datetime import date

from ramet.domain.words import Form
from ramet.science.areas import Size


@dataclass(frozen=True, slots=True)
class ArrivingPiece:
    """A coral on its way. `source_par` is the light it grew under; `bag` the id of its bag, if packed.

    `zone` names the zone of the tank it is placed in, once that is settled; `spot_par` is the light of its
    spot where that is known as one value. The lower its `rank`, the more it matters.
    """

    piece: str
    taxon: str
    form: Form
    size_mm: tuple[float, float, float]
    heads: int | None = None
    source_par: float | None = None
    bag: str | None = None
    zone: str | None = None
    spot_par: float | None = None
    rank: int = 0

    @property
    def size(self) -> Size:
        """Its size for the area and growth laws."""
        return Size(*self.size_mm, self.heads)


@dataclass(frozen=True, slots=True)
class ArrivingBag:
    """A bag at its opening. `salinity` is that of its water, where known; `order` when it is opened."""

    id: str
    water_l: float
    temperature_c: float
    margin_h: float
    salinity: float | None = None
    order: int = 0


@dataclass(frozen=True, slots=True)
class Visit:
    """When it all happens.

    The day the boxes leave, the day they are opened, hours from lid to opening; minutes a bag takes, and how
    long before the opening the boxes are there.
    """

    leaves: date | None = None
    arrives: date | None = None
    journey_h: float | None = None
    per_bag_min: float = 6.0
    early_min: float = 0.0


UNDATED = Visit()
"""A visit of which nothing is known yet."""
