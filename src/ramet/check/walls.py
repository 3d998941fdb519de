"""The air at a wall is coldest and warmest: the most sensitive corals stand off it where they can."""

from collections.abc import Iterator, Sequence

from ramet.check import company, loads, placement
from ramet.check.finding import Fault, Rule
from ramet.check.switches import owns_up
from ramet.domain.words import Tolerance
from ramet.formats.plan import Bag, Box, Plan
from ramet.reference.tables import Reference

TOLD = "sensitive_at_wall"
"""The caution that owns up to sensitive corals at a wall."""
NEAR_MM = 10
"""A bag nearer to a wall than this stands at it (planning value)."""
KEPT: Sequence[Rule] = (
    placement.nothing_overlaps,
    placement.all_is_inside,
    placement.bags_rest_on_something,
    placement.packs_keep_their_distance,
    company.soft_never_above_others,
    company.soft_boards_cover_no_others,
    loads.stacks_are_not_too_high,
    loads.nothing_rests_on_fragile_corals,
    loads.no_bag_is_crushed,
    loads.boards_share_their_bearers,
    loads.boards_do_not_tip,
)
"""What bags that change places must not break."""


def sensitive_bags_stand_off_the_walls(plan: Plan, reference: Reference) -> Iterator[Fault]:
    """No sensitive coral stands at a wall when a hardier one could give it its place, or a caution says so.

    A place is given by a bag of the same footprint on the same level of the box, when no rule of place and
    load breaks. A plan that was changed at the bench keeps its packed bags where they are.
    """
    for box in plan.boxes if not plan.changes else ():
        inside = [bag for bag in plan.bags if bag.box == box.id]
        sensitive = {bag.id for bag in inside if _is_sensitive(bag, plan, reference)}
        for bag in inside:
            if bag.id not in sensitive or not _at_wall(bag, box) or owns_up(plan, TOLD, bag.id):
                continue
            inner = [
                one
                for one in inside
                if one.id not in sensitive and not _at_wall(one, box) and _are_alike(one, bag)
            ]
            giving = next((one for one in inner if _may_change(plan, box, bag, one, reference)), None)
            if giving is not None:
                yield Fault(
                    bag.id, f"stands at a wall with sensitive corals, {giving.id} could change places"
                )


def _is_sensitive(bag: Bag, plan: Plan, reference: Reference) -> bool:
    genera = [reference.genus(one.taxon) for one in plan.chosen if one.piece in bag.pieces]
    return any(genus is not None and genus.tolerance == Tolerance.SENSITIVE for genus in genera)


def _at_wall(bag: Bag, box: Box) -> bool:
    ends = zip(bag.at_mm[:2], bag.size_mm[:2], box.inner_mm[:2], strict=True)
    return any(min(at, side - at - size) < NEAR_MM for at, size, side in ends)


def _are_alike(one: Bag, other: Bag) -> bool:
    level = one.at_mm[2] == other.at_mm[2]
    return level and sorted(one.size_mm[:2]) == sorted(other.size_mm[:2])


def _may_change(plan: Plan, box: Box, bag: Bag, inner: Bag, reference: Reference) -> bool:
    """Tell whether two bags of one box could change places without breaking what holds as they stand."""
    moved = {bag.id: _in_place_of(inner, bag), inner.id: _in_place_of(bag, inner)}
    here = [one for one in plan.bags if one.box == box.id]
    as_planned = plan.model_copy(update={"boxes": (box,), "bags": tuple(here)})
    changed = as_planned.model_copy(update={"bags": tuple(moved.get(one.id, one) for one in here)})
    return all(set(rule(changed, reference)) <= set(rule(as_planned, reference)) for rule in KEPT)


def _in_place_of(there: Bag, bag: Bag) -> Bag:
    """Return a bag where another stands, turned as that one is."""
    size = (*there.size_mm[:2], bag.size_mm[2])
    return bag.model_copy(update={"at_mm": there.at_mm, "size_mm": size})
