"""The program called as from a shell, in this process."""

import sys
from dataclasses import dataclass
from pathlib import Path

import pytest

from ramet.main import main


@dataclass(frozen=True)
class Ran:
    """What a call of the program left: its exit code and what it printed."""

    code: int
    out: str
    err: str


class Shell:
    """Calls the program in this process, the way its entry point does."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
        self._monkeypatch, self._capsys = monkeypatch, capsys

    def __call__(self, *arguments: str | Path) -> Ran:
        self._monkeypatch.setattr(sys, "argv", ["ramet", *map(str, arguments)])
        with pytest.raises(SystemExit) as left:
            main()
        printed = self._capsys.readouterr()
        return Ran(int(left.value.code or 0), printed.out, printed.err)
