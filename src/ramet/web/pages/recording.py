"""Entering what was done to pieces: one form a verb, with every caution, and taking it back."""

from collections.abc import Mapping
from datetime import date
from urllib.parse import quote

from fastapi import APIRouter, HTTPException, Request
from starlette.responses import Response

from ramet.domain.errors import BadInput, StaleWrite
from ramet.domain.events import PieceState
from ramet.domain.piece import name_key
from ramet.domain.problems import Problem
from ramet.ledger import lookups, projections
from ramet.ledger.store import Ledger, version_of
from ramet.services.recording.recorded import Ask, Recorded, Scribe
from ramet.services.recording.undo import undo
from ramet.web.desk import AtDesk, Desk
from ramet.web.forms import FormState, Sent, SentForm, problem_words, write_once
from ramet.web.pages.shipment_editor import known_words
from ramet.web.render import go_to, render
from ramet.web.verb_orders import Typed
from ramet.web.verbs import SIZE_FIELDS, VERBS, Verb, VerbField

routes = APIRouter()
MOST_PIECES = 500
WHO = "grower"


@routes.get("/stock/do/{verb}")
def show_verb(request: Request, verb: str, desk: AtDesk) -> Response:
    """Show the form of a verb for the pieces in the address."""
    chosen = _verb(verb)
    params = request.query_params
    names = params.getlist("piece")
    asked = {one.name: params[one.name] for one in chosen.fields if one.name in params}
    return _page(request, desk, chosen, names, FormState(), asked=asked)


@routes.post("/stock/do/{verb}")
def enter_verb(request: Request, verb: str, sent: SentForm, desk: AtDesk) -> Response:
    """Enter what the form says, once."""
    chosen, pieces = _verb(verb), list(sent.all("piece"))
    if not pieces:
        return go_to(request, "/stock", "Tick at least one piece first.")
    typed = Typed(sent, tuple(pieces), desk.say, [])
    on = typed.day("on")
    scribe = Scribe(WHO, desk.today, on, _version(sent), frozenset(sent.all("word")))
    came: list[Recorded] = []

    def write() -> str:
        if typed.problems:
            raise BadInput(typed.problems)
        done = chosen.do(desk.book, typed, desk.reference, scribe)
        came.append(done)
        if not done.done:
            raise _Open(done)
        return _where_next(sent, done)

    try:
        where = write_once(desk, sent, write)
    except BadInput as error:
        return _page(request, desk, chosen, pieces, _refused(sent, error.problems), 422)
    except _Open as still:
        form = _refused(sent, still.recorded.problems)
        return _page(request, desk, chosen, pieces, form, 422, still.recorded.asks)
    except StaleWrite as error:
        return _page(request, desk, chosen, pieces, _both_values(desk, chosen, pieces, sent, error), 409)
    return go_to(request, where, _told(chosen, pieces, came[0] if came else None))


@routes.post("/stock/undo")
def take_back(request: Request, sent: SentForm, desk: AtDesk) -> Response:
    """Take back the whole action to which an entry belongs."""
    number, back = sent.get("number"), sent.get("back") or "/stock"
    came: list[Recorded] = []

    def write() -> str:
        done = undo(desk.book, Scribe(WHO, desk.today), int(number) if number.isdigit() else None)
        came.append(done)
        if not done.done:
            raise _Open(done)
        return back if back.startswith("/stock") else "/stock"

    try:
        where = write_once(desk, sent, write)
    except _Open as still:
        words = "; ".join(problem_words(problem) for problem in still.recorded.problems)
        return go_to(request, "/stock", f"Not taken back: {words}.")
    count = len(came[0].pieces) if came else 0
    return go_to(request, where, f"Taken back, by new entries: {desk.say.count(count, 'piece')}.")


class _Open(Exception):
    """Something still speaks against a write: nothing was entered, and the form's token is free again."""

    def __init__(self, recorded: Recorded) -> None:
        self.recorded = recorded


def _where_next(sent: Sent, done: Recorded) -> str:
    back = sent.get("back")
    if back.startswith(("/tanks/", "/stock")):
        return back
    return (
        f"/stock/piece/{quote(done.pieces[0])}" if len(sent.all("piece")) == 1 and done.pieces else "/stock"
    )


def _verb(name: str) -> Verb:
    if name not in VERBS:
        raise HTTPException(404, f"Nothing is entered under “{name}”.")
    return VERBS[name]


def _page(
    request: Request,
    desk: Desk,
    verb: Verb,
    names: list[str],
    form: FormState,
    status: int = 200,
    asks: tuple[Ask, ...] = (),
    asked: Mapping[str, str] | None = None,
) -> Response:
    names = list(dict.fromkeys(names))[:MOST_PIECES]
    with desk.book.reading() as connection:
        found = projections.known_states(connection, [name_key(name) for name in names])
        version = version_of(connection)
    states = [found[name_key(name)] for name in names if name_key(name) in found]
    if not states:
        raise HTTPException(404, "None of these pieces is in the ledger.")
    strains, taxa = known_words(desk)
    systems, tanks = desk.remembered("places", _places)
    context = {
        "verb": verb,
        "states": states,
        "form": form if form.values else FormState({**_first_values(verb, states, desk), **(asked or {})}),
        "version": version,
        "asks": asks,
        "pests": [
            ("", "none in particular"),
            *((pest.id, pest.words) for pest in desk.reference.pests.values()),
        ],
        "size_fields": SIZE_FIELDS,
        "suggestions": {"strains": strains, "taxa": taxa, "systems": systems, "tanks": tanks},
        "today": desk.today.isoformat(),
    }
    return render(request, "stock/verb.html", context, status=status)


def _first_values(verb: Verb, states: list[PieceState], desk: Desk) -> dict[str, str]:
    """What stands in the fields at first: for a single piece what the ledger says of it."""
    values = {"on": desk.today.isoformat()}
    if len(states) == 1:
        piece = states[0].piece
        values |= {one.name: _text(getattr(piece, one.of_piece)) for one in verb.fields if one.of_piece}
    return values


def _text(value: object) -> str:
    return "" if value is None else value.isoformat() if isinstance(value, date) else str(value)


def _places(book: Ledger) -> tuple[list[str], list[str]]:
    with book.reading() as connection:
        known = lookups.known_places(connection)
    tanks = {tank for found in known.tanks.values() for _, tank in found}
    return sorted(known.systems.values()), sorted(tanks)


def _version(sent: Sent) -> int | None:
    text = sent.get("version")
    return int(text) if text.isdigit() else None


def _refused(sent: Sent, problems: tuple[Problem, ...]) -> FormState:
    errors: dict[str, str] = {}
    wrong = []
    pieces = sent.all("piece")
    for problem in problems:
        column = problem.place.column or ""
        alone = f"{column}@{pieces[0]}" if len(pieces) == 1 else column
        name = column if column in sent.fields else alone
        if name in sent.fields and name != "piece":
            errors.setdefault(name, f"Expected {problem.expected}.")
        else:
            wrong.append(problem_words(problem))
    return FormState(sent.fields, errors, tuple(wrong))


def _both_values(desk: Desk, verb: Verb, pieces: list[str], sent: Sent, error: StaleWrite) -> FormState:
    """Tell what the ledger says now beside what was typed, field by field."""
    with desk.book.reading() as connection:
        found = projections.known_states(connection, [name_key(name) for name in pieces])
    errors: dict[str, str] = {}
    for name in pieces:
        state = found.get(name_key(name))
        if state is None:
            continue
        for one in (*verb.each, *verb.fields):
            field = f"{one.name}@{name}" if one in verb.each else one.name
            now, typed = _now(one, state, desk), sent.get(field)
            if typed and now is not None and typed != now:
                errors[field] = (
                    f"{state.piece.piece} now has {now}; you typed {typed}. Saving again keeps yours."
                )
    words = f"Somebody changed this meanwhile ({error.what}). Look at it again; saving again enters yours."
    return FormState(sent.fields, errors, (words,))


def _now(one: VerbField, state: PieceState, desk: Desk) -> str | None:
    value = getattr(state.piece, one.of_piece or one.name, None)
    if value is None:
        return None
    return desk.say.plain_number(one.quantity, value) if one.quantity else _text(value)


def _told(verb: Verb, pieces: list[str], recorded: Recorded | None) -> str:
    named = pieces[0] if len(pieces) == 1 else f"{len(pieces)} pieces"
    words = f"{verb.done} {named}."
    cautions = recorded.cautions if recorded else ()
    return " ".join([words, *(f"{one.text}." for one in cautions[:4])])
