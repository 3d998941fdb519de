"""`ramet plan` on what cannot be planned: file, line and key are named, exit code 2, nothing written."""

from collections.abc import Callable
from pathlib import Path

import pytest
from shell import Ran, Shell
from small_texts import SMALLEST, TODAY, with_line

Plan = Callable[..., Ran]
LAST_REQUEST_KEY = 'taxon = "Favites"'


@pytest.fixture
def plan(shell: Shell, ledger: Path, tmp_path: Path) -> Plan:
    """Plans a shipment text and makes sure that a refusal leaves no trace."""

    def run(text: str | bytes, today: str = TODAY) -> Ran:
        file = tmp_path / "reef.toml"
        file.write_bytes(text if isinstance(text, bytes) else text.encode())
        before = ledger.read_bytes()
        ran = shell("plan", file, "-o", tmp_path / "out", "--ledger", ledger, "--today", today)
        assert ran.code == 2
        assert ran.out == ""
        assert not (tmp_path / "out").exists()
        assert ledger.read_bytes() == before
        assert "Traceback" not in ran.err
        return ran

    return run


# (line as it stands, line as somebody wrote it, key that is named, what is said of it)
WRONG_LINES = [
    ("volume_l = 300", "volume_l = 0", "tank.volume_l", "found “0”"),
    ("volume_l = 300", "volume_l = -300", "tank.volume_l", "found “-300”"),
    ("volume_l = 300", 'volume_l = "300"', "tank.volume_l", "unit"),
    ("volume_l = 300", "volumn_l = 300", "tank.volumn_l", "nearest is “volume_l”"),
    (LAST_REQUEST_KEY, 'taxon = "Favitas"', "request[1].taxon", "Favites"),
    ('type = "cube_305"', 'type = "cube_306"', "box[1].type", "cube_305"),
    ("low_c = 20", "low_c = 25", "leg[1].high_c", "not below low_c"),
    ("high_c = 24", "hight_c = 24", "leg[1].hight_c", "nearest is “high_c”"),
    ('rank = "must"', 'rank = "musst"', "request[1].rank", "must"),
    ('name = "Small reef"', 'name = " "', "name", "1 to 200 characters"),
    ('live_aquatics = "yes"', "divisor_cm3_kg = 1e-9", "carrier.divisor_cm3_kg", "from 100 to 100000"),
    ('live_aquatics = "yes"', "mass_step_kg = 0", "carrier.mass_step_kg", "found “0”"),
    ('live_aquatics = "yes"', "ships_on = []", "carrier.ships_on", "at least 1"),
    (LAST_REQUEST_KEY, f"{LAST_REQUEST_KEY}\nmin_length_mm = -5", "request[1].min_length_mm", "found “-5”"),
]


@pytest.mark.parametrize(("old", "new", "key", "said"), WRONG_LINES)
def test_a_wrong_line_is_named_with_its_file_and_key(
    plan: Plan, tmp_path: Path, old: str, new: str, key: str, said: str
) -> None:
    text, number = with_line(SMALLEST, old, new)
    named = [one for one in plan(text).err.splitlines() if f"[{key}]" in one]
    assert len(named) == 1
    # The key may stand a line or so below, where two keys disagree or a line was added.
    lines = text.split("\n")
    at = next(
        n for n, line in enumerate(lines, 1) if n >= number and line.split(" ")[0] == key.split(".")[-1]
    )
    assert named[0].startswith(f"{tmp_path / 'reef.toml'}:{at} ")
    assert said in named[0]


@pytest.mark.parametrize("table", ["request", "box"])
def test_a_count_of_nought_is_told(plan: Plan, table: str) -> None:
    head = f"[[{table}]]"
    before, after = SMALLEST.split(head)
    text = before + head + after.replace("count = 1", "count = 0", 1)
    err = plan(text).err
    line = next(n for n, one in enumerate(text.split("\n"), 1) if one == "count = 0")
    assert f"reef.toml:{line} [{table}[1].count]: found “0”" in err


def test_a_missing_file_is_told(shell: Shell, ledger: Path, tmp_path: Path) -> None:
    ran = shell("plan", tmp_path / "none.toml", "-o", tmp_path / "out", "--ledger", ledger)
    assert ran.code == 2
    assert (
        ran.err.splitlines()[-1] == f"{tmp_path / 'none.toml'}: nothing there; expected a file at this path"
    )
    assert not (tmp_path / "out").exists()


def test_a_file_that_is_not_utf8_is_told_with_its_line(plan: Plan) -> None:
    text, number = with_line(SMALLEST, 'receiver = "Plains Library"', 'receiver = "Café"')
    err = plan(text.encode("latin-1")).err
    assert f"reef.toml:{number}: found “byte 0xE9" in err
    assert "UTF-8" in err


def test_a_due_time_gone_by_is_told(plan: Plan) -> None:
    err = plan(SMALLEST, today="2026-10-01").err
    assert "reef.toml:2 [due]: found “2026-09-23T10:00:00-05:00”" in err
    assert "not before today, 2026-10-01" in err


def test_a_due_time_that_no_coral_could_wait_for_is_told(plan: Plan) -> None:
    text, number = with_line(SMALLEST, "due = 2026-09-23T10:00:00-05:00", "due = 2026-10-23T10:00:00-05:00")
    assert f"reef.toml:{number} [due]: " in (err := plan(text).err)
    assert "at most 240 h after the departure" in err


def test_an_unknown_genus_is_answered_with_the_nearest_and_never_filled_in(plan: Plan) -> None:
    text, _ = with_line(SMALLEST, LAST_REQUEST_KEY, 'taxon = "Stylopora"')
    err = plan(text).err
    assert "found “Stylopora”" in err
    assert "Stylophora" in err


def test_what_is_not_toml_is_told_with_its_line(plan: Plan) -> None:
    text, number = with_line(SMALLEST, "[tank]", "[tank")
    assert f"reef.toml:{number}: " in plan(text).err


def test_all_that_is_wrong_is_told_at_once(plan: Plan) -> None:
    text, _ = with_line(SMALLEST, "volume_l = 300", "volume_l = 0")
    text, _ = with_line(text, 'rank = "must"', 'rank = "musst"')
    text, _ = with_line(text, "low_c = 20", "low = 20")
    err = plan(text).err
    assert all(key in err for key in ("tank.volume_l", "request[1].rank", "leg[1].low]"))


def test_a_missing_ledger_is_told_and_not_made(shell: Shell, tmp_path: Path) -> None:
    (tmp_path / "reef.toml").write_text(SMALLEST)
    where = tmp_path / "none.db"
    ran = shell("plan", tmp_path / "reef.toml", "-o", tmp_path / "out", "--ledger", where, "--today", TODAY)
    assert ran.code == 2
    assert str(where) in ran.err
    assert not where.exists()
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("name", ["stones", "Honeycomb"])
def test_goods_named_as_others_or_as_a_line_are_told(plan: Plan, name: str) -> None:
    one = '[[goods]]\nname = "{}"\nkind = "plain"\nsize_mm = [50, 50, 50]\nmass_g = 100\n'
    err = plan(SMALLEST + one.format("stones") + one.format(name)).err
    assert f"[goods[2].name]: found “{name}”" in err


def test_a_folder_that_cannot_be_is_told_before_anything_is_planned(
    shell: Shell, ledger: Path, tmp_path: Path
) -> None:
    (tmp_path / "reef.toml").write_text(SMALLEST)
    (tmp_path / "note").write_text("a file")
    out = tmp_path / "note" / "out"
    ran = shell("plan", tmp_path / "reef.toml", "-o", out, "--ledger", ledger, "--today", TODAY)
    assert ran.code == 3
    assert ran.err.strip() == (
        f"{out}: the packet cannot be written there ({tmp_path / 'note'} is not a folder); "
        "name another folder with -o"
    )


def test_a_folder_that_turns_out_unwritable_is_told_without_a_traceback(
    shell: Shell, ledger: Path, tmp_path: Path
) -> None:
    (tmp_path / "reef.toml").write_text(SMALLEST)
    (tmp_path / "out" / "plan.json").mkdir(parents=True)  # a folder where the plan should stand
    call = ("plan", tmp_path / "reef.toml", "-o", tmp_path / "out", "--ledger", ledger, "--today", TODAY)
    ran = shell(*call, "--effort", "quick")
    assert ran.code == 3
    assert "the packet cannot be written there" in ran.err
