"""Whole boxes as plain differential equations: heat, packs, ice, water and gas at once, other numerics.

The conductances of the network are ours (they have tests of their own against handbook tables); the
integration is scipy's LSODA over all bodies, the enthalpy of every pack and the seven pools of the first
bag, in pieces between the corners of packs and weather. Run as a program it writes reference_boxes.csv
beside this file: hours until the first bag breaks its one limit.
"""

import csv
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
from journey_cases import PARAMETERS, a_bag, a_box, steady
from reference_bag import ReferenceBag
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from ramet.domain.band import exactly
from ramet.science import carbonate, seawater
from ramet.science.heat import events, pack_share
from ramet.science.network import network
from ramet.science.packed import ColdPack, HeatPack, Limit, PlainMass, Surroundings

HOLDS = Path(__file__).parent / "reference_boxes.csv"
LAST_H = 72.0
_S_PER_H = 3600.0


class ReferenceBox:
    """The right-hand side of a box: bodies, packs by enthalpy, then the pools of its first bag."""

    def __init__(self, box, around):
        self.box, self.around, self.net = box, around, network(box, PARAMETERS)
        self.n, self.p = self.net.capacity_j_k.size, len(self.net.phases)
        self.bag = ReferenceBag(box.bags[0], PARAMETERS, lambda _: self.bag_c)
        self.bag_c = box.bags[0].start_c
        phases = [phase.start_j for phase in self.net.phases]
        self.start = np.concatenate([self.net.start_c, phases, self.bag.start])

    def rates(self, hours, y):
        net, n = self.net, self.n
        bodies = y[:n]
        outside = float(np.interp(hours, self.around.hours, self.around.temperature_c))
        cold = [
            float(p.temperature_c(np.array(h))) for p, h in zip(net.phases, y[n : n + self.p], strict=True)
        ]
        watts = sum(float(pack_share(p, np.array(hours))) * p.watts.typical for p in self.box.heat_packs)
        into_air = watts + sum(p.to_air_w_k * t for p, t in zip(net.phases, cold, strict=True))
        whole = net.to_air_w_k.sum() + net.leak_w_k + sum(p.to_air_w_k for p in net.phases)
        air = outside
        for _ in range(60):
            k = net.walls.conductivity(np.array(0.5 * (air + outside)))
            gf = net.free_wall_m2 * float(net.walls.free_w_m2k(k))
            held = net.to_air_w_k @ bodies + (gf + net.leak_w_k) * outside + into_air
            before, air = air, held / (whole + gf)
            if abs(air - before) < 1e-13:
                break
        touched = float(net.walls.touched_w_m2k(k))
        into = net.touches_m2 * touched * (outside - bodies) + net.to_air_w_k * (air - bodies)
        into += net.between_w_k @ bodies - net.between_w_k.sum(axis=1) * bodies
        gains = [
            p.to_air_w_k * (air - t) + p.touches_m2 * self._touched0() * (outside - t)
            for p, t in zip(net.phases, cold, strict=True)
        ]
        self.bag_c = bodies[0]
        pools = self.bag.rates(hours, y[n + self.p :])
        return np.concatenate([into / net.capacity_j_k * _S_PER_H, np.array(gains) * _S_PER_H, pools])

    def _touched0(self):
        """Plain ice lies against a wall of typical foam; packs touch none."""
        middle = 0.5 * (self.net.start_c.mean() + self.around.temperature_c.mean())
        return float(self.net.walls.touched_w_m2k(self.net.walls.conductivity(np.array(middle))))

    def value(self, limit, y):
        if limit.quantity == "temperature_c":
            return float(y[0])
        salinity = self.box.bags[0].salinity
        return float(y[self.n + self.p] * 31.9988e-3 * seawater.litre_to_kg(y[0], salinity))

    def pace(self, limit, y):
        """How fast time counts: double for low oxygen in acid water, and for heat with low oxygen."""
        pools, salinity = y[self.n + self.p :], self.box.bags[0].salinity
        if limit.quantity == "oxygen_mg_l":
            acid = 10.0 ** (6.0 - float(carbonate.ph_total(pools[2], pools[4], y[0], salinity)))
            once, twice = (10.0 ** (6.0 - ph) for ph in (PARAMETERS.low_ph.high, PARAMETERS.low_ph.low))
            return 1.0 + min(max((acid - once) / (twice - once), 0.0), 1.0)
        if limit.below:
            return 1.0
        oxygen = self.value(replace(limit, quantity="oxygen_mg_l"), y)
        level = PARAMETERS.double_dose_oxygen_mg_l
        return 1.0 + min(max((level.high - oxygen) / (level.high - level.low), 0.0), 1.0)

    def hold_h(self, limit):
        """Hours until the dose is full, from dense output; LAST_H when it never is."""
        sign = 1.0 if limit.below else -1.0
        corners = events(np.array([0.0, LAST_H]), self.around, [self.box])
        y, dose = self.start, 0.0
        for start, end in pairwise(corners):
            # a longest step, lest a pack that thaws within one is stepped over
            found = solve_ivp(
                self.rates, (start, end), y, "LSODA", dense_output=True, rtol=1e-8, atol=1e-8, max_step=0.1
            )
            assert found.success, found.message

            def beyond(t, answer=found.sol):
                return sign * (limit.level - self.value(limit, answer(t)))

            grid = np.linspace(start, end, max(3, int((end - start) * 100)))
            values = [beyond(t) for t in grid]
            for (low, one), (high, two) in pairwise(zip(grid, values, strict=True)):
                if one <= 0 and two <= 0:
                    continue
                first, last = low, high
                if one * two < 0:
                    crossing = brentq(beyond, low, high, xtol=1e-10)
                    first, last = (crossing, high) if two > 0 else (low, crossing)
                pace = self.pace(limit, found.sol(0.5 * (first + last)))
                if dose + pace * (last - first) >= limit.hours:
                    return first + (limit.hours - dose) / pace
                dose += pace * (last - first)
            y = found.y[:, -1]
        return LAST_H


def colder(level_c, hours=0.0):
    return Limit("cold", "temperature_c", True, level_c, hours)


def warmer(level_c, hours=0.0):
    return Limit("heat", "temperature_c", False, level_c, hours)


def stuffy(level_mg_l, hours=0.0):
    return Limit("oxygen_low", "oxygen_mg_l", True, level_mg_l, hours)


def ramp(*points):
    hours, air = (np.array(values, dtype=float) for values in zip(*points, strict=True))
    return Surroundings(hours, air, np.ones(hours.size), np.ones(hours.size), 0.0, 0.0)


PACK = HeatPack(exactly(2.25), 1.0, 40.0, 0.0, True)
ICE = ColdPack(0.25, 0.0, 334e3, 4186.0, -18.0, 0.35, 2100.0)
MELTING = ColdPack(0.45, 23.0, 175e3, 2200.0, 25.0, 0.45)
SUMMER = ramp((0, 24), (3, 31), (9, 35), (20, 27), (32, 36), (72, 33))


def cases():
    """Named boxes with their air and the one limit of their first bag."""
    frag, jar = a_bag(0.2, 0.4, 30.0, at_mm=(0, 0, 0)), a_bag(0.08, 0.12, 250.0, at_mm=(0, 0, 0))
    other = a_bag(0.3, 0.6, 50.0, id="b", at_mm=(95, 0, 0), limits=())
    two = [frag, other]
    late, later = replace(PACK, starts_h=6.0), replace(PACK, starts_h=12.0, warm_up_h=0.5)
    plain = {"k_slope": 0.005}
    iced = {"cold_packs": (ICE,), **plain}
    kitchen = {"masses": (PlainMass(0.6, 4186.0, 0.0, 0.6), PlainMass(1.0, 4186.0, 20.0)), **plain}
    steep = ramp((0, 24), (0.1, 2), (72, 2))
    return {
        "no pack, cold, 5 h": (two, plain, steady(8.0), colder(18.0, 5.0)),
        "no pack, cold at once": (two, plain, steady(8.0), colder(16.0)),
        "no pack, thrown into the cold": (two, plain, steep, colder(14.0)),
        "pack from the start": (two, {"heat_packs": (PACK,), **plain}, steady(8.0), colder(15.0, 5.0)),
        "pack on after 6 h": (two, {"heat_packs": (late,), **plain}, steady(6.0), colder(14.0, 5.0)),
        "pack on after 12 h": (two, {"heat_packs": (later,), **plain}, steady(10.0), colder(16.0, 8.0)),
        "pack burns out": (
            two,
            {"heat_packs": (replace(PACK, lasts_h=20.0),), **plain},
            steady(12.0),
            colder(16.0),
        ),
        "two packs too hot": (two, {"heat_packs": (PACK, PACK), **plain}, steady(24.0), warmer(30.0, 2.0)),
        "ice runs out": (two, iced, steady(33.0), warmer(28.0)),
        "ice runs out, dose": (two, iced, steady(32.0), warmer(28.5, 3.0)),
        "ice runs out in summer": (two, {**iced, "cold_packs": (ICE, ICE)}, SUMMER, warmer(30.0, 2.0)),
        "ice chills": (two, {**iced, "cold_packs": (ICE, ICE)}, steady(20.0), colder(17.0)),
        "plain ice in the box": (two, kitchen, steady(30.0), warmer(25.5)),
        "melts at 23 °C, cold": (two, {"cold_packs": (MELTING,), **plain}, steady(12.0), colder(18.0, 2.0)),
        "melts at 23 °C, pack on after 6 h": (
            two,
            {"cold_packs": (MELTING,), "heat_packs": (late,), **plain},
            steady(4.0),
            colder(14.0, 3.0),
        ),
        "melts at 23 °C, summer": (
            two,
            {"cold_packs": (replace(MELTING, start_c=20.0),), **plain},
            SUMMER,
            warmer(29.0, 2.0),
        ),
        "big coral, little water": ([jar, other], plain, steady(20.0), stuffy(2.0)),
        "big coral, pack on": (
            [jar, other],
            {"heat_packs": (PACK,), **plain},
            steady(12.0),
            stuffy(0.5, 1.0),
        ),
        "frag warmed by a pack": (two, {"heat_packs": (PACK, PACK), **plain}, steady(20.0), stuffy(4.8)),
        "frag cooled by ice": (
            [replace(frag, animals=jar.animals), other],
            iced,
            steady(32.0),
            stuffy(2.0, 2.0),
        ),
    }


def case_box(name):
    """The box of a case, and its air."""
    bags, others, around, limit = cases()[name]
    first = replace(bags[0], limits=(limit,))
    return a_box([first, *bags[1:]], (300, 250, 250), **others), around, limit


def main():
    with HOLDS.open("w", newline="", encoding="utf-8") as file:
        rows = csv.writer(file, lineterminator="\n")
        rows.writerow(["case", "hours"])
        for name in cases():
            box, around, limit = case_box(name)
            rows.writerow([name, f"{ReferenceBox(box, around).hold_h(limit):.6f}"])


if __name__ == "__main__":
    main()
