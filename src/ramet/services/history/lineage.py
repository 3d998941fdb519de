"""The family of a strain, from the ledger: who was cut from whom, and the papers they inherit."""

from collections.abc import Iterator, Mapping, Sequence

from ramet.domain.errors import BadInput
from ramet.domain.events import PieceState, Standing
from ramet.domain.family import Family, Origin, Relative
from ramet.domain.piece import name_key
from ramet.domain.problems import Place, Problem
from ramet.ledger import lookups, queries
from ramet.ledger.search_text import sort_name
from ramet.ledger.store import Ledger


def family(ledger: Ledger, name: str) -> Family:
    """Return the family of a strain, or of the strain of a piece. Raises BadInput when there is neither."""
    with ledger.reading() as connection:
        strains = {name_key(one): one for one in lookups.strains(connection)}
        strain = strains.get(name_key(name.strip()))
        if strain is None and (state := lookups.state(connection, name.strip())) is not None:
            strain = state.piece.strain
        if strain is None:
            raise BadInput([Problem(Place("strain"), name, "a strain or a piece of the ledger")])
        states = lookups.states_of_strain(connection, strain)
        fused = {piece: into for piece, (into, _) in queries.fusions(connection).items()}
    pieces = {key: state for key, state in states.items() if state.standing is not Standing.UNDONE}
    members = tuple(_members(pieces, fused))
    taxon = next(iter(pieces.values())).piece.taxon
    return Family(strain, taxon, members, tuple(_origins(pieces)))


def _members(states: Mapping[str, PieceState], fused: Mapping[str, str]) -> Iterator[Relative]:
    children: dict[str | None, list[PieceState]] = {}
    for state in states.values():
        parent = None if state.piece.parent is None else name_key(state.piece.parent)
        children.setdefault(parent if parent in states else None, []).append(state)
    for siblings in children.values():
        siblings.sort(key=lambda state: sort_name(state.piece.piece), reverse=True)
    # A stack of our own: a line of descent may be longer than the calls that Python lets pile up.
    waiting = [(state, 0) for state in children.get(None, ())]
    while waiting:
        state, depth = waiting.pop()
        yield _relative(state, depth, fused)
        below = children.get(name_key(state.piece.piece), ())
        waiting += [(child, depth + 1) for child in below]


def _relative(state: PieceState, depth: int, fused: Mapping[str, str]) -> Relative:
    piece = state.piece
    size = f"{piece.length_mm:.0f} × {piece.width_mm:.0f} × {piece.height_mm:.0f} mm"
    if piece.heads is not None:
        size = f"{piece.heads} heads, {piece.length_mm:.0f} mm"
    place = " · ".join(part for part in (piece.system, piece.tank, piece.spot) if part)
    return Relative(
        piece.piece,
        piece.parent,
        depth,
        state.standing,
        size,
        place,
        piece.cut_on or piece.acquired_on,
        fused.get(piece.piece),
    )


def _origins(states: Mapping[str, PieceState]) -> Iterator[Origin]:
    """Return each set of papers in the family, with the pieces that have them not from their parent."""
    first: dict[tuple[str | None, str | None], list[str]] = {}
    for state in sorted(states.values(), key=lambda one: sort_name(one.piece.piece)):
        piece = state.piece
        parent = None if piece.parent is None else states.get(name_key(piece.parent))
        papers = (piece.source, piece.permit)
        if parent is None or (parent.piece.source, parent.piece.permit) != papers:
            first.setdefault(papers, []).append(piece.piece)
    for (source, permit), pieces in first.items():
        yield Origin(source, permit, tuple(pieces))


def text_tree(found: Family) -> Sequence[str]:
    """Return a family as lines of text, each piece set in below its parent."""
    lines = [f"{found.strain} ({found.taxon})", *(f"  {line}" for line in origin_lines(found))]
    for one in found.members:
        born = "" if one.born_on is None else f", {one.born_on.isoformat()}"
        fate = one.place if one.standing is Standing.ALIVE else str(one.standing)
        into = f" into {one.fused_into}" if one.fused_into else ""
        lines.append(f"{'  ' * (one.depth + 1)}{one.piece}: {one.size}{born}; {fate}{into}")
    return lines


def origin_lines(found: Family) -> list[str]:
    """Return the papers of a family in words."""
    lines = []
    for origin in found.origins:
        source = f"source {origin.source}" if origin.source else "source not recorded"
        permit = f"papers {origin.permit}" if origin.permit else "papers not recorded"
        shown = ", ".join(origin.pieces[:4]) + (" and others" if len(origin.pieces) > 4 else "")
        lines.append(f"{source}; {permit} ({shown}, and what was cut from them)")
    return lines
