"""A piece swapped while bags are being sealed: the shelf has the new plan, what is sealed stays sealed."""

from datetime import timedelta
from pathlib import Path

import pytest
from small_shop import on_the_shelf, small_ledger, small_shop_plan

from ramet.domain.errors import BadInput
from ramet.formats.plan_text import read_plan
from ramet.reference.tables import load_reference
from ramet.services.beside import files_beside
from ramet.services.pack_off import AtBench, packing_of, seal
from ramet.services.replan import CannotReplan
from ramet.services.sending.change_at_bench import BenchOrder, change_plan, print_papers, ready_instead
from ramet.services.shelf import place_of

PLAN = small_shop_plan()
STONY = next(one for one in PLAN.chosen if one.request == "honeycomb")
OTHER = "F2" if STONY.piece == "F1" else "F1"


@pytest.fixture
def order(tmp_path: Path) -> BenchOrder:
    ledger = small_ledger(tmp_path)
    on_the_shelf(ledger)
    place = place_of(files_beside(ledger), "small-reef")
    assert place is not None
    today = PLAN.shipment.departs.date()
    return BenchOrder(ledger, place, load_reference(), today, AtBench(PLAN.shipment.sealed_from, "Ada"))


def test_the_other_piece_of_the_line_is_offered(order: BenchOrder) -> None:
    assert [one.piece for one in ready_instead(order, STONY.piece)] == [OTHER]
    assert ready_instead(order, "X9") == ()


def test_a_swap_is_on_the_shelf_and_sealed_bags_stay_sealed(order: BenchOrder) -> None:
    others = [bag.id for bag in PLAN.bags if bag.id != STONY.bag]
    for bag in others[:2]:
        seal(order.ledger, PLAN, bag, order.now)
    done = change_plan(order, STONY.piece, OTHER)
    plan = read_plan(order.place.folder / "plan.json")
    assert plan == done.plan
    assert OTHER in {one.piece for one in done.plan.chosen}
    assert set(packing_of(order.ledger, done.plan).sealed) == set(others[:2])
    assert (order.place.folder / "plan-before.json").exists()


def test_the_bag_of_the_withdrawn_piece_counts_as_open_again(order: BenchOrder) -> None:
    seal(order.ledger, PLAN, STONY.bag, order.now)
    done = change_plan(order, STONY.piece, None)
    assert STONY.bag not in packing_of(order.ledger, done.plan).sealed


def test_what_cannot_go_is_told_and_nothing_changes(order: BenchOrder) -> None:
    before = (order.place.folder / "plan.json").read_bytes()
    seal(order.ledger, PLAN, STONY.bag, order.now)
    with pytest.raises(CannotReplan, match="X9 is not in stock"):
        change_plan(order, STONY.piece, "X9")
    assert (order.place.folder / "plan.json").read_bytes() == before
    assert STONY.bag in packing_of(order.ledger, PLAN).sealed


def test_a_shipment_changed_since_it_was_planned_is_told(order: BenchOrder) -> None:
    path = order.place.folder / "shipment.toml"
    path.write_text(path.read_text() + "\n# a word more\n")
    with pytest.raises(BadInput, match="plan it again"):
        change_plan(order, STONY.piece, None)


def test_the_papers_are_printed_of_the_changed_plan(order: BenchOrder) -> None:
    late = AtBench(order.now.at + timedelta(minutes=5), "Ada")
    seal(order.ledger, PLAN, next(bag.id for bag in PLAN.bags if bag.id != STONY.bag), late)
    done = change_plan(order, STONY.piece, OTHER)
    assert set(print_papers(order.place, done.plan)) == {"packet.pdf", "opening.html"}
    assert f"<b>{OTHER}</b>" in (order.place.folder / "opening.html").read_text("utf-8")
