"""Which pieces could go for which request line, and why the others could not."""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from ramet.domain.piece import Hold, Piece
from ramet.domain.words import BagClass, Form, How, PackingRule
from ramet.formats.shipment import Request
from ramet.services.calendar.healing import edge_sealed_on, floor_on
from ramet.services.planning.cutting import Cutting, cuttings
from ramet.services.planning.gather import Inputs


@dataclass(frozen=True, slots=True)
class Candidate:
    """A piece that could go for a line: a whole one, or one still to be cut from `mother`."""

    request: int
    piece: str
    strain: str
    taxon: str
    form: Form
    bag_class: BagClass
    size_mm: tuple[float, float, float]
    heads: int | None
    how: How
    ready_on: date
    stock: Piece
    mother: str | None = None

    @property
    def id(self) -> str:
        """Names the pairing of line and piece."""
        return f"{self.request}:{self.piece}"


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why a piece that answers to a line's wish cannot go, and what would change that."""

    request: int
    piece: str | None
    code: str
    text: str
    would_fit_if: str


@dataclass(frozen=True, slots=True)
class Candidates:
    """All candidates and refusals. `spare_children` caps the cuts a mother can bear."""

    candidates: tuple[Candidate, ...]
    refusals: tuple[Refusal, ...]
    spare_children: Mapping[str, int]
    spare_pieces: Mapping[str, int]
    defaults_used: tuple[str, ...]


def find_candidates(inputs: Inputs) -> Candidates:
    """Hold every piece against every line. A line keeps its best `count` plus a few spares."""
    lines = [_sorted_out(index, request, inputs) for index, request in enumerate(inputs.shipment.request)]
    found = tuple(one for line in lines for one in line.best)
    children: dict[str, int] = {}
    for mother, most in (pair for line in lines for pair in line.children.items()):
        children[mother] = max(children.get(mother, 0), most)
    return Candidates(
        candidates=found,
        refusals=tuple(one for line in lines for one in line.refused),
        spare_children=children,
        spare_pieces=_spare_pieces(inputs),
        defaults_used=tuple(sorted({note for one in found for note in one.stock.defaults_used})),
    )


def answers(request: Request, piece: Piece, inputs: Inputs) -> bool:
    """Tell whether a piece is of the kind that a line wishes, whatever its state and size."""
    genus = inputs.reference.genus(piece.taxon)
    return (
        _same(request.strain, piece.strain)
        and (request.taxon is None or _is_a(piece.taxon, request.taxon))
        and request.form in (None, piece.form)
        and (request.bag_class is None or (genus is not None and genus.bag_class == request.bag_class))
    )


def substitutes(inputs: Inputs, index: int, taken: frozenset[str]) -> tuple[Candidate, ...]:
    """Return the whole pieces that could go for a line, the best first.

    `taken` are those that go already, and the mothers of cuts that go: these stay.
    """
    request = inputs.shipment.request[index]
    found = [
        whole_candidate(inputs, index, piece)
        for piece in inputs.stock.pieces
        if piece.piece not in taken
        and answers(request, piece, inputs)
        and why_not(inputs, index, piece) is None
    ]
    return tuple(sorted(found, key=lambda one: _preference(request, one)))


def why_not(inputs: Inputs, index: int, piece: Piece) -> Refusal | None:
    """Return the first reason why a piece cannot go whole for a line, or None when it can."""
    holds = [hold for hold in inputs.stock.holds if hold.piece == piece.piece]
    return _refusal(index, inputs.shipment.request[index], piece, holds, inputs)


def all_objections(inputs: Inputs, index: int, piece: Piece) -> tuple[Refusal, ...]:
    """Return every reason why a piece cannot go whole for a line."""
    holds = [hold for hold in inputs.stock.holds if hold.piece == piece.piece]
    found = _objections(inputs.shipment.request[index], piece, holds, inputs)
    return tuple(Refusal(index, piece.piece, code, text, would) for code, text, would in found)


def bag_class_of(inputs: Inputs, piece: Piece) -> BagClass:
    """Return the class of a piece's genus; a genus not in the tables travels as stinging, the strictest."""
    genus = inputs.reference.genus(piece.taxon)
    return BagClass.STINGING if genus is None else genus.bag_class


@dataclass(frozen=True, slots=True)
class _Line:
    """What one line finds in stock; `children` caps the cuts of each mother."""

    best: tuple[Candidate, ...]
    refused: tuple[Refusal, ...]
    children: Mapping[str, int]


def _sorted_out(index: int, request: Request, inputs: Inputs) -> _Line:
    whole: list[Candidate] = []
    cut: list[Candidate] = []
    refused: list[Refusal] = []
    children: dict[str, int] = {}
    matching = [piece for piece in inputs.stock.pieces if answers(request, piece, inputs)]
    for piece in matching:
        holds = [hold for hold in inputs.stock.holds if hold.piece == piece.piece]
        refusal = _refusal(index, request, piece, holds, inputs)
        offcuts = None if refusal is None else _cut_from(refusal, request, piece, inputs)
        if refusal is None:
            whole.append(whole_candidate(inputs, index, piece))
        elif offcuts is None:
            refused.append(refusal)
        else:
            children[piece.piece] = offcuts.at_most
            numbers = range(1, offcuts.at_most + 1)
            cut.extend(_child(index, piece, offcuts, number, inputs) for number in numbers)
    ranked = sorted(whole, key=lambda one: _preference(request, one))
    if len(whole) < request.count:  # nothing is cut while whole pieces answer the wish
        ranked += sorted(cut, key=lambda one: one.piece)
    keep = request.count + int(inputs.reference.parameter("spare_candidates").band.typical)
    if not matching:
        refused.append(_nothing_like_it(index, request))
    return _Line(tuple(ranked[:keep]), tuple(refused), children)


def _same(wish: str | None, name: str) -> bool:
    return wish is None or wish.casefold() == name.casefold()


def _is_a(taxon: str, wish: str) -> bool:
    return taxon.casefold() == wish.casefold() or taxon.casefold().startswith(wish.casefold() + " ")


def _preference(request: Request, one: Candidate) -> tuple[float, str]:
    low = request.min_length_mm or one.size_mm[0]
    return (abs(one.size_mm[0] - low), one.piece)


def whole_candidate(inputs: Inputs, index: int, piece: Piece) -> Candidate:
    """Return a piece as it is for a line, without asking whether it may go."""
    return Candidate(
        request=index,
        piece=piece.piece,
        strain=piece.strain,
        taxon=piece.taxon,
        form=piece.form,
        bag_class=bag_class_of(inputs, piece),
        size_mm=(piece.length_mm, piece.width_mm, piece.height_mm),
        heads=piece.heads,
        how=How.WHOLE,
        ready_on=_ready_on(piece, inputs),
        stock=piece,
    )


def _child(index: int, piece: Piece, offcuts: Cutting, number: int, inputs: Inputs) -> Candidate:
    return Candidate(
        request=index,
        piece=f"{piece.piece}-c{number}",
        strain=piece.strain,
        taxon=piece.taxon,
        form=piece.form,
        bag_class=bag_class_of(inputs, piece),
        size_mm=offcuts.size_mm,
        heads=offcuts.heads,
        how=How.CUT,
        ready_on=edge_sealed_on(inputs.reference, piece.taxon, piece.form, inputs.today + timedelta(days=1)),
        stock=piece,
        mother=piece.piece,
    )


def _ready_on(piece: Piece, inputs: Inputs) -> date:
    if piece.healing_since is None:
        return inputs.today
    return edge_sealed_on(inputs.reference, piece.taxon, piece.form, piece.healing_since)


def _refusal(
    index: int, request: Request, piece: Piece, holds: Sequence[Hold], inputs: Inputs
) -> Refusal | None:
    """Return the first reason why a piece cannot go whole, or None when it can."""
    for code, text, would_fit_if in _objections(request, piece, holds, inputs):
        return Refusal(index, piece.piece, code, text, would_fit_if)
    return None


def _objections(
    request: Request, piece: Piece, holds: Sequence[Hold], inputs: Inputs
) -> Iterator[tuple[str, str, str]]:
    yield from _health_objections(piece, holds, inputs)
    yield from _size_objections(request, piece)
    yield from _healing_objections(piece, inputs)
    yield from _keeping_objections(request, piece, inputs)
    yield from _light_objections(piece, inputs)


def _health_objections(piece: Piece, holds: Sequence[Hold], inputs: Inputs) -> Iterator[tuple[str, str, str]]:
    for hold in holds:
        link = "found on it" if hold.direct else "shares water with a piece that had it"
        pest = inputs.reference.pests[hold.pest].words if hold.pest in inputs.reference.pests else hold.pest
        yield "held", f"{piece.piece} is held: {pest} ({link}, {hold.since.isoformat()})", hold.ends
    if piece.promised_to is not None:
        yield "promised", f"{piece.piece} is promised to {piece.promised_to}", "the promise is given up"


def _size_objections(request: Request, piece: Piece) -> Iterator[tuple[str, str, str]]:
    low, high = request.min_length_mm, request.max_length_mm
    if low is not None and piece.length_mm < low:
        yield (
            "too_small",
            f"{piece.piece} is {piece.length_mm:.0f} mm long, {low:.0f} mm are asked for",
            f"the line takes {piece.length_mm:.0f} mm, or the piece grows {low - piece.length_mm:.0f} mm",
        )
    if high is not None and piece.length_mm > high:
        yield (
            "too_large",
            f"{piece.piece} is {piece.length_mm:.0f} mm long, at most {high:.0f} mm are asked for",
            f"the line takes {piece.length_mm:.0f} mm",
        )


def _healing_objections(piece: Piece, inputs: Inputs) -> Iterator[tuple[str, str, str]]:
    wound = piece.healing_since
    if wound is None:
        return
    sealed = edge_sealed_on(inputs.reference, piece.taxon, piece.form, wound)
    if sealed > inputs.packed_on:
        floor = floor_on(inputs.reference, piece.taxon, piece.form, wound)
        yield (
            "not_healed",
            f"{piece.piece} was cut on {wound.isoformat()}; its edge is sealed about "
            f"{sealed.isoformat()} (earliest {floor.isoformat()})",
            f"packing is on {sealed.isoformat()} or later",
        )


def _keeping_objections(request: Request, piece: Piece, inputs: Inputs) -> Iterator[tuple[str, str, str]]:
    alike = sum(1 for other in inputs.stock.pieces if other.strain.casefold() == piece.strain.casefold())
    kept = PackingRule.KEEP_LAST_PIECE in inputs.rules
    if alike == 1 and kept and not request.last_of_strain:
        yield (
            "last_of_strain",
            f"{piece.piece} is the last piece of {piece.strain}",
            "the line says last_of_strain = true, or the strain has a second piece",
        )


def _light_objections(piece: Piece, inputs: Inputs) -> Iterator[tuple[str, str, str]]:
    zones = inputs.shipment.tank.zone
    if not zones:
        return
    usable = inputs.reference.trait(piece.taxon, piece.form, "light_par").band
    if not any(zone.par_high >= usable.low and zone.par_low <= usable.high for zone in zones):
        yield (
            "no_light",
            f"{piece.taxon} takes {usable.low:.0f}–{usable.high:.0f} µmol/m²/s; no zone of the tank has that",
            "a zone of the tank is lit for it",
        )


def _cut_from(refusal: Refusal, request: Request, piece: Piece, inputs: Inputs) -> Cutting | None:
    """Return what can be cut from a sound piece that is only too large, or the last of its strain."""
    if not request.may_cut or refusal.code not in {"too_large", "last_of_strain"}:
        return None
    if any(_healing_objections(piece, inputs)) or any(_light_objections(piece, inputs)):
        return None
    return cuttings(inputs, request, piece)


def _spare_pieces(inputs: Inputs) -> dict[str, int]:
    """Return for each strain how many whole pieces may leave with lines that keep its last."""
    counts = Counter(piece.strain for piece in inputs.stock.pieces)
    kept = 1 if PackingRule.KEEP_LAST_PIECE in inputs.rules else 0
    return {strain: number - kept for strain, number in counts.items()}


def _nothing_like_it(index: int, request: Request) -> Refusal:
    wish = request.strain or request.taxon or request.form or request.bag_class
    return Refusal(
        index,
        None,
        "not_in_stock",
        f"nothing in stock is {wish}",
        f"a piece of {wish} is acquired, healed and clean before packing",
    )
