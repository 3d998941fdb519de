"""How fast journeys are forecast: whole boxes, bag options, one box alone, and scipy on the same equations.

Run with `python -m bench.journey`. All figures come from one run, so that their ratios mean something; each
is the best of several, since other work on the machine only ever adds. `python -m bench.journey cold` is one
forecast in a fresh process: time it from outside.
"""

import resource
import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

from ramet.domain.band import Band
from ramet.reference.tables import load_reference
from ramet.science.heat import box_only
from ramet.science.journey import forecast, forecast_at
from ramet.science.packed import ColdPack, HeatPack, Lateness, PackedBag, PackedBox, Surroundings
from ramet.science.scenarios import TransitParameters, draw
from ramet.services.trials.transit_inputs import transit_parameters

sys.path.insert(0, str(Path(__file__).parents[1] / "tests" / "science"))

LATENESS = Lateness(0.08, 6.0, 0.02)
PACK = HeatPack(Band(1.4, 2.25, 3.1), 1.0, 40.0, 0.0, True)
MELTING = ColdPack(0.4, 22.0, 180e3, 2100.0, 24.0, 0.5)


def main() -> None:
    """Print the figures."""
    from journey_cases import a_bag, a_box

    parameters = transit_parameters(load_reference())
    boxes, around = _three_boxes(a_bag, a_box), _winter()
    if sys.argv[1:] == ["cold"]:
        forecast(boxes, around, parameters, draw(parameters, LATENESS, 1024, 1), 96.0)
        return
    for count in (64, 256, 1024):
        scenarios = draw(parameters, LATENESS, count, 1)
        took = _best(lambda many=scenarios: forecast(boxes, around, parameters, many, 96.0), 3)
        print(f"30 bags, 3 boxes, 96 h, {count} scenarios and late journeys: {_said(took)}")
    print(f"peak memory so far: {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB")
    _options(a_bag, parameters)
    _boxes_alone(a_bag, a_box, parameters, around)
    _beside_scipy(a_bag, parameters)


def _options(a_bag: Callable[..., PackedBag], parameters: TransitParameters) -> None:
    options = [a_bag(0.1 + 0.001 * i, 0.3, 10 + 0.2 * i, id=str(i)) for i in range(360)]
    grid, few = np.arange(0, 45.1, 1.0), draw(parameters, LATENESS, 64, 1)
    warm = np.repeat(few.deviates["ambient"][None, :] + 24.0, grid.size, axis=0)
    took = _best(lambda: forecast_at(options, grid, warm, parameters, few), 3)
    print(f"360 bag options, 64 scenarios, 45 h: {_said(took)}")


def _boxes_alone(
    a_bag: Callable[..., PackedBag],
    a_box: Callable[..., PackedBox],
    parameters: TransitParameters,
    around: Surroundings,
) -> None:
    lump, grid = a_bag(6.0, 12.0, size_mm=(260, 260, 260)), np.arange(0, 45.1, 1.0)
    few = draw(parameters, LATENESS, 64, 1)
    for words, cold in (("heat packs", ()), ("heat packs and one that melts at 22 °C", (MELTING,))):
        box = a_box([lump], (400, 300, 250), heat_packs=(PACK, PACK), cold_packs=cold, k_slope=0.005)
        took = _best(lambda one=box: box_only(one, grid, around, parameters, few), 20)
        print(f"one lumped bag, {words}, 64 scenarios, 45 h: {_said(took)}")


def _beside_scipy(a_bag: Callable[..., PackedBag], parameters: TransitParameters) -> None:
    from reference_bag import ReferenceBag

    many = draw(parameters, LATENESS, 1024, 1)
    grid = np.arange(0, 72.1, 0.5)
    ours = _best(lambda: forecast_at([a_bag()] * 6, grid, np.full(grid.size, 24.0), parameters, many), 3)
    reference = ReferenceBag(a_bag(limits=()), parameters, 24.0)
    theirs = _best(lambda: reference.solve(grid, rtol=1e-6), 3)
    each = ours[1] / (6 * 1024)
    print(
        f"one bag, one scenario, 72 h: scipy LSODA (rtol 1e-6) {theirs[1] * 1e3:.0f} ms, "
        f"ours {each * 1e6:.0f} µs: {theirs[1] / each:.0f} times"
    )


def _best(work: Callable[[], object], runs: int) -> tuple[float, float]:
    """Return the least wall and processor seconds of several runs after one to warm up."""
    work()
    walls, processors = zip(*(_timed(work) for _ in range(runs)), strict=True)
    return min(walls), min(processors)


def _said(took: tuple[float, float]) -> str:
    unit, factor = ("s", 1.0) if took[0] >= 0.1 else ("ms", 1e3)
    return f"{took[0] * factor:.2f} {unit} ({took[1] * factor:.2f} {unit} of processor)"


def _timed(work: Callable[[], object]) -> tuple[float, float]:
    wall, cpu = time.perf_counter(), time.process_time()
    work()
    return time.perf_counter() - wall, time.process_time() - cpu


def _three_boxes(a_bag: Callable[..., PackedBag], a_box: Callable[..., PackedBox]) -> list[PackedBox]:
    boxes = []
    for b in range(3):
        bags = [
            a_bag(
                area_cm2=15.0 + 5 * i,
                id=f"{b}-{i}",
                sealed_before_h=1.5 + 0.1 * i,
                at_mm=(95 * (i % 4), 95 * (i // 4), 0),
            )
            for i in range(10)
        ]
        boxes.append(a_box(bags, (400, 300, 250), heat_packs=(PACK, PACK), k_w_mk=Band(0.033, 0.036, 0.04)))
    return boxes


def _winter() -> Surroundings:
    return Surroundings(
        hours=np.array([0.0, 2, 2.5, 10, 14, 20, 24, 26]),
        temperature_c=np.array([20.0, 19, 12, 10, 12, 14, 18, 20]),
        motion=np.ones(8),
        pressure_atm=np.ones(8),
        offset_c=3.0,
        delay_at_h=12.0,
    )


if __name__ == "__main__":
    main()
