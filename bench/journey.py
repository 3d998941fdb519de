"""How fast journeys are forecast: scenarios a second against scipy on the same equations, and bag options.

Run with `python -m bench.journey`. All figures come from one run, so that their ratios mean something.
"""

import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

from ramet.domain.band import Band
from ramet.reference.tables import load_reference
from ramet.science.journey import forecast, forecast_at
from ramet.science.packed import HeatPack, Lateness, PackedBag, PackedBox, Surroundings
from ramet.science.scenarios import draw
from ramet.services.transit_inputs import transit_parameters

sys.path.insert(0, str(Path(__file__).parents[1] / "tests" / "science"))

LATENESS = Lateness(0.08, 6.0, 0.02)


def main() -> None:
    """Print the figures."""
    from journey_cases import a_bag, a_box
    from reference_bag import ReferenceBag

    parameters = transit_parameters(load_reference())
    boxes = _three_boxes(a_bag, a_box)
    around = _winter()
    for count in (256, 1024):
        scenarios = draw(parameters, LATENESS, count, 1)
        forecast(boxes, around, parameters, scenarios.part(0, 8), 96.0)
        wall, cpu = _timed(lambda many=scenarios: forecast(boxes, around, parameters, many, 96.0))
        print(f"30 bags, 3 boxes, 96 h, {count} scenarios: {wall:.2f} s ({cpu:.2f} s of processor)")
    options = [a_bag(0.1 + 0.001 * i, 0.3, 10 + 0.2 * i, id=str(i)) for i in range(360)]
    grid, few = np.arange(0, 72.1, 0.5), draw(parameters, LATENESS, 64, 1)
    warm = np.full(grid.size, 24.0)
    wall, cpu = _timed(lambda: forecast_at(options, grid, warm, parameters, few))
    print(f"360 bag options, 64 scenarios, 72 h: {wall:.2f} s ({cpu:.2f} s of processor)")
    ours = wall / (360 * 64)
    one = a_bag(limits=())
    reference = ReferenceBag(one, parameters, 24.0)
    theirs, _ = _timed(lambda: reference.solve(grid, rtol=1e-6))
    print(
        f"one bag, 72 h: scipy LSODA (rtol 1e-6) {theirs * 1e3:.0f} ms, ours {ours * 1e6:.0f} µs: "
        f"{theirs / ours:.0f} times"
    )


def _timed(work: Callable[[], object]) -> tuple[float, float]:
    wall, cpu = time.perf_counter(), time.process_time()
    work()
    return time.perf_counter() - wall, time.process_time() - cpu


def _three_boxes(a_bag: Callable[..., PackedBag], a_box: Callable[..., PackedBox]) -> list[PackedBox]:
    pack = HeatPack(Band(1.4, 2.25, 3.1), 1.0, 40.0, 0.0, True)
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
        boxes.append(a_box(bags, (400, 300, 250), heat_packs=(pack, pack), k_w_mk=Band(0.033, 0.036, 0.04)))
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
