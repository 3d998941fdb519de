"""The rules of packing that a shipment may switch off: each in words, and those decided before the choice.

The first line of a function's docstring is its rule in words. What is decided in the choice itself (above and
below, boxes, walls) is a function in `ramet.optimise`; its words stand here beside the others.
"""

from collections.abc import Mapping

from ramet.domain.words import BagClass, Form, PackingRule
from ramet.formats.plan import RuleSetting
from ramet.reference.facts import BagType, Genus

FRAGILE = frozenset({Form.BRANCHING, Form.TABLE, Form.PLATING})
SHARP = frozenset({Form.BRANCHING, Form.TABLE})
TOUCHY = frozenset({Form.FLESHY, Form.LEATHER, Form.WALL})
TOUCHY_FAMILIES = frozenset({"Euphylliidae"})
SHARING_CLASSES = frozenset({BagClass.STONY, BagClass.ZOANTHID})
ALL_RULES = frozenset(PackingRule)

_IN_THE_CHOICE: Mapping[PackingRule, str] = {
    PackingRule.SOFT_NEVER_ABOVE: "A soft coral's bag never stands above a bag of another class.",
    PackingRule.SPREAD_MUSTS: "Where two or more boxes are used, no box carries every must.",
    PackingRule.SPREAD_STRAINS: "Where two or more boxes are used, no box carries every copy of a strain.",
    PackingRule.SENSITIVE_OFF_WALLS: "Sensitive corals stand off the walls where hardier ones can give way.",
    PackingRule.MASS_CENTRED: "A box's mass is near the middle of its floor, to be carried level.",
    PackingRule.KEEP_LAST_PIECE: "The last piece of a strain stays, unless a line gives even that away.",
    PackingRule.THINNEST_OPENED_FIRST: "The bag with the thinnest margin is opened first.",
    PackingRule.VOIDS_FILLED: "Gaps beside the bags are filled, so that nothing shifts.",
    PackingRule.PROPOSE_SPARES: "Each line names what can take a rejected piece's place, or what to cut.",
}


def share_bags(bag_class: BagClass, longest_mm: float, most_mm: float) -> bool:
    """Small pieces of one strain may share a bag, fixed apart, at most six; soft and stinging ones never."""
    return bag_class in SHARING_CLASSES and longest_mm <= most_mm


def touchy_alone(form: Form, genus: Genus | None) -> bool:
    """Fleshy and wall-forming corals, leathers, Euphyllia and its kin have a bag each, even of one strain."""
    return form in TOUCHY or genus is None or genus.family in TOUCHY_FAMILIES


def soft_doubled(bag_class: BagClass) -> bool:
    """Soft corals travel in two bags, one inside the other."""
    return bag_class is BagClass.SOFT


def sharp_doubled(form: Form | None, bag: BagType) -> bool:
    """Sharp skeletons travel in two bags with paper between, or in a rigid cup."""
    return form in SHARP and not bag.rigid


def only_small_lie(form: Form | None, longest_mm: float, most_mm: float) -> bool:
    """Bags stand; only a small branching frag may lie, in a bag that may. Rigid cups always stand."""
    return form is Form.BRANCHING and longest_mm <= most_mm


def fragile_on_top(form: Form, bag: BagType) -> bool:
    """Nothing rests on a soft-walled bag with branching, table or plating corals."""
    return form in FRAGILE and not bag.rigid


_BEFORE_THE_CHOICE = {
    PackingRule.SHARE_BAGS: share_bags,
    PackingRule.TOUCHY_ALONE: touchy_alone,
    PackingRule.SOFT_DOUBLED: soft_doubled,
    PackingRule.SHARP_DOUBLED: sharp_doubled,
    PackingRule.ONLY_SMALL_LIE: only_small_lie,
    PackingRule.FRAGILE_ON_TOP: fragile_on_top,
}


def rule_words(rule: PackingRule) -> str:
    """Return a rule as a sentence."""
    if rule in _IN_THE_CHOICE:
        return _IN_THE_CHOICE[rule]
    return (_BEFORE_THE_CHOICE[rule].__doc__ or "").splitlines()[0]


def rule_settings(on: frozenset[PackingRule]) -> tuple[RuleSetting, ...]:
    """Return every rule with its words and whether the shipment keeps it."""
    return tuple(RuleSetting(rule=rule, words=rule_words(rule), on=rule in on) for rule in PackingRule)
