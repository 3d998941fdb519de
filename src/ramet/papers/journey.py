"""Charts of the journey, as Vega-Lite specifications drawn to SVG: bands, limits, and the legs below.

One ink and one tint: a band is a tint, its middle a line, a limit a heavy dashed line with its words.
"""

from functools import cache
from pathlib import Path
from typing import Any

from ramet.formats.plan import BagForecast, Bands, LimitLine, Plan
from ramet.papers import words
from ramet.papers.marks import FONT, INK, KELP, PAPER, STONE

Spec = dict[str, Any]
FONTS = Path(__file__).parent / "fonts"
BAND = "#d6d2c3"
"""The tint of a band: dark enough to hold in print and under blue light, light enough for a line on it."""

QUANTITIES = {
    "temperature_c": ("water temperature", "°C"),
    "oxygen_mg_l": ("oxygen", "mg/L"),
    "ph_total": ("pH", "total scale"),
    "unionised_ammonia_umol_l": ("un-ionised ammonia", "\u03bcmol/L"),
}
LEAST_SPAN = {"temperature_c": 4.0, "oxygen_mg_l": 4.0, "ph_total": 0.5, "unionised_ammonia_umol_l": 0.5}
"""So that a flat series looks flat and not like noise."""


LIMIT_TEXT = {"type": "text", "align": "left", "x": 4, "fontSize": 9, "fontWeight": 600, "color": KELP}


def journey_chart(plan: Plan, bag_id: str, *, width: int = 460) -> str:
    """Return the SVG chart of one bag: temperature, oxygen, pH and ammonia over the journey."""
    bag = next(bag for bag in plan.forecast.bags if bag.id == bag_id)
    panels = _bag_panels(plan, bag, tuple(QUANTITIES), width, 96)
    return draw({"vconcat": [*panels, _legs(plan, width)], "spacing": 8})


def thinnest_chart(plan: Plan, bags: tuple[BagForecast, ...], *, width: int = 172) -> str:
    """Return one SVG chart with a column for each of a few bags: temperature, oxygen and pH."""
    shown = ("temperature_c", "oxygen_mg_l", "ph_total")
    columns = [_bag_panels(plan, bag, shown, width, 60) for bag in bags]
    for bag, panels in zip(bags, columns, strict=True):
        panels[0] = {**panels[0], "title": _bag_title(bag.id, panels[0]["title"])}
        panels.append(_legs(plan, width))
    stacked = [{"vconcat": panels, "bounds": "flush", "spacing": 28} for panels in columns]
    return draw({"hconcat": stacked, "spacing": 14})


def _bag_title(bag_id: str, title: Spec) -> Spec:
    """Set the bag's name over the name of its first quantity."""
    name = {"text": f"Bag {bag_id}", "fontSize": 13, "fontWeight": 800}
    quantity = {"subtitle": title["text"], "subtitleFontSize": 10.5, "subtitleFontWeight": 600}
    return {**title, **name, **quantity, "subtitleColor": INK, "subtitlePadding": 5}


def boxes_chart(plan: Plan, *, width: int = 640) -> str:
    """Return the SVG chart of the surroundings and of the air in each box."""
    height = 46 if len(plan.forecast.boxes) < 3 else 34
    outside = _panel(plan, "surroundings [°C]", plan.forecast.ambient_c, (width, height), 10.0)
    inside = [
        _panel(plan, f"air in {words.box_name(box.id)} [°C]", box.temperature, (width, height), 4.0)
        for box in plan.forecast.boxes
    ]
    return draw({"vconcat": [_with_deadline_words(plan, outside), *inside, _legs(plan, width)], "spacing": 8})


def draw(spec: Spec) -> str:
    """Draw a Vega-Lite specification with the papers' look."""
    import vl_convert

    _register_fonts()
    svg: str = vl_convert.vegalite_to_svg({**spec, "config": _config(), "background": "transparent"})
    return svg


@cache
def _register_fonts() -> None:
    import vl_convert

    vl_convert.register_font_directory(str(FONTS))


def _config() -> Spec:
    return {
        "font": FONT,
        "view": {"stroke": None},
        "axis": {
            "labelColor": INK,
            "titleColor": INK,
            "domainColor": INK,
            "tickColor": INK,
            "grid": False,
            "labelFontSize": 10.5,
            "titleFontSize": 10.5,
            "titleFontWeight": 600,
            "tickSize": 4,
        },
        "axisY": {"minExtent": 26, "maxExtent": 26},
    }


def shown_until_h(plan: Plan) -> float:
    """Return the last hour on the charts: a little past the due time of a late journey."""
    last = _due_h(plan) + plan.forecast.late_h + 4
    return min(last, plan.forecast.hours[-1]) if plan.forecast.hours else last


def _due_h(plan: Plan) -> float:
    return (plan.shipment.due - plan.shipment.departs).total_seconds() / 3600


def _bag_panels(
    plan: Plan, bag: BagForecast, quantities: tuple[str, ...], width: int, height: int
) -> list[Spec]:
    panels = []
    for quantity in quantities:
        name, unit = QUANTITIES[quantity]
        bands: Bands = getattr(bag.series, quantity)
        limits = tuple(limit for limit in bag.limits if limit.quantity == quantity)
        panel = _panel(plan, f"{name} [{unit}]", bands, (width, height), LEAST_SPAN[quantity], limits)
        panels.append(panel)
    return [_with_deadline_words(plan, panels[0]), *panels[1:]]


def _panel(
    plan: Plan,
    title: str,
    bands: Bands,
    size: tuple[int, int],
    least_span: float,
    limits: tuple[LimitLine, ...] = (),
) -> Spec:
    rows = _rows(plan, bands)
    domain = _domain(rows, limits, least_span)
    y = {"type": "quantitative", "scale": {"domain": domain, "nice": False}}
    axis = {"title": None, "tickCount": 4, "labelExpr": _no_label_below(rows)}
    x = _x(plan, labels=False)
    band = {"x": x, "y": {"field": "low", "axis": axis, **y}, "y2": {"field": "high"}}
    layers: list[Spec] = [
        {"data": {"values": rows}, "mark": {"type": "area", "color": BAND}, "encoding": band},
        *_deadline_rules(plan),
        {
            "data": {"values": rows},
            "mark": {"type": "line", "color": INK, "strokeWidth": 1.7},
            "encoding": {"x": x, "y": {"field": "mid", **y}},
        },
        *_limit_layers(limits, y, domain),
    ]
    head = {"text": title, "fontSize": 10.5, "fontWeight": 600, "anchor": "start", "color": INK, "offset": 6}
    return {"width": size[0], "height": size[1], "title": head, "layer": layers}


def _no_label_below(rows: list[Spec]) -> str:
    """Room left for words below nothing gets no number: there is no negative oxygen."""
    least = min([0.0, *(row["low"] for row in rows)])
    return f"datum.value < {least:g} ? '' : datum.label"


def _rows(plan: Plan, bands: Bands) -> list[Spec]:
    until = shown_until_h(plan)
    quads = zip(plan.forecast.hours, bands.p05, bands.p50, bands.p95, strict=True)
    return [
        {"hour": hour, "low": low, "mid": mid, "high": high}
        for hour, low, mid, high in quads
        if hour <= until
    ]


def _domain(rows: list[Spec], limits: tuple[LimitLine, ...], least_span: float) -> list[float]:
    """Room for the band and the limits, and on the side of a limit for its words."""
    values = [row[key] for row in rows for key in ("low", "high")] + [limit.level for limit in limits]
    low, high = (min(values), max(values)) if values else (0.0, 1.0)
    middle, span = (low + high) / 2, max(high - low, least_span)
    under = 0.34 if any(limit.below for limit in limits) else 0.05
    over = 0.34 if any(not limit.below for limit in limits) else 0.05
    return [round(middle - span * (0.5 + under), 4), round(middle + span * (0.5 + over), 4)]


def _x(plan: Plan, *, labels: bool) -> Spec:
    axis: Spec = {"labels": labels, "title": "hours from departure" if labels else None, "tickMinStep": 6}
    return {
        "field": "hour",
        "type": "quantitative",
        "scale": {"domain": [0, shown_until_h(plan)], "nice": False},
        "axis": {**axis, "values": list(range(0, int(shown_until_h(plan)) + 1, 12))},
    }


def _deadlines(plan: Plan) -> list[tuple[float, str, list[int]]]:
    due, late = _due_h(plan), plan.forecast.late_h
    moments = [(due, "due", [1, 0]), (due + late, f"{late:g} h late", [2, 3])]
    return [moment for moment in moments if moment[0] <= shown_until_h(plan)]


def _deadline_rules(plan: Plan) -> list[Spec]:
    return [
        {
            "data": {"values": [{"hour": hour}]},
            "mark": {"type": "rule", "color": STONE, "strokeWidth": 1, "strokeDash": dash},
            "encoding": {"x": {"field": "hour", "type": "quantitative"}},
        }
        for hour, _, dash in _deadlines(plan)
    ]


def _with_deadline_words(plan: Plan, panel: Spec) -> Spec:
    """The deadlines are named once, over the uppermost panel."""
    rows = [{"hour": hour, "words": text} for hour, text, _ in _deadlines(plan)]
    text = {
        "data": {"values": rows},
        "mark": {"type": "text", "align": "center", "y": -5, "fontSize": 9.5, "color": INK},
        "encoding": {"x": {"field": "hour", "type": "quantitative"}, "text": {"field": "words"}},
    }
    return {**panel, "layer": [*panel["layer"], text]}


def _limit_layers(limits: tuple[LimitLine, ...], y: Spec, domain: list[float]) -> list[Spec]:
    if not limits:
        return []
    levels = [{"level": limit.level} for limit in limits]
    rule = {"type": "rule", "color": KELP, "strokeWidth": 1.8, "strokeDash": [7, 4]}
    sides = (
        ("below", [limit for limit in limits if limit.below], domain[0], -6),
        ("above", [limit for limit in limits if not limit.below], domain[1], 6),
    )
    texts = [{"level": edge, "words": _limit_words(some), "dy": dy} for _, some, edge, dy in sides if some]
    return [
        {"data": {"values": levels}, "mark": rule, "encoding": {"y": {"field": "level", **y}}},
        *(
            {
                "data": {"values": [text]},
                "mark": {**LIMIT_TEXT, "dy": text["dy"]},
                "encoding": {"y": {"field": "level", **y}, "text": {"field": "words"}},
            }
            for text in texts
        ),
    ]


def _limit_words(limits: list[LimitLine]) -> str:
    """The limits of one side in one line, the one that is met first in front."""
    met_first = sorted(limits, key=lambda limit: -limit.level if limit.below else limit.level)
    parts = [
        f"{limit.level:g}" + (f" for {limit.hours:g} h" if limit.hours else " at once") for limit in met_first
    ]
    return f"limit {', '.join(parts)}"


def _legs(plan: Plan, width: int) -> Spec:
    until = shown_until_h(plan)
    rows = [
        {"hour": leg.start_h, "end": min(leg.end_h, until), "number": str(index),
         "middle": (leg.start_h + min(leg.end_h, until)) / 2}
        for index, leg in enumerate(plan.forecast.legs, start=1)
        if leg.start_h < until
    ]  # fmt: skip
    x = _x(plan, labels=True)
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
