"""What may be cut from a mother: within her share, never below the minimum of her kind, in time to heal."""

import math
from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from small_shipment import OK_SMALL, PACKED_ON, REFERENCE, inputs, piece

from ramet.domain.piece import Piece
from ramet.domain.words import Form
from ramet.formats.shipment import Request
from ramet.services.planning.cutting import Cutting, cuttings


def cube(length_mm: float, taxon: str = "Favites abdita", form: str = "massive", **more: object) -> Piece:
    return piece("M", "Mother 1", taxon, form, length_mm, width_mm=length_mm, height_mm=length_mm, **more)


def wish(**more: object) -> Request:
    return Request.model_validate({"id": "line", "rank": "must", "count": 1, "form": "massive"} | more)


def cut(mother: Piece, **more: object) -> Cutting | None:
    return cuttings(OK_SMALL, wish(**more), mother)


@given(mother_mm=st.floats(60, 400), wished_mm=st.floats(10, 390))
def test_cuts_stay_within_the_share_that_a_mother_can_bear(mother_mm: float, wished_mm: float) -> None:
    # Areas of bodies of one shape go as the squares of their lengths (geometry).
    share = REFERENCE.trait("Favites", Form.MASSIVE, "cut_share").band.typical
    cutting = cut(cube(mother_mm), min_length_mm=wished_mm)
    least = REFERENCE.trait("Favites", Form.MASSIVE, "minimum_piece_mm").band.typical
    length_mm = max(wished_mm, least)
    bearable = share * (mother_mm / length_mm) ** 2
    if cutting is None:
        assert bearable < 1 + 1e-9 or length_mm >= mother_mm
    else:
        assert cutting.size_mm[0] == pytest.approx(length_mm)
        assert cutting.at_most <= bearable + 1e-6
        assert cutting.at_most >= math.floor(bearable - 1e-6)


@given(heads=st.integers(1, 80), wished_mm=st.floats(10, 100))
def test_colonies_counted_in_heads_give_no_more_than_their_share_of_heads(
    heads: int, wished_mm: float
) -> None:
    share = REFERENCE.trait("Caulastraea", Form.PHACELOID, "cut_share").band.typical
    least = REFERENCE.trait("Caulastraea", Form.PHACELOID, "minimum_heads").band.typical
    mother = cube(120, "Caulastraea furcata", "phaceloid", heads=heads)
    cutting = cut(mother, min_length_mm=wished_mm)
    if cutting is not None:
        assert cutting.heads is not None
        assert cutting.heads >= least
        assert cutting.at_most * cutting.heads <= share * heads


def test_a_colony_whose_heads_nobody_counted_is_not_cut() -> None:
    assert cut(cube(120, "Caulastraea furcata", "phaceloid")) is None


def test_no_piece_is_cut_below_the_minimum_of_its_kind() -> None:
    least = REFERENCE.trait("Favites", Form.MASSIVE, "minimum_piece_mm").band.typical
    cutting = cut(cube(200), min_length_mm=1)
    assert cutting is not None
    assert cutting.size_mm[0] == least
    assert cut(cube(200), max_length_mm=least / 2) is None


@pytest.mark.parametrize(("taxon", "form"), [("Catalaphyllia jardinei", "wall"), ("Cynarina sp.", "fleshy")])
def test_walls_and_single_fleshy_polyps_are_never_cut(taxon: str, form: str) -> None:
    # Common practice, no source: a cut through a single large polyp is a gamble and not a harvest.
    assert cut(cube(200, taxon, form)) is None


def test_a_mother_is_cut_only_while_the_edge_closes_before_packing() -> None:
    healing_d = math.ceil(REFERENCE.trait("Favites", Form.MASSIVE, "healing_d").band.typical)
    for days, cuttable in ((healing_d + 1, True), (healing_d, False), (healing_d - 1, False)):
        given_ = inputs(today=PACKED_ON - timedelta(days=days))
        assert (cuttings(given_, wish(), cube(200)) is not None) == cuttable
