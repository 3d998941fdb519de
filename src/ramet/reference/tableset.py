"""Reads all tables of a folder, each row checked by itself."""

import hashlib
from collections.abc import Callable, Hashable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import TypeAlias, TypeVar

from ramet.domain.problems import Place, Problem
from ramet.reference import readers
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
from ramet.reference.rows import Row, read_rows

TraitKey = tuple[str, str, str]
"""Subject, form ("" for any), trait."""
Digest: TypeAlias = "hashlib._Hash"
Value = TypeVar("Value")
Key = TypeVar("Key", bound=Hashable)
OPTIONAL_TABLES = frozenset({"limits.csv"})


@dataclass(frozen=True, slots=True)
class Mention:
    """A name that a row mentions, to be found in another table."""

    place: Place
    name: str


@dataclass(slots=True)
class TableSet:
    """The tables as read, and the mentions between them that are still to be checked."""

    digest: Digest = field(default_factory=hashlib.sha256)
    sources: dict[str, Source] = field(default_factory=dict)
    genera: dict[str, Genus] = field(default_factory=dict)
    traits: dict[TraitKey, Fact] = field(default_factory=dict)
    parameters: dict[str, Fact] = field(default_factory=dict)
    limits: tuple[LimitRow, ...] = ()
    has_limits: bool = False
    bags: dict[str, BagType] = field(default_factory=dict)
    boxes: dict[str, BoxType] = field(default_factory=dict)
    foams: dict[str, FoamType] = field(default_factory=dict)
    packs: dict[str, PackType] = field(default_factory=dict)
    pests: dict[str, Pest] = field(default_factory=dict)
    dips: dict[str, Dip] = field(default_factory=dict)
    cautions: tuple[CautionRow, ...] = ()
    listed: dict[str, ListedSpecies] = field(default_factory=dict)
    cited: list[tuple[Mention, str]] = field(default_factory=list)
    subjects: list[Mention] = field(default_factory=list)
    hosts: list[Mention] = field(default_factory=list)
    box_foams: list[Mention] = field(default_factory=list)


def read_tables(folder: Path, problems: list[Problem]) -> TableSet:
    """Read every table of a folder. Problems of single rows are added to `problems`."""
    tables = TableSet()
    reading = _Reading(folder, tables, problems)
    reading.keyed("SOURCES.csv", readers.source_row, tables.sources, lambda source: source.key)
    reading.keyed("genera.csv", readers.genus_row, tables.genera, lambda genus: genus.name)
    _read_traits(reading, tables)
    for path in sorted(folder.glob("parameters_*.csv")):
        reading.keyed(path.name, readers.parameter_row, tables.parameters, lambda fact: fact.name)
    limits: dict[tuple[str, str], LimitRow] = {}
    tables.has_limits = (folder / "limits.csv").exists()
    reading.keyed("limits.csv", readers.limit_row, limits, lambda limit: (limit.tolerance.value, limit.code))
    tables.limits = tuple(limits.values())
    reading.keyed("bags.csv", readers.bag_row, tables.bags, lambda bag: bag.id)
    reading.keyed("boxes.csv", readers.box_row, tables.boxes, lambda box: box.id, _note_foam)
    reading.keyed("foams.csv", readers.foam_row, tables.foams, lambda foam: foam.id)
    reading.keyed("packs.csv", readers.pack_row, tables.packs, lambda pack: pack.id)
    reading.keyed("pests.csv", readers.pest_row, tables.pests, lambda pest: pest.id, _note_hosts)
    reading.keyed("dips.csv", readers.dip_row, tables.dips, lambda dip: dip.id)
    cautions: dict[tuple[str, str], CautionRow] = {}
    reading.keyed("cautions.csv", readers.caution_row, cautions, lambda row: (row.code, row.applies))
    tables.cautions = tuple(cautions.values())
    reading.keyed("listed.csv", readers.listed_row, tables.listed, lambda species: species.taxon.casefold())
    return tables


@dataclass(frozen=True, slots=True)
class _Reading:
    """One pass over a folder."""

    folder: Path
    tables: TableSet
    problems: list[Problem]

    def rows(self, name: str) -> Iterator[Row]:
        """Yield the rows of a table and add its bytes to the digest."""
        path = self.folder / name
        if not path.exists():
            if name not in OPTIONAL_TABLES:
                self.problems.append(Problem(Place(name), None, "this table"))
            return
        content = path.read_bytes()
        self.tables.digest.update(name.encode() + b"\0" + content)
        header = readers.HEADERS.get(name, readers.PARAMETER_HEADER)
        for row in read_rows(name, content, header.split(","), self.problems):
            if name != "SOURCES.csv":
                grade = row.optional("grade") if "grade" in header else ""
                self.tables.cited.append((mention(row, "source"), grade))
            yield row

    def keyed(
        self,
        name: str,
        read: Callable[[Row], Value],
        into: dict[Key, Value],
        key_of: Callable[[Value], Key],
        note: Callable[[TableSet, Row], None] | None = None,
    ) -> None:
        """Read a table into a mapping; a key that is there twice is a problem."""
        for row in self.rows(name):
            value = read(row)
            if note is not None:
                note(self.tables, row)
            add(into, key_of(value), value, row)


def add(into: dict[Key, Value], key: Key, value: Value, row: Row) -> None:
    """Put a row's value under its key, or note that the key is taken."""
    if key in into:
        row.refuse(row.first_column, "a row that is not there twice")
    into.setdefault(key, value)


def mention(row: Row, column: str) -> Mention:
    """Return what a cell mentions, with its place."""
    return Mention(Place(row.file, row.line, column), row.optional(column))


def _read_traits(reading: _Reading, tables: TableSet) -> None:
    for row in reading.rows("traits.csv"):
        form, fact = readers.trait_row(row)
        tables.subjects.append(mention(row, "subject"))
        add(tables.traits, (fact.subject, form, fact.name), fact, row)


def _note_foam(tables: TableSet, row: Row) -> None:
    tables.box_foams.append(mention(row, "foam"))


def _note_hosts(tables: TableSet, row: Row) -> None:
    place = Place(row.file, row.line, "host_genera")
    tables.hosts += [Mention(place, name) for name in row.optional("host_genera").split()]
