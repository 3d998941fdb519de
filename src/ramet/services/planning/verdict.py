"""The verdict on a plan, in words a grower reads first."""

from collections.abc import Sequence

from ramet.domain.words import Rank, Status
from ramet.formats.plan import BagForecast, LeftOut
from ramet.services.planning.gather import Inputs
from ramet.services.planning.loads import Load


def judge(
    inputs: Inputs,
    loads: Sequence[Load],
    bags: Sequence[BagForecast],
    missing: Sequence[LeftOut],
    calendar_problems: Sequence[str],
) -> tuple[Status, str]:
    """Return status and verdict. Ready: every must goes, and every bag holds on time at p05."""
    if not loads:
        return (
            Status.IMPOSSIBLE,
            "Impossible as asked: nothing that is wished for can go. The reasons stand below.",
        )
    short = [one.request for one in missing if one.rank is Rank.MUST]
    thin = [bag for bag in bags if bag.margin_h < 0]
    what = _what(loads)
    if short or thin:
        return Status.SHORT, " ".join(["Short.", *_shortfalls(short, thin), what])
    if inputs.shipment.carrier.live_aquatics == "no":
        return Status.WAIT, f"Wait: the carrier does not take live aquatic animals. {what}"
    if calendar_problems:
        return Status.WAIT, f"Wait: {calendar_problems[0]} {what}"
    least = min(bags, key=lambda one: one.margin_h)
    return Status.READY, (
        f"Ready. {what} On an on-time journey every bag outlasts its need; the thinnest, {least.id}, by "
        f"{least.margin_h:.1f} h in 19 of 20 forecasts. {_if_late(bags)}"
    )


def _what(loads: Sequence[Load]) -> str:
    pieces = sum(len(load.parcel.candidates) for load in loads)
    boxes = len({load.box for load in loads})
    go = "piece goes" if pieces == 1 else "pieces go"
    bags = f"{len(loads)} bag{'s' if len(loads) > 1 else ''}"
    return f"{pieces} {go} in {bags} and {boxes} box{'es' if boxes > 1 else ''}."


def _shortfalls(short: Sequence[str], thin: Sequence[BagForecast]) -> list[str]:
    words = []
    if short:
        words.append(f"Musts that cannot all go: {', '.join(short)}.")
    if thin:
        listed = ", ".join(f"{bag.id} by {-bag.margin_h:.1f} h ({bag.first_limit})" for bag in thin)
        words.append(f"Bags that do not hold until they are opened: {listed}.")
    return words


def _if_late(bags: Sequence[BagForecast]) -> str:
    late = [bag for bag in bags if bag.margin_late_h < 0]
    if not late:
        return "Even a day late, all hold."
    return f"A day late, {len(late)} of {len(bags)} would not: call the carrier early."
