"""Integers and arrays become a plan in units."""

import pytest
from small_shipment import OK_SMALL, REFERENCE, small_plan, small_stages

from ramet.services.planning.assemble import bag_rows, chosen_pieces

PLAN = small_plan()


def test_pieces_are_listed_by_line_and_bags_by_sealing() -> None:
    loads = small_stages().packed.loads
    assert [one.request for one in chosen_pieces(OK_SMALL, loads)] == [
        "digits",
        "honeycomb",
        "toadstool",
        "buttons",
    ]
    assert [bag.sealing_order for bag in bag_rows(loads)] == [1, 2, 3, 4]


def test_a_box_weighs_what_is_in_it() -> None:
    (box,) = PLAN.boxes
    packs_kg = sum(REFERENCE.packs[pack.kind].mass_kg for pack in box.packs)
    assert box.tare_kg is not None
    contents_kg = sum(bag.mass_kg for bag in PLAN.bags) + box.absorbent_g / 1000
    boards = [pad for pad in box.pads if pad.kind == "board"]
    assert box.mass_kg >= box.tare_kg + packs_kg + contents_kg - 0.001
    if not boards:
        assert box.mass_kg == pytest.approx(box.tare_kg + packs_kg + contents_kg, abs=0.002)


def test_a_box_is_billed_by_the_larger_of_its_mass_and_its_room() -> None:
    # Worked by hand: cube_305 is 305 x 305 x 254 mm inside 38 mm of foam and 4 mm of carton: 389 x 389 x
    # 338 mm outside; 39 x 39 x 34 cm over 5000 cm3/kg is 10.34 kg, in steps of half a kilogram 10.5 kg.
    (box,) = PLAN.boxes
    assert box.outer_mm == (389, 389, 338)
    assert box.billed_kg == 10.5
    assert box.mass_kg < box.billed_kg


def test_the_plan_says_what_it_was_made_from() -> None:
    made = PLAN.made_from
    assert made.today == OK_SMALL.today
    assert made.reference_sha256 == REFERENCE.sha256
    assert made.shipment_sha256 == OK_SMALL.shipment_sha256
    assert made.effort == "quick"
    assert "CP-SAT" in made.solver
    assert PLAN.seed == OK_SMALL.seed


def test_goals_stand_in_the_order_of_their_weight_and_gaps_add_up() -> None:
    assert [goal.goal.split(" ")[0] for goal in PLAN.optimum.goals] == [
        "musts",
        "wants",
        "value",
        "billed",
        "smallest",
    ]
    for goal in PLAN.optimum.goals:
        assert goal.gap == pytest.approx(abs(goal.bound - goal.value) / max(1, abs(goal.value)), abs=1e-5)


def test_a_cut_names_its_mother_and_the_day_its_edge_is_closed() -> None:
    for one in PLAN.chosen:
        assert (one.mother is not None) == (one.how == "cut")
        assert one.ready_on <= OK_SMALL.packed_on


def test_the_dates_of_the_journey_are_those_of_the_shipment() -> None:
    head = PLAN.shipment
    assert head.sealed_from < head.departs < head.arrives < head.due
    assert (head.departs, head.due) == (OK_SMALL.clock.departs, OK_SMALL.clock.due)
