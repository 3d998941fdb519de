"""The receiver's page by its link, and results that come back: by the page, as a file, typed in."""

import hashlib
import json
import re
import secrets
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from small_shop import small_shop_plan
from visitors import Visitor

from ramet.formats.plan_text import plan_text
from ramet.services.sending.outcomes import read_outcomes
from ramet.web.config import WebConfig

PLAN = small_shop_plan()
HOME = "/shipments/small-reef"
LAN = "http://192.168.1.7:8321"


@pytest.fixture
def link(keeper: Visitor) -> str:
    return str(re.findall(r'href="http://[^"/]+(/opening/[^"]+)"', keeper.get(f"{HOME}/opening").text)[0])


@pytest.fixture
def receiver(shop: Path) -> Visitor:
    """Somebody with a phone in the same network, who is not the owner."""
    return Visitor(WebConfig(str(shop), host="0.0.0.0", owner_key="right key"), LAN, "192.168.1.20")


def result(**more: Any) -> dict[str, Any]:
    due = PLAN.shipment.due
    seen = [
        {
            "piece": one.piece,
            "day": 0,
            "seen_at": (due + timedelta(minutes=9)).isoformat(),
            "condition": "well",
        }
        for one in PLAN.chosen
    ]
    return {
        "format": "ramet-result/1",
        "shipment": PLAN.shipment.name,
        "due": due.isoformat(),
        "plan_sha256": hashlib.sha256(plan_text(PLAN).encode()).hexdigest(),
        "made_at": due.isoformat(),
        "device": "d2d2d2d2d2",
        "bags": [{"bag": PLAN.bags[0].id, "opened_at": due.isoformat(), "water_c": 22.1}],
        "seen": seen,
    } | more


def send(who: Visitor, link: str, data: object, origin: str = "null") -> Any:
    body = data if isinstance(data, str) else json.dumps(data)
    headers = {"Origin": origin, "Content-Type": "text/plain"}
    return who.post(f"{link}/result", content=body, headers=headers)


def upload(who: Visitor, data: object, name: str = "result.json") -> Any:
    body = data if isinstance(data, str) else json.dumps(data)
    files = {"result": (name, body.encode(), "application/json")}
    return who.post("/results", data={"token": secrets.token_urlsafe(9)}, files=files)


def test_a_stranger_with_the_link_sees_the_page_and_nothing_else(receiver: Visitor, link: str) -> None:
    page = receiver.get(link)
    assert page.status_code == 200
    assert "Read this first" in page.text
    assert receiver.get(f"{HOME}/opening").status_code == 403
    assert receiver.get("/results").status_code == 403
    assert receiver.get(HOME + "/packing").status_code == 403


def test_the_header_and_the_page_tell_the_browser_the_same_policy(receiver: Visitor, link: str) -> None:
    page = receiver.get(link)
    policy = page.headers["content-security-policy"].removesuffix("; frame-ancestors 'none'")
    assert policy.replace("'", "&#39;") in page.text
    assert f"connect-src {LAN};" in policy


def test_a_result_is_taken_from_a_page_that_is_a_file_once(receiver: Visitor, link: str, shop: Path) -> None:
    first = send(receiver, link, result())
    assert first.status_code == 200
    assert "4 observations and 1 opened bag" in first.text
    assert first.headers["access-control-allow-origin"] == "*"
    assert "entered before" in send(receiver, link, result()).text
    assert len(read_outcomes(str(shop))) == 4


@pytest.mark.parametrize(
    ("body", "told"),
    [("not json", "names itself ramet-result/1"), ('{"format": "ramet-plan/1"}', "ramet-plan/1")],
)
def test_what_is_no_result_is_refused_in_words(receiver: Visitor, link: str, body: str, told: str) -> None:
    answer = send(receiver, link, body)
    assert answer.status_code == 422
    assert told in answer.text


def test_an_altered_link_says_so_and_takes_nothing(receiver: Visitor, link: str, shop: Path) -> None:
    altered = link[:-2] + ("aa" if not link.endswith("aa") else "bb")
    page = receiver.get(altered)
    assert page.status_code == 404
    assert "This link is not whole" in page.text
    assert send(receiver, altered, result()).status_code == 404
    assert read_outcomes(str(shop)) == ()


def test_an_expired_link_says_so_and_what_to_do(
    receiver: Visitor, link: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    from ramet.web.pages import opening

    monkeypatch.setattr(opening, "LINK_DAYS", -1)
    page = receiver.get(link)
    assert page.status_code == 410
    assert "expired" in page.text
    assert "still on this device" in page.text
    assert send(receiver, link, result()).status_code == 410


def test_a_write_from_a_foreign_page_is_still_refused_elsewhere(keeper: Visitor) -> None:
    answer = keeper.post("/results", headers={"Origin": "http://elsewhere.example"})
    assert answer.status_code == 403


def test_an_uploaded_result_is_taken_in_once(keeper: Visitor, shop: Path) -> None:
    assert "4 observations" in upload(keeper, result()).text
    assert "Nothing new" in upload(keeper, result()).text
    assert "4 of 4" in keeper.get("/results?day=0&by=shipment").text


@pytest.mark.parametrize("body", ["piece,strain\n", '{"format": "ramet-result/1"}'])
def test_an_uploaded_file_that_is_no_result_is_told_beside_the_field(keeper: Visitor, body: str) -> None:
    answer = upload(keeper, body)
    assert answer.status_code == 422
    assert "Nothing was written" in answer.text


def test_what_was_told_on_the_telephone_is_typed_in(keeper: Visitor, shop: Path) -> None:
    piece = PLAN.chosen[0].piece
    fields = {"token": secrets.token_urlsafe(9), "day": "3", "on": "2026-09-26"}
    fields |= {f"condition {piece}": "weak", f"note {piece}": "half open"}
    page = keeper.post(f"{HOME}/results/seen", data=fields)
    assert "1 observation" in page.text
    assert "half open" in page.text
    (outcome,) = read_outcomes(str(shop))
    assert outcome.seen[3].condition.value == "weak"


def test_a_form_without_any_condition_keeps_what_was_typed(keeper: Visitor) -> None:
    piece = PLAN.chosen[0].piece
    fields = {"token": secrets.token_urlsafe(9), "day": "3", "on": "2026-09-26", f"note {piece}": "half open"}
    answer = keeper.post(f"{HOME}/results/seen", data=fields)
    assert answer.status_code == 422
    assert 'value="half open"' in answer.text


def test_the_file_is_the_page_and_names_no_address_unless_asked(keeper: Visitor) -> None:
    page = keeper.get(f"{HOME}/opening.html")
    assert page.headers["content-disposition"] == 'attachment; filename="opening-small-reef.html"'
    assert '"send_to": ""' in page.text
    assert "/result" in keeper.get(f"{HOME}/opening.html?address=yes").text.split('"send_to": "')[1][:400]


def test_a_loggers_record_is_held_against_the_forecast(keeper: Visitor) -> None:
    start = PLAN.shipment.departs
    rows = [f"{(start + timedelta(hours=hour)).isoformat()},{75 - 0.1 * hour:.1f}" for hour in range(20)]
    table = "time,temperature_f\n" + "\n".join(rows) + "\n"
    files = {"logger": ("logger.csv", table.encode(), "text/csv")}
    page = keeper.post(f"{HOME}/results/logger", data={"box": PLAN.boxes[0].id}, files=files)
    assert "20 readings from 0.0 to 19.0 h after departure" in page.text
    picture = re.findall(r'<noscript><img src="([^"]+)"', page.text)[0]
    assert keeper.get(picture).text.startswith("<svg")


def test_a_loggers_record_of_another_week_is_refused_in_words(keeper: Visitor) -> None:
    table = "time,temperature_c\n2026-01-01T00:00:00Z,20\n2026-01-01T01:00:00Z,21\n"
    files = {"logger": ("logger.csv", table.encode(), "text/csv")}
    answer = keeper.post(f"{HOME}/results/logger", data={"box": PLAN.boxes[0].id}, files=files)
    assert answer.status_code == 422
    assert "times on the journey" in answer.text
