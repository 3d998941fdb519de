"""A transit trial: a packed box, or a bag alone, without any ledger (TOML in, `ramet-transit/1` out)."""

import math
from collections.abc import Iterator
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from ramet.domain.words import Form
from ramet.formats.fields import (
    Atmospheres,
    Celsius,
    FileModel,
    Hours,
    Litres,
    MeqL,
    Micrometres,
    Millimetres,
    Misfit,
    Misfits,
    Share,
    SizeMm,
    SquareCm,
)

Positive = Annotated[float, Field(gt=0)]
NotNegative = Annotated[float, Field(ge=0)]
Count = Annotated[int, Field(ge=1, le=50)]
AtMm = tuple[NotNegative, NotNegative, NotNegative]
_LONGEST_GAP_H = 24.0
_MM3_PER_L = 1e6


class Ambient(FileModel):
    """The air around the boxes, linear between points; hour 0 is the start, the last hour the end.

    `uncertain_c` is the half-width by which the whole record may be off; it acts in scenarios only.
    """

    hours: Annotated[tuple[Hours, ...], Field(min_length=2)]
    temperature_c: Annotated[tuple[Celsius, ...], Field(min_length=2)]
    motion: Literal["still", "carried"] = "carried"
    pressure_atm: Atmospheres = 1.0
    uncertain_c: Annotated[float, Field(ge=0, le=30)] = 0.0

    @model_validator(mode="after")
    def _is_a_record(self) -> Self:
        found = list(self._misfits())
        if found:
            raise Misfits(found)
        return self

    def _misfits(self) -> Iterator[Misfit]:
        if len(self.hours) != len(self.temperature_c):
            expected = f"as many temperatures as hours ({len(self.hours)})"
            yield Misfit(("temperature_c",), f"{len(self.temperature_c)} numbers", expected)
        if self.hours[0] != 0:
            yield Misfit(("hours", 0), f"{self.hours[0]:g}", "0: a record starts with the journey")
        for place, (before, after) in enumerate(zip(self.hours, self.hours[1:], strict=False), start=1):
            if after <= before:
                yield Misfit(("hours", place), f"{after:g}", f"hours in rising order, above {before:g}")
            elif after - before > _LONGEST_GAP_H:
                gap = f"no gap longer than {_LONGEST_GAP_H:g} h, after {before:g}"
                yield Misfit(("hours", place), f"{after:g}", gap)


class TrialAnimal(FileModel):
    """A coral in a bag: its taxon and live tissue. Any other key replaces what the tables say."""

    taxon: Annotated[str, Field(min_length=1)]
    tissue_area_cm2: SquareCm
    form: Form | None = None
    contour_area_cm2: SquareCm | None = None
    respiration_umol_cm2_h: NotNegative | None = None
    q10: Annotated[float | None, Field(ge=1, le=6)] = None
    calcification_meq_cm2_d: NotNegative | None = None
    symbiotic: bool | None = None
    cold_limit_c: Celsius | None = None
    heat_limit_c: Celsius | None = None


class TrialBag(FileModel):
    """A sealed bag. `size_mm` is its outer size when filled; left out, a cylinder 1.5 times as high."""

    id: str = ""
    water_l: Litres
    gas_l: Annotated[float, Field(ge=0)]
    oxygen_fraction: Share = 0.2095
    film_um: Micrometres = 75.0
    layers: Annotated[int, Field(ge=1, le=4)] = 1
    film_access: Share | None = None
    start_c: Celsius = 25.0
    salinity: Annotated[float, Field(ge=20, le=42)] = 35.0
    alkalinity_meq_l: MeqL = 2.4
    ph_total: Annotated[float, Field(ge=6, le=9)] = 8.05
    at_mm: AtMm | None = None
    size_mm: SizeMm | None = None
    rigid: bool = False
    blank_umol_h: NotNegative | None = None
    animal: tuple[TrialAnimal, ...] = ()

    @model_validator(mode="after")
    def _holds_its_contents(self) -> Self:
        if self.alkalinity_meq_l < 0.5:
            expected = "alkalinity of a seawater, at least 0.5 meq/L"
            raise Misfits([Misfit(("alkalinity_meq_l",), f"{self.alkalinity_meq_l:g}", expected)])
        if self.size_mm is not None:
            room = math.prod(self.size_mm) / _MM3_PER_L
            if self.water_l + self.gas_l > room * 1.001:
                expected = (
                    f"an outer size that holds {self.water_l + self.gas_l:g} L; this one holds {room:.3g} L"
                )
                raise Misfits([Misfit(("size_mm",), _size(self.size_mm), expected)])
        return self

    def outer_mm(self) -> tuple[float, float, float]:
        """Return the outer size, worked out from the contents where it is not given."""
        if self.size_mm is not None:
            return self.size_mm
        across = (4 * (self.water_l + self.gas_l) * _MM3_PER_L / (1.5 * math.pi)) ** (1 / 3)
        return across, across, 1.5 * across


class TrialMass(FileModel):
    """Plain goods, with any part of them that starts as ice."""

    kg: Positive
    cp_j_kgk: Positive = 4186.0
    start_c: Celsius = 20.0
    ice_kg: NotNegative = 0.0

    @model_validator(mode="after")
    def _ice_is_part(self) -> Self:
        if self.ice_kg > self.kg:
            expected = f"at most the whole mass, {self.kg:g} kg"
            raise Misfits([Misfit(("ice_kg",), f"{self.ice_kg:g}", expected)])
        return self


class TrialPack(FileModel):
    """Heat or cold packs of one kind of the catalogue. Unvented heat packs live on the air in the box."""

    kind: str
    count: Count = 1
    at_mm: AtMm | None = None
    starts_h: Hours = 0.0
    start_c: Celsius = -18.0
    vented: bool = True


class TrialBox(FileModel):
    """An insulated box and all that is in it."""

    id: str = ""
    inner_mm: SizeMm
    wall_mm: Millimetres
    wall_k_w_mk: Positive
    wall_k_slope_per_c: NotNegative = 0.0
    h_in_w_m2k: Positive | None = None
    h_out_w_m2k: Positive | None = None
    carton_m2k_w: NotNegative | None = None
    lid_leak_w_k: NotNegative | None = None
    packs: tuple[TrialPack, ...] = ()
    bag: tuple[TrialBag, ...] = ()
    mass: tuple[TrialMass, ...] = ()

    @model_validator(mode="after")
    def _fits(self) -> Self:
        found = list(self._misfits())
        if found:
            raise Misfits(found)
        return self

    def _misfits(self) -> Iterator[Misfit]:
        inner = sorted(self.inner_mm)
        room = math.prod(self.inner_mm) / _MM3_PER_L
        for place, bag in enumerate(self.bag):
            outer = bag.outer_mm()
            if bag.size_mm is None:
                too_big = bag.water_l + bag.gas_l > room
            else:
                too_big = any(a > b + 1e-9 for a, b in zip(sorted(outer), inner, strict=True))
            if too_big:
                yield Misfit(
                    ("bag", place), _size(outer), f"a bag that fits the box, {_size(self.inner_mm)} inside"
                )
            elif bag.at_mm is not None and any(
                low + side > most + 1e-9
                for low, side, most in zip(bag.at_mm, outer, self.inner_mm, strict=True)
            ):
                yield Misfit(
                    ("bag", place, "at_mm"), _size(bag.at_mm), "a place at which the bag is inside the box"
                )
        full = sum(bag.water_l + bag.gas_l for bag in self.bag) + sum(mass.kg for mass in self.mass)
        if full > room:
            yield Misfit(
                ("inner_mm",), _size(self.inner_mm), f"a box that holds its contents, about {full:.3g} L"
            )


class TransitTrial(FileModel):
    """A whole trial. A `[[bag]]` outside any box stands in the open air."""

    name: str = ""
    ambient: Ambient
    box: tuple[TrialBox, ...] = ()
    bag: tuple[TrialBag, ...] = ()

    @model_validator(mode="after")
    def _has_something(self) -> Self:
        if not self.box and not self.bag:
            raise ValueError("at least one [[box]] or [[bag]]")
        ids = [one.id for box in self.box for one in box.bag if one.id] + [b.id for b in self.bag if b.id]
        if len(ids) != len(set(ids)):
            raise ValueError("bag ids that differ")
        return self


class ReachedLimit(FileModel):
    """A limit of a bag; `at_h` is when it is broken, hours from the start, or nothing."""

    code: str
    quantity: str
    level: float
    hours: float
    ends_hold: bool
    at_h: float | None


class Opened(FileModel):
    """What the water is like once it is opened and aired."""

    ph_total: float
    unionised_ammonia_umol_l: tuple[float, ...]


class TransitBag(FileModel):
    """What happens in one bag; `hold_h` equals the last hour when nothing ends the hold before."""

    id: str
    box: str | None
    temperature_c: tuple[float, ...]
    oxygen_mg_l: tuple[float, ...]
    ph_total: tuple[float, ...]
    alkalinity_meq_l: tuple[float, ...]
    ammonium_umol_l: tuple[float, ...]
    unionised_ammonia_umol_l: tuple[float, ...]
    limits: tuple[ReachedLimit, ...]
    hold_h: float
    holds_to_end: bool
    first_limit: str | None
    opened: Opened
    defaults_used: tuple[str, ...]
    cautions: tuple[str, ...]


class TransitBox(FileModel):
    """Air temperature in one box."""

    id: str
    air_c: tuple[float, ...]


class BagPercentile(FileModel):
    """One percentile of everything in a bag, hour by hour."""

    id: str
    temperature_c: tuple[float, ...]
    oxygen_mg_l: tuple[float, ...]
    ph_total: tuple[float, ...]
    alkalinity_meq_l: tuple[float, ...]
    ammonium_umol_l: tuple[float, ...]
    unionised_ammonia_umol_l: tuple[float, ...]
    hold_h: float
    opened: Opened


class Percentile(FileModel):
    """One percentile over all scenarios."""

    bags: tuple[BagPercentile, ...]
    boxes: tuple[TransitBox, ...]


class TransitPercentiles(FileModel):
    """5th, 50th and 95th percentile over `scenarios` draws; for each bag what its hold hangs on most."""

    scenarios: int
    seed: int
    hangs_on: tuple[str, ...]
    p05: Percentile
    p50: Percentile
    p95: Percentile


class TransitResult(FileModel):
    """The answer, `ramet-transit/1`. Plain arrays are the run with every parameter at its typical value."""

    format: Literal["ramet-transit/1"] = "ramet-transit/1"
    name: str
    hours: tuple[float, ...]
    bags: tuple[TransitBag, ...]
    boxes: tuple[TransitBox, ...]
    reference_sha256: str
    overrides: tuple[str, ...]
    percentiles: TransitPercentiles | None = None


def _size(size_mm: tuple[float, float, float]) -> str:
    return " x ".join(f"{side:.0f}" for side in size_mm) + " mm"
