"""What does not work out in a calendar, in a grower's words."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from ramet.services.calendar.carrier_days import (
    in_words,
    last_shipping_day,
    refusal,
    shipping_days,
    standstill,
)
from ramet.services.calendar.fitting import Fitted
from ramet.services.calendar.healing import edge_sealed_on
from ramet.services.calendar.set_days import packing_min
from ramet.services.calendar.work import Setting

if TYPE_CHECKING:
    from ramet.formats.plan import Bag, Chosen


@dataclass(frozen=True, slots=True)
class Lateness:
    """What had to give: cuts that will not seal, dips (how many fit, how many were wanted), jobs left out.

    `works_on` is the first packing day on which nothing has to.
    """

    unsealed: tuple["Chosen", ...]
    dips: Mapping[str, tuple[int, int]]
    fitted: Fitted
    works_on: date | None = None

    @property
    def any(self) -> bool:
        """Whether the calendar is later than it should be."""
        return bool(self.unsealed or self.dips or self.fitted.left_out)


def problems(
    setting: Setting, chosen: Sequence["Chosen"], bags: Sequence["Bag"], late: Lateness
) -> tuple[str, ...]:
    """Return what keeps the boxes from leaving as planned, most serious first."""
    stops = [
        *_unsealed(setting, late),
        *_left_out(late),
        *_no_handover(setting),
        *_packing_too_long(setting, bags),
    ]
    return (*stops, *_what_now(setting, chosen, late)) if stops else ()


def cautions(setting: Setting, late: Lateness) -> tuple[str, ...]:
    """Return what a careful sender should know about the calendar, though the boxes may leave."""
    return (*_dips(late), *_on_the_way(setting), *_cut_off(setting), *_bench(setting, late))


def _unsealed(setting: Setting, late: Lateness) -> list[str]:
    sealed: dict[date, list[Chosen]] = {}
    for piece in late.unsealed:
        closed = edge_sealed_on(setting.reference, piece.taxon, piece.form, setting.today)
        sealed.setdefault(closed, []).append(piece)
    return [
        f"Too late to cut {', '.join(piece.piece for piece in pieces)}: cut today, the edge is closed on "
        f"{in_words(closed)}; packing is on {in_words(setting.packed_on)}."
        for closed, pieces in sorted(sealed.items(), key=lambda one: one[0])
    ]


def _left_out(late: Lateness) -> list[str]:
    return [
        f"Too late by {_hours(found.by_min)}, so left out: “{work.parts[0][1]}”."
        for work, found in late.fitted.left_out
    ]


def _dips(late: Lateness) -> list[str]:
    alike: dict[tuple[int, int], list[str]] = {}
    for name, counts in late.dips.items():
        alike.setdefault(counts, []).append(name)
    since = "" if late.works_on is None else f" (all would if packed on {in_words(late.works_on)})"
    texts = []
    for (fitted, wanted), names in alike.items():
        many = "no dip fits" if fitted == 0 else f"only {fitted} of {wanted} dips fits"
        listed = ", ".join(names)
        texts.append(
            f"{listed[0].upper()}{listed[1:]}: {many} before packing{since}. Tell the receiver to look for "
            "eggs and to dip again after arrival."
        )
    return texts


def _what_now(setting: Setting, chosen: Sequence["Chosen"], late: Lateness) -> list[str]:
    if not late.any:
        return []
    when = "no day within a year" if late.works_on is None else in_words(late.works_on)
    texts = [f"The earliest packing day on which everything fits is {when}."]
    if late.unsealed:
        ready = len(chosen) - len(late.unsealed)
        texts.append(
            f"{ready} of {len(chosen)} pieces can still go on {in_words(setting.packed_on)}: those that need "
            "no cut, or are cut in time."
        )
    return texts


def _no_handover(setting: Setting) -> list[str]:
    why = refusal(setting.shipment.carrier, setting.departs.astimezone(setting.zone).date())
    if why is None:
        return []
    return [f"The handover falls on a day that does not work: {why}.{_other_days(setting)}"]


def _on_the_way(setting: Setting) -> list[str]:
    leaves_on = setting.departs.astimezone(setting.zone).date()
    arrives_on = setting.shipment.due.astimezone(ZoneInfo(setting.shipment.receiver.zone)).date()
    days = (leaves_on + timedelta(days=ahead) for ahead in range(1, (arrives_on - leaves_on).days + 1))
    found = (standstill(setting.shipment.carrier, day) for day in days)
    return [
        f"On the way, {still}: the boxes may lie still. Ask the carrier, or move the due day."
        for still in found
        if still is not None
    ]


def _cut_off(setting: Setting) -> list[str]:
    leaves = setting.departs.astimezone(setting.zone)
    cut_off = setting.typical("carrier_cut_off")
    if leaves.hour + leaves.minute / 60 <= cut_off:
        return []
    return [
        f"Handover at {leaves:%H:%M} is later than carriers usually take boxes ({cut_off:g}:00): ask for the "
        "cut-off of the day."
    ]


def _other_days(setting: Setting) -> str:
    carrier, leaves = setting.shipment.carrier, setting.departs.astimezone(setting.zone).date()
    before = last_shipping_day(carrier, leaves)
    later = next(shipping_days(carrier, leaves), None)
    offers = [in_words(day) for day in (before, later) if day is not None and day > setting.today]
    return f" Shipping days near it: {', '.join(offers)}." if offers else ""


def _bench(setting: Setting, late: Lateness) -> list[str]:
    texts = []
    planned = late.fitted.planned
    if not planned.feasible:
        texts.append("One pair of hands is not enough for the working hours left: work with two.")
    if late.fitted.free_days:
        days = ", ".join(in_words(day) for day in late.fitted.free_days)
        texts.append(f"Some work falls on a weekend or public holiday ({days}): it can't be done before.")
    most = setting.shipment.gear.bench_hours_d * 60
    if planned.peak_min > most:
        texts.append(
            f"The heaviest day takes {_hours(planned.peak_min)} at the bench; you have {most / 60:g} h."
        )
    return texts


def _packing_too_long(setting: Setting, bags: Sequence["Bag"]) -> list[str]:
    packing, room = packing_min(setting, bags), (setting.departs - setting.sealed_from).total_seconds() / 60
    if packing <= room + 1:
        return []
    return [
        f"Packing {len(bags)} bags takes {_hours(packing)}, but they leave {_hours(int(room))} after the "
        "first bag is sealed: start earlier or pack with two."
    ]


def _hours(minutes: int) -> str:
    return f"{minutes} min" if minutes < 120 else f"{minutes / 60:.1f} h"
