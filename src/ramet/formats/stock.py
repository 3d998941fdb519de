"""The stock table: one piece a row (docs/ledger.md describes its columns)."""

from collections.abc import Iterable, Sequence

from ramet.domain.events import PieceState, Standing
from ramet.domain.words import Form
from ramet.formats.cells import day, number, quantity, text_up_to, whole_number, word_of, written
from ramet.formats.table import Column

LONGEST_MM = 5000.0
_ID = text_up_to(80)
_TEXT = text_up_to(200)
_SIZE = quantity("mm", 0, LONGEST_MM, "a size above 0 and up to 5000 mm", above_low=True)


def _standing(cell: str) -> Standing:
    """Read what became of a piece; what was entered by mistake is in no list."""
    standing = word_of(Standing)(cell)
    if standing is Standing.UNDONE:
        raise ValueError("a piece that was not entered by mistake: leave such a row out")
    return standing


COLUMNS: tuple[Column, ...] = (
    Column("piece", _ID, required=True, aliases=("frag",)),
    Column("strain", _ID, required=True, aliases=("line", "clone")),
    Column("taxon", text_up_to(120), required=True),
    Column("form", word_of(Form)),
    Column("parent", _ID),
    Column("system", _ID, required=True),
    Column("tank", _ID, required=True),
    Column("spot", _ID),
    Column("length_mm", _SIZE, required=True),
    Column("width_mm", _SIZE),
    Column("height_mm", _SIZE),
    Column("heads", whole_number(1, 100_000, "a whole number of heads, 1 or more")),
    Column("mounted_on", _TEXT),
    Column("cut_on", day),
    Column("acquired_on", day),
    Column("source", _TEXT),
    Column("permit", _TEXT),
    Column("par", number(0, 2500, "a light from 0 to 2500 µmol/m²/s")),
    Column("flow_cm_s", quantity("cm_s", 0, 500, "a flow from 0 to 500 cm/s")),
    Column("note", text_up_to(4000, lines=True)),
    Column("promised_to", _TEXT),
    Column("standing", _standing),
    Column("wounded_on", day),
)
"""Columns in the order of export. The last three are written only when a piece needs them."""

_MAY_BE_DEFAULT = ("form", "width_mm", "height_mm")


def stock_table(states: Sequence[PieceState]) -> Iterable[list[str]]:
    """Return header and rows of the stock table. A size that was filled in by default is left blank."""
    needed = {
        "promised_to": any(state.piece.promised_to is not None for state in states),
        "wounded_on": any(state.piece.wounded_on is not None for state in states),
        "standing": any(state.standing is not Standing.ALIVE for state in states),
    }
    names = [column.name for column in COLUMNS if needed.get(column.name, True)]
    yield names
    for state in states:
        yield [_cell(state, name) for name in names]


def _cell(state: PieceState, name: str) -> str:
    piece = state.piece
    if name == "standing":
        return state.standing.value
    if name in _MAY_BE_DEFAULT and name in piece.defaults_used:
        return ""
    return written(getattr(piece, name))
