"""Whatever is in stock, asked for and switched off: a plan comes out, and it passes the checker.

All instances are invented. Few examples: each is a whole plan.
"""

from contextlib import suppress
from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from small_shipment import (
    DIGITS,
    HONEYCOMB,
    NO_PACKS,
    OK_SMALL,
    PACKED_ON,
    REFERENCE,
    STOCK,
    inputs,
    leg,
    piece,
    request,
)

from ramet.check.plan_check import check_plan
from ramet.domain.piece import Hold
from ramet.domain.words import PackingRule, Status
from ramet.formats.plan import Plan
from ramet.services.planning.plan import make_plan
from ramet.services.planning.repack import BenchChange
from ramet.services.replan import CannotReplan, replan_from

KINDS = (
    ("Montipora digitata", "branching"),
    ("Montipora capricornis", "plating"),
    ("Acropora millepora", "branching"),
    ("Favites abdita", "massive"),
    ("Goniopora lobata", "massive"),
    ("Zoanthus sp.", "mat"),
    ("Sarcophyton glaucum", "leather"),
    ("Xenia umbellata", "mat"),
    ("Euphyllia ancora", "phaceloid"),
    ("Trachyphyllia geoffroyi", "fleshy"),
    ("Seriatopora hystrix", "branching"),
    ("Nowhereia ignota", "massive"),
)
BOX = {"type": "of my own", "wall_mm": 40, "foam": "eps_i", "tare_kg": 0.6, "max_kg": 12}
ROADS = (
    leg(22, 25),
    leg(17, 24, "vehicle"),
    leg(2, 9),
    leg(27, 33, "vehicle"),
    leg(18, 22, "aircraft"),
)
GOODS = {"name": "media", "size_mm": [90, 60, 60], "mass_g": 300, "age_weeks": 9, "system": "north"}


@st.composite
def stocks(draw: st.DrawFn) -> list:
    """A few strains: a mother and her kin, some of which only bear the strain's name."""
    pieces = []
    kinds = draw(st.lists(st.sampled_from(KINDS), min_size=1, max_size=5, unique=True))
    for k, (taxon, form) in enumerate(kinds):
        strain = f"Strain {k}"
        pieces.append(piece(f"M{k}", strain, taxon, form, draw(st.integers(60, 150)), heads=6))
        for n in range(draw(st.integers(0, 5))):
            parent = draw(st.sampled_from([f"M{k}", f"M{k}", None]))
            length = draw(st.integers(20, 80))
            called = draw(st.sampled_from([strain, strain, strain.upper(), f"{strain} pale"]))
            pieces.append(piece(f"K{k}-{n}", called, taxon, form, length, parent=parent, heads=3))
    return pieces


@st.composite
def wishes(draw: st.DrawFn, pieces: list) -> list[dict]:
    """Lines that wish for what is in stock, and now and then for what is not."""
    kinds = [{"strain": one.strain} for one in pieces]
    kinds += [{"taxon": one.taxon.split()[0], "form": one.form.value} for one in pieces]
    kinds.append({"taxon": "Montipora"})
    return [
        request(
            f"line {n}",
            draw(st.sampled_from(["must", "want", "filler"])),
            draw(st.integers(1, 5)),
            last_of_strain=draw(st.booleans()),
            may_cut=draw(st.booleans()),
            **draw(st.sampled_from(kinds)),
            **draw(st.sampled_from([{}, {}, {"max_length_mm": 45}, {"min_length_mm": 30}])),
        )
        for n in range(draw(st.integers(1, 5)))
    ]


@st.composite
def cases(draw: st.DrawFn) -> tuple[list, dict]:
    """A stock and a shipment that asks for it."""
    pieces = draw(stocks())
    sides = st.tuples(st.integers(120, 340), st.integers(120, 300), st.integers(130, 340))
    boxes = [
        BOX | {"type": f"box {n}", "inner_mm": list(inner), "count": draw(st.integers(1, 2))}
        for n, inner in enumerate(draw(st.lists(sides, min_size=1, max_size=2)))
    ]
    off = draw(st.sets(st.sampled_from(list(PackingRule)), max_size=4))
    shipment = {
        "request": draw(wishes(pieces)),
        "box": boxes,
        "rules": {rule.value: False for rule in off},
        "gear": {
            "oxygen": draw(st.sampled_from([True, True, False])),
            "packs": draw(st.sampled_from([NO_PACKS, {}])),
        },
        "leg": [draw(st.sampled_from(ROADS))],
        "goods": draw(st.sampled_from([(), (GOODS,), (GOODS | {"rank": "filler"},)])),
        "carrier": {
            "live_aquatics": "yes",
            "heat_packs": draw(st.sampled_from(["yes", "no"])),
            "side_rounding": draw(st.sampled_from(["none", "nearest_cm", "up_cm"])),
            "mass_step_kg": draw(st.sampled_from([0.1, 0.5, 1.0])),
        },
    }
    return pieces, shipment


def holds(plan: Plan) -> None:
    assert [str(finding) for finding in check_plan(plan, REFERENCE)] == []
    for line in plan.left_out:
        assert all(reason.text and reason.would_fit_if for reason in line.reasons)
    if plan.status in (Status.SHORT, Status.IMPOSSIBLE):
        assert plan.left_out or any(bag.margin_h < 0 for bag in plan.forecast.bags)


@settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
@given(cases())
def test_every_plan_passes_the_checker(case: tuple[list, dict]) -> None:
    pieces, shipment = case
    holds(make_plan(inputs(pieces, **shipment)))


@settings(max_examples=15, deadline=None, suppress_health_check=list(HealthCheck))
@given(cases(), st.data())
def test_every_change_at_the_bench_passes_the_checker_or_is_refused_in_words(
    case: tuple[list, dict], data: st.DataObject
) -> None:
    pieces, shipment = case
    planned = inputs(pieces, **shipment)
    plan = make_plan(planned)
    lost = data.draw(st.sets(st.sampled_from([one.piece for one in pieces]), max_size=2), "lost since")
    kept = tuple(one for one in pieces if one.piece not in lost)
    bench = replace(planned, today=PACKED_ON, stock=replace(planned.stock, pieces=kept))
    for _ in range(2):
        if not plan.chosen:
            break
        gone = data.draw(st.sampled_from([one.piece for one in plan.chosen]), "withdrawn")
        sealed = data.draw(st.integers(0, len(plan.bags)), "sealed so far")
        packed = frozenset(bag.id for bag in plan.bags if bag.sealing_order <= sealed)
        instead = data.draw(st.sampled_from([None, *(one.piece for one in pieces)]), "instead")
        with suppress(CannotReplan):
            plan = replan_from(bench, plan, BenchChange(packed, gone, instead)).plan
            holds(plan)


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
