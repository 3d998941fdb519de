"""A strain as a family: its pieces, what each was cut from, and where it came from."""

from dataclasses import dataclass
from datetime import date

from ramet.domain.events import Standing


@dataclass(frozen=True, slots=True)
class Relative:
    """A piece in its family. `depth` counts generations from 0; `fused_into` names what it grew into."""

    piece: str
    parent: str | None
    depth: int
    standing: Standing
    size: str
    place: str
    born_on: date | None
    fused_into: str | None = None


@dataclass(frozen=True, slots=True)
class Origin:
    """The papers that a strain's pieces inherit, and the pieces that carry them first."""

    source: str | None
    permit: str | None
    pieces: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Family:
    """All pieces of a strain, each after its parent and before its parent's next child."""

    strain: str
    taxon: str
    members: tuple[Relative, ...]
    origins: tuple[Origin, ...]
