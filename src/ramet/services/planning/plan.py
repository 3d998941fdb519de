"""From frozen inputs to a plan: candidates, bag options, the joint choice, the journey, and back if thin."""

from collections.abc import Callable
from dataclasses import dataclass

from ramet.formats.plan import Plan
from ramet.services.calendar.work_back import work_back
from ramet.services.planning.assemble import assemble, bag_rows, chosen_pieces
from ramet.services.planning.bag_options import find_bag_options
from ramet.services.planning.boxing import ReadyBox, ready_boxes
from ramet.services.planning.candidates import find_candidates
from ramet.services.planning.expected_heat import equip
from ramet.services.planning.gather import Inputs
from ramet.services.planning.left_out import left_out
from ramet.services.planning.loads import Load
from ramet.services.planning.receiving_tank import receive
from ramet.services.planning.tank_room import tank_room
from ramet.services.planning.tighten import choose_until_it_holds

Stage = Callable[[str], None]


@dataclass(frozen=True, slots=True)
class Draft:
    """A plan with the boxes and loads behind it, for whoever asks what would change it."""

    plan: Plan
    boxes: tuple[ReadyBox, ...]
    loads: tuple[Load, ...]


def make_plan(inputs: Inputs, on_stage: Stage = lambda _: None) -> Plan:
    """Return the plan; the same inputs give the same plan, byte for byte."""
    return draft_plan(inputs, on_stage).plan


def draft_plan(inputs: Inputs, on_stage: Stage = lambda _: None) -> Draft:
    """Go through all stages once and return the plan with what stands behind it."""
    on_stage("holding the stock against the request lines")
    found = find_candidates(inputs)

    on_stage("choosing heat or cold packs for each box")
    boxes, heat = equip(inputs, found.candidates, ready_boxes(inputs))

    on_stage("judging the ways to bag each candidate")
    options = find_bag_options(inputs, found.candidates, heat)

    on_stage("choosing the set and packing the boxes")
    packed = choose_until_it_holds(inputs, found, options.parcels, boxes, tank_room(inputs), on_stage)

    on_stage("asking what holds back the lines left out")
    missing = left_out(inputs, found, options, packed)

    on_stage("holding the set against the receiving tank")
    received = receive(inputs, packed)

    on_stage("working the calendar back from the due time")
    calendar = work_back(
        chosen_pieces(inputs, packed.loads),
        bag_rows(packed.loads),
        inputs.shipment,
        inputs.reference,
        inputs.today,
        inputs.clock.sealed_from(len(packed.loads)),
        inputs.clock.departs,
        tanks={one.piece: one.stock.tank for one in found.candidates},
        seed=inputs.seed,
    )
    plan = assemble(inputs, found, boxes, packed, missing, received, calendar)
    return Draft(plan, boxes, packed.loads)
