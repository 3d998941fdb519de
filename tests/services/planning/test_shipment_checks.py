"""What the calendar and the tables tell about a shipment, each at its line."""

from datetime import date
from pathlib import Path

import pytest
from small_shipment import REFERENCE, TODAY
from small_texts import CUBE, HONEYCOMB, VAN_AND_DEPOT, shipment_text, with_line

from ramet.domain.errors import BadInput
from ramet.domain.problems import Problem
from ramet.services.planning.gather import read_shipment

TEXT = shipment_text(
    *(HONEYCOMB, CUBE, VAN_AND_DEPOT, "[gear.bags]\nround_152x305 = 9\n", "[gear.packs]\nheat_40h = 2\n"),
    parties='[sender]\nname = "North room"\nzone = "America/Chicago"\n[receiver]\nname = "Plains Library"\n',
)


DUE = "due = 2026-09-23T10:00:00-05:00"


def problems(folder: Path, text: str, today: date = TODAY) -> tuple[Problem, ...]:
    (folder / "reef.toml").write_text(text)
    try:
        read_shipment(folder / "reef.toml", today, REFERENCE)
    except BadInput as told:
        return told.problems
    return ()


def test_a_sound_shipment_has_no_problem(tmp_path: Path) -> None:
    assert problems(tmp_path, TEXT) == ()


@pytest.mark.parametrize(
    ("old", "new", "key", "said"),
    [
        ('zone = "America/Chicago"', 'zone = "America/Duluth"', "sender.zone", "time zone"),
        ('type = "cube_305"', 'type = "cube_350"', "box[1].type", "cube_305"),
        (
            'type = "cube_305"',
            'type = "cube_305"\ninner_mm = [300, 300, 250]',
            "box[1].type",
            "a name of its own",
        ),
        ("round_152x305 = 9", "round_152x350 = 9", "gear.bags.round_152x350", "round_152x305"),
        ("heat_40h = 2", "heat_44h = 2", "gear.packs.heat_44h", "heat_40h"),
        ('taxon = "Favites"', 'taxon = "Favitess"', "request[1].taxon", "Favites"),
    ],
)
def test_a_name_that_nobody_knows_is_answered_with_those_near_it(
    tmp_path: Path, old: str, new: str, key: str, said: str
) -> None:
    (told,) = problems(tmp_path, TEXT.replace(old, new))
    line = next(n for n, one in enumerate(TEXT.splitlines(), 1) if one == old)
    assert (told.place.line, told.place.column) == (line, key)
    assert said in told.expected


def test_a_genus_outside_the_tables_may_go_with_its_form_beside_it(tmp_path: Path) -> None:
    text = TEXT.replace('taxon = "Favites"', 'taxon = "Nonesuch"\nform = "massive"')
    assert problems(tmp_path, text) == ()


def test_a_box_of_ones_own_is_measured_in_full(tmp_path: Path) -> None:
    own = 'type = "mine"\ninner_mm = [300, 300, 250]\nwall_mm = 40\nfoam = "eps_i"\ntare_kg = 1\n'
    (told,) = problems(tmp_path, TEXT.replace('type = "cube_305"\n', own))
    assert told.expected.endswith("or a box of your own with max_kg as well")
    assert problems(tmp_path, TEXT.replace('type = "cube_305"\n', own + "max_kg = 15\n")) == ()
    (foam,) = problems(
        tmp_path, TEXT.replace('type = "cube_305"\n', (own + "max_kg = 15\n").replace("eps_i", "eps_k"))
    )
    assert "eps_i" in foam.expected


def test_a_rest_too_short_after_a_dip_is_told_before_anything_is_planned(tmp_path: Path) -> None:
    # Common practice, no source: no dip in the last two days before packing.
    text, number = with_line(TEXT, DUE, f"{DUE}\nrest_before_packing_d = 1.5")
    (told,) = problems(tmp_path, text)
    assert (told.place.line, told.place.column) == (number + 1, "rest_before_packing_d")
    assert "at least 2 days" in told.expected
    for enough in ("2", "6"):
        assert problems(tmp_path, text.replace("= 1.5", f"= {enough}")) == ()


def test_dates_gone_by_are_told_each_at_its_line(tmp_path: Path) -> None:
    due, departs = problems(tmp_path, TEXT, date(2026, 9, 24))
    assert (due.place.line, due.place.column) == (2, "due")
    assert departs.place.column == "leg[1].start"
    assert problems(tmp_path, TEXT, date(2026, 9, 23))[0].place.column == "leg[1].start"
    assert problems(tmp_path, TEXT, date(2026, 9, 22)) == ()
