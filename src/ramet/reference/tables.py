"""The reference: every sourced number of ramet, loaded, checked, and merged with the user's own rows.

It is made once at the start and handed down; nothing is kept in a global. `docs/reference-tables.md`
describes the tables.
"""

import difflib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from ramet.domain.errors import BadInput, BrokenTable
from ramet.domain.words import Form, Tolerance
from ramet.reference.consistency import disagreements
from ramet.reference.facts import (
    BagType,
    BoxType,
    CautionRow,
    Dip,
    Fact,
    FoamType,
    Genus,
    LimitRow,
    ListedSpecies,
    PackType,
    Pest,
    Source,
)
from ramet.reference.own_rows import OwnRows, read_own_rows
from ramet.reference.ranges import TRAITS
from ramet.reference.tableset import Digest, TraitKey, read_tables

if TYPE_CHECKING:
    from ramet.domain.problems import Problem

DATA = Path(__file__).parent.parent / "data"
UNKNOWN_CLASS = "class:unknown"


@dataclass(frozen=True, slots=True)
class Reference:
    """All tables as one value. `sha256` covers their bytes and those of the user's own rows."""

    genera: Mapping[str, Genus]
    traits: Mapping[TraitKey, Fact]
    parameters: Mapping[str, Fact]
    limit_rows: tuple[LimitRow, ...]
    bags: Mapping[str, BagType]
    boxes: Mapping[str, BoxType]
    foams: Mapping[str, FoamType]
    packs: Mapping[str, PackType]
    pests: Mapping[str, Pest]
    dips: Mapping[str, Dip]
    cautions: tuple[CautionRow, ...]
    listed_species: Mapping[str, ListedSpecies]
    sources: Mapping[str, Source]
    sha256: str
    overrides: tuple[str, ...] = ()

    def genus(self, taxon: str) -> Genus | None:
        """Return the genus of a taxon (its first word), or None when it is not in the table."""
        words = taxon.split()
        return self.genera.get(words[0].capitalize()) if words else None

    def nearest(self, name: str, count: int = 3) -> tuple[str, ...]:
        """Return the genera whose names look most like `name`: to suggest, never to fill in."""
        word = (name.split() or [""])[0].capitalize()
        return tuple(difflib.get_close_matches(word, self.genera, n=count, cutoff=0.5))

    def trait(self, taxon: str, form: Form, name: str) -> Fact:
        """Return a trait of a taxon in a form.

        The row of the genus and form is taken, else that of the genus; else the default of its class,
        marked `is_default`. A taxon outside the table takes the defaults of the unknown class.
        Raises KeyError when there is no trait of that name.
        """
        if name not in TRAITS:
            raise KeyError(f"no trait named {name}; known: {', '.join(TRAITS)}")
        genus = self.genus(taxon)
        if genus is not None:
            own = self._row(genus.name, form, name)
            if own is not None:
                return own
        subject = UNKNOWN_CLASS if genus is None else f"class:{genus.trait_class}"
        default = self._row(subject, form, name)
        if default is None:
            raise KeyError(f"no {name} for {subject}")
        return replace(default, is_default=True)

    def parameter(self, name: str) -> Fact:
        """Return a parameter of a model. Raises KeyError when no table has it."""
        try:
            return self.parameters[name]
        except KeyError:
            raise KeyError(f"no parameter named {name} in the parameters_*.csv tables") from None

    def limits(self, tolerance: Tolerance) -> tuple[LimitRow, ...]:
        """Return the limits that a tolerance class takes, in the order of the table."""
        return tuple(row for row in self.limit_rows if row.tolerance == tolerance)

    def dip(self, taxon: str) -> Dip:
        """Return the class of dip for a taxon: that of its trait class, else the one for any other."""
        genus = self.genus(taxon)
        own = [
            dip for dip in self.dips.values() if genus is not None and genus.trait_class in dip.trait_classes
        ]
        return own[0] if own else next(dip for dip in self.dips.values() if not dip.trait_classes)

    def listed(self, taxon: str) -> ListedSpecies | None:
        """Return the entry of a species that the law protects, or None."""
        return self.listed_species.get(" ".join(taxon.split()).casefold())

    def _row(self, subject: str, form: Form, name: str) -> Fact | None:
        return self.traits.get((subject, form.value, name)) or self.traits.get((subject, "", name))


def load_reference(own_rows: Path | None = None) -> Reference:
    """Load the tables that ship with ramet, with the user's own rows in place of ours.

    Raises BrokenTable with every problem of our tables, BadInput with every problem of the user's file.
    """
    return load_folder(DATA, own_rows)


def load_folder(folder: Path, own_rows: Path | None = None) -> Reference:
    """Load the tables of a folder (see `load_reference`)."""
    problems: list[Problem] = []
    tables = read_tables(folder, problems)
    problems += disagreements(tables)
    if problems:
        raise BrokenTable(problems)
    reference = Reference(
        genera=tables.genera,
        traits=tables.traits,
        parameters=tables.parameters,
        limit_rows=tables.limits,
        bags=tables.bags,
        boxes=tables.boxes,
        foams=tables.foams,
        packs=tables.packs,
        pests=tables.pests,
        dips=tables.dips,
        cautions=tables.cautions,
        listed_species=tables.listed,
        sources=tables.sources,
        sha256=tables.digest.hexdigest(),
    )
    if own_rows is None:
        return reference
    return _with_own_rows(reference, tables.digest, own_rows)


def _with_own_rows(reference: Reference, digest: Digest, path: Path) -> Reference:
    problems: list[Problem] = []
    own = read_own_rows(path, reference.genera, reference.traits, reference.parameters, problems)
    if problems:
        raise BadInput(problems)
    digest.update(b"own rows\0" + own.content)
    return replace(
        reference,
        traits=_merged_traits(reference.traits, own),
        parameters={**reference.parameters, **own.parameters},
        sources={**reference.sources, **own.sources},
        sha256=digest.hexdigest(),
        overrides=own.words,
    )


def _merged_traits(traits: Mapping[TraitKey, Fact], own: OwnRows) -> dict[TraitKey, Fact]:
    """An own row without a form speaks for all forms, so our rows by form give way to it too."""
    for_any_form = {(subject, name) for subject, form, name in own.traits if not form}
    kept = {key: fact for key, fact in traits.items() if (key[0], key[2]) not in for_any_form}
    return {**kept, **own.traits}
