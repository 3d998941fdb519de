"""The grower's usual way of packing beside a trial: the same box, the same corals, the same road."""

from dataclasses import dataclass, replace
from pathlib import Path

from pydantic import ValidationError

from ramet.domain.errors import BadInput
from ramet.domain.problems import Place, Problem
from ramet.domain.words import Gas
from ramet.formats.fields import Misfits
from ramet.formats.toml_reader import key_words, read_toml
from ramet.formats.transit import TransitTrial, TrialBag, TrialBox, TrialPack
from ramet.formats.transit_result import TransitBag, UsualWay, WhatIfRow
from ramet.formats.usual import Usual
from ramet.reference.tables import Reference
from ramet.services.trials.trial import Trial, too_dry
from ramet.services.trials.what_if import AS_WRITTEN, Change, compare, filled, with_bags

USUAL = "usual"
_AIR_OXYGEN = 0.2095


@dataclass(frozen=True, slots=True)
class Ways:
    """Both ways of packing, and the trial packed the usual way."""

    trial: Trial
    words: str
    rows: tuple[WhatIfRow, ...]

    def beside(self, bags: tuple[TransitBag, ...]) -> UsualWay:
        """Return the answer, with the usual way's typical run of each bag."""
        return UsualWay(
            words=self.words,
            as_written=tuple(row for row in self.rows if row.change == AS_WRITTEN),
            usual=tuple(row for row in self.rows if row.change == USUAL),
            bags=bags,
        )


def read_usual(reference: Reference, path: Path) -> Usual:
    """Read a usual way. Raises BadInput with every problem of the file."""
    read = read_toml(path, Usual)
    if isinstance(read, tuple):
        raise BadInput(read)
    known = (("bag", read.bag, reference.bags), ("heat_pack", read.heat_pack, _warm(reference)))
    problems = [
        Problem(Place(str(path), None, key), name, "one of: " + ", ".join(sorted(table)))
        for key, name, table in known
        if name is not None and name not in table
    ]
    if problems:
        raise BadInput(problems)
    return read


def usual_way(reference: Reference, trial: Trial, usual: Usual, path: Path, draws: int, seed: int) -> Ways:
    """Hold the usual way against the trial as written. Raises BadInput where it does not fit the box."""
    packed_so = packed_usually(reference, trial, usual, path)
    words = f"{usual.name}: {habit_words(reference, usual)}"
    changes = (
        Change(AS_WRITTEN, "as written", trial.written),
        Change(USUAL, usual.name, packed_so),
    )
    rows = compare(reference, trial, changes, draws, seed)
    return Ways(replace(trial, written=packed_so), words, rows)


def packed_usually(reference: Reference, trial: Trial, usual: Usual, path: Path) -> TransitTrial:
    """Return the trial with every bag and box packed the usual way."""
    written = with_bags(trial.written, lambda bag: _bag(reference, usual, bag))
    boxes = tuple(_box(reference, trial, usual, box) for box in written.box)
    written = written.model_copy(update={"box": boxes})
    try:
        fits = TransitTrial.model_validate_json(written.model_dump_json(exclude_none=True))
    except ValidationError as error:
        raise BadInput([_misfit(one, path) for one in error.errors(include_url=False)]) from error
    problems = too_dry(reference, fits, path)
    if problems:
        raise BadInput(problems)
    return fits


def habit_words(reference: Reference, usual: Usual) -> str:
    """Return a usual way in words."""
    parts = []
    if usual.water_share is not None:
        parts.append(f"{100 * usual.water_share:.0f} % water")
    if usual.gas is not None:
        parts.append(f"under {usual.gas}")
    if usual.bag is not None:
        parts.append(reference.bags[usual.bag].words)
    if usual.layers is not None:
        parts.append("single bags" if usual.layers == 1 else f"{usual.layers} bags around each")
    if usual.heat_packs is not None:
        parts.append(_packs(usual.heat_packs))
    return ", ".join(parts)


def _packs(count: int) -> str:
    return {0: "no heat pack", 1: "one heat pack in each box"}.get(count, f"{count} heat packs in each box")


def _bag(reference: Reference, usual: Usual, bag: TrialBag) -> TrialBag:
    total = bag.water_l + bag.gas_l
    share = bag.water_l / total
    if usual.bag is not None:
        row = reference.bags[usual.bag]
        fill = usual.fill_share or reference.parameter("ground_fill_share").band.typical
        total = row.closed_l * fill
        kind = {"film_um": row.film_um, "layers": row.layers, "rigid": row.rigid, "size_mm": None}
        bag = bag.model_copy(update={**kind, "at_mm": None, "gas_l": total - bag.water_l})
    if usual.water_share is not None:
        share = usual.water_share
    bag = filled(bag, total * share)
    changed: dict[str, object] = {}
    if usual.gas is not None:
        rich = reference.parameter("what_if_oxygen_fraction").band.typical
        changed["oxygen_fraction"] = rich if usual.gas is Gas.OXYGEN else _AIR_OXYGEN
    if usual.layers is not None:
        changed["layers"] = usual.layers
    return bag.model_copy(update=changed)


def _box(reference: Reference, trial: Trial, usual: Usual, box: TrialBox) -> TrialBox:
    if usual.heat_packs is None:
        return box
    warm = _warm(reference)
    kept = tuple(pack for pack in box.packs if pack.kind not in warm)
    if usual.heat_packs == 0:
        return box.model_copy(update={"packs": kept})
    used = [pack for pack in box.packs if pack.kind in warm]
    least = next((kind for kind, hours in warm.items() if hours >= trial.air.lasts_h), list(warm)[-1])
    kind = usual.heat_pack or (used[0].kind if used else least)
    return box.model_copy(update={"packs": (*kept, TrialPack(kind=kind, count=usual.heat_packs))})


def _warm(reference: Reference) -> dict[str, float]:
    """Return the heat packs of the catalogue and how long they last, the shortest first."""
    rows = sorted((row.lasts_h, row.id) for row in reference.packs.values() if row.warms)
    return {id: hours for hours, id in rows}


def _misfit(error: object, path: Path) -> Problem:
    assert isinstance(error, dict)
    cause = error.get("ctx", {}).get("error")
    keys = tuple(error["loc"])
    if isinstance(cause, Misfits):
        one = cause.found[0]
        return Problem(Place(str(path), None, key_words((*keys, *one.path))), one.value, one.expected)
    return Problem(Place(str(path), None, key_words(keys)), None, str(error["msg"]))
