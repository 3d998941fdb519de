"""What several papers need to know of a plan: look-ups and the bags in order of their margin."""

from ramet.domain.words import BagClass
from ramet.formats.plan import Bag, BagForecast, Caution, Chosen, Plan

SAFETY_WORDS = (
    "toxin", "toxic", "lay_hands", "aerosol", "saw", "electric", "oxygen", "cylinder", "lift", "wound",
    "infection", "caustic", "stock", "dip", "bag_water",
)  # fmt: skip
"""Parts of caution codes that concern a person's body; they are read before anything else."""


def pieces_of(plan: Plan, bag: Bag) -> tuple[Chosen, ...]:
    """Return the chosen pieces in a bag, in the bag's order."""
    by_id = {one.piece: one for one in plan.chosen}
    return tuple(by_id[piece] for piece in bag.pieces if piece in by_id)


def by_margin(plan: Plan) -> tuple[BagForecast, ...]:
    """Return the forecasts of all bags, thinnest margin first."""
    return tuple(sorted(plan.forecast.bags, key=lambda bag: (bag.margin_h, bag.id)))


def is_toxic(plan: Plan, bag: Bag) -> bool:
    """Tell whether whoever opens a bag must cover hands and eyes."""
    return bag.bag_class is BagClass.ZOANTHID or any(one.toxin for one in pieces_of(plan, bag))


def is_safety(caution: Caution) -> bool:
    """Tell whether a caution is about a person rather than about coral or papers."""
    return any(word in caution.code.lower() for word in SAFETY_WORDS)


def cautions_in_order(plan: Plan) -> tuple[Caution, ...]:
    """Return the cautions, those about a person's body first; otherwise in the plan's order."""
    return tuple(sorted(plan.cautions, key=lambda caution: not is_safety(caution)))
