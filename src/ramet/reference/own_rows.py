"""The user's own rows: a small CSV whose facts take the place of ours, shown wherever they act.

    subject,form,trait,unit,low,typical,high,source
    Acropora,,respiration_umol_cm2_h,umol/cm2/h,0.4,0.6,1.0,own measurements 2026
    class:leather,,healing_d,d,5,8,12,own records
    parameter,,gas_fill_share,1,0.70,0.75,0.80,own practice

`subject` is a genus, `class:NAME`, or the word `parameter` (then `trait` names the parameter). An empty
form stands for all forms. `source` is free text.
"""

import difflib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from ramet.domain.problems import Place, Problem
from ramet.domain.words import Form, Grade
from ramet.reference.facts import Fact, Genus, Source
from ramet.reference.ranges import TRAITS, same_unit
from ramet.reference.rows import Row, read_rows
from ramet.reference.tableset import TraitKey, add

HEADER = "subject,form,trait,unit,low,typical,high,source"
PARAMETER = "parameter"


@dataclass(slots=True)
class OwnRows:
    """What a user's file says. `words` names each override and the value it stands in for."""

    content: bytes = b""
    traits: dict[TraitKey, Fact] = field(default_factory=dict)
    parameters: dict[str, Fact] = field(default_factory=dict)
    sources: dict[str, Source] = field(default_factory=dict)
    words: tuple[str, ...] = ()


def read_own_rows(
    path: Path,
    genera: Mapping[str, Genus],
    traits: Mapping[TraitKey, Fact],
    parameters: Mapping[str, Fact],
    problems: list[Problem],
) -> OwnRows:
    """Read a user's file against the tables it overrides; every problem is added to `problems`."""
    own = OwnRows()
    try:
        own.content = path.read_bytes()
    except OSError as wrong:
        problems.append(Problem(Place(str(path)), None, f"a readable file ({wrong.strerror})"))
        return own
    subjects = {*genera, *(subject for subject, _, _ in traits)}
    for row in read_rows(str(path), own.content, HEADER.split(","), problems):
        if row.optional("subject") == PARAMETER:
            _take_parameter(row, parameters, own)
        else:
            _take_trait(row, subjects, own)
    own.sources = {text: Source(text, text, str(path), "own") for text in _source_texts(own)}
    own.words = tuple(sorted(_words(own)))
    return own


def _take_trait(row: Row, subjects: Iterable[str], own: OwnRows) -> None:
    subject, form, name = row.text("subject"), row.optional("form"), row.optional("trait")
    if subject not in subjects:
        near = difflib.get_close_matches(subject, subjects, n=3, cutoff=0.5)
        row.refuse("subject", f"a genus in the table, class:NAME or {PARAMETER}{_suggestion(near)}")
    if form:
        row.word("form", Form)
    rule = TRAITS.get(name)
    if rule is None:
        row.refuse("trait", "one of: " + ", ".join(TRAITS))
        return
    fact = _fact(row, subject, name, rule.unit, rule.low, rule.high)
    add(own.traits, (subject, form, name), fact, row)


def _take_parameter(row: Row, parameters: Mapping[str, Fact], own: OwnRows) -> None:
    name = row.text("trait")
    ours = parameters.get(name)
    if ours is None:
        near = difflib.get_close_matches(name, parameters, n=3, cutoff=0.5)
        row.refuse("trait", f"a parameter of the tables{_suggestion(near)}")
        return
    if row.optional("form"):
        row.refuse("form", "an empty cell: a parameter has no form")
    is_share = name.endswith(("_share", "_chance"))
    low, high = (0.0, 1.0) if is_share else (-1e12, 1e12)
    add(own.parameters, name, _fact(row, PARAMETER, name, ours.unit, low, high), row)


def _fact(row: Row, subject: str, name: str, unit: str, low: float, high: float) -> Fact:
    if not same_unit(row.text("unit"), unit):
        row.refuse("unit", f"the unit of {name}: {unit}")
    return Fact(
        subject=subject,
        name=name,
        unit=unit,
        band=row.band(low, high),
        source=row.text("source"),
        grade=Grade.PRACTICE,
        is_override=True,
    )


def _suggestion(near: list[str]) -> str:
    return f"; near: {', '.join(near)}" if near else ""


def _source_texts(own: OwnRows) -> set[str]:
    return {fact.source for fact in (*own.traits.values(), *own.parameters.values())}


def _words(own: OwnRows) -> list[str]:
    traits = [
        f"{subject}{f' ({form})' if form else ''} {_value(fact)}"
        for (subject, form, _), fact in own.traits.items()
    ]
    return traits + [f"parameter {_value(fact)}" for fact in own.parameters.values()]


def _value(fact: Fact) -> str:
    band = fact.band
    return f"{fact.name} = {band.typical:g} ({band.low:g} to {band.high:g}) {fact.unit}; {fact.source}"
