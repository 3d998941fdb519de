"""Numbers, times and lists as they are written on paper: one place for units, rounding and zones."""

import re
from datetime import date, datetime
from decimal import Decimal
from zoneinfo import ZoneInfo

from ramet.domain.words import BagClass, Gas, Rank, Stance, Status
from ramet.formats.plan import Bag, BagForecast, Cost, OtherWay, Percentiles, Plan

DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")

VERDICT = {
    Status.READY: "Ready to go",
    Status.SHORT: "Goes, but short",
    Status.WAIT: "Wait",
    Status.IMPOSSIBLE: "Does not go",
}
CLASS = {
    BagClass.STONY: "stony",
    BagClass.SOFT: "soft",
    BagClass.ZOANTHID: "zoanthid",
    BagClass.STINGING: "stinging",
    BagClass.GOODS: "goods",
}
RANK = {Rank.MUST: "must", Rank.WANT: "want", Rank.FILLER: "filler"}
STANCE = {Stance.STANDS: "stands upright", Stance.LIES: "lies flat"}
GAS = {Gas.AIR: "air", Gas.OXYGEN: "oxygen"}

CUT_SHORT = "The search for a better set was cut short; this is the best plan it had."


def number(value: float, digits: int = 1) -> str:
    """Write a number with a real minus sign and without a negative zero.

    >>> number(-0.04), number(-3.25, 1), number(12.0, 0)
    ('0.0', '−3.2', '12')
    """
    text = f"{value:.{digits}f}"
    if float(text) == 0:
        text = text.lstrip("-")
    return text.replace("-", "−")


def hours(value: float) -> str:
    """Write hours to a tenth."""
    return f"{number(value)} h"


def signed_hours(value: float) -> str:
    """Write a margin with its sign, so that a shortfall cannot be read as room.

    >>> signed_hours(4.25), signed_hours(-1.5)
    ('+4.2 h', '−1.5 h')
    """
    text = number(value)
    return f"{text} h" if text.startswith("−") else f"+{text} h"


def held(value: float, horizon_h: float) -> str:
    """Write a hold time; one that outlasts the forecast is only known to be longer.

    >>> held(96.0, 96.0), held(41.23, 96.0)
    ('> 96 h', '41.2 h')
    """
    return f"> {number(horizon_h, 0)} h" if value >= horizon_h else hours(value)


def held_band(hold: Percentiles, horizon_h: float) -> str:
    """Write the 5th, 50th and 95th percentile of a hold time, in hours."""
    percentiles = (hold.p05, hold.p50, hold.p95)
    return " · ".join(held(value, horizon_h).removesuffix(" h") for value in percentiles) + " h"


def margin(value: float, hold: Percentiles, horizon_h: float) -> str:
    """Write a margin; it is a lower bound when even the 5th percentile outlasts the forecast."""
    text = signed_hours(value)
    return f"> {text}" if hold.p05 >= horizon_h else text


def late_margin(bag: BagForecast, horizon_h: float) -> str:
    """Write the margin of a late journey; a lower bound when the late hold outlasts the forecast too."""
    held_h = bag.hold_h.p05 if bag.hold_late_p05_h is None else bag.hold_late_p05_h
    text = signed_hours(bag.margin_late_h)
    return f"> {text}" if held_h >= horizon_h else text


def litres(value: float) -> str:
    """Write litres to a hundredth; bags are filled to that."""
    return f"{number(value, 2)} L"


def filling(bag: Bag, litres_of: float) -> str:
    """Write what goes into a bag, for a divided one what goes into each of its pockets."""
    if bag.compartments == 1:
        return litres(litres_of)
    return f"{bag.compartments} × {litres(litres_of / bag.compartments)}"


def sharing(bag: Bag) -> str:
    """Tell how pieces that share a bag are kept from each other; nothing for a bag of one piece."""
    if bag.compartments > 1:
        return "one piece in each pocket, water and gas alike in all"
    return "fixed apart on a rack or foam, clear of each other and of the film" if len(bag.pieces) > 1 else ""


def closures(bag: Bag) -> int:
    """Return how many bands or clips a bag takes: one for each pocket of each layer."""
    return bag.layers * bag.compartments


def kilograms(value: float) -> str:
    """Write kilograms to a tenth."""
    return f"{number(value)} kg"


def millimetres(size: tuple[float, ...]) -> str:
    """Write sizes as a × b × c mm, in one piece that no line break parts."""
    return "\u00a0×\u00a0".join(number(side, 0) for side in size) + "\u00a0mm"


def day(value: date) -> str:
    """Write a day without its year.

    >>> day(date(2027, 1, 19))
    'Tue 19 Jan'
    """
    return f"{DAYS[value.weekday()]} {value.day} {MONTHS[value.month - 1]}"


def clock(value: datetime, zone: str) -> str:
    """Write the time of day in a zone."""
    return f"{value.astimezone(ZoneInfo(zone)):%H:%M}"


def moment(value: datetime, zone: str) -> str:
    """Write day and time in a zone, without naming it."""
    there = value.astimezone(ZoneInfo(zone))
    return f"{day(there)} {there:%H:%M}"


def zoned(value: datetime, zone: str) -> str:
    """Write day and time with the name of the zone.

    >>> from datetime import UTC
    >>> zoned(datetime(2027, 1, 19, 21, 30, tzinfo=UTC), "America/Chicago")
    'Tue 19 Jan 15:30 CST'
    """
    return f"{moment(value, zone)} {zone_name(value, zone)}"


def zone_name(value: datetime, zone: str) -> str:
    """Return the short name of a zone on that day."""
    return value.astimezone(ZoneInfo(zone)).tzname() or zone


def plural(count: int, one: str, many: str | None = None) -> str:
    """Write a count with its noun.

    >>> plural(1, "bag"), plural(3, "bag"), plural(2, "box", "boxes")
    ('1 bag', '3 bags', '2 boxes')
    """
    return f"{count} {one if count == 1 else many or one + 's'}"


def plain(text: str) -> str:
    """Turn a code into words, for values that come as one.

    >>> plain("round_102x254")
    'round 102 × 254'
    """
    return re.sub(r"(?<=\d)x(?=\d)", " × ", text.replace("_", " "))


def box_name(box_id: str) -> str:
    """Name a box as one says it.

    >>> box_name("B"), box_name("box-1")
    ('box B', 'box-1')
    """
    return box_id if box_id.lower().startswith("box") else f"box {box_id}"


def costs(plan: Plan) -> list[str]:
    """Write what the boxes cost, or why the rates at hand cannot tell; nothing where there are none."""
    return [cost(plan.cost)] if plan.cost else [plan.no_cost] if plan.no_cost else []


def ways(plan: Plan) -> list[str]:
    """Write what the boxes cost, and what other ways would carry and cost."""
    return costs(plan) + [other_way(way, plan.cost) for way in plan.other_ways]


def cost(told: Cost) -> str:
    """Write what the boxes cost, in all and for each piece."""
    each = "" if told.per_piece is None else f", {money(told.per_piece, told.currency)} a piece"
    zone = f" to zone {told.zone}" if told.zone else ""
    return f"Sending costs {money(told.total, told.currency)}{zone}{each}, by your rates."


def other_way(way: OtherWay, told: Cost | None) -> str:
    """Write what another way would carry, and cost where a rate table tells it."""
    sure = "" if way.proven else " A better set may exist."
    if way.cost is None or told is None or not (way.gains or way.loses):
        return way.text + sure
    each = "" if way.cost_per_piece is None else f", {money(way.cost_per_piece, told.currency)} a piece"
    apart = way.cost - told.total
    than_now = f"{money(abs(apart), told.currency)} {'more' if apart > 0 else 'less'}" if apart else "as now"
    return f"{way.text} It would cost {money(way.cost, told.currency)}{each} ({than_now}).{sure}"


def money(amount: Decimal, currency: str) -> str:
    """Write money with its currency, if that is known.

    >>> money(Decimal("84.2"), "USD"), money(Decimal("3"), "")
    ('84.20 USD', '3.00')
    """
    return f"{amount:.2f} {currency}".strip()


def listing(cites: str | None) -> str:
    """Name the CITES appendix of a taxon, which tables give by its numeral alone."""
    if cites is None:
        return "not listed"
    return f"CITES appendix {cites}" if cites in {"I", "II", "III"} else cites


def sentence(text: str) -> str:
    """Give a phrase the capital and the full stop of a sentence.

    >>> sentence("the night is cold"), sentence("")
    ('The night is cold.', '')
    """
    text = text.strip()
    if not text:
        return ""
    return text[0].upper() + text[1:] + ("" if text[-1] in ".!?" else ".")
