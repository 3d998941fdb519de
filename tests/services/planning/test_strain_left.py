"""The last piece of a strain stays, whoever asks for it, unless its line gives even that away."""

from dataclasses import replace

import pytest
from small_shipment import OK_SMALL, PACKED_ON, REFERENCE, inputs, request, small_plan, small_stages

from ramet.check.plan_check import check_plan
from ramet.formats.plan import Plan
from ramet.services.planning.plan import make_plan
from ramet.services.planning.repack import BenchChange
from ramet.services.planning.strain_left import strain_left
from ramet.services.replan import replan_from

GIVES_LAST = request("gives its last", taxon="Favites", last_of_strain=True)
KEEPS_ONE = request("keeps one", taxon="Favites")


def sent(plan: Plan) -> dict[str, int]:
    assert check_plan(plan, REFERENCE) == ()
    lines = [one.request for one in plan.chosen]
    return {line: lines.count(line) for line in lines}


def test_what_stays_is_counted_by_strain_whatever_its_case() -> None:
    # Two of Field 1, Lamp 1 and Zinc 1 and three of Dock 1 are in stock; one of each goes.
    left = strain_left(OK_SMALL, small_stages().packed.loads)
    assert left == {"dock 1": 2, "field 1": 1, "lamp 1": 1, "zinc 1": 1}


def test_one_line_may_take_the_last_of_a_strain_that_another_takes_from_too() -> None:
    plan = make_plan(inputs(request=[GIVES_LAST, KEEPS_ONE]))
    assert sent(plan) == {"gives its last": 1, "keeps one": 1}


def test_a_line_that_keeps_one_never_takes_the_last_for_another_that_gets_nothing() -> None:
    plan = make_plan(inputs(request=[KEEPS_ONE | {"count": 2}, GIVES_LAST | {"rank": "filler"}]))
    assert sent(plan)["keeps one"] == 1


def after_a_change_without(*lost: str) -> Plan:
    stock = replace(
        OK_SMALL.stock, pieces=tuple(one for one in OK_SMALL.stock.pieces if one.piece not in lost)
    )
    toadstool = next(one.piece for one in small_plan().chosen if one.request == "toadstool")
    at_the_bench = replace(OK_SMALL, today=PACKED_ON, stock=stock)
    return replan_from(at_the_bench, small_plan(), BenchChange(frozenset(), toadstool)).plan


@pytest.mark.parametrize("lost", [("F2",), ("F1", "F2"), ("D1", "D2", "D3"), ("Z1", "Z2")])
def test_a_change_at_the_bench_after_others_of_a_strain_died_goes_through_and_says_so(
    lost: tuple[str, ...],
) -> None:
    plan = after_a_change_without(*lost)
    assert check_plan(plan, REFERENCE) == ()
    (told,) = [one.text for one in plan.cautions if one.code == "last_of_strain"]
    (piece,) = [one.piece for one in plan.chosen if one.strain_left == 0]
    assert f"with {piece} the last of it goes" in told
    assert next(one.strain for one in plan.chosen if one.piece == piece) in told


def test_a_piece_that_the_stock_knows_no_more_keeps_its_papers() -> None:
    before = {one.piece: one for one in small_plan().chosen}
    for one in after_a_change_without("F1", "F2").chosen:
        if one.piece in before:
            was = before[one.piece]
            assert (one.ancestor, one.source, one.permit) == (was.ancestor, was.source, was.permit)


def test_nothing_is_owned_up_to_while_one_of_each_strain_stays() -> None:
    assert "last_of_strain" not in {one.code for one in after_a_change_without().cautions}
    assert "last_of_strain" not in {one.code for one in small_plan().cautions}
