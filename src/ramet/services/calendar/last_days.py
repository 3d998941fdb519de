"""The work of the last days before the boxes leave, and what is asked of the receiver."""

import math
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from ramet.services.calendar.work import Setting, Work, counted, inspection_min

if TYPE_CHECKING:
    from ramet.formats.plan import Bag, Chosen


def last_days(setting: Setting, chosen: Sequence["Chosen"], bags: Sequence["Bag"]) -> tuple[Work, ...]:
    """Return the jobs of the last days: tests, last inspection and feed, go / no-go, water and labels."""
    corals = (_inspection(setting, chosen), _last_feed(setting, chosen)) if chosen else ()
    return (
        tank_test(setting),
        _water_test(setting),
        *corals,
        _labels(setting, bags),
        _go_no_go(setting, after_inspection=bool(chosen)),
        _mix_water(setting, bags),
    )


def tank_test(setting: Setting) -> Work:
    """Return the receiver's test of the tank, at a fixed hour on the receiver's clock."""
    zone = ZoneInfo(setting.shipment.receiver.zone)
    days = timedelta(days=math.ceil(setting.typical("tank_test_before")))
    day = max(setting.packed_on - days, setting.today)
    starts = datetime.combine(day, setting.begins.time(), zone)
    lasts = setting.minutes("tank_test")
    # On the day itself there may be no morning left: the test then comes first thing on the sender's clock.
    starts = max(min(starts, setting.sealed_from - timedelta(hours=2)), setting.begins).astimezone(UTC)
    return Work(
        id="tank-test",
        parts=(("tank_test", "Receiver tests the tank and sends the numbers", lasts),),
        pieces=(),
        starts_from=starts,
        ends_by=starts + timedelta(minutes=lasts),
        note="Temperature, salinity, alkalinity, calcium, magnesium, ammonia, nitrate, phosphate.",
        hands_min=0,
        zone=zone,
    )


def _water_test(setting: Setting) -> Work:
    lasts = setting.minutes("water_test_system")
    return Work(
        id="water-test",
        parts=(("water_test", "Test and record the water of each source system", lasts),),
        pieces=(),
        starts_from=_days_before(setting, setting.reference.parameter("water_test_before").band.high),
        ends_by=_eve_ends(setting),
        note="The receiver matches this water; the bags hold it.",
    )


def _inspection(setting: Setting, chosen: Sequence["Chosen"]) -> Work:
    pieces = tuple(piece.piece for piece in chosen)
    return Work(
        id="inspect",
        parts=(
            (
                "inspect",
                f"Last inspection, {counted(pieces)}: edges, tissue, pests",
                inspection_min(setting, pieces),
            ),
        ),
        pieces=pieces,
        starts_from=_days_before(setting, 2),
        ends_by=_eve_ends(setting),
        note="A piece that fails stays: name its spare now.",
    )


def _last_feed(setting: Setting, chosen: Sequence["Chosen"]) -> Work:
    fasting = setting.reference.parameter("fasting").band
    lasts = setting.minutes("last_feed")
    return Work(
        id="last-feed",
        parts=(
            ("feed", f"Last feed, then none until the boxes are open ({fasting.low:g} h at least)", lasts),
        ),
        pieces=tuple(piece.piece for piece in chosen),
        starts_from=max(setting.begins, setting.sealed_from - timedelta(hours=fasting.high)),
        ends_by=setting.sealed_from - timedelta(hours=fasting.low),
    )


def _labels(setting: Setting, bags: Sequence["Bag"]) -> Work:
    lasts = math.ceil(setting.typical("lay_out") + setting.typical("label_bag") * len(bags))
    return Work(
        id="labels",
        parts=(("labels", f"Print {len(bags)} bag labels and lay out bags, bands, packs and boxes", lasts),),
        pieces=(),
        starts_from=_days_before(setting, 2),
        ends_by=_eve_ends(setting),
    )


def _go_no_go(setting: Setting, *, after_inspection: bool) -> Work:
    return Work(
        id="go",
        parts=(
            (
                "go_no_go",
                "Go or no-go: forecast of every leg, receiving tank's test, someone there to receive",
                setting.minutes("go_no_go"),
            ),
        ),
        pieces=(),
        starts_from=_days_before(setting, 1),
        ends_by=_eve_ends(setting),
        after=(("tank-test", 0.0), *((("inspect", 0.0),) if after_inspection else ())),
        note="Run the forecast again with the newest weather. Ask the receiver by name who opens the boxes.",
    )


def _mix_water(setting: Setting, bags: Sequence["Bag"]) -> Work:
    litres = sum(bag.water_l for bag in bags)
    return Work(
        id="mix-water",
        parts=(
            (
                "mix_water",
                f"Mix packing water: {litres:.1f} L goes into bags",
                setting.minutes("mix_water_hands"),
            ),
        ),
        pieces=(),
        starts_from=_days_before(setting, 2),
        ends_by=setting.sealed_from - timedelta(hours=setting.typical("mix_water_stands")),
        note="Stir and bring to the source system's temperature and salinity; mix a tenth more.",
    )


def _days_before(setting: Setting, days: float) -> datetime:
    day = setting.packed_on - timedelta(days=math.ceil(days))
    return max(setting.begins, setting.at(day, setting.typical("working_day_starts")))


def _eve_ends(setting: Setting) -> datetime:
    """End of work on the day before packing; when that day is gone, the moment of packing."""
    eve = setting.packed_on - timedelta(days=1)
    return setting.day_ends(eve) if eve >= setting.today else setting.sealed_from
