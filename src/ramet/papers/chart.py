"""The grammar of all charts: Vega-Lite specifications drawn to SVG with bands, limits and deadlines.

One ink and one tint: a band is a tint, its middle a line, a limit a heavy dashed line with its words.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, Protocol

from ramet.papers.marks import FONT, INK, KELP, PAPER, STONE

Spec = dict[str, Any]
FONTS = Path(__file__).parent / "fonts"
BAND = "#d6d2c3"
"""The tint of a band: dark enough to hold in print and under blue light, light enough for a line on it."""
_ELSE = "Verdana, sans-serif"
LIMIT_TEXT = {"type": "text", "align": "left", "x": 4, "fontSize": 9, "fontWeight": 600, "color": KELP}


class Limit(Protocol):
    """A level that must not be passed, downwards or upwards, for some hours; 0 hours: at once."""

    @property
    def level(self) -> float:
        """Where the limit is, in the unit of its quantity."""
        ...

    @property
    def hours(self) -> float:
        """How long it may be passed."""
        ...

    @property
    def below(self) -> bool:
        """Tell whether values below it harm."""
        ...


@dataclass(frozen=True, slots=True)
class Span:
    """What the time axis shows: hours up to `until_h`, moments with their words and dashes, axis labels."""

    until_h: float
    moments: tuple[tuple[float, str, tuple[int, int]], ...] = ()
    every_h: int = 12
    title: str = "hours from departure"


def draw(spec: Spec, background: str = "transparent") -> str:
    """Draw a Vega-Lite specification with the papers' look."""
    import vl_convert

    _register_fonts()
    svg: str = vl_convert.vegalite_to_svg({**spec, "config": config(), "background": background})
    return svg


def start_engine() -> None:
    """Start the chart engine by drawing next to nothing; later charts then come at once."""
    point = {"type": "quantitative", "field": "x"}
    draw({"data": {"values": [{"x": 0}]}, "mark": "point", "encoding": {"x": point}})


def draw_alone(spec: Spec) -> str:
    """Draw a picture that travels by itself: on paper white, with a fallback for the papers' font."""
    return draw(spec, background=PAPER).replace(f'font-family="{FONT}"', f'font-family="{FONT}, {_ELSE}"')


def band_rows(
    hours: Sequence[float],
    low: Sequence[float],
    mid: Sequence[float],
    high: Sequence[float],
    until_h: float,
) -> list[Spec]:
    """Return the rows of a band and its middle, up to an hour."""
    quads = zip(hours, low, mid, high, strict=True)
    return [{"hour": h, "low": a, "mid": b, "high": c} for h, a, b, c in quads if h <= until_h]


def panel(
    title: str,
    rows: list[Spec],
    size: tuple[int, int],
    least_span: float,
    span: Span,
    limits: Sequence[Limit] = (),
) -> Spec:
    """Return one panel: band, moments, middle line and limits, its title above."""
    domain = _domain(rows, limits, least_span)
    y = {"type": "quantitative", "scale": {"domain": domain, "nice": False}}
    axis = {"title": None, "tickCount": 4, "labelExpr": _no_label_below(rows)}
    x = x_axis(span, labels=False)
    band = {"x": x, "y": {"field": "low", "axis": axis, **y}, "y2": {"field": "high"}}
    layers: list[Spec] = [
        {"data": {"values": rows}, "mark": {"type": "area", "color": BAND}, "encoding": band},
        *_moment_rules(span),
        {
            "data": {"values": rows},
            "mark": {"type": "line", "color": INK, "strokeWidth": 1.7},
            "encoding": {"x": x, "y": {"field": "mid", **y}},
        },
        *_limit_layers(limits, y, domain),
    ]
    head = {"text": title, "fontSize": 10.5, "fontWeight": 600, "anchor": "start", "color": INK, "offset": 6}
    return {"width": size[0], "height": size[1], "title": head, "layer": layers}


def titled(name: str, some_panel: Spec) -> Spec:
    """Set a name over the title of a panel, as the head of a column."""
    title = some_panel["title"]
    over = {"text": name, "fontSize": 13, "fontWeight": 800}
    quantity = {"subtitle": title["text"], "subtitleFontSize": 10.5, "subtitleFontWeight": 600}
    return {**some_panel, "title": {**title, **over, **quantity, "subtitleColor": INK, "subtitlePadding": 5}}


def x_axis(span: Span, *, labels: bool) -> Spec:
    """Return the time axis; labels stand under the lowest panel alone."""
    axis: Spec = {"labels": labels, "title": span.title if labels else None, "tickMinStep": 6}
    return {
        "field": "hour",
        "type": "quantitative",
        "scale": {"domain": [0, span.until_h], "nice": False},
        "axis": {**axis, "values": list(range(0, int(span.until_h) + 1, span.every_h))},
    }


def with_moment_words(span: Span, some_panel: Spec) -> Spec:
    """The moments are named once, over the uppermost panel."""
    rows = [{"hour": hour, "words": text} for hour, text, _ in span.moments]
    text = {
        "data": {"values": rows},
        "mark": {"type": "text", "align": "center", "y": -5, "fontSize": 9.5, "color": INK},
        "encoding": {"x": {"field": "hour", "type": "quantitative"}, "text": {"field": "words"}},
    }
    return {**some_panel, "layer": [*some_panel["layer"], text]}


@cache
def _register_fonts() -> None:
    import vl_convert

    vl_convert.register_font_directory(str(FONTS))


def config() -> Spec:
    """Return the look that all charts share."""
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


def _no_label_below(rows: list[Spec]) -> str:
    """Room left for words below nothing gets no number: there is no negative oxygen."""
    least = min([0.0, *(row["low"] for row in rows)])
    return f"datum.value < {least:g} ? '' : datum.label"


def _domain(rows: list[Spec], limits: Sequence[Limit], least_span: float) -> list[float]:
    """Room for the band and the limits, and on the side of a limit for its words."""
    values = [row[key] for row in rows for key in ("low", "high")] + [limit.level for limit in limits]
    low, high = (min(values), max(values)) if values else (0.0, 1.0)
    middle, span = (low + high) / 2, max(high - low, least_span)
    under = 0.34 if any(limit.below for limit in limits) else 0.05
    over = 0.34 if any(not limit.below for limit in limits) else 0.05
    return [round(middle - span * (0.5 + under), 4), round(middle + span * (0.5 + over), 4)]


def _moment_rules(span: Span) -> list[Spec]:
    return [
        {
            "data": {"values": [{"hour": hour}]},
            "mark": {"type": "rule", "color": STONE, "strokeWidth": 1, "strokeDash": list(dash)},
            "encoding": {"x": {"field": "hour", "type": "quantitative"}},
        }
        for hour, _, dash in span.moments
    ]


def _limit_layers(limits: Sequence[Limit], y: Spec, domain: list[float]) -> list[Spec]:
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


def _limit_words(limits: Sequence[Limit]) -> str:
    """The limits of one side in one line, the one that is met first in front."""
    met_first = sorted(limits, key=lambda limit: -limit.level if limit.below else limit.level)
    parts = [
        f"{limit.level:g}" + (f" for {limit.hours:g} h" if limit.hours else " at once") for limit in met_first
    ]
    return f"limit {', '.join(parts)}"
