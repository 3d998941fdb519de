"""What it takes to plan a shipment in the background, as plain values that the queue can hold."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from ramet.domain.words import Effort

KIND = "plan"


@dataclass(frozen=True, slots=True)
class PlanJob:
    """Plan the shipment in a file and write its packet into a folder. `own_rows` as on the command line."""

    shipment: Path
    folder: Path
    today: date
    seed: int = 1
    effort: Effort = Effort.NORMAL
    own_rows: Path | None = None

    def what(self) -> dict[str, object]:
        """Return it in values that JSON can hold."""
        return {
            "shipment": str(self.shipment.resolve()),
            "folder": str(self.folder.resolve()),
            "today": self.today.isoformat(),
            "seed": self.seed,
            "effort": self.effort.value,
            "own_rows": None if self.own_rows is None else str(self.own_rows.resolve()),
        }


def plan_job(what: Mapping[str, object]) -> PlanJob:
    """Return what `PlanJob.what` had written down."""
    own_rows = what["own_rows"]
    return PlanJob(
        Path(str(what["shipment"])),
        Path(str(what["folder"])),
        date.fromisoformat(str(what["today"])),
        int(str(what["seed"])),
        Effort(str(what["effort"])),
        None if own_rows is None else Path(str(own_rows)),
    )
