"""A piece withdrawn at the bench: sealed bags stay, little changes, and what comes out passes the checker."""

from dataclasses import replace
from datetime import timedelta

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from small_shipment import OK_SMALL, PACKED_ON, REFERENCE, inputs, request, small_plan

from ramet.check.plan_check import check_plan
from ramet.domain.words import Status
from ramet.services.planning.plan import make_plan
from ramet.services.planning.repack import BenchChange
from ramet.services.replan import CannotReplan, replan_from

BENCH = replace(OK_SMALL, today=PACKED_ON)
BAGS = tuple(bag.id for bag in small_plan().bags)
GOING = {one.piece: one for one in small_plan().chosen}


def bag_of(piece: str) -> str:
    return GOING[piece].bag


def going(line: str) -> str:
    return next(one.piece for one in small_plan().chosen if one.request == line)


def change(piece: str, *sealed: str, instead: str | None = None) -> BenchChange:
    return BenchChange(frozenset(sealed), piece, instead)


def test_the_next_best_of_its_line_takes_the_place_of_a_withdrawn_piece() -> None:
    gone = going("honeycomb")
    done = replan_from(BENCH, small_plan(), change(gone))
    (new,) = done.brought_in
    assert {gone, new} == {"F1", "F2"}
    assert done.plan.status is Status.READY
    assert gone in done.words[0]
    assert check_plan(done.plan, REFERENCE) == ()
    assert done.plan.changes[-1].withdrawn == gone


def test_a_bag_never_takes_the_name_of_one_that_was_left_behind() -> None:
    gone, bag = going("honeycomb"), bag_of(going("honeycomb"))
    once = replan_from(BENCH, small_plan(), change(gone)).plan
    again = replan_from(BENCH, once, change(once.changes[-1].brought_in[0])).plan
    assert [one.not_sent for one in again.changes] == [bag, *once.changes[-1].bags]
    names = {bag.id for bag in small_plan().bags}
    assert len(names | set(once.changes[-1].bags) | set(again.changes[-1].bags)) == len(names) + 2
    assert check_plan(again, REFERENCE) == ()


def test_what_is_sealed_stays_as_it_is() -> None:
    gone = going("honeycomb")
    sealed = [bag for bag in BAGS if bag != bag_of(gone)]
    done = replan_from(BENCH, small_plan(), change(gone, *sealed))
    before = {bag.id: bag for bag in small_plan().bags}
    for bag in done.plan.bags:
        if bag.id in sealed:
            was = before[bag.id]
            assert (bag.at_mm, bag.size_mm, bag.pieces, bag.water_l) == (
                was.at_mm,
                was.size_mm,
                was.pieces,
                was.water_l,
            )
    told = {one.id: one.sealed_before_h for one in done.plan.journey.bags}
    assert {bag: told[bag] for bag in sealed} == {
        one.id: one.sealed_before_h for one in small_plan().journey.bags if one.id in sealed
    }


def test_a_swap_brings_in_the_piece_that_is_asked_for() -> None:
    done = replan_from(BENCH, small_plan(), change(going("buttons"), instead=other("buttons")))
    assert done.brought_in == (other("buttons"),)


def test_names_are_taken_however_they_are_typed() -> None:
    gone, new, sealed = going("buttons"), other("buttons"), bag_of(going("digits"))
    done = replan_from(BENCH, small_plan(), change(f" {gone.lower()}", sealed.lower(), instead=new.lower()))
    told = done.plan.changes[-1]
    assert (told.withdrawn, told.sealed, done.brought_in) == (gone, (sealed,), (new,))


def other(line: str) -> str:
    pairs = {"D1": "D2", "D2": "D1", "F1": "F2", "F2": "F1", "L1": "L2", "L2": "L1", "Z1": "Z2", "Z2": "Z1"}
    return pairs[going(line)]


def test_with_no_other_piece_in_stock_the_line_is_told_short() -> None:
    stock = OK_SMALL.stock
    lone = tuple(one for one in stock.pieces if one.piece in GOING or not one.piece.startswith("L"))
    bench = replace(BENCH, stock=replace(stock, pieces=lone))
    done = replan_from(bench, small_plan(), change(going("toadstool")))
    assert done.brought_in == ()
    (short,) = done.plan.left_out
    assert (short.request, short.sent) == ("toadstool", 0)
    assert short.reasons[0].code == "withdrawn"
    assert "nothing else that is ready answers to its line" in " ".join(done.words)


def test_the_words_tell_how_the_new_bag_is_filled_and_that_a_sealed_one_is_opened() -> None:
    gone = going("honeycomb")
    done = replan_from(BENCH, small_plan(), change(gone, bag_of(gone)))
    assert "It is sealed: take it out and open it." in done.words[0]
    new = next(bag for bag in done.plan.bags if bag.id == done.plan.changes[-1].bags[0])
    assert f"{new.water_l:.2f} L water, {new.gas_l:.2f} L {new.gas}" in done.words[1]


@pytest.mark.parametrize(
    ("wish", "words"),
    [
        (change("F9"), "F9 is in no bag"),
        (change("D1" if "D1" in GOING else "D2", "Q7"), "no bag Q7"),
        (change("D1" if "D1" in GOING else "D2", instead="D9"), "D9 is not in stock"),
        (change("D1" if "D1" in GOING else "D2", instead="D3"), "D3 is 110 mm long"),
        (
            change("D1" if "D1" in GOING else "D2", instead="Z2"),
            "Z2 .Zoanthus sp.. is not what the line “digits”",
        ),
    ],
)
def test_what_cannot_be_done_is_told_and_the_plan_stands(wish: BenchChange, words: str) -> None:
    with pytest.raises(CannotReplan, match=words):
        replan_from(BENCH, small_plan(), wish)


CUT_FROM_D3 = [
    request("frags", count=2, taxon="Montipora", max_length_mm=40),
    request("any", "want", taxon="Montipora", min_length_mm=45, may_cut=False),
]


def test_the_mother_of_cuts_that_go_is_no_substitute_and_is_refused_when_asked_for() -> None:
    planned = inputs(request=CUT_FROM_D3)
    plan = make_plan(planned)
    assert {one.mother for one in plan.chosen if one.request == "frags"} == {"D3"}
    (whole,) = [one.piece for one in plan.chosen if one.request == "any"]
    others = {one.piece for line in plan.substitutes for one in line.ranked}
    assert "D3" not in others
    bench = replace(planned, today=PACKED_ON)
    with pytest.raises(CannotReplan, match="D3 is the mother of D3-c1, D3-c2"):
        replan_from(bench, plan, change(whole, instead="D3"))
    done = replan_from(bench, plan, change(whole))
    assert "D3" not in done.brought_in
    assert check_plan(done.plan, REFERENCE) == ()


def test_a_second_change_builds_on_the_first() -> None:
    sealed = bag_of(going("digits"))
    first = replan_from(BENCH, small_plan(), change(going("honeycomb"), sealed))
    second = replan_from(BENCH, first.plan, change(going("buttons"), sealed))
    assert [one.withdrawn for one in second.plan.changes] == [going("honeycomb"), going("buttons")]
    assert check_plan(second.plan, REFERENCE) == ()


@settings(max_examples=12, deadline=None, suppress_health_check=list(HealthCheck))
@given(st.sampled_from(sorted(GOING)), st.sets(st.sampled_from(BAGS)), st.integers(0, 1))
def test_whatever_is_withdrawn_what_comes_out_holds(piece: str, sealed: set[str], days: int) -> None:
    bench = replace(BENCH, today=PACKED_ON - timedelta(days=days))
    done = replan_from(bench, small_plan(), change(piece, *sealed))
    assert check_plan(done.plan, REFERENCE) == ()
    assert piece not in {one.piece for one in done.plan.chosen}
    assert set(sealed) - {bag_of(piece)} <= {bag.id for bag in done.plan.bags}


def test_sealed_bags_that_contradict_each_other_are_told_and_the_plan_stands() -> None:
    first, second, *_ = small_plan().bags
    pushed = second.model_copy(update={"at_mm": first.at_mm})
    bags = tuple(pushed if bag.id == second.id else bag for bag in small_plan().bags)
    broken = small_plan().model_copy(update={"bags": bags})
    gone = next(one.piece for one in small_plan().chosen if one.bag not in (first.id, second.id))
    with pytest.raises(CannotReplan) as told:
        replan_from(BENCH, broken, change(gone, first.id, second.id))
    assert told.value.reasons
