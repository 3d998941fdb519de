"""What the forecast of a plan was told beyond the plan's own rows, so that it can be run again."""

from typing import Annotated, Literal

from pydantic import Field

from ramet.formats.fields import FileModel
from ramet.formats.shipment import Delay, LegWish, YesNo

Spread = tuple[float, float, float]
"""Low, typical and high."""


class ToldJourney(FileModel):
    """The road, the boxes and the bags as the journey model saw them."""

    legs: Annotated[tuple[LegWish, ...], Field(min_length=1)]
    delay: Delay
    heat_packs: YesNo
    room_c: float
    boxes: tuple["ToldBox", ...]
    bags: tuple["ToldBag", ...]


class ToldBox(FileModel):
    """The foam of a box, by its row in the reference."""

    id: str
    foam: str


class ToldBag(FileModel):
    """What is in a bag, the water it was filled with, and what it can bear.

    `surface_cm2` is where water meets gas, `film_area_cm2` the whole film; `blank_umol_h` is what plug, rock
    and film use at 25 °C.
    """

    id: str
    sealed_before_h: float
    oxygen_fraction: float
    rigid: bool
    surface_cm2: float
    film_area_cm2: float
    start_c: float
    salinity: float
    alkalinity_meq_l: float
    ph_total: float
    blank_umol_h: Spread
    animals: tuple["ToldAnimal", ...]
    limits: tuple["ToldLimit", ...]


class ToldAnimal(FileModel):
    """One coral: live tissue, its use of oxygen at 25 °C, its skeleton's contour and daily growth."""

    tissue_area_cm2: Spread
    respiration_umol_cm2_h: Spread
    contour_area_cm2: Spread
    calcification_meq_cm2_d: Spread
    symbiotic: bool
    q10: float | None = None


class ToldLimit(FileModel):
    """A level beyond which `hours` in all harm (0: at once); only those with `ends_hold` end the hold."""

    code: str
    quantity: Literal["oxygen_mg_l", "temperature_c", "opened_ammonia_umol_l"]
    below: bool
    level: float
    hours: float
    ends_hold: bool


ToldJourney.model_rebuild()
