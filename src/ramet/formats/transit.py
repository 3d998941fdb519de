"""A transit trial: a packed box, or a bag alone, described in a TOML file without any ledger."""

import math
from collections.abc import Iterator
from typing import Annotated, Self

from pydantic import Field, model_validator

from ramet.domain.words import Form
from ramet.formats.ambient import Ambient
from ramet.formats.fields import (
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
_MM3_PER_L = 1e6


class TrialAnimal(FileModel):
    """A coral in a bag: its taxon and live tissue. Any other key replaces what the tables say.

    It stands on a plug, whose film breathes too; `rock_cm2` is the ground of live rock in the plug's place.
    """

    taxon: Annotated[str, Field(min_length=1)]
    tissue_area_cm2: SquareCm
    form: Form | None = None
    contour_area_cm2: SquareCm | None = None
    respiration_umol_cm2_h: NotNegative | None = None
    q10: Annotated[float | None, Field(ge=1, le=6)] = None
    calcification_meq_cm2_d: NotNegative | None = None
    symbiotic: bool | None = None
    rock_cm2: SquareCm | None = None
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


def _size(size_mm: tuple[float, float, float]) -> str:
    return " x ".join(f"{side:.0f}" for side in size_mm) + " mm"
