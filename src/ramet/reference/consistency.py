"""Whether the tables agree with each other: every name one mentions is found in another."""

from collections.abc import Container, Iterator

from ramet.domain.problems import Place, Problem
from ramet.domain.words import Form, Tolerance
from ramet.reference.ranges import TRAITS
from ramet.reference.tableset import Mention, TableSet

UNPUBLISHED_SOURCES = frozenset({"memory", "practice", "hobby"})


def disagreements(tables: TableSet) -> list[Problem]:
    """Return what the tables disagree about."""
    return [
        *_unknown_sources(tables),
        *_graded_too_high(tables),
        *_unknown_names(
            tables.subjects, _subjects(tables), "a genus of genera.csv or class:NAME in use there"
        ),
        *_unknown_names(tables.hosts, tables.genera, "genera of genera.csv"),
        *_unknown_names(tables.box_foams, tables.foams, "a foam of foams.csv"),
        *_missing_traits(tables),
        *_missing_dip(tables),
        *_missing_limits(tables),
    ]


def _unknown_sources(tables: TableSet) -> Iterator[Problem]:
    mentions = [mention for mention, _ in tables.cited if mention.name]
    return _unknown_names(mentions, tables.sources, "a key of SOURCES.csv")


def _graded_too_high(tables: TableSet) -> Iterator[Problem]:
    for mention, grade in tables.cited:
        if mention.name in UNPUBLISHED_SOURCES and grade == "published":
            place = Place(mention.place.file, mention.place.line, "grade")
            yield Problem(place, grade, f"practice or estimate: {mention.name} is not a publication")


def _unknown_names(mentions: list[Mention], known: Container[str], expected: str) -> Iterator[Problem]:
    for mention in mentions:
        if mention.name not in known:
            yield Problem(mention.place, mention.name or None, expected)


def _subjects(tables: TableSet) -> set[str]:
    classes = {f"class:{genus.trait_class}" for genus in tables.genera.values()}
    return {*tables.genera, *classes, "class:unknown"}


def _missing_traits(tables: TableSet) -> Iterator[Problem]:
    """Every genus finds every trait, in any form: in a row of its own or in its class."""
    for name in TRAITS:
        if not _resolves(tables, "class:unknown", name):
            yield Problem(Place("traits.csv"), None, f"a row class:unknown for {name}")
        for genus in tables.genera.values():
            subjects = (genus.name, f"class:{genus.trait_class}")
            if not any(_resolves(tables, subject, name) for subject in subjects):
                expected = f"a row for {genus.name} or class:{genus.trait_class} with {name}"
                yield Problem(Place("traits.csv"), None, expected)


def _missing_dip(tables: TableSet) -> Iterator[Problem]:
    if tables.dips and all(dip.trait_classes for dip in tables.dips.values()):
        yield Problem(Place("dips.csv"), None, "a row without trait_classes, for all other corals")


def _resolves(tables: TableSet, subject: str, name: str) -> bool:
    by_form = ((subject, form.value, name) in tables.traits for form in Form)
    return (subject, "", name) in tables.traits or all(by_form)


def _missing_limits(tables: TableSet) -> Iterator[Problem]:
    if not tables.has_limits:
        return
    bounded = {limit.tolerance for limit in tables.limits if limit.ends_hold}
    for tolerance in Tolerance:
        if tolerance not in bounded:
            yield Problem(Place("limits.csv"), None, f"a limit that ends the hold, for {tolerance.value}")
