"""Tiny instances whose best packing is known by hand."""

import random
from dataclasses import replace

from ramet.optimise.problem import Bin, Body, Choice, Item, Line, Problem, Rule

MUST, WANT, FILLER = 0, 1, 2


def bag(*size, g=1000, margin=600, carries=0, boxes=None):
    return Choice(size, g, margin, carries, boxes)


def item(name, line, *choices, strain=None, soft=False, pieces=None, **uses):
    return Item(
        name,
        pieces or (f"piece of {name}",),
        line,
        name if strain is None else strain,
        soft,
        False,
        choices,
        uses,
    )


def box(*size, name="b", most_g=20000, tare=500, floor=2000, step=500, blocked=()):
    return Bin(name, size, most_g, tare, floor, step, blocked)


def problem(lines, items, bins, rules=frozenset(Rule), **caps):
    return Problem(tuple(lines), tuple(items), tuple(bins), caps, rules)


def ok_small():
    """One box 200 x 100 x 100: room for two bags of 100 x 100, or one of 200 x 100 that is worth more."""
    lines = [Line("must", MUST, 1, 1), Line("little", FILLER, 2, 10), Line("big", FILLER, 1, 15)]
    items = [
        item("a", 0, bag(100, 100, 90)),
        item("b", 1, bag(100, 100, 90)),
        item("c", 1, bag(100, 100, 90)),
        item("d", 2, bag(200, 100, 90)),
    ]
    return problem(lines, items, [box(200, 100, 100)])


def mixed(seed, layers, items=24):
    """A middling instance with a lid body: lines of every rank, three choices an item, two equal boxes."""
    dice = random.Random(seed)
    lines = [Line(f"r{k}", min(2, k // 2), 3, dice.randint(1, 9)) for k in range(8)]

    def choice():
        side = dice.choice((70, 90, 110, 130))
        height = dice.randint(120, 220) // layers
        return bag(side, side, height, g=side * height // 10, margin=side + height, carries=2500)

    things = [
        item(f"i{k:02}", k % 8, choice(), choice(), choice(), strain=f"s{k % 11}", soft=k % 8 == 5)
        for k in range(items)
    ]
    lid = Body((40, 40, 200), (100, 80, 40))
    where = [box(300, 250, 240, name=name, most_g=15000, blocked=(lid,)) for name in ("one", "two")]
    return problem(lines, things, where)


def narrow(seed, items=14):
    """A `mixed` instance of two layers in boxes with room for some four bags on their floor."""
    lid = Body((60, 40, 200), (80, 80, 40))
    where = [box(210, 160, 240, name=name, most_g=9000, blocked=(lid,)) for name in ("one", "two")]
    return replace(mixed(seed, 2, items), bins=tuple(where))
