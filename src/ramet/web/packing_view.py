"""What the packing page shows, made from the plan, the stock and the packing so far."""

from collections import Counter, defaultdict
from collections.abc import Mapping
from typing import Any

from ramet.domain.piece import Hold, Piece, name_key
from ramet.domain.words import Stance
from ramet.formats.plan import Bag, Chosen, Plan
from ramet.papers import words
from ramet.papers.boxes import box_svg
from ramet.papers.facts_of import by_margin, guard_of, has_paper_between, pieces_of
from ramet.papers.lay_out import legs
from ramet.papers.layers import layers_of
from ramet.papers.marks import class_mark, standalone
from ramet.services.pack_off import Packing
from ramet.web.formatting import Wording

Context = dict[str, Any]


def lay_out_items(plan: Plan, say: Wording) -> list[Context]:
    """Return what must lie on the bench, each with a name that stays the same for the same plan."""
    boxes = [box for box in plan.boxes if box.bags]
    listed = [*_bag_items(plan, say), *_water_items(plan, say), *_gas_items(plan, say)]
    for kind, count in sorted(Counter(box.type for box in boxes).items()):
        listed.append(_item(f"box {kind}", say.count(count, "box", "boxes"), say.words(kind)))
    for kind, count in sorted(Counter(pack.kind for box in boxes for pack in box.packs).items()):
        listed.append(_item(f"pack {kind}", say.count(count, "pack"), say.words(kind)))
    boards = Counter(pad.size_mm for box in boxes for pad in box.pads if pad.kind == "board")
    for size, count in sorted(boards.items()):
        listed.append(_item(f"board {size}", say.count(count, "board"), say.sizes(size)))
    if fills := sum(pad.kind == "fill" for box in boxes for pad in box.pads):
        listed.append(
            _item("fill", "paper or foam", f"for {say.count(fills, 'place')} so that nothing shifts")
        )
    closures = sum(words.closures(bag) for bag in plan.bags)
    listed.append(
        _item("bands", say.count(closures, "band"), "or clips, one for each layer and pocket of each bag")
    )
    listed.append(_item("liners", say.count(len(boxes), "liner"), "leak-tight, one a box"))
    litres = ", ".join(f"{say.size('volume', _water_l(plan, box.id))} in box {box.id}" for box in boxes)
    listed.append(_item("absorbent", "absorbent", f"enough in each box for all its water: {litres}"))
    listed.append(
        _item("labels", say.count(len(plan.bags), "label"), "cut from the packet, in sealing order")
    )
    return listed


def checks(plan: Plan, say: Wording, holds: tuple[Hold, ...] | None) -> list[Context]:
    """Return the go / no-go checks; that of holds with what the ledger says, unless it was not asked."""
    head = plan.shipment
    held = {name_key(one.piece) for one in holds or ()}
    ours = [one.piece for one in plan.chosen if {name_key(one.piece), name_key(one.mother or "")} & held]
    says = f"Held now: {', '.join(ours)}." if ours else "The ledger holds none of them now."
    says = "" if holds is None else says
    there = say.moment(head.arrives, head.receiver_zone)
    listed = [
        ("pieces", "Every piece is closed over its cut, firm on its mount, and opens as usual", ""),
        ("holds", "Nothing new was found at the last look; no piece is held", says),
        ("weather", "The morning's forecast lies within the range planned for, leg by leg", ""),
        ("tank", f"{head.receiver} has tested the tank: no ammonia, steady temperature", ""),
        ("there", f"Somebody is there to receive the boxes, {there}", ""),
        ("carrier", "The carrier takes live aquatic animals, and the packs if there are any", ""),
        ("laid_out", "All that is listed lies on the bench", ""),
    ]
    return [
        {"key": key, "text": text, "says": said, "against": key == "holds" and bool(ours)}
        for key, text, said in listed
    ]


def planned_legs(plan: Plan) -> list[Context]:
    """Return the legs with the range of surroundings that was planned for."""
    return legs(plan)


def thinnest(plan: Plan, say: Wording) -> str:
    """Return the line on the bag that has least time."""
    if not plan.forecast.bags:
        return ""
    bag = by_margin(plan)[0]
    margin = words.margin(bag.margin_h, bag.hold_h, plan.horizon_h)
    return f"Bag {bag.id} has least time: margin {margin} on time. Seal it no earlier than planned."


def bag_rows(plan: Plan, packing: Packing, say: Wording) -> list[Context]:
    """Return all bags in sealing order with what is in them and whether they are sealed."""
    rows = []
    for bag in sorted(plan.bags, key=lambda bag: bag.sealing_order):
        sealed = packing.sealed.get(bag.id)
        rows.append(
            {
                "id": bag.id,
                "order": bag.sealing_order,
                "box": bag.box,
                "mark": _mark(bag),
                "class": words.CLASS[bag.bag_class],
                "contents": ", ".join(bag.pieces) or bag.goods or "",
                "sealed": "" if sealed is None else say.clock(sealed.at, plan.shipment.sender_zone),
                "photo": None if sealed is None else sealed.photo,
            }
        )
    return rows


def bag_view(plan: Plan, bag: Bag, packing: Packing, stock: Mapping[str, Piece], say: Wording) -> Context:
    """Return one bag as it is packed: what goes in, from where, how much water and gas, where it lies."""
    guard = guard_of(plan, bag)
    sealed = packing.sealed.get(bag.id)
    box = next(box for box in plan.boxes if box.id == bag.box)
    layers = layers_of(plan, box)
    layer = next(layer for layer in layers if bag.id in {one.id for one in layer.bags})
    drawing = box_svg(plan, box.id, layer=layer.number)
    number = say.number(bag.film_um, 0)
    return {
        "id": bag.id,
        "order": bag.sealing_order,
        "of": len(plan.bags),
        "box": bag.box,
        "mark": _mark(bag),
        "class": words.CLASS[bag.bag_class],
        "guard": "" if guard is None else f"{guard.word}: {guard.wear}",
        "pieces": [_piece_view(one, stock) for one in pieces_of(plan, bag)],
        "goods": bag.goods,
        "type": say.words(bag.type),
        "film": f"{number} µm, {_layers_words(plan, bag)}",
        "water": _filling(bag, bag.water_l, say),
        "gas": words.GAS[bag.gas],
        "gas_volume": _filling(bag, bag.gas_l, say),
        "sharing": words.sharing(bag),
        "oxygen": bag.gas.value == "oxygen",
        "mass": say.size("mass", bag.mass_kg),
        "stance": "stands upright" if bag.stance is Stance.STANDS else "lies flat",
        "layer": layer.number if len(layers) > 1 else None,
        "layers": len(layers),
        "drawing": drawing.replace(f'data-bag="{bag.id}"', f'data-bag="{bag.id}" class="this-bag"'),
        "sealed": None if sealed is None else say.moment(sealed.at, plan.shipment.sender_zone),
        "sealed_by": None if sealed is None else sealed.by,
        "photo": None if sealed is None else sealed.photo,
    }


def _filling(bag: Bag, litres: float, say: Wording) -> str:
    """Return what goes into a bag, for a divided one what goes into each of its pockets."""
    each = say.size("volume", litres / bag.compartments)
    return each if bag.compartments == 1 else f"{bag.compartments} × {each}"


def _piece_view(one: Chosen, stock: Mapping[str, Piece]) -> Context:
    """A piece with where it stands now; one not entered since its cut stands by its mother, if anywhere."""
    found, parent = stock.get(name_key(one.piece)), stock.get(name_key(one.mother or ""))
    if found is not None:
        where = " · ".join(part for part in (found.system, found.tank, found.spot) if part)
    elif parent is not None:
        where = f"cut from {parent.piece} in {parent.system} · {parent.tank}"
    else:
        where = "not in stock now"
    return {"piece": one.piece, "strain": one.strain, "taxon": one.taxon, "where": where}


def _bag_items(plan: Plan, say: Wording) -> list[Context]:
    kinds: dict[tuple[str, float, int], list[Bag]] = defaultdict(list)
    for bag in plan.bags:
        kinds[bag.type, bag.film_um, bag.layers].append(bag)
    return [
        _item(
            f"bags {kind} {layers}",
            say.count(len(bags) * layers, "bag"),
            f"{say.words(kind)}, {say.number(film_um, 0)} µm"
            + ("" if layers == 1 else f", {layers} for each")
            + f": {', '.join(bag.id for bag in bags)}",
        )
        for (kind, film_um, layers), bags in sorted(kinds.items())
    ]


def _water_items(plan: Plan, say: Wording) -> list[Context]:
    total = say.size("volume", sum(bag.water_l for bag in plan.bags))
    return [
        _item("water", total, "of clean seawater, matched to the tank the pieces stand in, and some to spare")
    ]


def _gas_items(plan: Plan, say: Wording) -> list[Context]:
    volumes: dict[str, float] = defaultdict(float)
    for bag in plan.bags:
        volumes[words.GAS[bag.gas]] += bag.gas_l
    return [
        _item(
            f"gas {gas}",
            say.size("volume", volume),
            "of oxygen, cylinder secured" if gas == "oxygen" else "of air",
        )
        for gas, volume in sorted(volumes.items())
    ]


def _item(key: str, count: str, detail: str) -> Context:
    return {"key": key, "count": count, "detail": detail}


def _water_l(plan: Plan, box_id: str) -> float:
    return sum(bag.water_l for bag in plan.bags if bag.box == box_id)


def _mark(bag: Bag) -> str:
    return standalone(class_mark(bag.bag_class, "currentColor"), words.CLASS[bag.bag_class])


def _layers_words(plan: Plan, bag: Bag) -> str:
    if bag.layers == 1:
        return "single"
    return f"{bag.layers} bags, one in the other" + (
        ", paper between" if has_paper_between(plan, bag) else ""
    )
