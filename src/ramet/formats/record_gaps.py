"""Gaps in records of air temperature: where readings are missing, not where few were ever meant."""

from collections.abc import Sequence
from itertools import pairwise
from statistics import median

_TIMES_THE_USUAL = 3.0
"""A step so many times as long as the record's others is a gap: a coarse record is not full of gaps."""


def gaps(hours: Sequence[float], longest_h: float, least_others: int = 1) -> list[int]:
    """Return the indices of the points that come after a gap.

    Parameters
    ----------
    hours
        Times of the points [h]; steps backwards are told elsewhere and do not count.
    longest_h
        No step up to this length is a gap [h].
    least_others
        How many other steps must tell what is usual.
    """
    steps = [after - before for before, after in pairwise(hours)]
    found = []
    for place, step in enumerate(steps):
        others = [other for i, other in enumerate(steps) if i != place and other > 0]
        if step > longest_h and len(others) >= least_others and step > _TIMES_THE_USUAL * median(others):
            found.append(place + 1)
    return found
