"""Which zone lights a piece, from which light it starts there and how fast it rises."""

from dataclasses import dataclass

from ramet.domain.band import Band
from ramet.formats.receiving import Tank, Zone
from ramet.formats.tank_report import LightStep
from ramet.reference.tables import Reference
from ramet.science.light import LightPlan, LightRule, daily_light_mol_m2, light_plan
from ramet.science.tank import USUAL_PHOTOPERIOD_H
from ramet.services.receiving.arriving import ArrivingPiece

_METER_ERROR = 0.1
"""Light meters under water are no better than a tenth: a smaller step needs no shade."""


@dataclass(frozen=True, slots=True)
class Lighting:
    """The light plan of a piece with the zone it is for (None: the tank names no zones) and its range."""

    plan: LightPlan
    zone: Zone | None
    usable: Band

    @property
    def to_shade_par(self) -> float:
        """How far the zone's weakest light lies above the first light of the plan."""
        return 0.0 if self.zone is None else max(0.0, self.zone.par_low - self.plan.start_par)

    @property
    def zone_fits(self) -> bool:
        """Tell whether the zone has any light that the genus can use."""
        zone, usable = self.zone, self.usable
        return zone is None or (zone.par_high >= usable.low and zone.par_low <= usable.high)


def lighting(reference: Reference, tank: Tank, piece: ArrivingPiece) -> Lighting:
    """Plan the way of a piece to the light of its zone: where it is placed, else the most fitting one."""
    usable = reference.trait(piece.taxon, piece.form, "light_par").band
    source = None if not piece.source_par else piece.source_par
    rule = light_rule(reference)

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


def light_step(reference: Reference, tank: Tank, piece: ArrivingPiece) -> LightStep:
    """Return the light plan of a piece with its verdict in words."""
    lit = lighting(reference, tank, piece)
    return LightStep(
        piece=piece.piece,
        source_par=piece.source_par,
        start_par=round(lit.plan.start_par, 1),
        target_par=round(lit.plan.target_par, 1),
        days=lit.plan.days,
        verdict=_verdict(reference, tank, piece, lit),
    )


def falls_too_far(reference: Reference, piece: ArrivingPiece, lit: Lighting) -> bool:
    """Tell whether the target is below half of the old light."""
    limit = reference.parameter("light_fall_fraction").band.typical
    return piece.source_par is not None and lit.plan.target_par < limit * piece.source_par


def _nearest(zone: Zone, par: float) -> float:
    return min(max(par, zone.par_low), zone.par_high)


def _verdict(reference: Reference, tank: Tank, piece: ArrivingPiece, lit: Lighting) -> str:
    rest = (_rise(reference, lit), _daily(reference, tank, lit)) if lit.zone_fits else ()
    parts = (_where(lit), *rest, _source_words(reference, piece, lit))
    return "; ".join(part for part in parts if part)


def _where(lit: Lighting) -> str:
    zone = lit.zone
    if zone is None:
        return "no light map of the tank: measure at the spot first"
    if not lit.zone_fits:
        return (
            f"zone {zone.name} is the nearest but its light, {zone.par_low:.0f}–{zone.par_high:.0f}, "
            f"is outside the range of the genus, {lit.usable.low:.0f}–{lit.usable.high:.0f}"
        )
    if lit.to_shade_par > _METER_ERROR * zone.par_low:
        return f"zone {zone.name}, at first under mesh or a weaker lamp (it has at least {zone.par_low:.0f})"
    return f"zone {zone.name}"


def _rise(reference: Reference, lit: Lighting) -> str:
    weekly = reference.parameter("light_rise_per_week").band.typical
    return (
        f"hold {lit.plan.start_par:.0f} for {lit.plan.hold_d:.0f} d, then raise by at most {weekly:.0%} a "
        f"week to {lit.plan.target_par:.0f} on day {lit.plan.days}; hold when it pales"
    )


def _source_words(reference: Reference, piece: ArrivingPiece, lit: Lighting) -> str:
    if piece.source_par is None:
        return "its light at the source was not recorded"
    if falls_too_far(reference, piece, lit):
        return (
            f"less than half of the {piece.source_par:.0f} it grew under: expect slower growth and browning"
        )
    return ""


def _daily(reference: Reference, tank: Tank, lit: Lighting) -> str:
    daily = daily_light_mol_m2(lit.plan.target_par, tank.photoperiod_h)
    if daily > reference.parameter("daily_light_inhibiting_mol_m2_d").band.typical:
        return f"{daily:.0f} mol/m² a day may inhibit it"
    least = daily_light_mol_m2(lit.usable.low, USUAL_PHOTOPERIOD_H)
    limiting = reference.parameter("daily_light_limiting_mol_m2_d").band.typical
    if daily < min(limiting, least):
        return f"{daily:.1f} mol/m² a day is little: lengthen the day"
    return ""
