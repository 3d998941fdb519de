"""Choosing and packing on generated instances of the demo's size: value, bound, gap, seconds, ratios.

Run: python -m bench.packing [--seeds N] [--effort-s S] [--large]
"""

import argparse
import random
import time

from bench.packing_rivals import by_py3dbp, by_rectpack
from ramet.optimise.choose import choose
from ramet.optimise.draft import Draft
from ramet.optimise.goals import Packing, item_value, values
from ramet.optimise.greedy import best_start
from ramet.optimise.options import Option, options
from ramet.optimise.problem import Bin, Body, Budget, Choice, Item, Line, Problem, Progress, Result
from ramet.optimise.replan import Change, replan
from ramet.optimise.spread import spread_needed

FLAT_WIDTHS_MM = (102, 127, 152, 178, 203, 254)


def instance(seed: int, layers: int, candidates: int = 45, boxes: int = 3) -> Problem:
    """Return an instance of the demo's shape: tied round bags by flat width, filled to several heights.

    Of its request lines, 20 for 45 candidates, a fifth are musts and two fifths wants.

    Diameter is 2 w / pi and 6 mm of play. One layer: bags of 150-230 mm in boxes of 350 x 280 x 250 mm;
    two layers: bags of 80-130 mm in boxes of 310 x 180 x 240 mm. Both are boxes of the tables; each has a
    heat pack in its lid with 40 mm of air below it. About 30 bags find room in three.
    """
    dice = random.Random(seed * 10 + layers)
    count = 20 * candidates // 45
    lines = tuple(
        Line(
            f"r{k:02}",
            0 if 5 * k < count else 1 if 5 * k < 3 * count else 2,
            dice.randint(1, 3),
            dice.randint(5, 40),
        )
        for k in range(count)
    )
    low, high = (150, 230) if layers == 1 else (80, 130)
    items = []
    for k in range(candidates):
        line = k % count
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
    size, mass_kg = ((350, 280, 250), 20) if layers == 1 else ((310, 180, 240), 12)
    pack = Body(((size[0] - 130) // 2, (size[1] - 100) // 2, size[2] - 55), (130, 100, 55))
    bins = tuple(Bin(f"b{k}", size, mass_kg * 1000, 900, 8000, 500, (pack,)) for k in range(boxes))
    return Problem(lines, tuple(items), bins, {"tank": 1000})


def first_fit_decreasing(problem: Problem) -> Packing:
    """Return the packing by the plain rule: by rank, then value, then size, into the first box that takes it.

    It uses each item's smallest bag and keeps every rule; boards lie over the lowest possible layer.
    """
    able = options(problem, all_choices=False)
    by_item: dict[int, list[Option]] = {}
    for option in able:
        by_item.setdefault(option.item, []).append(option)
    draft = Draft.empty(problem, {}, spread_needed(problem))

    def key(item: int) -> tuple[int, int, int]:
        line = problem.lines[problem.items[item].line]
        smallest = min(o.size_mm[0] * o.size_mm[1] for o in by_item[item])
        return line.rank, -item_value(problem, item), -smallest

    for item in sorted(by_item, key=key):
        if draft.may_go(item):
            small = min(o.size_mm[0] * o.size_mm[1] * o.size_mm[2] for o in by_item[item])
            draft.insert([o for o in by_item[item] if o.size_mm[0] * o.size_mm[1] * o.size_mm[2] == small])
    return draft.packing()


def carried_value(problem: Problem, packing: Packing) -> int:
    """Return one number for what a packing carries: musts and wants count 40 each, fillers their value."""
    musts, wants, fillers, _, _ = values(problem, packing)
    return 40 * (musts + wants) + fillers


def measure(name: str, problem: Problem, effort_s: float, rivals: bool) -> list[float]:
    """Run one instance, print its line, and return the ratios to the rivals and to the bound."""
    others = [carried_value(problem, first_fit_decreasing(problem))]
    if rivals:
        others += [by_rectpack(problem), by_py3dbp(problem)]
    began, busy = time.perf_counter(), time.process_time()
    heard: list[tuple[float, Progress]] = []
    result = choose(
        problem, Budget(effort_s, 1), lambda one: heard.append((time.perf_counter() - began, one))
    )
    took, cpu = time.perf_counter() - began, time.process_time() - busy
    best = carried_value(problem, Packing(result.placed, result.boards))
    bound = 40 * (result.goals[0].bound + result.goals[1].bound) + result.goals[2].bound
    proven = result.goals[0].proven and result.goals[1].proven and result.goals[2].proven
    goals = " ".join(f"{g.goal} {g.value}/{g.bound}{'*' if g.proven else ''}" for g in result.goals)
    ratios = [best / max(1, other) for other in others] + [best / bound, float(proven)]
    shown = " ".join(f"{ratio:.3f}" for ratio in ratios[:-1])
    first = f"{heard[0][0]:.2f}" if heard else "-"
    near = next(
        (f"{t:.1f}" for t, one in heard if one.goal == "fillers" and _open_share(one, result) <= 0.01), "-"
    )
    print(
        f"{name} {len(result.placed):3} bags, first after {first}, 1 % open after {near},"
        f" {took:5.1f} s (cpu {cpu:5.1f})"
        f" | {shown} | {goals}",
        flush=True,
    )
    return ratios


def _open_share(one: Progress, result: Result) -> float:
    """Return the share of what is carried that was still open when the fillers stood so."""
    carried = 40 * (result.goals[0].value + result.goals[1].value)
    return (one.bound - one.value) / max(1, carried + one.bound)


def replan_seconds(problem: Problem, packing: Packing) -> float:
    """Return the processor time of a re-plan: half is packed, one of the others is withdrawn."""
    going = [placed.item for placed in packing.placed]
    half = len(going) // 2
    busy = time.process_time()
    replan(problem, packing, Change(frozenset(going[:half]), frozenset(going[half : half + 1])))
    return time.process_time() - busy


def main() -> None:
    """Run the instances: one line each, then the means of the ratios."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seeds", type=int, default=3)
    parser.add_argument("--effort-s", type=float, default=24.0, help="24 is what --effort normal gives")
    parser.add_argument("--large", action="store_true", help="200 candidates, 8 boxes, 60 s")
    arguments = parser.parse_args()
    print("layers seed | value / first fit decreasing, / rectpack, / py3dbp, / bound | goals (* proven)")
    if arguments.large:
        for layers in (1, 2):
            measure(f"{layers} large", instance(0, layers, 200, 8), 60.0, rivals=False)
        return
    for layers in (1, 2):
        rows = []
        for seed in range(arguments.seeds):
            name, problem = f"{layers} {seed:2}", instance(seed, layers)
            rows.append(measure(name, problem, arguments.effort_s, rivals=True))
        means = " ".join(f"{sum(column) / len(rows):.3f}" for column in zip(*rows, strict=True))
        least = " ".join(f"{min(column):.3f}" for column in zip(*rows, strict=True))
        print(f"{layers} layer(s), {len(rows)} seeds: means {means}, least {least} (last: share proven)")
    problem = instance(0, 2)
    start = best_start(problem, options(problem, all_choices=False), 1)
    print(f"re-plan with half of the bags packed: {replan_seconds(problem, start):.2f} s of processor time")


if __name__ == "__main__":
    main()
