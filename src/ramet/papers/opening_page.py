"""The receiver's page: one file of HTML that works without a network and keeps notes on the device."""

import base64
import hashlib
import json
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import escape

from ramet.formats.plan import Bag, Plan
from ramet.formats.result import DAYS, Condition
from ramet.papers import words
from ramet.papers.boxes import box_svg
from ramet.papers.facts_of import by_margin
from ramet.papers.journey import journey_chart
from ramet.papers.layers import layers_of
from ramet.papers.marks import class_mark, project_mark, standalone
from ramet.papers.receiver_sheet import receiver_context

Context = dict[str, Any]
TEMPLATES = Path(__file__).parent / "templates"

CONDITIONS = (
    (Condition.WELL, "Well", "open, or as usual on a first day"),
    (Condition.WEAK, "Weak", "alive, but closed, pale, torn or losing tissue"),
    (Condition.DEAD, "Dead", "no living tissue, or it smells"),
    (Condition.MISSING, "Missing", "not in the bag"),
)


@dataclass(frozen=True, slots=True)
class OpeningPage:
    """The page, and the policy of what it may load: nothing, and send to one address alone."""

    html: bytes
    policy: str


def opening_page(plan: Plan, plan_sha256: str, send_to: str = "") -> OpeningPage:
    """Return the page of a plan; the same plan gives the same bytes.

    `send_to` is the address that takes results; without it the receiver saves a file and sends that.
    """
    style, script = _part("opening.css"), _part("opening.js")
    policy = _policy(style, script, send_to)
    told = {
        "key": plan_sha256[:16],
        "shipment": plan.shipment.name,
        "due": plan.shipment.due.isoformat(),
        "plan_sha256": plan_sha256,
        "send_to": send_to,
        "bags": {bag.id: list(bag.pieces) for bag in plan.bags},
    }
    html = (
        _environment()
        .get_template("opening.html")
        .render(
            policy=policy,
            style=style,
            script=script,
            told=json.dumps(told, ensure_ascii=False).replace("<", "\\u003c"),
            mark=standalone(project_mark("currentColor"), "ramet"),
            conditions=[(one.value, name, what) for one, name, what in CONDITIONS],
            days=DAYS[1:],
            **opening_context(plan),
        )
    )
    return OpeningPage(html.encode(), policy)


def addressed(page: bytes, send_to: str) -> OpeningPage:
    """Return a page that was made without an address as it is made with one, without drawing it again."""
    before, after = (escape(f"connect-src {_connect(one)}") for one in ("", send_to))
    told = json.dumps(send_to, ensure_ascii=False).replace("<", "\\u003c")
    html = page.replace(before.encode(), after.encode(), 1)
    html = html.replace(b'"send_to": ""', f'"send_to": {told}'.encode(), 1)
    return OpeningPage(html, _policy(_part("opening.css"), _part("opening.js"), send_to))


def opening_context(plan: Plan) -> Context:
    """Return what the page shows, beside its own forms."""
    sheet = receiver_context(plan)
    return {
        "shipment": plan.shipment.name,
        "sender": plan.shipment.sender,
        "receiver": plan.shipment.receiver,
        "sheet": sheet,
        "bags": [] if sheet is None else [_bag(plan, row) for row in sheet["bags"]],
        "boxes": [_box(plan, box.id) for box in plan.boxes if box.bags],
        "chart": _chart(plan),
    }


def _bag(plan: Plan, row: Context) -> Context:
    """A bag of the receiver's sheet with its minutes, the warmth to expect, and where each piece goes."""
    bag = next(bag for bag in plan.bags if bag.id == row["id"])
    minutes = {one.bag: one.float_min for one in plan.tank.acclimation}.get(bag.id)
    pieces = [line | {"place": _place(plan, str(line["pieces"]))} for line in row["contents"]]
    mark = standalone(class_mark(bag.bag_class, "currentColor"), words.CLASS[bag.bag_class])
    return row | {
        "mark": mark,
        "minutes": minutes,
        "expected": _expected(plan, bag),
        "times": _times(plan, bag),
        "pieces": pieces,
    }


def _expected(plan: Plan, bag: Bag) -> str:
    """The warmth of a bag's water at the due time, where the forecast tells it."""
    forecast = next((one for one in plan.forecast.bags if one.id == bag.id), None)
    due_h = (plan.shipment.due - plan.shipment.departs).total_seconds() / 3600
    if forecast is None or not plan.forecast.hours:
        return ""
    hours = plan.forecast.hours
    at = min(range(len(hours)), key=lambda index: abs(hours[index] - due_h))
    band = forecast.series.temperature_c
    low, high = band.p05[at], band.p95[at]
    return f"{words.number(low)} to {words.number(high)} °C ({_f(low)} to {_f(high)} °F)"


def _f(celsius: float) -> str:
    return words.number(celsius * 1.8 + 32, 0)


def _place(plan: Plan, piece: str) -> str:
    """Where a piece goes in the tank, and its light."""
    place = next((one for one in plan.tank.placement if one.piece == piece), None)
    light = next((one for one in plan.tank.light if one.piece == piece), None)
    parts = []
    if place is not None:
        at = (
            f", {place.at_mm[0]} mm from the left and {place.at_mm[1]} mm from the front"
            if place.at_mm
            else ""
        )
        parts.append(f"{place.zone}{at}; {place.gap_mm} mm free around it")
        parts.append(place.note)
    if light is not None:
        start, target = words.number(light.start_par, 0), words.number(light.target_par, 0)
        parts.append(f"light {start} at first, {target} µmol m⁻² s⁻¹ after {words.plural(light.days, 'day')}")
    return " ".join(words.sentence(part) for part in parts if part)


def _box(plan: Plan, box_id: str) -> Context:
    box = next(box for box in plan.boxes if box.id == box_id)
    layers = layers_of(plan, box)
    return {
        "name": words.sentence(words.box_name(box_id)).removesuffix("."),
        "layers": [
            {"number": layer.number, "of": len(layers), "svg": box_svg(plan, box_id, layer=layer.number)}
            for layer in reversed(layers)
        ],
    }


def _chart(plan: Plan) -> Context | None:
    """The journey of the bag that has least time, to hold the measured warmth against."""
    if not plan.forecast.bags:
        return None
    thinnest = by_margin(plan)[0]
    return {"bag": thinnest.id, "svg": journey_chart(plan, thinnest.id, width=300)}


def _times(plan: Plan, bag: Bag) -> list[tuple[str, int]]:
    """The steps of a bag with their minutes after opening starts, for a page that knows when that is."""
    one = next((each for each in plan.tank.acclimation if each.bag == bag.id), None)
    if one is None or one.clock is None:
        return []
    clock = one.clock
    return [
        *([("float", clock.float_from)] if one.float_min else []),
        ("open", clock.open_at),
        *([("ramp to", clock.dip_until - one.dip_min)] if one.ramp_min else []),
        ("place", clock.place_from),
    ]


def _policy(style: str, script: str, send_to: str) -> str:
    return (
        f"default-src 'none'; style-src '{_sha256(style)}'; script-src '{_sha256(script)}'; "
        f"img-src data: blob:; connect-src {_connect(send_to)}; base-uri 'none'; form-action 'none'"
    )


def _connect(send_to: str) -> str:
    where = urlsplit(send_to)
    return f"{where.scheme}://{where.netloc}" if send_to else "'none'"


def _sha256(text: str) -> str:
    return "sha256-" + base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()


def _part(name: str) -> str:
    return (TEMPLATES / name).read_text("utf-8")


@cache
def _environment() -> Environment:
    return Environment(
        loader=FileSystemLoader(TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
