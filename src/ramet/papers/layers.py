"""Which bodies of a box lie in which layer, counted from below."""

from dataclasses import dataclass

from ramet.formats.plan import Bag, Box, Pack, Pad, Plan


@dataclass(frozen=True, slots=True)
class Layer:
    """One layer of a box. `from_mm` is the height of its floor; packs above or beside it are told apart."""

    number: int
    from_mm: int
    to_mm: int
    bags: tuple[Bag, ...]
    packs: tuple[Pack, ...]
    fills: tuple[Pad, ...]
    board: Pad | None
    voids: tuple[Pad, ...] = ()


def layers_of(plan: Plan, box: Box) -> tuple[Layer, ...]:
    """Return the layers of a box, lowest first; a box without bags has one empty layer."""
    bags = sorted((bag for bag in plan.bags if bag.box == box.id), key=lambda bag: (bag.at_mm[2], bag.id))
    floors = _floors(bags)
    ceilings = [*floors[1:], max(box.inner_mm[2], floors[-1] + 1)]
    return tuple(
        _layer(number, floor, ceiling, bags, box)
        for number, (floor, ceiling) in enumerate(zip(floors, ceilings, strict=True), start=1)
    )


def above_all(layer: Layer, pack: Pack) -> bool:
    """Tell whether a pack lies over the bags of a layer rather than beside them."""
    tops = [bag.at_mm[2] + bag.size_mm[2] for bag in layer.bags]
    return bool(tops) and pack.at_mm[2] >= max(tops)


def _floors(bags: list[Bag]) -> list[int]:
    """A new layer begins where a bag rests at or above the lowest top of the layer so far."""
    floors: list[int] = [bags[0].at_mm[2] if bags else 0]
    lowest_top: int | None = None
    for bag in bags:
        if lowest_top is not None and bag.at_mm[2] >= lowest_top:
            floors.append(bag.at_mm[2])
            lowest_top = None
        top = bag.at_mm[2] + bag.size_mm[2]
        lowest_top = top if lowest_top is None else min(lowest_top, top)
    return floors


def _layer(number: int, floor: int, ceiling: int, bags: list[Bag], box: Box) -> Layer:
    def here(low: int, height: int) -> bool:
        return low < ceiling and low + height > floor

    boards = [
        pad
        for pad in box.pads
        if pad.kind == "board" and number > 1 and abs(pad.at_mm[2] + pad.size_mm[2] - floor) <= 15
    ]
    return Layer(
        number=number,
        from_mm=floor,
        to_mm=ceiling,
        bags=tuple(bag for bag in bags if floor <= bag.at_mm[2] < ceiling),
        packs=tuple(pack for pack in box.packs if here(pack.at_mm[2], pack.size_mm[2])),
        fills=tuple(pad for pad in box.pads if pad.kind == "fill" and here(pad.at_mm[2], pad.size_mm[2])),
        board=boards[0] if boards else None,
        voids=tuple(pad for pad in box.pads if pad.kind == "void" and floor <= pad.at_mm[2] < ceiling),
    )
