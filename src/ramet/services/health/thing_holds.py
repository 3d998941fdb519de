"""Holds on what is not a coral: a system's water with the mounts and goods in it, and goods by themselves.

Eggs and young may be on bare rock, plugs and filter media, so these wait as long as the corals do: until the
evidence that ends the outbreak. Only where no host lives any more does time alone count: one generation of
the pest without a host or a finding. A pest without a published cycle is cleared by a person's word here too.
"""

from collections.abc import Iterator
from datetime import date, timedelta
from math import ceil

from ramet.domain.events import Standing, Stay
from ramet.domain.piece import ThingHold, name_key
from ramet.ledger.records import GoodsStay
from ramet.reference.facts import LivesOn
from ramet.reference.tables import Reference
from ramet.services.health.fish_borne import clock_days, clock_of, fish_words
from ramet.services.health.holds import Herd, is_over, known_on, open_one, outbreaks_of
from ramet.services.health.outbreaks import (
    Known,
    Outbreak,
    cleared_by_word,
    coldest_c,
    exposed,
    generation_days,
    is_host,
)


def thing_holds(herd: Herd, reference: Reference, today: date) -> tuple[ThingHold, ...]:
    """Return every hold on water, mounts and goods on a day, by system and pest; goods that moved after."""
    known = known_on(herd, reference, today)
    found: list[ThingHold] = []
    for outbreak in outbreaks_of(known, reference.pests):
        water = _of_water(outbreak, known)
        if water is not None:
            found.append(water)
        found += _of_goods(outbreak, water, known)
    return tuple(sorted(found, key=lambda one: (name_key(one.system), one.pest, one.goods or "")))


def _of_water(outbreak: Outbreak, known: Known) -> ThingHold | None:
    system = _spelled(outbreak.system, known)
    if outbreak.pest.lives_on is LivesOn.FISH:
        here = Stay("", system, outbreak.first, None)
        clock = clock_of(outbreak, [here], clock_days(outbreak, known, known.today), known, known.today)
        if clock.free_on <= known.today:
            return None
        return ThingHold(system, outbreak.pest.id, outbreak.first, *fish_words(outbreak, [clock], known))
    opened = open_one(outbreak, known)
    if opened is not None and _hosts_in(outbreak, outbreak.system, known):
        return ThingHold(system, outbreak.pest.id, outbreak.first, opened.ends, opened.earliest)
    if opened is None and any(exposed(outbreak, known)) and is_over(outbreak, known, known.today):
        return None
    return _without_host(outbreak, outbreak.system, outbreak.last, None, known)


def _of_goods(outbreak: Outbreak, water: ThingHold | None, known: Known) -> Iterator[ThingHold]:
    """Yield holds on goods that stood in the water of an outbreak and stand elsewhere now."""
    for stood in known.goods:
        if name_key(stood.system) != outbreak.system or stood.until is None:
            continue
        if stood.until < outbreak.first or stood.until > known.today:
            continue
        now = _now_at(stood, known)
        if now is None or name_key(now) != outbreak.system:
            hold = _of_moved(outbreak, stood, now, water, known)
            if hold is not None:
                yield hold


def _of_moved(
    outbreak: Outbreak, stood: GoodsStay, now: str | None, water: ThingHold | None, known: Known
) -> ThingHold | None:
    left = stood.until or known.today
    if outbreak.pest.lives_on is LivesOn.FISH:
        stays = [Stay("", stood.system, stood.since, left)]
        stays += [Stay("", now, left, None)] if now is not None else []
        clock = clock_of(outbreak, stays, clock_days(outbreak, known, known.today), known, known.today)
        if clock.free_on <= known.today:
            return None
        ends, earliest = fish_words(outbreak, [clock], known)
        return ThingHold(now or "", outbreak.pest.id, outbreak.first, ends, earliest, stood.goods)
    if now is not None and _hosts_in(outbreak, name_key(now), known):
        if water is None:
            return None
        ends = f"the end of the hold on “{water.system}”: {water.ends}"
        return ThingHold(now, outbreak.pest.id, outbreak.first, ends, water.earliest, stood.goods)
    where = name_key(now) if now is not None else None
    return _without_host(outbreak, where, max(left, outbreak.last), stood.goods, known)


def _without_host(
    outbreak: Outbreak, system: str | None, since: date, goods: str | None, known: Known
) -> ThingHold | None:
    """Return the hold of something that no host is with: it ends a generation after the last day of one."""
    name = "" if system is None else _spelled(system, known)
    if not outbreak.pest.generation_d:
        if cleared_by_word(outbreak, known, known.today):
            return None
        ends = "a person's word that it is cleared (no life cycle of this pest is published)"
        return ThingHold(name, outbreak.pest.id, outbreak.first, ends, None, goods)
    began = max([since, *_last_host_days(outbreak, system, known)])
    temperature = coldest_c(outbreak, known, known.today)
    coldest = min(celsius for celsius, _ in outbreak.pest.generation_d)
    days = generation_days(outbreak.pest, coldest if temperature is None else temperature, known.q10)
    free_on = began + timedelta(days=ceil(days or 0))
    if free_on <= known.today:
        return None
    ends = f"{ceil(days or 0)} d without a host (one generation), counted from {began}: on {free_on}"
    return ThingHold(name, outbreak.pest.id, outbreak.first, ends, free_on, goods)


def _last_host_days(outbreak: Outbreak, system: str | None, known: Known) -> Iterator[date]:
    for stay in known.stays_in.get(system or "", ()):
        state = known.states[name_key(stay.piece)]
        if is_host(outbreak.pest, state.piece.genus) and stay.until is not None and stay.until <= known.today:
            yield stay.until


def _hosts_in(outbreak: Outbreak, system: str, known: Known) -> bool:
    for stay in known.stays_in.get(system, ()):
        state = known.states[name_key(stay.piece)]
        there = stay.until is None and state.standing is Standing.ALIVE
        if there and is_host(outbreak.pest, state.piece.genus):
            return True
    return False


def _now_at(stood: GoodsStay, known: Known) -> str | None:
    for one in known.goods:
        if name_key(one.goods) == name_key(stood.goods) and one.until is None:
            return one.system
    return None


def _spelled(system: str, known: Known) -> str:
    stays = known.stays_in.get(system, ())
    return stays[0].system if stays else system
