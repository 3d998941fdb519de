"""What is known of the places of parts of a walk: verdicts, remembered by keys, compiled.

A walk goes up through a box: its floor bags leave, upper bags join (see `sweep`). It calls `kernels` and
`sweep_kernels`: after a change there, `__pycache__` has to go.
"""

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from ramet.optimise.kernels import UNDECIDED, Bits, Grid, Ints, bare, compiled, find_places, mixed
from ramet.optimise.sweep_kernels import Events, States

MOST_INSIDE = 52
"""More bags than a box can hold: two layers of what a known floor lets in, and some."""
SHORT_WORK: Any = np.int64(60_000)
LONG_WORK: Any = np.int64(500_000)
"""Words looked at for the places of a part of a box at first, and before a whole box is left undecided."""
BAG_WORK = 30
"""What it costs to look a bag up, in words looked at."""
CUT_SHORT = 3
"""Verdict on places that a short search left undecided."""
CUT_LONG = 4
"""Verdict on places that a long search left undecided."""


class Memory(NamedTuple):
    """What was found out: verdicts on the places of parts of boxes, by `key`; `filled[0]` of them.

    `seen[slot]` are parts of walks gone through: their key, what they gain, and their mass. `filled[1]`
    counts searches, so that no search takes another's for its own.
    """

    key: Bits
    verdict: NDArray[np.int8]
    filled: Ints
    seen: Ints


def slots_of(events: Events, kinds: int) -> Ints:
    """Return events by what they do to a state: floor bags by kind, upper bags by kind, then the soft ones.

    Where no upper bag is soft, floor bags need not be told apart and all count as soft.
    """
    told = np.any(events.soft & ~events.floor)
    soft = events.soft | (events.floor & ~told)
    slot: Ints = events.kind + kinds * ~events.floor + 2 * kinds * soft
    return slot


@compiled
def _places_of(path: Ints, depth: int, rest: Ints, grid: Grid, limit: int) -> tuple[int, int]:
    """Return whether a part of a walk has places, and the words looked at.

    `path` are slots. Of the floor bags still to leave, `rest` by kind, all are below what joined so far.
    """
    many = len(rest)
    kinds = np.empty(2 * MOST_INSIDE, dtype=np.int64)
    role = np.empty(2 * MOST_INSIDE, dtype=np.int64)
    for n in range(depth):
        kinds[n], role[n] = path[n] % many, path[n] // many
    n = depth
    for kind in range(many):
        for _ in range(rest[kind]):
            kinds[n], role[n] = kind, 0
            n += 1
    clash = np.ones((n, n), dtype=np.bool_)
    for over in range(depth):
        if role[over] % 2 == 0:
            continue
        for under in range(over):
            # gone before the other came: beside it only if a soft bag may not stand over it
            if role[under] == 2 or (role[under] == 0 and role[over] == 1):
                clash[over, under] = clash[under, over] = False
    found, _, work = find_places(kinds[:n], clash, grid, limit)
    return found, work


@bare
def _slot_of(keys: Bits, verdicts: NDArray[np.int8], key: Any) -> Any:
    """Return where a key is remembered, or may be."""
    many = np.uint64(len(keys))
    slot = np.int64(mixed(key) % many)
    while verdicts[slot] != UNDECIDED and keys[slot] != key:
        slot = (slot + 1) % len(keys)
    return slot


@bare
def verdict_on(memory: Memory, key: Any, path: Ints, depth: int, rest: Ints, grid: Grid) -> tuple[int, int]:
    """Return whether a part of a walk has places, as remembered or searched for, and the words looked at."""
    slot = _slot_of(memory.key, memory.verdict, key)
    if memory.verdict[slot] != UNDECIDED:
        return memory.verdict[slot], 0
    found, work = _places_of(path, depth, rest, grid, SHORT_WORK)
    verdict = found if found != UNDECIDED else CUT_SHORT
    if 2 * memory.filled[0] < len(memory.key):
        memory.key[slot], memory.verdict[slot] = key, verdict
        memory.filled[0] += 1
    return verdict, work


@bare
def settled_verdict(
    memory: Memory, key: Any, path: Ints, depth: int, rest: Ints, grid: Grid
) -> tuple[int, int]:
    """Return the verdict on a whole box, by a long search where a short one left it open; and the words."""
    slot = _slot_of(memory.key, memory.verdict, key)
    known = memory.verdict[slot]
    if known not in (CUT_SHORT, UNDECIDED):
        return known, 0
    found, work = _places_of(path, depth, rest, grid, LONG_WORK)
    verdict = found if found != UNDECIDED else CUT_LONG
    if known == CUT_SHORT:
        memory.verdict[slot] = verdict
    return verdict, work


@bare
def start_key(start: int) -> Any:
    """Return the key of a walk that has not begun."""
    return mixed(np.uint64(start + 1))


@bare
def key_after(key: Any, hard: Any, slot: int, s: int, states: States) -> tuple[Any, Any]:
    """Return the key of a part of a walk after one more event at a state, and that of its hard bags gone.

    The key tells what joined, over which floor bags, and for soft bags how many had joined when a hard one
    left: places depend on nothing else.
    """
    kinds = states.salt.shape[0]
    kind, role = slot % kinds, slot // kinds
    salt = states.salt[kind, states.part[s]]
    if role == 0:
        return key, hard + mixed(states.salt[kind, 0] + np.uint64(states.joined[s]))
    if role == 2:
        return key, hard
    return key + (mixed(salt ^ mixed(hard)) if role == 3 else salt), hard
