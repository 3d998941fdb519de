"""The receiver's page is one file that loads nothing and says first what can hurt somebody."""

import base64
import hashlib
import json
import re
from functools import cache
from html.parser import HTMLParser

import pytest
from sample_plan import sample_plan

from ramet.formats.plan import Plan
from ramet.papers.opening_page import addressed, opening_page

SHA256 = "ab" * 32
PLAN = sample_plan()


class Page(HTMLParser):
    """Gathers what an outside reader of HTML finds: addresses, inline parts, text in order, forms."""

    def __init__(self, html: bytes) -> None:
        super().__init__()
        self.addresses: list[str] = []
        self.inline: dict[str, list[str]] = {"style": [], "script": []}
        self.handlers: list[str] = []
        self.policy = ""
        self.text = ""
        self._open: tuple[str, str] | None = None
        self.feed(html.decode())

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        self._open = (tag, given.get("type") or "") if tag in self.inline else self._open
        if given.get("http-equiv") == "Content-Security-Policy":
            self.policy = given["content"] or ""
        for name, value in attrs:
            if name in ("src", "href", "xlink:href", "action", "srcset"):
                self.addresses.append(value or "")
            if name.startswith("on") or name == "style":
                self.handlers.append(name)

    def handle_endtag(self, tag: str) -> None:
        self._open = None if tag in self.inline else self._open

    def handle_data(self, data: str) -> None:
        if self._open is None:
            self.text += data
        elif self._open[1] != "application/json":
            self.inline[self._open[0]].append(data)


def page(plan: Plan | None = None, send_to: str = "") -> Page:
    return (
        usual_page()
        if plan is None and not send_to
        else Page(opening_page(plan or PLAN, SHA256, send_to).html)
    )


@cache
def usual_page() -> Page:
    return Page(opening_page(PLAN, SHA256).html)


def test_the_page_loads_nothing_from_anywhere() -> None:
    assert all(address.startswith("#") for address in page().addresses)
    assert "default-src 'none'" in page().policy
    assert "connect-src 'none'" in page().policy


@pytest.mark.parametrize("part", ["style", "script"])
def test_the_policy_names_the_hash_of_the_one_inline_part_and_allows_no_other(part: str) -> None:
    """W3C Content Security Policy Level 3, section 2.3.1: base64 of the SHA-256 of the element's text."""
    found = page()
    (text,) = found.inline[part]
    digest = base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()
    assert f"{part}-src 'sha256-{digest}'" in found.policy
    assert "unsafe" not in found.policy
    assert found.handlers == []


def test_results_go_to_the_senders_address_alone() -> None:
    found = page(send_to="http://192.168.0.7:8321/opening/abc/result")
    assert "connect-src http://192.168.0.7:8321;" in found.policy


def test_the_same_plan_gives_the_same_bytes() -> None:
    assert opening_page(PLAN, SHA256) == opening_page(PLAN, SHA256)


def test_a_page_is_given_an_address_afterwards_as_if_it_had_been_made_with_it() -> None:
    """So that a server need not draw it anew for each link."""
    address = "http://192.168.0.7:8321/opening/abc/result"
    assert addressed(opening_page(PLAN, SHA256).html, address) == opening_page(PLAN, SHA256, address)


def test_what_can_hurt_somebody_is_read_before_any_bag() -> None:
    text = page().text
    order = [text.index(part) for part in ("TOXIC", "palytoxin", "Never pour bag water", "Bag by bag")]
    assert order == sorted(order)


def test_bags_stand_in_opening_order_each_with_its_pieces_and_places() -> None:
    text = page().text.split("Bag by bag")[1]
    bags = sorted(PLAN.bags, key=lambda bag: bag.opening_order)
    order = [text.index(f"Bag {bag.id}") for bag in bags]
    assert order == sorted(order)
    assert all(one.piece in text for one in PLAN.chosen)


def test_the_expected_warmth_is_that_of_the_forecast_at_the_due_time() -> None:
    bag = PLAN.forecast.bags[0]
    due_h = (PLAN.shipment.due - PLAN.shipment.departs).total_seconds() / 3600
    at = PLAN.forecast.hours.index(due_h)
    low, high = bag.series.temperature_c.p05[at], bag.series.temperature_c.p95[at]
    assert f"Expected in the bag: {low:.1f} to {high:.1f} °C" in page().text


def test_names_cannot_break_out_of_the_page() -> None:
    evil = sample_plan(name="</script><script>alert(1)</script><img src=x onerror=alert(2)>")
    found = page(evil)
    assert len(found.inline["script"]) == 1
    assert found.handlers == []
    told = re.search(r'id="plan">(.*?)</script>', opening_page(evil, SHA256).html.decode(), re.DOTALL)
    assert told is not None
    assert json.loads(told[1])["shipment"] == evil.shipment.name


def test_a_plan_without_bags_says_so() -> None:
    empty = PLAN.model_copy(update={"bags": (), "boxes": (), "chosen": ()})
    assert "No bag travels with this plan." in page(empty).text
