"""Ways to bag a body of some size: which bags take it, how much water covers it, how big the bag becomes."""

import math
from dataclasses import dataclass

from ramet.domain.words import BagClass, Form, Gas, PackingRule, Stance
from ramet.reference.facts import BagType
from ramet.reference.tables import Reference
from ramet.services.planning.rules import ALL_RULES, only_small_lie, sharp_doubled, soft_doubled

Size = tuple[int, int, int]
_WATER_G_PER_L = 1024.0


@dataclass(frozen=True, slots=True)
class Content:
    """What goes into a bag: its size as mounted, its mass, and what its kind asks of a bag.

    With several `pieces`, `size_mm` is that of the largest in each direction, `mass_g` that of all.
    """

    size_mm: tuple[float, float, float]
    mass_g: float
    bag_class: BagClass
    form: Form | None = None
    fixed_water_l: float | None = None
    pieces: int = 1

    def across_mm(self, apart_mm: float) -> float:
        """Return the diameter of the circle around all pieces, fixed apart in the most compact rows.

        A single piece counts as its longer side: corals are round rather than square.
        """
        length, width, _ = self.size_mm
        return max(length, width) + min(
            math.hypot(
                (across - 1) * (length + apart_mm),
                (math.ceil(self.pieces / across) - 1) * (width + apart_mm),
            )
            for across in range(1, self.pieces + 1)
        )


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
    """A tied bag of flat width w filled round: diameter 2w/π, cross-section w²/π (geometry, exact).

    A divided bag is as many such bodies side by side, each with its share of the filling.
    """

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
        return self.filled_l / self.type.compartments * 1e6 * math.pi / self.type.flat_width_mm**2

    def water_l(self, stance: Stance, depth_mm: float) -> float:
        """Return the water that stands `depth_mm` deep in the bag."""
        radius, pockets = self.across_mm / 2, self.type.compartments
        if stance is Stance.STANDS:
            return pockets * math.pi * radius**2 * depth_mm / 1e6
        depth = min(depth_mm, 2 * radius)
        chord = math.sqrt(max(0.0, 2 * radius * depth - depth**2))
        segment_mm2 = radius**2 * math.acos(1 - depth / radius) - (radius - depth) * chord
        return pockets * segment_mm2 * self.long_mm / 1e6


def ways(
    content: Content,
    reference: Reference,
    fill_share: float,
    gas: Gas,
    most_types: int,
    rules: frozenset[PackingRule] = ALL_RULES,
    lacking: frozenset[str] = frozenset(),
) -> tuple[Way, ...]:
    """Return the ways to bag a content in the smallest `most_types` bags that take it, smallest bag first.

    `fill_share` is the share of the closed volume that may be filled; types that are `lacking` are passed
    over. Ways differ in bag, in stance, and
    in whether water just covers the coral or also takes a third of the fill.
    """
    found: list[Way] = []
    fitting = 0
    for bag in sorted(reference.bags.values(), key=lambda one: (one.closed_l, one.id)):
        filled = FilledBag(bag, bag.closed_l * fill_share)
        if bag.id in lacking or not _takes(filled, content, reference):
            continue
        here = [
            _way(filled, stance, water_l, layers_for(bag, content, rules), content, gas, reference)
            for stance in _stances(bag, content, reference, rules)
            for water_l in _waters_l(filled, stance, content, reference)
        ]
        found.extend(here)
        fitting += bool(here)
        if fitting == most_types:
            break
    return tuple(found)


def layers_for(bag: BagType, content: Content, rules: frozenset[PackingRule] = ALL_RULES) -> int:
    """Return how many bags, one inside the other: soft corals and sharp skeletons travel doubled."""
    soft = PackingRule.SOFT_DOUBLED in rules and soft_doubled(content.bag_class)
    hard = content.bag_class is not BagClass.SOFT
    sharp = hard and PackingRule.SHARP_DOUBLED in rules and sharp_doubled(content.form, bag)
    return max(bag.layers, 2 if soft or sharp else 1)


def _takes(filled: FilledBag, content: Content, reference: Reference) -> bool:
    """Tell whether a bag is wide and long enough that no tissue is pressed on film.

    A divided bag takes one piece to a pocket, and is not used with pockets left over.
    """
    free = reference.parameter("bag_clearance_mm").band.typical
    if filled.type.compartments > 1:
        if filled.type.compartments != content.pieces:
            return False
        across_mm = max(content.size_mm[:2])
    else:
        across_mm = content.across_mm(reference.parameter("fixed_apart_mm").band.typical)
    return across_mm + 2 * free <= filled.across_mm and content.size_mm[2] + free <= filled.long_mm


def _stances(
    bag: BagType, content: Content, reference: Reference, rules: frozenset[PackingRule]
) -> tuple[Stance, ...]:
    """Rigid cups and several pieces in one plain bag stand; what else may lie does so in a bag that may."""
    most_mm = reference.parameter("lies_up_to_mm").band.typical
    suits = PackingRule.ONLY_SMALL_LIE not in rules or only_small_lie(
        content.form, max(content.size_mm), most_mm
    )
    alone = content.pieces == bag.compartments and content.fixed_water_l is None
    may_lie = bag.may_lie and not bag.rigid and suits and alone
    return (Stance.STANDS, Stance.LIES) if may_lie else (Stance.STANDS,)


def _waters_l(filled: FilledBag, stance: Stance, content: Content, reference: Reference) -> tuple[float, ...]:
    if content.fixed_water_l is not None:
        return (content.fixed_water_l,) if content.fixed_water_l < filled.filled_l else ()
    deep = min(content.size_mm) if stance is Stance.LIES else content.size_mm[2]
    covering_l = filled.water_l(stance, deep + reference.parameter("water_cover_mm").band.typical)
    most_l = filled.filled_l * reference.parameter("water_share_most").band.typical
    waters = {round(covering_l, 3), round(max(covering_l, filled.filled_l / 3), 3)}
    return tuple(sorted(water for water in waters if water <= most_l))


def _way(
    filled: FilledBag,
    stance: Stance,
    water_l: float,
    layers: int,
    content: Content,
    gas: Gas,
    reference: Reference,
) -> Way:
    closure_mm = 0.0 if filled.type.rigid else reference.parameter("closure_mm").band.typical
    across, tall = math.ceil(filled.across_mm), math.ceil(filled.long_mm + closure_mm)
    along = math.ceil(filled.across_mm * filled.type.compartments)
    return Way(
        type=filled.type,
        stance=stance,
        layers=layers,
        water_l=water_l,
        gas_l=round(filled.filled_l - water_l, 3),
        gas=gas,
        size_mm=(along, across, tall) if stance is Stance.STANDS else (tall, along, across),
        mass_g=math.ceil(water_l * _WATER_G_PER_L + content.mass_g + layers * filled.type.tare_kg * 1000),
    )
