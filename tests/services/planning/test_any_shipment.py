"""Whatever is in stock, asked for and switched off: a plan comes out, and it passes the checker.

All instances are invented. Few examples: each is a whole plan.
"""

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from small_shipment import DIGITS, HONEYCOMB, NO_PACKS, OK_SMALL, REFERENCE, STOCK, inputs, piece, request

from ramet.check.plan_check import check_plan
from ramet.domain.piece import Hold
from ramet.domain.words import PackingRule, Status
from ramet.formats.plan import Plan
from ramet.services.planning.plan import make_plan

KINDS = (
    ("Montipora digitata", "branching"),
    ("Montipora capricornis", "plating"),
    ("Favites abdita", "massive"),
    ("Zoanthus sp.", "mat"),
    ("Sarcophyton glaucum", "leather"),
    ("Euphyllia ancora", "phaceloid"),
    ("Trachyphyllia geoffroyi", "fleshy"),
    ("Seriatopora hystrix", "branching"),
)
BOX = {"type": "of my own", "wall_mm": 40, "foam": "eps_i", "tare_kg": 0.6, "max_kg": 12}


@st.composite
def stocks(draw: st.DrawFn) -> list:
    pieces = []
    for k, (taxon, form) in enumerate(
        draw(st.lists(st.sampled_from(KINDS), min_size=1, max_size=4, unique=True))
    ):
        strain = f"Strain {k}"
        mother = piece(f"M{k}", strain, taxon, form, draw(st.integers(60, 150)), heads=6)
        kin = [
            piece(f"K{k}-{n}", strain, taxon, form, draw(st.integers(20, 80)), parent=mother.piece, heads=3)
            for n in range(draw(st.integers(0, 4)))
        ]
        pieces += [mother, *kin]
    return pieces


@st.composite
def shipments(draw: st.DrawFn) -> dict:
    genera = sorted({taxon.split()[0] for taxon, _ in KINDS})
    lines = [
        request(
            f"line {n}",
            draw(st.sampled_from(["must", "want", "filler"])),
            draw(st.integers(1, 4)),
            taxon=genus,
        )
        for n, genus in enumerate(
            draw(st.lists(st.sampled_from(genera), min_size=1, max_size=4, unique=True))
        )
    ]
    boxes = [
        BOX | {"type": f"box {n}", "inner_mm": [draw(st.integers(110, 330)) for _ in range(3)]}
        for n in range(draw(st.integers(1, 2)))
    ]
    rules = {rule.value: False for rule in draw(st.sets(st.sampled_from(list(PackingRule)), max_size=4))}
    return {
        "request": lines,
        "box": boxes,
        "rules": rules,
        "gear": {"oxygen": draw(st.booleans()), "packs": NO_PACKS},
    }


def holds(plan: Plan) -> None:
    assert [str(finding) for finding in check_plan(plan, REFERENCE)] == []
    for line in plan.left_out:
        assert all(reason.text and reason.would_fit_if for reason in line.reasons)
    if plan.status in (Status.SHORT, Status.IMPOSSIBLE):
        assert plan.left_out or any(bag.margin_h < 0 for bag in plan.forecast.bags)


@settings(max_examples=20, deadline=None, suppress_health_check=list(HealthCheck))
@given(stocks(), shipments())
def test_every_plan_passes_the_checker(pieces: list, shipment: dict) -> None:
    holds(make_plan(inputs(pieces, **shipment)))


@pytest.mark.parametrize("rule", list(PackingRule))
def test_a_rule_switched_off_is_told_and_the_plan_holds(rule: PackingRule) -> None:
    plan = make_plan(inputs(request=[HONEYCOMB, DIGITS], rules={rule.value: False}))
    assert [one.rule for one in plan.rules if not one.on] == [rule]
    assert all(one.words.endswith(".") for one in plan.rules)
    holds(plan)


def test_no_bag_fits_a_piece() -> None:
    plan = make_plan(inputs([piece("G1", "Giant", "Favites abdita", "massive", 400)], request=[GIANT]))
    assert plan.status is Status.IMPOSSIBLE
    assert plan.left_out[0].reasons[0].code == "no_bag_fits"
    holds(plan)


GIANT = request("giant", taxon="Favites", last_of_strain=True, may_cut=False)


def test_every_candidate_is_held() -> None:
    held = [Hold(one.piece, "acropora_flatworm", True, OK_SMALL.today, "two clean looks") for one in STOCK]
    plan = make_plan(inputs(STOCK, held, request=[HONEYCOMB, DIGITS]))
    assert plan.status is Status.IMPOSSIBLE
    assert {line.reasons[0].code for line in plan.left_out} == {"held"}
    holds(plan)


def test_musts_that_exceed_the_boxes() -> None:
    many = [piece(f"F{k}", f"Field {k}", "Favites abdita", "massive", 60) for k in range(12)]
    wish = HONEYCOMB | {"count": 12, "last_of_strain": True}
    plan = make_plan(inputs(many, request=[wish], box=[BOX | {"inner_mm": [150, 150, 200]}]))
    assert plan.status is Status.SHORT
    assert 0 < plan.left_out[0].sent < 12
    assert plan.left_out[0].reasons[0].code in {"no_room", "too_heavy"}
    holds(plan)


def test_goods_that_weigh_next_to_nothing_and_are_dry() -> None:
    goods = {"name": "a letter", "kind": "plain", "size_mm": [90, 60, 5], "mass_g": 0.001, "water_l": 0}
    plan = make_plan(inputs(request=[HONEYCOMB], goods=[goods]))
    assert [bag.goods for bag in plan.bags if bag.goods] == ["a letter"]
    holds(plan)
