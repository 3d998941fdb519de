"""The receiving tank as its file tells it: water, light, flow, rockwork, dosing, filter media (TOML)."""

from datetime import date
from itertools import combinations
from typing import Annotated, Any, Literal, Self

from pydantic import Field, ValidationInfo, WithJsonSchema, field_validator, model_validator

from ramet.formats.fields import (
    Celsius,
    CmPerS,
    Dkh,
    FileModel,
    Hours,
    Litres,
    MgL,
    Millimetres,
    Misfit,
    Misfits,
    Par,
    Salinity,
    Share,
    SquareCm,
)
from ramet.formats.tank_water import WATER_KEYS, net_l, salinity_of, without_doubt

Side = Literal["front", "back", "left", "right"]
FlowFrom = Literal["front", "back", "left", "right", "changing"]
SALTS = (
    "sodium_bicarbonate",
    "sodium_carbonate",
    "calcium_chloride_anhydrous",
    "calcium_chloride_dihydrate",
    "magnesium_chloride_hexahydrate",
    "magnesium_sulfate_heptahydrate",
)
MediaKind = Literal["porous_block", "ceramic_rings", "plastic_carriers", "sponge", "sand", "live_rock"]
NotNegative = Annotated[float, Field(ge=0)]
WithinMm = Annotated[float, Field(ge=0, le=5000)]
PointMm = tuple[WithinMm, WithinMm]
"""A place on the floor: mm from the front left corner, along and to the back."""
SalinityOrGravity = Annotated[
    Salinity, WithJsonSchema({"anyOf": [{"type": "number", "minimum": 0, "maximum": 45}, {"type": "string"}]})
]
"""Practical salinity, or text with a specific gravity at the tank's temperature: "1.0264 sg"."""
_MOST_VOLUME_DOUBT = 0.02


class Zone(FileModel):
    """A stretch of the receiving tank with its own light and flow; `from_mm`, `to_mm` say where it lies.

    `top_mm` is the height of its rock above the floor.
    """

    name: str
    area_cm2: SquareCm
    par_low: Par
    par_high: Par
    flow_cm_s: CmPerS | None = None
    from_mm: PointMm | None = None
    to_mm: PointMm | None = None
    top_mm: WithinMm = 0.0

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        found = []
        if self.par_high < self.par_low:
            expected = f"a light not below par_low, {self.par_low:g}"
            found.append(Misfit(("par_high",), f"{self.par_high:g}", expected))
        if (self.from_mm is None) != (self.to_mm is None):
            missing = "to_mm" if self.to_mm is None else "from_mm"
            found.append(Misfit((missing,), None, "both corners, from_mm and to_mm, or neither"))
        elif self.from_mm and self.to_mm and not _below(self.from_mm, self.to_mm):
            expected = "a corner behind and to the right of from_mm"
            found.append(Misfit(("to_mm",), str(list(self.to_mm)), expected))
        _raise_if(found)
        return self


class TankSpot(FileModel):
    """One place to glue a coral to. Light and flow default to those of the lamp map or of its zone."""

    at_mm: PointMm
    height_mm: WithinMm = 0.0
    name: str = ""
    zone: str | None = None
    par: Par | None = None
    flow_cm_s: CmPerS | None = None


class Lamp(FileModel):
    """One lamp over the tank; at `half_angle_deg` off its axis it gives half its intensity."""

    at_mm: PointMm
    above_water_mm: Millimetres
    half_angle_deg: Annotated[float, Field(ge=5, le=85)] = 60.0


class LightReading(FileModel):
    """Light measured at one place."""

    at_mm: PointMm
    height_mm: WithinMm = 0.0
    par: Annotated[float, Field(gt=0, le=2500)]


class Dosing(FileModel):
    """One stock that is dosed by its pump, and the most that is dosed per day.

    Its strength is given per litre of stock, or by the grams of each salt in a litre.
    """

    name: str
    alkalinity_meq_l: NotNegative = 0.0
    calcium_mg_l: MgL = 0.0
    magnesium_mg_l: MgL = 0.0
    grams_per_l: dict[str, Annotated[float, Field(gt=0, le=1000)]] = Field(default_factory=dict)
    most_ml_d: NotNegative
    doses_a_day: Annotated[int, Field(ge=1, le=288)] = 12

    @field_validator("grams_per_l")
    @classmethod
    def _known_salts(cls, recipe: dict[str, float]) -> dict[str, float]:
        _raise_if(
            [
                Misfit((name,), name, "the name of a salt, out of: " + ", ".join(SALTS))
                for name in recipe
                if name not in SALTS
            ]
        )
        return recipe

    @model_validator(mode="after")
    def _one_strength(self) -> Self:
        given = self.alkalinity_meq_l + self.calcium_mg_l + self.magnesium_mg_l > 0
        if given and self.grams_per_l:
            expected = "the strength or the grams of salt in a litre, not both"
            raise Misfits([Misfit(("grams_per_l",), "both given", expected)])
        return self


class Reactor(FileModel):
    """A calcium reactor as it runs: its flow, and what its outflow measures."""

    name: str = "calcium reactor"
    flow_ml_min: Annotated[float, Field(gt=0, le=5000)]
    alkalinity_dkh: Annotated[float, Field(ge=0, le=120)]
    calcium_mg_l: MgL
    magnesium_mg_l: MgL | None = None


class WaterChange(FileModel):
    """A regular change of water for freshly mixed water of this strength."""

    share: Share
    every_d: Annotated[float, Field(gt=0)]
    alkalinity_dkh: Dkh
    calcium_mg_l: MgL
    magnesium_mg_l: MgL


class Media(FileModel):
    """Filter media already in the tank: their area, or their kind with litres (live rock: kilograms)."""

    name: str
    area_m2: NotNegative | None = None
    kind: MediaKind | None = None
    amount: Annotated[float | None, Field(gt=0)] = None
    age_weeks: NotNegative

    @model_validator(mode="after")
    def _has_an_area(self) -> Self:
        if self.area_m2 is None and (self.kind is None or self.amount is None):
            expected = "an area, or else kind and amount (litres; kilograms of live rock)"
            raise Misfits([Misfit(("area_m2",), None, expected)])
        return self


class Target(FileModel):
    """Where the tank's water should be kept; what is not given stays as it is."""

    alkalinity_dkh: Dkh | None = None
    calcium_mg_l: MgL | None = None
    magnesium_mg_l: MgL | None = None


class Tank(FileModel):
    """The receiving tank. `volume_l` is net: display and sump less what rock and sand displace.

    Heights are mm above the floor. Light is PAR as measured at `lamp_share` of the lamp's full power.
    """

    display_l: Litres | None = None
    sump_l: NotNegative = 0.0
    displaced_l: NotNegative = 0.0
    length_mm: Millimetres = 1200.0
    width_mm: Millimetres = 600.0
    depth_mm: Millimetres | None = None
    volume_l: Litres = Field(default_factory=net_l, validate_default=True)
    age_weeks: NotNegative = 0.0
    stocked: bool = False
    tested_on: date | None = None
    temperature_c: Celsius = 25.0
    salinity: SalinityOrGravity = 35.0
    alkalinity_dkh: Dkh
    calcium_mg_l: MgL
    magnesium_mg_l: MgL
    nitrate_mg_l: MgL | None = None
    phosphate_mg_l: MgL | None = None
    temperature_swing_c: NotNegative | None = None
    salinity_swing: NotNegative | None = None
    target: Target = Target()
    photoperiod_h: Annotated[Hours, Field(le=24)] = 10.0
    lamp_share: Annotated[float, Field(gt=0, le=1)] = 1.0
    light_meter: str = ""
    food_g_d: NotNegative = 0.0
    food_protein_share: Share = 0.45
    evaporation_share_d: Share = 0.0
    limewater: bool = False
    flow_from: FlowFrom | None = None
    viewed_from: Annotated[tuple[Side, ...], Field(min_length=1)] = ("front",)
    zone: tuple[Zone, ...] = ()
    spot: Annotated[tuple[TankSpot, ...], Field(max_length=500)] = ()
    rock_heights_mm: tuple[tuple[WithinMm, ...], ...] = ()
    lamp: tuple[Lamp, ...] = ()
    reading: tuple[LightReading, ...] = ()
    dosing: tuple[Dosing, ...] = ()
    reactor: tuple[Reactor, ...] = ()
    water_change: WaterChange | None = None
    media: tuple[Media, ...] = ()

    @field_validator("volume_l", mode="before")
    @classmethod
    def _known(cls, given: Any) -> Any:
        if given is None:
            raise ValueError(
                "net litres above 0; or display_l, or depth_mm of the water, with sump_l and less displaced_l"
            )
        return given

    @field_validator("salinity", mode="before")
    @classmethod
    def _by_hydrometer(cls, given: Any, info: ValidationInfo) -> Any:
        return salinity_of(given, info.data.get("temperature_c"))

    @field_validator("alkalinity_dkh", mode="before")
    @classmethod
    def _in_degrees(cls, given: Any, info: ValidationInfo) -> Any:
        return without_doubt(given, info.data.get("salinity"))

    @model_validator(mode="after")
    def _agrees(self) -> Self:
        _raise_if([*self._volume(), *self._rock(), *self._places(), *self._lamps()])
        return self

    def _volume(self) -> list[Misfit]:
        net = net_l({key: getattr(self, key) for key in WATER_KEYS})
        if (
            self.display_l is None
            or net is None
            or abs(net - self.volume_l) <= _MOST_VOLUME_DOUBT * self.volume_l
        ):
            return []
        words = f"display and sump less displacement, {net:.0f} L; or leave volume_l out"
        return [Misfit(("volume_l",), f"{self.volume_l:g}", words)]

    def _rock(self) -> list[Misfit]:
        widths = {len(row) for row in self.rock_heights_mm}
        if len(widths) > 1 or 0 in widths:
            expected = "rows of equally many heights, the back row first"
            return [Misfit(("rock_heights_mm",), "rows of unequal length", expected)]
        return []

    def _places(self) -> list[Misfit]:
        """Every place lies in the tank, no two spots are one, every zone named exists."""
        found = []
        inside = f"a place in the tank, at most {self.length_mm:g} along and {self.width_mm:g} to the back"
        for key in ("spot", "reading", "lamp"):
            for index, one in enumerate(getattr(self, key)):
                if one.at_mm[0] > self.length_mm or one.at_mm[1] > self.width_mm:
                    found.append(Misfit((key, index, "at_mm"), str(list(one.at_mm)), inside))
        for (_, one), (index, other) in combinations(enumerate(self.spot), 2):
            if one.at_mm == other.at_mm:
                expected = "a place that no other spot has"
                found.append(Misfit(("spot", index, "at_mm"), str(list(other.at_mm)), expected))
        names = [zone.name for zone in self.zone]
        for index, spot in enumerate(self.spot):
            if spot.zone is not None and spot.zone not in names:
                known = ", ".join(names) or "none is given"
                found.append(Misfit(("spot", index, "zone"), spot.zone, f"the name of a zone: {known}"))
        return found

    def _lamps(self) -> list[Misfit]:
        found = []
        if self.lamp and self.depth_mm is None:
            expected = "the depth of the water, which a light map from lamps needs"
            found.append(Misfit(("depth_mm",), None, expected))
        if self.lamp and len({(one.at_mm, one.height_mm) for one in self.reading}) < 2:
            expected = (
                "at least 2 readings at different places, better 4 (high and low, under the lamp and at "
                "an edge): one reading can't tell how light falls off"
            )
            found.append(Misfit(("reading",), f"{len(self.reading)} of them", expected))
        if self.reading and not self.lamp:
            expected = "a [[tank.lamp]] beside the readings; or give each spot its own par"
            found.append(Misfit(("lamp",), None, expected))
        return found


def _below(low: PointMm, high: PointMm) -> bool:
    return low[0] < high[0] and low[1] < high[1]


def _raise_if(found: list[Misfit]) -> None:
    if found:
        raise Misfits(found)
