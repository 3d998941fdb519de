"""Ways to bag a body of some size: which bags take it, how much water covers it, how big the bag becomes."""

import math
from dataclasses import dataclass

from ramet.domain.words import BagClass, Form, Gas, Stance
from ramet.reference.facts import BagType
from ramet.reference.tables import Reference

Size = tuple[int, int, int]
_WATER_G_PER_L = 1024.0
_LIES_UP_TO_MM = 60.0


@dataclass(frozen=True, slots=True)
class Content:
    """What goes into a bag: its size as mounted, its mass, and what its kind asks of a bag."""

    size_mm: tuple[float, float, float]
    mass_g: float
    bag_class: BagClass
    form: Form | None = None
    fixed_water_l: float | None = None


@dataclass(frozen=True, slots=True)
class Way:
    """One way to bag something. Sizes are outer sizes when filled, in whole mm."""

    type: BagType
    stance: Stance
    layers: int
    water_l: float
    gas_l: float
    gas: Gas
    size_mm: Size
    mass_g: int


@dataclass(frozen=True, slots=True)
class FilledBag:
    """A tied bag of flat width w filled round: diameter 2w/π, cross-section w²/π (geometry, exact)."""

    type: BagType
    filled_l: float

    @property
    def across_mm(self) -> float:
        """Diameter of the round body."""
        return 2 * self.type.flat_width_mm / math.pi

    @property
    def long_mm(self) -> float:
        """Length of the round body; a rigid cup keeps its own."""
        if self.type.rigid:
            return self.type.length_mm
        return self.filled_l * 1e6 * math.pi / self.type.flat_width_mm**2

    def water_l(self, stance: Stance, depth_mm: float) -> float:
        """Return the water that stands `depth_mm` deep in the bag."""
        radius = self.across_mm / 2
        if stance is Stance.STANDS:
            return math.pi * radius**2 * depth_mm / 1e6
        depth = min(depth_mm, 2 * radius)
        chord = math.sqrt(max(0.0, 2 * radius * depth - depth**2))
        segment_mm2 = radius**2 * math.acos(1 - depth / radius) - (radius - depth) * chord
        return segment_mm2 * self.long_mm / 1e6


def ways(
    content: Content, reference: Reference, fill_share: float, gas: Gas, most_types: int
) -> tuple[Way, ...]:
    """Return the ways to bag a content in the smallest `most_types` bags that take it, smallest bag first.

    `fill_share` is the share of the closed volume that may be filled. Ways differ in bag, in stance, and
    in whether water just covers the coral or also takes a third of the fill.
    """
    found: list[Way] = []
    fitting = 0
    for bag in sorted(reference.bags.values(), key=lambda one: (one.closed_l, one.id)):
        filled = FilledBag(bag, bag.closed_l * fill_share)
        if not _takes(filled, content, reference):
            continue
        here = [
            _way(filled, stance, water_l, content, gas, reference)
            for stance in _stances(bag, content)
            for water_l in _waters_l(filled, stance, content, reference)
        ]
        found.extend(here)
        fitting += bool(here)
        if fitting == most_types:
            break
    return tuple(found)


def layers_for(bag: BagType, content: Content) -> int:
    """Return how many bags, one inside the other: soft corals and sharp skeletons travel doubled."""
    sharp = content.bag_class is not BagClass.SOFT and content.form in {Form.BRANCHING, Form.TABLE}
    doubled = content.bag_class is BagClass.SOFT or (sharp and not bag.rigid)
    return max(bag.layers, 2 if doubled else 1)


def _takes(filled: FilledBag, content: Content, reference: Reference) -> bool:
    """Tell whether a bag is wide and long enough that no tissue is pressed on film."""
    free = reference.parameter("bag_clearance_mm").band.typical
    length, width, height = content.size_mm
    return max(length, width) + 2 * free <= filled.across_mm and height + free <= filled.long_mm


def _stances(bag: BagType, content: Content) -> tuple[Stance, ...]:
    """A rigid cup stands; a small branching frag on its plug may also lie, where its bag may."""
    small = content.form is Form.BRANCHING and max(content.size_mm) <= _LIES_UP_TO_MM
    return (Stance.STANDS, Stance.LIES) if bag.may_lie and not bag.rigid and small else (Stance.STANDS,)


def _waters_l(filled: FilledBag, stance: Stance, content: Content, reference: Reference) -> tuple[float, ...]:
    if content.fixed_water_l is not None:
        return (content.fixed_water_l,) if content.fixed_water_l < filled.filled_l else ()
    deep = min(content.size_mm) if stance is Stance.LIES else content.size_mm[2]
    covering_l = filled.water_l(stance, deep + reference.parameter("water_cover_mm").band.typical)
    most_l = filled.filled_l * reference.parameter("water_share_most").band.typical
    waters = {round(covering_l, 3), round(max(covering_l, filled.filled_l / 3), 3)}
    return tuple(sorted(water for water in waters if water <= most_l))


def _way(
    filled: FilledBag, stance: Stance, water_l: float, content: Content, gas: Gas, reference: Reference
) -> Way:
    closure_mm = 0.0 if filled.type.rigid else reference.parameter("closure_mm").band.typical
    across, tall = math.ceil(filled.across_mm), math.ceil(filled.long_mm + closure_mm)
    layers = layers_for(filled.type, content)
    return Way(
        type=filled.type,
        stance=stance,
        layers=layers,
        water_l=water_l,
        gas_l=round(filled.filled_l - water_l, 3),
        gas=gas,
        size_mm=(across, across, tall) if stance is Stance.STANDS else (tall, across, across),
        mass_g=math.ceil(water_l * _WATER_G_PER_L + content.mass_g + layers * filled.type.tare_kg * 1000),
    )
