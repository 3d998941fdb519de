"""Places in stock as records of their own: tanks and the spots in them, with light and flow."""

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True)
class SpotRecord:
    """What a place is like from a day on. `spot` None: the tank as a whole.

    Light in µmol m⁻² s⁻¹, flow in cm/s, `photoperiod_h` hours of light a day. `x_mm`, `y_mm`, `z_mm` say
    where a spot lies, from the tank's front left corner of the floor; the last four are a tank's inner
    sizes and its water.
    """

    system: str
    tank: str
    on: date
    spot: str | None = None
    par: float | None = None
    flow_cm_s: float | None = None
    photoperiod_h: float | None = None
    x_mm: float | None = None
    y_mm: float | None = None
    z_mm: float | None = None
    length_mm: float | None = None
    width_mm: float | None = None
    height_mm: float | None = None
    water_l: float | None = None
    note: str | None = None
