"""The boxes of a shipment, ready to be filled: sizes, masses, what they bill, packs in the lid."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from ramet.domain.words import Grade
from ramet.formats.shipment import BoxWish, Carrier
from ramet.reference.facts import BoxType, PackType
from ramet.services.planning.gather import Inputs

Size = tuple[int, int, int]
_TOUCHING_MM = 1
"""No bag touches a pack, not even one that needs no air around it."""


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


def with_packs(box: ReadyBox, packs: Sequence[PackType], reason: str = "") -> ReadyBox | None:
    """Return the box with packs laid in rows under the middle of its lid; None when they do not fit there."""
    rows = _rows(packs, box.inner_mm[0])
    deep = sum(max(_whole(pack)[1] for pack in row) for row in rows)
    if deep > box.inner_mm[1] or any(_whole(pack)[0] > box.inner_mm[0] for pack in packs):
        return None
    placed: list[LidPack] = []
    y = (box.inner_mm[1] - deep) // 2
    for row in rows:
        x = (box.inner_mm[0] - sum(_whole(pack)[0] for pack in row)) // 2
        for pack in row:
            size = _whole(pack)
            placed.append(_lid_pack(box, pack, (x, y, box.inner_mm[2] - size[2]), size, reason))
            x += size[0]
        y += max(_whole(pack)[1] for pack in row)
    return replace(box, packs=tuple(placed))


def _rows(packs: Sequence[PackType], length_mm: int) -> list[list[PackType]]:
    rows: list[list[PackType]] = []
    used = length_mm + 1
    for pack in packs:
        long = _whole(pack)[0]
        if used + long > length_mm:
            rows.append([])
            used = 0
        rows[-1].append(pack)
        used += long
    return rows


def _whole(pack: PackType) -> Size:
    length, width, height = (math.ceil(side) for side in pack.size_mm)
    return length, width, height


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
    """Return a catalogue box, or the user's own, whose measures were checked to be all there."""
    listed = inputs.reference.boxes.get(wish.type)
    if listed is not None:
        return listed
    if not (wish.inner_mm and wish.wall_mm and wish.foam and wish.tare_kg and wish.max_kg):
        raise ValueError(f"box type {wish.type} is not in the tables and not measured in the shipment")
    return BoxType(
        id=wish.type,
        words=wish.type,
        inner_mm=wish.inner_mm,
        wall_mm=wish.wall_mm,
        foam=wish.foam,
        carton_mm=inputs.reference.parameter("own_box_carton_mm").band.typical,
        tare_kg=wish.tare_kg,
        max_kg=wish.max_kg,
        source="shipment",
        grade=Grade.PRACTICE,
    )


def _side_cm(side_cm: float, carrier: Carrier) -> float:
    if carrier.side_rounding == "none":
        return side_cm
    way, _, unit = carrier.side_rounding.partition("_")
    step_cm = 2.54 if unit == "in" else 1.0
    steps = round(side_cm / step_cm, 6)
    return step_cm * (math.ceil(steps) if way == "up" else math.floor(steps + 0.5))


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


def _lid_pack(box: ReadyBox, pack: PackType, at_mm: Size, size: Size, reason: str) -> LidPack:
    gap = max(_TOUCHING_MM, math.ceil(pack.air_gap_mm))
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
