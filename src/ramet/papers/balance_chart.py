"""The chart of a receiving tank: alkalinity taken per day over half a year, against what can be added."""

from ramet.formats.tank_report import TankReport
from ramet.papers.chart import BAND, Spec
from ramet.papers.marks import INK, KELP

_Y = {"type": "quantitative", "axis": {"title": None, "tickCount": 4}}
_DAYS = [0, 30, 60, 90, 120, 150, 180]


def balance_spec(report: TankReport, *, width: int = 640, per_dkh: float = 1.0, unit: str = "dKH/d") -> Spec:
    """Return the Vega-Lite specification; `per_dkh` is what one dKH is in `unit`."""
    rows = [
        {"day": day, "low": low * per_dkh, "typical": middle * per_dkh, "high": high * per_dkh}
        for day, low, middle, high in _taken(report)
    ]
    level = per_dkh * sum(one.alkalinity_dkh_d for one in report.supply)
    title = {
        "text": f"alkalinity [{unit}]",
        "fontSize": 10.5,
        "fontWeight": 600,
        "anchor": "start",
        "color": INK,
    }
    return {
        "width": width,
        "height": 190,
        "title": {**title, "fontSize": 10.5, "fontWeight": 600},
        "layer": [*_band(rows), *_supply(level)],
    }


def _taken(report: TankReport) -> list[tuple[int, float, float, float]]:
    if report.balance is not None:
        balance = report.balance
        return list(zip(balance.days, balance.low, balance.typical, balance.high, strict=True))
    bands = ((one.day, one.alkalinity) for one in report.demand)
    return [(day, band.low, band.typical, band.high) for day, band in bands]


def _band(rows: list[Spec]) -> list[Spec]:
    x = {"field": "day", "type": "quantitative", "axis": {"title": "days after arrival", "values": _DAYS}}
    data = {"values": rows}
    area = {"x": x, "y": {"field": "low", **_Y}, "y2": {"field": "high"}}
    middle = {"x": x, "y": {"field": "typical", **_Y}}
    return [
        {"data": data, "mark": {"type": "area", "color": BAND}, "encoding": area},
        {"data": data, "mark": {"type": "line", "color": INK, "strokeWidth": 1.8}, "encoding": middle},
    ]


def _supply(level: float) -> list[Spec]:
    rule = {"type": "rule", "color": KELP, "strokeWidth": 2, "strokeDash": [7, 4]}
    text = {
        "type": "text",
        "align": "left",
        "x": 4,
        "dy": -7,
        "fontSize": 9.5,
        "fontWeight": 600,
        "color": KELP,
    }
    y = {"field": "level", **_Y}
    data = {"values": [{"level": level, "words": "all that can be added"}]}
    return [
        {"data": data, "mark": rule, "encoding": {"y": y}},
        {"data": data, "mark": text, "encoding": {"y": y, "text": {"field": "words"}}},
    ]
