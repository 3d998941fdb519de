"""The inner loops of `sweep`, compiled: the best walk over flat states."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from ramet.optimise.kernels import NOWHERE, Bits, Flags, Ints, bare

Floats = NDArray[np.float64]

NEVER = -1e18


class States(NamedTuple):
    """Sets of bags that fit side by side, floor bags and upper bags told apart, and ways between them.

    `leave[kind, state]` is the state once a floor bag of a kind is gone, `join[kind, state]` once an
    upper bag came; NOWHERE if there is none; `after[state]` are both in a row. `floors[state, kind]` counts
    floor bags, `uppers` likewise, `joined` are all of the latter, `part[state]` numbers what the former are;
    `starts` have no upper bag, `end[state]` is 0 where no floor bag is left, else NEVER. `salt` mixes a kind
    that joins and the floor bags there into a key.
    """

    leave: Ints
    join: Ints
    after: Ints
    floors: Ints
    uppers: Ints
    joined: Ints
    part: Ints
    starts: Ints
    end: Floats
    salt: Bits


class Events(NamedTuple):
    """Bags in the order of their heights: floor bags leave, upper bags join.

    `last[item]` is its last event. `soft` upper bags stand over `soft` floor bags only. Of a `group` of
    items, its `cap` in pieces at most goes together, each item counting for `pieces`; after `told[item]` it
    does not matter any more whether an item was taken.
    """

    kind: Ints
    floor: Flags
    soft: Flags
    item: Ints
    mass_g: Ints
    last: Ints
    told: Ints
    group: Ints
    pieces: Ints
    cap: Ints


@bare
def sweep_values(worth: Floats, events: Events, states: States, values: Floats) -> None:
    """Write the most worth still to come from each event and state, counting no item's other ways."""
    many = len(worth)
    for s in range(len(states.end)):
        values[many, s] = states.end[s]
    for e in range(many - 1, -1, -1):
        ways = states.leave if events.floor[e] else states.join
        kind = events.kind[e]
        for s in range(len(states.end)):
            best = values[e + 1, s]
            after = ways[kind, s]
            if after != NOWHERE and worth[e] + values[e + 1, after] > best:
                best = worth[e] + values[e + 1, after]
            values[e, s] = best


@bare
def count_taken(
    start: int, worth: Floats, events: Events, states: States, values: Floats, counts: Floats
) -> None:
    """Count how often the best walk from a start takes each item."""
    counts[:] = 0.0
    s = start
    for e in range(len(worth)):
        after = states.leave[events.kind[e], s] if events.floor[e] else states.join[events.kind[e], s]
        if after != NOWHERE and worth[e] + values[e + 1, after] > values[e + 1, s]:
            counts[events.item[e]] += 1.0
            s = after
