"""The test of the biofilter that is done before the boxes leave."""

from datetime import date, timedelta

from ramet.formats.receiving import Tank
from ramet.formats.tank_report import Readiness
from ramet.reference.tables import Reference
from ramet.science.biofilter import ammonium_chloride_g, nitrate_made_mg_l, nitrification_cost_meq_l
from ramet.science.tank import dkh

_TIMES = 2
_DAYS_ON_TOP = 2
"""A day for the water change, and one for the answer to reach the sender."""


def readiness(reference: Reference, tank: Tank, leaves: date | None) -> Readiness:
    """Return the steps; ammonia is added only to a tank in which nothing lives yet."""
    steps = _watched(reference, tank) if tank.stocked else _dosed(reference, tank)
    needs = _TIMES + _DAYS_ON_TOP
    return Readiness(
        by_ammonia=not tank.stocked,
        needs_d=needs,
        starts_by=None if leaves is None else leaves - timedelta(days=needs),
        steps=steps,
    )


def _dosed(reference: Reference, tank: Tank) -> tuple[str, ...]:
    dose = reference.parameter("ready_test_mg_l").band.typical
    clear = reference.parameter("ready_clear_mg_l").band.typical
    grams = ammonium_chloride_g(dose, tank.volume_l)
    nitrate = nitrate_made_mg_l(dose) * _TIMES
    cost = dkh(nitrification_cost_meq_l(dose) * _TIMES, 1.0)
    return (
        f"Only while no fish, coral or shrimp lives in the tank: dissolve {grams:.1f} g of pure ammonium "
        "chloride "
        f"in fresh water and pour it in before the pump; after an hour ammonia reads about {dose:g} mg/L "
        "of N.",
        f"After 24 h ammonia and nitrite must both read under {clear:g} mg/L of N. Do it once more the "
        "next day.",
        "Not clear in 24 h: the filter is not ripe. Tell the sender, wait a week, try again; the boxes stay.",
        f"Passed: the test left about {nitrate:.0f} mg/L of nitrate and took {cost:.1f} dKH of "
        "alkalinity. Change "
        "a third of the water, bring alkalinity back, and test once more before the boxes leave.",
    )


def _watched(reference: Reference, tank: Tank) -> tuple[str, ...]:
    clear = reference.parameter("ready_clear_mg_l").band.typical
    return (
        "Animals live in the tank: never add ammonia to it.",
        "Feed as always and test ammonia and nitrite 8 h later, on two days: both must stay under "
        f"{clear:g} mg/L "
        "of N. If not, the boxes stay, and the sender is told.",
    )
