"""The stock as a Darwin Core archive: what other collections of living things read.

Core: an Occurrence (a living specimen) for each piece, `materialEntityID` the piece and `organismID` its
strain. Extensions: its sizes (MeasurementOrFact), and what it was cut from or fused into
(ResourceRelationship).
Darwin Core terms and text guide: Biodiversity Information Standards (TDWG), http://rs.tdwg.org/dwc/.
"""

import csv
import io
import json
import zipfile
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date
from typing import NamedTuple
from xml.sax.saxutils import escape, quoteattr

from ramet.domain.events import PieceState, Standing
from ramet.formats.cells import shielded, written

_TERMS = "http://rs.tdwg.org/dwc/terms/"
_EPOCH = (1980, 1, 1, 0, 0, 0)
"""The stamp of every file in the archive: the same ledger gives the same bytes."""
_STANDING = {
    Standing.ALIVE: "in stock",
    Standing.SENT: "sent",
    Standing.LOST: "lost",
    Standing.SPLIT: "divided",
    Standing.FUSED: "fused with another piece",
}
_SIZES = (("length_mm", "length", "mm"), ("width_mm", "width", "mm"), ("height_mm", "height", "mm"))


class _Table(NamedTuple):
    """A file of the archive: its class, its terms after the first column, and its rows."""

    name: str
    row_type: str
    terms: Sequence[str]
    rows: Iterable[Sequence[str]]


OCCURRENCE = (
    "occurrenceID",
    "materialEntityID",
    "organismID",
    "basisOfRecord",
    "scientificName",
    "verbatimIdentification",
    "taxonRank",
    "degreeOfEstablishment",
    "vitality",
    "disposition",
    "eventDate",
    "locationID",
    "preparations",
    "occurrenceRemarks",
    "dynamicProperties",
)
MEASUREMENT = (
    "measurementID",
    "measurementType",
    "measurementValue",
    "measurementUnit",
    "measurementDeterminedDate",
)
RELATIONSHIP = (
    "resourceRelationshipID",
    "resourceID",
    "relatedResourceID",
    "relationshipOfResource",
    "relationshipEstablishedDate",
)


def archive(
    states: Sequence[PieceState], fused: Mapping[str, tuple[str, date]], written_on: date, title: str
) -> bytes:
    """Return the archive as a zip file. `fused` names for a piece what it fused into, and when."""
    tables = (
        _Table("occurrence.csv", "Occurrence", OCCURRENCE, (_occurrence(state) for state in states)),
        _Table("measurement.csv", "MeasurementOrFact", MEASUREMENT, _measurements(states)),
        _Table("relationship.csv", "ResourceRelationship", RELATIONSHIP, _relationships(states, fused)),
    )
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED, compresslevel=6) as file:
        for table in tables:
            file.writestr(zipfile.ZipInfo(table.name, _EPOCH), _csv(table), zipfile.ZIP_DEFLATED)
        file.writestr(zipfile.ZipInfo("meta.xml", _EPOCH), _meta(tables), zipfile.ZIP_DEFLATED)
        file.writestr(zipfile.ZipInfo("eml.xml", _EPOCH), _eml(title, written_on), zipfile.ZIP_DEFLATED)
    return buffer.getvalue()


def _occurrence(state: PieceState) -> Sequence[str]:
    piece = state.piece
    papers = {"permit": piece.permit, "source": piece.source, "promised_to": piece.promised_to}
    kept = {name: text for name, text in papers.items() if text is not None}
    words = piece.taxon.split()
    named = len(words) > 1 and not words[1].endswith(".")
    known = piece.taxon.casefold() != "unknown"
    return (
        piece.piece,
        piece.piece,
        piece.piece,
        shielded(piece.strain),
        "LivingSpecimen",
        (piece.taxon if named else words[0]) if known else "Anthozoa",
        shielded(piece.taxon),
        ("species" if named else "genus") if known else "class",
        "captive",
        "alive" if state.standing is Standing.ALIVE else "",
        _STANDING.get(state.standing, ""),
        written(piece.cut_on or piece.acquired_on),
        shielded("/".join(part for part in (piece.system, piece.tank, piece.spot) if part)),
        _line(piece.mounted_on),
        _line(piece.note),
        json.dumps(kept, ensure_ascii=False, sort_keys=True) if kept else "",
    )


def _measurements(states: Sequence[PieceState]) -> Iterator[Sequence[str]]:
    for state in states:
        piece = state.piece
        sizes = [(kind, getattr(piece, name), unit) for name, kind, unit in _SIZES]
        # A size that was filled in by default is nobody's measurement.
        filled = {kind for name, kind, _ in _SIZES if name in piece.defaults_used}
        heads = [] if piece.heads is None else [("number of heads", piece.heads, "")]
        for kind, value, unit in (*sizes, *heads):
            if kind not in filled:
                number = f"{piece.piece}/{kind}"
                yield piece.piece, number, kind, written(value), unit, written(state.sized_on)


def _relationships(
    states: Sequence[PieceState], fused: Mapping[str, tuple[str, date]]
) -> Iterator[Sequence[str]]:
    for state in states:
        name, parent = state.piece.piece, state.piece.parent
        if parent is not None:
            yield name, f"{name}/parent", name, parent, "fragment of", written(state.piece.cut_on)
        if name in fused:
            into, on = fused[name]
            yield name, f"{name}/fused", name, into, "fused into", written(on)


def _line(text: str | None) -> str:
    """Return free text on one line: many readers of such archives know no line breaks within a field."""
    return shielded(" ".join((text or "").split()))


def _csv(table: _Table) -> str:
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(("id" if table.row_type == "Occurrence" else "coreid", *table.terms))
    writer.writerows(table.rows)
    return text.getvalue()


def _meta(tables: Sequence[_Table]) -> str:
    parts = [
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        '<archive xmlns="http://rs.tdwg.org/dwc/text/" metadata="eml.xml">\n'
    ]
    for number, table in enumerate(tables):
        kind, key = ("core", "id") if number == 0 else ("extension", "coreid")
        parts.append(
            f'  <{kind} encoding="UTF-8" fieldsTerminatedBy="," linesTerminatedBy="\\n" '
            f'fieldsEnclosedBy={quoteattr(chr(34))} ignoreHeaderLines="1" '
            f'rowType="{_TERMS}{table.row_type}">\n'
            f"    <files><location>{table.name}</location></files>\n"
            f'    <{key} index="0"/>\n'
        )
        parts += [
            f'    <field index="{index}" term="{_TERMS}{term}"/>\n'
            for index, term in enumerate(table.terms, start=1)
        ]
        parts.append(f"  </{kind}>\n")
    return "".join([*parts, "</archive>\n"])


def _eml(title: str, written_on: date) -> str:
    party = "<organizationName>The keeper of this stock</organizationName>"
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        '<eml:eml xmlns:eml="https://eml.ecoinformatics.org/eml-2.2.0" packageId="ramet-stock" '
        'system="ramet" xml:lang="en">\n'
        f"  <dataset>\n    <title>{escape(title)}</title>\n    <creator>{party}</creator>\n"
        f"    <pubDate>{written_on.isoformat()}</pubDate>\n    <language>en</language>\n"
        "    <abstract><para>Living corals in culture: each piece, its strain, its sizes and what it was "
        "cut from.</para></abstract>\n"
        f"    <contact>{party}</contact>\n  </dataset>\n</eml:eml>\n"
    )
