"""The invented demo data hold what the demo is to show."""

import csv
import tomllib
from collections import Counter
from datetime import date, timedelta

import pytest

from ramet.domain.words import Form
from ramet.formats.shipment import Request, Shipment
from ramet.reference.tables import DATA, Reference

DEMO = DATA / "demo"
TODAY = date(2027, 1, 4)


@pytest.fixture(scope="module")
def stock() -> list[dict[str, str]]:
    with (DEMO / "stock.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@pytest.fixture(scope="module")
def shipment() -> Shipment:
    return Shipment.model_validate(tomllib.loads((DEMO / "shipment.toml").read_text("utf-8")))


def test_about_120_pieces_stand_in_four_tanks_of_two_systems(stock: list[dict[str, str]]) -> None:
    assert 115 <= len(stock) <= 125
    assert len({row["piece"].casefold() for row in stock}) == len(stock)
    assert {(row["system"], row["tank"]) for row in stock} == {
        ("east", "E1"),
        ("east", "E2"),
        ("west", "W1"),
        ("west", "W2"),
    }
    light = {
        tank: [int(row["par"]) for row in stock if row["tank"] == tank] for tank in ("E1", "E2", "W1", "W2")
    }
    assert max(light["E1"]) < min(light["E2"])
    assert max(light["E2"]) < min(light["W1"])
    assert max(light["W1"]) < min(light["W2"])


def test_a_strain_has_one_taxon_a_known_genus_and_its_mother_in_stock(
    stock: list[dict[str, str]], reference: Reference
) -> None:
    ids = {row["piece"] for row in stock}
    taxon_of: dict[str, str] = {}
    for row in stock:
        assert reference.genus(row["taxon"]) is not None
        assert taxon_of.setdefault(row["strain"], row["taxon"]) == row["taxon"]
        assert row["parent"] in ids or not row["parent"]
        assert reference.listed(row["taxon"]) is None


def test_sizes_are_those_of_frags_and_small_colonies(stock: list[dict[str, str]]) -> None:
    for row in stock:
        assert 25 <= int(row["length_mm"]) <= 200
        assert int(row["width_mm"]) <= int(row["length_mm"])


def test_two_pieces_are_cut_too_recently(
    stock: list[dict[str, str]], shipment: Shipment, reference: Reference
) -> None:
    packed_on = shipment.leg[0].start.date()
    fresh = []
    for row in stock:
        if row["cut_on"]:
            cut_on = date.fromisoformat(row["cut_on"])
            assert cut_on <= TODAY
            healing = reference.trait(row["taxon"], Form(row["form"]), "healing_d").band.typical
            if cut_on + timedelta(days=healing) > packed_on:
                fresh.append(row["piece"])
    assert len(fresh) == 2


def test_the_held_piece_has_contacts_among_hosts_and_not(
    stock: list[dict[str, str]], reference: Reference
) -> None:
    with (DEMO / "health.csv").open(encoding="utf-8", newline="") as file:
        found = next(row for row in csv.DictReader(file) if row["kind"] == "finding")
    held = next(row for row in stock if row["piece"] == found["piece"])
    hosts = reference.pests[found["pest"]].host_genera
    assert held["taxon"].split()[0] in hosts
    sharing = [row for row in stock if row["system"] == held["system"] and row is not held]
    assert Counter(row["taxon"].split()[0] in hosts for row in sharing)[True] >= 3
    assert any(row["taxon"].split()[0] in hosts for row in stock if row["system"] != held["system"])


def test_one_wish_of_twenty_finds_nothing_in_stock(stock: list[dict[str, str]], shipment: Shipment) -> None:
    assert len(shipment.request) == 20
    unheard = [request.id for request in shipment.request if not any(answers(request, row) for row in stock)]
    assert unheard == ["bubbles"]


def test_the_journey_is_26_hours_with_a_frosty_night(shipment: Shipment) -> None:
    first, last = shipment.leg[0], shipment.leg[-1]
    assert (shipment.due - first.start) == timedelta(hours=26)
    assert last.end <= shipment.due
    for one, following in zip(shipment.leg, shipment.leg[1:], strict=False):
        assert one.end == following.start
    assert min(leg.low_c for leg in shipment.leg) <= -6
    assert shipment.receiver.lay_hands
    assert first.start.strftime("%A %Y-%m-%d") == "Tuesday 2027-01-19"


def answers(request: Request, row: dict[str, str]) -> bool:
    """Tell whether a piece is of the kind a line wishes (the demo's class line wishes zoanthids)."""
    if request.bag_class is not None:
        return row["taxon"].split()[0] in ("Zoanthus", "Palythoa")
    return (
        request.strain in (None, row["strain"])
        and (request.taxon is None or row["taxon"].startswith(request.taxon))
        and request.form in (None, row["form"])
    )
