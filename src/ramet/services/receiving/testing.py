"""Which tests on which day of the first fortnight: as often as the doubt in the forecast asks."""

import math
from collections.abc import Sequence
from datetime import date, timedelta

from ramet.formats.receiving import Tank
from ramet.formats.tank_report import Biofilter, Demand, TestDay
from ramet.reference.tables import Reference

LAST_DAY = 14
_LONGEST_STEP_D = 4
_AMMONIA_DAYS = (0, 1, 2, 3, 4, 5, 6, 7)
_AMMONIA_DAYS_SURE = (1, 3, 7)
_MINERAL_DAYS = (0, 7, 14)
_NUTRIENT_DAYS = (3, 7, 14)
_SALT_DAYS = (0, 1, 3, 7, 10, 14)


def testing_plan(
    reference: Reference, tank: Tank, demand: Sequence[Demand], biofilter: Biofilter, arrives: date | None
) -> tuple[TestDay, ...]:
    """Return the days on which something is tested."""
    step, why = _alkalinity_step(reference, demand)
    alkalinity = sorted({*range(0, LAST_DAY + 1, step), LAST_DAY})
    ammonia = _AMMONIA_DAYS_SURE if biofilter.enough else _AMMONIA_DAYS
    tests: dict[int, list[str]] = {}
    for days, name in (
        (alkalinity, "alkalinity"),
        (ammonia, "ammonia"),
        (_MINERAL_DAYS, "calcium and magnesium"),
        (_NUTRIENT_DAYS, "nitrate and phosphate"),
        (_SALT_DAYS, "salinity and temperature"),
    ):
        for day in days:
            tests.setdefault(day, []).append(name)
    return tuple(
        TestDay(
            day=day,
            on=None if arrives is None else arrives + timedelta(days=day),
            tests=tuple(tests[day]),
            why=_why(day, tests[day], why, biofilter),
        )
        for day in sorted(tests)
    )


def _alkalinity_step(reference: Reference, demand: Sequence[Demand]) -> tuple[int, str]:
    """Days between tests so that a use at the high end of its band is found before it has drifted far."""
    allowed = reference.parameter("alkalinity_drift_dkh").band.typical
    first = demand[0].alkalinity
    doubt = max(first.high - first.typical, first.typical - first.low)
    step = _LONGEST_STEP_D if doubt <= 0 else max(1, min(_LONGEST_STEP_D, math.floor(allowed / doubt)))
    return step, (
        f"use is {first.low:.2f} to {first.high:.2f} dKH a day: dosed for {first.typical:.2f}, it drifts "
        "by up "
        f"to {doubt * step:.2f} in {step} d"
    )


def _why(day: int, tests: Sequence[str], alkalinity: str, biofilter: Biofilter) -> str:
    if day == 0:
        return f"before the first bag is opened; {alkalinity}"
    if day == 1 and "ammonia" in tests:
        chance = "" if biofilter.chance is None else f" ({biofilter.chance:.0%} sure)"
        return (
            f"what died on the way breaks down in the first days; the biofilter is expected to hold{chance}"
        )
    if day == LAST_DAY:
        return "settle the doses by what was really used, and enter it"
    if day == 7:
        return "the lamp begins to rise; corals begin to use more"
    return ""
