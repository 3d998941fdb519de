"""From a transit trial to what the journey model is told."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from ramet.domain.band import Band, exactly
from ramet.domain.words import Form
from ramet.formats.transit import TransitTrial, TrialAnimal, TrialBag, TrialBox
from ramet.reference.tables import Reference
from ramet.science.packed import Animal, Limit, PackedBag, PackedBox, PlainMass
from ramet.science.spread import total
from ramet.services.trials.transit_inputs import animal, blank_umol_h, cold_pack, heat_pack, limits_for

_THIN_WALL_MM = 0.1
_NO_INSULATION_W_MK = 0.3
_FREE_AIR_W_M2K = 9.0
_ROOM_MM = 20


@dataclass(frozen=True, slots=True)
class Known:
    """A bag as the model sees it, the box it is in, and what was filled in from class defaults."""

    bag: PackedBag
    box: str | None
    defaults_used: tuple[str, ...]
    opened_ph: float


def known_bags(reference: Reference, trial: TransitTrial) -> list[Known]:
    """Return every bag of a trial in order: those of the boxes, then those in the open air."""
    listed = [
        (bag, box.id or f"box {number}") for number, box in enumerate(trial.box, start=1) for bag in box.bag
    ]
    found: list[Known] = []
    for bag, box in [*listed, *((bag, None) for bag in trial.bag)]:
        found.append(_known(reference, bag, box, f"bag {len(found) + 1}"))
    return found


def trial_box(reference: Reference, box: TrialBox, id: str, bags: Sequence[PackedBag]) -> PackedBox:
    """Return a box with its packs and plain goods."""
    inner = (round(box.inner_mm[0]), round(box.inner_mm[1]), round(box.inner_mm[2]))
    heat, cold = [], []
    for pack in box.packs:
        row = reference.packs[pack.kind]
        if row.warms:
            heat += [heat_pack(row, pack.starts_h, pack.vented)] * pack.count
        else:
            cold += [cold_pack(reference, row, pack.start_c)] * pack.count
    return PackedBox(
        id=id,
        inner_mm=inner,
        wall_mm=box.wall_mm,
        k_w_mk=exactly(box.wall_k_w_mk),
        k_slope=box.wall_k_slope_per_c,
        h_in_w_m2k=_or_table(reference, box.h_in_w_m2k, "wall_h_in_w_m2k"),
        h_out_w_m2k=_or_table(reference, box.h_out_w_m2k, "wall_h_out_w_m2k"),
        carton_m2k_w=_or_table(reference, box.carton_m2k_w, "carton_m2k_w"),
        lid_leak_w_k=_or_table(reference, box.lid_leak_w_k, "lid_leak_w_k"),
        bags=tuple(bags),
        heat_packs=tuple(heat),
        cold_packs=tuple(cold),
        masses=tuple(PlainMass(m.kg, m.cp_j_kgk, m.start_c, m.ice_kg) for m in box.mass),
    )


def open_air(bag: PackedBag) -> PackedBox:
    """Return a bag that stands in the open air: a wall that hardly insulates, all round it."""
    x, y, z = bag.size_mm
    return PackedBox(
        id=bag.id,
        inner_mm=(x + _ROOM_MM, y + _ROOM_MM, z + _ROOM_MM),
        wall_mm=_THIN_WALL_MM,
        k_w_mk=exactly(_NO_INSULATION_W_MK),
        k_slope=0.0,
        h_in_w_m2k=1e4,
        h_out_w_m2k=_FREE_AIR_W_M2K,
        carton_m2k_w=0.0,
        lid_leak_w_k=0.0,
        bags=(bag,),
    )


def _known(reference: Reference, bag: TrialBag, box: str | None, id: str) -> Known:
    animals, defaults = [], []
    limits: list[Sequence[Limit]] = []
    for one in bag.animal:
        form = _form(reference, one)
        contour = one.tissue_area_cm2 if one.contour_area_cm2 is None else one.contour_area_cm2
        found, used = animal(reference, one.taxon, form, exactly(one.tissue_area_cm2), exactly(contour))
        animals.append(_overridden(found, one))
        defaults += _still_used(one, used)
        limits.append(_own_limits(limits_for(reference, one.taxon, form), one))
    if not bag.animal:
        limits.append(limits_for(reference, "", Form.BRANCHING))
    x, y, z = (round(side) for side in bag.outer_mm())
    round_cm2 = math.pi / 4 * x * y / 100
    packed = PackedBag(
        id=bag.id or id,
        water_l=bag.water_l,
        gas_l=bag.gas_l,
        oxygen_fraction=bag.oxygen_fraction,
        film_um=bag.film_um,
        layers=bag.layers,
        film_area_cm2=2 * round_cm2 + math.pi * math.sqrt(x * y) * z / 100,
        surface_cm2=round_cm2,
        start_c=bag.start_c,
        salinity=bag.salinity,
        alkalinity_meq_l=bag.alkalinity_meq_l,
        ph_total=bag.ph_total,
        size_mm=(x, y, z),
        at_mm=None if bag.at_mm is None else (round(bag.at_mm[0]), round(bag.at_mm[1]), round(bag.at_mm[2])),
        animals=tuple(animals),
        blank_umol_h=_blank(reference, bag),
        limits=_strictest(limits),
        rigid=bag.rigid,
        film_access=bag.film_access,
    )
    return Known(packed, box, tuple(dict.fromkeys(defaults)), reference.parameter("opened_ph").band.typical)


def _form(reference: Reference, one: TrialAnimal) -> Form:
    genus = reference.genus(one.taxon)
    return one.form or (Form.BRANCHING if genus is None else genus.default_form)


def _overridden(found: Animal, one: TrialAnimal) -> Animal:
    if one.respiration_umol_cm2_h is not None:
        found = replace(found, respiration_umol_cm2_h=exactly(one.respiration_umol_cm2_h))
    if one.calcification_meq_cm2_d is not None:
        found = replace(found, calcification_meq_cm2_d=exactly(one.calcification_meq_cm2_d))
    symbiotic = found.symbiotic if one.symbiotic is None else one.symbiotic
    return replace(found, symbiotic=symbiotic, q10=one.q10)


def _still_used(one: TrialAnimal, used: Sequence[str]) -> list[str]:
    return [text for text in used if getattr(one, text.rsplit(": ", 1)[1]) is None]


def _own_limits(limits: Sequence[Limit], one: TrialAnimal) -> list[Limit]:
    own = {"cold": one.cold_limit_c, "heat": one.heat_limit_c}
    out = []
    for limit in limits:
        level = own.get(limit.code)
        out.append(limit if level is None else replace(limit, level=level))
    return out


def _strictest(groups: Sequence[Sequence[Limit]]) -> tuple[Limit, ...]:
    """Return one limit per code: where animals differ, the nearer level and the shorter time."""
    by_code: dict[str, Limit] = {}
    for limit in (one for group in groups for one in group):
        other = by_code.get(limit.code)
        if other is None:
            by_code[limit.code] = limit
            continue
        nearer = max if limit.below else min
        by_code[limit.code] = replace(
            limit, level=nearer(limit.level, other.level), hours=min(limit.hours, other.hours)
        )
    return tuple(by_code.values())


def _blank(reference: Reference, bag: TrialBag) -> Band:
    if bag.blank_umol_h is not None:
        return exactly(bag.blank_umol_h)
    rocks = (None if one.rock_cm2 is None else exactly(one.rock_cm2) for one in bag.animal)
    return total(blank_umol_h(reference, rock_cm2) for rock_cm2 in rocks)


def _or_table(reference: Reference, value: float | None, name: str) -> float:
    return reference.parameter(name).band.typical if value is None else value
