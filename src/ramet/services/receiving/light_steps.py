"""How each piece is brought to its light, in numbers and words."""

from collections.abc import Sequence

from ramet.formats.receiving import Tank
from ramet.formats.tank_report import FreeSpot, LightStep
from ramet.reference.tables import Reference
from ramet.science.light import daily_light_mol_m2
from ramet.science.tank import USUAL_PHOTOPERIOD_H
from ramet.services.receiving.arriving import ArrivingPiece
from ramet.services.receiving.lamp_setting import Ramp, Shade, mesh_words, ramp, shades
from ramet.services.receiving.lighting import Lighting, falls_too_far, lighting

_PAR_S_PER_MOL_H = 1e6 / 3600
_ABOUT = 0.95
"""A twentieth less than the least is within any meter's error."""


def light_steps(
    reference: Reference, tank: Tank, pieces: Sequence[ArrivingPiece], free: Sequence[FreeSpot] = ()
) -> tuple[LightStep, ...]:
    """Return the way of every piece to its light under the one lamp setting of the tank."""
    way, shaded = ramp(reference, tank, pieces), shades(reference, tank, pieces, free)
    return tuple(_step(reference, tank, piece, way, shaded.get(piece.piece)) for piece in pieces)


def _step(
    reference: Reference, tank: Tank, piece: ArrivingPiece, way: Ramp, shade: Shade | None
) -> LightStep:
    lit = lighting(reference, tank, piece)
    first = way.shares[0] * lit.plan.target_par * (1.0 if shade is None else 1 - shade.share)
    until = 0 if shade is None else shade.off_on_days[-1]
    return LightStep(
        piece=piece.piece,
        source_par=piece.source_par,
        start_par=round(first, 1),
        target_par=round(lit.plan.target_par, 1),
        days=max(way.days[-1], until),
        verdict=_verdict(reference, tank, piece, lit, shade),
        mesh=0.0 if shade is None else round(shade.share, 2),
        mesh_until_day=until,
        or_at="" if shade is None else shade.or_at,
        daily_mol_m2=round(daily_light_mol_m2(lit.plan.target_par, tank.photoperiod_h), 1),
    )


def _verdict(
    reference: Reference, tank: Tank, piece: ArrivingPiece, lit: Lighting, shade: Shade | None
) -> str:
    parts = [_where(lit)]
    if lit.zone_fits:
        parts += ["" if shade is None else mesh_words(shade), _daily(reference, tank, lit)]
    parts.append(_source_words(piece, falls_too_far(reference, piece, lit)))
    return "; ".join(part for part in parts if part)


def _where(lit: Lighting) -> str:
    zone, usable = lit.zone, f"{lit.usable.low:.0f}–{lit.usable.high:.0f}"
    if lit.spot_par is not None:
        fits = "" if lit.zone_fits else f", outside the range of the genus, {usable}"
        return f"its spot gets {lit.spot_par:.0f}{fits}" if fits else "with the lamp"
    if zone is None:
        return "no light map of the tank: measure at the spot first"
    if not lit.zone_fits:
        return (
            f"zone {zone.name} is the nearest but its light, {zone.par_low:.0f}–{zone.par_high:.0f}, "
            f"is outside the range of the genus, {usable}"
        )
    return f"zone {zone.name}"


def _source_words(piece: ArrivingPiece, falls: bool) -> str:
    if piece.source_par is None:
        return "its light at the source was not recorded"
    if falls:
        return (
            f"less than half of the {piece.source_par:.0f} it grew under: expect slower growth and browning"
        )
    return ""


def _daily(reference: Reference, tank: Tank, lit: Lighting) -> str:
    """Keep the daily light integral in range: say which length of day would."""
    par = lit.plan.target_par
    daily = daily_light_mol_m2(par, tank.photoperiod_h)
    most = reference.parameter("daily_light_inhibiting_mol_m2_d").band.typical
    if daily > most:
        return (
            f"{daily:.0f} mol/m² a day may inhibit it: at most {most / par * _PAR_S_PER_MOL_H:.1f} h of light"
        )
    least = min(
        daily_light_mol_m2(lit.usable.low, USUAL_PHOTOPERIOD_H),
        reference.parameter("daily_light_limiting_mol_m2_d").band.typical,
    )
    if daily < _ABOUT * least:
        hours = least / par * _PAR_S_PER_MOL_H
        longer = f": {hours:.1f} h of light would do" if hours <= USUAL_PHOTOPERIOD_H else ""
        return f"{daily:.1f} mol/m² a day is little{longer}"
    return ""
