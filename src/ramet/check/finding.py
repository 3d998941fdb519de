"""What a check says: a place in the plan, and what is wrong there."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import NamedTuple

from ramet.formats.plan import Plan
from ramet.reference.tables import Reference


class Fault(NamedTuple):
    """One broken spot, as a rule reports it."""

    where: str
    text: str


@dataclass(frozen=True, slots=True)
class Finding:
    """One broken spot together with the rule that it breaks. `rule` is the name of the rule's function."""

    rule: str
    text: str
    where: str

    def __str__(self) -> str:
        return f"{self.where}: {self.text} [{self.rule}]"


Rule = Callable[[Plan, Reference], Iterator[Fault]]
"""A rule is one function: its name is the rule's name, the first line of its docstring the rule in words."""
