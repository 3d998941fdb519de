"""How a moved coral is brought to its new light. Light as PAR [µmol/m²/s]."""

import math
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class LightRule:
    """First light over the target, days held there, rise per week, and the least days of the whole ramp."""

    start_fraction: float
    hold_d: float
    rise_per_week: float
    settle_d: float


@dataclass(frozen=True, slots=True)
class LightPlan:
    """From which light to which, in how many days."""

    start_par: float
    target_par: float
    days: int
    hold_d: float


def daily_light_mol_m2(par: float, hours: float) -> float:
    """Daily light integral [mol/m²/d]."""
    return par * 3600 * hours / 1e6


def light_plan(source_par: float | None, target_par: float, rule: LightRule) -> LightPlan:
    """Start at the lower of the old light and a fraction of the target, hold, then rise weekly.

    A piece whose old light is not known starts at the fraction. A piece from
    brighter light starts at the fraction as well: it has travelled in the dark.
    """
    gentle = rule.start_fraction * target_par
    start = gentle if source_par is None else min(source_par, gentle)
    weeks = math.log(target_par / start) / math.log(1 + rule.rise_per_week)
    return LightPlan(
        start, target_par, max(math.ceil(rule.hold_d + 7 * weeks), math.ceil(rule.settle_d)), rule.hold_d
    )


def light_on_day(plan: LightPlan, day: float) -> float:
    """Light on a day of the plan: held, then a steady rise by the same share, then the target."""
    if day <= plan.hold_d:
        return plan.start_par
    if day >= plan.days:
        return plan.target_par
    along = (day - plan.hold_d) / (plan.days - plan.hold_d)
    return plan.start_par * math.exp(along * math.log(plan.target_par / plan.start_par))
