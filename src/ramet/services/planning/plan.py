"""From frozen inputs to a plan: candidates, bag options, the joint choice, the journey, and back if thin."""

from collections.abc import Sequence

from ramet.formats.plan import Plan
from ramet.services.calendar.work_back import WorkBack, work_back
from ramet.services.planning.assemble import assemble, bag_rows, chosen_pieces
from ramet.services.planning.bag_options import Parcel, find_bag_options
from ramet.services.planning.boxing import ready_boxes
from ramet.services.planning.candidates import Candidates, find_candidates
from ramet.services.planning.cost import cost_of, why_no_cost
from ramet.services.planning.expected_heat import equip
from ramet.services.planning.foretold import foretold
from ramet.services.planning.gather import Inputs
from ramet.services.planning.left_out import left_out
from ramet.services.planning.listening import Listener
from ramet.services.planning.other_ways import other_ways
from ramet.services.planning.receiving_tank import receive
from ramet.services.planning.spares import ranked_substitutes
from ramet.services.planning.standing import choose_what_stands
from ramet.services.planning.tank_room import tank_room
from ramet.services.planning.tighten import Packed, choose_until_it_holds


def make_plan(inputs: Inputs, listener: Listener | None = None) -> Plan:
    """Return the plan; the same inputs give the same plan, byte for byte, unless the listener stops it."""
    listener = listener or Listener()
    listener.enter("holding the stock against the request lines")
    found = find_candidates(inputs)

    listener.enter("choosing heat or cold packs for each box")
    boxes, heat = equip(inputs, found.candidates, ready_boxes(inputs))

    listener.enter("judging the ways to bag each candidate")
    options = find_bag_options(inputs, found.candidates, heat)

    listener.enter("choosing the set and packing the boxes")
    room = tank_room(inputs, found.candidates)

    def chosen(parcels: Sequence[Parcel]) -> Packed:
        return choose_until_it_holds(inputs, found, parcels, boxes, room, listener)

    packed, placing = choose_what_stands(inputs, options.parcels, chosen, listener.enter)

    listener.enter("asking what holds back the lines left out")
    rest = listener.hurried(inputs)
    missing = left_out(rest, found, options, packed, (boxes, heat), listener.should_stop)

    listener.enter("asking what other boxes or a second day would carry")
    ways = other_ways(rest, packed, listener.should_stop)

    listener.enter("holding the set against the receiving tank")
    ahead = foretold(inputs, boxes, packed.loaded)
    received = receive(rest, packed.loads, ahead.rows, placing)

    listener.enter("working the calendar back from the due time")
    calendar = _calendar(inputs, found, packed)
    plan = assemble(inputs, found, boxes, packed, ahead, missing, received, calendar)
    offers = {
        "cost": cost_of(plan.boxes, len(plan.chosen), inputs.shipment.carrier),
        "no_cost": why_no_cost(plan.boxes, inputs.shipment.carrier),
        "other_ways": ways,
        "substitutes": ranked_substitutes(inputs, found, packed.loads),
    }
    return plan.model_copy(update=offers)


def _calendar(inputs: Inputs, found: Candidates, packed: Packed) -> WorkBack:
    return work_back(
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
