"""A shipment: what is due where and when, in which boxes, over which route (TOML)."""

from datetime import date, datetime
from typing import Annotated, Literal, Self

from pydantic import AfterValidator, Field, model_validator

from ramet.domain.words import BagClass, Form, Rank
from ramet.formats.fields import (
    Atmospheres,
    Celsius,
    CmPerS,
    Days,
    Dkh,
    FileModel,
    Grams,
    Hours,
    Kilograms,
    Litres,
    MgL,
    Micrometres,
    Millimetres,
    Par,
    Salinity,
    Share,
    SizeMm,
    SquareCm,
)

YesNo = Literal["yes", "no", "unknown"]


def _zoned(value: datetime) -> datetime:
    if value.tzinfo is None:
        raise ValueError("a date and time with an offset, such as 2027-01-20T10:00:00-07:00")
    return value


Moment = Annotated[datetime, AfterValidator(_zoned)]


class Party(FileModel):
    """A sender or receiver. `lay_hands`: children or untrained people handle the tank."""

    name: str
    place: str = ""
    zone: str = "UTC"
    lay_hands: bool = False


class Zone(FileModel):
    """A stretch of the receiving tank with its own light and flow."""

    name: str
    area_cm2: SquareCm
    par_low: Par
    par_high: Par
    flow_cm_s: CmPerS | None = None


class Dosing(FileModel):
    """One stock that is dosed: strength per litre of stock, and the most that is dosed per day."""

    name: str
    alkalinity_meq_l: Annotated[float, Field(ge=0)] = 0.0
    calcium_mg_l: MgL = 0.0
    magnesium_mg_l: MgL = 0.0
    most_ml_d: Annotated[float, Field(ge=0)]


class WaterChange(FileModel):
    """A regular change of water for freshly mixed water of this strength."""

    share: Share
    every_d: Annotated[float, Field(gt=0)]
    alkalinity_dkh: Dkh
    calcium_mg_l: MgL
    magnesium_mg_l: MgL


class Media(FileModel):
    """Filter media already in the receiving tank."""

    name: str
    area_m2: Annotated[float, Field(ge=0)]
    age_weeks: Annotated[float, Field(ge=0)]


class Tank(FileModel):
    """The receiving tank. Litres are net: tank and sump less rock."""

    volume_l: Litres
    length_mm: Millimetres = 1200.0
    width_mm: Millimetres = 600.0
    age_weeks: Annotated[float, Field(ge=0)] = 0.0
    temperature_c: Celsius = 25.0
    salinity: Salinity = 35.0
    alkalinity_dkh: Dkh
    calcium_mg_l: MgL
    magnesium_mg_l: MgL
    nitrate_mg_l: MgL | None = None
    phosphate_mg_l: MgL | None = None
    photoperiod_h: Hours = 10.0
    food_g_d: Annotated[float, Field(ge=0)] = 0.0
    food_protein_share: Share = 0.45
    evaporation_share_d: Share = 0.0
    limewater: bool = False
    zone: tuple[Zone, ...] = ()
    dosing: tuple[Dosing, ...] = ()
    water_change: WaterChange | None = None
    media: tuple[Media, ...] = ()


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
            raise ValueError("one of strain, taxon, form or class")
        if self.min_length_mm and self.max_length_mm and self.min_length_mm > self.max_length_mm:
            raise ValueError("min_length_mm not above max_length_mm")
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
        if self.end <= self.start:
            raise ValueError("an end after its start")
        if self.high_c < self.low_c:
            raise ValueError("high_c not below low_c")
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
            raise ValueError("chances that add up to at most 1")
        return self


class Gear(FileModel):
    """What is at hand. A type that is not named is not limited; 0 means none."""

    bags: dict[str, Annotated[int, Field(ge=0)]] = Field(default_factory=dict)
    packs: dict[str, Annotated[int, Field(ge=0)]] = Field(default_factory=dict)
    oxygen: bool = False
    film_um: Micrometres | None = None
    bench_hours_d: Hours = 4.0


class Carrier(FileModel):
    """What the carrier takes and how it bills."""

    live_aquatics: YesNo = "unknown"
    heat_packs: YesNo = "unknown"
    max_box_kg: Kilograms = 30.0
    divisor_cm3_kg: Annotated[float, Field(gt=0)] = 5000.0
    side_rounding: Literal["none", "nearest_cm", "up_cm"] = "up_cm"
    mass_step_kg: Kilograms = 0.5
    ships_on: tuple[Literal["mon", "tue", "wed", "thu", "fri", "sat", "sun"], ...] = ("mon", "tue", "wed")
    holidays: str = "US"
    closed_on: tuple[date, ...] = ()


class Goods(FileModel):
    """Non-coral goods that go along, such as matured filter media."""

    name: str
    kind: Literal["matured_media", "plain"] = "matured_media"
    system: str | None = None
    size_mm: SizeMm
    mass_g: Grams
    water_l: Annotated[float, Field(ge=0)] = 0.05
    area_m2: Annotated[float, Field(ge=0)] = 0.0
    age_weeks: Annotated[float, Field(ge=0)] = 0.0
    rank: Rank = Rank.MUST


class Shipment(FileModel):
    """A whole shipment, as read from a TOML file."""

    name: str
    due: Moment
    sender: Party | str = "sender"
    receiver: Party | str
    tank: Tank
    request: Annotated[tuple[Request, ...], Field(min_length=1)]
    box: Annotated[tuple[BoxWish, ...], Field(min_length=1)]
    leg: Annotated[tuple[LegWish, ...], Field(min_length=1)]
    delay: Delay | None = None
    gear: Gear = Gear()
    carrier: Carrier = Carrier()
    goods: tuple[Goods, ...] = ()
    handling_min_per_bag: Annotated[float, Field(gt=0)] = 6.0
    rest_before_packing_d: Days | None = None

    @model_validator(mode="after")
    def _hangs_together(self) -> Self:
        if sum(box.count for box in self.box) == 0:
            raise ValueError("at least one box")
        for before, after in zip(self.leg, self.leg[1:], strict=False):
            if after.start != before.end:
                raise ValueError(f"leg “{after.name}” to start when “{before.name}” ends")
        if self.leg[-1].end > self.due:
            raise ValueError("the last leg to end by the due time")
        if self.delay is not None and self.delay.at_leg not in {leg.name for leg in self.leg}:
            raise ValueError("delay.at_leg to name one of the legs")
        ids = [request.id for request in self.request]
        if len({one.lower() for one in ids}) != len(ids):
            raise ValueError("request ids that differ")
        return self

    @property
    def sending(self) -> Party:
        """The sender as a party."""
        return self.sender if isinstance(self.sender, Party) else Party(name=self.sender)

    @property
    def receiving(self) -> Party:
        """The receiver as a party."""
        return self.receiver if isinstance(self.receiver, Party) else Party(name=self.receiver)
