"""Stock: search, filter, sort and page the list; one piece with its history and family."""

from urllib.parse import urlencode

from fastapi import APIRouter, HTTPException, Request
from markupsafe import Markup
from starlette.responses import RedirectResponse, Response

from ramet.domain.words import Form
from ramet.ledger import lookups
from ramet.ledger.store import version_of
from ramet.papers.family_tree import family_tree_svg
from ramet.services.growing.growth_report import growth_report
from ramet.services.history.light_history import light_histories
from ramet.services.history.lineage import family, origin_lines
from ramet.services.photos.of_pieces import photos_of
from ramet.services.photos.store import photo_folder
from ramet.web.desk import AtDesk, Desk
from ramet.web.forms import FormState
from ramet.web.piece_views import family_of, history_lines, is_in_stock, sizes_words
from ramet.web.render import go_to, render
from ramet.web.stock_views import HEALTH, PROMISES, STANDINGS, stock_view, travel_days, travel_words
from ramet.web.verbs import VERBS

routes = APIRouter()
MOST_DRAWN = 1_000


@routes.get("/stock")
def stock(request: Request, desk: AtDesk) -> Response:
    """Show the stock that an address asks for."""
    if not desk.has_ledger:
        return RedirectResponse("/start", 303)
    context = {
        "view": stock_view(desk, request.query_params),
        "standings": STANDINGS,
        "health": HEALTH,
        "promises": PROMISES,
        "forms": [("", "any form"), *((form.value, form.value) for form in Form)],
        "sizes_words": sizes_words,
        "travel_words": travel_words,
        "verbs": [verb for verb in VERBS.values() if verb.for_many],
    }
    return render(request, "stock/list.html", context, fragment="found")


@routes.get("/stock/chosen")
def act_on_chosen(request: Request) -> Response:
    """Lead from ticked pieces to the form of what shall be entered."""
    params = request.query_params
    verb, pieces = params.get("do", ""), params.getlist("piece")
    if verb not in VERBS or not pieces:
        return go_to(request, params.get("back", "/stock"), "Tick at least one piece first.")
    chosen = urlencode([("piece", piece) for piece in pieces])
    return RedirectResponse(f"/stock/do/{verb}?{chosen}", 303)


@routes.get("/stock/piece/{name:path}")
def show_piece(request: Request, name: str, desk: AtDesk) -> Response:
    """Show one piece."""
    return piece_page(request, desk, name, FormState())


def piece_page(request: Request, desk: Desk, name: str, form: FormState, status: int = 200) -> Response:
    """Render the page of a piece."""
    with desk.book.reading() as connection:
        state = lookups.state(connection, name)
        version = version_of(connection)
    if state is None:
        raise HTTPException(404, f"The ledger has no piece “{name}”.")
    context = {
        "state": state,
        "form": form,
        "photos": photos_of(desk.book, photo_folder(desk.ledger), name),
        "piece": state.piece,
        "version": version,
        "in_stock": is_in_stock(state),
        "travels": travel_days(desk).of(name),
        "light": next(iter(light_histories(desk.book, [name], desk.today)), None),
        "lines": history_lines(desk.book, name, desk.say),
        "family": family_of(desk.book, state),
        "sizes_words": sizes_words,
        "travel_words": travel_words,
        "verbs": list(VERBS.values()),
    }
    return render(request, "stock/piece.html", context, status=status)


@routes.get("/stock/family/{name:path}")
def show_family(request: Request, name: str, desk: AtDesk) -> Response:
    """Draw the family of a piece's strain, with the papers it inherits."""
    found = desk.remembered(f"family of {name}", lambda book: family(book, name))
    if len(found.members) > MOST_DRAWN:
        detail = (
            f"{found.strain} has {len(found.members)} pieces, too many for a page; ramet tree -o draws it."
        )
        raise HTTPException(404, detail)
    origins = origin_lines(found)
    context = {
        "name": name,
        "found": found,
        "origins": origins,
        "drawing": Markup(family_tree_svg(found, origins)),
    }
    return render(request, "stock/family.html", context)


@routes.get("/stock/growth/{name:path}")
def show_growth(request: Request, name: str, desk: AtDesk) -> Response:
    """Show how one piece grows."""
    report = desk.remembered(
        f"growth of {name}", lambda book: growth_report(book, desk.reference, desk.today, name)
    )
    return render(request, "stock/growth.html", {"name": name, "report": report}, fragment="growth")
