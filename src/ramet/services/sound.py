"""The one gate on the way out: only a plan that passed the checker is written, printed or shown as made."""

from typing import NewType

from ramet.check.finding import Finding
from ramet.check.plan_check import check_plan
from ramet.domain.errors import RametError
from ramet.formats.plan import Plan
from ramet.reference.tables import Reference

SoundPlan = NewType("SoundPlan", Plan)
"""A plan that passed the checker. `sound` alone makes one; whatever writes or prints plans asks for one."""


class PlanDoesNotHold(RametError):
    """The checker found a fault in a plan that the planner made: a defect of ramet, never of the input."""

    exit_code = 3

    def __init__(self, findings: tuple[Finding, ...]) -> None:
        self.findings = findings
        faults = "\n".join(f"  {finding.rule}: {finding.text}" for finding in findings)
        super().__init__(
            f"The plan that came out breaks rules of its own, so it is not shown. This is a fault in ramet; "
            f"please report it with your shipment file.\n{faults}"
        )


def sound(plan: Plan, reference: Reference) -> SoundPlan:
    """Return a plan that holds. Raises PlanDoesNotHold with everything that it breaks."""
    findings = check_plan(plan, reference)
    if findings:
        raise PlanDoesNotHold(findings)
    return SoundPlan(plan)
