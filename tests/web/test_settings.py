"""What is set is kept and followed; what cannot be used is told beside its field."""

from pathlib import Path

from visitors import Visitor

from ramet.formats.shipment import Gear
from ramet.services.own_gear import read_gear

WRITING = {"units": "us", "alkalinity": "meq_l", "locale": "de-DE", "zone": "Europe/Berlin"}


def test_units_and_region_are_followed_everywhere(owner: Visitor) -> None:
    page = owner.post("/settings/writing", data=WRITING).text
    assert "1.234,5" in page
    assert "77,0\u00a0°F" in page
    assert "Mo\u00a004.01.2027" not in page  # English words, German order
    assert "Mon\u00a004.01.2027" in page


def test_a_zone_that_is_none_is_told_beside_its_field_and_stays_typed(owner: Visitor) -> None:
    answer = owner.post("/settings/writing", data={**WRITING, "zone": "Atlantis"})
    assert answer.status_code == 422
    assert 'value="Atlantis"' in answer.text
    assert 'id="zone-wrong"' in answer.text
    assert 'aria-invalid="true"' in answer.text


def test_broken_preferences_are_told_on_every_page_and_stop_none(owner: Visitor, ledger: Path) -> None:
    owner.post("/settings/writing", data=WRITING)
    (ledger.parent / "ramet-files" / "preferences.json").write_text('{"units": "stones"}')
    page = owner.get("/")
    assert page.status_code == 200
    assert "stones" in page.text


def test_own_gear_is_what_a_new_shipment_starts_from(owner: Visitor, ledger: Path) -> None:
    page = owner.post(
        "/settings/gear", data={"bag.round_127x305": "12", "oxygen": "yes", "bench_hours_d": "3"}
    )
    assert page.url.path == "/settings"
    assert read_gear(ledger.parent / "ramet-files") == Gear(
        bags={"round_127x305": 12}, oxygen=True, bench_hours_d=3
    )


def test_a_count_that_is_none_is_told_beside_its_field(owner: Visitor) -> None:
    answer = owner.post("/settings/gear", data={"bag.round_127x305": "a few", "bench_hours_d": "3"})
    assert answer.status_code == 422
    assert 'id="bag.round_127x305-wrong"' in answer.text


ROWS = "subject,form,trait,unit,low,typical,high,source\n"


def test_own_rows_act_at_once_and_are_shown_where_they_act(owner: Visitor) -> None:
    page = owner.post(
        "/settings/rows", data={"rows": ROWS + "class:leather,,healing_d,d,5,8,12,own records"}
    ).text
    assert "own records" in page.split("Acting now")[1]
    assert "Our own rows hold again" in owner.post("/settings/rows", data={"rows": ROWS}).text


def test_a_row_that_does_not_hold_is_told_by_its_line_and_nothing_is_kept(owner: Visitor) -> None:
    answer = owner.post(
        "/settings/rows", data={"rows": ROWS + "class:leather,,healing_d,d,12,8,5,own records"}
    )
    assert answer.status_code == 422
    assert "line 2" in answer.text
    assert "12,8,5" in answer.text
    assert "Acting now" not in owner.get("/settings").text
