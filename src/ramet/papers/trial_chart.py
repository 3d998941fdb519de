"""The picture of a transit trial: a column for each bag, its quantities over time with bands and limits."""

from collections.abc import Sequence
from dataclasses import dataclass

from ramet.formats.transit_result import ReachedLimit, TransitBag, TransitResult
from ramet.papers.chart import Span, Spec, band_rows, draw_alone, panel, titled, with_moment_words, x_axis
from ramet.papers.marks import INK

MOST_BAGS = 12
_A_ROW = 3
_ALONE_PX, _BESIDE_PX = 460, 250
_GAP_PX = 46
_AIR_SPAN_C = 4.0


@dataclass(frozen=True, slots=True)
class _Quantity:
    """One panel: the series of a bag, its title, its least span, and whose limits are drawn into it."""

    series: str
    title: str
    least_span: float


_QUANTITIES = (
    _Quantity("temperature_c", "water temperature [°C]", 4.0),
    _Quantity("oxygen_mg_l", "oxygen [mg/L]", 4.0),
    _Quantity("ph_total", "pH [total scale]", 0.5),
    _Quantity("opened_ammonia_umol_l", "un-ionised ammonia once opened and aired [\u03bcmol/L]", 0.5),
)


def trial_chart(result: TransitResult, *, most_bags: int = MOST_BAGS) -> str:
    """Return the SVG of a trial: surroundings and box air on top, then the bags, the thinnest first.

    Of more than `most_bags` bags only the thinnest are drawn, and the picture says so.
    """
    order = _thinnest_first(result)[:most_bags]
    columns = min(_A_ROW, max(1, len(order)))
    width = _ALONE_PX if columns == 1 else _BESIDE_PX
    whole = columns * width + (columns - 1) * _GAP_PX
    rows: list[Spec] = [_air(result, whole)]
    for first in range(0, len(order), columns):
        some = [_bag(result, place, width) for place in order[first : first + columns]]
        rows.append({"hconcat": some, "spacing": _GAP_PX - 26})
    spec: Spec = {"vconcat": rows, "spacing": 30, "title": _head(result, len(order)), "padding": 14}
    return draw_alone(spec)


def _head(result: TransitResult, shown: int) -> Spec:
    lines = [result.weather.words]
    if result.percentiles is None:
        lines.append("every parameter at its typical value")
    else:
        lines.append(
            f"line: median, band: 5th to 95th percentile of {result.percentiles.scenarios} scenarios"
        )
    if shown < len(result.bags):
        lines.append(f"the {shown} bags that hold least long, of {len(result.bags)}")
    return {
        "text": result.name or "Transit trial",
        "subtitle": lines,
        "anchor": "start",
        "fontSize": 16,
        "fontWeight": 800,
        "color": INK,
        "subtitleFontSize": 10.5,
        "subtitleColor": INK,
        "offset": 14,
    }


def _thinnest_first(result: TransitResult) -> list[int]:
    holds = [bag.hold_h for bag in result.bags]
    if result.percentiles is not None:
        holds = [bag.hold_h for bag in result.percentiles.p05.bags]
    least = [min(bag.oxygen_mg_l) for bag in result.bags]
    return sorted(range(len(holds)), key=lambda place: (holds[place], least[place], place))


def _air(result: TransitResult, width: int) -> Spec:
    span = _span(result, ())
    outside = band_rows(result.hours, result.ambient_c, result.ambient_c, result.ambient_c, span.until_h)
    unsure = result.weather.uncertain_c if result.percentiles is not None else 0.0
    spread = [{**row, "low": row["mid"] - unsure, "high": row["mid"] + unsure} for row in outside]
    panels = [panel("surroundings [°C]", spread, (width, 54), 10.0, span)]
    for place, box in enumerate(result.boxes[:_A_ROW]):
        low, mid, high = _box_air(result, place)
        rows = band_rows(result.hours, low, mid, high, span.until_h)
        panels.append(panel(f"air in {box.id} [°C]", rows, (width, 54), _AIR_SPAN_C, span))
    return {"vconcat": [*panels[:-1], _with_axis(span, panels[-1])], "spacing": 8}


def _box_air(result: TransitResult, place: int) -> tuple[Sequence[float], ...]:
    if result.percentiles is None:
        return (result.boxes[place].air_c,) * 3
    found = result.percentiles
    return tuple(one.boxes[place].air_c for one in (found.p05, found.p50, found.p95))


def _bag(result: TransitResult, place: int, width: int) -> Spec:
    bag = result.bags[place]
    span = _span(result, _moments(result, place))
    panels = []
    for quantity in _QUANTITIES:
        low, mid, high = _bands(result, place, quantity.series)
        rows = band_rows(result.hours, low, mid, high, span.until_h)
        limits = _drawn_limits(bag, quantity.series)
        panels.append(panel(quantity.title, rows, (width, 84), quantity.least_span, span, limits))
    where = "" if bag.box is None else f", {bag.box}"
    panels[0] = titled(f"{bag.id}{where}", with_moment_words(span, panels[0]))
    panels[-1] = _with_axis(span, panels[-1])
    return {"vconcat": panels, "bounds": "flush", "spacing": 26}


def _bands(result: TransitResult, place: int, series: str) -> tuple[Sequence[float], ...]:
    if result.percentiles is None:
        one = result.bags[place]
        values = one.opened.unionised_ammonia_umol_l if series.startswith("opened") else getattr(one, series)
        return (values,) * 3
    found = result.percentiles
    bags = [part.bags[place] for part in (found.p05, found.p50, found.p95)]
    if series.startswith("opened"):
        return tuple(bag.opened.unionised_ammonia_umol_l for bag in bags)
    return tuple(getattr(bag, series) for bag in bags)


def _drawn_limits(bag: TransitBag, series: str) -> tuple[ReachedLimit, ...]:
    return tuple(limit for limit in bag.limits if limit.ends_hold and limit.quantity == series)


def _moments(result: TransitResult, place: int) -> tuple[tuple[float, str, tuple[int, int]], ...]:
    """When the hold ends: as typical, and in one case out of twenty."""
    last = result.hours[-1]
    if result.percentiles is None:
        hold = result.bags[place].hold_h
        return ((hold, f"broken at {hold:.1f} h", (1, 0)),) if hold < last else ()
    found = result.percentiles
    ends = ((found.p05, "1 in 20", (2, 3)), (found.p50, "1 in 2", (1, 0)))
    moments = tuple(
        (hold, f"{words}: {hold:.1f} h", dash)
        for part, words, dash in ends
        if (hold := part.bags[place].hold_h) < last
    )
    return moments[:1] if len(moments) == 2 and moments[1][0] - moments[0][0] < last / 3 else moments


def _span(result: TransitResult, moments: tuple[tuple[float, str, tuple[int, int]], ...]) -> Span:
    last = result.hours[-1]
    every = next((hours for hours in (2, 6, 12, 24) if last / hours <= 8), 48)
    return Span(last, moments, every)


def _with_axis(span: Span, some_panel: Spec) -> Spec:
    """Show the labels of the time axis under a panel."""
    x = x_axis(span, labels=True)
    layers = [
        {**layer, "encoding": {**layer["encoding"], "x": x}}
        if "axis" in layer["encoding"].get("x", {})
        else layer
        for layer in some_panel["layer"]
    ]
    return {**some_panel, "layer": layers}
