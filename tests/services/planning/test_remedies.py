"""What would change a refusal is tried: the piece is let in, bagged and packed again with all that goes."""

from dataclasses import replace
from datetime import timedelta
from typing import Any

from small_shipment import NO_PACKS, STOCK, TODAY, inputs, leg, piece, request, run_stages

from ramet.domain.piece import Piece
from ramet.formats.plan import Reason
from ramet.services.planning.gather import Inputs

BOX = {"type": "my small one", "inner_mm": [150, 75, 190], "wall_mm": 40, "foam": "eps_i"}
BOX |= {"tare_kg": 0.6, "max_kg": 10}
SHORT_LINE = request("honeycomb", "want", 1, taxon="Favites", max_length_mm=30, may_cut=False)


def first_reason(given: Inputs, line: str) -> Reason:
    (left,) = (one for one in run_stages(given).missing if one.request == line)
    return left.reasons[0]


def stubs(count: int) -> list[Piece]:
    return [
        piece(f"S{k}", f"Sill {k}", "Stylophora pistillata", "branching", 40) for k in range(1, count + 1)
    ]


def crowded(rank: str, **more: Any) -> Inputs:
    """A box that stubs fill, and a honeycomb too long for its line."""
    fill = request("stubs", "filler", 9, taxon="Stylophora", last_of_strain=True, may_cut=False)
    pieces = [*stubs(9), piece("F1", "Field 1", "Favites abdita", "massive", 40)]
    line = SHORT_LINE | {"rank": rank, "last_of_strain": True}
    return inputs(pieces, request=[line, fill], box=[BOX], **more)


def test_a_piece_that_would_find_room_needs_nothing_more() -> None:
    reason = first_reason(inputs(STOCK, request=[SHORT_LINE]), "honeycomb")
    assert reason.tried
    assert reason.binds == ("too_large",)
    assert reason.would_fit_if == "the line takes 40 mm"


def test_all_that_stands_in_the_way_of_a_piece_is_told() -> None:
    wound = TODAY + timedelta(days=10)
    fresh = [replace(one, cut_on=wound) if one.piece == "F1" else one for one in STOCK if one.piece != "F2"]
    reason = first_reason(inputs(fresh, request=[SHORT_LINE]), "honeycomb")
    assert set(reason.binds) >= {"too_large", "not_healed", "last_of_strain"}
    assert "packing is on" in reason.would_fit_if
    assert "the line takes 40 mm" in reason.would_fit_if


def test_in_a_full_box_a_piece_of_higher_rank_would_take_a_place_and_that_is_told() -> None:
    reason = first_reason(crowded("want"), "honeycomb")
    assert reason.tried
    assert "it would go in place of stubs" in reason.would_fit_if


def test_in_a_full_box_a_piece_that_ranks_no_higher_needs_room_as_well() -> None:
    reason = first_reason(crowded("filler"), "honeycomb")
    assert reason.binds[0] == "too_large"
    assert "no_room" in reason.binds
    assert "the line takes 40 mm, and one more box like A" in reason.would_fit_if


def test_what_breaks_in_the_best_bag_is_told_with_the_hours_that_lack() -> None:
    cold = inputs(
        request=[request("honeycomb", taxon="Favites")], leg=[leg(-20, -15)], carrier={"heat_packs": "no"}
    )
    reason = first_reason(cold, "honeycomb")
    assert reason.code == "no_bag_holds"
    assert "colder than" in reason.text
    assert "h sooner" in reason.would_fit_if


def test_where_the_cold_breaks_first_milder_air_is_tried_in_steps() -> None:
    cold = inputs(
        request=[request("honeycomb", taxon="Favites")], leg=[leg(4, 8)], carrier={"heat_packs": "no"}
    )
    reason = first_reason(cold, "honeycomb")
    assert "colder than" in reason.text
    assert reason.tried
    assert "the air on the way is 20 °C warmer; or it stands in the tank" in reason.would_fit_if
    mild = inputs(request=[request("honeycomb", taxon="Favites")], leg=[leg(24, 28)])
    assert all(line.request != "honeycomb" for line in run_stages(mild).missing)


def test_more_packs_are_offered_where_they_were_tried_and_help() -> None:
    cool = inputs(request=[request("honeycomb", taxon="Favites")], leg=[leg(8, 12)])
    assert cool.shipment.gear.packs == NO_PACKS
    reason = first_reason(cool, "honeycomb")
    assert reason.tried
    assert reason.would_fit_if.startswith("more packs are at hand (box A: ")
    assert "h sooner" in reason.would_fit_if


def test_a_bag_that_is_not_at_hand_is_asked_for_only_where_one_would_do() -> None:
    bags = {"oxygen": True, "packs": NO_PACKS, "bags": dict.fromkeys(inputs().reference.bags, 0)}
    none = first_reason(inputs(request=[request("honeycomb", taxon="Favites")], gear=bags), "honeycomb")
    assert (none.code, none.tried) == ("no_bag_fits", True)
    assert none.would_fit_if.startswith("a bag or cup like this is at hand: round flat bag")
    giants = [piece(f"G{k}", "Giant 1", "Porites lobata", "massive", 420) for k in (1, 2)]
    wide = inputs(giants, request=[request(taxon="Porites", may_cut=False)], gear=bags)
    assert not first_reason(wide, "line").tried
