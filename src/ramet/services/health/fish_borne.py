"""Pests that live on fish and travel as cysts on corals, mounts and goods: a clock without fish ends them.

Nothing dips a cyst away. What shared water with such a pest is free when it has stood in water without fish
for as long as the pest's cysts can wait, since the last day on which fish were or might have been with it,
the last finding there, and the last thing that came into its water. Where nobody said that no fish are in
a system, they might be.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import ceil

from ramet.domain.events import Standing, Stay
from ramet.domain.piece import name_key
from ramet.services.health.outbreaks import Known, Outbreak, coldest_c, exposed, generation_days, overlaps


@dataclass(frozen=True, slots=True)
class FishClock:
    """When the time without fish began for something, and where it is now; `free_on` ends it."""

    began: date
    free_on: date
    system: str


def held_by_fish(outbreak: Outbreak, known: Known, by: date) -> dict[str, FishClock]:
    """Return the clock of every piece that is still held on a day."""
    days = clock_days(outbreak, known, by)
    clocks: dict[str, FishClock] = {}
    for key, _ in exposed(outbreak, known):
        stays = [stay for stay in known.stays_of[key] if overlaps(stay, outbreak.first, by)]
        clock = clock_of(outbreak, stays, days, known, by)
        if clock.free_on > by:
            clocks[key] = clock
    return clocks


def clock_of(outbreak: Outbreak, stays: Sequence[Stay], days: int, known: Known, by: date) -> FishClock:
    """Return the clock of something that was in these waters since the first finding."""
    began = [outbreak.first]
    for stay in stays:
        end = min(stay.until or by, by)
        start = max(stay.since or outbreak.first, outbreak.first)
        began += _last_day_with_fish(name_key(stay.system), start, end, known)
        if name_key(stay.system) == outbreak.system and start <= outbreak.last <= end:
            began.append(outbreak.last)
    here = stays[-1].system if stays else outbreak.system
    began += (day for day in _arrivals(name_key(here), known) if max(began) < day <= by)
    return FishClock(max(began), max(began) + timedelta(days=days), here)


def clock_days(outbreak: Outbreak, known: Known, by: date) -> int:
    """Return for how long the pest can wait without fish [d], at the coldest reading since the finding."""
    temperature = coldest_c(outbreak, known, by)
    coldest = min(celsius for celsius, _ in outbreak.pest.generation_d)
    days = generation_days(outbreak.pest, coldest if temperature is None else temperature, known.q10)
    return ceil(days or 0)


def fish_words(outbreak: Outbreak, clocks: Sequence[FishClock], known: Known) -> tuple[str, date | None]:
    """Return in words what ends the hold, and the first day on which that can be."""
    days = clock_days(outbreak, known, known.today)
    earliest = max(clock.free_on for clock in clocks)
    fishy = sorted({clock.system for clock in clocks if may_hold_fish(name_key(clock.system), known)})
    if fishy:
        where = ", ".join(f"“{system}”" for system in fishy)
        told = f"{days} d without fish; in {where} there are some, or nobody has said that there are none"
        return f"{told}; not before {earliest}", earliest
    return f"{days} d without fish and without anything new in the water, on {earliest}", earliest


def may_hold_fish(system: str, known: Known) -> bool:
    """Tell whether fish are in a system today, or might be since nobody said that there are none."""
    records = known.fish.get(system, ())
    return not records or records[-1].present


def _last_day_with_fish(system: str, start: date, end: date, known: Known) -> Iterator[date]:
    """Yield the last day from `start` to `end` on which fish were or might have been in a system."""
    records = [one for one in known.fish.get(system, ()) if one.on <= end]
    if not records or records[-1].present:
        yield end
        return
    left = records[-1].on
    for earlier, later in zip(reversed(records[:-1]), reversed(records), strict=False):
        if earlier.present or later.present:
            break
        left = earlier.on
    if left >= start:
        yield left


def _arrivals(system: str, known: Known) -> Iterator[date]:
    for stay in known.stays_in.get(system, ()):
        state = known.states.get(name_key(stay.piece))
        if stay.since is not None and state is not None and state.standing is not Standing.UNDONE:
            yield stay.since
    for stood in known.goods:
        if name_key(stood.system) == system and stood.since is not None:
            yield stood.since
