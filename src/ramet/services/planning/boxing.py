"""The boxes of a shipment, ready to be filled: sizes, masses, what they bill, packs in the lid."""

import math
from dataclasses import dataclass, replace

from ramet.formats.shipment import BoxWish, Carrier
from ramet.reference.facts import BoxType, PackType
from ramet.services.planning.gather import Inputs

Size = tuple[int, int, int]


@dataclass(frozen=True, slots=True)
class LidPack:
    """A pack in the lid, outside the liner. The `keep` block around it stays free of bags."""

    type: PackType
    at_mm: Size
    size_mm: Size
    keep_at_mm: Size
    keep_size_mm: Size
    reason: str


@dataclass(frozen=True, slots=True)
class ReadyBox:
    """An empty box with its packs."""

    id: str
    type: BoxType
    inner_mm: Size
    outer_mm: Size
    tare_kg: float
    max_kg: float
    dimensional_kg: float
    packs: tuple[LidPack, ...] = ()

    @property
    def empty_kg(self) -> float:
        """Mass of the box with its liner and packs, before anything living is in it."""
        return self.tare_kg + sum(pack.type.mass_kg for pack in self.packs)


def ready_boxes(inputs: Inputs) -> tuple[ReadyBox, ...]:
    """Return the boxes at hand, named A, B, C ..., without packs."""
    liner_kg = inputs.reference.parameter("liner_kg").band.typical
    types = [_box_type(wish, inputs) for wish in inputs.shipment.box for _ in range(wish.count)]
    return tuple(
        _ready(_name(number), type_, liner_kg, inputs.shipment.carrier) for number, type_ in enumerate(types)
    )


def with_packs(box: ReadyBox, pack: PackType, count: int, reason: str) -> ReadyBox:
    """Return the box with `count` packs side by side under the middle of its lid."""
    length, width, height = (math.ceil(side) for side in pack.size_mm)
    gap = math.ceil(pack.air_gap_mm)
    start_x = (box.inner_mm[0] - count * length) // 2
    packs = tuple(
        _lid_pack(
            box,
            pack,
            (start_x + n * length, (box.inner_mm[1] - width) // 2, box.inner_mm[2] - height),
            reason,
            gap,
        )
        for n in range(count)
    )
    return replace(box, packs=packs)


def packs_that_fit(box: ReadyBox, pack: PackType) -> int:
    """Return how many packs lie side by side under the lid."""
    if pack.size_mm[1] > box.inner_mm[1]:
        return 0
    return math.floor(box.inner_mm[0] / pack.size_mm[0])


def dimensional_kg(outer_mm: Size, carrier: Carrier) -> float:
    """Return the mass that a carrier bills for the room a box takes: product of sides over the divisor.

    The sides are rounded by the carrier's rule first; the result is rounded up to its mass step.
    """
    volume_cm3 = math.prod(_side_cm(side / 10, carrier) for side in outer_mm)
    return billed_kg(volume_cm3 / carrier.divisor_cm3_kg, carrier)


def billed_kg(mass_kg: float, carrier: Carrier) -> float:
    """Return a mass rounded up to the carrier's step."""
    steps = math.ceil(round(mass_kg / carrier.mass_step_kg, 6))
    return round(steps * carrier.mass_step_kg, 3)


def _box_type(wish: BoxWish, inputs: Inputs) -> BoxType:
    listed = inputs.reference.boxes.get(wish.type)
    if listed is None:
        raise LookupError(wish.type)
    return replace(
        listed,
        inner_mm=wish.inner_mm or listed.inner_mm,
        wall_mm=wish.wall_mm or listed.wall_mm,
        foam=wish.foam or listed.foam,
        max_kg=wish.max_kg or listed.max_kg,
        tare_kg=wish.tare_kg or listed.tare_kg,
    )


def _side_cm(side_cm: float, carrier: Carrier) -> float:
    if carrier.side_rounding == "none":
        return side_cm
    return math.ceil(side_cm) if carrier.side_rounding == "up_cm" else math.floor(side_cm + 0.5)


def _ready(name: str, type_: BoxType, liner_kg: float, carrier: Carrier) -> ReadyBox:
    inner = tuple(math.floor(side) for side in type_.inner_mm)
    outer = tuple(math.ceil(side + 2 * (type_.wall_mm + type_.carton_mm)) for side in type_.inner_mm)
    return ReadyBox(
        id=name,
        type=type_,
        inner_mm=(inner[0], inner[1], inner[2]),
        outer_mm=(outer[0], outer[1], outer[2]),
        tare_kg=round(type_.tare_kg + liner_kg, 3),
        max_kg=min(type_.max_kg, carrier.max_box_kg),
        dimensional_kg=dimensional_kg((outer[0], outer[1], outer[2]), carrier),
    )


def _name(number: int) -> str:
    return chr(ord("A") + number % 26) + (str(number // 26) if number >= 26 else "")


def _lid_pack(box: ReadyBox, pack: PackType, at_mm: Size, reason: str, gap: int) -> LidPack:
    size = (math.ceil(pack.size_mm[0]), math.ceil(pack.size_mm[1]), math.ceil(pack.size_mm[2]))
    low = tuple(max(0, at - gap) for at in at_mm)
    high = tuple(
        min(inner, at + side + gap) for inner, at, side in zip(box.inner_mm, at_mm, size, strict=True)
    )
    return LidPack(
        type=pack,
        at_mm=at_mm,
        size_mm=size,
        keep_at_mm=(low[0], low[1], low[2]),
        keep_size_mm=(high[0] - low[0], high[1] - low[1], high[2] - low[2]),
        reason=reason,
    )
