"""Check a plan file against every rule."""

from pathlib import Path

from ramet.check.finding import Finding
from ramet.check.plan_check import check_plan
from ramet.domain.errors import BadInput
from ramet.formats.plan_text import read_plan
from ramet.reference.tables import Reference


def check_plan_file(path: Path, reference: Reference) -> tuple[Finding, ...]:
    """Return every broken rule of the plan in a file. Raises BadInput when the file is not a plan."""
    plan = read_plan(path)
    if isinstance(plan, tuple):
        raise BadInput(plan)
    return check_plan(plan, reference)
