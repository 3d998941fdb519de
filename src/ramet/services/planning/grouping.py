"""Which pieces may share a bag: small ones of one strain, that is with a common ancestor in the ledger."""

from collections.abc import Iterator, Mapping, Sequence

from ramet.domain.piece import Piece
from ramet.domain.words import Form, PackingRule
from ramet.services.planning.candidates import Candidate
from ramet.services.planning.gather import Inputs
from ramet.services.planning.rules import share_bags, touchy_alone

Group = tuple[Candidate, ...]


def groups(inputs: Inputs, candidates: Sequence[Candidate]) -> tuple[Group, ...]:
    """Return the groups of candidates of a line that may go in one bag, none where the rule is off.

    For each line and ancestor the best two, three ... up to six, and the pairs after the first: few, since
    two groups that share a piece exclude each other and every group costs the search time. What has another
    name, kind or form in the stock list is not of one strain, whatever its ancestor.
    """
    if PackingRule.SHARE_BAGS not in inputs.rules:
        return ()
    roots = ancestors(inputs.stock.pieces)
    kin: dict[tuple[int, str, str, str, Form, str], list[Candidate]] = {}
    for one in candidates:
        if may_share(inputs, one):
            root = roots[(one.mother or one.piece).casefold()]
            alike = one.strain.casefold(), one.taxon.casefold(), one.form
            kin.setdefault((one.request, root, *alike, one.stock.system), []).append(one)
    return tuple(group for (line, *_), many in kin.items() for group in _of_kin(inputs, line, many))


def may_share(inputs: Inputs, one: Candidate) -> bool:
    """Tell whether a candidate is small enough, and of a kind, to share a bag with its own."""
    most_mm = inputs.reference.parameter("shares_up_to_mm").band.typical
    if not share_bags(one.bag_class, max(one.size_mm), most_mm):
        return False
    keeps_to_itself = touchy_alone(one.form, inputs.reference.genus(one.taxon))
    return PackingRule.TOUCHY_ALONE not in inputs.rules or not keeps_to_itself


def ancestors(pieces: Sequence[Piece]) -> Mapping[str, str]:
    """Return for each piece (by its id without case) the oldest ancestor that the ledger names."""
    parents = {piece.piece.casefold(): (piece.parent or "").casefold() for piece in pieces}
    found = {}
    for piece in parents:
        oldest, seen = piece, {piece}
        while (parent := parents.get(oldest, "")) and parent not in seen:
            seen.add(parent)
            oldest = parent
        found[piece] = oldest
    return found


def _of_kin(inputs: Inputs, line: int, many: Sequence[Candidate]) -> Iterator[Group]:
    wanted = inputs.shipment.request[line].count
    most = min(len(many), wanted, round(inputs.reference.parameter("most_pieces_in_bag").band.typical))
    for count in range(2, most + 1):
        yield tuple(many[:count])
    for first in range(2, len(many) - 1, 2) if most >= 2 else ():
        yield tuple(many[first : first + 2])
