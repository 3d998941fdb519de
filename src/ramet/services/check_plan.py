"""Check a plan file against every rule."""

from dataclasses import dataclass
from pathlib import Path

from ramet.check.finding import Finding
from ramet.check.plan_check import check_plan, rules_for, switched_off
from ramet.domain.errors import BadInput
from ramet.formats.plan import RuleSetting
from ramet.formats.plan_text import read_plan
from ramet.reference.tables import Reference


@dataclass(frozen=True, slots=True)
class Checked:
    """What a check found: every broken spot, how many rules were asked for, and those switched off."""

    findings: tuple[Finding, ...]
    rules: int
    switched_off: tuple[RuleSetting, ...]


def check_plan_file(path: Path, reference: Reference) -> Checked:
    """Check the plan in a file. Raises BadInput when the file is not a plan."""
    plan = read_plan(path)
    if isinstance(plan, tuple):
        raise BadInput(plan)
    return Checked(check_plan(plan, reference), len(rules_for(plan)), switched_off(plan))
