"""Charts of a plan's journey: bands and limits of each bag over time, and the legs below."""

from ramet.formats.plan import BagForecast, Bands, LimitLine, Plan
from ramet.papers import words
from ramet.papers.chart import (
    Span,
    Spec,
    band_rows,
    draw,
    panel,
    titled,
    with_moment_words,
    x_axis,
)
from ramet.papers.marks import INK, PAPER

QUANTITIES = {
    "temperature_c": ("water temperature", "°C"),
    "oxygen_mg_l": ("oxygen", "mg/L"),
    "ph_total": ("pH", "total scale"),
    "unionised_ammonia_umol_l": ("un-ionised ammonia", "\u03bcmol/L"),
}
LEAST_SPAN = {"temperature_c": 4.0, "oxygen_mg_l": 4.0, "ph_total": 0.5, "unionised_ammonia_umol_l": 0.5}
"""So that a flat series looks flat and not like noise."""


def journey_chart(plan: Plan, bag_id: str, *, width: int = 460) -> str:
    """Return the SVG chart of one bag: temperature, oxygen, pH and ammonia over the journey."""
    return draw(journey_spec(plan, bag_id, width=width))


def journey_spec(
    plan: Plan, bag_id: str, *, width: int = 460, height: int = 96, warmth_unit: str = "°C"
) -> Spec:
    """Return the Vega-Lite specification of one bag's chart: a panel for each quantity, the legs below.

    `warmth_unit` is the unit of the temperatures, where those of the plan were turned into another.
    """
    bag = next(bag for bag in plan.forecast.bags if bag.id == bag_id)
    panels = _bag_panels(plan, bag, tuple(QUANTITIES), width, height, warmth_unit)
    return {"vconcat": [*panels, _legs(plan, width)], "spacing": 8}


def thinnest_chart(plan: Plan, bags: tuple[BagForecast, ...], *, width: int = 172) -> str:
    """Return one SVG chart with a column for each of a few bags: temperature, oxygen and pH."""
    shown = ("temperature_c", "oxygen_mg_l", "ph_total")
    columns = [_bag_panels(plan, bag, shown, width, 60) for bag in bags]
    for bag, panels in zip(bags, columns, strict=True):
        panels[0] = titled(f"Bag {bag.id}", panels[0])
        panels.append(_legs(plan, width))
    stacked = [{"vconcat": panels, "bounds": "flush", "spacing": 28} for panels in columns]
    return draw({"hconcat": stacked, "spacing": 14})


def boxes_chart(plan: Plan, *, width: int = 640) -> str:
    """Return the SVG chart of the surroundings and of the air in each box."""
    return draw(boxes_spec(plan, width=width))


def boxes_spec(plan: Plan, *, width: int = 640) -> Spec:
    """Return the Vega-Lite specification of the chart of the surroundings and the air in each box."""
    height = 46 if len(plan.forecast.boxes) < 3 else 34
    outside = _panel(plan, "surroundings [°C]", plan.forecast.ambient_c, (width, height), 10.0)
    inside = [
        _panel(plan, f"air in {words.box_name(box.id)} [°C]", box.temperature, (width, height), 4.0)
        for box in plan.forecast.boxes
    ]
    panels = [with_moment_words(_span(plan), outside), *inside, _legs(plan, width)]
    return {"vconcat": panels, "spacing": 8}


def shown_until_h(plan: Plan) -> float:
    """Return the last hour on the charts: a little past the due time of a late journey."""
    last = _due_h(plan) + plan.forecast.late_h + 4
    return min(last, plan.forecast.hours[-1]) if plan.forecast.hours else last


def _due_h(plan: Plan) -> float:
    return (plan.shipment.due - plan.shipment.departs).total_seconds() / 3600


def _span(plan: Plan) -> Span:
    due, late, until = _due_h(plan), plan.forecast.late_h, shown_until_h(plan)
    moments = ((due, "due", (1, 0)), (due + late, f"{late:g} h late", (2, 3)))
    return Span(until, tuple(moment for moment in moments if moment[0] <= until))


def _bag_panels(
    plan: Plan,
    bag: BagForecast,
    quantities: tuple[str, ...],
    width: int,
    height: int,
    warmth_unit: str = "°C",
) -> list[Spec]:
    panels = []
    for quantity in quantities:
        name, unit = QUANTITIES[quantity]
        bands: Bands = getattr(bag.series, quantity)
        limits = tuple(limit for limit in bag.limits if limit.quantity == quantity)
        title = f"{name} [{warmth_unit if unit == '°C' else unit}]"
        panels.append(_panel(plan, title, bands, (width, height), LEAST_SPAN[quantity], limits))
    return [with_moment_words(_span(plan), panels[0]), *panels[1:]]


def _panel(
    plan: Plan,
    title: str,
    bands: Bands,
    size: tuple[int, int],
    least_span: float,
    limits: tuple[LimitLine, ...] = (),
) -> Spec:
    rows = band_rows(plan.forecast.hours, bands.p05, bands.p50, bands.p95, shown_until_h(plan))
    return panel(title, rows, size, least_span, _span(plan), limits)


def _legs(plan: Plan, width: int) -> Spec:
    until = shown_until_h(plan)
    rows = [
        {"hour": leg.start_h, "end": min(leg.end_h, until), "number": str(index),
         "middle": (leg.start_h + min(leg.end_h, until)) / 2}
        for index, leg in enumerate(plan.forecast.legs, start=1)
        if leg.start_h < until
    ]  # fmt: skip
    x = x_axis(_span(plan), labels=True)
    return {
        "width": width,
        "height": 15,
        "layer": [
            {
                "data": {"values": rows},
                "mark": {"type": "rect", "fill": PAPER, "stroke": INK, "strokeWidth": 1},
                "encoding": {"x": x, "x2": {"field": "end"}},
            },
            {
                "data": {"values": rows},
                "mark": {"type": "text", "fontSize": 10, "fontWeight": 600, "color": INK},
                "encoding": {"x": {**x, "field": "middle"}, "text": {"field": "number"}},
            },
        ],
    }
