"""The plans of shipments that are still to go: those on the shelf or planned in the background, and files."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from ramet.domain.errors import BadInput
from ramet.formats.plan import Plan
from ramet.formats.plan_text import read_plan
from ramet.ledger.jobs import latest_done
from ramet.ledger.store import Ledger
from ramet.services.beside import files_beside
from ramet.services.sending.task_ticks import read_ticks
from ramet.services.shelf import PLAN, shipments

if TYPE_CHECKING:
    from ramet.domain.problems import Problem


@dataclass(frozen=True, slots=True)
class RecordedPlan:
    """A plan, the ids of its tasks that are done, and its key on the shelf when it stands there."""

    plan: Plan
    done: frozenset[str] = frozenset()
    key: str | None = None


def recorded_plans(
    place: str, ledger: Ledger, today: date, files: Sequence[Path] = ()
) -> tuple[RecordedPlan, ...]:
    """Return the latest plan of each shipment that is due today or later.

    A plan that was made in the background and removed since is passed over. Raises BadInput when one of
    `files` is no plan.
    """
    found = {one.plan.shipment.name: one for one in _made(ledger)}
    found |= {one.plan.shipment.name: one for one in shelf_plans(files_beside(place))}
    problems: list[Problem] = []
    for path in files:
        read = read_plan(path)
        if isinstance(read, tuple):
            problems += read
        else:
            found[read.shipment.name] = RecordedPlan(read, frozenset(read_ticks(path.parent)))
    if problems:
        raise BadInput(problems)
    return tuple(one for one in found.values() if one.plan.shipment.due.date() >= today)


def shelf_plans(files: Path) -> Iterator[RecordedPlan]:
    """Yield the plans that stand on the shelf in a ledger's folder of files."""
    for place in shipments(files):
        if place.plan is not None:
            yield RecordedPlan(place.plan, frozenset(read_ticks(place.folder)), place.key)


def _made(ledger: Ledger) -> Iterator[RecordedPlan]:
    for job in latest_done(ledger, "plan"):
        folder = Path(str(job.what["folder"]))
        read = read_plan(folder / PLAN) if (folder / PLAN).is_file() else ()
        if not isinstance(read, tuple):
            yield RecordedPlan(read, frozenset(read_ticks(folder)))
