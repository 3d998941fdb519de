"""The plans of shipments that are still to go: those planned in the background, and files that are named."""

from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from ramet.domain.errors import BadInput
from ramet.formats.plan import Plan
from ramet.formats.plan_text import read_plan
from ramet.ledger.jobs import latest_done
from ramet.ledger.store import Ledger

if TYPE_CHECKING:
    from ramet.domain.problems import Problem

PLAN_FILE = "plan.json"


def recorded_plans(ledger: Ledger, today: date, files: Sequence[Path] = ()) -> tuple[Plan, ...]:
    """Return the latest plan of each shipment that is due today or later.

    A plan that was made in the background and removed since is passed over. Raises BadInput when one of
    `files` is no plan.
    """
    folders = [Path(str(job.what["folder"])) for job in latest_done(ledger, "plan")]
    made = [folder / PLAN_FILE for folder in folders if (folder / PLAN_FILE).is_file()]
    found: dict[str, Plan] = {}
    problems: list[Problem] = []
    for path in [*made, *files]:
        read = read_plan(path)
        if not isinstance(read, tuple):
            found[read.shipment.name] = read
        elif path in files:
            problems += read
    if problems:
        raise BadInput(problems)
    return tuple(plan for plan in found.values() if plan.shipment.due.date() >= today)
