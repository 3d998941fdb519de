"""The owner gets in, a stranger does not, and no foreign page reads or writes."""

import re
from importlib import import_module
from pathlib import Path

import pytest
from itsdangerous import BadSignature
from visitors import HERE, Visitor

from ramet.web.app import OWNER_PAGES
from ramet.web.config import WebConfig
from ramet.web.guards import POLICY

PAGES = ["/", "/start", "/import", "/shipments", "/shipments/new", "/stock", "/settings"]


@pytest.mark.parametrize("page", PAGES)
def test_the_person_at_the_machine_sees_every_page(owner: Visitor, page: str) -> None:
    assert owner.get(page).status_code == 200


@pytest.mark.parametrize("page", PAGES)
def test_a_stranger_sees_no_page_of_the_owner(stranger: Visitor, page: str) -> None:
    answer = stranger.get(page)
    assert answer.status_code == 403
    assert "owner" in answer.text


def owner_addresses() -> list[tuple[str, str]]:
    """Every address of the owner's with its method, a word for each name in it."""
    found = []
    for module in OWNER_PAGES:
        for route in import_module(f"ramet.web.pages.{module}").routes.routes:
            found += [(method, re.sub(r"\{[^}]+\}", "x", route.path)) for method in route.methods]
    return sorted(found)


@pytest.mark.parametrize(("method", "address"), owner_addresses())
def test_every_address_of_the_owners_is_closed_to_a_stranger(
    stranger: Visitor, method: str, address: str
) -> None:
    assert stranger.request(method, address).status_code == 403


def test_the_printed_link_makes_a_browser_the_owners_and_leaves_the_address_bar(stranger: Visitor) -> None:
    answer = stranger.get("/owner?key=right key")
    assert answer.url.path == "/"
    assert answer.status_code == 200
    cookie = answer.history[0].headers["set-cookie"].lower()
    assert "httponly" in cookie
    assert "samesite=lax" in cookie


@pytest.mark.parametrize("address", ["/owner", "/owner?key=wrong"])
def test_a_wrong_owner_key_opens_nothing(stranger: Visitor, address: str) -> None:
    assert stranger.get(address).status_code == 403
    assert stranger.get("/").status_code == 403


def test_an_altered_cookie_is_worth_nothing(stranger: Visitor) -> None:
    stranger.get("/owner?key=right key")
    name, value = next(iter(stranger.cookies.items()))
    stranger.cookies.clear()
    stranger.cookies.set(name, value[:-2] + "xx")
    assert stranger.get("/").status_code == 403


def test_behind_a_proxy_nobody_is_taken_for_the_person_at_the_machine(owner: Visitor) -> None:
    assert owner.get("/settings", headers={"X-Forwarded-For": "203.0.113.9"}).status_code == 403


def test_a_foreign_name_that_leads_here_is_not_answered(owner: Visitor) -> None:
    answer = owner.get("/settings", headers={"Host": "rebound.example"})
    assert answer.status_code == 421
    assert "--name rebound.example" in answer.text


def test_a_name_given_at_the_start_is_answered(ledger: Path) -> None:
    named = Visitor(WebConfig(str(ledger), names=("growroom.example",)))
    assert named.get("/settings", headers={"Host": "growroom.example"}).status_code == 200


@pytest.mark.parametrize(
    "headers",
    [
        {"Origin": "http://elsewhere.example"},
        {"Origin": "null"},
        {"Origin": "", "Sec-Fetch-Site": "cross-site"},
        {"Origin": ""},
    ],
)
def test_a_write_from_a_foreign_page_is_refused(owner: Visitor, headers: dict[str, str]) -> None:
    answer = owner.post("/settings/writing", data={"units": "us"}, headers=headers)
    assert answer.status_code == 403


def test_a_write_too_large_is_refused(owner: Visitor) -> None:
    answer = owner.post("/theme", headers={"Content-Length": str(10**9)}, content=b"")
    assert answer.status_code == 413


@pytest.mark.parametrize("page", [*PAGES, "/no such page", "/static/0/base.css"])
def test_every_answer_carries_the_policy(owner: Visitor, page: str) -> None:
    policy = owner.get(page).headers["content-security-policy"]
    assert policy == POLICY
    assert "unsafe" not in policy
    assert "http" not in policy


def test_an_opening_link_is_signed_and_ends(owner: Visitor) -> None:
    access = owner.app.state.access  # type: ignore[attr-defined]
    signed = access.opening_link("library")
    assert access.opened_by(signed, 60) == "library"
    with pytest.raises(BadSignature):
        access.opened_by(signed[:-2] + "xx", 60)
    with pytest.raises(BadSignature):
        access.opened_by(signed, -1)


def test_the_theme_leads_back_to_the_page_but_never_elsewhere(owner: Visitor) -> None:
    inside = owner.post("/theme", data={"theme": "night", "back": "/settings"}, follow_redirects=False)
    assert inside.headers["location"] == "/settings"
    for back in ("https://elsewhere.example", "//elsewhere.example", "/\\elsewhere.example"):
        away = owner.post("/theme", data={"theme": "night", "back": back}, follow_redirects=False)
        assert away.headers["location"] == "/"
    assert 'data-theme="night"' in owner.get("/settings").text
    assert HERE.startswith("http://127")
