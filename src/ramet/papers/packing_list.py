"""The sheet for each box: its drawings, and every bag in the order in which it is sealed."""

from collections.abc import Sequence
from math import prod
from typing import Any

from ramet.domain.words import How, Stance
from ramet.formats.plan import Bag, Box, Pack, Plan, Substitute
from ramet.papers import words
from ramet.papers.boxes import box_svg
from ramet.papers.facts_of import guard_of, has_paper_between, pieces_of
from ramet.papers.layers import Layer, layers_of
from ramet.papers.marks import class_mark, standalone

Context = dict[str, Any]


def packing_list_context(plan: Plan) -> list[Context]:
    """Return one context for each box that holds something."""
    return [_box(plan, box) for box in plan.boxes if box.bags]


def mark_of(bag: Bag) -> str:
    """Return the class mark of a bag as an SVG of its own."""
    return standalone(class_mark(bag.bag_class), words.CLASS[bag.bag_class])


def contents(plan: Plan, bag: Bag) -> list[Context]:
    """Return what is in a bag, a line for each strain with its pieces, or for the goods."""
    strains: dict[tuple[str, str], list[str]] = {}
    for one in pieces_of(plan, bag):
        strains.setdefault((one.strain, one.taxon), []).append(one.piece)
    lines = [
        {"pieces": ", ".join(pieces), "strain": strain, "taxon": taxon}
        for (strain, taxon), pieces in strains.items()
    ]
    if bag.goods:
        lines.append({"pieces": "goods", "strain": bag.goods, "taxon": ""})
    return lines


def guard_words(plan: Plan, bag: Bag) -> str:
    """Return what to wear for a bag, or nothing."""
    guard = guard_of(plan, bag)
    return "" if guard is None else f"{guard.word}: {guard.wear}"


def _box(plan: Plan, box: Box) -> Context:
    layers = layers_of(plan, box)
    numbers = {bag.id: layer.number for layer in layers for bag in layer.bags}
    bags = sorted((bag for bag in plan.bags if bag.box == box.id), key=lambda bag: bag.sealing_order)
    return {
        "id": box.id,
        "name": words.box_name(box.id),
        "title": words.sentence(words.box_name(box.id)).removesuffix("."),
        "facts": [
            {"label": "type", "value": words.plain(box.type)},
            {"label": "inside", "value": words.millimetres(box.inner_mm)},
            {"label": "outside", "value": words.millimetres(box.outer_mm)},
            {
                "label": "mass",
                "value": f"{words.kilograms(box.mass_kg)} of at most {words.kilograms(box.max_kg)}",
            },
            {"label": "billed", "value": words.kilograms(box.billed_kg)},
        ],
        "lifted": box_svg(plan, box.id, view="lifted"),
        "layers": [_layer(plan, box, layer, len(layers)) for layer in layers],
        "packs": _packs(box),
        "fills": _fills(box),
        "spares": _spares(plan, bags),
        "without_spares": _without_spares(plan, bags),
        "bags": [_bag(plan, bag, numbers[bag.id]) for bag in bags],
    }


def _layer(plan: Plan, box: Box, layer: Layer, count: int) -> Context:
    name = "The only layer" if count == 1 else f"Layer {layer.number} of {count}"
    floor = f"on a board at {layer.from_mm} mm" if layer.board else f"from {layer.from_mm} mm up"
    return {
        "name": name,
        "floor": floor if layer.number > 1 else "on the floor",
        "svg": box_svg(plan, box.id, layer=layer.number),
    }


def _packs(box: Box) -> list[Context]:
    """Packs of one kind for one reason are told once, with all their corners."""
    groups: dict[tuple[str, bool, int, str], list[Pack]] = {}
    for pack in box.packs:
        groups.setdefault((pack.kind, pack.outside_liner, pack.air_gap_mm, pack.reason), []).append(pack)
    return [
        {
            "kind": f"{len(packs)} × {words.plain(kind)}:",
            "where": ("outside the liner" if outside else "inside the liner")
            + (", corner at " if len(packs) == 1 else ", corners at ")
            + " and ".join(_at(pack.at_mm) for pack in packs),
            "keep": f"{air_gap_mm} mm clear of every bag" if air_gap_mm else "touching no bag",
            "reason": words.sentence(reason),
        }
        for (kind, outside, air_gap_mm, reason), packs in groups.items()
    ]


def _fills(box: Box) -> str:
    """Name the places to fill, so that nothing shifts."""
    fills = [pad for pad in box.pads if pad.kind == "fill"]
    listed = [f"{words.millimetres(pad.size_mm)}, corner at {_at(pad.at_mm)}" for pad in fills]
    voids_l = sum(prod(pad.size_mm) * 1e-6 for pad in box.pads if pad.kind == "void")
    if voids_l:
        listed.append(f"paper in the gaps as drawn (waves), about {words.litres(voids_l)}: nothing may shift")
    return "; ".join(listed)


def _spares(plan: Plan, bags: Sequence[Bag]) -> list[Context]:
    """Return what can take a rejected piece's place: a row for all bags of which the same is true."""
    lines = {one.bag: one.request for one in plan.chosen}
    known = {line.request: line for line in plan.substitutes}
    rows: dict[tuple[str, str, str], list[str]] = {}
    for bag in bags:
        line = known.get(lines.get(bag.id, ""))
        if line is not None and line.ranked:
            fitting = [_spare(one) for one in line.ranked if bag.id in one.bags]
            others = [_spare(one) for one in line.ranked if bag.id not in one.bags]
            told = (line.request, ", ".join(fitting), ", ".join(others))
            rows.setdefault(told, []).append(bag.id)
    return [
        {"bags": ", ".join(ids), "line": line, "fitting": fitting or "–", "others": others or "–"}
        for (line, fitting, others), ids in rows.items()
    ]


def _without_spares(plan: Plan, bags: Sequence[Bag]) -> str:
    """Tell of which lines in a box nothing is left that could take a place; nothing where there are none."""
    here = {bag.id for bag in bags}
    bare = {line.request for line in plan.substitutes if not line.ranked}
    listed = dict.fromkeys(one.request for one in plan.chosen if one.bag in here and one.request in bare)
    if not listed:
        return ""
    return f"Nothing else in stock answers to {', '.join(listed)}: look after what goes."


def _spare(one: Substitute) -> str:
    return f"{one.piece} (to be cut)" if one.how is How.CUT else one.piece


def _at(at_mm: tuple[int, ...]) -> str:
    return " / ".join(str(side) for side in at_mm) + " mm"


def _bag(plan: Plan, bag: Bag, layer: int) -> Context:
    return {
        "seal": str(bag.sealing_order),
        "id": bag.id,
        "mark": mark_of(bag),
        "class": words.CLASS[bag.bag_class],
        "contents": contents(plan, bag),
        "type": words.plain(bag.type),
        "water": words.filling(bag, bag.water_l),
        "gas": f"{words.filling(bag, bag.gas_l)} {words.GAS[bag.gas]}",
        "sharing": words.sharing(bag),
        "layers": _layers_words(plan, bag),
        "mass": f"{words.number(bag.mass_kg, 2)} kg",
        "place": f"{'stands' if bag.stance is Stance.STANDS else 'lies flat'}, layer {layer}",
        "at": _at(bag.at_mm),
        "guard": guard_words(plan, bag),
    }


def _layers_words(plan: Plan, bag: Bag) -> str:
    if bag.layers == 1:
        return "single"
    return f"{bag.layers} layers" + (", paper between" if has_paper_between(plan, bag) else "")
