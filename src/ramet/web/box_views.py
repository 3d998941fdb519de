"""What the page of the boxes shows: drawings by layer, and bodies for the turning view."""

from dataclasses import dataclass

from markupsafe import Markup

from ramet.domain.words import Stance
from ramet.formats.plan import Bag, Box, Plan
from ramet.papers.boxes import box_svg
from ramet.papers.facts_of import guard_of, pieces_of
from ramet.papers.layers import layers_of
from ramet.papers.words import CLASS
from ramet.web.charts import as_json


@dataclass(frozen=True, slots=True)
class BagLine:
    """A bag of a box as its table tells it."""

    bag: Bag
    contents: str
    guard: str


@dataclass(frozen=True, slots=True)
class LayerView:
    """A layer from above: its drawing and where it lies."""

    number: int
    from_mm: int
    to_mm: int
    svg: Markup
    board: bool


@dataclass(frozen=True, slots=True)
class BoxView:
    """One box: its layers, the drawing of it lifted apart, its bags, and its bodies as JSON."""

    box: Box
    layers: tuple[LayerView, ...]
    lifted: Markup
    bags: tuple[BagLine, ...]
    bodies: Markup


def box_view(plan: Plan, box: Box) -> BoxView:
    """Return a box of a plan as its page shows it."""
    bags = sorted((bag for bag in plan.bags if bag.box == box.id), key=lambda bag: bag.sealing_order)
    return BoxView(
        box=box,
        layers=tuple(
            LayerView(
                layer.number,
                layer.from_mm,
                layer.to_mm,
                Markup(box_svg(plan, box.id, layer=layer.number)),
                layer.board is not None,
            )
            for layer in layers_of(plan, box)
        ),
        lifted=Markup(box_svg(plan, box.id, view="lifted")),
        bags=tuple(_line(plan, bag) for bag in bags),
        bodies=as_json(_bodies(plan, box, bags)),
    )


def _line(plan: Plan, bag: Bag) -> BagLine:
    guard = guard_of(plan, bag)
    names = [f"{one.piece} ({one.strain})" for one in pieces_of(plan, bag)]
    return BagLine(bag, bag.goods or ", ".join(names), f"{guard.word}: {guard.wear}" if guard else "")


def _bodies(plan: Plan, box: Box, bags: list[Bag]) -> dict[str, object]:
    """Bodies in mm from an inner corner, z up: what the turning view is built from."""
    layers = {bag.id: layer.number for layer in layers_of(plan, box) for bag in layer.bags}
    return {
        "inner": box.inner_mm,
        "wall": box.wall_mm,
        "bags": [
            {
                "id": bag.id,
                "kind": CLASS[bag.bag_class],
                "stands": bag.stance is Stance.STANDS,
                "at": bag.at_mm,
                "size": bag.size_mm,
                "water": bag.water_l / max(bag.water_l + bag.gas_l, 1e-9),
                "layer": layers.get(bag.id, 1),
            }
            for bag in bags
        ],
        "packs": [
            {"kind": pack.kind.replace("_", " "), "at": pack.at_mm, "size": pack.size_mm}
            for pack in box.packs
        ],
        "boards": [{"at": pad.at_mm, "size": pad.size_mm} for pad in box.pads if pad.kind == "board"],
    }
