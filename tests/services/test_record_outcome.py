"""A receiver's result file goes into the ledger once, whole, or is refused with the place of every fault."""

import base64
import hashlib
import json
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from small_shop import small_ledger, small_shop_plan

from ramet.domain.errors import BadInput
from ramet.domain.events import Event, Kind, Standing
from ramet.formats.plan import Plan
from ramet.ledger import open_ledger
from ramet.ledger.queries import contents, history
from ramet.services.record_outcome import Noting, ResultReport, import_result, read_result
from ramet.services.verify import verify

PLAN = small_shop_plan()
OPENED = PLAN.shipment.due
NOW = OPENED + timedelta(days=8)
JPEG = b"\xff\xd8\xff\xe0 a photo made small on the device"


@pytest.fixture
def place(place: str, tmp_path: Path) -> str:
    """The small shop's ledger, on each database."""
    return small_ledger(tmp_path, place)


def seen(piece: str, day: int = 0, condition: str = "well", **more: Any) -> dict[str, Any]:
    at = OPENED + timedelta(days=day, minutes=10)
    return {"piece": piece, "day": day, "seen_at": at.isoformat(), "condition": condition} | more


def result(*rows: dict[str, Any], **more: Any) -> dict[str, Any]:
    first = min(PLAN.bags, key=lambda bag: bag.opening_order)
    return {
        "format": "ramet-result/1",
        "shipment": PLAN.shipment.name,
        "due": PLAN.shipment.due.isoformat(),
        "plan_sha256": "a" * 64,
        "made_at": NOW.isoformat(),
        "device": "d0d0d0d0",
        "bags": [{"bag": first.id, "opened_at": OPENED.isoformat(), "water_c": 22.5}],
        "seen": list(rows),
    } | more


def enter(
    place: str,
    tmp_path: Path,
    data: dict[str, Any],
    plan: Plan | None = PLAN,
    photos: list[bytes] | None = None,
) -> ResultReport:
    path = tmp_path / "result.json"
    path.write_text(json.dumps(data))
    kept = [] if photos is None else photos

    def keep(photo: bytes) -> str:
        kept.append(photo)
        return hashlib.sha256(photo).hexdigest()

    return import_result(place, read_result(path), plan, Noting(NOW, "Plains Library", keep, path.name))


def outcomes(place: str, piece: str) -> list[Event]:
    with open_ledger(place) as ledger:
        return [event for event in history(ledger, piece) if event.entry.kind is Kind.OPENED]


ONE = PLAN.chosen[0].piece


def test_what_was_seen_is_in_the_history_of_the_piece_with_day_and_warmth(place: str, tmp_path: Path) -> None:
    bag = next(bag for bag in PLAN.bags if ONE in bag.pieces)
    bags = [{"bag": bag.id, "opened_at": OPENED.isoformat(), "water_c": "72.5 °F"}]
    report = enter(place, tmp_path, result(seen(ONE, note="open by noon"), bags=bags))
    assert (report.seen_added, report.bags_added, report.known) == (1, 1, 0)
    (event,) = outcomes(place, ONE)
    assert event.entry.at == OPENED + timedelta(minutes=10)
    assert event.entry.payload["condition"] == "well"
    assert event.entry.payload["note"] == "open by noon"
    assert event.entry.payload["water_c"] == pytest.approx(22.5)


def test_the_same_file_twice_changes_nothing(place: str, tmp_path: Path) -> None:
    data = result(seen(ONE), seen(PLAN.chosen[1].piece, condition="dead"))
    first = enter(place, tmp_path, data)
    again = enter(place, tmp_path, data)
    assert (again.seen_added, again.bags_added, again.known) == (0, 0, 3)
    assert again.version == first.version


def test_an_older_file_of_the_device_after_a_newer_one_brings_nothing_back(
    place: str, tmp_path: Path
) -> None:
    older = result(seen(ONE, condition="weak"))
    enter(place, tmp_path, older)
    later = seen(ONE, condition="well") | {"seen_at": (OPENED + timedelta(hours=2)).isoformat()}
    enter(place, tmp_path, result(later))
    enter(place, tmp_path, older)
    assert [event.entry.payload["condition"] for event in outcomes(place, ONE)] == ["weak", "well"]


def test_a_result_of_a_piece_still_in_stock_says_that_it_was_sent_and_how(place: str, tmp_path: Path) -> None:
    enter(place, tmp_path, result(seen(ONE)))
    bag = next(bag for bag in PLAN.bags if ONE in bag.pieces)
    with open_ledger(place) as ledger:
        (sent,) = [event for event in history(ledger, ONE) if event.entry.kind is Kind.SENT]
        assert contents(ledger).states[ONE.lower()].standing is Standing.SENT
    assert sent.entry.at == PLAN.shipment.departs
    assert (sent.entry.payload["gas"], sent.entry.payload["bag"]) == (bag.gas.value, bag.id)
    assert not verify(place).differences


def test_a_piece_cut_for_the_shipment_needs_the_plan_or_an_entry_of_its_own(
    place: str, tmp_path: Path
) -> None:
    cut = next(one for one in PLAN.chosen if one.how == "cut")
    with pytest.raises(BadInput, match=r"seen\[1\].piece\]: found “" + cut.piece):
        enter(place, tmp_path, result(seen(cut.piece)), plan=None)
    assert enter(place, tmp_path, result(seen(cut.piece))).seen_added == 1


def test_a_result_without_its_plan_is_taken_for_pieces_that_the_ledger_knows(
    place: str, tmp_path: Path
) -> None:
    whole = next(one for one in PLAN.chosen if one.how == "whole")
    assert enter(place, tmp_path, result(seen(whole.piece)), plan=None).seen_added == 1
    assert not verify(place).differences


def test_photos_are_kept_and_named_by_their_hash(place: str, tmp_path: Path) -> None:
    photos: list[bytes] = []
    photo = {"type": "image/jpeg", "data": base64.b64encode(JPEG).decode()}
    report = enter(place, tmp_path, result(seen(ONE, photo=photo)), photos=photos)
    assert (report.photos, photos) == (1, [JPEG])
    assert outcomes(place, ONE)[0].entry.payload["photo"] == hashlib.sha256(JPEG).hexdigest()


def test_all_faults_are_told_together_and_nothing_is_written(place: str, tmp_path: Path) -> None:
    ahead = seen(ONE) | {"seen_at": (NOW + timedelta(days=3)).isoformat()}
    page = {"type": "image/jpeg", "data": base64.b64encode(b"<html>").decode()}
    data = result(seen("X9"), ahead, seen(ONE, day=1, photo=page))
    with pytest.raises(BadInput) as refused:
        enter(place, tmp_path, data)
    assert [one.place.column for one in refused.value.problems] == [
        "seen[1].piece",
        "seen[2].seen_at",
        "seen[3].photo",
    ]
    with open_ledger(place) as ledger:
        assert not [one for one in contents(ledger).states.values() if one.standing is Standing.SENT]


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("not json", "text that is no JSON"),
        ("[1, 2]", "a JSON file that names no format"),
        ('{"format": "ramet-plan/1"}', "ramet-plan/1"),
    ],
)
def test_a_file_that_is_no_result_is_told_in_one_line(tmp_path: Path, text: str, found: str) -> None:
    path = tmp_path / "other.json"
    path.write_text(text)
    with pytest.raises(BadInput) as refused:
        read_result(path)
    (problem,) = refused.value.problems
    assert problem.value == found
    assert "ramet-result/1" in problem.expected


def test_a_wrong_day_or_word_is_named_with_its_line(tmp_path: Path) -> None:
    path = tmp_path / "result.json"
    path.write_text(json.dumps(result(seen(ONE, day=2), seen(ONE, condition="fine")), indent=1))
    with pytest.raises(BadInput) as refused:
        read_result(path)
    columns = [one.place.column for one in refused.value.problems]
    assert columns == ["seen[1].day", "seen[2].condition"]
    assert all(one.place.line for one in refused.value.problems)


def test_an_entry_of_the_far_future_of_the_device_is_taken_within_a_day(place: str, tmp_path: Path) -> None:
    ahead = seen(ONE) | {"seen_at": (NOW + timedelta(hours=5)).astimezone(UTC).isoformat()}
    assert enter(place, tmp_path, result(ahead)).seen_added == 1
    assert isinstance(outcomes(place, ONE)[0].entry.at, datetime)
