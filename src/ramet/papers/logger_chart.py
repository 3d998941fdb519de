"""The chart of a box: the forecast of its air, and what a logger in it recorded."""

from collections.abc import Sequence

from ramet.formats.plan import Bands, Plan
from ramet.papers.chart import Span, Spec, band_rows, panel, with_moment_words, x_axis
from ramet.papers.marks import KELP

_DOT = {"type": "point", "shape": "diamond", "filled": True, "color": KELP, "size": 42, "opacity": 1}
_ROOM_C = 1.0


def logger_spec(
    plan: Plan, box: str, bands: Bands, record: Sequence[tuple[float, float]], *, width: int, unit: str = "°C"
) -> Spec:
    """Return the chart of a box as a specification.

    `record` holds hours from departure and temperatures, in the unit that `bands` are in and `unit` names.
    """
    due_h = (plan.shipment.due - plan.shipment.departs).total_seconds() / 3600
    until = min(plan.forecast.hours[-1], max(due_h + 4, record[-1][0] + 1))
    span = Span(until, ((due_h, "due", (1, 0)),) if due_h <= until else ())
    rows = band_rows(plan.forecast.hours, bands.p05, bands.p50, bands.p95, until)
    shown = [{"hour": h, "measured": t} for h, t in record if 0 <= h <= until]
    drawn = with_moment_words(span, panel(f"air in box {box} [{unit}]", rows, (width, 220), 4.0, span))
    x = x_axis(span, labels=True)
    y: Spec = {"field": "measured", "type": "quantitative", "scale": {"nice": False}}
    drawn["layer"].append({"data": {"values": shown}, "mark": _DOT, "encoding": {"x": x, "y": y}})
    return _with_room(_with_hours(drawn, span), rows, shown)


def _with_hours(drawn: Spec, span: Span) -> Spec:
    """A chart of one panel names the hours under it."""
    for layer in drawn["layer"]:
        x = layer.get("encoding", {}).get("x", {})
        if "axis" in x:
            x["axis"] = x_axis(span, labels=True)["axis"]
    return drawn


def _with_room(drawn: Spec, rows: Sequence[Spec], shown: Sequence[Spec]) -> Spec:
    """Give the axis room for what was measured outside the forecast, too."""
    values = [row[key] for row in rows for key in ("low", "high")] + [row["measured"] for row in shown]
    domain = [min(values) - _ROOM_C, max(values) + _ROOM_C]
    for layer in drawn["layer"]:
        y = layer.get("encoding", {}).get("y", {})
        if "scale" in y:
            y["scale"] = {**y["scale"], "domain": domain}
    return drawn
