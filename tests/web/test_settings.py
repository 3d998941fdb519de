"""What is set is kept and followed; what cannot be used is told beside its field."""

from pathlib import Path

from visitors import Visitor

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
