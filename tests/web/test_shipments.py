"""A shipment is built in a form, changed there or in its file, and never overwritten unseen."""

import html
import re
import tomllib
from importlib.resources import files
from pathlib import Path

import pytest
from visitors import Visitor

from ramet.services.shelf import save_shipment

DEMO = (files("ramet.data") / "demo" / "shipment.toml").read_text("utf-8")
FIELD = re.compile(
    r'<input id="([^"]+)" name="[^"]+" type="[^"]+" value="([^"]*)"'
    r'|<input type="checkbox" id="([^"]+)"[^>]*?( checked)?>'
    r'|<select id="([^"]+)" name="[^"]+"[^>]*>(.*?)</select>'
    r'|<input type="hidden" name="(token|version)" value="([^"]*)">',
    re.DOTALL,
)


def fields_of(page: str) -> dict[str, str]:
    """What a browser would send of the page's form."""
    found: dict[str, str] = {}
    for name, value, box, on, choice, options, hidden, kept in FIELD.findall(page):
        if name or hidden:
            found[name or hidden] = html.unescape(value or kept)
        elif box and " checked" in on:
            found[box] = "yes"
        elif choice and choice != "effort":
            chosen = re.search(r'value="([^"]*)" selected', options)
            found[choice] = chosen[1] if chosen else re.search(r'value="([^"]*)"', options)[1]
    return found


@pytest.fixture
def shelf(ledger: Path) -> Path:
    folder = ledger.parent / "ramet-files"
    save_shipment(folder, "library", DEMO, "")
    return folder / "shipments" / "library" / "shipment.toml"


def test_a_form_that_is_saved_unchanged_says_what_the_file_said(owner: Visitor, shelf: Path) -> None:
    sent = fields_of(owner.get("/shipments/library/edit").text)
    assert sent["request.0.id"] == "plates"
    answer = owner.post("/shipments/library/edit", data=sent)
    assert answer.url.path == "/shipments/library"
    assert tomllib.loads(shelf.read_text("utf-8")) == tomllib.loads(DEMO)


def test_what_is_changed_in_the_form_is_changed_in_the_file_in_the_units_of_the_grower(
    owner: Visitor, shelf: Path
) -> None:
    owner.post(
        "/settings/writing", data={"units": "us", "locale": "de-DE", "alkalinity": "dkh", "zone": "UTC"}
    )
    sent = fields_of(owner.get("/shipments/library/edit").text)
    sent |= {"request.0.max_length_mm": "3,5", "tank.temperature_c": "78", "request.1.remove": "yes"}
    owner.post("/shipments/library/edit", data=sent)
    data = tomllib.loads(shelf.read_text("utf-8"))
    assert data["request"][0]["max_length_mm"] == pytest.approx(3.5 * 25.4)
    assert data["tank"]["temperature_c"] == pytest.approx(25.556, abs=1e-3)
    assert data["request"][1]["id"] == tomllib.loads(DEMO)["request"][2]["id"]
    assert data["tank"]["length_mm"] == tomllib.loads(DEMO)["tank"]["length_mm"]  # left as written: "48 in"


def test_each_problem_stands_beside_its_field_and_everything_typed_stays(owner: Visitor, shelf: Path) -> None:
    sent = fields_of(owner.get("/shipments/library/edit").text)
    sent |= {"request.2.count": "many", "tank.volume_l": "wet", "receiver.place": "Typed Town"}
    answer = owner.post("/shipments/library/edit", data=sent)
    assert answer.status_code == 422
    for name in ("request.2.count", "tank.volume_l"):
        assert f'id="{name}-wrong"' in answer.text
    assert fields_of(answer.text)["receiver.place"] == "Typed Town"
    assert shelf.read_text("utf-8") == DEMO


def test_a_rule_across_lines_is_told_at_the_line_that_breaks_it(owner: Visitor, shelf: Path) -> None:
    sent = fields_of(owner.get("/shipments/library/edit").text)
    sent |= {"request.0.remove": "yes", "request.3.id": sent["request.2.id"]}
    page = owner.post("/shipments/library/edit", data=sent).text
    assert 'id="request.3.id-wrong"' in page


def test_two_people_changing_one_shipment_see_both_values(owner: Visitor, shelf: Path) -> None:
    mine = fields_of(owner.get("/shipments/library/edit").text)
    theirs = dict(mine)
    owner.post("/shipments/library/edit", data={**theirs, "token": "their-own-token", "tank.age_weeks": "12"})
    answer = owner.post("/shipments/library/edit", data={**mine, "tank.age_weeks": "20"})
    assert answer.status_code == 409
    assert "“12”" in answer.text
    assert "“20”" in answer.text
    again = fields_of(answer.text)
    assert owner.post("/shipments/library/edit", data=again).status_code == 200
    assert tomllib.loads(shelf.read_text("utf-8"))["tank"]["age_weeks"] == 20


def test_sending_a_new_shipment_twice_makes_one(owner: Visitor, ledger: Path) -> None:
    sent = fields_of(owner.get("/shipments/new").text)
    sent |= {
        "name": "Small reef",
        "sender.name": "Culture room",
        "receiver.name": "Plains Library",
        "due": "2027-01-23T10:00",
        "tank.volume_l": "300",
        "tank.alkalinity_dkh": "8",
        "tank.calcium_mg_l": "420",
        "tank.magnesium_mg_l": "1300",
        "request.0.taxon": "Favites",
        "box.0.type": "cube_305",
        "leaves": "2027-01-22T14:00",
        "leg.0.name": "van",
        "leg.0.end": "2027-01-23T09:00",
        "leg.0.low_c": "20",
        "leg.0.high_c": "24",
    }
    first = owner.post("/shipments/new", data=sent)
    assert first.url.path == "/shipments/small-reef"
    assert owner.post("/shipments/new", data=sent).url.path == "/shipments/small-reef"
    kept = sorted(path.name for path in (ledger.parent / "ramet-files" / "shipments").iterdir())
    assert kept == ["small-reef"]


def test_a_new_shipment_without_anything_says_what_it_lacks(owner: Visitor) -> None:
    answer = owner.post("/shipments/new", data=fields_of(owner.get("/shipments/new").text))
    assert answer.status_code == 422
    for name in ("leaves", "receiver.name", "due"):
        assert f'id="{name}-wrong"' in answer.text or name in answer.text


def test_the_file_is_kept_only_when_it_holds_together(owner: Visitor, shelf: Path) -> None:
    version = fields_of(owner.get("/shipments/library/file").text)["version"]
    broken = DEMO.replace('rank = "must"', 'rank = "maybe"', 1)
    answer = owner.post(
        "/shipments/library/file", data={"text": broken, "version": version, "token": "a-token-of-mine"}
    )
    assert answer.status_code == 422
    assert "maybe" in html.unescape(answer.text)
    assert "line" in answer.text
    assert shelf.read_text("utf-8") == DEMO


def test_a_shipment_off_the_shelf_can_be_brought_back_by_hand(owner: Visitor, shelf: Path) -> None:
    owner.post("/shipments/library/remove", data={"token": "a-token-of-mine"})
    assert "Library display" not in owner.get("/shipments").text.split("<ul class", 2)[-1]
    assert (shelf.parents[2] / "removed" / "library" / "shipment.toml").read_text("utf-8") == DEMO


@pytest.mark.parametrize(
    "address", ["/shipments/none", "/shipments/../secret", "/shipments/library/papers/x"]
)
def test_what_is_not_there_is_told(owner: Visitor, shelf: Path, address: str) -> None:
    assert owner.get(address).status_code == 404
