"""Which cautions a plan must carry: each row of the table says by a code when it applies."""

from collections.abc import Iterator, Sequence

from ramet.domain.piece import name_key
from ramet.domain.words import BagClass, Form, Gas, How
from ramet.formats.plan import BagForecast, Caution
from ramet.services.planning.boxing import ReadyBox
from ramet.services.planning.choice_cautions import choice_cautions
from ramet.services.planning.gather import Inputs
from ramet.services.planning.loads import Load
from ramet.services.planning.road import softens

_BRANCHED = frozenset({Form.BRANCHING, Form.TABLE})
_SKIN = "stinging_skin"


def cautions(
    inputs: Inputs, loads: Sequence[Load], boxes: Sequence[ReadyBox], bags: Sequence[BagForecast]
) -> tuple[Caution, ...]:
    """Return every caution whose condition holds, in the order of the table."""
    active = (
        {"always"}
        | _of_pieces(inputs, loads)
        | _of_boxes(inputs, loads, boxes)
        | _of_receiver(inputs, loads)
        | _of_margins(inputs, bags)
    )
    listed = tuple(
        Caution(code=row.code, text=row.text, source=inputs.reference.sources[row.source].citation)
        for row in inputs.reference.cautions
        if row.applies in active
    )
    return (
        *_holds(inputs),
        *_held_water(inputs, loads),
        *listed,
        *choice_cautions(inputs, loads, boxes),
    )


def _holds(inputs: Inputs) -> Iterator[Caution]:
    """Tell each pest that holds pieces back: where it was found, which contacts wait, and what ends it."""
    for pest in sorted({hold.pest for hold in inputs.stock.holds}):
        holds = [hold for hold in inputs.stock.holds if hold.pest == pest]
        row = inputs.reference.pests[pest]
        found = ", ".join(hold.piece for hold in holds if hold.direct) or "a piece that is gone"
        contacts = [hold.piece for hold in holds if not hold.direct]
        wait = f"; {len(contacts)} contacts wait with it: {', '.join(contacts)}" if contacts else ""
        text = f"Health hold: {row.words}, found on {found}{wait}. None of them goes. It ends on evidence: "
        yield Caution(
            code="health_hold",
            text=text + holds[0].ends,
            source=inputs.reference.sources[row.source].citation,
        )


def _held_water(inputs: Inputs, loads: Sequence[Load]) -> Iterator[Caution]:
    """Tell which pieces go although their water, and with it their mount, is held: they are no hosts."""
    going = [one.stock for load in loads for one in load.parcel.candidates]
    for hold in inputs.stock.things:
        pieces = sorted({one.piece for one in going if name_key(one.system) == name_key(hold.system)})
        if hold.goods is not None or not pieces:
            continue
        row = inputs.reference.pests[hold.pest]
        text = (
            f"The water, mounts and goods of “{hold.system}” are held ({row.words}, since {hold.since}). "
            f"{_few(pieces)} can go, being no host of it: take them off their mounts or scrub these bare, "
            f"rinse, and pack in freshly mixed water. The hold ends with: {hold.ends}"
        )
        source = inputs.reference.sources[row.source].citation
        yield Caution(code="held_water", text=text, source=source)


def _few(names: Sequence[str]) -> str:
    return ", ".join(names) if len(names) <= 6 else f"{', '.join(names[:6])} and {len(names) - 6} more"


def _of_pieces(inputs: Inputs, loads: Sequence[Load]) -> set[str]:
    active = {"matured_media"} if any(load.parcel.goods is not None for load in loads) else set()
    for one in (one for load in loads for one in load.parcel.candidates):
        genus = inputs.reference.genus(one.taxon)
        active.add(one.bag_class.value)
        active.add("dip")
        if one.form in _BRANCHED:
            active.add("branching")
        if one.how is How.CUT:
            active |= {"cut", "cut_zoanthid"} if one.bag_class is BagClass.ZOANTHID else {"cut"}
        if genus is not None and genus.cites:
            active.add("cites")
        if inputs.reference.listed(one.taxon) is not None:
            active.add("threatened")
        if genus is not None and genus.toxin == _SKIN:
            active.add(_SKIN)
    return active


def _of_boxes(inputs: Inputs, loads: Sequence[Load], boxes: Sequence[ReadyBox]) -> set[str]:
    shipment = inputs.shipment
    active: set[str] = set()
    if any(load.way.gas is Gas.OXYGEN for load in loads):
        active.add("oxygen")
    packs = [pack for box in boxes for pack in box.packs]
    if any(pack.type.warms for pack in packs):
        active.add("heat_pack")
        active |= {"carrier_heat_unknown"} if shipment.carrier.heat_packs == "unknown" else set()
    if any(not pack.type.warms and not softens(pack.type) for pack in packs):
        active.add("cold_pack")
    if shipment.carrier.live_aquatics == "unknown":
        active.add("carrier_unknown")
    if any(leg.low_c < 5 and leg.surroundings in {"vehicle", "outdoors", "depot"} for leg in shipment.leg):
        active.add("cold_leg")
    lift_kg = inputs.reference.parameter("lift_limit_kg").band.low
    if any(box_kg(box, loads) > lift_kg for box in boxes):
        active.add("heavy_box")
    return active


def _of_receiver(inputs: Inputs, loads: Sequence[Load]) -> set[str]:
    shipment = inputs.shipment
    active: set[str] = set()
    if shipment.receiver.lay_hands:
        active.add("lay_hands")
        genera = [
            inputs.reference.genus(load.parcel.candidate.taxon) for load in loads if load.parcel.candidate
        ]
        if any(genus is not None and genus.toxin for genus in genera):
            active.add("lay_hands_toxic")
    if shipment.carrier.holidays == "US":
        active.add("us_interstate")
    return active


def _of_margins(inputs: Inputs, bags: Sequence[BagForecast]) -> set[str]:
    wanted_h = inputs.reference.parameter("margin_wanted_h").band.typical
    thin = {"thin_margin"} if any(bag.margin_h < wanted_h for bag in bags) else set()
    return thin | ({"late_margin"} if any(bag.margin_late_h < 0 for bag in bags) else set())


def box_kg(box: ReadyBox, loads: Sequence[Load]) -> float:
    """Return the mass of a box with all that is in it, boards aside."""
    return box.empty_kg + sum(load.way.mass_g for load in loads if load.box == box.id) / 1000
