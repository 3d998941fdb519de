"""What arrives at a receiving tank, as its models need it."""

from dataclasses import dataclass

from ramet.domain.words import Form
from ramet.science.areas import Size


@dataclass(frozen=True, slots=True)
class ArrivingPiece:
    """A coral on its way. `source_par` is the light it grew under; `bag` the id of its bag, if packed.

    `zone` names the zone of the tank it is placed in, once that is settled.
    """

    piece: str
    taxon: str
    form: Form
    size_mm: tuple[float, float, float]
    heads: int | None = None
    source_par: float | None = None
    bag: str | None = None
    zone: str | None = None

    @property
    def size(self) -> Size:
        """Its size for the area and growth laws."""
        return Size(*self.size_mm, self.heads)


@dataclass(frozen=True, slots=True)
class ArrivingBag:
    """A bag at its opening. `salinity` is that of its water, where known."""

    id: str
    water_l: float
    temperature_c: float
    margin_h: float
    salinity: float | None = None
