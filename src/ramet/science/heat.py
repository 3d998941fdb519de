"""Temperatures in a box over a journey, for many scenarios at once.

The network of bags is nearly linear, so its typical form is carried exactly (exponential integrator over the
modes of the network) and what differs - foam of this scenario, foam at this temperature - is added as a slow
correction of second order. Two more rows integrate the heat through the walls and the air temperature, so
that energy can be closed to rounding. The head-space air has no mass: its balance is algebraic.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ramet.domain.band import Band
from ramet.science.blocks import times_columns
from ramet.science.melting import PhaseBody
from ramet.science.modes import Propagator, modes_of
from ramet.science.network import Network, network, wall_of
from ramet.science.packed import HeatPack, PackedBox, Surroundings
from ramet.science.scenarios import P95, Scenarios, TransitParameters, drawn, spread

Array = NDArray[np.float64]

_S_PER_H = 3600.0
_FADE_SHARE = 0.1
"""A heat pack fades over this share of its life before and after its rated end."""
_ROUNDS = 4
_AGREED_K = 1e-3
"""Most rounds in which packs and air agree on their mean temperatures over a step, and how closely."""


@dataclass(frozen=True, slots=True)
class BoxHeat:
    """Temperatures of one box. Axes: time, (bag,) scenario. `energy` holds joules at the end."""

    bag_c: Array
    air_c: Array
    phase_c: Array
    energy: "Energy"


@dataclass(frozen=True, slots=True)
class Energy:
    """Heat since hour 0 [J]: gained by bags, goods and packs; through the walls; from heat packs."""

    stored: Array
    through_walls: Array
    from_packs: Array

    def part(self, columns: slice) -> "Energy":
        """Return the heat in some scenarios."""
        return Energy(self.stored[columns], self.through_walls[columns], self.from_packs[columns])


def steady_lift_k(watts: float, conductance_w_k: float) -> float:
    """Return how far a heat source lifts a box above its surroundings in the end [K]: P / UA."""
    return watts / conductance_w_k


def box_conductance_w_k(box: PackedBox, mean_foam_c: float = 24.0) -> float:
    """Return the conductance of all walls from inner air to outer air, with the lid's leak [W/K]."""
    walls = wall_of(box)
    k = walls.conductivity(np.array(mean_foam_c))
    return float(walls.free_w_m2k(k)) * walls.area_m2 + box.lid_leak_w_k


def outside_c(around: Surroundings, hours: Array, scenarios: Scenarios) -> Array:
    """Return the surroundings at each hour in each scenario [°C]; axes time, scenario."""
    typical = np.interp(hours, around.hours, around.temperature_c)
    error = scenarios.deviates["ambient"] * (around.offset_c / P95)
    return np.asarray(typical[:, None] + error[None, :])


def run_box(
    box: PackedBox,
    hours: Array,
    outside: Array,
    parameters: TransitParameters,
    scenarios: Scenarios,
) -> BoxHeat:
    """Carry one box from hour 0 through `hours` (which must hold all events of packs and surroundings)."""
    net = network(box, parameters)
    return _Run(net, box.k_w_mk, hours, outside, parameters, scenarios).go(len(box.bags))


def box_only(
    box: PackedBox,
    hours: Array,
    around: Surroundings,
    parameters: TransitParameters,
    scenarios: Scenarios,
) -> Array:
    """Return the temperature of the mean bag before its place is known; axes time, scenario [°C].

    Parameters
    ----------
    box
        With its bags lumped into one that carries all the water, at no known place; packs as wished.
    """
    grid = events(hours, around, (box,))
    outside = outside_c(around, grid, scenarios)
    found = run_box(box, grid, outside, parameters, scenarios)
    at = np.searchsorted(grid, hours - 1e-9)
    return np.asarray(found.bag_c[at].mean(axis=1))


def events(hours: Array, around: Surroundings, boxes: Sequence[PackedBox]) -> Array:
    """Return the grid with the corners of the surroundings and of all heat packs added."""
    last = float(hours[-1])
    corners = [around.hours] + [_pack_corners(p) for box in boxes for p in box.heat_packs]
    extra = np.concatenate(corners) if corners else np.array([])
    merged = np.unique(np.round(np.concatenate([hours, extra[(extra > 0) & (extra < last)]]), 9))
    keep = np.concatenate([[True], np.diff(merged) > 1e-6])
    return np.asarray(merged[keep])


def pack_share(pack: HeatPack, hours: Array) -> Array:
    """Return a pack's output over time as a share of its plateau: warm-up, plateau, fade."""
    corners = _pack_corners(pack)
    return np.asarray(np.interp(hours, corners, [0.0, 1.0, 1.0, 0.0], left=0.0, right=0.0))


def _pack_corners(pack: HeatPack) -> Array:
    fade = _FADE_SHARE * pack.lasts_h
    start = pack.starts_h
    full = start + min(max(pack.warm_up_h, 1e-3), pack.lasts_h - fade - 1e-3)
    return np.array([start, full, start + pack.lasts_h - fade, start + pack.lasts_h + fade])


class _Run:
    """One box on its way."""

    def __init__(
        self,
        net: Network,
        k_w_mk: Band,
        hours: Array,
        outside: Array,
        parameters: TransitParameters,
        scenarios: Scenarios,
    ) -> None:
        self.net, self.hours, self.outside = net, hours, outside
        self.foam = spread(k_w_mk, scenarios.deviates["foam_k"]) / k_w_mk.typical
        self.packs_w = _pack_watts(net, hours, parameters, scenarios)
        middle = 0.5 * (float(net.start_c.mean() if net.start_c.size else 20.0) + float(outside.mean()))
        k = net.walls.conductivity(np.array(middle))
        self.touched0 = float(net.walls.touched_w_m2k(k))
        self.free0 = float(net.walls.free_w_m2k(k))
        self.wall = net.touches_m2 * self.touched0
        self.gf = net.free_wall_m2 * self.free0 + net.leak_w_k
        self.den = float(net.to_air_w_k.sum()) + self.gf + sum(p.to_air_w_k for p in net.phases)
        per = (_S_PER_H / net.capacity_j_k)[:, None]
        self.wall_rate, self.air_rate = self.wall[:, None] * per, (net.to_air_w_k / self.den)[:, None] * per
        self.modes = modes_of(net, self.wall, self.gf, self.den)
        self.steps: dict[float, Propagator] = {}
        self.known: _AirNow | None = None
        self.known_for: Array = np.zeros(0)
        n, count = net.capacity_j_k.size, self.foam.size
        offset = drawn(parameters, scenarios, "start_offset_c")
        self.y = np.zeros((n + 2, count))
        self.y[:n] = net.start_c[:, None] + offset[None, :]
        self.start_c = self.y[:n].copy()
        self.enthalpy = [np.full(count, phase.start_j) for phase in net.phases]
        self.wall_extra = np.zeros(count)

    def go(self, bags: int) -> BoxHeat:
        """Run through all hours."""
        nt, count = self.hours.size, self.foam.size
        bag_c, air_c = np.empty((nt, bags, count)), np.empty((nt, count))
        phase_c = np.empty((nt, len(self.net.phases), count))
        lengths = np.diff(self.hours)
        for i in range(nt):
            if i > 0:
                self._step(float(lengths[i - 1]), self.outside[i - 1], self.outside[i], self.packs_w[i - 1])
            watts = self.packs_w[max(i - 1, 0)]
            into_air = watts
            if self.net.phases:
                phase_c[i] = self._phase_c()
                into_air = watts + self._phase_heat(phase_c[i])
            bag_c[i] = self.y[:bags]
            self.known = self._air_from(self.y, self.outside[i], into_air)
            self.known_for = watts
            air_c[i] = self.known.air_c
        return BoxHeat(bag_c, air_c, phase_c, self._energy())

    def _step(self, hours: float, before: Array, after: Array, watts: Array) -> None:
        move, n = self._propagator(hours), self.net.capacity_j_k.size
        into_air = watts + self._phase_heat(self._phase_c()) if self.net.phases else watts
        known, self.known = self.known, None
        if known is None or not np.array_equal(self.known_for, watts):
            known = self._air_from(self.y, before, into_air)
        first = self._correction(self.y[:n], before, known)
        ahead = times_columns(move.both, np.concatenate([self.y[:n], first]))
        ahead[n:] += self.y[n:]
        ahead += times_columns(move.forced, np.stack([before, after, into_air]))
        outside = 0.5 * (before + after)
        if self.net.phases:
            means = self._phase_means(
                ahead[-1] - self.y[-1], into_air - watts, move.forced[-1, 2], outside, hours
            )
            change = watts + self._phase_heat(means) - into_air
            ahead += move.forced[:, 2:] * change
            into_air = into_air + change
        second = self._correction(ahead[:n], after, self._air_from(ahead, after, into_air))
        second -= first
        ahead += times_columns(move.linear, second)
        if self.net.phases:
            self._phase_step(means, ahead[-1] - self.y[-1], outside, hours)
        self.y = ahead

    def _air_from(self, y: Array, outside: Array, into_air: Array) -> "_AirNow":
        """Return air temperature, and how much wall conductances exceed the typical."""
        pull = self.net.to_air_w_k @ y[: self.net.to_air_w_k.size]
        pull += into_air
        foam_c = self.gf * outside
        foam_c += pull
        foam_c /= self.den
        foam_c += outside
        foam_c *= 0.5
        resistance = self.net.walls.resistance_m2k_w(self.net.walls.conductivity(foam_c) * self.foam)
        free = self.net.free_wall_m2 / (resistance + 1.0 / self.net.walls.h_in_w_m2k)
        free -= self.net.free_wall_m2 * self.free0
        touched = (1.0 / self.touched0) / resistance
        touched -= 1.0
        air = self.gf + free
        air *= outside
        air += pull
        air /= self.den + free
        return _AirNow(air, touched, free)

    def _correction(self, bag_c: Array, outside: Array, now: "_AirNow") -> Array:
        """Return the rates that the typical network leaves out: of the bags, of wall heat, of air hours."""
        n = bag_c.shape[0]
        out = np.empty((n + 2, bag_c.shape[1]))
        extra = outside - now.air_c
        extra *= now.free_w_k
        through = outside - bag_c
        through *= now.touched_share
        np.multiply(self.wall_rate, through, out=out[:n])
        out[:n] += self.air_rate * extra
        np.matmul(self.wall, through, out=out[n])
        out[n] += extra * (1.0 - self.gf / self.den)
        out[n] *= _S_PER_H
        np.divide(extra, self.den, out=out[n + 1])
        return out

    def _propagator(self, hours: float) -> Propagator:
        key = round(hours, 9)
        if key not in self.steps:
            self.steps[key] = self.modes.over(key)
        return self.steps[key]

    def _phase_c(self) -> Array:
        phases = self.net.phases
        if not phases:
            return np.empty((0, self.foam.size))
        return np.array([p.temperature_c(h) for p, h in zip(phases, self.enthalpy, strict=True)])

    def _phase_heat(self, temperature_c: Array) -> Array:
        heat = np.zeros(self.foam.size)
        for phase, t in zip(self.net.phases, temperature_c, strict=True):
            heat = heat + phase.to_air_w_k * t
        return heat

    def _phase_gain(self, phase: PhaseBody, t: Array, air_h: Array, outside: Array, hours: float) -> Array:
        through = phase.touches_m2 * self.touched0 * (outside - t) * hours
        return np.asarray(_S_PER_H * (phase.to_air_w_k * (air_h - t * hours) + through))

    def _phase_means(
        self, air_h: Array, heat_w: Array, per_watt: float, outside: Array, hours: float
    ) -> Array:
        """Return the mean temperature of each pack over a step, in agreement with the air they cool or warm.

        `air_h` is what the air gathers [°C h] when packs give `heat_w`, `per_watt` more for each watt.
        """
        means = np.zeros((len(self.net.phases), air_h.size))
        gathered = air_h
        for _ in range(_ROUNDS):
            before = means.copy()
            for i, (phase, enthalpy) in enumerate(zip(self.net.phases, self.enthalpy, strict=True)):
                wall_w_k = phase.touches_m2 * self.touched0
                w_k = phase.to_air_w_k + wall_w_k
                around = (phase.to_air_w_k / (w_k * hours)) * gathered + (wall_w_k / w_k) * outside
                means[i] = phase.mean_c(enthalpy, around, w_k, hours)
            if np.abs(means - before).max() < _AGREED_K:
                break
            gathered = air_h + per_watt * (self._phase_heat(means) - heat_w)
        return means

    def _phase_step(self, middle: Array, air_h: Array, outside: Array, hours: float) -> None:
        for i, phase in enumerate(self.net.phases):
            self.enthalpy[i] = self.enthalpy[i] + self._phase_gain(phase, middle[i], air_h, outside, hours)
            through = phase.touches_m2 * self.touched0 * (outside - middle[i]) * hours
            self.wall_extra = self.wall_extra + _S_PER_H * through

    def _energy(self) -> Energy:
        n = self.net.capacity_j_k.size
        stored = self.net.capacity_j_k @ (self.y[:n] - self.start_c)
        for phase, enthalpy in zip(self.net.phases, self.enthalpy, strict=True):
            stored = stored + (enthalpy - phase.start_j)
        steps = np.diff(self.hours)[:, None]
        packs = (self.packs_w * steps).sum(axis=0) * _S_PER_H
        return Energy(np.asarray(stored), self.y[n] + self.wall_extra, packs)


@dataclass(frozen=True, slots=True)
class _AirNow:
    """Air at one moment, and how much the walls pass beyond the typical: a share, and watts per kelvin."""

    air_c: Array
    touched_share: Array
    free_w_k: Array


def _pack_watts(net: Network, hours: Array, parameters: TransitParameters, scenarios: Scenarios) -> Array:
    """Return the mean power of all packs in each step [W]; axes step, scenario.

    A pack that cannot breathe burns no more than the free air in the box feeds.
    """
    steps = np.diff(hours)
    total = np.zeros((steps.size, scenarios.count))
    sealed = [pack for pack in net.heat_packs if not pack.vented]
    budget_j = parameters.pack_air_kj_l.typical * 1e3 * net.air_l / max(len(sealed), 1)
    for pack in net.heat_packs:
        share = pack_share(pack, hours)
        watts = spread(pack.watts, scenarios.deviates["pack_watts"])[None, :]
        joules = (0.5 * (share[1:] + share[:-1]) * steps * _S_PER_H)[:, None] * watts
        if not pack.vented:
            so_far = np.minimum(np.cumsum(joules, axis=0), budget_j)
            joules = np.diff(so_far, axis=0, prepend=0.0)
        total += joules / (steps * _S_PER_H)[:, None]
    return total
