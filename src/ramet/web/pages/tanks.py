"""Tanks: how full each is, and one from above with its pieces on their spots, to be moved by tap or drag."""

from fastapi import APIRouter, HTTPException, Request
from starlette.responses import RedirectResponse, Response

from ramet.domain.piece import name_key
from ramet.ledger import queries
from ramet.ledger.stock_page import StockQuery, count_stock, stock_page
from ramet.services.growing.tank_space import tank_space
from ramet.services.recording.readings import set_spots
from ramet.services.recording.recorded import Scribe
from ramet.services.tank_layout import TankLayout, natural, tank_layout
from ramet.web.desk import AtDesk, Desk
from ramet.web.forms import FormState, Sent, SentForm, write_once
from ramet.web.render import go_to, render
from ramet.web.stock_views import travel_days
from ramet.web.tank_drawing import tank_svg, view_address

routes = APIRouter()
MOST_DRAWN = 400
_LENGTHS = ("x_mm", "y_mm", "z_mm", "length_mm", "width_mm", "height_mm")


@routes.get("/tanks")
def tanks(request: Request, desk: AtDesk) -> Response:
    """Show every tank and how full it gets."""
    if not desk.has_ledger:
        return RedirectResponse("/start", 303)
    spaces = desk.remembered("tank space", lambda book: tank_space(book, desk.reference, desk.today))
    return render(request, "tank/list.html", {"spaces": spaces})


@routes.get("/tanks/view")
def view_tank(request: Request, desk: AtDesk, system: str, tank: str, move: str = "") -> Response:
    """Show one tank from above."""
    return _page(request, desk, system, tank, FormState(), move)


@routes.post("/tanks/spot")
def keep_spot(request: Request, sent: SentForm, desk: AtDesk) -> Response:
    """Enter what a spot, or the tank, is like."""
    system, tank = sent.get("system"), sent.get("tank")
    typed, errors = _read_spot(sent, desk)
    scribe = Scribe("grower", desk.today)
    if not errors:

        def write() -> str:
            done = set_spots(desk.book, [typed], scribe)
            for problem in done.problems:
                errors[problem.place.column or ""] = f"Expected {problem.expected}."
            if not done.done:
                raise _NotEnteredError
            return "/tanks/view"

        try:
            write_once(desk, sent, write)
        except _NotEnteredError:
            pass
        else:
            place = _layout(desk, system, tank)
            return go_to(
                request, view_address(place), f"Entered: {sent.get('spot') or 'the tank as a whole'}."
            )
    return _page(request, desk, system, tank, FormState(sent.fields, errors), "", 422)


class _NotEnteredError(Exception):
    """The ledger did not take it; what is wrong is told beside the fields."""


def _page(
    request: Request, desk: Desk, system: str, tank: str, form: FormState, moving: str, status: int = 200
) -> Response:
    layout = _layout(desk, system, tank)
    pieces = [piece for spot in layout.spots for piece in spot.pieces]
    names = {piece.piece for piece in (*pieces, *layout.loose)}
    held = travel_days(desk).held
    moving = moving if moving in names else ""
    context = {
        "layout": layout,
        "drawing": tank_svg(layout, moving, held, desk.say),
        "moving": moving,
        "form": form,
        "count": count_stock(desk.book, StockQuery(system=layout.system, tank=layout.tank)),
        "drawn": len(names),
        "spots": sorted(layout.spots, key=lambda one: natural(one.name)),
        "held": held,
        "name_key": name_key,
        "here": view_address(layout),
        "with_move": lambda piece: view_address(layout, move=piece),
    }
    return render(request, "tank/view.html", context, status=status)


def _layout(desk: Desk, system: str, tank: str) -> TankLayout:
    with desk.book.reading() as connection:
        records = tuple(queries.spots(connection))
    found = stock_page(desk.book, StockQuery(system=system, tank=tank, rows=MOST_DRAWN))
    pieces = [row.state.piece for row in found.rows]
    if not pieces and not any(one.tank == tank and one.system == system for one in records):
        raise HTTPException(404, f"The ledger knows no tank “{tank}” in system “{system}”.")
    return tank_layout(system, tank, pieces, records, desk.today)


def _read_spot(sent: Sent, desk: Desk) -> tuple[dict[str, str], dict[str, str]]:
    """Return the columns of the spots table from the form's fields in the grower's units."""
    typed = {"system": sent.get("system"), "tank": sent.get("tank"), "spot": sent.get("spot")}
    errors: dict[str, str] = {}
    kinds = dict.fromkeys(_LENGTHS, "length") | {"flow_cm_s": "flow"}
    for name in (*_LENGTHS, "flow_cm_s", "par"):
        text = sent.get(name)
        if not text:
            continue
        try:
            value = desk.say.read(kinds[name], text) if name in kinds else desk.say.plain(text)
            typed[name] = f"{value:.3f}".rstrip("0").rstrip(".")
        except ValueError as error:
            errors[name] = f"Expected {error}."
    return typed, errors
