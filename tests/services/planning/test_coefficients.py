"""The problem that the solver gets: lines, bags and boxes in whole millimetres, grams and minutes."""

import math

from small_shipment import OK_SMALL, inputs, request, run_stages, small_stages

from ramet.services.planning.coefficients import to_problem
from ramet.services.planning.tank_room import tank_room


def test_lines_keep_the_order_the_rank_and_the_count_of_the_wishes() -> None:
    lines = small_stages().packed.problem.lines
    assert [line.id for line in lines] == ["digits", "honeycomb", "toadstool", "buttons"]
    assert [line.rank for line in lines] == [0, 0, 1, 2]
    assert [line.wanted for line in lines] == [1, 1, 1, 1]


def test_a_way_is_handed_over_in_whole_millimetres_grams_and_minutes() -> None:
    stages = small_stages()
    problem = to_problem(OK_SMALL, stages.found, stages.options.parcels, stages.boxes, tank_room(OK_SMALL))
    for item, parcel in zip(problem.items, stages.options.parcels, strict=True):
        for choice, judged in zip(item.choices, parcel.ways, strict=True):
            assert choice.size_mm == judged.way.size_mm
            # 25 g of absorbent a litre (the table's typical value), rounded up, travels with the bag.
            assert choice.mass_g == judged.way.mass_g + math.ceil(25 * judged.way.water_l)
            # A margin is never rounded up, so that no bag holds on paper only.
            assert choice.margin_min <= judged.margin_h * 60


def test_soft_film_around_fragile_branches_carries_nothing() -> None:
    stages = small_stages()
    for item, parcel in zip(stages.packed.problem.items, stages.packed.parcels, strict=True):
        assert parcel.candidate is not None
        if parcel.candidate.form == "branching":
            assert all(
                choice.carries_g == 0 or judged.way.type.rigid
                for choice, judged in zip(item.choices, parcel.ways, strict=True)
            )


def test_a_box_bears_its_limit_less_what_is_in_it_already() -> None:
    stages = small_stages()
    (box,), (bin_,) = stages.boxes, stages.packed.problem.bins
    assert bin_.size_mm == box.inner_mm
    assert bin_.max_contents_g <= (box.max_kg - box.empty_kg) * 1000
    assert bin_.tare_g == math.ceil(box.empty_kg * 1000)
    assert len(bin_.blocked) == len(box.packs)


def test_a_mother_who_leaves_takes_all_her_cuts_with_her() -> None:
    lines = [
        request("frags", count=2, taxon="Montipora", max_length_mm=40),
        request("colony", "want", taxon="Montipora", min_length_mm=100),
    ]
    stages = run_stages(inputs(request=lines))
    cuts = "cuts of D3"
    assert stages.packed.problem.capacities[cuts] == stages.found.spare_children["D3"]
    uses = {item.pieces[0]: item.uses for item in stages.packed.problem.items}
    assert uses["D3"][cuts] == stages.packed.problem.capacities[cuts]
    sent = {load.parcel.candidate for load in stages.packed.loads}
    mothers = {one.mother for one in sent if one is not None}
    assert mothers.isdisjoint(one.piece for one in sent if one is not None)


def test_one_piece_of_a_strain_can_always_stay() -> None:
    problem = small_stages().packed.problem
    assert problem.capacities["pieces of Field 1 beyond the last"] == 1
    for item in problem.items:
        if "-c" not in item.pieces[0]:
            assert item.uses[f"pieces of {item.strain} beyond the last"] == 1
