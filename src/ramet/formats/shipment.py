"""A shipment: what is due where and when, in which boxes, over which route (TOML)."""

from datetime import date, datetime
from itertools import pairwise
from typing import Annotated, Literal, Self

from pydantic import (
    AfterValidator,
    Field,
    StringConstraints,
    ValidationInfo,
    field_validator,
    model_validator,
)

from ramet.domain.words import BagClass, Form, Rank
from ramet.formats.fields import (
    Atmospheres,
    ByName,
    Celsius,
    Days,
    FileModel,
    Grams,
    Hours,
    InUnit,
    Kilograms,
    Millimetres,
    Misfit,
    Misfits,
    Share,
    SizeMm,
)
from ramet.formats.rates import (
    LEAST_DIVISOR,
    LEAST_STEP_KG,
    MOST_DIVISOR,
    MOST_STEP_KG,
    Rate,
    SideRounding,
)
from ramet.formats.receiving import Tank

YesNo = Literal["yes", "no", "unknown"]


def _zoned(value: datetime) -> datetime:
    if value.tzinfo is None:
        raise ValueError("a date and time with an offset, such as 2027-01-20T10:00:00-07:00")
    return value


Moment = Annotated[datetime, AfterValidator(_zoned)]


Name = Annotated[str, StringConstraints(strip_whitespace=True, min_length=1, max_length=200)]
Weekday = Literal["mon", "tue", "wed", "thu", "fri", "sat", "sun"]


class Party(FileModel):
    """A sender or receiver. `lay_hands`: children or untrained people handle the tank."""

    name: Name
    place: str = ""
    zone: str = "UTC"
    lay_hands: bool = False


NamedParty = Annotated[Party, ByName()]
"""A party as a table, or by its name alone."""


class Request(FileModel):
    """One wish. At least one of strain, taxon or form says what; `value` orders fillers (higher first)."""

    id: str
    rank: Rank
    count: Annotated[int, Field(ge=1, le=200)]
    strain: str | None = None
    taxon: str | None = None
    form: Form | None = None
    bag_class: Annotated[BagClass | None, Field(alias="class")] = None
    min_length_mm: Millimetres | None = None
    max_length_mm: Millimetres | None = None
    value: Annotated[int, Field(ge=1, le=1000)] = 10
    may_cut: bool = True
    last_of_strain: bool = False

    @model_validator(mode="after")
    def _says_what(self) -> Self:
        if self.strain is None and self.taxon is None and self.form is None and self.bag_class is None:
            raise ValueError("a request with at least one of the keys strain, taxon, form, class")
        if self.min_length_mm and self.max_length_mm and self.min_length_mm > self.max_length_mm:
            found = f"{self.min_length_mm:g}"
            most = f"a length not above max_length_mm, {self.max_length_mm:g}"
            raise Misfits([Misfit(("min_length_mm",), found, most)])
        return self


class BoxWish(FileModel):
    """Boxes at hand: a catalogue type, or own sizes under an own type name."""

    type: str
    count: Annotated[int, Field(ge=0, le=40)] = 1
    inner_mm: SizeMm | None = None
    wall_mm: Millimetres | None = None
    foam: str | None = None
    max_kg: Kilograms | None = None
    tare_kg: Kilograms | None = None


class LegWish(FileModel):
    """A stretch of the route with the forecast of its surroundings."""

    name: str
    start: Moment
    end: Moment
    surroundings: Literal["indoors", "vehicle", "outdoors", "depot", "aircraft"]
    low_c: Celsius
    high_c: Celsius
    motion: Literal["still", "carried"] = "carried"
    pressure_atm: Atmospheres = 1.0

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        found = []
        if self.end <= self.start:
            after = f"a time after the leg's start, {self.start.isoformat()}"
            found.append(Misfit(("end",), self.end.isoformat(), after))
        if self.high_c < self.low_c:
            expected = f"a temperature not below low_c, {self.low_c:g} °C"
            found.append(Misfit(("high_c",), f"{self.high_c:g}", expected))
        _raise_if(found)
        return self


class Delay(FileModel):
    """How late the carrier may be: a few hours, or a whole day. Delay lengthens the leg `at_leg`."""

    at_leg: str
    hours_late_chance: Share = 0.08
    hours_late_h: Hours = 6.0
    day_late_chance: Share = 0.02

    @model_validator(mode="after")
    def _adds_up(self) -> Self:
        if self.hours_late_chance + self.day_late_chance > 1:
            total = f"{self.hours_late_chance + self.day_late_chance:g}"
            raise Misfits([Misfit(("hours_late_chance",), total, "chances that add up to at most 1")])
        return self


class Gear(FileModel):
    """What is at hand. A type that is not named is not limited; 0 means none."""

    bags: dict[str, Annotated[int, Field(ge=0)]] = Field(default_factory=dict)
    packs: dict[str, Annotated[int, Field(ge=0)]] = Field(default_factory=dict)
    oxygen: bool = False
    bench_hours_d: Annotated[float, InUnit("h", gt=0, le=24)] = 4.0


class Carrier(FileModel):
    """What the carrier takes and how it bills.

    `rates` names a rate table beside the shipment; its rows become `rate`, its terms take the place of those
    here. `zone` is the receiver's zone in it.
    """

    live_aquatics: YesNo = "unknown"
    heat_packs: YesNo = "unknown"
    max_box_kg: Kilograms = 30.0
    divisor_cm3_kg: Annotated[float, InUnit("cm3_kg", ge=LEAST_DIVISOR, le=MOST_DIVISOR)] = 5000.0
    side_rounding: SideRounding = "up_cm"
    mass_step_kg: Annotated[float, InUnit("kg", ge=LEAST_STEP_KG, le=MOST_STEP_KG)] = 0.5
    ships_on: Annotated[tuple[Weekday, ...], Field(min_length=1)] = ("mon", "tue", "wed")
    holidays: str = "US"
    closed_on: tuple[date, ...] = ()
    rates: str | None = None
    zone: str = ""
    currency: str = ""
    rate: tuple[Rate, ...] = ()


class Goods(FileModel):
    """Non-coral goods that go along, such as matured filter media."""

    name: Name
    kind: Literal["matured_media", "plain"] = "matured_media"
    system: str | None = None
    size_mm: SizeMm
    mass_g: Grams
    water_l: Annotated[float, Field(ge=0)] = 0.05
    area_m2: Annotated[float, Field(ge=0)] = 0.0
    age_weeks: Annotated[float, Field(ge=0)] = 0.0
    rank: Rank = Rank.MUST

    @model_validator(mode="after")
    def _media_have_an_age(self) -> Self:
        if self.kind == "matured_media" and self.age_weeks <= 0:
            age = Misfit(
                ("age_weeks",), f"{self.age_weeks:g}", "the weeks that matured media have matured, above 0"
            )
            raise Misfits([age])
        return self


class Rules(FileModel):
    """Rules of packing (`domain.words.PackingRule`); each is kept unless it is switched off here."""

    share_bags: bool = True
    touchy_alone: bool = True
    soft_doubled: bool = True
    sharp_doubled: bool = True
    only_small_lie: bool = True
    fragile_on_top: bool = True
    soft_never_above: bool = True
    spread_musts: bool = True
    spread_strains: bool = True
    sensitive_off_walls: bool = True
    mass_centred: bool = True
    keep_last_piece: bool = True
    thinnest_opened_first: bool = True
    voids_filled: bool = True
    propose_spares: bool = True


class Shipment(FileModel):
    """A whole shipment, as read from a TOML file."""

    name: Name
    due: Moment
    sender: NamedParty = Party(name="sender")
    receiver: NamedParty
    tank: Tank
    request: Annotated[tuple[Request, ...], Field(min_length=1)]
    box: Annotated[tuple[BoxWish, ...], Field(min_length=1)]
    leg: Annotated[tuple[LegWish, ...], Field(min_length=1)]
    delay: Delay | None = None
    gear: Gear = Gear()
    carrier: Carrier = Carrier()
    goods: tuple[Goods, ...] = ()
    rules: Rules = Rules()
    handling_min_per_bag: Annotated[float, Field(gt=0)] = 6.0
    rest_before_packing_d: Days | None = None

    @field_validator("box")
    @classmethod
    def _at_least_one_box(cls, boxes: tuple[BoxWish, ...]) -> tuple[BoxWish, ...]:
        if sum(box.count for box in boxes) == 0:
            raise Misfits([Misfit((0, "count"), "0", "at least one box in the whole shipment")])
        return boxes

    @field_validator("request")
    @classmethod
    def _ids_differ(cls, requests: tuple[Request, ...]) -> tuple[Request, ...]:
        seen: set[str] = set()
        found = []
        for index, request in enumerate(requests):
            if request.id.lower() in seen:
                found.append(Misfit((index, "id"), request.id, "an id that no other request has"))
            seen.add(request.id.lower())
        _raise_if(found)
        return requests

    @field_validator("goods")
    @classmethod
    def _goods_differ(cls, goods: tuple[Goods, ...], info: ValidationInfo) -> tuple[Goods, ...]:
        seen = {request.id.lower() for request in info.data.get("request", ())}
        found = []
        for index, one in enumerate(goods):
            if one.name.lower() in seen:
                found.append(Misfit((index, "name"), one.name, "a name that no other goods or request has"))
            seen.add(one.name.lower())
        _raise_if(found)
        return goods

    @field_validator("leg")
    @classmethod
    def _legs_join(cls, legs: tuple[LegWish, ...], info: ValidationInfo) -> tuple[LegWish, ...]:
        found = [
            Misfit(
                (index, "start"),
                after.start.isoformat(),
                f"the time at which the leg before it, “{before.name}”, ends: {before.end.isoformat()}",
            )
            for index, (before, after) in enumerate(pairwise(legs), start=1)
            if after.start != before.end
        ]
        names = [leg.name for leg in legs]
        found += [
            Misfit((index, "name"), name, "a name that no other leg has")
            for index, name in enumerate(names)
            if name in names[:index]
        ]
        due = info.data.get("due")
        if due is not None and legs[-1].end > due:
            last = legs[-1].end.isoformat()
            found.append(Misfit((len(legs) - 1, "end"), last, f"a time not after due, {due.isoformat()}"))
        _raise_if(found)
        return legs

    @field_validator("delay")
    @classmethod
    def _delay_at_a_leg(cls, delay: Delay | None, info: ValidationInfo) -> Delay | None:
        names = [leg.name for leg in info.data.get("leg", ())]
        if delay is not None and names and delay.at_leg not in names:
            expected = "the name of a leg, out of: " + ", ".join(names)
            raise Misfits([Misfit(("at_leg",), delay.at_leg, expected)])
        return delay


def _raise_if(found: list[Misfit]) -> None:
    if found:
        raise Misfits(found)
