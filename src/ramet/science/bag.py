"""Water and gas of many sealed bags at once: oxygen, carbon, alkalinity and ammonia, step by step.

Arrays have one row per bag and one column per scenario. Amounts are µmol, concentrations µmol per kg of
seawater, pressures atm, times hours. Every exchange is one flux that leaves one pool and enters another,
so what goes in comes out to rounding.

Oxygen and carbon take an implicit two-stage step of second order (SDIRK, γ = 1 - 1/√2), which stays
stable when a big coral empties little water in minutes. Its stages have closed forms: a quadratic for the
hyperbolic use of oxygen, a line for carbon about the pH just solved. Alkalinity and ammonia change slowly
and follow by extrapolated midpoint.
"""

import numpy as np
from numpy.typing import NDArray

from ramet.science.batch import (
    CALCIUM_PER_KSP,
    CO2_IN_AIR,
    CO2_SOLUBILITY,
    FILM,
    K1,
    K2,
    KB,
    KG_PER_L,
    KW,
    NH3,
    OXYGEN_IN_AIR,
    OXYGEN_SOLUBILITY,
    SMALLEST_GAS_UMOL,
    VAPOUR,
    Batch,
    Flows,
    State,
)
from ramet.science.respiration import temperature_factor
from ramet.science.water_table import ROWS

Array = NDArray[np.float64]

GAMMA = 1.0 - 0.5**0.5
_CARRY = (1.0 - GAMMA) / GAMMA
OXYGEN_MG_PER_UMOL = 0.0319988
_BLANK_Q10 = 2.0


class BagStepper:
    """Carries a batch of bags through time. Temperatures are given from outside, step by step."""

    def __init__(self, bags: Batch, temperature_c: Array, follow_flows: bool = False) -> None:
        self.bags = bags
        start = bags.start
        shape = bags.shape
        self.state = State(*(np.array(np.broadcast_to(getattr(start, n), shape)) for n in State.__slots__))
        self.flows = Flows(*(np.zeros(shape) for _ in Flows.__slots__)) if follow_flows else None
        self.age_h = np.zeros_like(bags.sealed_before_h)
        self.temperature_c = temperature_c
        self.constants = self._constants(temperature_c)
        self.demand = self._demand(temperature_c, self.age_h)
        self._solve_ph(6)
        self.alkalinity_rate: Array | None = None
        self.gas_total: Array | None = None
        self.last_hours: Array = np.zeros_like(self.age_h)

    @property
    def oxygen_mg_l(self) -> Array:
        """Dissolved oxygen [mg/L]."""
        c = self.constants
        return np.asarray(np.maximum(self.state.oxygen, 0.0) * (c[KG_PER_L] * (OXYGEN_MG_PER_UMOL)))

    @property
    def ph_total(self) -> Array:
        """pH, total scale."""
        return np.asarray(6.0 - np.log10(self.state.h_umol_kg))

    @property
    def alkalinity_meq_l(self) -> Array:
        """Total alkalinity [meq/L]."""
        return np.asarray(self.state.alkalinity * (self.constants[KG_PER_L] * 1e-3))

    @property
    def ammonium_umol_l(self) -> Array:
        """Total ammonia [µmol/L]."""
        return np.asarray(self.state.ammonium * self.constants[KG_PER_L])

    @property
    def unionised_ammonia_umol_l(self) -> Array:
        """Un-ionised ammonia in the closed bag [µmol/L]."""
        k = self.constants[NH3]
        return np.asarray(self.ammonium_umol_l * (k / (k + self.state.h_umol_kg)))

    @property
    def opened_ammonia_umol_l(self) -> Array:
        """Un-ionised ammonia once the water is aerated to the pH of open water [µmol/L]."""
        k = self.constants[NH3]
        h = 10.0 ** (6.0 - self.bags.parameters.opened_ph.typical)
        return np.asarray(self.ammonium_umol_l * (k / (k + h)))

    def step(self, hours: Array, temperature_c: Array, motion: float, pressure_atm: float) -> None:
        """Take one step.

        Parameters
        ----------
        hours
            Length of the step for each bag [h]; 0 while a bag is not sealed yet.
        temperature_c
            Temperature at the end of the step [°C].
        motion
            1 when carried, 0 when still.
        pressure_atm
            Pressure around the bags [atm].
        """
        before, demand_before, factor_before = self.constants, self.demand, self.animal_factor
        oxygen_before = self.state.oxygen
        age = self.age_h + hours
        after = self._constants(temperature_c)
        demand_after = self._demand(temperature_c, age)
        demand_first = demand_before + GAMMA * (demand_after - demand_before)
        middle = 0.5 * (before + after)
        per_umol = self._pressure_per_umol(middle, pressure_atm, hours, temperature_c)
        transfer = self.bags.kl_still_kg_h + motion * self.bags.kl_more_kg_h
        film = self.bags.film_umol_h_atm * middle[FILM]
        use = self._oxygen(hours, middle, demand_first, demand_after, per_umol, transfer, film, pressure_atm)
        slow = self._slow_rate(hours)
        self._carbon(hours, middle, use, slow, per_umol, transfer, film, pressure_atm)
        oxygen = 0.5 * (oxygen_before + self.state.oxygen)
        breathing = 0.5 * (factor_before + self.animal_factor)
        self._nitrogen(hours, oxygen / (middle[OXYGEN_SOLUBILITY] * OXYGEN_IN_AIR), breathing)
        self.age_h, self.temperature_c, self.constants, self.demand = age, temperature_c, after, demand_after
        self._solve_ph(2)

    def _constants(self, temperature_c: Array) -> Array:
        tables = self.bags.tables
        if len(tables) == 1:
            return tables[0][1].at(temperature_c)
        rows = self.bags.shape[0]
        full = np.broadcast_to(temperature_c, (rows, temperature_c.shape[1]))
        out = np.empty((len(ROWS), rows, temperature_c.shape[1]))
        for part, table in tables:
            out[:, part] = table.at(full[part])
        return out

    def _demand(self, temperature_c: Array, age_h: Array) -> Array:
        """Return the oxygen use [µmol/h] that a full supply would meet."""
        bags, p = self.bags, self.bags.parameters
        warm = temperature_factor(
            temperature_c, bags.q10, p.respiration_peak_c.typical, p.respiration_fall_c.typical
        )
        decline = np.exp(-age_h / p.dark_decline_h.typical)
        dark = bags.dark_floor + (1.0 - bags.dark_floor) * decline
        blank_warm = np.exp((np.log(_BLANK_Q10) / 10.0) * (temperature_c - 25.0))
        mucus = bags.mucus_umol_h * np.exp(-p.mucus_decay_per_h.typical * age_h)
        self.animal_factor = warm * dark
        return np.asarray(bags.animal_umol_h * self.animal_factor + (bags.blank_umol_h + mucus) * blank_warm)

    def _pressure_per_umol(
        self, constants: Array, pressure_atm: float, hours: Array, temperature_c: Array
    ) -> Array:
        """Return the partial pressure that each µmol of gas makes, at the middle of the step."""
        s = self.state
        total = s.oxygen_gas + s.carbon_gas + s.nitrogen_gas
        ahead = total
        if self.gas_total is not None:
            ratio = 0.5 * hours / np.where(self.last_hours > 0, self.last_hours, np.inf)
            ahead = np.maximum(total + ratio * (total - self.gas_total), 0.5 * total)
        ahead = np.maximum(ahead, SMALLEST_GAS_UMOL)
        self.gas_total, self.last_hours = total, hours
        flexible = (pressure_atm - constants[VAPOUR]) / ahead
        if self.bags.rigid is None:
            return np.asarray(flexible)
        kelvin = 0.5 * (self.temperature_c + temperature_c) + 273.15
        return np.asarray(np.where(self.bags.rigid, self.bags.rigid_atm_per_umol_k * kelvin, flexible))

    def _oxygen(
        self,
        hours: Array,
        constants: Array,
        demand_first: Array,
        demand_last: Array,
        per_umol: Array,
        transfer: Array,
        film: Array,
        pressure_atm: float,
    ) -> tuple[Array, Array]:
        """Step oxygen in water and gas; return what was used in each stage [µmol/h]."""
        s, m = self.state, self.bags.water_kg
        g = GAMMA * hours
        solubility = constants[OXYGEN_SOLUBILITY]
        half = self.bags.half_share * (solubility * OXYGEN_IN_AIR)
        ceiling = 1.0 + self.bags.half_share
        gk = g * transfer
        pull = solubility * per_umol
        inflow = g * film * (OXYGEN_IN_AIR * pressure_atm)
        n = 1.0 + per_umol * (g * film) + gk * pull
        w = gk * pull / n
        lead = m + gk * (1.0 - w)
        water, gas = s.oxygen, s.oxygen_gas
        uses = []
        for stage, demand in enumerate((demand_first, demand_last)):
            top = gas + inflow
            b = m * water + w * top
            used = g * (demand * ceiling)
            linear = lead * half + used - b
            # the root of lead C² + linear C - b half = 0 in the form that does not cancel
            root = np.sqrt(np.maximum(linear * linear + 4.0 * lead * (b * half), 0.0))
            c = np.where(linear > 0, 2.0 * b * half / (linear + root), (root - linear) / (2.0 * lead))
            new_gas = (top + gk * c) / n
            uses.append(demand * ceiling * c / (c + half))
            if stage == 0:
                if self.flows is not None:
                    first_gas = new_gas
                water = s.oxygen + _CARRY * (c - s.oxygen)
                gas = s.oxygen_gas + _CARRY * (new_gas - s.oxygen_gas)
        if self.flows is not None:
            f, weights = self.flows, (hours * (1 - GAMMA), hours * GAMMA)
            f.respired += weights[0] * uses[0] + weights[1] * uses[1]
            outside = OXYGEN_IN_AIR * pressure_atm
            f.oxygen_out += film * (
                weights[0] * (per_umol * first_gas - outside) + weights[1] * (per_umol * new_gas - outside)
            )
        s.oxygen, s.oxygen_gas = c, new_gas
        return uses[0], uses[1]

    def _slow_rate(self, hours: Array) -> Array:
        """Return the alkalinity that the skeleton gives per hour, at the middle of the step [µeq/h]."""
        c, s = self.constants, self.state
        h, k12 = s.h_umol_kg, c[K1] * c[K2]
        carbonate_ion = s.carbon * k12 / (h * (h + c[K1]) + k12)
        omega = carbonate_ion * c[CALCIUM_PER_KSP]
        share = s.oxygen / (c[OXYGEN_SOLUBILITY] * OXYGEN_IN_AIR)
        well = np.clip(share * (1.0 / self.bags.parameters.failing_oxygen_share.typical), 0.0, 1.0)
        rate = self.bags.dissolve_ueq_h * np.maximum(1.0 - omega, 0.0) - self.bags.calcify_ueq_h * (
            well * np.maximum(omega - 1.0, 0.0)
        )
        before, self.alkalinity_rate = self.alkalinity_rate, rate
        if before is None:
            return np.asarray(rate)
        return np.asarray(np.where(self.last_hours > 0, 1.5 * rate - 0.5 * before, rate))

    def _carbon(
        self,
        hours: Array,
        constants: Array,
        use: tuple[Array, Array],
        slow: Array,
        per_umol: Array,
        transfer: Array,
        film: Array,
        pressure_atm: float,
    ) -> None:
        """Step carbon in water and gas and the alkalinity from the skeleton."""
        s, m, p = self.state, self.bags.water_kg, self.bags.parameters
        g = GAMMA * hours
        co2, by_carbon, by_alkalinity = self._co2_line()
        film = film * p.film_co2_ratio.typical
        gk = g * (transfer * p.kl_co2_ratio.typical)
        pull = constants[CO2_SOLUBILITY] * per_umol
        inflow = g * film * (CO2_IN_AIR * pressure_atm)
        n = 1.0 + per_umol * (g * film) + gk * pull
        w = gk * pull / n
        lost = gk * (1.0 - w)
        alkalinity_step = slow * hours / m
        from_alkalinity = by_alkalinity * alkalinity_step
        base = co2 - by_carbon * s.carbon
        water, gas = s.carbon, s.carbon_gas
        for stage, (used, reached) in enumerate(zip(use, (GAMMA, 1.0), strict=True)):
            at_zero = base + reached * from_alkalinity
            top = gas + inflow
            gained = m * water + g * (self.bags.quotient * used + 0.5 * slow) + w * top
            c = (gained - lost * at_zero) / (m + lost * by_carbon)
            new_gas = (top + gk * (at_zero + by_carbon * c)) / n
            if stage == 0:
                first_gas = new_gas
                water = s.carbon + _CARRY * (c - s.carbon)
                gas = s.carbon_gas + _CARRY * (new_gas - s.carbon_gas)
        if self.flows is not None:
            outside = CO2_IN_AIR * pressure_atm
            self.flows.carbon_out += (film * hours) * (
                (1 - GAMMA) * (per_umol * first_gas - outside) + GAMMA * (per_umol * new_gas - outside)
            )
            self.flows.skeleton_ueq += slow * hours
        s.carbon, s.carbon_gas = c, new_gas
        s.alkalinity = s.alkalinity + alkalinity_step

    def _nitrogen(self, hours: Array, saturation_share: Array, breathing: Array) -> None:
        """Step total ammonia: let go by a failing or asymbiotic coral, taken up by a healthy one."""
        s, m, bags = self.state, self.bags.water_kg, self.bags
        p = bags.parameters
        share = saturation_share * (1.0 / p.failing_oxygen_share.typical)
        squared = share * share
        nearing = 1.0 - np.exp(-hours / p.failing_after_h.typical)
        change = nearing * (1.0 / (1.0 + squared * squared) - s.failing)
        failing = s.failing + 0.5 * change
        s.failing = s.failing + change
        released = (
            (hours * bags.nitrogen_umol_h) * breathing * (bags.leak_share + (1.0 - bags.leak_share) * failing)
        )
        half = p.ammonium_half_umol_kg.typical
        b = m * s.ammonium + released
        linear = m * half + hours * bags.uptake_umol_h * (1.0 - failing) - b
        new = (np.sqrt(linear * linear + 4.0 * m * (b * half)) - linear) / (2.0 * m)
        s.alkalinity = s.alkalinity + (new - s.ammonium)
        if self.flows is not None:
            self.flows.ammonia_released += m * (new - s.ammonium)
        s.ammonium = new

    def _solve_ph(self, rounds: int) -> None:
        """Newton on ln [H+] from the last pH; two rounds serve from one step to the next."""
        c, s = self.constants, self.state
        h = s.h_umol_kg
        k1, k12, kb = c[K1], c[K1] * c[K2], c[KB]
        for _ in range(rounds):
            k1h = k1 * h
            hh = h * h
            inverse = 1.0 / (hh + k1h + k12)
            per = s.carbon * inverse
            carbon = per * (k1h + 2.0 * k12)
            slope_carbon = per * inverse * (k1h * (hh + k12) + 4.0 * k12 * hh)
            borate = self.bags.boron * kb / (kb + h)
            hydroxide = c[KW] / h
            excess = carbon + borate + hydroxide - h - s.alkalinity
            slope = slope_carbon + borate * h / (kb + h) + hydroxide + h
            move = np.clip(excess / slope, -0.8, 0.8)
            h = h * (1.0 + move * (1.0 + 0.5 * move))
        s.h_umol_kg = h
        self.buffer = slope

    def _co2_line(self) -> tuple[Array, Array, Array]:
        """Return dissolved CO2 and how it changes with carbon and with alkalinity, about the present."""
        c, s = self.constants, self.state
        h, k1, k12 = s.h_umol_kg, c[K1], c[K1] * c[K2]
        whole = h * h + k1 * h + k12
        share = h * h / whole
        co2 = s.carbon * share
        charge = (k1 * h + 2.0 * k12) / whole
        by_alkalinity = -co2 * charge / self.buffer
        return co2, share - by_alkalinity * charge, by_alkalinity
