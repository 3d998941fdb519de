"""What the stock page shows: the rows looked for, where each stands, and whether it could travel."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from urllib.parse import urlencode

from ramet.domain.events import PieceState, Standing
from ramet.domain.words import Form
from ramet.ledger.stock_page import Facet, Sort, StockQuery, count_stock, stock_facets, stock_page
from ramet.ledger.store import Ledger
from ramet.services.growing.piece_readiness import TravelDays, Travels, by_piece
from ramet.services.growing.readiness import read_footing
from ramet.web.desk import Desk

ROWS = 50
_MOST_CHOICES = 400
SORTS = (
    (Sort.PIECE, "piece"),
    (Sort.STRAIN, "strain"),
    (Sort.TAXON, "taxon"),
    (Sort.PLACE, "place"),
    (Sort.SIZE, "size"),
    (Sort.CHANGED, "last change"),
)
STANDINGS = (("", "in stock"), ("sent", "sent"), ("lost", "lost"), ("all", "all there ever were"))
_STANDING = {"all": None, "sent": Standing.SENT, "lost": Standing.LOST}
HEALTH = (("", "held or not"), ("held", "held"), ("free", "not held"))
PROMISES = (("", "promised or not"), ("yes", "promised"), ("no", "free"))


@dataclass(frozen=True, slots=True)
class Looked:
    """What an address asks of the stock, with the words that keep it in every link of the page."""

    query: StockQuery
    kept: Mapping[str, str]

    def link(self, **changed: str) -> str:
        """Return the address with something changed; the page begins anew unless `after` is given."""
        words = {**self.kept, "after": "", **changed}
        told = urlencode({name: text for name, text in words.items() if text})
        return f"/stock?{told}" if told else "/stock"


@dataclass(frozen=True, slots=True)
class PieceRow:
    """A piece in the list, and when it could travel."""

    state: PieceState
    travels: Travels | None


@dataclass(frozen=True, slots=True)
class Choices:
    """The words that the list can be narrowed by."""

    places: tuple[Facet, ...]
    tanks: tuple[Facet, ...]
    strains: tuple[Facet, ...]
    taxa: tuple[Facet, ...]


@dataclass(frozen=True, slots=True)
class StockView:
    """A page of the stock."""

    looked: Looked
    rows: tuple[PieceRow, ...]
    count: int
    next: str
    choices: Choices
    total: int
    sorts: tuple[tuple[str, str], ...] = field(default=tuple((sort.value, words) for sort, words in SORTS))


def read_query(params: Mapping[str, str], held: frozenset[str]) -> Looked:
    """Return what an address asks for; a word that is none of ours counts as not said."""
    kept = {
        name: params.get(name, "").strip()
        for name in ("q", "system", "tank", "strain", "taxon", "form", "standing", "health", "promised")
    }
    kept |= {"sort": params.get("sort", ""), "down": params.get("down", "")}
    query = StockQuery(
        text=kept["q"],
        system=kept["system"] or None,
        tank=kept["tank"] or None,
        strain=kept["strain"] or None,
        taxon=kept["taxon"] or None,
        form=Form(kept["form"]) if kept["form"] in set(Form) else None,
        standing=_STANDING.get(kept["standing"], Standing.ALIVE),
        promised={"yes": True, "no": False}.get(kept["promised"]),
        only=held if kept["health"] == "held" else None,
        but=held if kept["health"] == "free" else None,
        sort=Sort(kept["sort"]) if kept["sort"] in set(Sort) else Sort.PIECE,
        descending=kept["down"] == "yes",
        rows=ROWS,
        after=params.get("after") or None,
    )
    return Looked(query, kept)


def stock_view(desk: Desk, params: Mapping[str, str]) -> StockView:
    """Return the page of the stock that an address asks for."""
    days = travel_days(desk)
    looked = read_query(params, days.held)
    found = stock_page(desk.book, looked.query)
    return StockView(
        looked=looked,
        rows=tuple(PieceRow(row.state, days.of(row.state.piece.piece)) for row in found.rows),
        count=count_stock(desk.book, replace(looked.query, after=None)),
        next=looked.link(after=found.next) if found.next else "",
        choices=desk.remembered("choices of the stock", _choices),
        total=desk.remembered("pieces in stock", lambda book: count_stock(book, StockQuery())),
    )


def travel_days(desk: Desk) -> TravelDays:
    """Return when every piece could travel, reckoned once for each version of the ledger."""

    def make(book: Ledger) -> TravelDays:
        footing = read_footing(book, desk.reference, desk.today)
        # The footing has one hold a piece; the pages tell all of them.
        return TravelDays(footing, by_piece(tuple(footing.held.values())))

    return desk.remembered("travel days", make)


def travel_words(travels: Travels | None, today: date) -> str:
    """Return the word of a piece's tag: held, ready, soon or growing."""
    if travels is None:
        return ""
    if travels.holds:
        return "held"
    if travels.on is None:
        return "too small"
    return "ready" if travels.on <= today else "from"


def _choices(book: Ledger) -> Choices:
    fields = ("system", "tank", "strain", "taxon")
    return Choices(*(stock_facets(book, one, StockQuery())[:_MOST_CHOICES] for one in fields))
