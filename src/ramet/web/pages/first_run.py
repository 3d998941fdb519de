"""First steps: from an empty ledger to a first plan, and the sample."""

from fastapi import APIRouter, Request
from starlette.responses import Response

from ramet.ledger.stock_page import StockQuery, count_stock
from ramet.services.sample import lay_out_sample, remove_sample
from ramet.services.shelf import shipments
from ramet.web.desk import AtDesk, InOffice
from ramet.web.pages.shipments import planners_of
from ramet.web.render import go_to, render

routes = APIRouter()


@routes.get("/start")
def start(request: Request, desk: AtDesk) -> Response:
    """Show the way to a first plan, and how far it was gone."""
    pieces = count_stock(desk.book, StockQuery()) if desk.has_ledger else 0
    places = shipments(desk.files)
    planned = next((place for place in places if place.plan is not None), None)
    return render(
        request, "first_run/start.html", {"pieces": pieces, "shipments": places, "planned": planned}
    )


@routes.post("/sample")
def show_sample(request: Request, office: InOffice) -> Response:
    """Lay out the sample beside the ledger and show it."""
    lay_out_sample(office.sample, office.desk().reference)
    return go_to(request, "/", "This is the sample. Your own ledger is untouched.")


@routes.post("/sample/remove")
def drop_sample(request: Request, office: InOffice) -> Response:
    """Remove the sample and go back to the grower's own ledger."""
    planners_of(request).let_go(str(office.sample))
    office.books.let_go(str(office.sample))
    remove_sample(office.sample)
    return go_to(request, "/", "The sample is gone; this is your own ledger.")
