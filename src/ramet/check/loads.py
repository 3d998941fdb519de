"""What rests on what: no bag bears more than it can, no stack is too high, no board tips."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from ramet.check.bodies import Body, below, bodies_in, carriers, shared_footprint_mm2
from ramet.check.finding import Fault
from ramet.check.switches import is_off, owns_up
from ramet.domain.words import Form, PackingRule
from ramet.formats.plan import Bag, Box, Plan
from ramet.reference.tables import Reference

HINT = "fill between the board and the lower bags beneath it lets them bear it too"
FRAGILE_FORMS = frozenset({Form.BRANCHING, Form.TABLE, Form.PLATING})
ROUNDING_KG = 0.005


def no_bag_is_crushed(plan: Plan, reference: Reference) -> Iterator[Fault]:
    """What rests on bags weighs no more than their types carry together."""
    for box in plan.boxes:
        heap = _heap(plan, box, reference)
        for body in heap.bodies:
            bearers = heap.bearers(body)
            if body.kind not in ("board", "bag") or not bearers:
                continue
            load, carries = heap.load_kg(body), sum(heap.carries[one.name] for one in bearers)
            if load > carries + ROUNDING_KG:
                hint = f" ({HINT})" if body.kind == "board" else ""
                yield Fault(
                    box.id, f"{body.name} puts {load:.2f} kg on bags that carry {carries:.2f} kg{hint}"
                )


def nothing_rests_on_fragile_corals(plan: Plan, reference: Reference) -> Iterator[Fault]:
    """Nothing lies on a soft-walled bag with branching, table or plating corals."""
    for box in plan.boxes:
        heap = _heap(plan, box, reference)
        for body in heap.bodies:
            bears = body.kind in ("board", "bag") or heap.bears_something(body)
            for other, _ in carriers(body, heap.bodies):
                if bears and other.kind == "bag" and heap.carries[other.name] == 0:
                    yield Fault(box.id, f"{body.name} lies on {other.name}, which bears nothing")


def boards_share_their_bearers(plan: Plan, reference: Reference) -> Iterator[Fault]:
    """Boards side by side weigh no more together than all bags below them carry: none bears twice."""
    for box in plan.boxes:
        heap = _heap(plan, box, reference)
        boards = [body for body in heap.bodies if body.kind == "board"]
        lowest = [one for one in boards if not any(other.kind == "board" for other in below(one, boards))]
        bearers = {one.name for board in lowest for one in heap.bearers(board)}
        load = sum(heap.load_kg(board) for board in lowest if heap.bearers(board))
        carries = sum(heap.carries[name] for name in bearers)
        if load > carries + ROUNDING_KG:
            yield Fault(box.id, f"its boards put {load:.2f} kg on bags that carry {carries:.2f} kg together")


def mass_is_centred(plan: Plan, reference: Reference) -> Iterator[Fault]:
    """The middle of the mass of a box's bags is near the middle of its floor, unless a caution names the box.

    A plan that was changed at the bench keeps its packed bags where they are.
    """
    share = reference.parameter("mass_off_centre").band.high
    for box in plan.boxes if not plan.changes else ():
        if owns_up(plan, "mass_off_centre", box.id):
            continue
        bags = [bag for bag in plan.bags if bag.box == box.id]
        total = sum(bag.mass_kg for bag in bags)
        for axis, name in ((0, "along"), (1, "across")) if total else ():
            middle = sum(bag.mass_kg * (bag.at_mm[axis] + bag.size_mm[axis] / 2) for bag in bags) / total
            off = abs(middle - box.inner_mm[axis] / 2)
            if off > share * box.inner_mm[axis]:
                yield Fault(box.id, f"the middle of its mass is {off:.0f} mm off {name}")


def stacks_are_not_too_high(plan: Plan, reference: Reference) -> Iterator[Fault]:
    """No more bags stand over each other than the type of the lowest allows."""
    types = {bag.id: reference.bags.get(bag.type) for bag in plan.bags}
    for box in plan.boxes:
        bags = [body for body in bodies_in(plan, box) if body.kind == "bag"]
        for body in bags:
            known, levels = types[body.name], _levels(body, bags)
            if known is not None and levels > known.stack_most:
                yield Fault(body.name, f"stands under a stack of {levels}, at most {known.stack_most}")


def boards_do_not_tip(plan: Plan, reference: Reference) -> Iterator[Fault]:
    """The middle of what a board carries lies within the ground that its bearers span."""
    for box in plan.boxes:
        heap = _heap(plan, box, reference)
        for board in heap.bodies:
            bearers = heap.bearers(board)
            if board.kind != "board" or not bearers:
                continue
            for axis, name in ((0, "along"), (1, "across")):
                middle = heap.middle_mm(board, axis)
                low = min(one.at_mm[axis] for one in (*bearers, *heap.posts(board)))
                high = max(one.end_mm[axis] for one in (*bearers, *heap.posts(board)))
                if not low <= middle <= high:
                    borne = f"loaded at {middle:.0f} mm, borne {low} to {high} mm"
                    yield Fault(box.id, f"{board.name} tips {name}: {borne} ({HINT})")


@dataclass(frozen=True, slots=True)
class _Heap:
    """What stands in one box, what each bag weighs and carries, and how far bags give under a board."""

    bodies: Sequence[Body]
    masses: Mapping[str, float]
    carries: Mapping[str, float]
    give_mm: float
    board_kg_m2: float

    def bearers(self, body: Body) -> list[Body]:
        """Return the bags that bear a body: touched by it, or by fill below it, or nearly touched."""
        give = self.give_mm if body.kind == "board" else 0
        fills = [one for one, _ in carriers(body, self.bodies) if one.kind == "fill"]
        return [
            bag
            for bag in self.bodies
            if bag.kind == "bag"
            and bag is not body
            and any(
                0 <= one.at_mm[2] - bag.end_mm[2] <= give and shared_footprint_mm2(one, bag) > 0
                for one in (body, *fills)
            )
        ]

    def posts(self, board: Body) -> list[Body]:
        """Return the blocks of fill that stand on the floor of the box and reach up to a board."""
        return [one for one, _ in carriers(board, self.bodies) if one.kind == "fill" and one.at_mm[2] == 0]

    def bears_something(self, body: Body) -> bool:
        """Tell whether anything rests on a body."""
        return any(bearer is body for other in self.bodies for bearer, _ in carriers(other, self.bodies))

    def load_kg(self, body: Body) -> float:
        """Return the mass of a body and of what stands on it, shared out by the area of contact."""
        load = self.masses.get(body.name, 0.0)
        if body.kind == "board":
            load = body.base_mm2 * 1e-6 * self.board_kg_m2
        for other in self.bodies:
            borne = carriers(other, self.bodies)
            total = sum(area for _, area in borne)
            load += sum(self.load_kg(other) * area / total for bearer, area in borne if bearer is body)
        return load

    def middle_mm(self, board: Body, axis: int) -> float:
        """Return where along an axis the middle of a board and of the bags on it lies."""
        weights = [(board.base_mm2 * 1e-6 * self.board_kg_m2, _centre_mm(board, axis))]
        for other in self.bodies:
            if any(bearer is board for bearer, _ in carriers(other, self.bodies)):
                weights.append((self.masses.get(other.name, 0.0), _centre_mm(other, axis)))
        return sum(mass * at for mass, at in weights) / sum(mass for mass, _ in weights)


def _heap(plan: Plan, box: Box, reference: Reference) -> _Heap:
    return _Heap(
        bodies=bodies_in(plan, box),
        masses={bag.id: bag.mass_kg for bag in plan.bags},
        carries={bag.id: _carries_kg(bag, plan, reference) for bag in plan.bags},
        give_mm=reference.parameter("bag_give_mm").band.high,
        board_kg_m2=reference.parameter("board_kg_m2").band.low,
    )


def _carries_kg(bag: Bag, plan: Plan, reference: Reference) -> float:
    known = reference.bags.get(bag.type)
    if known is None:
        return 0.0
    spared = not is_off(plan, PackingRule.FRAGILE_ON_TOP)
    fragile = spared and any(one.form in FRAGILE_FORMS for one in plan.chosen if one.piece in bag.pieces)
    return 0.0 if fragile and not known.rigid else known.carries_kg


def _levels(body: Body, bags: Sequence[Body]) -> int:
    """Return how many bags stand over each other from this one up, itself included."""
    above = [
        other
        for other in bags
        if other is not body and other.at_mm[2] >= body.end_mm[2] and shared_footprint_mm2(body, other) > 0
    ]
    return 1 + max((_levels(other, bags) for other in above), default=0)


def _centre_mm(body: Body, axis: int) -> float:
    return body.at_mm[axis] + body.size_mm[axis] / 2
