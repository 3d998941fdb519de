"""The packet is printed by a process of its own, which gets ready while the plan is being made."""

import json
import subprocess
import sys
from types import TracebackType
from typing import Self

from ramet.domain.errors import BrokenEnvironment
from ramet.formats.plan_text import plan_text
from ramet.services.sound import SoundPlan


class Printer:
    """Prints one packet. Start it early; leaving its `with` block ends it, whatever happened."""

    def __init__(self) -> None:
        pipe = subprocess.PIPE
        command = [sys.executable, "-m", "ramet.papers"]
        # A group of its own: Ctrl-C in a terminal reaches a whole group, and asks the search alone to stop.
        self._process = subprocess.Popen(command, stdin=pipe, stdout=pipe, stderr=pipe, process_group=0)

    def papers(self, plan: SoundPlan) -> dict[str, bytes]:
        """Return packet.pdf and opening.html of a plan. Raises BrokenEnvironment with what was said."""
        printed, said = self._process.communicate(plan_text(plan).encode())
        if self._process.returncode != 0:
            last = said.decode(errors="replace").strip().splitlines()[-1:]
            raise BrokenEnvironment(f"the packet could not be printed: {' '.join(last) or 'no reason given'}")
        head, _, rest = printed.partition(b"\n")
        papers, start = {}, 0
        for name, length in json.loads(head).items():
            papers[name] = rest[start : start + length]
            start += length
        return papers

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self._process.poll() is None:
            self._process.kill()
            self._process.communicate()
