"""What several papers need to know of a plan: look-ups, guards, and things in the order of their weight."""

from dataclasses import dataclass

from ramet.domain.words import BagClass, Form
from ramet.formats.plan import Bag, BagForecast, Caution, Chosen, LeftOut, Plan, Reason

SAFETY = (
    "lay_hands_toxic",
    "palytoxin",
    "stinging_skin",
    "lay_hands",
    "heavy_box",
    "palytoxin_cutting",
    "palytoxin_cleanup",
    "saw_aerosol",
    "oxygen",
    "heat_pack",
    "caustic",
    "dip_chemicals",
    "wounds",
    "electricity",
    "bag_water",
)
"""Codes of cautions that concern a person's body, in the order in which they are read."""

AT_THE_RECEIVERS = frozenset(SAFETY) - {"palytoxin_cutting", "saw_aerosol", "oxygen", "lay_hands_toxic"}
"""Those of them that also concern whoever opens the boxes."""

SHARP = frozenset({Form.BRANCHING, Form.TABLE})
"""Forms with branches or edges that pierce a bag."""

NEVER_ASKED_FOR = frozenset({"too_large", "too_small"})
"""Refusals of pieces that the line did not mean anyway; other reasons are told first."""


@dataclass(frozen=True, slots=True)
class Guard:
    """What a bag can do to a person, and what to wear."""

    word: str
    wear: str


POISON = Guard("TOXIC", "gloves, eye and face cover")
STING = Guard("STINGS SKIN", "gloves and covered arms")
HARM = Guard("CAN HARM", "gloves and eye cover")


def pieces_of(plan: Plan, bag: Bag) -> tuple[Chosen, ...]:
    """Return the chosen pieces in a bag, in the bag's order."""
    by_id = {one.piece: one for one in plan.chosen}
    return tuple(by_id[piece] for piece in bag.pieces if piece in by_id)


def by_margin(plan: Plan) -> tuple[BagForecast, ...]:
    """Return the forecasts of all bags, thinnest margin first."""
    return tuple(sorted(plan.forecast.bags, key=lambda bag: (bag.margin_h, bag.id)))


def guard_of(plan: Plan, bag: Bag) -> Guard | None:
    """Return what whoever handles a bag must wear. Nobody tells a toxic zoanthid by eye: all count."""
    toxins = {one.toxin for one in pieces_of(plan, bag)} - {None}
    if "palytoxin" in toxins or bag.bag_class is BagClass.ZOANTHID:
        return POISON
    if "stinging_skin" in toxins:
        return STING
    return HARM if toxins else None


def has_paper_between(plan: Plan, bag: Bag) -> bool:
    """Tell whether paper goes between the two bags of one: sharp skeletons pierce what they lean on."""
    sharp = any(one.form in SHARP for one in pieces_of(plan, bag))
    return bag.layers > 1 and sharp and bag.bag_class is not BagClass.SOFT


def is_safety(caution: Caution) -> bool:
    """Tell whether a caution is about a person rather than about coral or papers."""
    return caution.code in SAFETY


def cautions_in_order(plan: Plan) -> tuple[Caution, ...]:
    """Return the cautions, those about a person's body first; otherwise in the plan's order."""
    return tuple(
        sorted(
            plan.cautions,
            key=lambda caution: SAFETY.index(caution.code) if is_safety(caution) else len(SAFETY),
        )
    )


def reasons_by_code(left: LeftOut) -> tuple[tuple[Reason, ...], ...]:
    """Return the reasons of a line grouped by code, in the plan's order, wrong sizes last."""
    groups: dict[str, list[Reason]] = {}
    for reason in left.reasons:
        groups.setdefault(reason.code, []).append(reason)
    ordered = sorted(groups.items(), key=lambda item: item[0] in NEVER_ASKED_FOR)
    return tuple(tuple(group) for _, group in ordered)
