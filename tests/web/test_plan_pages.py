"""Boxes, journey and receiving tank: every bag named, every chart with its numbers and what-ifs."""

import json
import re
from pathlib import Path

import pytest
from small_shop import SHIPMENT, TODAY, small_ledger, small_shop_plan
from visitors import Visitor

from ramet.domain.words import Effort
from ramet.formats.plan_text import plan_text
from ramet.reference.tables import load_reference
from ramet.services.beside import files_beside, write_whole
from ramet.services.plan_shipment import PlanOrder, plan_shipment
from ramet.web.config import WebConfig

PAGES = ("", "/boxes", "/journey", "/tank")


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The small shop's ledger with its planned shipment; the pages here only read."""
    ledger = Path(small_ledger(tmp_path_factory.mktemp("shop")))
    folder = files_beside(str(ledger)) / "shipments" / "small-reef"
    write_whole(folder / "shipment.toml", SHIPMENT.encode())
    write_whole(folder / "plan.json", plan_text(small_shop_plan()).encode())
    return ledger


@pytest.fixture(scope="module")
def keeper(shop: Path) -> Visitor:
    """The person at the small shop's machine."""
    return Visitor(WebConfig(str(shop), today=TODAY))


@pytest.mark.parametrize("page", PAGES)
def test_each_page_of_a_planned_shipment_opens_and_leads_to_the_others(keeper: Visitor, page: str) -> None:
    answer = keeper.get(f"/shipments/small-reef{page}")
    assert answer.status_code == 200
    for other in PAGES:
        assert f'href="/shipments/small-reef{other}"' in answer.text


@pytest.mark.parametrize("page", PAGES[1:])
def test_before_there_is_a_plan_its_pages_say_so(owner: Visitor, ledger: Path, page: str) -> None:
    write_whole(files_beside(str(ledger)) / "shipments" / "small" / "shipment.toml", SHIPMENT.encode())
    answer = owner.get(f"/shipments/small{page}")
    assert answer.status_code == 404
    assert "plan it first" in answer.text


def test_every_bag_of_every_box_is_named_in_drawing_table_and_turning_view(keeper: Visitor) -> None:
    plan = small_shop_plan()
    for box in plan.boxes:
        page = keeper.get("/shipments/small-reef/boxes", params={"box": box.id}).text
        bodies = json.loads(re.search(r'<script type="application/json">(.*?)</script>', page)[1])
        assert {one["id"] for one in bodies["bags"]} == set(box.bags)
        for bag in box.bags:
            assert f'data-bag="{bag}"' in page
            assert f"<strong>{bag}</strong>" in page


def test_the_numbers_behind_the_chart_are_those_of_the_plan(keeper: Visitor) -> None:
    plan = small_shop_plan()
    bag = plan.forecast.bags[0]
    page = keeper.get("/shipments/small-reef/journey", params={"bag": bag.id}).text
    first = [f"{bag.series.temperature_c.p50[0]:.1f}", f"{bag.series.oxygen_mg_l.p50[0]:.1f}"]
    row = re.search(r'<tr><td class="n">0\.0</td>(.*?)</tr>', page)[1]
    assert [cell.split(" ")[0] for cell in re.findall(r"<td>(.*?)</td>", row)][:2] == first
    spec = json.loads(re.search(r'class="spec">(.*?)</script>', page)[1])
    assert len(spec["vconcat"]) == 5  # four quantities and the legs


def test_hours_held_up_on_the_way_are_added_to_what_a_bag_needs(keeper: Visitor) -> None:
    def needs(query: str) -> float:
        page = keeper.get(f"/shipments/small-reef/journey?{query}").text
        return float(re.search(r"<dt>needs</dt><dd>([\d.]+) h", page)[1])

    bag = small_shop_plan().forecast.bags[0].id
    assert needs(f"bag={bag}&waits=12") == pytest.approx(needs(f"bag={bag}") + 12, abs=0.11)


@pytest.mark.parametrize(
    ("query", "field"), [("water=-99", "water"), ("packs=50", "packs"), ("leaves=soon", "leaves")]
)
def test_what_cannot_be_done_is_told_beside_its_slider_and_stays_typed(
    keeper: Visitor, query: str, field: str
) -> None:
    page = keeper.get(f"/shipments/small-reef/journey?{query}").text
    assert f'id="{field}-wrong"' in page
    assert f'name="{field}" value="{query.split("=")[1]}"' in page


def test_a_slider_moves_only_the_answer(keeper: Visitor) -> None:
    headers = {"HX-Request": "true", "HX-Target": "answer"}
    part = keeper.get("/shipments/small-reef/journey?packs=0", headers=headers).text
    assert part.strip().startswith('<div id="answer">')
    assert "<html" not in part


@pytest.mark.parametrize("picture", ["journey/{bag}.svg", "tank/balance.svg"])
def test_each_chart_has_a_still_picture_for_browsers_without_script(keeper: Visitor, picture: str) -> None:
    bag = small_shop_plan().forecast.bags[0].id
    answer = keeper.get(f"/shipments/small-reef/{picture.format(bag=bag)}")
    assert answer.headers["content-type"] == "image/svg+xml"
    assert answer.text.startswith("<svg")


def test_temperatures_follow_the_grower_into_the_chart(keeper: Visitor) -> None:
    keeper.post(
        "/settings/writing", data={"units": "us", "alkalinity": "dkh", "locale": "en-US", "zone": "UTC"}
    )
    page = keeper.get("/shipments/small-reef/journey").text
    keeper.post(
        "/settings/writing", data={"units": "metric", "alkalinity": "dkh", "locale": "en-US", "zone": "UTC"}
    )
    assert "water temperature [°F]" in page
    assert "[°C]" not in page


def test_the_tank_page_tells_supply_demand_biofilter_and_places(keeper: Visitor) -> None:
    page = keeper.get("/shipments/small-reef/tank").text
    for words in (
        "can be added",
        "Biofilter:",
        "From above",
        "Where each piece goes",
        "How each bag is opened",
    ):
        assert words in page
    for one in small_shop_plan().chosen:
        assert one.piece in page


def test_the_page_tells_the_cost_the_other_ways_and_the_rules_that_are_off(
    owner: Visitor, ledger: Path
) -> None:
    text = SHIPMENT + "[[carrier.rate]]\nup_to_kg = 40\nprice = 62.5\n\n[rules]\nvoids_filled = false\n"
    folder = files_beside(str(ledger)) / "shipments" / "priced"
    write_whole(folder / "shipment.toml", text.encode())
    order = PlanOrder(small_ledger(folder), folder / "shipment.toml", TODAY, 1, Effort.QUICK)
    plan = plan_shipment(order, load_reference(), lambda _: None).plan
    write_whole(folder / "plan.json", plan_text(plan).encode())
    page = owner.get("/shipments/priced").text
    assert "Sending costs 62.50" in page
    assert "Rules that this shipment switches off" in page
    assert "Gaps beside the bags are filled" in page
