"""Bodies in a box: nothing overlaps, nothing sticks out, nothing floats, packs keep their distance."""

from collections.abc import Iterator

from ramet.check.bodies import Body, Mm3, bodies_in, carriers, inside, overlap, pairs
from ramet.check.finding import Fault
from ramet.formats.plan import Box, Plan
from ramet.reference.tables import Reference

WALL_SLACK_MM = 2.0
"""Outer sizes are whole mm of an inner size plus foam and carton on both sides."""


def nothing_overlaps(plan: Plan, _: Reference) -> Iterator[Fault]:
    """No two bodies in a box share room: bags, packs, boards and fill."""
    for box in plan.boxes:
        for one, other in pairs(bodies_in(plan, box)):
            if overlap(one, other):
                yield Fault(box.id, f"{one.name} and {other.name} overlap")


def all_is_inside(plan: Plan, _: Reference) -> Iterator[Fault]:
    """Every body lies wholly within the inner size of its box."""
    for box in plan.boxes:
        for body in bodies_in(plan, box):
            if not inside(body, box.inner_mm):
                yield Fault(box.id, f"{body.name} ends at {_mm(body.end_mm)}, the box at {_mm(box.inner_mm)}")


def bags_rest_on_something(plan: Plan, reference: Reference) -> Iterator[Fault]:
    """Every bag stands on the floor, a board, fill or other bags; none floats, overhangs or lies on paper."""
    least = reference.parameter("borne_share").band.low
    for box in plan.boxes:
        bodies = bodies_in(plan, box)
        for body in bodies:
            if body.kind == "bag" and _borne_share(body, bodies) < least:
                yield Fault(
                    body.name, f"only {_borne_share(body, bodies):.0%} of its footprint rests on something"
                )


def bags_cannot_shift(plan: Plan, reference: Reference) -> Iterator[Fault]:
    """Beside a bag there is a wall, a body, fill, or the air of a pack, and no wide gap."""
    most = reference.parameter("void_least_mm").band.high
    for box in plan.boxes:
        bodies = bodies_in(plan, box)
        for bag in bodies:
            if bag.kind == "bag":
                for axis, name in ((0, "along"), (1, "across")):
                    gap = _widest_gap_mm(bag, bodies, box.inner_mm, axis)
                    if gap > most:
                        yield Fault(bag.name, f"can shift {gap} mm {name}, at most {most:g} mm are left open")


def boards_rest_on_something(plan: Plan, _: Reference) -> Iterator[Fault]:
    """Every board lies on the floor or on bags or fill below it; the paper in gaps bears nothing."""
    for box in plan.boxes:
        bodies = bodies_in(plan, box)
        for body in bodies:
            if body.kind == "board" and body.at_mm[2] > 0 and not _bearing(body, bodies):
                yield Fault(box.id, f"{body.name} hangs at {body.at_mm[2]} mm with nothing below it")


def packs_are_held(plan: Plan, _: Reference) -> Iterator[Fault]:
    """Every pack is fixed under the lid or lies on the floor, a board or fill; none hangs in the air."""
    for box in plan.boxes:
        bodies = bodies_in(plan, box)
        for body in bodies:
            fixed = body.kind != "pack" or body.at_mm[2] == 0 or body.end_mm[2] == box.inner_mm[2]
            if not fixed and not any(one.kind in ("board", "fill") for one, _ in carriers(body, bodies)):
                yield Fault(box.id, f"{body.name} hangs at {body.at_mm[2]} mm, below the lid")


def packs_keep_their_distance(plan: Plan, reference: Reference) -> Iterator[Fault]:
    """No bag touches a pack or comes nearer to it than its air gap, which no plan shortens."""
    for box in plan.boxes:
        bodies = bodies_in(plan, box)
        bags = [body for body in bodies if body.kind == "bag"]
        packs = [body for body in bodies if body.kind == "pack"]
        for pack, body in zip(box.packs, packs, strict=True):
            known = reference.packs.get(pack.kind)
            if known is not None and pack.air_gap_mm < known.air_gap_mm:
                yield Fault(
                    box.id, f"{body.name} is given {pack.air_gap_mm} mm, it needs {known.air_gap_mm:g} mm"
                )
            for bag in bags:
                if overlap(body, bag, max(pack.air_gap_mm, 1)):
                    near = f"is nearer than {pack.air_gap_mm} mm to" if pack.air_gap_mm else "touches"
                    yield Fault(box.id, f"{bag.name} {near} {body.name}")


def packs_are_as_bought(plan: Plan, reference: Reference) -> Iterator[Fault]:
    """Every pack is of a known type, warms or cools as that type does, and has its size."""
    for box in plan.boxes:
        for pack in box.packs:
            known = reference.packs.get(pack.kind)
            if known is None:
                yield Fault(box.id, f"has a pack of type {pack.kind}, which no table has")
                continue
            if pack.warms != known.warms:
                yield Fault(box.id, f"its {pack.kind} is said to {'warm' if pack.warms else 'cool'}")
            sides = zip(sorted(pack.size_mm), sorted(known.size_mm), strict=True)
            if any(side < bought or side > bought + 1 for side, bought in sides):
                yield Fault(box.id, f"its {pack.kind} is {_mm(pack.size_mm)}, bought as {_mm(known.size_mm)}")


def frozen_packs_touch_no_bag(plan: Plan, reference: Reference) -> Iterator[Fault]:
    """A pack that melts at or below 0 °C touches no bag, not even across its edge."""
    for box in plan.boxes:
        bodies = bodies_in(plan, box)
        packs = [body for body in bodies if body.kind == "pack"]
        for pack, body in zip(box.packs, packs, strict=True):
            known = reference.packs.get(pack.kind)
            if known is None or known.melts_c is None or known.melts_c > 0:
                continue
            for bag in bodies:
                if bag.kind == "bag" and overlap(body, bag, 1):
                    yield Fault(box.id, f"{bag.name} touches the frozen {body.name}")


def heat_packs_can_breathe(plan: Plan, _: Reference) -> Iterator[Fault]:
    """A heat pack lies outside the liner: a sealed liner cuts off the air that it burns."""
    for box in plan.boxes:
        for pack in box.packs:
            if pack.warms and not pack.outside_liner:
                yield Fault(box.id, f"the heat pack {pack.kind} is inside the liner")


def no_heat_pack_goes_where_none_is_taken(plan: Plan, _: Reference) -> Iterator[Fault]:
    """A carrier that takes no heat packs gets none."""
    refused = plan.journey is not None and plan.journey.heat_packs == "no"
    for box in plan.boxes if refused else ():
        for pack in box.packs:
            if pack.warms:
                yield Fault(box.id, f"has a {pack.kind}, the carrier takes no heat packs")


def outer_size_fits_walls(plan: Plan, reference: Reference) -> Iterator[Fault]:
    """The outer size of a box is its inner size and twice its foam and carton, in every direction."""
    for box in plan.boxes:
        carton = _carton_mm(box, reference)
        for inner, outer in zip(box.inner_mm, box.outer_mm, strict=True):
            least = inner + 2 * (box.wall_mm + carton[0]) - WALL_SLACK_MM
            most = inner + 2 * (box.wall_mm + carton[1]) + WALL_SLACK_MM
            if not least <= outer <= most:
                yield Fault(
                    box.id, f"{outer} mm outside do not fit {inner} mm inside and walls of {box.wall_mm:g} mm"
                )


def boxes_are_as_bought(plan: Plan, reference: Reference) -> Iterator[Fault]:
    """A box of a catalogue type has the inner size, the wall and at most the load of that type."""
    for box in plan.boxes:
        known = reference.boxes.get(box.type)
        if known is None:
            continue
        if sorted(box.inner_mm) != sorted(round(side) for side in known.inner_mm):
            yield Fault(box.id, f"{_mm(box.inner_mm)} inside, the type {box.type} has {_mm(known.inner_mm)}")
        if abs(box.wall_mm - known.wall_mm) > 0.5:
            yield Fault(box.id, f"walls of {box.wall_mm:g} mm, the type {box.type} has {known.wall_mm:g} mm")
        if box.max_kg > known.max_kg:
            yield Fault(
                box.id, f"may weigh {box.max_kg:g} kg, the type {box.type} at most {known.max_kg:g} kg"
            )


def _borne_share(body: Body, bodies: tuple[Body, ...]) -> float:
    if body.at_mm[2] == 0:
        return 1.0
    return sum(area for _, area in _bearing(body, bodies)) / body.base_mm2


def _bearing(body: Body, bodies: tuple[Body, ...]) -> list[tuple[Body, int]]:
    """Return what bears a body, with the areas of contact: neither packs nor crumpled paper do."""
    return [(one, area) for one, area in carriers(body, bodies) if one.kind not in ("pack", "void")]


def _widest_gap_mm(bag: Body, bodies: tuple[Body, ...], inner_mm: Mm3, axis: int) -> int:
    """Return how far a bag could move one way along an axis before something stands in its way."""
    before, after = bag.at_mm[axis], inner_mm[axis] - bag.end_mm[axis]
    for other in bodies:
        if other is bag or other.kind == "board" or not _beside(bag, other, axis):
            continue
        if other.end_mm[axis] <= bag.at_mm[axis]:
            before = min(before, bag.at_mm[axis] - other.end_mm[axis])
        elif other.at_mm[axis] >= bag.end_mm[axis]:
            after = min(after, other.at_mm[axis] - bag.end_mm[axis])
    return max(before, after)


def _beside(bag: Body, other: Body, axis: int) -> bool:
    """Tell whether two bodies overlap seen along an axis; packs count at any height, for their air."""
    side = 1 - axis
    level = other.at_mm[2] < bag.end_mm[2] and bag.at_mm[2] < other.end_mm[2]
    return (level or other.kind == "pack") and (
        other.at_mm[side] < bag.end_mm[side] and bag.at_mm[side] < other.end_mm[side]
    )


def _carton_mm(box: Box, reference: Reference) -> tuple[float, float]:
    """Thickness of the carton; a box of the user's own may have any up to a double wall of 10 mm."""
    known = reference.boxes.get(box.type)
    return (0.0, 10.0) if known is None else (known.carton_mm, known.carton_mm)


def _mm(size: tuple[float, ...]) -> str:
    return " × ".join(f"{side:g}" for side in size) + " mm"
