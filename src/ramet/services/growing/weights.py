"""Growth by weight in water: skeleton laid down between weighings, from the first since the last cut."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from ramet.domain.events import Event, Kind
from ramet.domain.piece import Piece, WaterRecord, name_key
from ramet.reference.tables import Reference
from ramet.science.growth import doubling_days, skeleton_g, specific_growth_rate_d
from ramet.science.seawater import density_kg_m3
from ramet.services.growing.piece_areas import areas

_USUAL_WATER = (25.0, 35.0)
"""Temperature [°C] and salinity of a system whose water nobody has read; 3 °C off err by 0.1 %."""


@dataclass(frozen=True, slots=True)
class Weighing:
    """A weight in water and the dry skeleton that it stands for [g]."""

    on: date
    buoyant_g: float
    skeleton_g: float


@dataclass(frozen=True, slots=True)
class WeightGrowth:
    """Weighings since the last cut, and what lies between the first and the last of them.

    `rate_d` is the specific growth rate [1/day]; `calcification_mg_cm2_d` is per contour area of today's
    size. None when there is only one weighing, or nothing was gained.
    """

    weighings: tuple[Weighing, ...]
    days: int
    gained_g: float
    rate_d: float | None
    doubling_d: float | None
    calcification_mg_cm2_d: float | None


def weight_growth(
    events: Sequence[Event], water: Sequence[WaterRecord], piece: Piece, reference: Reference
) -> WeightGrowth | None:
    """Return growth by weight from the events of a piece; None when it was never weighed."""
    weighings: list[Weighing] = []
    for event in events:
        entry = event.entry
        if entry.kind is Kind.CUT or entry.payload.get("reduced"):
            weighings = []
        if entry.kind is Kind.MEASURED and entry.payload.get("buoyant_g") is not None:
            buoyant = float(str(entry.payload["buoyant_g"]))
            density = float(density_kg_m3(*_water_on(entry.on, piece, water)))
            weighings.append(Weighing(entry.on, buoyant, skeleton_g(buoyant, density)))
    if not weighings:
        return None
    weighings.sort(key=lambda one: one.on)
    first, last = weighings[0], weighings[-1]
    days, gained = (last.on - first.on).days, last.skeleton_g - first.skeleton_g
    if days == 0 or gained <= 0:
        return WeightGrowth(tuple(weighings), days, gained, None, None, None)
    rate = specific_growth_rate_d(first.skeleton_g, last.skeleton_g, days)
    size = (piece.length_mm, piece.width_mm, piece.height_mm, piece.heads)
    contour = areas(reference, piece.taxon, piece.form, *size).contour_cm2.typical
    return WeightGrowth(
        tuple(weighings), days, gained, rate, doubling_days(rate), gained * 1000 / contour / days
    )


def _water_on(on: date, piece: Piece, water: Sequence[WaterRecord]) -> tuple[float, float]:
    here = [one for one in water if name_key(one.system) == name_key(piece.system)]
    if not here:
        return _USUAL_WATER
    nearest = min(here, key=lambda one: abs((one.on - on).days))
    return nearest.temperature_c, nearest.salinity
