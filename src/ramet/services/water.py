"""What one seawater is like: density, heat, oxygen, carbonate system, share of poisonous ammonia."""

from collections.abc import Iterator
from dataclasses import dataclass

from ramet.domain.errors import OutOfRange
from ramet.science import ammonia, carbonate, ph_scales, seawater

PH_RANGE = (6.0, 9.0)
ALKALINITY_RANGE_MEQ_L = (0.2, 6.0)
Range = tuple[float, float]


@dataclass(frozen=True, slots=True)
class WaterValue:
    """One property, with where it comes from and for which water the relation holds."""

    key: str
    words: str
    value: float
    unit: str
    source: str
    temperature_range_c: Range
    salinity_range: Range


@dataclass(frozen=True, slots=True)
class WaterReport:
    """The water as given, and what follows from it. pH is on the total scale."""

    temperature_c: float
    salinity: float
    ph_total: float | None
    alkalinity_meq_l: float | None
    values: tuple[WaterValue, ...]

    def value(self, key: str) -> float:
        """Return one property by its key; raises KeyError when the report has none of that name."""
        for one in self.values:
            if one.key == key:
                return one.value
        raise KeyError(key)


@dataclass(frozen=True, slots=True)
class _Relation:
    """Where a group of values comes from and for which water it holds."""

    source: str
    temperature_range_c: Range
    salinity_range: Range

    def value(self, key: str, words: str, value: object, unit: str) -> WaterValue:
        return WaterValue(
            key,
            words,
            float(value),  # type: ignore[arg-type]  # a numpy scalar or array of one
            unit,
            self.source,
            self.temperature_range_c,
            self.salinity_range,
        )


_TEOS = _Relation("TEOS-10 (IOC 2010), gsw", seawater.TEMPERATURE_RANGE_C, seawater.SALINITY_RANGE)
_OXYGEN = _Relation(
    "Garcia & Gordon 1992 (Benson & Krause), gsw", seawater.TEMPERATURE_RANGE_C, seawater.SALINITY_RANGE
)
_CARBONATE = _Relation(
    "Lueker 2000, Dickson 1990, Uppström 1974, Millero 1995",
    carbonate.CARBONATE_TEMPERATURE_RANGE_C,
    carbonate.CARBONATE_SALINITY_RANGE,
)
_GAS = _Relation("those of inorganic carbon, with Weiss 1974", (2.0, 35.0), (19.0, 40.0))
_ARAGONITE = _Relation(
    "those of inorganic carbon, with Mucci 1983, Riley & Tongudai 1967", (5.0, 35.0), (19.0, 43.0)
)
_AMMONIA = _Relation(
    "Clegg & Whitfield 1995", ammonia.AMMONIA_TEMPERATURE_RANGE_C, ammonia.AMMONIA_SALINITY_RANGE
)


def describe_water(
    temperature_c: float,
    salinity: float,
    ph_total: float | None = None,
    alkalinity_meq_l: float | None = None,
) -> WaterReport:
    """Return the properties of a seawater; those that need pH or alkalinity only when these are given.

    Raises OutOfRange when a relation that is needed does not hold for this water.
    """
    _check("pH", ph_total, PH_RANGE, "on the total scale")
    bare = "alkalinity (a bare number is meq/L; for degrees write “8 dKH”)"
    _check(bare, alkalinity_meq_l, ALKALINITY_RANGE_MEQ_L, "meq/L")
    for relation in _needed(ph_total, alkalinity_meq_l):
        _check(f"temperature, for {relation.source},", temperature_c, relation.temperature_range_c, "°C")
        _check(f"salinity, for {relation.source},", salinity, relation.salinity_range, "g/kg")
    values = [*_physical(temperature_c, salinity)]
    if ph_total is not None:
        if alkalinity_meq_l is not None:
            values += _carbonates(temperature_c, salinity, ph_total, alkalinity_meq_l)
        share = ammonia.unionised_share(ph_total, temperature_c, salinity)
        values.append(
            _AMMONIA.value("unionised_ammonia_share", "share of ammonia that is un-ionised", share, "1")
        )
    return WaterReport(temperature_c, salinity, ph_total, alkalinity_meq_l, tuple(values))


def salinity_of(number: float, is_gravity: bool, temperature_c: float) -> float:
    """Return a salinity as it is, or the one behind a specific gravity read at this temperature."""
    if is_gravity:
        return seawater.salinity_from_specific_gravity(number, temperature_c)
    return number


def total_ph(ph_nbs: float, temperature_c: float, salinity: float) -> float:
    """Return the pH on the total scale of a water in which an NBS probe shows `ph_nbs`."""
    _check("pH", ph_nbs, PH_RANGE, "on the NBS scale")
    words = "for the change of pH scale (Takahashi 1982),"
    _check(f"temperature, {words}", temperature_c, ph_scales.NBS_TEMPERATURE_RANGE_C, "°C")
    _check(f"salinity, {words}", salinity, ph_scales.NBS_SALINITY_RANGE, "g/kg")
    return float(ph_scales.total_from_nbs(ph_nbs, temperature_c, salinity))


def _needed(ph_total: float | None, alkalinity_meq_l: float | None) -> tuple[_Relation, ...]:
    if ph_total is None:
        return (_TEOS, _OXYGEN)
    if alkalinity_meq_l is None:
        return (_TEOS, _OXYGEN, _AMMONIA)
    return (_TEOS, _OXYGEN, _AMMONIA, _CARBONATE, _GAS, _ARAGONITE)


def _check(quantity: str, value: float | None, allowed: Range, unit: str) -> None:
    if value is not None and not allowed[0] <= value <= allowed[1]:
        raise OutOfRange(quantity, value, allowed[0], allowed[1], unit)


def _physical(temperature_c: float, salinity: float) -> Iterator[WaterValue]:
    density = seawater.density_kg_m3(temperature_c, salinity)
    yield _TEOS.value("density_kg_m3", "density", density, "kg/m³")
    gravity = seawater.specific_gravity(temperature_c, salinity)
    yield _TEOS.value("specific_gravity", "specific gravity (t/t)", gravity, "1")
    heat = seawater.heat_capacity_j_kgk(temperature_c, salinity)
    yield _TEOS.value("heat_capacity_j_kgk", "heat capacity", heat, "J/(kg K)")
    per_litre = seawater.oxygen_saturation_mg_l(temperature_c, salinity)
    yield _OXYGEN.value("oxygen_saturation_mg_l", "oxygen at saturation", per_litre, "mg/L")
    per_kg = seawater.oxygen_saturation_umol_kg(temperature_c, salinity)
    yield _OXYGEN.value("oxygen_saturation_umol_kg", "oxygen at saturation", per_kg, "µmol/kg")


def _carbonates(
    temperature_c: float, salinity: float, ph_total: float, alkalinity_meq_l: float
) -> Iterator[WaterValue]:
    kg_l = float(seawater.litre_to_kg(temperature_c, salinity))
    dic = carbonate.dic_from_ph(ph_total, alkalinity_meq_l * 1000 / kg_l, temperature_c, salinity)
    split = carbonate.species(ph_total, dic, temperature_c, salinity)
    yield _CARBONATE.value("dic_umol_kg", "inorganic carbon", dic, "µmol/kg")
    yield _CARBONATE.value("co2_umol_kg", "dissolved CO2", split.co2, "µmol/kg")
    yield _CARBONATE.value("bicarbonate_umol_kg", "bicarbonate", split.bicarbonate, "µmol/kg")
    yield _CARBONATE.value("carbonate_umol_kg", "carbonate", split.carbonate, "µmol/kg")
    gas = carbonate.pco2_uatm(split.co2, temperature_c, salinity)
    yield _GAS.value("pco2_uatm", "partial pressure of CO2", gas, "µatm")
    calcium = carbonate.calcium_riley_tongudai_1967_umol_kg(salinity)
    saturation = carbonate.aragonite_saturation(split.carbonate, calcium, temperature_c, salinity)
    yield _ARAGONITE.value(
        "aragonite_saturation", "aragonite saturation (below 1 skeleton dissolves)", saturation, "1"
    )
