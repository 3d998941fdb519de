"""Packing at the bench is entered step by step, survives a restart, and every step can be undone."""

from datetime import datetime, timedelta
from pathlib import Path

import pytest
from small_shop import small_ledger, small_shop_plan

from ramet.domain.errors import BadInput
from ramet.domain.events import Kind, Standing
from ramet.formats.plan import Plan
from ramet.ledger import open_ledger
from ramet.ledger.queries import contents, history
from ramet.services.pack_off import (
    AtBench,
    decide,
    hand_over,
    lay_out,
    packing_of,
    seal,
    take_back,
    unseal,
)
from ramet.services.verify import verify


@pytest.fixture
def place(place: str, tmp_path: Path) -> str:
    """The small shop's ledger, on each database."""
    return small_ledger(tmp_path, place)


PLAN = small_shop_plan()
FIRST = min(PLAN.bags, key=lambda bag: bag.sealing_order)
NOW = AtBench(PLAN.shipment.sealed_from, "Ada")


def later(minutes: int) -> AtBench:
    return AtBench(NOW.at + timedelta(minutes=minutes), "Ada")


def standings(place: str, plan: Plan) -> set[Standing | None]:
    with open_ledger(place) as ledger:
        states = contents(ledger).states
    return {
        states[one.piece.lower()].standing if one.piece.lower() in states else None for one in plan.chosen
    }


def test_bags_come_in_sealing_order_and_a_sealed_one_is_not_asked_for_again(place: str) -> None:
    asked = []
    for number in range(len(PLAN.bags)):
        bag = packing_of(place, PLAN).next_bag(PLAN)
        assert bag is not None
        asked.append(bag.sealing_order)
        seal(place, PLAN, bag.id, later(number))
    assert asked == sorted(bag.sealing_order for bag in PLAN.bags)
    assert packing_of(place, PLAN).next_bag(PLAN) is None


def test_a_sealing_is_in_the_history_of_each_piece_with_water_and_gas(place: str) -> None:
    seal(place, PLAN, FIRST.id, NOW, photo="ab12")
    with open_ledger(place) as ledger:
        last = history(ledger, FIRST.pieces[0])[-1]
    assert last.entry.kind is Kind.PACKED
    assert last.entry.at == NOW.at
    assert last.recorded_by == "Ada"
    assert (last.entry.payload["water_l"], last.entry.payload["gas"]) == (FIRST.water_l, FIRST.gas.value)


def test_sealing_twice_keeps_the_first_time_and_a_later_photo_is_added(place: str) -> None:
    first = seal(place, PLAN, FIRST.id, NOW)
    assert seal(place, PLAN, FIRST.id.lower(), later(5)).version == first.version
    again = seal(place, PLAN, FIRST.id, later(9), photo="ab12").sealed[FIRST.id]
    assert (again.at, again.photo) == (NOW.at, "ab12")


def test_a_sealing_can_be_taken_back_and_nothing_is_erased(place: str) -> None:
    sealed = seal(place, PLAN, FIRST.id, NOW)
    opened = unseal(place, PLAN, FIRST.id, later(3))
    assert FIRST.id not in opened.sealed
    assert opened.version > sealed.version
    assert unseal(place, PLAN, FIRST.id, later(4)).version == opened.version


def test_a_piece_cut_for_the_shipment_is_born_when_its_bag_is_sealed(place: str) -> None:
    cut = next(one for one in PLAN.chosen if one.how == "cut")
    assert standings(place, PLAN) == {Standing.ALIVE, None}
    seal(place, PLAN, cut.bag, NOW)
    with open_ledger(place) as ledger:
        piece = contents(ledger).states[cut.piece.lower()].piece
    assert (piece.parent, piece.strain, piece.length_mm) == (cut.mother, cut.strain, cut.size_mm[0])


def test_handing_over_takes_the_packed_pieces_out_of_stock_and_back_again(place: str) -> None:
    for bag in PLAN.bags:
        seal(place, PLAN, bag.id, NOW)
    sent = hand_over(place, PLAN, later(60))
    assert sent.sent_at == later(60).at
    assert standings(place, PLAN) == {Standing.SENT}
    assert hand_over(place, PLAN, later(61)).version == sent.version
    assert take_back(place, PLAN, later(70)).sent_at is None
    assert standings(place, PLAN) == {Standing.ALIVE}
    assert not verify(place).differences


def test_pieces_of_bags_that_were_not_sealed_stay_in_stock(place: str) -> None:
    seal(place, PLAN, FIRST.id, NOW)
    hand_over(place, PLAN, later(60))
    left = {one.piece for one in PLAN.chosen} - set(FIRST.pieces)
    with open_ledger(place) as ledger:
        states = contents(ledger).states
    assert {states[one.lower()].standing for one in left if one.lower() in states} == {Standing.ALIVE}


def test_what_is_laid_out_and_the_decision_are_kept_with_who_made_them(place: str) -> None:
    lay_out(place, PLAN, ["bags", "water"], NOW)
    lay_out(place, PLAN, ["bags"], later(1))
    decide(place, PLAN, False, ["weather"], "hub closed by ice", later(2))
    found = packing_of(place, PLAN)
    assert found.laid_out == {"bags"}
    assert found.decision is not None
    assert (found.decision.go, found.decision.by, found.decision.note) == (False, "Ada", "hub closed by ice")


def test_a_bag_that_the_plan_does_not_have_is_refused_with_those_it_has(place: str) -> None:
    with pytest.raises(BadInput, match=f"found “Q9”; expected a bag of this plan: .*{FIRST.id}"):
        seal(place, PLAN, "Q9", NOW)
    assert not packing_of(place, PLAN).sealed


def test_the_packings_of_two_due_days_are_told_apart(place: str) -> None:
    seal(place, PLAN, FIRST.id, NOW)
    head = PLAN.shipment.model_copy(update={"due": PLAN.shipment.due + timedelta(days=7)})
    assert not packing_of(place, PLAN.model_copy(update={"shipment": head})).sealed


def test_moments_are_kept_with_their_zone(place: str) -> None:
    local = AtBench(datetime.fromisoformat("2026-09-22T12:00:00-05:00"), "Ada")
    assert seal(place, PLAN, FIRST.id, local).sealed[FIRST.id].at == local.at
