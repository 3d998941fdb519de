"""What is wrong with a user's data, and where. Collected and returned together, never raised singly."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Place:
    """A spot in a user's file. `line` counts from 1; `column` is a header or a key, as the user wrote it."""

    file: str
    line: int | None = None
    column: str | None = None

    def __str__(self) -> str:
        line = "" if self.line is None else f":{self.line}"
        column = "" if self.column is None else f" [{self.column}]"
        return f"{self.file}{line}{column}"


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing to mend: where it is, what stands there, and what is expected instead."""

    place: Place
    value: str | None
    expected: str

    def __str__(self) -> str:
        found = "nothing there" if self.value is None else f"found “{self.value}”"
        return f"{self.place}: {found}; expected {self.expected}"
