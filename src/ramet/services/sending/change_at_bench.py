"""A piece is withdrawn or swapped while bags are being sealed: the plan changes, sealed bags stay."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from ramet.domain.errors import BadInput
from ramet.domain.problems import Place, Problem
from ramet.domain.words import Effort
from ramet.formats.plan import Plan
from ramet.formats.plan_text import plan_text
from ramet.papers.calendar_file import tasks_ics
from ramet.reference.tables import Reference
from ramet.services.beside import write_whole
from ramet.services.pack_off import AtBench, packing_of, unseal
from ramet.services.planning.candidates import Candidate, substitutes
from ramet.services.planning.gather import Inputs, gather, read_shipment
from ramet.services.planning.repack import BenchChange, taken_by
from ramet.services.printing import Printer
from ramet.services.replan import Replanned, replan_from
from ramet.services.shelf import PLAN, SHIPMENT, ShelfPlace, keep_plan_before
from ramet.services.sound import SoundPlan
from ramet.services.stock import read_stock


@dataclass(frozen=True, slots=True)
class BenchOrder:
    """A planned shipment, the stock it is changed by, and when it happens."""

    ledger: str
    place: ShelfPlace
    reference: Reference
    today: date
    now: AtBench


def ready_instead(order: BenchOrder, piece: str) -> tuple[Candidate, ...]:
    """Return the pieces that could go in place of a planned one, the next best first."""
    plan, inputs = _plan(order), _inputs(order)
    line = next((one.request for one in plan.chosen if one.piece == piece), None)
    index = next((i for i, one in enumerate(inputs.shipment.request) if one.id == line), None)
    if index is None:
        return ()
    return tuple(substitutes(inputs, index, taken_by(plan)))


def change_plan(order: BenchOrder, withdrawn: str, wanted: str | None) -> Replanned:
    """Change the plan on the shelf and return what changed. Raises BadInput, CannotReplan, PlanDoesNotHold.

    A sealed bag with the withdrawn piece in it counts as open again. The packet is of the plan before until
    `print_papers` has run.
    """
    plan = _plan(order)
    bag = next((one.bag for one in plan.chosen if one.piece == withdrawn), None)
    sealed = frozenset(packing_of(order.ledger, plan).sealed) - {bag}
    done = replan_from(_inputs(order), plan, BenchChange(sealed, withdrawn, wanted))
    if bag is not None:
        unseal(order.ledger, plan, bag, order.now)
    keep_plan_before(order.place)
    write_whole(order.place.folder / PLAN, plan_text(done.plan).encode())
    write_whole(order.place.folder / "tasks.ics", tasks_ics(done.plan))
    return done


def print_papers(place: ShelfPlace, plan: SoundPlan) -> Sequence[str]:
    """Print the packet and the receiver's page of a changed plan, and return their names."""
    with Printer() as printer:
        papers = printer.papers(plan)
    for name, data in papers.items():
        write_whole(place.folder / name, data)
    return tuple(papers)


def _plan(order: BenchOrder) -> Plan:
    if order.place.plan is None:
        raise BadInput([Problem(Place(order.place.name), None, "a plan of this shipment")])
    return order.place.plan


def _inputs(order: BenchOrder) -> Inputs:
    plan, path = _plan(order), order.place.folder / SHIPMENT
    shipment, sha256 = read_shipment(path, min(order.today, plan.made_from.today), order.reference)
    if sha256 != plan.made_from.shipment_sha256:
        expected = "the shipment as it was when it was planned; plan it again, or take the change back"
        raise BadInput([Problem(Place(SHIPMENT), "a changed file", expected)])
    stock = read_stock(order.ledger, order.reference, order.today)
    return gather(shipment, sha256, stock, order.reference, order.today, plan.seed, Effort.QUICK)
