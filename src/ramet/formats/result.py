"""The receiver's result file, `ramet-result/1`: what was seen of every bag and piece, by day."""

from enum import StrEnum
from typing import Annotated, Literal

from pydantic import AwareDatetime, Base64Bytes, Field

from ramet.formats.fields import Celsius, FileModel

DAYS = (0, 1, 3, 7, 14, 30, 60, 90)
"""The days after opening on which pieces are looked at."""
Day = Literal[0, 1, 3, 7, 14, 30, 60, 90]
Note = Annotated[str, Field(max_length=2000)]
Name = Annotated[str, Field(min_length=1, max_length=80)]


class Condition(StrEnum):
    """How a piece looks. `weak`: alive but closed, pale, torn or losing tissue; `missing`: not in the bag."""

    WELL = "well"
    WEAK = "weak"
    DEAD = "dead"
    MISSING = "missing"


class Photo(FileModel):
    """A photo taken on the receiver's device, already made small there."""

    type: Literal["image/jpeg"]
    data: Base64Bytes


class BagOpened(FileModel):
    """A bag that was cut open, and the temperature of its water just before."""

    bag: Name
    opened_at: AwareDatetime
    water_c: Celsius | None = None
    note: Note = ""
    photo: Photo | None = None


class Seen(FileModel):
    """What was seen of one piece on one of the days. `placed`: it stands at its place in the tank."""

    piece: Name
    day: Day
    seen_at: AwareDatetime
    condition: Condition
    placed: bool = False
    note: Note = ""
    photo: Photo | None = None


class ResultFile(FileModel):
    """All that one device has noted so far; a later file of the same device holds this one's entries too."""

    format: Literal["ramet-result/1"]
    shipment: Annotated[str, Field(min_length=1)]
    due: AwareDatetime
    plan_sha256: Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]
    made_at: AwareDatetime
    device: Annotated[str, Field(min_length=8, max_length=64)]
    bags: tuple[BagOpened, ...]
    seen: tuple[Seen, ...]
