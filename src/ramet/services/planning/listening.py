"""Who listens to a planning: told of its stages and of the search, and asked whether it should stop."""

import time
from collections.abc import Callable
from dataclasses import dataclass, field, replace

from ramet.domain.words import Effort
from ramet.optimise.problem import Progress
from ramet.services.planning.gather import Inputs

GOAL_WORDS = {
    "musts": "musts sent (pieces)",
    "wants": "wants sent (pieces)",
    "fillers": "value of fillers sent",
    "billed_g": "billed mass (kg)",
    "margin_min": "smallest expected margin (h)",
}
"""The goals of the choice, in order, as they are shown."""
_PER_SHOWN = {"billed_g": 1000.0, "margin_min": 60.0}


@dataclass(frozen=True, slots=True)
class SearchProgress:
    """Where the search stands: its best value so far for the goal at work, and what nothing can beat.

    `value` and `bound` are in the unit that `goal` names; `gap` = |bound - value| / max(1, |value|);
    `seconds` since the planning began.
    """

    stage: str
    goal: str
    value: float
    bound: float
    gap: float
    seconds: float


def shown_value(goal: str, value: int) -> float:
    """Return a goal's value in the unit that its words name."""
    return round(value / _PER_SHOWN.get(goal, 1.0), 3)


def gap_of(value: float, bound: float) -> float:
    """Return how far a value may be from the best, as a share of it."""
    return round(abs(bound - value) / max(1.0, abs(value)), 6)


@dataclass(slots=True)
class Listener:
    """Hears the stages and the search; `should_stop` is asked again and again, and once true stays so.

    A planning that is stopped ends with the best plan it has, marked as cut short.
    """

    on_stage: Callable[[str], None] = lambda _: None
    on_progress: Callable[[SearchProgress], None] = lambda _: None
    asks_to_stop: Callable[[], bool] = lambda: False
    stopped: bool = False
    stage: str = ""
    began: float = field(default_factory=time.monotonic)

    def enter(self, stage: str) -> None:
        """Tell that a stage begins."""
        self.stage = stage
        self.on_stage(stage)

    def should_stop(self) -> bool:
        """Tell whether somebody asked to stop."""
        self.stopped = self.stopped or self.asks_to_stop()
        return self.stopped

    def hurried(self, inputs: Inputs) -> Inputs:
        """Return the inputs for what is left to do: with the least effort once somebody asked to stop."""
        return replace(inputs, effort=Effort.QUICK) if self.stopped else inputs

    def hear(self, progress: Progress) -> None:
        """Pass on where the search stands, in units."""
        value = shown_value(progress.goal, progress.value)
        bound = shown_value(progress.goal, progress.bound)
        self.on_progress(
            SearchProgress(
                self.stage,
                GOAL_WORDS[progress.goal],
                value,
                bound,
                gap_of(value, bound),
                round(time.monotonic() - self.began, 3),
            )
        )
