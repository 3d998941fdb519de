"""Light at any place of a receiving tank: measured, worked out from lamps, or its zone's."""

from dataclasses import dataclass

from ramet.formats.receiving import Tank, Zone
from ramet.reference.tables import Reference
from ramet.science.lamps import LampMap, LampPoint, fit_lamps


@dataclass(frozen=True, slots=True)
class Light:
    """Light at a place [µmol/m²/s]: a range for a zone, one value where it was measured or worked out."""

    low: float
    high: float


def lamp_map(reference: Reference, tank: Tank) -> LampMap | None:
    """Return the light of the tank's lamps fitted to its readings; None without lamps."""
    if not tank.lamp or tank.depth_mm is None:
        return None
    lamps = [
        LampPoint((*one.at_mm, tank.depth_mm + one.above_water_mm), one.half_angle_deg) for one in tank.lamp
    ]
    return fit_lamps(
        lamps,
        tank.depth_mm,
        [((*one.at_mm, one.height_mm), one.par) for one in tank.reading],
        reference.parameter("lamp_loss_per_m").band.typical,
        reference.parameter("lamp_map_error").band.typical,
    )


def light_at(
    lamps: LampMap | None, place: tuple[float, float, float], par: float | None, zone: Zone | None
) -> Light | None:
    """Return the light of a place: the most direct word on it; None when nothing is known."""
    if par is not None:
        return Light(par, par)
    if lamps is not None:
        value = lamps.par(place)
        return Light(value, value)
    return None if zone is None else Light(zone.par_low, zone.par_high)
