"""The pieces of a plan as the ledger takes them: born when they were cut for it, sent when they left."""

from collections.abc import Iterable, Mapping
from datetime import datetime

from ramet.domain.events import Entry, Kind, PieceState, Standing
from ramet.domain.piece import Piece, name_key
from ramet.domain.shipment_key import shipment_key
from ramet.formats.plan import Bag, Chosen, Plan
from ramet.ledger.fold import piece_payload

States = Mapping[str, PieceState]


def key_of(plan: Plan) -> str:
    """Return the name under which the ledger keeps what belongs to a plan's shipment."""
    return shipment_key(plan.shipment.name, plan.shipment.due)


def bag_of(plan: Plan, bag_id: str) -> Bag | None:
    """Return a bag of a plan by its id, without regard to case."""
    return next((bag for bag in plan.bags if bag.id.casefold() == bag_id.strip().casefold()), None)


def births(plan: Plan, pieces: Iterable[str], states: States) -> list[Entry]:
    """Return the cuts of pieces that the plan wanted cut and the ledger has not seen yet.

    Whoever holds such a piece in hand has cut it. A mother that the ledger does not know gives no birth.
    """
    chosen = {name_key(one.piece): one for one in plan.chosen}
    wanted = (chosen[key] for key in map(name_key, pieces) if key in chosen and key not in states)
    found = ((one, states.get(name_key(one.mother or ""))) for one in wanted)
    return [_birth(plan, one, mother) for one, mother in found if mother is not None]


def departures(
    plan: Plan | None, key: str, pieces: Iterable[str], states: States, at: datetime
) -> list[Entry]:
    """Return a sending for each piece that is still in stock; with what its packing and route were."""
    born = {name_key(one.piece) for one in plan.chosen} if plan else set()
    listed = []
    for piece in pieces:
        state = states.get(name_key(piece))
        if name_key(piece) in born if state is None else state.standing is Standing.ALIVE:
            listed.append(Entry(Kind.SENT, at, {"shipment": key} | travel(plan, piece), piece))
    return listed


def travel(plan: Plan | None, piece: str) -> dict[str, object]:
    """Return how a piece travels, in values that later results can be grouped by."""
    bag = None if plan is None else next((bag for bag in plan.bags if piece in bag.pieces), None)
    if plan is None or bag is None:
        return {}
    head = plan.shipment
    forecast = next((one for one in plan.forecast.bags if one.id == bag.id), None)
    said: dict[str, object] = {
        "to": head.receiver,
        "bag": bag.id,
        "bag_class": bag.bag_class.value,
        "bag_type": bag.type,
        "stance": bag.stance.value,
        "gas": bag.gas.value,
        "water_l": bag.water_l,
        "gas_l": bag.gas_l,
        "route": [leg.surroundings for leg in plan.forecast.legs],
        "route_h": round((head.due - head.departs).total_seconds() / 3600, 2),
    }
    if forecast is not None:
        said |= {"hold_p05_h": forecast.hold_h.p05, "margin_h": forecast.margin_h}
    return said


def _birth(plan: Plan, one: Chosen, mother: PieceState) -> Entry:
    length_mm, width_mm, height_mm = one.size_mm
    cut = next((task for task in plan.tasks if task.kind == "cut" and one.piece in task.pieces), None)
    at = plan.shipment.sealed_from if cut is None else cut.starts
    piece = Piece(
        piece=one.piece,
        strain=one.strain,
        taxon=one.taxon,
        form=one.form,
        system=mother.piece.system,
        tank=mother.piece.tank,
        length_mm=length_mm,
        width_mm=width_mm,
        height_mm=height_mm,
        parent=mother.piece.piece,
        cut_on=at.date(),
        source=one.source,
        permit=one.permit,
        par=mother.piece.par,
    )
    return Entry(Kind.CUT, at, piece_payload(piece), one.piece)
