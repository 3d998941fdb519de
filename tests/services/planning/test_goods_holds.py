"""Goods from held water stay behind; corals that are no hosts go, with a caution about their mounts."""

from dataclasses import replace
from datetime import date

import small_shipment as small

from ramet.domain.piece import ThingHold
from ramet.services.planning.gather import Inputs
from ramet.services.planning.goods_holds import held_goods
from ramet.services.planning.plan import make_plan

HOLD = ThingHold("north", "acropora_flatworm", date(2026, 8, 1), "38 d without a host")
MEDIA = {"name": "block 3", "kind": "matured_media", "age_weeks": 60, "size_mm": [100, 60, 60]}


def given(hold: ThingHold | None, system: str | None) -> Inputs:
    goods = [
        MEDIA | {"mass_g": 300, "water_l": 0.2} | ({"system": system} if system else {}) | {"rank": "must"}
    ]
    found = small.inputs(goods=goods)
    return replace(found, stock=replace(found.stock, things=(hold,) if hold else ()))


def test_goods_of_held_water_are_held() -> None:
    (refusal,) = held_goods(given(HOLD, "North")).values()
    assert (refusal.code, refusal.would_fit_if) == ("held", "38 d without a host")
    assert "block 3 is held: polyclad flatworm that eats Acropora in the water of “north”" in refusal.text


def test_goods_of_other_water_are_free() -> None:
    assert held_goods(given(HOLD, "south")) == {}
    assert held_goods(given(HOLD, None)) == {}
    assert held_goods(given(None, "north")) == {}


def test_goods_held_by_name_are_held_wherever_they_come_from() -> None:
    by_name = replace(HOLD, system="shelf", goods="Block 3")
    (refusal,) = held_goods(given(by_name, "south")).values()
    assert "water that it stood in" in refusal.text


def test_the_plan_leaves_them_behind_and_says_why() -> None:
    plan = make_plan(given(HOLD, "north"))
    assert all(bag.goods is None for bag in plan.bags)
    (line,) = (one for one in plan.left_out if one.request == "block 3")
    assert line.reasons[0].code == "held"
    (caution,) = (one for one in plan.cautions if one.code == "held_water")
    assert "freshly mixed water" in caution.text
    assert {bag.pieces[0] for bag in plan.bags}
