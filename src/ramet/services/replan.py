"""A piece is withdrawn at the bench: the plan with the least change, checked, in a moment."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from zoneinfo import ZoneInfo

from ramet.domain.errors import BadInput, RametError
from ramet.domain.piece import name_key
from ramet.domain.problems import Place, Problem
from ramet.domain.words import Effort, Status
from ramet.formats.plan import AtTheBench, Chosen, LeftOut, Plan, Reason, Task
from ramet.formats.plan_text import read_plan
from ramet.reference.tables import Reference
from ramet.services.calendar.set_days import packing_tasks, receiver_tasks
from ramet.services.calendar.work import Setting
from ramet.services.calendar.work_back import WorkBack
from ramet.services.planning.assemble import assemble, bag_rows
from ramet.services.planning.cost import cost_of, why_no_cost
from ramet.services.planning.foretold import foretold_again
from ramet.services.planning.gather import Inputs, gather, read_shipment
from ramet.services.planning.receiving_tank import receive
from ramet.services.planning.repack import BenchChange, Repacked, repack
from ramet.services.planning.spares import ranked_substitutes
from ramet.services.planning.standing import place_loads
from ramet.services.planning.tighten import Packed
from ramet.services.receiving.placing import Placing
from ramet.services.sound import SoundPlan, sound
from ramet.services.stock import read_stock

_SET_KINDS = frozenset({"pack", "open", "look"})


class CannotReplan(RametError):
    """The change cannot be made, for a reason that a grower can act on; the plan stands as it was."""

    exit_code = 1

    def __init__(self, reasons: Sequence[str]) -> None:
        self.reasons = tuple(reasons)
        super().__init__("The plan stands as it was: " + "; ".join(reasons))


@dataclass(frozen=True, slots=True)
class ReplanOrder:
    """A plan, what it was made from, and what happened at the bench."""

    plan: Plan
    ledger: str
    shipment: Path
    today: date
    change: BenchChange


@dataclass(frozen=True, slots=True)
class Replanned:
    """The plan after a change, which passed the checker, and what changed in words."""

    plan: SoundPlan
    brought_in: tuple[str, ...]
    words: tuple[str, ...]


def replan_shipment(order: ReplanOrder, reference: Reference) -> Replanned:
    """Return the plan after a change at the bench. Raises BadInput, CannotReplan or PlanDoesNotHold.

    The shipment file must be the one that the plan was made from.
    """
    shipment, sha256 = read_shipment(order.shipment, min(order.today, order.plan.made_from.today), reference)
    if sha256 != order.plan.made_from.shipment_sha256:
        place = Place(str(order.shipment), None)
        raise BadInput([Problem(place, sha256[:12], "the shipment file that the plan was made from")])
    stock = read_stock(order.ledger, reference, order.today)
    inputs = gather(shipment, sha256, stock, reference, order.today, order.plan.seed, Effort.QUICK)
    return replan_from(inputs, order.plan, order.change)


def read_plan_file(path: Path) -> Plan:
    """Return the plan in a file. Raises BadInput when it is none."""
    plan = read_plan(path)
    if isinstance(plan, tuple):
        raise BadInput(plan)
    return plan


def replan_from(inputs: Inputs, plan: Plan, change: BenchChange) -> Replanned:
    """Return the plan after a change, from inputs at hand: the way for a process that holds them."""
    change = _as_spelt(inputs, plan, change)
    try:
        repacked = repack(inputs, plan, change)
    except KeyError as missing:
        raise CannotReplan([f"the shipment does not have {missing.args[0]}, which the plan has"]) from missing
    if repacked.packed is None:
        raise CannotReplan(repacked.words)
    changed = sound(_plan(inputs, plan, change, repacked, repacked.packed), inputs.reference)
    return Replanned(changed, repacked.brought_in, repacked.words)


def _as_spelt(inputs: Inputs, plan: Plan, change: BenchChange) -> BenchChange:
    """Return the change with the names as plan and stock spell them: a wet thumb types rb-01 for RB-01."""
    bags = {name_key(bag.id): bag.id for bag in plan.bags}
    names = [one.piece for one in inputs.stock.pieces] + [one.piece for one in plan.chosen]
    pieces = {name_key(name): name for name in names}
    withdrawn = change.withdrawn.strip()
    wanted = None if change.wanted is None else change.wanted.strip()
    return BenchChange(
        frozenset(bags.get(name_key(bag), bag) for bag in change.packed),
        pieces.get(name_key(withdrawn), withdrawn),
        None if wanted is None else pieces.get(name_key(wanted), wanted),
    )


def _plan(inputs: Inputs, plan: Plan, change: BenchChange, repacked: Repacked, packed: Packed) -> Plan:
    ahead = foretold_again(inputs, plan, repacked.before.boxes, packed.loaded, packed.loads)
    received = receive(inputs, packed.loads, ahead.rows, _placing(inputs, plan, packed))
    missing = _missing(inputs, plan, change, packed)
    made = assemble(
        inputs,
        repacked.found,
        repacked.before.boxes,
        packed,
        ahead,
        missing,
        received,
        _calendar(inputs, plan, packed),
    )
    row = AtTheBench(
        on=inputs.today,
        ledger_version=inputs.stock.version,
        sealed=tuple(bag.id for bag in plan.bags if bag.id in change.packed),
        withdrawn=change.withdrawn,
        brought_in=repacked.brought_in,
        bags=tuple(load.id for load in packed.loads if load.id not in {bag.id for bag in plan.bags}),
        words=repacked.words,
        not_sent=next(one.bag for one in plan.chosen if one.piece == change.withdrawn),
    )
    offers = {
        "cost": cost_of(made.boxes, len(made.chosen), inputs.shipment.carrier),
        "no_cost": why_no_cost(made.boxes, inputs.shipment.carrier),
        "substitutes": ranked_substitutes(inputs, repacked.found, packed.loads),
    }
    told = {
        "shipment": plan.shipment,
        "made_from": plan.made_from,
        "changes": (*plan.changes, row),
        "chosen": tuple(_with_its_papers(one, plan) for one in made.chosen),
    }
    return made.model_copy(update=offers | told)


def _with_its_papers(one: Chosen, plan: Plan) -> Chosen:
    """Return a piece with the origin that the plan told of it, where the stock does not know it any more."""
    was = next((was for was in plan.chosen if was.piece == one.piece), one)
    kept = {name: getattr(was, name) for name in ("ancestor", "source", "permit")}
    return one.model_copy(update={name: was for name, was in kept.items() if getattr(one, name) is None})


def _placing(inputs: Inputs, plan: Plan, packed: Packed) -> Placing:
    """Return the places in the tank: those of the plan, and one for what is new, if there is one."""
    kept = {one.piece: one.at_mm for one in plan.tank.placement if one.at_mm is not None}
    return place_loads(inputs, packed.loads, 0.0, kept)


def _missing(inputs: Inputs, plan: Plan, change: BenchChange, packed: Packed) -> tuple[LeftOut, ...]:
    """Return the short lines: as the plan told them, and those that the withdrawn piece leaves short."""
    told = {one.request: one.reasons for one in plan.left_out}
    lines = [(one.id, one.rank, one.count) for one in inputs.shipment.request]
    lines += [(goods.name, goods.rank, 1) for goods in inputs.shipment.goods]
    hit = {one.request for one in plan.chosen} - _still(plan, packed)
    hit |= {one.request for one in plan.chosen if one.piece == change.withdrawn}
    rows = []
    for number, (id, rank, count) in enumerate(lines):
        sent = sum(max(1, len(load.parcel.candidates)) for load in packed.loads if load.parcel.line == number)
        if sent < count:
            reasons = (*([_withdrawn(change)] if id in hit else []), *told.get(id, ()))
            rows.append(
                LeftOut(request=id, rank=rank, wanted=count, sent=sent, reasons=reasons or (_no_room(),))
            )
    return tuple(rows)


def _still(plan: Plan, packed: Packed) -> set[str]:
    going = {one.piece for load in packed.loads for one in load.parcel.candidates}
    return {one.request for one in plan.chosen if one.piece in going}


def _withdrawn(change: BenchChange) -> Reason:
    return Reason(
        code="withdrawn",
        text=f"{change.withdrawn} was withdrawn at the bench and nothing that is ready took its place",
        would_fit_if="another piece of this line is ready and holds in the place that is left",
        piece=change.withdrawn,
    )


def _no_room() -> Reason:
    return Reason(
        code="no_room",
        text="it had to make room for what was changed at the bench",
        would_fit_if="the whole shipment is planned anew",
    )


def _calendar(inputs: Inputs, plan: Plan, packed: Packed) -> WorkBack:
    """Return the plan's tasks with packing, opening and looks told anew; what is gone is gone from all."""
    going = {one.piece for load in packed.loads for one in load.parcel.candidates}
    sender = ZoneInfo(inputs.shipment.sender.zone)
    head = plan.shipment
    setting = Setting(
        inputs.shipment, inputs.reference, inputs.today, head.sealed_from, head.departs, sender, {}
    )
    bags = bag_rows(packed.loads)
    kept = [_only(task, going) for task in plan.tasks if task.kind not in _SET_KINDS]
    first = next((task for task in plan.tasks if task.kind == "pack"), None)
    packing = packing_tasks(setting, bags, first.after if first else ())
    receiving = receiver_tasks(setting, bags)
    tasks = _joined([*(one for one in kept if one is not None), *packing, *receiving], packing)
    told = [one.text for one in plan.cautions if one.code == "calendar"]
    waits = plan.status is Status.WAIT and inputs.shipment.carrier.live_aquatics != "no"
    return WorkBack(tasks, tuple(told[:1]) if waits else (), None, tuple(told[1:] if waits else told))


def _only(task: Task, going: Iterable[str]) -> Task | None:
    """Return a task for the pieces that still go; None when it was for nothing else."""
    pieces = tuple(piece for piece in task.pieces if piece in going)
    if task.pieces and not pieces:
        return None
    return task.model_copy(update={"pieces": pieces})


def _joined(tasks: Sequence[Task], packing: Sequence[Task]) -> tuple[Task, ...]:
    """Return tasks that wait only for what there is; the handover waits for the last packing."""
    known = {task.id for task in tasks}
    joined = []
    for task in tasks:
        after = tuple(name for name in task.after if name in known)
        if task.kind == "handover" and packing:
            after = (packing[-1].id,)
        joined.append(task.model_copy(update={"after": after}))
    return tuple(sorted(joined, key=lambda task: (task.starts, task.id)))
