"""The receiving tank's water judged: against the water the corals come from, and by itself."""

from collections.abc import Iterator, Sequence
from datetime import date

from ramet.domain.piece import WaterRecord
from ramet.domain.quantities import MEQ_L_PER_DKH
from ramet.formats.plan import Caution
from ramet.formats.receiving import Tank
from ramet.reference.tables import Reference
from ramet.science.tank import correction_days

_NATURAL_MEQ_L = (2.0, 2.5)
_FAR_SALINITY = 2.0


def water_cautions(
    reference: Reference, tank: Tank, sources: Sequence[WaterRecord], arrives: date | None
) -> Iterator[Caution]:
    """Yield what a careful person would say about the water; `source` is a key of the sources table."""
    for record in sources:
        yield from _alkalinity(reference, tank, record)
        yield from _salinity(tank, record)
        yield from _warmth(reference, tank, record)
        yield from _minerals(reference, tank, record)
        yield from _richness(tank, record)
    yield from _unit_slip(tank)
    yield from _nutrients(reference, tank)
    yield from _swings(reference, tank)
    yield from _old_test(reference, tank, arrives)


def _typical(reference: Reference, name: str) -> float:
    return reference.parameter(name).band.typical


def _alkalinity(reference: Reference, tank: Tank, record: WaterRecord) -> Iterator[Caution]:
    limit = _typical(reference, "alkalinity_gap_dkh")
    there = record.alkalinity_meq_l / MEQ_L_PER_DKH
    gap = tank.alkalinity_dkh - there
    if abs(gap) <= limit:
        return
    days = correction_days(
        gap, _typical(reference, "correction_dkh_d"), _typical(reference, "correction_first_week_dkh_d")
    )
    yield Caution(
        code="alkalinity_gap",
        text=f"The tank has {tank.alkalinity_dkh:.1f} dKH, system {record.system} {there:.1f}: more than "
        f"{limit:g} apart. Bring the tank nearer before the boxes leave, over at least {days} days "
        "(0.5 dKH a day in the first week, never more than 1).",
        source="practice",
    )


def _salinity(tank: Tank, record: WaterRecord) -> Iterator[Caution]:
    if abs(record.salinity - tank.salinity) > _FAR_SALINITY:
        yield Caution(
            code="salinity_differs",
            text=f"The tank has salinity {tank.salinity:.1f}, system {record.system} {record.salinity:.1f}: "
            "match the tub to the bags and ramp there.",
            source="practice",
        )


def _warmth(reference: Reference, tank: Tank, record: WaterRecord) -> Iterator[Caution]:
    limit = _typical(reference, "temperature_gap_c")
    if abs(record.temperature_c - tank.temperature_c) > limit:
        yield Caution(
            code="temperature_differs",
            text=f"The tank is kept at {tank.temperature_c:.1f} °C, system {record.system} at "
            f"{record.temperature_c:.1f}: more than {limit:g} apart. Bring the tank nearer, half a "
            "degree a day.",
            source="practice",
        )


def _minerals(reference: Reference, tank: Tank, record: WaterRecord) -> Iterator[Caution]:
    for name, here, there in (
        ("calcium", tank.calcium_mg_l, record.calcium_mg_l),
        ("magnesium", tank.magnesium_mg_l, record.magnesium_mg_l),
    ):
        limit = 2 * _typical(reference, f"{name}_slack_mg_l")
        if there is not None and abs(here - there) > limit:
            yield Caution(
                code=f"{name}_differs",
                text=f"The tank has {here:.0f} mg/L of {name}, system {record.system} {there:.0f}: more than "
                f"{limit:g} apart. Test both again; correct before the boxes leave.",
                source="judgement",
            )


def _richness(tank: Tank, record: WaterRecord) -> Iterator[Caution]:
    """Corals from rich water pale in poor water: tenfold less is told."""
    for name, here, there in (
        ("nitrate", tank.nitrate_mg_l, record.nitrate_mg_l),
        ("phosphate", tank.phosphate_mg_l, record.phosphate_mg_l),
    ):
        if here is not None and there is not None and 0 < 10 * here < there:
            yield Caution(
                code="nutrients_differ",
                text=f"The tank reads {here:g} mg/L of {name}, system {record.system} {there:g}: a fall "
                "of more "
                "than ten times. Expect paling; raise it slowly and keep the light low.",
                source="hobby",
            )


def _unit_slip(tank: Tank) -> Iterator[Caution]:
    low, high = _NATURAL_MEQ_L
    if low <= tank.alkalinity_dkh <= high + 0.5 and tank.salinity > 25:
        yield Caution(
            code="alkalinity_unit",
            text=f"An alkalinity of {tank.alkalinity_dkh:g} dKH would dissolve coral skeletons; at this "
            "salinity "
            f"the number looks like meq/L, which is {tank.alkalinity_dkh / MEQ_L_PER_DKH:.1f} dKH. Check the "
            "unit.",
            source="derived",
        )


def _nutrients(reference: Reference, tank: Tank) -> Iterator[Caution]:
    for name, value in (("nitrate", tank.nitrate_mg_l), ("phosphate", tank.phosphate_mg_l)):
        band = reference.parameter(f"{name}_wanted_mg_l").band
        if value is not None and value <= 0:
            yield Caution(
                code="nutrients_zero",
                text=f"{name.capitalize()} reads zero: corals pale and starve in such water. Wait until "
                "it can be "
                "measured.",
                source="hobby",
            )
        elif value is not None and value > band.high:
            yield Caution(
                code="nutrients_high",
                text=f"{name.capitalize()} reads {value:g} mg/L, {band.low:g} to {band.high:g} are "
                "wanted: change "
                "water before the boxes leave.",
                source="hobby",
            )


def _swings(reference: Reference, tank: Tank) -> Iterator[Caution]:
    for name, value, unit in (
        ("temperature", tank.temperature_swing_c, " °C"),
        ("salinity", tank.salinity_swing, ""),
    ):
        limit = _typical(reference, f"{name}_swing_most")
        if value is not None and value > limit:
            yield Caution(
                code=f"{name}_swings",
                text=f"The tank's {name} swings by {value:g}{unit} a day; it should by at most "
                f"{limit:g}{unit}: steady it first.",
                source="memory",
            )


def _old_test(reference: Reference, tank: Tank, arrives: date | None) -> Iterator[Caution]:
    lasts = _typical(reference, "water_test_lasts_d")
    if tank.tested_on is None or arrives is None:
        return
    age = (arrives - tank.tested_on).days
    if age > lasts:
        yield Caution(
            code="old_test",
            text=f"The tank's water was tested on {tank.tested_on.isoformat()}, {age} days before the "
            "corals come: "
            f"test it again within the last {lasts:g} days.",
            source="practice",
        )
