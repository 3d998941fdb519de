"""What the choice could not keep is owned up to, by name, and only then."""

from dataclasses import replace

from small_shipment import OK_SMALL, inputs, small_stages

from ramet.services.planning.boxing import ReadyBox
from ramet.services.planning.choice_cautions import choice_cautions
from ramet.services.planning.gather import Inputs
from ramet.services.planning.loads import Load

BOX: ReadyBox = replace(small_stages().boxes[0], packs=(), inner_mm=(300, 300, 300))
CORAL = next(load for load in small_stages().packed.loads if load.parcel.candidate is not None)


def load(
    name: str, taxon: str, x: int, box: str = BOX.id, size: tuple[int, int, int] = (80, 80, 150)
) -> Load:
    """A bag with one coral of that kind, so far along the box and in the middle across it."""
    one = replace(CORAL.parcel.candidates[0], taxon=taxon, strain=f"strain of {name}")
    parcel = replace(CORAL.parcel, candidates=(one,))
    return replace(CORAL, id=name, parcel=parcel, box=box, at_mm=(x, 110, 0), size_mm=size)


def told(
    code: str, *loads: Load, given: Inputs = OK_SMALL, boxes: tuple[ReadyBox, ...] = (BOX,)
) -> list[str]:
    return [one.text for one in choice_cautions(given, loads, boxes) if one.code == code]


SENSITIVE, HARDIER = "Acropora millepora", "Favites abdita"


def test_a_sensitive_coral_at_a_wall_is_told_by_its_bag_while_a_hardier_one_stands_further_in() -> None:
    (text,) = told("sensitive_at_wall", load("A1", SENSITIVE, 9), load("A2", HARDIER, 110))
    assert "in A1:" in text


def test_nothing_is_told_where_no_hardier_coral_has_a_place_to_give() -> None:
    at_wall = load("A1", SENSITIVE, 0)
    for other in (
        load("A2", SENSITIVE, 110),
        load("A2", HARDIER, 220),
        load("A2", HARDIER, 110, size=(81, 80, 150)),
        load("B1", HARDIER, 110, box="B"),
    ):
        assert told("sensitive_at_wall", at_wall, other, boxes=(BOX, replace(BOX, id="B"))) == []
    assert told("sensitive_at_wall", load("A1", SENSITIVE, 10), load("A2", HARDIER, 110)) == []


def test_a_rule_that_is_off_is_not_owned_up_to() -> None:
    off = inputs(rules={"sensitive_off_walls": False, "mass_centred": False})
    loads = load("A1", SENSITIVE, 0), load("A2", HARDIER, 90)
    assert told("sensitive_at_wall", *loads, given=off) == []
    assert told("mass_off_centre", loads[0], given=off) == []
    assert len(told("mass_off_centre", loads[0])) == 1


def test_all_copies_of_a_strain_in_one_of_two_boxes_are_told() -> None:
    one, other = load("A1", HARDIER, 0), load("A2", HARDIER, 110)
    copies = [replace(one, parcel=replace(one.parcel, candidates=other.parcel.candidates)), other]
    far = load("B1", SENSITIVE, 0, box="B")
    boxes = (BOX, replace(BOX, id="B"))
    assert any("strain of A2" in text for text in told("all_in_one_box", *copies, far, boxes=boxes))
    assert told("all_in_one_box", *copies) == []
