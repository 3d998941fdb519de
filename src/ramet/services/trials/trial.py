"""A transit trial that has been read: its boxes, its air, and what the model is told of them."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from ramet.domain.errors import BadInput
from ramet.domain.problems import Place, Problem
from ramet.formats.toml_reader import read_toml
from ramet.formats.transit import TransitTrial
from ramet.reference.tables import Reference
from ramet.science.packed import PackedBox, Surroundings
from ramet.services.trials.trial_boxes import Known, known_bags, open_air, trial_box
from ramet.services.weather.air import Air
from ramet.services.weather.sources import OFFLINE, NetworkAccess, air_of

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Trial:
    """A trial as written, and the air it travels through."""

    written: TransitTrial
    air: Air
    file: Path


@dataclass(frozen=True, slots=True)
class Packed:
    """What the model is told: boxes, of which the first `real` are boxes and not open air, and their bags."""

    boxes: tuple[PackedBox, ...]
    known: tuple[Known, ...]
    real: int


def read_trial(reference: Reference, path: Path, access: NetworkAccess = OFFLINE) -> Trial:
    """Read a trial and its weather. Raises BadInput with every problem of the file."""
    read = read_toml(path, TransitTrial)
    if isinstance(read, tuple):
        raise BadInput(read)
    problems = [*_unknown_packs(reference, read, path), *too_dry(reference, read, path)]
    if problems:
        raise BadInput(problems)
    return Trial(read, air_of(read.ambient, path, reference, access), path)


def too_dry(reference: Reference, written: TransitTrial, path: Path) -> list[Problem]:
    """Return a problem for each bag with too little water to submerge its corals."""
    least = reference.parameter("least_water_ml_cm2").band.typical * 1e-3
    named = [
        (f"box[{b}].bag[{i}]", bag)
        for b, box in enumerate(written.box, 1)
        for i, bag in enumerate(box.bag, 1)
    ]
    named += [(f"bag[{i}]", bag) for i, bag in enumerate(written.bag, 1)]
    problems = []
    for key, bag in named:
        surface = sum(one.contour_area_cm2 or one.tissue_area_cm2 for one in bag.animal)
        if bag.water_l < least * surface:
            need = f"at least {least * surface:.3g} L over {surface:g} cm² of coral"
            expected = f"{need}; damp corals are not forecast"
            problems.append(Problem(Place(str(path), None, f"{key}.water_l"), f"{bag.water_l:g}", expected))
    return problems


def packed(reference: Reference, written: TransitTrial) -> Packed:
    """Return the boxes of a trial, then its bags in the open air each as a box of its own."""
    known = known_bags(reference, written)
    boxes, first = [], 0
    for number, box in enumerate(written.box, start=1):
        bags = [one.bag for one in known[first : first + len(box.bag)]]
        first += len(box.bag)
        boxes.append(trial_box(reference, box, box.id or f"box {number}", bags))
    return Packed((*boxes, *(open_air(one.bag) for one in known[first:])), tuple(known), len(boxes))


def surroundings_of(trial: Trial, leaves_h: float = 0.0, beyond_h: float = 0.0) -> Surroundings:
    """Return the air around the boxes when they leave `leaves_h` later, until `beyond_h` past the end."""
    ambient = trial.written.ambient
    lasts = trial.air.lasts_h
    hours, temperature = trial.air.window(leaves_h, lasts + beyond_h)
    motion = 1.0 if ambient.motion == "carried" else 0.0
    return Surroundings(
        hours=hours,
        temperature_c=temperature,
        motion=np.full(hours.size, motion),
        pressure_atm=np.full(hours.size, ambient.pressure_atm),
        offset_c=trial.air.uncertain_c,
        delay_at_h=lasts,
    )


def _unknown_packs(reference: Reference, trial: TransitTrial, path: Path) -> Sequence[Problem]:
    return [
        Problem(
            Place(str(path), None, f"box[{b}].packs[{p}].kind"),
            pack.kind,
            "a pack of the catalogue: " + ", ".join(sorted(reference.packs)),
        )
        for b, box in enumerate(trial.box, start=1)
        for p, pack in enumerate(box.packs, start=1)
        if pack.kind not in reference.packs
    ]
