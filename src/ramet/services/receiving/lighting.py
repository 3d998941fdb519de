"""Which zone lights a piece, from which light it starts there and how fast it rises."""

from dataclasses import dataclass

from ramet.domain.band import Band
from ramet.formats.receiving import Tank, Zone
from ramet.reference.tables import Reference
from ramet.science.light import LightPlan, LightRule, light_plan
from ramet.services.receiving.arriving import ArrivingPiece

METER_ERROR = 0.1
"""Light meters under water are no better than a tenth: a smaller step needs no shade."""


@dataclass(frozen=True, slots=True)
class Lighting:
    """The light plan of a piece with the zone it is for (None: the tank names no zones) and its range."""

    plan: LightPlan
    zone: Zone | None
    usable: Band
    spot_par: float | None = None

    @property
    def to_shade_par(self) -> float:
        """How far the weakest light of its place lies above the first light of the plan."""
        least = self.spot_par if self.spot_par is not None else (self.zone.par_low if self.zone else 0.0)
        return max(0.0, least - self.plan.start_par)

    @property
    def zone_fits(self) -> bool:
        """Tell whether its place has any light that the genus can use."""
        zone, usable = self.zone, self.usable
        if self.spot_par is not None:
            return usable.low <= self.spot_par <= usable.high
        return zone is None or (zone.par_high >= usable.low and zone.par_low <= usable.high)


def lighting(reference: Reference, tank: Tank, piece: ArrivingPiece) -> Lighting:
    """Plan the way of a piece to the light of its spot or zone: where it is placed, else the most fitting."""
    usable = reference.trait(piece.taxon, piece.form, "light_par").band
    source = None if not piece.source_par else piece.source_par
    rule = light_rule(reference)

    if piece.spot_par is not None:
        own = next((zone for zone in tank.zone if zone.name == piece.zone), None)
        return Lighting(light_plan(source, max(piece.spot_par, 1.0), rule), own, usable, piece.spot_par)

    def in_zone(zone: Zone | None) -> Lighting:
        target = usable.typical if zone is None else max(_nearest(zone, usable.typical), 1.0)
        return Lighting(light_plan(source, target, rule), zone, usable)

    def misfit(lit: Lighting) -> tuple[float, float]:
        return abs(lit.plan.target_par - usable.typical), lit.to_shade_par

    placed = [zone for zone in tank.zone if zone.name == piece.zone]
    return min((in_zone(zone) for zone in placed or tank.zone), key=misfit, default=in_zone(None))


def light_rule(reference: Reference) -> LightRule:
    """Return the rule for moved corals from the reference."""

    def typical(name: str) -> float:
        return reference.parameter(name).band.typical

    return LightRule(
        start_fraction=typical("start_light_fraction"),
        hold_d=typical("light_hold_d"),
        rise_per_week=typical("light_rise_per_week"),
        settle_d=typical("light_settle_d"),
    )


def falls_too_far(reference: Reference, piece: ArrivingPiece, lit: Lighting) -> bool:
    """Tell whether the target is below half of the old light."""
    limit = reference.parameter("light_fall_fraction").band.typical
    return piece.source_par is not None and lit.plan.target_par < limit * piece.source_par


def _nearest(zone: Zone, par: float) -> float:
    return min(max(par, zone.par_low), zone.par_high)
