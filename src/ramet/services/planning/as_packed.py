"""A plan read back as the planner's own values: boxes, bags as parcels, the packing for the solver."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from ramet.domain.piece import Piece
from ramet.formats.plan import Bag, Box, Chosen, Plan
from ramet.optimise.goals import Packing
from ramet.optimise.problem import Board, Placed
from ramet.services.planning.bag_options import Judged, Parcel, coral_parcel, goods_parcel
from ramet.services.planning.bagging import Way
from ramet.services.planning.boxing import ReadyBox, ready_boxes, with_packs
from ramet.services.planning.candidates import Candidate, whole_candidate
from ramet.services.planning.gather import Inputs
from ramet.services.planning.loads import Load


@dataclass(frozen=True, slots=True)
class AsPacked:
    """What a plan packed. `loads` and `parcels` come in the order of the plan's bags."""

    boxes: tuple[ReadyBox, ...]
    parcels: tuple[Parcel, ...]
    loads: tuple[Load, ...]

    def packing(self, plan: Plan) -> Packing:
        """Return the packing as the solver knows it; item numbers are places in `parcels`."""
        names = [box.id for box in self.boxes]
        placed = tuple(
            Placed(item, 0, names.index(load.box), load.at_mm, load.size_mm)
            for item, load in enumerate(self.loads)
        )
        return Packing(placed, tuple(_boards(plan, names)))


def as_packed(inputs: Inputs, plan: Plan) -> AsPacked:
    """Read a plan back: its bags as parcels with the one way in which they were planned, each in its box.

    A bag's margin is that of the plan's forecast. Raises KeyError when the plan has a box, a line or goods
    that its shipment does not have.
    """
    rows = {box.id: box for box in plan.boxes}
    boxes = tuple(_with_its_packs(inputs, box, rows.get(box.id)) for box in ready_boxes(inputs))
    names = [box.id for box in boxes]
    margins = {one.id: one.margin_h for one in plan.forecast.bags}
    told = {bag.id: bag.sealed_before_h for bag in plan.journey.bags} if plan.journey else {}
    chosen = {one.piece: one for one in plan.chosen}
    parcels, loads = [], []
    for bag in plan.bags:
        judged = Judged(_way(inputs, bag), margins[bag.id], frozenset({names.index(bag.box)}))
        parcel = replace(_parcel(inputs, bag, chosen), ways=(judged,))
        parcels.append(parcel)
        loads.append(_load(bag, parcel, judged, told[bag.id]))
    return AsPacked(boxes, tuple(parcels), tuple(loads))


def _with_its_packs(inputs: Inputs, box: ReadyBox, row: Box | None) -> ReadyBox:
    if row is not None and row.type != box.type.id:
        raise KeyError(row.type)
    if row is None or not row.packs:
        return box
    types = [inputs.reference.packs[pack.kind] for pack in row.packs]
    packed = with_packs(box, types, row.packs[0].reason)
    if packed is None:
        raise KeyError(box.id)
    return packed


def _way(inputs: Inputs, bag: Bag) -> Way:
    length, width = sorted(bag.size_mm[:2], reverse=True)
    return Way(
        type=inputs.reference.bags[bag.type],
        stance=bag.stance,
        layers=bag.layers,
        water_l=bag.water_l,
        gas_l=bag.gas_l,
        gas=bag.gas,
        size_mm=(length, width, bag.size_mm[2]),
        mass_g=round(bag.mass_kg * 1000),
    )


def _parcel(inputs: Inputs, bag: Bag, chosen: Mapping[str, Chosen]) -> Parcel:
    if bag.goods is not None:
        goods = {one.name: number for number, one in enumerate(inputs.shipment.goods)}
        return goods_parcel(inputs, goods[bag.goods])
    return coral_parcel(inputs, tuple(_candidate(inputs, chosen[piece]) for piece in bag.pieces))


def _candidate(inputs: Inputs, one: Chosen) -> Candidate:
    """Return a chosen piece as a candidate, whatever the ledger says of it by now, even that it is lost."""
    pieces = {piece.piece.casefold(): piece for piece in inputs.stock.pieces}
    lines = {request.id: number for number, request in enumerate(inputs.shipment.request)}
    length, width, height = one.size_mm
    gone = Piece(one.piece, one.strain, one.taxon, one.form, "", "", length, width, height)
    known = pieces.get((one.mother or one.piece).casefold(), gone)
    whole = whole_candidate(inputs, lines[one.request], known)
    return replace(
        whole, piece=one.piece, size_mm=one.size_mm, how=one.how, ready_on=one.ready_on, mother=one.mother
    )


def _load(bag: Bag, parcel: Parcel, judged: Judged, sealed_before_h: float) -> Load:
    return Load(
        id=bag.id,
        parcel=parcel,
        judged=judged,
        box=bag.box,
        at_mm=bag.at_mm,
        size_mm=bag.size_mm,
        sealing_order=bag.sealing_order,
        sealed_before_h=sealed_before_h,
        opening_order=bag.opening_order,
    )


def _boards(plan: Plan, names: list[str]) -> Iterator[Board]:
    for box in plan.boxes:
        for pad in box.pads:
            if pad.kind == "board":
                x, y, z = pad.at_mm
                length, width, _ = pad.size_mm
                whole = (x, y, length, width) == (0, 0, *box.inner_mm[:2])
                yield Board(names.index(box.id), z, None if whole else (x, y, length, width))
