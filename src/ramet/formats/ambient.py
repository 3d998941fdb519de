"""The air around a trial's boxes: a record, a file of one, a place in a month, or a point on the map."""

from collections.abc import Iterator
from datetime import time
from itertools import pairwise
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from ramet.formats.fields import Atmospheres, Celsius, FileModel, Hours, InUnit, Misfit, Misfits
from ramet.formats.record_gaps import gaps
from ramet.formats.shipment import Moment

LONGEST_GAP_H = 24.0
"""In a record of many points: a straight line over more than a day says nothing about the night."""
_STEPS_OF_A_RECORD = 3
"""With fewer other steps, points are a description (constant, a ramp) and not a record with a gap."""
_SOURCES = "hours and temperature_c, file, place, normals_c, or latitude and longitude"
JourneyHours = Annotated[float, InUnit("h", gt=0, le=240)]
TwelveMonths = Annotated[tuple[Celsius, ...], Field(min_length=12, max_length=12)]


class Ambient(FileModel):
    """The air around the boxes. Hour 0 of the journey is the departure; its last hour is the end.

    Exactly one source: `hours` with `temperature_c` (linear between points), `file` (a table of times and
    temperatures, or an hourly forecast), `place` or `normals_c` with `month`, or `latitude` with `longitude`
    (asked over the network, only when that is allowed). `uncertain_c` is the half-width by which the whole
    record may be off; it acts in scenarios only.
    """

    hours: tuple[Hours, ...] = ()
    temperature_c: tuple[Celsius, ...] = ()
    file: Annotated[str | None, Field(min_length=1)] = None
    place: Annotated[str | None, Field(min_length=1)] = None
    country: Annotated[str | None, Field(min_length=2, max_length=2)] = None
    normals_c: TwelveMonths | None = None
    month: Annotated[int | None, Field(ge=1, le=12)] = None
    latitude: Annotated[float | None, Field(ge=-90, le=90)] = None
    longitude: Annotated[float | None, Field(ge=-180, le=180)] = None
    starts: Moment | None = None
    leaves_at: time | None = None
    lasts_h: JourneyHours | None = None
    motion: Literal["still", "carried"] = "carried"
    pressure_atm: Atmospheres = 1.0
    uncertain_c: Annotated[float | None, Field(ge=0, le=30)] = None

    @model_validator(mode="after")
    def _is_one_source(self) -> Self:
        found = list(self._misfits())
        if found:
            raise Misfits(found)
        return self

    @property
    def source(self) -> Literal["record", "file", "normals", "point"]:
        """Return the kind of source."""
        if self.file is not None:
            return "file"
        if self.place is not None or self.normals_c is not None:
            return "normals"
        return "point" if self.latitude is not None else "record"

    def _misfits(self) -> Iterator[Misfit]:
        named = [name for name in ("file", "place", "normals_c") if getattr(self, name) is not None]
        if self.hours or self.temperature_c:
            named.insert(0, "hours" if self.hours else "temperature_c")
        if self.latitude is not None or self.longitude is not None:
            named.append("latitude" if self.latitude is not None else "longitude")
        if not named:
            yield Misfit((), None, f"one source of the air: {_SOURCES}")
            return
        if len(named) > 1:
            yield Misfit((named[1],), None, f"one source only, not {named[0]} too")
            return
        if self.source == "record":
            yield from self._record_misfits()
        else:
            yield from self._journey_misfits()

    def _journey_misfits(self) -> Iterator[Misfit]:
        if self.source == "point":
            for name in ("latitude", "longitude", "starts"):
                if getattr(self, name) is None:
                    yield Misfit((name,), None, f"{name}, since a point on the map is asked for")
        if self.source == "normals" and self.month is None:
            yield Misfit(("month",), None, "month, 1 to 12, since normals are by month")
        if self.source != "file" and self.lasts_h is None:
            yield Misfit(("lasts_h",), None, "lasts_h, how long the journey takes")

    def _record_misfits(self) -> Iterator[Misfit]:
        if self.lasts_h is not None:
            yield Misfit(("lasts_h",), f"{self.lasts_h:g}", "no lasts_h: a record ends with its last hour")
        if len(self.hours) < 2:
            yield Misfit(("hours",), f"a list of {len(self.hours)}", "a list of at least 2 hours")
            return
        if len(self.hours) != len(self.temperature_c):
            expected = f"as many temperatures as hours ({len(self.hours)})"
            yield Misfit(("temperature_c",), f"{len(self.temperature_c)} numbers", expected)
        if self.hours[0] != 0:
            yield Misfit(("hours", 0), f"{self.hours[0]:g}", "0: a record starts with the journey")
        for place, (before, after) in enumerate(pairwise(self.hours), start=1):
            if after <= before:
                yield Misfit(("hours", place), f"{after:g}", f"hours in rising order, above {before:g}")
        for place in gaps(self.hours, LONGEST_GAP_H, _STEPS_OF_A_RECORD):
            if self.temperature_c[place - 1 : place] != self.temperature_c[place : place + 1]:
                gap = f"no gap longer than {LONGEST_GAP_H:g} h, after {self.hours[place - 1]:g}"
                yield Misfit(("hours", place), f"{self.hours[place]:g}", gap)
