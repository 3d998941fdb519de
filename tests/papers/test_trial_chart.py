"""The picture of a trial says what the result says: read back by a general XML parser."""

import itertools
import re
import xml.etree.ElementTree as ET

import pytest

from ramet.formats.transit_result import TransitResult
from ramet.papers.trial_chart import trial_chart

SVG = "{http://www.w3.org/2000/svg}"
HOURS = tuple(float(h) for h in range(0, 25, 2))


def result(bags: int = 1, *, spread: bool = False, hold_h: float = 13.2) -> TransitResult:
    """An invented answer: every series a straight line."""
    falling = tuple(7.0 - 0.2 * h for h in HOURS)
    series = {
        "temperature_c": tuple(25 - 0.1 * h for h in HOURS),
        "oxygen_mg_l": falling,
        "ph_total": tuple(8 - 0.03 * h for h in HOURS),
        "alkalinity_meq_l": (2.4,) * len(HOURS),
        "ammonium_umol_l": (1.0,) * len(HOURS),
        "unionised_ammonia_umol_l": (0.1,) * len(HOURS),
        "opened": {"ph_total": 8.1, "unionised_ammonia_umol_l": (0.2,) * len(HOURS)},
    }
    limit = {"below": True, "ends_hold": True, "at_h": None}
    limits = [
        {"code": "oxygen_low", "quantity": "oxygen_mg_l", "level": 2, "hours": 6, **limit},
        {"code": "oxygen_caution", "quantity": "oxygen_mg_l", "level": 3.3, "hours": 0, **limit},
    ]
    limits[1]["ends_hold"] = False
    percentile = {
        "bags": [{"id": f"b{n}", "hold_h": hold_h, **series} for n in range(bags)],
        "boxes": [{"id": "box 1", "air_c": [20.0] * len(HOURS)}],
    }
    spreads = {"scenarios": 64, "seed": 1, "hangs_on": ["x"] * bags}
    return TransitResult.model_validate(
        {
            "name": "A test",
            "hours": HOURS,
            "bags": [
                {
                    "id": f"b{n}",
                    "box": "box 1",
                    **series,
                    "limits": limits,
                    "hold_h": hold_h + n,
                    "holds_to_end": False,
                    "first_limit": "oxygen_low",
                    "defaults_used": [],
                    "cautions": [],
                }
                for n in range(bags)
            ],
            "boxes": [{"id": "box 1", "air_c": [20.0] * len(HOURS)}],
            "reference_sha256": "0",
            "overrides": [],
            "weather": {"words": "the record in the trial", "source": "", "uncertain_c": 2.0},
            "ambient_c": [10.0] * len(HOURS),
            "percentiles": {**spreads, "p05": percentile, "p50": percentile, "p95": percentile}
            if spread
            else None,
        }
    )


def texts(svg: str) -> list[str]:
    root = ET.fromstring(svg)
    return [text.text or "" for kind in ("text", "tspan") for text in root.iter(f"{SVG}{kind}")]


def test_each_quantity_has_its_unit_and_the_limits_that_end_the_hold():
    found = texts(trial_chart(result()))
    assert {"water temperature [°C]", "oxygen [mg/L]", "pH [total scale]", "surroundings [°C]"} <= set(found)
    assert {"air in box 1 [°C]", "limit 2 for 6 h", "broken at 13.2 h", "A test"} <= set(found)
    assert "hours from departure" in found
    assert not any("3.3" in one for one in found)


def test_the_oxygen_line_falls_as_the_series_falls():
    svg = trial_chart(result())
    lines = [
        p.attrib["d"] for p in ET.fromstring(svg).iter(f"{SVG}path") if p.attrib.get("stroke-width") == "1.7"
    ]
    drawn = [float(y) for _, y in re.findall(r"[ML]([\d.]+),([\d.]+)", lines[3])]
    steps = [after - before for before, after in itertools.pairwise(drawn)]
    assert len(drawn) == len(HOURS)
    assert steps == pytest.approx([steps[0]] * len(steps), abs=0.01)
    assert steps[0] > 0


def test_scenarios_give_bands_and_the_words_of_one_in_twenty():
    found = texts(trial_chart(result(spread=True)))
    assert "line: median, band: 5th to 95th percentile of 64 scenarios" in found
    assert any(text.startswith("1 in 20: 13.2 h") for text in found)


def test_a_bag_that_holds_has_no_end_drawn():
    assert not any("broken" in text for text in texts(trial_chart(result(hold_h=24.0))))


def test_of_many_bags_the_thinnest_are_drawn_and_it_says_so():
    found = texts(trial_chart(result(bags=15)))
    assert "the 12 bags that hold least long, of 15" in found
    assert "b0, box 1" in found
    assert "b14, box 1" not in found


def test_the_picture_stands_alone_and_is_the_same_twice():
    svg = trial_chart(result())
    assert svg == trial_chart(result())
    assert "http://" not in svg.replace("http://www.w3.org/", "")
    assert all("sans-serif" in family for family in re.findall(r'font-family="([^"]*)"', svg))
