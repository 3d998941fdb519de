"""The stock page finds by field and by word, sorts, and pages through all of it without a gap."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import date

import pytest
from entries import acquired, fixed_clock, happened
from sqlalchemy import Engine, event

from ramet.domain.errors import BadInput
from ramet.domain.events import Kind, Standing
from ramet.ledger import Ledger, open_ledger
from ramet.ledger import stock_page as pages
from ramet.ledger.queries import history
from ramet.ledger.search_text import search_text
from ramet.ledger.stock_page import Sort, StockQuery, count_stock, stock_facets, stock_page

PIECES = 23


@pytest.fixture
def stock(place: str) -> Iterator[Ledger]:
    """Pieces E1 to E23 of three strains in two systems; E5 is lost, E6 promised."""
    entries = [
        acquired(
            f"E{n}",
            "north" if n % 2 else "south",
            date(2027, 1, 1),
            strain=("Ember", "Slate", "Zürich Öl")[n % 3],
            length_mm=float(100 - n % 4),
            note="left side\nwith a skirt" if n == 7 else None,
            permit="CR-12/7" if n == 8 else None,
        )
        for n in range(1, PIECES + 1)
    ]
    entries.append(happened(Kind.LOST, "E5"))
    entries.append(happened(Kind.RESERVED, "E6", promised_to="the library"))
    with open_ledger(place, create=True, clock=fixed_clock) as ledger:
        ledger.append(entries, read_version=0, recorded_by="me", batch="b")
        yield ledger


def names(ledger: Ledger, query: StockQuery) -> list[str]:
    return [row.state.piece.piece for row in stock_page(ledger, replace(query, rows=500)).rows]


def test_two_comes_before_ten(stock: Ledger) -> None:
    assert names(stock, StockQuery())[:9] == ["E1", "E2", "E3", "E4", "E6", "E7", "E8", "E9", "E10"]


@pytest.mark.parametrize("sort", Sort)
@pytest.mark.parametrize("descending", [False, True])
def test_pages_hold_every_piece_once_and_in_order(stock: Ledger, sort: Sort, descending: bool) -> None:
    query = StockQuery(sort=sort, descending=descending, rows=4)
    found: list[str] = []
    while True:
        page = stock_page(stock, query)
        found += [row.state.piece.piece for row in page.rows]
        if page.next is None:
            break
        query = replace(query, after=page.next)
    assert found == names(stock, StockQuery(sort=sort, descending=descending))
    assert len(set(found)) == len(found) == PIECES - 1 == count_stock(stock, query)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("e7", ["E7"]),
        ("e2", ["E2", "E20", "E21", "E22", "E23"]),
        ("skirt lef", ["E7"]),
        ("zurich OL e1", ["E11", "E14", "E17"]),
        ("cr-12", ["E8"]),
        ("library", ["E6"]),
        ("nothing", []),
        ("'; DROP TABLE pieces; --", []),
        ('"', [f"E{n}" for n in range(1, PIECES + 1) if n != 5]),
    ],
)
def test_words_are_found_by_their_beginnings(stock: Ledger, text: str, expected: list[str]) -> None:
    assert names(stock, StockQuery(text=text)) == expected


@pytest.mark.parametrize("looked_through", [1, 5, 3000])
@pytest.mark.parametrize("query", [StockQuery(text="slate"), StockQuery(text="ember e2", strain="Ember")])
def test_words_are_paged_alike_whether_met_or_looked_up(
    stock: Ledger, monkeypatch: pytest.MonkeyPatch, looked_through: int, query: StockQuery
) -> None:
    monkeypatch.setattr(pages, "_LOOKED_THROUGH", looked_through)
    wanted = query.text.split()
    everything = stock_page(stock, StockQuery(sort=Sort.SIZE, descending=True, rows=500)).rows
    expected = [
        row.state.piece.piece
        for row in everything
        if all(
            any(word.startswith(start) for word in search_text(row.state.piece).split()) for start in wanted
        )
        and query.strain in {None, row.state.piece.strain}
    ]
    found: list[str] = []
    query = replace(query, sort=Sort.SIZE, descending=True, rows=3)
    while True:
        page = stock_page(stock, query)
        found += [row.state.piece.piece for row in page.rows]
        if page.next is None:
            break
        query = replace(query, after=page.next)
    assert found == expected


def test_words_follow_what_happens_to_a_piece(stock: Ledger) -> None:
    stock.append(
        [happened(Kind.CORRECTED, "E1", note="pale tips")], read_version=99, recorded_by="me", batch="b"
    )
    assert names(stock, StockQuery(text="pale")) == ["E1"]
    stock.append([happened(Kind.CORRECTED, "E1", note=None)], read_version=99, recorded_by="me", batch="b")
    assert names(stock, StockQuery(text="pale")) == []


@pytest.mark.parametrize(
    ("query", "expected"),
    [
        (StockQuery(system="north", strain="Ember"), ["E3", "E9", "E15", "E21"]),
        (StockQuery(standing=Standing.LOST), ["E5"]),
        (StockQuery(standing=None, text="e5"), ["E5"]),
        (StockQuery(promised=True), ["E6"]),
        (StockQuery(only={"e2", "e3", "e5"}), ["E2", "E3"]),
        (StockQuery(but={f"e{n}" for n in range(3, 99)}), ["E1", "E2"]),
        (StockQuery(tank="n1", parent="E1"), []),
    ],
)
def test_filters_join(stock: Ledger, query: StockQuery, expected: list[str]) -> None:
    assert names(stock, query) == expected


def test_facets_count_what_is_looked_for_but_for_their_own_field(stock: Ledger) -> None:
    found = stock_facets(stock, "system", StockQuery(system="north", strain="Ember"))
    assert [(one.value, one.pieces) for one in found] == [("north", 4), ("south", 3)]


@pytest.mark.parametrize("after", ["", "x", "[1]", '["a"]', '{"a": 1}', '["a", 2]'])
def test_a_mark_that_is_none_is_refused(stock: Ledger, after: str) -> None:
    with pytest.raises(BadInput, match="the mark of a page"):
        stock_page(stock, StockQuery(after=after))


@contextmanager
def statements() -> Iterator[list[str]]:
    """Collect every statement that is sent to any database."""
    sent: list[str] = []

    def note(_c: object, _k: object, statement: str, *_: object) -> None:
        sent.append(statement)

    event.listen(Engine, "before_cursor_execute", note)
    yield sent
    event.remove(Engine, "before_cursor_execute", note)


def test_the_number_of_queries_does_not_grow_with_the_stock(stock: Ledger) -> None:
    with statements() as few:
        stock_page(stock, StockQuery(rows=2))
        history(stock, "E1")
    entries = [acquired(f"F{n}") for n in range(300)]
    entries += [happened(Kind.MEASURED, "E1", length_mm=50.0 + n) for n in range(50)]
    stock.append(entries, read_version=99, recorded_by="me", batch="b")
    with statements() as many:
        assert len(stock_page(stock, StockQuery(rows=200)).rows) == 200
        assert len(history(stock, "E1")) == 51
    assert len(many) == len(few)
