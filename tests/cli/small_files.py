"""The smallest stock list and shipment as files, and the program called as from a shell.

All names are invented.
"""

import sys
from dataclasses import dataclass
from pathlib import Path

import pytest

from ramet.main import main

TODAY = "2026-09-01"

STOCK = """\
piece,strain,taxon,form,system,tank,length_mm,width_mm,height_mm,par
F1,Field 1,Favites abdita,massive,north,N1,40,40,25,120
F2,Field 1,Favites abdita,massive,north,N1,45,45,30,120
D1,Dock 1,Montipora digitata,branching,north,N1,45,35,40,150
D2,Dock 1,Montipora digitata,branching,north,N1,50,35,40,150
"""

SHIPMENT = """\
name = "Small reef"
due = 2026-09-23T10:00:00-05:00
receiver = "Plains Library"

[tank]
volume_l = 300
alkalinity_dkh = 8
calcium_mg_l = 420
magnesium_mg_l = 1300

[[request]]
id = "honeycomb"
rank = "must"
count = 1
taxon = "Favites"

[[box]]
type = "cube_305"
count = 1

[[leg]]
name = "van and depot"
start = 2026-09-22T14:00:00-05:00
end = 2026-09-23T09:00:00-05:00
surroundings = "depot"
low_c = 20
high_c = 24

[carrier]
live_aquatics = "yes"
"""


def with_line(text: str, old: str, new: str) -> tuple[str, int]:
    """Return a text with its one line `old` replaced, and the number of that line."""
    lines = text.split("\n")
    number = lines.index(old)
    assert old not in lines[number + 1 :]
    lines[number] = new
    return "\n".join(lines), number + 1


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
