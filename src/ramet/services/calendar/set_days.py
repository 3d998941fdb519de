"""The tasks whose times are set: packing box by box, handover, opening, and the receiver's looks after."""

import math
from collections.abc import Sequence
from datetime import UTC, datetime, time, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from ramet.formats.plan import Task
from ramet.services.calendar.work import counted

if TYPE_CHECKING:
    from ramet.formats.plan import Bag
    from ramet.services.calendar.work import Setting

RESULT_DAYS = (1, 3, 7, 14, 30)
"""Days after opening on which the receiver looks; the last two of the outcome days come by themselves."""


def packing_tasks(setting: "Setting", bags: Sequence["Bag"], after: tuple[str, ...]) -> tuple[Task, ...]:
    """Return one task a box from the first sealing on, boxes in the order in which their first bag is sealed.

    When sealing and closing need longer than until the departure, all are shortened alike to end by it;
    `packing_min` tells how long they need.
    """
    needed = packing_min(setting, bags)
    room = max(1.0, (setting.departs - setting.sealed_from).total_seconds() / 60)
    squeeze = min(1.0, room / needed) if needed else 1.0
    tasks: list[Task] = []
    starts = setting.sealed_from
    boxes = _boxes(bags)
    for box, held in boxes:
        lasts = math.floor(_box_min(setting, held, len(boxes)) * squeeze)
        ends = starts + timedelta(minutes=lasts)
        pieces = tuple(piece for bag in held for piece in bag.pieces)
        goods = [bag.goods for bag in held if bag.goods]
        with_goods = f" and {', '.join(goods)}" if goods else ""
        tasks.append(
            Task(
                id=f"pack-{box}",
                kind="pack",
                title=f"Seal {_bags(held)} into box {box}: {counted(pieces)}{with_goods}; close it",
                pieces=pieces,
                starts=starts.astimezone(setting.zone),
                ends=ends.astimezone(setting.zone),
                latest_start=starts.astimezone(setting.zone),
                bench_min=lasts,
                after=(tasks[-1].id,) if tasks else after,
                note="In the sealing order; lights stay off until the lids are on.",
            )
        )
        starts = ends
    return tuple(tasks)


def packing_min(setting: "Setting", bags: Sequence["Bag"]) -> int:
    """Return the minutes from the first sealing to the last lid."""
    boxes = _boxes(bags)
    return sum(_box_min(setting, held, len(boxes)) for _, held in boxes)


def handover(setting: "Setting", after: tuple[str, ...]) -> Task:
    """Return the handover to the carrier at the departure."""
    lasts = setting.minutes("handover")
    starts = setting.departs.astimezone(setting.zone)
    return Task(
        id="handover",
        kind="handover",
        title="Hand the boxes over; send the tracking number and the opening order to the receiver",
        pieces=(),
        starts=starts,
        ends=(setting.departs + timedelta(minutes=lasts)).astimezone(setting.zone),
        latest_start=starts,
        bench_min=lasts,
        after=after,
    )


def receiver_tasks(setting: "Setting", bags: Sequence["Bag"]) -> tuple[Task, ...]:
    """Return what the receiver does from the due time on, on the receiver's clock."""
    zone = ZoneInfo(setting.shipment.receiver.zone)
    due = setting.shipment.due.astimezone(UTC)
    pieces = tuple(piece for bag in sorted(bags, key=lambda bag: bag.opening_order) for piece in bag.pieces)
    lasts = math.ceil(setting.shipment.handling_min_per_bag * len(bags))
    opened = Task(
        id="open",
        kind="open",
        title=f"Receiver opens {_bags(bags)} in the opening order",
        pieces=pieces,
        starts=due.astimezone(zone),
        ends=(due + timedelta(minutes=lasts)).astimezone(zone),
        latest_start=due.astimezone(zone),
        bench_min=0,
        after=("handover",),
        note="Measure bag temperature and count the living; photograph what is not.",
    )
    return (opened, *(_look(setting, days, opened, zone) for days in RESULT_DAYS))


def _look(setting: "Setting", days: int, opened: Task, zone: ZoneInfo) -> Task:
    day = opened.starts.astimezone(zone).date() + timedelta(days=days)
    hour = int(setting.typical("result_hour"))
    starts = datetime.combine(day, time(hour), zone)
    lasts = timedelta(minutes=setting.minutes("result_check"))
    return Task(
        id=f"look-{days}",
        kind="look",
        title=f"Receiver notes how each piece does, day {days}",
        pieces=opened.pieces,
        starts=starts,
        ends=(starts.astimezone(UTC) + lasts).astimezone(zone),
        latest_start=starts,
        bench_min=0,
        after=("open",),
    )


def _boxes(bags: Sequence["Bag"]) -> list[tuple[str, list["Bag"]]]:
    held: dict[str, list[Bag]] = {}
    for bag in sorted(bags, key=lambda bag: bag.sealing_order):
        held.setdefault(bag.box, []).append(bag)
    return list(held.items())


def _bags(bags: Sequence["Bag"]) -> str:
    return f"{len(bags)} bag{'' if len(bags) == 1 else 's'}"


def _box_min(setting: "Setting", held: Sequence["Bag"], boxes: int) -> int:
    """Minutes for one box: its bags, and its share of the time for closing, in which all boxes are closed."""
    per_bag = setting.shipment.handling_min_per_bag
    return math.floor(per_bag * len(held) + setting.typical("box_closing_min") / boxes)
