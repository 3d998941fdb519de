"""Charts on pages: the papers' specifications, made readable at every hour by pointer, key and table."""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from markupsafe import Markup

from ramet.formats.plan import Bands, LimitLine, Plan
from ramet.papers.chart import config
from ramet.papers.journey import QUANTITIES, journey_spec, shown_until_h
from ramet.web.formatting import Wording

WIDTH = 640
"""The width a specification is made for; a page's script fits it to the screen."""
_TABLE_STEP_H = 2.0


@dataclass(frozen=True, slots=True)
class Chart:
    """A chart for a page: its specification as JSON, its words, and the address of its still picture."""

    name: str
    spec: Markup
    words: str
    picture: str
    readings: Markup


@dataclass(frozen=True, slots=True)
class HourRow:
    """One hour of a bag in the table behind its chart: for each quantity low, middle and high."""

    hour: float
    cells: tuple[str, ...]


def journey_chart_of(plan: Plan, bag_id: str, picture: str, say: Wording) -> Chart:
    """Return the chart of one bag, and what it reads at every hour."""
    shown, unit = shown_in_units(plan, bag_id, say), say.unit("temperature")
    spec = journey_spec(shown, bag_id, width=WIDTH, height=110, warmth_unit=unit)
    words = f"Bag {bag_id} over the journey: temperature, oxygen, pH and un-ionised ammonia, with limits"
    readings = _readings(plan, bag_id, say)
    return Chart("journey", as_json({**spec, "config": config()}), words, picture, readings)


def shown_in_units(plan: Plan, bag_id: str, say: Wording) -> Plan:
    """Return a plan whose charts read in the grower's unit of temperature."""
    if say.preferences.units == "metric":
        return plan
    bags = []
    for bag in plan.forecast.bags:
        if bag.id != bag_id:
            continue
        warm = bag.series.temperature_c
        bands = Bands(p05=_f(warm.p05), p50=_f(warm.p50), p95=_f(warm.p95))
        limits = tuple(_limit_f(one) if one.quantity == "temperature_c" else one for one in bag.limits)
        series = bag.series.model_copy(update={"temperature_c": bands})
        bags.append(bag.model_copy(update={"series": series, "limits": limits}))
    return plan.model_copy(update={"forecast": plan.forecast.model_copy(update={"bags": tuple(bags)})})


def hour_rows(plan: Plan, bag_id: str, say: Wording) -> tuple[HourRow, ...]:
    """Return the table behind a bag's chart, a row every other hour."""
    bands = _bands(plan, bag_id)
    last, rows, shown_until = -_TABLE_STEP_H, [], shown_until_h(plan)
    for index, hour in enumerate(plan.forecast.hours):
        if hour > shown_until or hour - last < _TABLE_STEP_H - 1e-6:
            continue
        last = hour
        cells = tuple(_cell(say, kind, band, index) for kind, band in bands)
        rows.append(HourRow(hour, cells))
    return tuple(rows)


def column_heads(say: Wording) -> tuple[str, ...]:
    """Return the headings of the table: quantity and unit."""
    units = {"temperature_c": say.unit("temperature")}
    return tuple(f"{name} [{units.get(kind, unit)}]" for kind, (name, unit) in QUANTITIES.items())


def as_json(value: Any) -> Markup:
    """Return a value as JSON that may stand in a page: nothing in it can end the element it stands in."""
    text = json.dumps(value, ensure_ascii=False, separators=(",", ":"))
    return Markup(text.replace("<", "\\u003c").replace("\u2028", "\\u2028").replace("\u2029", "\\u2029"))


def _readings(plan: Plan, bag_id: str, say: Wording) -> Markup:
    bands, until = _bands(plan, bag_id), shown_until_h(plan)
    hours = [hour for hour in plan.forecast.hours if hour <= until]
    legs = [[leg.name, leg.start_h, leg.end_h] for leg in plan.forecast.legs]
    return as_json(
        {
            "hours": hours,
            "heads": column_heads(say),
            "cells": [[_cell(say, kind, band, n) for kind, band in bands] for n in range(len(hours))],
            "legs": legs,
        }
    )


def _bands(plan: Plan, bag_id: str) -> list[tuple[str, Bands]]:
    bag = next(bag for bag in plan.forecast.bags if bag.id == bag_id)
    return [(kind, getattr(bag.series, kind)) for kind in QUANTITIES]


def _cell(say: Wording, kind: str, band: Bands, index: int) -> str:
    values = (band.p05[index], band.p50[index], band.p95[index])
    if kind == "temperature_c":
        low, middle, high = (say.size("temperature", value, unit=False) for value in values)
    else:
        digits = 1 if kind == "oxygen_mg_l" else 2
        low, middle, high = (say.number(value, digits) for value in values)
    return f"{middle} ({low} to {high})"


def _limit_f(limit: LimitLine) -> LimitLine:
    return limit.model_copy(update={"level": round(limit.level * 1.8 + 32, 1)})


def _f(values: Sequence[float]) -> tuple[float, ...]:
    return tuple(value * 1.8 + 32 for value in values)
