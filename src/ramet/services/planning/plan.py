"""From frozen inputs to a plan: candidates, bag options, the joint choice, the journey, and back if thin."""

from collections.abc import Callable

from ramet.formats.plan import Plan
from ramet.services.calendar.work_back import work_back
from ramet.services.planning.assemble import assemble, bag_rows, chosen_pieces
from ramet.services.planning.bag_options import find_bag_options
from ramet.services.planning.boxing import ready_boxes
from ramet.services.planning.candidates import find_candidates
from ramet.services.planning.expected_heat import equip
from ramet.services.planning.gather import Inputs
from ramet.services.planning.left_out import left_out
from ramet.services.planning.receiving_tank import receive
from ramet.services.planning.tank_room import tank_room
from ramet.services.planning.tighten import choose_until_it_holds

Stage = Callable[[str], None]


def make_plan(inputs: Inputs, on_stage: Stage = lambda _: None) -> Plan:
    """Return the plan; the same inputs give the same plan, byte for byte."""
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
    return assemble(inputs, found, boxes, packed, missing, received, calendar)
