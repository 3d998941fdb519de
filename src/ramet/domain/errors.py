"""One tree of exceptions. Each carries a message that can be shown to a user as it is."""

from collections.abc import Sequence

from ramet.domain.problems import Problem


class RametError(Exception):
    """Base of every error that ramet raises on purpose."""

    exit_code = 2


class BadInput(RametError):
    """A user's file or argument cannot be used. Holds every problem found; nothing was written."""

    def __init__(self, problems: Sequence[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))


class OutOfRange(RametError):
    """A number lies outside the range in which a relation holds."""

    def __init__(self, quantity: str, value: float, low: float, high: float, unit: str) -> None:
        self.quantity, self.value, self.low, self.high, self.unit = quantity, value, low, high, unit
        super().__init__(f"{quantity} is {value:g} {unit}; expected {low:g} to {high:g} {unit}")


class BrokenTable(RametError):
    """A reference table that ships with ramet, or a user's override of it, does not hold together."""

    exit_code = 3

    def __init__(self, problems: Sequence[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))


class BrokenEnvironment(RametError):
    """Something ramet needs from the machine is missing or unusable."""

    exit_code = 3


class StaleWrite(RametError):
    """Somebody else wrote to the ledger after this reader read it; nothing was overwritten."""

    def __init__(self, what: str, expected: int, found: int) -> None:
        self.what, self.expected, self.found = what, expected, found
        super().__init__(
            f"{what} was changed meanwhile (version {found}, you had read {expected}); "
            "read it again and repeat"
        )


class ImpossibleEvent(RametError):
    """An entry does not fit the state of the piece it is about; nothing was written."""

    def __init__(self, piece: str, event: str, why: str) -> None:
        self.piece, self.event, self.why = piece, event, why
        super().__init__(f"“{event}” cannot be entered for piece “{piece}”: {why}")
