"""Choosing and packing on generated instances of the demo's size: value, bound, gap, seconds, ratios.

Run: python -m bench.packing [--seeds N] [--effort-s S]
"""

import argparse
import random
import time

from ramet.optimise.choose import choose
from ramet.optimise.problem import Bin, Body, Budget, Choice, Item, Line, Problem

FLAT_WIDTHS_MM = (102, 127, 152, 178, 203, 254)


def instance(seed: int, layers: int, candidates: int = 45, boxes: int = 3) -> Problem:
    """Return an instance of the demo's shape: tied round bags by flat width, filled to several heights.

    Diameter is 2 w / pi; one layer has bags of 150-230 mm, two layers of 80-130 mm, in boxes of 250-280 mm.
    """
    dice = random.Random(seed * 10 + layers)
    lines = tuple(
        Line(f"r{k:02}", 0 if k < 4 else 1 if k < 12 else 2, dice.randint(1, 3), dice.randint(5, 40))
        for k in range(20)
    )
    low, high = (150, 230) if layers == 1 else (80, 130)
    items = []
    for k in range(candidates):
        line = k % 20
        small = dice.randint(0, 3)
        choices = []
        for step, flat in enumerate(FLAT_WIDTHS_MM[small : small + dice.randint(2, 3)]):
            side = round(2 * flat / 3.14159) + 6
            for height in (dice.randint(low, high), dice.randint(low, high)):
                mass = round(side * side * height * 3.14159 / 4 * 0.35 * 1.024 / 1000) + 60
                margin = round(height * side * (1 + step) / 60) + dice.randint(0, 60)
                choices.append(Choice((side, side, height), mass, margin, 2000 if dice.random() < 0.8 else 0))
        items.append(
            Item(
                f"i{k:03}", (f"p{k:03}",), line, f"s{line}{k % 2}", line % 5 == 0, line % 4 == 0,
                tuple(choices), {"tank": dice.randint(1, 4)},
            )
        )  # fmt: skip
    pack = Body((100, 100, 195 if layers == 1 else 225), (130, 100, 40))
    bins = tuple(
        Bin(
            f"b{k}",
            (400, 300, 250) if k < 2 else (300, 230, 235),
            14000,
            900,
            8000,
            500,
            (pack,) if k == 0 else (),
        )
        for k in range(boxes)
    )
    return Problem(lines, tuple(items), bins, {"tank": 1000})


def main() -> None:
    """Run the instances and print one line each."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--seeds", type=int, default=3)
    parser.add_argument("--effort-s", type=float, default=3.0)
    arguments = parser.parse_args()
    for layers in (1, 2):
        for seed in range(arguments.seeds):
            problem = instance(seed, layers)
            began = time.perf_counter()
            result = choose(problem, Budget(arguments.effort_s, 1))
            took = time.perf_counter() - began
            goals = " ".join(f"{g.goal}={g.value}/{g.bound}{'*' if g.proven else ''}" for g in result.goals)
            print(
                f"{layers} layer seed {seed}: {len(result.placed)} bags "
                f"{len(result.boards)} boards {took:.1f} s {goals}"
            )


if __name__ == "__main__":
    main()
