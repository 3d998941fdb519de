"""One bag as plain differential equations for a general integrator: the same physics, other numerics.

Exact equilibria (no fits), pH solved to the end at every call, scipy's LSODA over all states. Run as a
program it writes reference_holds.csv beside this file: hours to a level of oxygen in a set of bags.
"""

import csv
import itertools
from pathlib import Path

import numpy as np
from scipy.integrate import solve_ivp

from ramet.science import carbonate, seawater
from ramet.science.gas_exchange import (
    film_conductance_umol_h_atm,
    film_temperature_factor,
    vapour_pressure_atm,
)
from ramet.science.packed import PackedBag
from ramet.science.scenarios import TransitParameters

R_L_ATM = 8.314462618e-6 / 101325.0 * 1e3
"""Gas constant in L atm per µmol and K."""


class ReferenceBag:
    """The right-hand side of one bag at a given temperature and motion, typical parameters."""

    def __init__(self, bag: PackedBag, p: TransitParameters, temperature_c, motion=1.0, pressure_atm=1.0):
        self.bag, self.p, self.motion, self.pressure = bag, p, motion, pressure_atm
        self.temperature_c = temperature_c if callable(temperature_c) else lambda _: temperature_c
        s, t = bag.salinity, bag.start_c
        self.kg = bag.water_l * float(seawater.litre_to_kg(t, s))
        self.film = film_conductance_umol_h_atm(
            p.film_o2_cm3_m2_d_atm.typical, bag.film_area_cm2, bag.film_um, bag.layers
        )
        self.access = p.film_access.typical if bag.film_access is None else bag.film_access
        self.respiration = p.respiration.typical * sum(
            a.tissue_area_cm2.typical * a.respiration_umol_cm2_h.typical for a in bag.animals
        )
        self.tissue = sum(a.tissue_area_cm2.typical for a in bag.animals)
        self.skeleton = sum(a.contour_area_cm2.typical for a in bag.animals)
        alk = bag.alkalinity_meq_l * 1e3 / (self.kg / bag.water_l)
        dic = float(carbonate.dic_from_ph(bag.ph_total, alk, t, s))
        ion = float(carbonate.species(bag.ph_total, dic, t, s).carbonate)
        calcium = carbonate.calcium_riley_tongudai_1967_umol_kg(s)
        omega = float(carbonate.aragonite_saturation(ion, calcium, t, s))
        day = sum(a.contour_area_cm2.typical * a.calcification_meq_cm2_d.typical for a in bag.animals)
        self.calcify = day * 1e3 / 24 * p.bag_calcification_share.typical / max(omega - 1, 0.5)
        gas_l = max(bag.gas_l, 1e-5)
        gas = (1 - float(vapour_pressure_atm(np.array(t), s))) * gas_l / (R_L_ATM * (t + 273.15))
        co2 = 420e-6 * (1 - bag.oxygen_fraction) / (1 - 0.20946)
        self.n2 = gas * (1 - bag.oxygen_fraction - co2)
        self.gas_l = gas_l
        o2 = float(seawater.oxygen_saturation_umol_kg(t, s)) * p.start_oxygen_share.typical
        self.start = np.array(
            [o2, gas * bag.oxygen_fraction, dic, gas * co2, alk, p.start_ammonium_umol_kg.typical, 0.0]
        )

    def rates(self, hours, y):
        bag, p, s = self.bag, self.p, self.bag.salinity
        o2, o2_gas, dic, co2_gas, alk, nh, failing = y
        t = float(self.temperature_c(hours))
        vapour = float(vapour_pressure_atm(np.array(t), s))
        saturation = float(seawater.oxygen_saturation_umol_kg(t, s)) / (1 - vapour)
        solubility = saturation / 0.20946
        share = max(o2, 0.0) / saturation
        warm = p.q10.typical ** ((min(t, p.respiration_peak_c.typical) - 25) / 10)
        over = max(t - p.respiration_peak_c.typical, 0) / p.respiration_fall_c.typical
        warm *= max(1 - over * over, 0)
        dark = p.dark_floor_share.typical + (1 - p.dark_floor_share.typical) * np.exp(
            -hours / p.dark_decline_h.typical
        )
        blank = bag.blank_umol_h.typical + p.water_respiration_umol_l_h.typical * bag.water_l
        decay = p.mucus_decay_per_h.typical
        blank += p.mucus_umol_cm2.typical * self.tissue * decay * np.exp(-decay * hours)
        demand = self.respiration * warm * dark + blank * 2.0 ** ((t - 25) / 10)
        half = p.half_saturation_share.typical
        used = demand * (1 + half) * share / (share + half)
        total = o2_gas + co2_gas + self.n2
        per = R_L_ATM * (t + 273.15) / self.gas_l if bag.rigid else (self.pressure - vapour) / total
        kl = p.kl_still_cm_h.typical + self.motion * (p.kl_carried_cm_h.typical - p.kl_still_cm_h.typical)
        transfer = kl * bag.surface_cm2 * 1e-3 * (self.kg / bag.water_l)
        up = transfer * (o2 - solubility * per * o2_gas)
        film = (
            self.film
            * self.access
            * float(film_temperature_factor(np.array(t), p.film_activation_kj_mol.typical))
        )
        out = film * (per * o2_gas - 0.20946 * self.pressure)
        ph = float(carbonate.ph_total(dic, alk, t, s))
        kinds = carbonate.species(ph, dic, t, s)
        k0 = float(carbonate.k0_weiss_1974(t, s) * carbonate.fugacity_share_weiss_1974(t)) * 1e6
        co2_up = transfer * p.kl_co2_ratio.typical * (float(kinds.co2) - k0 * per * co2_gas)
        co2_out = film * p.film_co2_ratio.typical * (per * co2_gas - 420e-6 * self.pressure)
        calcium = carbonate.calcium_riley_tongudai_1967_umol_kg(s)
        omega = float(carbonate.aragonite_saturation(kinds.carbonate, calcium, t, s))
        well = min(max(share / p.failing_oxygen_share.typical, 0.0), 1.0)
        gives = p.skeleton_dissolution_ueq_cm2_h.typical * self.skeleton * max(1 - omega, 0)
        gives -= self.calcify * well * max(omega - 1, 0)
        toward = 1 / (1 + (share / p.failing_oxygen_share.typical) ** 4)
        leak = p.ammonia_leak_share.typical if all(a.symbiotic for a in bag.animals) else 1.0
        released = (
            self.respiration / p.oxygen_to_nitrogen.typical * warm * dark * (leak + (1 - leak) * failing)
        )
        symbiotic = sum(a.tissue_area_cm2.typical for a in bag.animals if a.symbiotic)
        uptake = p.ammonium_uptake_nmol_cm2_h.typical * 1e-3 * symbiotic
        net = released - uptake * (1 - failing) * nh / (nh + p.ammonium_half_umol_kg.typical)
        return np.array(
            [
                -(used + up) / self.kg,
                up - out,
                (p.respiratory_quotient.typical * used - co2_up + 0.5 * gives) / self.kg,
                co2_up - co2_out,
                (gives + net) / self.kg,
                net / self.kg,
                (toward - failing) / p.failing_after_h.typical,
            ]
        )

    def solve(self, hours, method="LSODA", rtol=1e-8):
        answer = solve_ivp(
            self.rates, (0.0, hours[-1]), self.start, method=method, t_eval=hours, rtol=rtol, atol=1e-8
        )
        assert answer.success, answer.message
        return answer.y

    def oxygen_mg_l(self, hours, y):
        t = np.array([float(self.temperature_c(h)) for h in hours])
        return y[0] * 31.9988e-3 * seawater.litre_to_kg(t, self.bag.salinity)

    def ph(self, hours, y):
        t = np.array([float(self.temperature_c(h)) for h in hours])
        return carbonate.ph_total(y[2], y[4], t, self.bag.salinity)


HOLDS = Path(__file__).parent / "reference_holds.csv"
COLUMNS = (
    "water_l",
    "gas_per_water",
    "area_cm2",
    "oxygen_fraction",
    "motion",
    "temperature_c",
    "level_mg_l",
    "hours",
)


def hours_to(bag, parameters, temperature_c, motion, level_mg_l, last=96.0):
    """Hours until oxygen falls to a level, by LSODA's own dense output; `last` when it does not."""
    reference = ReferenceBag(bag, parameters, temperature_c, motion)

    def at_level(_, y):
        kg_per_l = float(seawater.litre_to_kg(temperature_c, bag.salinity))
        return y[0] * 31.9988e-3 * kg_per_l - level_mg_l

    at_level.terminal, at_level.direction = True, -1  # type: ignore[attr-defined]
    answer = solve_ivp(
        reference.rates, (0, last), reference.start, method="LSODA", events=at_level, rtol=1e-8, atol=1e-8
    )
    return float(answer.t_events[0][0]) if answer.t_events[0].size else last


def main():
    from journey_cases import PARAMETERS, a_bag

    with HOLDS.open("w", newline="") as file:
        rows = csv.writer(file, lineterminator="\n")
        rows.writerow(COLUMNS)
        sets = [
            itertools.product(
                (0.1, 0.4),
                (0.25, 1.0, 2.0),
                (40.0, 120.0, 250.0),
                (0.20946,),
                (1.0,),
                (25.0,),
                (1.0, 2.0, 4.0),
            ),
            itertools.product(
                (0.1, 0.3), (0.5, 2.0), (30.0, 200.0), (0.6,), (0.0, 1.0), (18.0, 30.0), (2.0,)
            ),
        ]
        for water, gas, area, oxygen, motion, t, level in itertools.chain(*sets):
            bag = a_bag(water, gas * water, area, oxygen_fraction=oxygen, start_c=t, limits=())
            hours = hours_to(bag, PARAMETERS, t, motion, level)
            rows.writerow([water, gas, area, oxygen, motion, t, level, f"{hours:.6f}"])


if __name__ == "__main__":
    main()
