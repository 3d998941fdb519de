"""Goods that may not go: they come from held water, or stood in it."""

from ramet.domain.piece import ThingHold, name_key
from ramet.formats.shipment import Goods
from ramet.services.planning.candidates import Refusal
from ramet.services.planning.gather import Inputs


def held_goods(inputs: Inputs) -> dict[int, Refusal]:
    """Return for each of the shipment's goods that is held why, by its place in the shipment."""
    first = len(inputs.shipment.request)
    found: dict[int, Refusal] = {}
    for number, goods in enumerate(inputs.shipment.goods):
        hold = _hold_on(goods, inputs)
        if hold is not None:
            pest = inputs.reference.pests[hold.pest].words
            where = f"the water of “{hold.system}”" if hold.goods is None else "water that it stood in"
            text = f"{goods.name} is held: {pest} in {where} since {hold.since.isoformat()}"
            found[number] = Refusal(first + number, None, "held", text, hold.ends)
    return found


def _hold_on(goods: Goods, inputs: Inputs) -> ThingHold | None:
    system = None if goods.system is None else name_key(goods.system)
    for hold in inputs.stock.things:
        named = hold.goods is not None and name_key(hold.goods) == name_key(goods.name)
        if named or (hold.goods is None and name_key(hold.system) == system):
            return hold
    return None
