"""Draws the pictures of the science pages into `docs/science/pictures`: `python docs/science_pictures.py`.

Every line is computed by the model as it stands, every point is a published value named in the page.
"""

import json
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np

from ramet.formats.transit import TransitTrial
from ramet.formats.transit_result import TransitBag, TransitResult
from ramet.papers.chart import Span, Spec, band_rows, draw_alone, panel, with_moment_words, x_axis
from ramet.papers.marks import INK, KELP, SAND
from ramet.reference.tables import Reference, load_reference
from ramet.science.network import ICE_LATENT_J_KG, network
from ramet.services.transit import forecast_trial
from ramet.services.trials.transit_inputs import transit_parameters
from ramet.services.trials.trial import Trial
from ramet.services.trials.trial_boxes import trial_box
from ramet.services.weather.sources import air_of

OUT = Path(__file__).parent / "science" / "pictures"
DASHES = ([1, 0], [7, 3], [2, 2], [9, 3, 2, 3])
SCENARIOS, SEED = 512, 1
WIDTH, HEIGHT = 430, 150

BOX = """
[ambient]
hours = {hours}
temperature_c = {air}
[[box]]
inner_mm = [{inner}]
wall_mm = {wall}
wall_k_w_mk = 0.036
lid_leak_w_k = 0
packs = [{packs}]
[[box.bag]]
water_l = {water}
gas_l = {gas}
start_c = {start}
size_mm = [{size}]
at_mm = [0, 0, 0]
{more}
"""
ROOM_C = 22.0
COOLER = """
[ambient]
hours = [0, 60]
temperature_c = [22, 22]
motion = "still"
[[box]]
inner_mm = [300, 300, 300]
wall_mm = 38
wall_k_w_mk = 0.036
[[box.mass]]
kg = {kilograms}
ice_kg = {kilograms}
start_c = 0
"""
BAG = """
[ambient]
hours = [0, 24, 48, 72]
temperature_c = [25, 25, 25, 25]
motion = "{motion}"
[[bag]]
water_l = {water}
gas_l = {gas}
{more}
[[bag.animal]]
taxon = "{taxon}"
tissue_area_cm2 = {area}
"""


@dataclass(frozen=True, slots=True)
class Line:
    """A named series over hours."""

    name: str
    hours: Sequence[float]
    values: Sequence[float]


@dataclass(frozen=True, slots=True)
class Point:
    """A published value."""

    hour: float
    value: float


def main() -> None:
    """Draw all pictures."""
    OUT.mkdir(parents=True, exist_ok=True)
    for name, draw in PICTURES.items():
        (OUT / f"{name}.svg").write_text(draw_alone({**draw(), "padding": 12}) + "\n", encoding="utf-8")
        print(f"{name}.svg")


@cache
def reference() -> Reference:
    """Return the tables that ship with ramet."""
    return load_reference()


def written(text: str) -> TransitTrial:
    """Return a trial given as TOML."""
    return TransitTrial.model_validate_json(json.dumps(tomllib.loads(text)))


def answer(text: str, scenarios: int = 0) -> TransitResult:
    """Forecast a trial given as TOML."""
    told = written(text)
    trial = Trial(told, air_of(told.ambient, Path(), reference()), Path())
    return forecast_trial(reference(), trial, scenarios, SEED)


def box_cooling() -> Spec:
    """Eight litres in 25 mm of foam against the published cooling law."""
    size = "450, 350, 250"
    text = BOX.format(
        hours="[0, 24, 48]", air="[10, 10, 10]", inner=size, wall=25, packs="", water=8, gas=30, start=26,
        size=size, more="",
    )  # fmt: skip
    found = answer(text)
    # I = 0.11 cm/h, Ws 3963 cm², Wv 8000 mL: Froese 1998, Aquaculture 159.
    law = [10 + 16 * float(np.exp(-h * 0.11 * 3963 / 8000)) for h in range(0, 49, 6)]
    lines = [Line("our box", found.hours, found.bags[0].temperature_c)]
    points = [Point(hour, value) for hour, value in zip(range(0, 49, 6), law, strict=True)]
    return lines_panel("8 L in 25 mm of foam, air at 10 °C: water [°C] (rings: published law)", lines, points)


def heat_packs() -> Spec:
    """A small box on a frosty night with none to three heat packs."""
    lines = []
    for count in range(4):
        packs = f'{{kind = "heat_40h", count = {count}}}' if count else ""
        text = BOX.format(
            hours="[0, 12, 24, 36, 48]", air="[5, -8, 5, -8, 5]", inner="300, 300, 300", wall=38, packs=packs,
            water=4, gas=8, start=25, size="250, 250, 250", more="",
        )  # fmt: skip
        found = answer(text)
        lines.append(
            Line(f"{count or 'no'} pack{'' if count == 1 else 's'}", found.hours, found.bags[0].temperature_c)
        )
    return lines_panel("4 L in 38 mm of foam, air from -8 to 5 °C: water temperature [°C]", lines)


def ice() -> Spec:
    """A cooler in the kitchen with one to three kilograms of ice, against the arithmetic of its walls."""
    lines, points = [], []
    for kilograms in (1, 2, 3):
        found = answer(COOLER.format(kilograms=kilograms))
        air = found.boxes[0].air_c
        lines.append(Line(f"{kilograms} kg", found.hours, air))
        # while ice is left the air stands still and the walls pass P: m kilograms are gone after m L / P
        box = trial_box(reference(), written(COOLER.format(kilograms=kilograms)).box[0], "box", [])
        net = network(box, transit_parameters(reference()))
        k = net.walls.conductivity(np.array(0.5 * (air[1] + ROOM_C)))
        watts = (net.free_wall_m2 * float(net.walls.free_w_m2k(k)) + net.leak_w_k) * (ROOM_C - air[1])
        watts += net.phases[0].touches_m2 * float(net.walls.touched_w_m2k(k)) * ROOM_C
        points.append(Point(kilograms * ICE_LATENT_J_KG / watts / 3600, air[1]))
    return lines_panel(
        "ice in 38 mm of foam, kitchen at 22 °C: air in the box [°C] (rings: m L / P)",
        lines,
        points,
    )


def fillings() -> Spec:
    """Oxygen and pH of one frag in three fillings of the same bag."""
    ways = (
        ("third, air", 0.2, 0.4, ""),
        ("nearly full, air", 0.5, 0.1, ""),
        ("third, oxygen", 0.2, 0.4, "oxygen_fraction = 0.95"),
    )
    bags = {}
    for name, water, gas, more in ways:
        text = BAG.format(motion="carried", water=water, gas=gas, more=more, taxon="Acropora", area=30)
        bags[name] = answer(text)
    oxygen = [Line(n, found.hours, found.bags[0].oxygen_mg_l) for n, found in bags.items()]
    acid = [Line(n, found.hours, found.bags[0].ph_total) for n, found in bags.items()]
    return {
        "vconcat": [
            lines_panel("30 cm² of Acropora in a bag of 0.6 L at 25 °C: oxygen [mg/L]", oxygen),
            lines_panel("pH [total scale]", acid),
        ],
        "spacing": 18,
    }


def three_volumes() -> Spec:
    """Three water volumes in one container, still and dark, with the values measured after 72 h."""
    measured = {125: (3.34, 7.77), 190: (2.40, 7.51), 325: (0.02, 7.03)}
    found = {volume: _volume(volume) for volume in measured}
    hours = answer_hours()
    panels = []
    for title, series, which in (("oxygen [mg/L]", "oxygen_mg_l", 0), ("pH [total scale]", "ph_total", 1)):
        lines = [Line(f"{volume} mL", hours, getattr(bag, series)) for volume, bag in found.items()]
        points = [Point(72, values[which]) for values in measured.values()]
        panels.append(
            lines_panel(f"0.40 L container, 15 cm² nubbin (rings: measured): {title}", lines, points)
        )
    return {"vconcat": panels, "spacing": 18}


@cache
def _volume(volume_ml: int) -> TransitBag:
    water = volume_ml / 1000
    more = "size_mm = [80, 80, 90]\nblank_umol_h = 0.3\nalkalinity_meq_l = 2.28"
    text = BAG.format(
        motion="still", water=water, gas=0.40 - water, more=more, taxon="Seriatopora",
        area="15\nrespiration_umol_cm2_h = 1.5",
    )  # fmt: skip
    return answer(text).bags[0]


def answer_hours() -> Sequence[float]:
    """Return the hours of the bag trials."""
    return answer(BAG.format(motion="still", water=0.2, gas=0.4, more="", taxon="Porites", area=5)).hours


ORDINARY = BAG.format(motion="carried", water=0.2, gas=0.3, more='id = "A"', taxon="Nobody knows", area=45)


def scenarios_band() -> Spec:
    """Oxygen of one bag over all scenarios, with the moments at which one in twenty and one in two fail."""
    found = answer(ORDINARY, SCENARIOS)
    assert found.percentiles is not None
    spread = found.percentiles
    low, mid, high = (one.bags[0] for one in (spread.p05, spread.p50, spread.p95))
    last = found.hours[-1]
    ends = ((low.hold_h, "1 in 20", (2, 3)), (mid.hold_h, "1 in 2", (1, 0)))
    span = Span(last, tuple((h, f"{w}: {h:.0f} h", dash) for h, w, dash in ends if h < last))
    rows = band_rows(found.hours, low.oxygen_mg_l, mid.oxygen_mg_l, high.oxygen_mg_l, last)
    limits = [one for one in found.bags[0].limits if one.ends_hold and one.quantity == "oxygen_mg_l"]
    shown = panel(
        f"45 cm² in 0.5 L: oxygen over {SCENARIOS} scenarios [mg/L]", rows, (WIDTH, HEIGHT), 4, span, limits
    )
    return labelled(span, with_moment_words(span, shown))


def what_moves_it() -> Spec:
    """How far each parameter moves the hold of the same bag by itself."""
    moved = answer(ORDINARY).sensitivity[0]
    rows = [
        {
            "words": row.words,
            "low": min(row.hold_low_h, row.hold_high_h),
            "high": max(row.hold_low_h, row.hold_high_h),
        }
        for row in moved.moved_by[:8]
    ]
    order = [row["words"] for row in rows]
    y = {
        "field": "words",
        "type": "nominal",
        "sort": order,
        "axis": {
            "title": None,
            "labelLimit": 260,
            "ticks": False,
            "domain": False,
            "minExtent": 250,
            "maxExtent": 250,
        },
    }
    x = {
        "field": "low",
        "type": "quantitative",
        "axis": {"title": "hold time [h], at its 5th and 95th percentile"},
        "scale": {"zero": False},
    }
    return {
        "width": 250,
        "height": 26 * len(rows),
        "data": {"values": rows},
        "layer": [
            {
                "mark": {"type": "bar", "fill": SAND, "stroke": INK, "height": 12},
                "encoding": {"x": x, "x2": {"field": "high"}, "y": y},
            },
        ],
    }


def doses() -> Spec:
    """One falling oxygen series, and when each tolerance class calls it the end."""
    lines, moments = [], []
    for tolerance, taxon in (("sensitive", "Acropora"), ("ordinary", "Nobody knows"), ("hardy", _hardy())):
        more = "respiration_umol_cm2_h = 1.3\nq10 = 2\nsymbiotic = true\ncalcification_meq_cm2_d = 0.01"
        text = BAG.format(motion="carried", water=0.3, gas=0.2, more="", taxon=taxon, area=f"50\n{more}")
        found = answer(text)
        bag = found.bags[0]
        lines.append(Line("oxygen", found.hours, bag.oxygen_mg_l))
        if not bag.holds_to_end:
            moments.append((bag.hold_h, f"{tolerance} {bag.hold_h:.0f} h", (2, 3)))
    until = 72.0
    span = Span(until, tuple(moments))
    one = lines[0]
    rows = band_rows(one.hours, one.values, one.values, one.values, until)
    shown = panel(
        "50 cm² in 0.3 L of water under 0.2 L of air: oxygen [mg/L]", rows, (WIDTH, HEIGHT), 4, span
    )
    return labelled(span, with_moment_words(span, shown))


def _hardy() -> str:
    return next(
        name
        for name, genus in sorted(reference().genera.items())
        if genus.tolerance == "hardy" and genus.symbiotic
    )


def mean_day() -> Spec:
    """A place in a month: its mean day, and the band for the days about it."""
    text = """
[ambient]
place = "Chicago"
month = 1
lasts_h = 48
leaves_at = "17:00:00"
[[box]]
inner_mm = [300, 300, 300]
wall_mm = 25
wall_k_w_mk = 0.036
[[box.mass]]
kg = 5
"""
    found = answer(text)
    unsure = found.weather.uncertain_c
    low, high = ([value + side * unsure for value in found.ambient_c] for side in (-1, 1))
    span = Span(48.0, title="hours from a departure at 17:00")
    rows = band_rows(found.hours, low, found.ambient_c, high, 48.0)
    return labelled(
        span, panel("Chicago in January, climate alone: air [°C]", rows, (WIDTH, HEIGHT), 10, span)
    )


PICTURES = {
    "box_cooling": box_cooling,
    "heat_packs": heat_packs,
    "ice": ice,
    "fillings": fillings,
    "three_volumes": three_volumes,
    "scenarios_band": scenarios_band,
    "what_moves_it": what_moves_it,
    "doses": doses,
    "mean_day": mean_day,
}


def lines_panel(title: str, lines: Sequence[Line], points: Sequence[Point] = ()) -> Spec:
    """Return one panel of named lines, each with a dash of its own and its name at its end."""
    last = max(line.hours[-1] for line in lines)
    span = Span(last)
    first = lines[0]
    rows = band_rows(first.hours, first.values, first.values, first.values, last)
    base = panel(title, rows, (WIDTH, HEIGHT), 1.0, span)
    values = [v for line in lines for v in line.values] + [point.value for point in points]
    low, high = min(values), max(values)
    edge = 0.08 * max(high - low, 0.5)
    y = {"type": "quantitative", "scale": {"domain": [low - edge, high + edge], "nice": False}}
    axis = {"title": None, "tickCount": 5}
    x = x_axis(span, labels=True)
    layers = [_line(line, DASHES[i % len(DASHES)], x, {**y, "axis": axis}) for i, line in enumerate(lines)]
    layers.append(_names(lines, y, (high - low + 2 * edge) / HEIGHT * 12))
    if points:
        data = {"values": [{"hour": point.hour, "mid": point.value} for point in points]}
        mark = {
            "type": "point",
            "shape": "circle",
            "size": 46,
            "filled": False,
            "stroke": KELP,
            "strokeWidth": 2,
        }
        layers.append({"data": data, "mark": mark, "encoding": {"x": x, "y": {"field": "mid", **y}}})
    return {**base, "layer": layers}


def _line(line: Line, dash: Sequence[int], x: Spec, y: Spec) -> Spec:
    data = {"values": [{"hour": h, "mid": v} for h, v in zip(line.hours, line.values, strict=True)]}
    mark = {"type": "line", "color": INK, "strokeWidth": 1.7, "strokeDash": list(dash)}
    return {"data": data, "mark": mark, "encoding": {"x": x, "y": {"field": "mid", **y}}}


def _names(lines: Sequence[Line], y: Spec, least_apart: float) -> Spec:
    """Write the names right of the ends of the lines, so far apart that they can be read."""
    ends = sorted((line.values[-1], line.hours[-1], line.name) for line in lines)
    rows: list[Spec] = []
    for value, hour, name in ends:
        at = max(value, rows[-1]["at"] + least_apart) if rows else value
        rows.append({"at": at, "hour": hour, "name": name})
    text = {"type": "text", "align": "left", "dx": 8, "fontSize": 10.5, "color": INK, "clip": False}
    encoding = {
        "x": {"field": "hour", "type": "quantitative"},
        "y": {"field": "at", **y},
        "text": {"field": "name"},
    }
    return {"data": {"values": rows}, "mark": text, "encoding": encoding}


def labelled(span: Span, some_panel: Spec) -> Spec:
    """Show the time axis under a panel."""
    x = x_axis(span, labels=True)
    layers = [
        {**layer, "encoding": {**layer["encoding"], "x": x}}
        if "axis" in layer["encoding"].get("x", {})
        else layer
        for layer in some_panel["layer"]
    ]
    return {**some_panel, "layer": layers}


if __name__ == "__main__":
    main()
