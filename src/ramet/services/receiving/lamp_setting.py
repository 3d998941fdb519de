"""One dated lamp setting for the whole tank, and mesh or a dimmer spot for pieces that it is too bright for.

Light is counted in shares of the setting at which the tank was measured: 1 is the light of the map.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal

from ramet.formats.receiving import Tank
from ramet.formats.tank_report import FreeSpot, LampPlan, LampStep
from ramet.reference.tables import Reference
from ramet.science.light import light_on_day
from ramet.services.receiving.arriving import ArrivingPiece
from ramet.services.receiving.light_map import lamp_map
from ramet.services.receiving.lighting import METER_ERROR, Lighting, falls_too_far, light_rule, lighting

_MESH_COST, _DARK_COST = 1.0, 1.5
"""A piece under mesh is work; one in less than half of its old light may starve."""
_LONGEST_D = 365


@dataclass(frozen=True, slots=True)
class Ramp:
    """Shares of the measured light from days on, the last of them 1."""

    days: tuple[int, ...]
    shares: tuple[float, ...]

    def share_on(self, day: float) -> float:
        """Share of the measured light on a day."""
        return max(share for start, share in zip(self.days, self.shares, strict=True) if start <= day)


@dataclass(frozen=True, slots=True)
class Shade:
    """Mesh over one piece: layers today, the share of light they keep off, and when each comes off."""

    layers: int
    share: float
    off_on_days: tuple[int, ...]
    or_at: str = ""


def ramp(reference: Reference, tank: Tank, pieces: Sequence[ArrivingPiece]) -> Ramp:
    """Return the lamp's way from a gentle start to the measured light.

    The start is the share under which fewest pieces need mesh or stand too dark; it rises by at most a tenth
    a week, after the first days have been held.
    """
    rule = light_rule(reference)
    lit = [(piece, lighting(reference, tank, piece)) for piece in pieces]
    least = reference.parameter("lamp_start_least").band.typical
    starts = {max(least, min(1.0, one.plan.start_par / one.plan.target_par)) for _, one in lit}
    first = min(
        sorted(starts | {rule.start_fraction}), key=lambda share: (_cost(reference, lit, share), -share)
    )
    rises = max(
        math.ceil(math.log(1 / first) / math.log(1 + rule.rise_per_week) - 1e-9),
        math.ceil((rule.settle_d - rule.hold_d) / 7) if first < 1 else 0,
    )
    days = (0, *(round(rule.hold_d) + 7 * number for number in range(rises)))
    return Ramp(days, tuple(first ** (1 - number / rises) if rises else 1.0 for number in range(rises + 1)))


def lamp_plan(
    reference: Reference, tank: Tank, pieces: Sequence[ArrivingPiece], arrives: date | None
) -> LampPlan:
    """Return the dated setting."""
    way = ramp(reference, tank, pieces)
    lamps = lamp_map(reference, tank)
    origin = _origin(tank)
    return LampPlan(
        steps=tuple(
            LampStep(
                day=day,
                on=None if arrives is None else arrives + timedelta(days=day),
                share=round(share, 3),
                power=round(share * tank.lamp_share, 3),
            )
            for day, share in zip(way.days, way.shares, strict=True)
        ),
        photoperiod_h=tank.photoperiod_h,
        light_meter=tank.light_meter,
        map_from=origin,
        map_error=None if lamps is None else round(lamps.error_share, 3),
        note=_note(tank, origin),
    )


def shades(
    reference: Reference, tank: Tank, pieces: Sequence[ArrivingPiece], free: Sequence[FreeSpot]
) -> dict[str, Shade]:
    """Return the mesh of every piece for which the lamp is too bright at first, with a dimmer spot if any."""
    way = ramp(reference, tank, pieces)
    layer = reference.parameter("mesh_layer_share").band.typical
    taken: set[tuple[int, int]] = set()
    found = {}
    for piece in pieces:
        lit = lighting(reference, tank, piece)
        shade = _shade(lit, way, layer) if lit.zone_fits else None
        if shade is None:
            continue
        spot = _dimmer(lit, way, piece, free, taken)
        if spot is not None:
            taken.add(spot.at_mm)
        found[piece.piece] = Shade(
            shade.layers, shade.share, shade.off_on_days, "" if spot is None else _spot_words(spot)
        )
    return found


def _cost(reference: Reference, lit: Sequence[tuple[ArrivingPiece, Lighting]], share: float) -> float:
    cost = 0.0
    for piece, one in lit:
        now = share * one.plan.target_par
        if now > one.plan.start_par * (1 + METER_ERROR):
            cost += _MESH_COST
        dark = piece.source_par is not None and now < piece.source_par * _half(reference)
        if (dark or now < one.usable.low) and not falls_too_far(reference, piece, one):
            cost += _DARK_COST
    return cost


def _half(reference: Reference) -> float:
    return reference.parameter("light_fall_fraction").band.typical


def _shade(lit: Lighting, way: Ramp, layer: float) -> Shade | None:
    """Whole layers that bring the first light down to the piece's own plan, and the days they come off."""
    too_bright = way.shares[0] * lit.plan.target_par / lit.plan.start_par
    if too_bright <= 1 + METER_ERROR:
        return None
    layers = max(1, round(math.log(too_bright) / -math.log(1 - layer)))
    off: list[int] = []
    for left in range(layers - 1, -1, -1):
        off.append(_when(lit, way, (1 - layer) ** left))
    return Shade(layers, 1 - (1 - layer) ** layers, tuple(off))


def _when(lit: Lighting, way: Ramp, passed: float) -> int:
    """First day on which the piece's own plan bears the lamp's light through so much mesh."""
    for day in range(_LONGEST_D):
        lamp = way.share_on(day) * lit.plan.target_par * passed
        if light_on_day(lit.plan, day) >= lamp / (1 + METER_ERROR):
            return day
    return _LONGEST_D


def _dimmer(
    lit: Lighting, way: Ramp, piece: ArrivingPiece, free: Sequence[FreeSpot], taken: set[tuple[int, int]]
) -> FreeSpot | None:
    """Return the free spot that gives about the first light of the plan and has room for the piece today."""
    wanted = lit.plan.start_par / way.shares[0]
    fitting = [
        spot
        for spot in free
        if spot.par is not None
        and wanted * 0.6 <= spot.par <= wanted * (1 + METER_ERROR)
        and spot.room_mm >= max(piece.size_mm[:2]) / 2
        and spot.at_mm not in taken
    ]
    return max(fitting, key=lambda spot: (spot.par or 0.0, spot.room_mm), default=None)


def _spot_words(spot: FreeSpot) -> str:
    return spot.spot or f"{spot.at_mm[0]} / {spot.at_mm[1]} mm"


def _origin(tank: Tank) -> Literal["zones", "spots", "lamps", "nothing"]:
    if any(spot.par is not None for spot in tank.spot):
        return "spots"
    if tank.lamp:
        return "lamps"
    return "zones" if tank.zone else "nothing"


def _note(tank: Tank, origin: str) -> str:
    meter = tank.light_meter or "not recorded: compare it with the sender's before trusting small steps"
    words = f"meter: {meter}; hold a step when corals pale, go back one when they bleach"
    if origin == "nothing":
        return "no light was measured: measure before the boxes leave; " + words
    if origin == "lamps":
        return (
            "light worked out from lamps and a few readings: check it where the brightest pieces stand; "
            + words
        )
    return words


def mesh_words(shade: Shade) -> str:
    """Say how many layers, until when, and where else it could stand."""
    layers = "1 layer" if shade.layers == 1 else f"{shade.layers} layers"
    off = ", ".join(f"day {day}" for day in shade.off_on_days)
    other = f"; or stand it at {shade.or_at} until then" if shade.or_at else ""
    which = "off on" if shade.layers == 1 else "one off each on"
    return f"under {layers} of mesh (keeps off {shade.share:.0%}), {which} {off}{other}"
