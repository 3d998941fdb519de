"""Every line that is short says why, and what would change it."""

from small_shipment import BUTTONS, DIGITS, HONEYCOMB, STOCK, TOADSTOOL, inputs, piece, request, run_stages

from ramet.domain.words import Rank
from ramet.formats.plan import LeftOut
from ramet.optimise.problem import Why
from ramet.services.planning.gather import Inputs
from ramet.services.planning.left_out import _solved

GOODS = {"name": "mesh bag", "size_mm": [110, 70, 60], "mass_g": 350, "area_m2": 0.2, "age_weeks": 60}


def missing(given: Inputs) -> dict[str, LeftOut]:
    return {line.request: line for line in run_stages(given).missing}


def test_a_box_too_small_for_all_leaves_a_filler_behind_for_want_of_room() -> None:
    crowd = [
        piece(f"F{number}", "Field 1", "Favites abdita", "massive", 60, height_mm=50) for number in range(12)
    ]
    lines = [
        request("musts", count=2, taxon="Favites", may_cut=False),
        request("rest", "filler", 9, taxon="Favites", may_cut=False),
    ]
    left = missing(inputs(crowd, request=lines, box=[{"type": "cube_305"}]))
    assert set(left) == {"rest"}
    line = left["rest"]
    assert line.rank is Rank.FILLER
    assert line.sent < line.wanted == 9
    assert "no_room" in {reason.code for reason in line.reasons}
    assert all(reason.text and reason.would_fit_if for reason in line.reasons)


def test_a_strain_that_is_used_up_is_told_as_such() -> None:
    left = missing(inputs(request=[HONEYCOMB | {"count": 2}]))
    (reason,) = left["honeycomb"].reasons
    assert reason.code == "resource: pieces of Field 1 beyond the last"
    assert reason.text == "one piece of Field 1 stays, so that the strain is not lost"
    assert reason.would_fit_if == "the line says last_of_strain = true, or Field 1 has one more piece"


def test_lines_that_are_met_are_not_listed_and_goods_count_as_lines() -> None:
    whole = missing(inputs(request=[HONEYCOMB], goods=[GOODS]))
    assert whole == {}
    crate = GOODS | {"name": "crate", "size_mm": [900, 700, 600]}
    left = missing(inputs(request=[HONEYCOMB], goods=[crate]))
    assert left["crate"].rank is Rank.MUST
    assert left["crate"].reasons[0].code == "no_bag_fits"


def test_a_piece_that_goes_for_one_line_is_no_reason_of_another() -> None:
    lines = [DIGITS, request("big", "want", taxon="Montipora", min_length_mm=200), TOADSTOOL, BUTTONS]
    stages = run_stages(inputs(STOCK, request=lines))
    going = {load.parcel.candidate.piece for load in stages.packed.loads if load.parcel.candidate}
    (line,) = stages.missing
    assert line.request == "big"
    assert {reason.code for reason in line.reasons} == {"too_small"}
    assert going.isdisjoint(reason.piece for reason in line.reasons)


def test_what_binds_together_is_told_as_the_smallest_set() -> None:
    why = Why(
        0,
        "no_room",
        "one more box like A and all musts may ride in one box",
        ("no_room", "excluded_by_rule:spread_musts"),
        ("one more box like A", "all musts may ride in one box"),
    )
    told = _solved(why, run_stages(inputs(request=[HONEYCOMB])).packed)
    assert told.binds == ("no_room", "excluded_by_rule:spread_musts")
    assert "no room is left" in told.text
    assert "no box carries every must" in told.text
    assert told.would_fit_if == "one more box like A, and all musts may ride in one box"


def test_a_solved_reason_names_what_binds() -> None:
    (reason,) = missing(inputs(request=[HONEYCOMB | {"count": 2}]))["honeycomb"].reasons
    assert reason.binds == ("resource:pieces of Field 1 beyond the last",)
