"""Cautions and papers: what a careful person must be told is told, by a look at the tables of our own."""

from collections.abc import Iterator, Mapping

from ramet.check.finding import Fault
from ramet.domain.words import BagClass, Form, Gas, How
from ramet.formats.plan import Pack, Plan
from ramet.reference.tables import Reference

ROOM_C = 15.0
"""Packs that melt above this are readied at the temperature of the corals, never frozen."""

LIFT_SLACK_KG = 0.3
"""A box this little over the limit may pass without the caution: boards are light, and rounding is up."""


def cautions_are_given_where_due(plan: Plan, reference: Reference) -> Iterator[Fault]:
    """Every caution whose condition the plan meets is given: palytoxin, lay hands, CITES and the rest."""
    given = {caution.code for caution in plan.cautions}
    met = _conditions(plan, reference)
    for row in reference.cautions:
        if met.get(row.applies, False) and row.code not in given:
            yield Fault("cautions", f"“{row.code}” is missing: {row.text}")


def papers_follow_the_genus(plan: Plan, reference: Reference) -> Iterator[Fault]:
    """A piece is marked as listed by CITES, or as toxic, exactly when its genus is."""
    for one in plan.chosen:
        genus = reference.genus(one.taxon)
        if genus is None:
            continue
        if (one.cites is None) != (genus.cites is None):
            yield Fault(
                one.piece, f"{one.taxon}: marked {one.cites or 'not listed'}, {genus.cites or 'not'} is"
            )
        if one.toxin != genus.toxin:
            yield Fault(
                one.piece, f"{one.taxon}: toxin {one.toxin or 'none'}, the table has {genus.toxin or 'none'}"
            )


def _conditions(plan: Plan, reference: Reference) -> Mapping[str, bool]:
    """Return the conditions that a plan alone can settle; others (borders, holidays) need the shipment."""
    genera = [genus for one in plan.chosen if (genus := reference.genus(one.taxon)) is not None]
    toxins = {genus.toxin for genus in genera}
    classes = {one.bag_class for one in plan.chosen} | {genus.bag_class for genus in genera}
    packs = [pack for box in plan.boxes for pack in box.packs]
    cut = [one for one in plan.chosen if one.how == How.CUT]
    lift_kg = reference.parameter("lift_limit_kg").band.low
    return {
        "always": True,
        "zoanthid": BagClass.ZOANTHID in classes or "palytoxin" in toxins,
        "cut_zoanthid": any(one.bag_class == BagClass.ZOANTHID for one in cut),
        "cut": bool(cut),
        "dip": any(task.kind == "dip" for task in plan.tasks),
        "oxygen": any(bag.gas == Gas.OXYGEN for bag in plan.bags),
        "heat_pack": any(pack.warms for pack in packs),
        "cold_pack": any(_may_be_frozen(pack, reference) for pack in packs),
        "lay_hands": plan.shipment.lay_hands,
        "lay_hands_toxic": plan.shipment.lay_hands and bool(toxins - {None}),
        "stinging": BagClass.STINGING in classes,
        "stinging_skin": "stinging_skin" in toxins,
        "soft": BagClass.SOFT in classes,
        "stony": BagClass.STONY in classes,
        "branching": any(one.form in (Form.BRANCHING, Form.TABLE) for one in plan.chosen),
        "cites": any(genus.cites is not None for genus in genera),
        "heavy_box": any(box.mass_kg > lift_kg + LIFT_SLACK_KG for box in plan.boxes),
        "late_margin": any(bag.margin_late_h < 0 for bag in plan.forecast.bags),
    }


def _may_be_frozen(pack: Pack, reference: Reference) -> bool:
    """A pack that cools, unless its type is known to melt where corals live."""
    known = reference.packs.get(pack.kind)
    return not pack.warms and (known is None or known.melts_c is None or known.melts_c < ROOM_C)
