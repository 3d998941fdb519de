"""Bags and draws gathered into arrays: one row per bag, one column per scenario.

Amounts are µmol, concentrations µmol per kg of seawater, pressures atm, times hours.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ramet.science import carbonate
from ramet.science.gas_exchange import GAS_CONSTANT_J_MOLK, film_conductance_umol_h_atm
from ramet.science.packed import Animal, PackedBag
from ramet.science.scenarios import Scenarios, TransitParameters, drawn, spread
from ramet.science.water_table import ROWS, WaterTable, water_table

Array = NDArray[np.float64]
Rows = NDArray[np.int64]

OXYGEN_IN_AIR = 0.20946
CO2_IN_AIR = 420e-6
ATM_PA = 101325.0
SMALLEST_GAS_L = 1e-5
"""A bag without gas gets this much, so that one set of equations serves; it holds 0.1 µmol of oxygen."""
SMALLEST_GAS_UMOL = 1e-3
K1, K12, KB, KW, CALCIUM_PER_KSP, KG_PER_L, NH3, ROOT_BLANK = range(len(ROWS) - 4)
OXYGEN_SOLUBILITY, CO2_SOLUBILITY, VAPOUR, FILM = range(len(ROWS) - 4, len(ROWS))
"""Places of the constants in a water table."""


@dataclass(frozen=True, slots=True)
class Batch:
    """What stays the same about bags over scenarios; all arrays have the shape (bags, scenarios).

    Every array is written out in full: adding two of one shape is twice as fast as spreading a column.
    Uses of oxygen come with the ceiling of `oxygen_factor`, 1 + `half_share`.
    """

    tables: tuple[tuple[Rows, WaterTable], ...]
    water_kg: Array
    boron: Array
    steady_umol_h: Array
    declining_umol_h: Array
    blank_umol_h: Array
    mucus_umol_h: Array
    log_q10_per_c: Array
    half_share: Array
    kl_still_kg_h: Array
    kl_more_kg_h: Array
    film_umol_h_atm: Array
    quotient: Array
    calcify_ueq_h: Array
    dissolve_ueq_h: Array
    leaked_per_use: Array
    held_per_use: Array
    uptake_umol_h: Array
    rigid: NDArray[np.bool_] | None
    rigid_atm_per_umol_k: Array
    start: "State"
    sealed_before_h: Array
    parameters: TransitParameters

    @property
    def shape(self) -> tuple[int, int]:
        """Bags and scenarios."""
        rows, columns = self.water_kg.shape
        return rows, columns

    def columns(self, origin: Rows) -> "Batch":
        """Return a batch whose column i is column `origin[i]` of this one."""
        taken: dict[str, Any] = {}
        for field in fields(self):
            values = getattr(self, field.name)
            if isinstance(values, np.ndarray) and values.shape == self.shape:
                taken[field.name] = np.ascontiguousarray(values[:, origin])
        return replace(self, **taken)


@dataclass(slots=True)
class State:
    """Pools of every bag at one moment; `failing` is the share of tissue that lets its nitrogen go."""

    oxygen: Array
    oxygen_gas: Array
    carbon: Array
    carbon_gas: Array
    alkalinity: Array
    ammonium: Array
    nitrogen_gas: Array
    h_umol_kg: Array
    failing: Array


@dataclass(slots=True)
class Flows:
    """What went through each process since sealing [µmol]; kept only when asked for."""

    respired: Array
    oxygen_out: Array
    carbon_out: Array
    skeleton_ueq: Array
    ammonia_released: Array


def batch(bags: Sequence[PackedBag], parameters: TransitParameters, scenarios: Scenarios) -> Batch:
    """Gather bags and draws into arrays. Bags must come with `water_l` above 0."""
    shape = (len(bags), scenarios.count)

    def full(values: Array) -> Array:
        return np.array(np.broadcast_to(values, shape))

    def common(name: str) -> Array:
        return drawn(parameters, scenarios, name)[None, :]

    kl_ratio = parameters.kl_still_cm_h.typical / parameters.kl_carried_cm_h.typical
    carried = common("kl_carried_cm_h")
    surface = _column([bag.surface_cm2 * 1e-3 * _kg_per_l(bag, parameters) for bag in bags])
    tissue = _animal_sum(bags, scenarios, lambda a: 1.0)
    contour = _column([sum(map(_skeleton_cm2, bag.animals)) for bag in bags])
    symbiotic = _animal_sum(bags, scenarios, lambda a: float(a.symbiotic))
    half, floor = common("half_saturation_share"), common("dark_floor_share")
    using = _respiration(bags, parameters, scenarios) * (1.0 + half)
    leak, per_oxygen = (
        _leak(bags, parameters, scenarios),
        parameters.oxygen_to_nitrogen.typical * (1.0 + half),
    )
    rigid = _column([bag.rigid for bag in bags]) > 0
    gas_l = _column([max(bag.gas_l, SMALLEST_GAS_L) for bag in bags])
    mucus = common("mucus_umol_cm2") * parameters.mucus_decay_per_h.typical
    return Batch(
        tables=_tables(bags, parameters),
        water_kg=full(_column([bag.water_l * _kg_per_l(bag, parameters) for bag in bags])),
        boron=full(_column([_table(bag, parameters).boron_umol_kg for bag in bags])),
        steady_umol_h=full(using * floor),
        declining_umol_h=full(using * (1.0 - floor)),
        blank_umol_h=full(_blank(bags, parameters, scenarios) * (1.0 + half)),
        mucus_umol_h=full(mucus * tissue * (1.0 + half)),
        log_q10_per_c=full(np.log(_q10(bags, parameters, scenarios)) / 10.0),
        half_share=full(half),
        kl_still_kg_h=full(surface * (carried * kl_ratio)),
        kl_more_kg_h=full(surface * (carried * (1.0 - kl_ratio))),
        film_umol_h_atm=full(_film(bags, parameters) * _access(bags, parameters, scenarios)),
        quotient=full(common("respiratory_quotient")),
        calcify_ueq_h=full(_calcification(bags, parameters)),
        dissolve_ueq_h=full(contour * common("skeleton_dissolution_ueq_cm2_h")),
        leaked_per_use=full(leak / per_oxygen),
        held_per_use=full((1.0 - leak) / per_oxygen),
        uptake_umol_h=full(symbiotic * (parameters.ammonium_uptake_nmol_cm2_h.typical * 1e-3)),
        rigid=rigid if bool(rigid.any()) else None,
        rigid_atm_per_umol_k=GAS_CONSTANT_J_MOLK * 1e-6 / (gas_l * 1e-3) / ATM_PA,
        start=_start(bags, parameters, scenarios.count),
        sealed_before_h=_column([bag.sealed_before_h for bag in bags]),
        parameters=parameters,
    )


def _film(bags: Sequence[PackedBag], parameters: TransitParameters) -> Array:
    permeation = parameters.film_o2_cm3_m2_d_atm.typical
    return _column(
        [film_conductance_umol_h_atm(permeation, bag.film_area_cm2, bag.film_um, bag.layers) for bag in bags]
    )


def _skeleton_cm2(animal: Animal) -> float:
    """Return the contour of a coral that has a skeleton to dissolve."""
    return animal.contour_area_cm2.typical if animal.calcification_meq_cm2_d.typical > 0 else 0.0


def _column(values: Sequence[float]) -> Array:
    return np.array(values, dtype=float)[:, None]


def _table(bag: PackedBag, parameters: TransitParameters) -> WaterTable:
    return water_table(bag.salinity, parameters.film_activation_kj_mol.typical)


def _kg_per_l(bag: PackedBag, parameters: TransitParameters) -> float:
    return float(_table(bag, parameters).at(np.array([bag.start_c]))[KG_PER_L, 0])


def _tables(bags: Sequence[PackedBag], parameters: TransitParameters) -> tuple[tuple[Rows, WaterTable], ...]:
    """Return the rows of each salinity with its table."""
    found: dict[int, tuple[list[int], WaterTable]] = {}
    for row, bag in enumerate(bags):
        table = _table(bag, parameters)
        found.setdefault(id(table), ([], table))[0].append(row)
    return tuple((np.array(rows), table) for rows, table in found.values())


def _animal_sum(
    bags: Sequence[PackedBag],
    scenarios: Scenarios,
    weight: Callable[[Animal], float | Array],
) -> Array:
    z = scenarios.deviates["tissue_area"]
    rows = [
        sum((weight(a) * spread(a.tissue_area_cm2, z) for a in bag.animals), np.zeros(z.size)) for bag in bags
    ]
    return np.array(rows)


def _respiration(bags: Sequence[PackedBag], parameters: TransitParameters, scenarios: Scenarios) -> Array:
    z = scenarios.deviates["respiration"]
    factor = drawn(parameters, scenarios, "respiration")[None, :]

    def rate(animal: Animal) -> Array:
        return spread(animal.respiration_umol_cm2_h, z)

    return _animal_sum(bags, scenarios, rate) * factor


def _blank(bags: Sequence[PackedBag], parameters: TransitParameters, scenarios: Scenarios) -> Array:
    z = scenarios.deviates["blank"]
    plug = np.array([spread(bag.blank_umol_h, z) for bag in bags])
    water = spread(parameters.water_respiration_umol_l_h, z)
    return plug + _column([bag.water_l for bag in bags]) * water[None, :]


def _q10(bags: Sequence[PackedBag], parameters: TransitParameters, scenarios: Scenarios) -> Array:
    common = drawn(parameters, scenarios, "q10")
    own = [[a.q10 for a in bag.animals if a.q10 is not None] for bag in bags]
    if not any(own):
        return common[None, :]
    return np.array([np.full(common.size, max(found)) if found else common for found in own])


def _access(bags: Sequence[PackedBag], parameters: TransitParameters, scenarios: Scenarios) -> Array:
    common = drawn(parameters, scenarios, "film_access")
    return np.array(
        [common if bag.film_access is None else np.full(common.size, bag.film_access) for bag in bags]
    )


def _calcification(bags: Sequence[PackedBag], parameters: TransitParameters) -> Array:
    """Dark calcification per unit of (saturation state - 1), from the daily mean in open water [µeq/h]."""
    share = parameters.bag_calcification_share.typical
    rows = []
    for bag in bags:
        day = sum(a.contour_area_cm2.typical * a.calcification_meq_cm2_d.typical for a in bag.animals)
        rows.append(day * 1e3 / 24.0 * share / max(_saturation_state(bag, parameters) - 1.0, 0.5))
    return _column(rows)


def _saturation_state(bag: PackedBag, parameters: TransitParameters) -> float:
    alkalinity = bag.alkalinity_meq_l * 1e3 / _kg_per_l(bag, parameters)
    dic = carbonate.dic_from_ph(bag.ph_total, alkalinity, bag.start_c, bag.salinity)
    ion = carbonate.species(bag.ph_total, dic, bag.start_c, bag.salinity).carbonate
    calcium = carbonate.calcium_riley_tongudai_1967_umol_kg(bag.salinity)
    return float(carbonate.aragonite_saturation(ion, calcium, bag.start_c, bag.salinity))


def _leak(bags: Sequence[PackedBag], parameters: TransitParameters, scenarios: Scenarios) -> Array:
    """Share of the ammonia from respiration that leaves the coral: all of it without symbionts."""
    symbiotic = drawn(parameters, scenarios, "ammonia_leak_share")
    whole = np.ones_like(symbiotic)
    return np.array([symbiotic if all(a.symbiotic for a in bag.animals) else whole for bag in bags])


def _start(bags: Sequence[PackedBag], parameters: TransitParameters, count: int) -> State:
    oxygen, gas, carbon, carbon_gas, alkalinity, nitrogen, h = ([] for _ in range(7))
    for bag in bags:
        known = _table(bag, parameters).at(np.array([bag.start_c]))[:, 0]
        alk = bag.alkalinity_meq_l * 1e3 / known[KG_PER_L]
        dry = (1.0 - known[VAPOUR]) * max(bag.gas_l, SMALLEST_GAS_L) * 1e-3 * ATM_PA
        umol = dry / (GAS_CONSTANT_J_MOLK * (bag.start_c + 273.15)) * 1e6
        co2_share = CO2_IN_AIR * (1.0 - bag.oxygen_fraction) / (1.0 - OXYGEN_IN_AIR)
        oxygen.append(
            known[OXYGEN_SOLUBILITY]
            * OXYGEN_IN_AIR
            * (1.0 - known[VAPOUR])
            * parameters.start_oxygen_share.typical
        )
        gas.append(umol * bag.oxygen_fraction)
        carbon_gas.append(umol * co2_share)
        nitrogen.append(max(umol * (1.0 - bag.oxygen_fraction - co2_share), 0.0))
        carbon.append(float(carbonate.dic_from_ph(bag.ph_total, alk, bag.start_c, bag.salinity)))
        alkalinity.append(alk)
        h.append(10.0 ** (6.0 - bag.ph_total))
    ammonium = [parameters.start_ammonium_umol_kg.typical] * len(bags)
    columns = (oxygen, gas, carbon, carbon_gas, alkalinity, ammonium, nitrogen, h, [0.0] * len(bags))
    return State(*(np.broadcast_to(_column(c), (len(bags), count)) for c in columns))
