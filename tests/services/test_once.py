"""A form that comes twice is written once."""

from pathlib import Path

import pytest

from ramet.services.once import HalfDone, once

TOKEN = "a-form-token"


def test_the_second_time_leads_where_the_first_led(tmp_path: Path) -> None:
    writes: list[int] = []
    for _ in range(3):
        assert once(tmp_path, TOKEN, lambda: f"/stock/{writes.append(1) or len(writes)}") == "/stock/1"
    assert len(writes) == 1


def test_a_write_that_failed_may_be_sent_again(tmp_path: Path) -> None:
    with pytest.raises(OSError, match="disk"):
        once(tmp_path, TOKEN, lambda: (_ for _ in ()).throw(OSError("disk full")))
    assert once(tmp_path, TOKEN, lambda: "/stock") == "/stock"


def test_a_write_that_never_came_to_an_end_is_told(tmp_path: Path) -> None:
    (tmp_path / "forms").mkdir()
    (tmp_path / "forms" / TOKEN).touch()
    with pytest.raises(HalfDone, match="Look whether it was entered"):
        once(tmp_path, TOKEN, lambda: "/stock")


@pytest.mark.parametrize("token", ["", "short", "../../escape", "a" * 65])
def test_what_is_no_token_claims_nothing(tmp_path: Path, token: str) -> None:
    with pytest.raises(HalfDone):
        once(tmp_path, token, lambda: "/stock")
    assert not (tmp_path / "forms").exists()
