"""pH of a hundred thousand waters: seconds of our kernel, cold and with a start, beside the GPL reference.

Run: python -m bench.water
"""

import time
from collections.abc import Callable

import numpy as np
import PyCO2SYS

from ramet.science import carbonate

POINTS = 100_000


def _best_s(run: Callable[[], object], times: int) -> float:
    seconds = []
    for _ in range(times):
        began = time.perf_counter()
        run()
        seconds.append(time.perf_counter() - began)
    return min(seconds)


def main() -> None:
    """Print seconds, the ratio to the reference in the same run, and the largest difference in pH."""
    dice = np.random.default_rng(1)
    celsius, salinity = dice.uniform(10, 35, POINTS), dice.uniform(25, 40, POINTS)
    ph, alkalinity = dice.uniform(6, 8.5, POINTS), dice.uniform(1500, 4000, POINTS)
    dic = carbonate.dic_from_ph(ph, alkalinity, celsius, salinity)

    def reference() -> np.ndarray:
        answer = PyCO2SYS.sys(
            par1=alkalinity,
            par1_type=1,
            par2=dic,
            par2_type=2,
            salinity=salinity,
            temperature=celsius,
            opt_k_carbonic=10,
            opt_total_borate=1,
        )
        return np.asarray(answer["pH_total"])

    cold = _best_s(lambda: carbonate.ph_total(dic, alkalinity, celsius, salinity), 7)
    warm = _best_s(lambda: carbonate.ph_total(dic, alkalinity, celsius, salinity, start=ph + 0.01), 7)
    theirs = _best_s(reference, 1)
    off = float(np.abs(carbonate.ph_total(dic, alkalinity, celsius, salinity) - reference()).max())
    print(f"pH of {POINTS} waters: {cold * 1e3:.0f} ms, with a start {warm * 1e3:.0f} ms")
    print(f"reference {theirs * 1e3:.0f} ms, {theirs / cold:.0f} times as long; largest difference {off:.5f}")


if __name__ == "__main__":
    main()
