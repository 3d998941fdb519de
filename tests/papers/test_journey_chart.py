"""Charts say what the plan's series say: read back from the drawn SVG by a general XML parser."""

import re
import xml.etree.ElementTree as ET

import pytest
from sample_plan import sample_plan

from ramet.papers.journey import boxes_chart, journey_chart, shown_until_h, thinnest_chart

SVG = "{http://www.w3.org/2000/svg}"


def _texts(svg: str) -> list[str]:
    return [text.text or "" for text in ET.fromstring(svg).iter(f"{SVG}text")]


def test_a_bag_chart_names_all_four_quantities_with_units_and_its_limits():
    texts = _texts(journey_chart(sample_plan(), "A01"))
    assert {"water temperature [°C]", "oxygen [mg/L]", "pH [total scale]"} <= set(texts)
    assert any(text.startswith("un-ionised ammonia [") for text in texts)
    assert {"limit 18 for 5 h", "limit 2 for 6 h"} <= set(texts)
    assert {"due", "24 h late", "hours from departure"} <= set(texts)
    assert texts.count("due") == 1


def test_the_legs_stand_under_the_axis_by_number():
    plan = sample_plan()
    texts = _texts(boxes_chart(plan))
    assert [str(n) for n in range(1, len(plan.forecast.legs) + 1)] == [t for t in texts if t in set("1234")]


def test_the_middle_line_falls_where_the_series_falls():
    """The line mark's first and last heights must be in the order and ratio of the series (linear scale)."""
    plan = sample_plan()
    svg = journey_chart(plan, "A01")
    lines = [
        path.attrib["d"]
        for path in ET.fromstring(svg).iter(f"{SVG}path")
        if path.attrib.get("stroke-width") == "1.7"
    ]
    assert len(lines) == 4
    bag = plan.forecast.bags[0]
    until = [i for i, hour in enumerate(plan.forecast.hours) if hour <= shown_until_h(plan)]
    for path, bands in zip(lines, (bag.series.temperature_c, bag.series.oxygen_mg_l), strict=False):
        drawn = [float(y) for _, y in re.findall(r"[ML]([\d.]+),([\d.]+)", path)]
        values = [bands.p50[i] for i in until]
        assert len(drawn) == len(values)
        scale = (drawn[-1] - drawn[0]) / (values[-1] - values[0])
        assert scale < 0
        for y, value in zip(drawn, values, strict=True):
            assert y - drawn[0] == pytest.approx(scale * (value - values[0]), abs=0.05)


def test_charts_are_drawn_the_same_twice():
    plan = sample_plan()
    assert boxes_chart(plan) == boxes_chart(plan)
    assert thinnest_chart(plan, plan.forecast.bags[:3]) == thinnest_chart(plan, plan.forecast.bags[:3])
