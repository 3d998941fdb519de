"""Which pieces may go for a line, and the reason why each other one stays."""

from dataclasses import replace
from datetime import timedelta

from hypothesis import given
from hypothesis import strategies as st
from small_shipment import PACKED_ON, REFERENCE, STOCK, TODAY, inputs, piece, request

from ramet.domain.piece import Hold, Piece
from ramet.domain.words import Form, How
from ramet.services.calendar.healing import edge_sealed_on, floor_on
from ramet.services.planning.candidates import Candidates, Refusal, find_candidates

FAVITES = request(taxon="Favites", may_cut=False)


def found(*pieces: Piece, line: dict[str, object] = FAVITES, holds: tuple[Hold, ...] = ()) -> Candidates:
    return find_candidates(inputs(pieces, holds, request=[line]))


def only_refusal(*pieces: Piece, line: dict[str, object] = FAVITES, holds: tuple[Hold, ...] = ()) -> Refusal:
    refused = [one for one in found(*pieces, line=line, holds=holds).refusals if one.piece in (None, "F1")]
    assert len(refused) == 1
    assert refused[0].would_fit_if
    return refused[0]


F1 = piece("F1", "Field 1", "Favites abdita", "massive", 40)
F2 = piece("F2", "Field 1", "Favites abdita", "massive", 45)


def test_sound_pieces_of_the_kind_are_candidates() -> None:
    got = found(F1, F2)
    assert [one.piece for one in got.candidates] == ["F1", "F2"]
    assert got.refusals == ()


def test_a_held_piece_stays_until_its_hold_ends() -> None:
    hold = Hold("F1", "aiptasia", True, TODAY, "three clean inspections")
    refusal = only_refusal(F1, F2, holds=(hold,))
    assert refusal.code == "held"
    assert "found on it" in refusal.text
    assert refusal.would_fit_if == "three clean inspections"


def test_a_contact_of_a_held_piece_stays_too() -> None:
    hold = Hold("F1", "aiptasia", False, TODAY, "three clean inspections of F9")
    refusal = only_refusal(F1, F2, holds=(hold,))
    assert refusal.code == "held"
    assert "shares water" in refusal.text


def test_a_promised_piece_stays() -> None:
    refusal = only_refusal(replace(F1, promised_to="a neighbour"), F2)
    assert refusal.code == "promised"
    assert "a neighbour" in refusal.text


def test_a_piece_below_the_wished_size_stays() -> None:
    refusal = only_refusal(F1, F2, line=FAVITES | {"min_length_mm": 42})
    assert refusal.code == "too_small"
    assert "grows 2 mm" in refusal.would_fit_if


def test_a_piece_above_the_wished_size_stays() -> None:
    assert only_refusal(F1, F2, line=FAVITES | {"max_length_mm": 39.5}).code == "too_large"


def test_a_piece_cut_too_recently_stays_and_the_day_is_named() -> None:
    cut_on = PACKED_ON - timedelta(days=3)
    refusal = only_refusal(replace(F1, cut_on=cut_on), F2)
    sealed = edge_sealed_on(REFERENCE, F1.taxon, F1.form, cut_on)
    assert refusal.code == "not_healed"
    assert refusal.would_fit_if == f"packing is on {sealed.isoformat()} or later"


def test_the_last_piece_of_a_strain_stays_unless_the_line_says_otherwise() -> None:
    assert only_refusal(F1).code == "last_of_strain"
    assert [one.piece for one in found(F1, line=FAVITES | {"last_of_strain": True}).candidates] == ["F1"]


def test_a_coral_that_no_zone_is_lit_for_stays() -> None:
    usable = REFERENCE.trait("Favites", Form.MASSIVE, "light_par").band
    zone = {"name": "crest", "area_cm2": 900, "par_low": usable.high + 50, "par_high": usable.high + 99}
    tank = {"volume_l": 300, "alkalinity_dkh": 8, "calcium_mg_l": 420, "magnesium_mg_l": 1300, "zone": [zone]}
    refused = find_candidates(inputs((F1, F2), request=[FAVITES], tank=tank)).refusals
    assert [one.code for one in refused] == ["no_light", "no_light"]
    lit = tank | {"zone": [zone | {"par_low": usable.high}]}
    assert find_candidates(inputs((F1, F2), request=[FAVITES], tank=lit)).refusals == ()


def test_a_wish_without_any_like_it_in_stock_says_so() -> None:
    refusal = only_refusal(F1, F2, line=request(taxon="Plerogyra"))
    assert (refusal.code, refusal.piece) == ("not_in_stock", None)
    assert "Plerogyra" in refusal.would_fit_if


def test_names_are_held_against_wishes_without_regard_to_case_but_never_by_likeness() -> None:
    assert found(F1, F2, line=request(strain="FIELD 1")).candidates
    assert only_refusal(F1, F2, line=request(strain="Field")).code == "not_in_stock"
    assert only_refusal(F1, F2, line=request(taxon="Favia")).code == "not_in_stock"


def test_a_line_keeps_its_count_and_a_few_spares() -> None:
    many = [replace(F1, piece=f"F{number}") for number in range(30)]
    spares = int(REFERENCE.parameter("spare_candidates").band.typical)
    assert len(found(*many, line=FAVITES | {"count": 3}).candidates) == 3 + spares


@given(days=st.integers(0, 60))
def test_a_whole_piece_goes_exactly_when_its_edge_is_sealed_by_packing_day(days: int) -> None:
    cut_on = PACKED_ON - timedelta(days=days)
    went = "F1" in [one.piece for one in found(replace(F1, cut_on=cut_on), F2).candidates]
    assert went == (days >= REFERENCE.trait("Favites", Form.MASSIVE, "healing_d").band.typical)


def test_two_days_of_rest_are_a_floor_and_the_plan_waits_longer_for_every_genus() -> None:
    # Common practice, no source: a piece rests a day or two between cutting and bagging at the very least.
    for genus in REFERENCE.genera.values():
        floor = floor_on(REFERENCE, genus.name, genus.default_form, TODAY)
        assert floor >= TODAY + timedelta(days=2)
        assert edge_sealed_on(REFERENCE, genus.name, genus.default_form, TODAY) > floor


def test_a_rest_of_two_days_is_not_enough_to_plan_with() -> None:
    # Common practice, no source.
    for rests in (0, 1, 2):
        fresh = replace(F1, cut_on=PACKED_ON - timedelta(days=rests))
        assert only_refusal(fresh, F2).code == "not_healed"


def test_a_mother_too_large_to_go_is_cut_and_stays() -> None:
    got = find_candidates(inputs(request=[request(taxon="Montipora", max_length_mm=40)]))
    assert all(one.how is How.CUT and one.size_mm[0] <= 40 for one in got.candidates)
    assert "D3" in {one.mother for one in got.candidates}
    assert not {"D1", "D2", "D3"} & {one.piece for one in got.candidates}
    assert got.spare_children["D3"] >= sum(one.mother == "D3" for one in got.candidates)


def test_a_mother_that_cannot_heal_in_time_is_not_cut() -> None:
    healing_d = REFERENCE.trait("Montipora", Form.BRANCHING, "healing_d").band.typical
    line = request(taxon="Montipora", max_length_mm=40)
    in_time = PACKED_ON - timedelta(days=int(healing_d) + 1)
    assert find_candidates(inputs(request=[line], today=in_time)).candidates
    late = find_candidates(inputs(request=[line], today=in_time + timedelta(days=1)))
    assert late.candidates == ()
    assert {one.code for one in late.refusals} == {"too_large"}


def test_no_cut_is_made_where_the_line_forbids_it() -> None:
    line = request(taxon="Montipora", max_length_mm=40, may_cut=False)
    assert find_candidates(inputs(request=[line])).candidates == ()


def test_a_held_mother_is_not_cut() -> None:
    hold = Hold("D3", "aiptasia", True, TODAY, "three clean inspections")
    line = request(taxon="Montipora", max_length_mm=40)
    got = find_candidates(inputs(holds=(hold,), request=[line]))
    assert "D3" not in {one.mother for one in got.candidates}


def test_one_piece_of_each_strain_is_kept_back() -> None:
    spare = find_candidates(inputs()).spare_pieces
    assert spare == {"Dock 1": 2, "Field 1": 1, "Lamp 1": 1, "Zinc 1": 1}
    off = find_candidates(inputs(rules={"keep_last_piece": False})).spare_pieces
    assert off["Field 1"] == sum(one.strain == "Field 1" for one in STOCK)
