"""Corals as they stand in the receiving tank: apart, in light, out of the current of soft ones, in order.

Asked only where the plan draws the tank: without its frame there is no place to judge.
"""

from collections.abc import Iterator
from itertools import combinations, pairwise
from math import ceil, dist

from ramet.check.finding import Fault
from ramet.domain.words import BagClass
from ramet.formats.plan import Chosen, Plan
from ramet.formats.tank_report import Placement, TankFrame
from ramet.reference.tables import Reference

ROUNDED_MM = 2.0
"""Places and gaps are whole mm."""
YEAR_D = 365.25
DOWN_CURRENT = {"left": (1, 0), "right": (-1, 0), "front": (0, 1), "back": (0, -1)}
DIMMEST_STEP = 0.12
"""The lamp rises by at most a tenth a week; shares are shown to three digits and weeks to whole days."""
MOST_DKH_A_DAY = 1.0


def pieces_stand_in_the_tank(plan: Plan, _: Reference) -> Iterator[Fault]:
    """Every piece stands between the panes of the tank."""
    frame = plan.tank.frame
    for place in _placed(plan):
        x, y = place.at_mm or (0, 0)
        if frame is not None and not (x <= frame.length_mm and y <= frame.width_mm):
            yield Fault(
                place.piece, f"stands at {x} / {y} mm, outside {frame.length_mm:g} × {frame.width_mm:g}"
            )


def strangers_keep_their_distance(plan: Plan, reference: Reference) -> Iterator[Fault]:
    """Between two pieces of different strains lie the longer reach and what both grow over the horizon."""
    if plan.tank.frame is None:
        return
    horizon_d = plan.tank.frame.horizon_d
    for (one, here), (other, there) in combinations(_standing(plan), 2):
        if one.strain == other.strain:
            continue
        gap = _gap_mm(one, here, other, there)
        asked = _asked_mm(one, other, horizon_d, reference)
        if gap < asked - ROUNDED_MM:
            yield Fault(one.piece, f"stands {gap:.0f} mm from {other.piece}, {asked:.0f} are asked")


def clones_do_not_overlap(plan: Plan, _: Reference) -> Iterator[Fault]:
    """Pieces of one strain may touch, but not stand in each other."""
    if plan.tank.frame is None:
        return
    for (one, here), (other, there) in combinations(_standing(plan), 2):
        if one.strain == other.strain and _gap_mm(one, here, other, there) < -ROUNDED_MM:
            yield Fault(one.piece, f"stands in {other.piece}")


def gaps_are_as_they_stand(plan: Plan, _: Reference) -> Iterator[Fault]:
    """The gap told for a piece is that to its nearest neighbour of another strain."""
    if plan.tank.frame is None:
        return
    standing = _standing(plan)
    for one, here in standing:
        gaps = [_gap_mm(one, here, other, there) for other, there in standing if other.strain != one.strain]
        if gaps and abs(min(gaps) - here.gap_mm) > ROUNDED_MM:
            yield Fault(one.piece, f"is told to stand {here.gap_mm} mm away, it stands {min(gaps):.0f}")


def soft_corals_stand_down_current(plan: Plan, reference: Reference) -> Iterator[Fault]:
    """No stony coral stands in the stretch of water that comes from a soft one."""
    frame = plan.tank.frame
    along = DOWN_CURRENT.get(frame.flow_from or "") if frame is not None else None
    if along is None:
        return
    length = reference.parameter("soft_stream_mm").band.typical
    side = reference.parameter("soft_stream_side_mm").band.typical
    standing = _standing(plan)
    for soft, here in standing:
        for stony, there in standing:
            if soft.bag_class is not BagClass.SOFT or stony.bag_class is BagClass.SOFT:
                continue
            east, north = (b - a for a, b in zip(here.at_mm or (0, 0), there.at_mm or (0, 0), strict=True))
            down = east * along[0] + north * along[1]
            aside = abs(east * along[1] - north * along[0])
            if 0 < down <= length and aside <= side:
                yield Fault(soft.piece, f"stands {down} mm up-current of {stony.piece}")


def pieces_stand_in_their_light(plan: Plan, reference: Reference) -> Iterator[Fault]:
    """The light of a spot lies in the range of the genus that stands on it."""
    for one, place in _standing(plan):
        usable = reference.trait(one.taxon, one.form, "light_par").band
        if place.par is not None and not usable.low - 1 <= place.par <= usable.high + 1:
            yield Fault(
                one.piece, f"gets {place.par:g}, it needs {usable.low:g} to {usable.high:g} µmol/m²/s"
            )


def glue_runs_towards_the_viewer(plan: Plan, _: Reference) -> Iterator[Fault]:
    """Pieces are glued from the far side to the one where people stand."""
    frame = plan.tank.frame
    if frame is None:
        return
    placed = sorted(_placed(plan), key=lambda place: place.order)
    for before, after in pairwise(placed):
        if _far_mm(frame, after) > _far_mm(frame, before):
            yield Fault(after.piece, f"is glued after {before.piece}, which stands nearer to the viewer")


def free_spots_are_free(plan: Plan, _: Reference) -> Iterator[Fault]:
    """Nothing stands on a spot that is called free."""
    taken = {place.at_mm for place in _placed(plan)}
    for spot in plan.tank.free_spots:
        if spot.at_mm in taken:
            yield Fault(f"{spot.at_mm[0]} / {spot.at_mm[1]} mm", "is called free and holds a piece")


def the_lamp_rises_gently(plan: Plan, _: Reference) -> Iterator[Fault]:
    """The lamp rises by about a tenth at most in a week, and ends at the light that was measured."""
    steps = plan.tank.lamp.steps if plan.tank.lamp is not None else ()
    for before, after in pairwise(steps):
        if after.day - before.day < 5 or not before.share <= after.share <= before.share * (1 + DIMMEST_STEP):
            yield Fault("tank.lamp", f"goes from {before.share:.0%} to {after.share:.0%} on day {after.day}")
    if steps and abs(steps[-1].share - 1) > 1e-3:
        yield Fault("tank.lamp", f"ends at {steps[-1].share:.0%} of the light that was measured")


def corrections_are_slow(plan: Plan, _: Reference) -> Iterator[Fault]:
    """Alkalinity is moved by at most 1 dKH a day, and every correction ends at its target."""
    for one in plan.tank.corrections:
        if one.what == "alkalinity" and abs(one.per_day) > MOST_DKH_A_DAY + 1e-6:
            yield Fault("tank.corrections", f"moves alkalinity by {one.per_day:g} dKH a day")
        if abs(one.now + one.per_day * one.days - one.target) > 0.01 * abs(one.target):
            yield Fault("tank.corrections", f"{one.what} does not end at {one.target:g}")


def bags_open_by_the_clock(plan: Plan, _: Reference) -> Iterator[Fault]:
    """Bags are opened one after the other; each floats, is opened, matched, dipped and placed in turn."""
    clocks = [(one.bag, one.clock) for one in plan.tank.acclimation if one.clock is not None]
    for bag, clock in clocks:
        times = (clock.float_from, clock.open_at, clock.matched_at, clock.dip_until, clock.place_from)
        if list(times) != sorted(times):
            yield Fault(bag, f"has its steps at {times} minutes")
    order = {bag.id: bag.opening_order for bag in plan.bags}
    for (first, before), (second, after) in pairwise(sorted(clocks, key=lambda one: order.get(one[0], 0))):
        if after.open_at < before.open_at:
            yield Fault(second, f"is opened before {first}, which comes first")


def stages_hold_every_piece_once(plan: Plan, _: Reference) -> Iterator[Fault]:
    """A staged plan names every piece that is sent, once."""
    if not plan.tank.staging:
        return
    named = sorted(piece for stage in plan.tank.staging for piece in stage.pieces)
    sent = sorted(one.piece for one in plan.chosen)
    if named != sent:
        odd = sorted(set(named) ^ set(sent)) or ["one twice"]
        yield Fault("tank.staging", f"does not match the pieces sent: {', '.join(odd)}")


def _placed(plan: Plan) -> list[Placement]:
    return [place for place in plan.tank.placement if place.at_mm is not None]


def _standing(plan: Plan) -> list[tuple[Chosen, Placement]]:
    chosen = {one.piece: one for one in plan.chosen}
    return [(chosen[place.piece], place) for place in _placed(plan) if place.piece in chosen]


def _gap_mm(one: Chosen, here: Placement, other: Chosen, there: Placement) -> float:
    middles = dist((*(here.at_mm or ()), here.height_mm), (*(there.at_mm or ()), there.height_mm))
    return middles - max(one.size_mm[:2]) / 2 - max(other.size_mm[:2]) / 2


def _asked_mm(one: Chosen, other: Chosen, horizon_d: int, reference: Reference) -> int:
    def typical(it: Chosen, trait: str) -> float:
        return 10 * reference.trait(it.taxon, it.form, trait).band.typical

    reach = max(typical(one, "reach_cm"), typical(other, "reach_cm"))
    if (one.bag_class is BagClass.SOFT) != (other.bag_class is BagClass.SOFT):
        reach = max(reach, 10 * reference.parameter("soft_spread").band.typical)
    grown = sum(typical(it, "extension_cm_yr") for it in (one, other)) * horizon_d / YEAR_D
    return ceil(reach + grown)


def _far_mm(frame: TankFrame, place: Placement) -> float:
    x, y = place.at_mm or (0, 0)
    sides = {"front": y, "back": frame.width_mm - y, "left": x, "right": frame.length_mm - x}
    return sides[frame.viewed_from[0]]
