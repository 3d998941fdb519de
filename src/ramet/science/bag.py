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

from ramet.science.bag_acid import co2_line, solve_ph
from ramet.science.batch import (
    CALCIUM_PER_KSP,
    CO2_IN_AIR,
    CO2_SOLUBILITY,
    FILM,
    KG_PER_L,
    NH3,
    OXYGEN_IN_AIR,
    OXYGEN_SOLUBILITY,
    ROOT_BLANK,
    SMALLEST_GAS_UMOL,
    VAPOUR,
    Batch,
    Flows,
    State,
)
from ramet.science.exchange import (
    CARRY,
    GAMMA,
    Air,
    Exchange,
    Hours,
    Level,
    alike,
    between_of,
    carried,
    exchange_of,
    full,
    half_ratio,
    length_of,
)
from ramet.science.respiration import temperature_factor
from ramet.science.water_table import ROWS

Array = NDArray[np.float64]

OXYGEN_MG_PER_UMOL = 0.0319988
SERIES = (
    "temperature_c",
    "oxygen_mg_l",
    "ph_total",
    "alkalinity_meq_l",
    "ammonium_umol_l",
    "unionised_ammonia_umol_l",
    "opened_ammonia_umol_l",
)
"""What is followed in every bag."""
_OF_CELLS = ("temperature_c", "constants", "declining", "mucus", "animal_use", "demand", "warmth", "buffer")
_OF_THE_LAST_STEP = ("h_before", "alkalinity_rate", "gas_total")


class BagStepper:
    """Carries a batch of bags through time. Temperatures are given from outside, step by step."""

    def __init__(self, bags: Batch, temperature_c: Array, follow_flows: bool = False) -> None:
        self.bags = bags
        start = bags.start
        shape = bags.shape
        self.state = State(*(np.array(np.broadcast_to(getattr(start, n), shape)) for n in State.__slots__))
        self.flows = Flows(*(np.zeros(shape) for _ in Flows.__slots__)) if follow_flows else None
        self.age_h = np.zeros_like(bags.sealed_before_h)
        self.temperature_c = full(temperature_c, shape)
        self.constants = self._constants(temperature_c)
        self.declining = bags.declining_umol_h.copy()
        self.mucus = bags.mucus_umol_h.copy()
        self.given: Array | None = None
        self.warmth = self._warmth()
        self.animal_use, self.demand = self._demand(self.constants)
        self.buffer = solve_ph(self.state, self.constants, bags.boron, 6)
        self.h_before: Array | None = None
        self.alkalinity_rate: Array | None = None
        self.gas_total: Array | None = None
        self.last_hours: Hours = 0.0
        self.exchange: Exchange | None = None

    def take_columns(self, origin: NDArray[np.int64]) -> None:
        """Go on with scenario `origin[i]` as scenario i."""

        def taken(values: Array) -> Array:
            return np.ascontiguousarray(values[..., origin])

        self.bags = self.bags.columns(origin)
        self.state = State(*(taken(getattr(self.state, name)) for name in State.__slots__))
        if self.flows is not None:
            self.flows = Flows(*(taken(getattr(self.flows, name)) for name in Flows.__slots__))
        for name in _OF_CELLS:
            setattr(self, name, taken(getattr(self, name)))
        for name in _OF_THE_LAST_STEP:
            last = getattr(self, name)
            setattr(self, name, None if last is None else taken(last))
        if isinstance(self.last_hours, np.ndarray):
            self.last_hours = taken(self.last_hours)
        self.exchange, self.given = None, None

    @property
    def oxygen_mg_l(self) -> Array:
        """Dissolved oxygen [mg/L]."""
        found = np.maximum(self.state.oxygen, 0.0)
        found *= self.constants[KG_PER_L]
        found *= OXYGEN_MG_PER_UMOL
        return np.asarray(found)

    @property
    def ph_total(self) -> Array:
        """pH, total scale."""
        return np.asarray(6.0 - np.log10(self.state.h_umol_kg))

    @property
    def alkalinity_meq_l(self) -> Array:
        """Total alkalinity [meq/L]."""
        return np.asarray(self.state.alkalinity * self.constants[KG_PER_L] * 1e-3)

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
        return self._opened(self.ammonium_umol_l, self.constants[NH3])

    def shown(self, columns: slice) -> NDArray[np.float32]:
        """Return all SERIES of some scenarios at once, in single precision; - [H+] in the place of pH."""
        s, kg_per_l, k = self.state, self.constants[KG_PER_L][:, columns], self.constants[NH3][:, columns]
        h = s.h_umol_kg[:, columns]
        ammonium = s.ammonium[:, columns] * kg_per_l
        out = np.empty((len(SERIES), *h.shape), np.float32)
        out[0] = self.temperature_c[:, columns]
        out[1] = np.maximum(s.oxygen[:, columns], 0.0) * kg_per_l * OXYGEN_MG_PER_UMOL
        out[2] = -h
        out[3] = s.alkalinity[:, columns] * kg_per_l * 1e-3
        out[4] = ammonium
        out[5] = ammonium * k / (k + h)
        out[6] = self._opened(ammonium, k)
        return out

    def _opened(self, ammonium_umol_l: Array, k: Array) -> Array:
        found = k + 10.0 ** (6.0 - self.bags.parameters.opened_ph.typical)
        np.divide(k, found, out=found)
        found *= ammonium_umol_l
        return np.asarray(found)

    def step(self, hours: Hours, temperature_c: Array, motion: Level, pressure_atm: Level) -> None:
        """Take one step.

        Parameters
        ----------
        hours
            Length of the step for each bag [h]; 0 while a bag is not sealed yet.
        temperature_c
            Temperature at the end of the step [°C]; the array of the step before when it stays the same.
        motion
            1 when carried, 0 when still.
        pressure_atm
            Pressure around the bags [atm].
        """
        if isinstance(pressure_atm, np.ndarray):
            pressure_atm = full(pressure_atm, self.bags.shape)
        move = self._exchange(hours, motion)
        ratio = half_ratio(move.hours, self.last_hours)
        before, demand_before, use_before = self.constants, self.demand, self.animal_use
        oxygen_before, after, cooler = self.state.oxygen, self.constants, self.temperature_c
        if temperature_c is not self.given:
            after = self._constants(temperature_c)
            self.given, self.temperature_c = temperature_c, full(temperature_c, self.bags.shape)
            self.warmth = self._warmth()
        self.declining *= move.dark
        self.mucus *= move.mucus
        self.animal_use, self.demand = self._demand(after)
        demand_first = (1.0 - GAMMA) * demand_before
        demand_first += GAMMA * self.demand
        middle = before[OXYGEN_SOLUBILITY:] + after[OXYGEN_SOLUBILITY:]
        middle *= 0.5
        air = Air(
            middle[0],
            middle[CO2_SOLUBILITY - OXYGEN_SOLUBILITY],
            self._pressure_per_umol(middle[VAPOUR - OXYGEN_SOLUBILITY], pressure_atm, ratio, cooler),
            move.film * middle[FILM - OXYGEN_SOLUBILITY],
            pressure_atm,
        )
        used = self._oxygen(move, air, demand_first, self.demand)
        self._carbon(move, air, used, ratio)
        oxygen = oxygen_before + self.state.oxygen
        self._nitrogen(move, oxygen, air.oxygen_solubility, use_before + self.animal_use)
        self.age_h = self.age_h + hours
        self.constants = after
        self.buffer = self._follow_ph(ratio)
        self.last_hours = move.hours

    def _exchange(self, hours: Hours, motion: Level) -> Exchange:
        """Return what hangs on the length of a step and the motion alone; most steps are alike."""
        length, last = length_of(hours, self.bags.shape), self.exchange
        if last is None or not alike(length, last.hours) or not np.array_equal(motion, last.motion):
            last = self.exchange = exchange_of(self.bags, length, motion)
        return last

    def _constants(self, temperature_c: Array) -> Array:
        tables, shape = self.bags.tables, self.bags.shape
        if len(tables) == 1:
            return full(tables[0][1].at(temperature_c), (len(ROWS), *shape))
        every = full(temperature_c, shape)
        out = np.empty((len(ROWS), *shape))
        for part, table in tables:
            out[:, part] = table.at(every[part])
        return out

    def _warmth(self) -> Array:
        p = self.bags.parameters
        peak_c, fall_c = p.respiration_peak_c.typical, p.respiration_fall_c.typical
        return temperature_factor(self.temperature_c, self.bags.log_q10_per_c, peak_c, fall_c)

    def _demand(self, constants: Array) -> tuple[Array, Array]:
        """Return the oxygen use [µmol/h] of the animals, and of all, that a full supply would meet."""
        bags = self.bags
        animal = bags.steady_umol_h + self.declining
        animal *= self.warmth
        other = bags.blank_umol_h + self.mucus
        other *= constants[ROOT_BLANK]
        other *= constants[ROOT_BLANK]
        other += animal
        return animal, other

    def _pressure_per_umol(self, vapour: Array, pressure_atm: Level, ratio: Hours, before_c: Array) -> Array:
        """Return the partial pressure that each µmol of gas makes, at the middle of the step."""
        s = self.state
        total = s.oxygen_gas + s.carbon_gas
        total += s.nitrogen_gas
        ahead = total
        if self.gas_total is not None:
            ahead = total - self.gas_total
            ahead *= ratio
            ahead += total
            ahead = np.maximum(ahead, 0.5 * total)
        ahead = np.maximum(ahead, SMALLEST_GAS_UMOL)
        self.gas_total = total
        flexible = (pressure_atm - vapour) / ahead
        if self.bags.rigid is None:
            return np.asarray(flexible)
        kelvin = 0.5 * (self.temperature_c + before_c) + 273.15
        return np.asarray(np.where(self.bags.rigid, self.bags.rigid_atm_per_umol_k * kelvin, flexible))

    def _oxygen(
        self, move: Exchange, air: Air, demand_first: Array, demand_last: Array
    ) -> tuple[Array, Array]:
        """Step oxygen in water and gas; return γ times what was used in each stage [µmol]."""
        s, gk = self.state, move.to_gas
        half = move.half_air * air.oxygen_solubility
        between = between_of(gk, move.water_and_gas, air.film, air.oxygen_solubility, air.per_umol)
        inflow = air.film * (OXYGEN_IN_AIR * air.pressure_atm)
        lead_half = between.lead * half
        four, half_inverse = 4.0 * between.lead, 0.5 / between.lead
        four *= half
        in_water = move.water * s.oxygen
        water, gas = in_water, s.oxygen_gas
        used = []
        for stage, demand in enumerate((demand_first, demand_last)):
            top = gas + inflow
            b = between.held * top
            b += water
            linear = move.g * demand
            linear += lead_half
            linear -= b
            # the root of lead C² + linear C - b half = 0
            root = four * b
            root += linear * linear
            np.maximum(root, 0.0, out=root)
            np.sqrt(root, out=root)
            root -= linear
            root *= half_inverse
            used.append(b - between.lead * root)
            top += gk * root
            top *= between.inverse
            if stage == 0:
                first_gas = top
                water = carried(in_water, move.water * root)
                gas = carried(s.oxygen_gas, top)
        if self.flows is not None:
            self.flows.respired += CARRY * used[0] + used[1]
            self.flows.oxygen_out += air.film * (
                CARRY * (air.per_umol * first_gas - OXYGEN_IN_AIR * air.pressure_atm)
                + (air.per_umol * top - OXYGEN_IN_AIR * air.pressure_atm)
            )
        s.oxygen, s.oxygen_gas = root, top
        return used[0], used[1]

    def _slow_rate(self, ion: Array, ratio: Hours) -> Array:
        """Return the alkalinity that the skeleton gives per hour, at the middle of the step [µeq/h]."""
        c, s = self.constants, self.state
        omega = ion * c[CALCIUM_PER_KSP]
        omega -= 1.0
        well = s.oxygen * (1.0 / (OXYGEN_IN_AIR * self.bags.parameters.failing_oxygen_share.typical))
        well /= c[OXYGEN_SOLUBILITY]
        np.minimum(well, 1.0, out=well)
        np.maximum(well, 0.0, out=well)
        well *= self.bags.calcify_ueq_h
        rate = -np.minimum(omega, 0.0)
        rate *= self.bags.dissolve_ueq_h
        well *= np.maximum(omega, 0.0)
        rate -= well
        before, self.alkalinity_rate = self.alkalinity_rate, rate
        if before is None:
            return np.asarray(rate)
        return np.asarray(rate + ratio * (rate - before))

    def _carbon(self, move: Exchange, air: Air, used: tuple[Array, Array], ratio: Hours) -> None:
        """Step carbon in water and gas and the alkalinity from the skeleton."""
        s, gk, p = self.state, move.co2_to_gas, self.bags.parameters
        line = co2_line(s, self.constants, self.buffer)
        slow = self._slow_rate(line.ion, ratio) * move.hours
        film = air.film * p.film_co2_ratio.typical
        between = between_of(gk, move.water_and_co2, film, air.co2_solubility, air.per_umol)
        inflow = film * (CO2_IN_AIR * air.pressure_atm)
        lost = between.lead - move.water
        inverse = 1.0 / (move.water + lost * line.by_carbon)
        alkalinity_step = slow * move.per_water
        from_alkalinity = line.by_alkalinity * alkalinity_step
        dissolved = (0.5 * GAMMA) * slow
        base = line.co2 - line.by_carbon * s.carbon
        in_water = move.water * s.carbon
        water, gas = in_water, s.carbon_gas
        for stage, (use, reached) in enumerate(zip(used, (GAMMA, 1.0), strict=True)):
            at_zero = reached * from_alkalinity
            at_zero += base
            top = gas + inflow
            c = between.held * top
            c += water
            c += self.bags.quotient * use
            c += dissolved
            c -= lost * at_zero
            c *= inverse
            at_zero += line.by_carbon * c
            at_zero *= gk
            at_zero += top
            at_zero *= between.inverse
            if stage == 0:
                first_gas = at_zero
                water = carried(in_water, move.water * c)
                gas = carried(s.carbon_gas, at_zero)
        if self.flows is not None:
            outside = CO2_IN_AIR * air.pressure_atm
            self.flows.carbon_out += film * (
                CARRY * (air.per_umol * first_gas - outside) + (air.per_umol * at_zero - outside)
            )
            self.flows.skeleton_ueq += slow
        s.carbon, s.carbon_gas = c, at_zero
        s.alkalinity = s.alkalinity + alkalinity_step

    def _nitrogen(self, move: Exchange, oxygen: Array, solubility: Array, use: Array) -> None:
        """Step total ammonia: let go by a failing or asymbiotic coral, taken up by a healthy one.

        `oxygen` and `use` are sums of both ends of the step.
        """
        s, m, bags, p = self.state, move.water, self.bags, self.bags.parameters
        failing_at = solubility * (2.0 * OXYGEN_IN_AIR * p.failing_oxygen_share.typical)
        failing_at *= failing_at
        failing_at *= failing_at
        squared = oxygen * oxygen
        squared *= squared
        squared += failing_at
        change = failing_at / squared
        change -= s.failing
        change *= move.nearing
        failing = 0.5 * change
        failing += s.failing
        s.failing = s.failing + change
        b = bags.held_per_use * failing
        b += bags.leaked_per_use
        b *= use
        b *= 0.5 * move.hours
        b += m * s.ammonium
        linear = bags.uptake_umol_h * (1.0 - failing)
        linear *= move.hours
        linear -= b
        half = p.ammonium_half_umol_kg.typical
        linear += half * m
        new = linear * linear
        b *= m
        b *= 4.0 * half
        new += b
        np.sqrt(new, out=new)
        new -= linear
        new *= 0.5 * move.per_water
        s.alkalinity = s.alkalinity + new
        s.alkalinity -= s.ammonium
        if self.flows is not None:
            self.flows.ammonia_released += m * (new - s.ammonium)
        s.ammonium = new

    def _follow_ph(self, ratio: Hours) -> Array:
        """Solve pH after a step; where steps are alike one round from the way it went serves."""
        h, before = self.state.h_umol_kg, self.h_before
        self.h_before = h
        if before is None or not isinstance(ratio, float) or abs(ratio - 0.5) > 1e-6:
            return solve_ph(self.state, self.constants, self.bags.boron, 2)
        ahead = h / before
        ahead *= h
        self.state.h_umol_kg = ahead
        return solve_ph(self.state, self.constants, self.bags.boron, 1)
