"""Today: what to do now, what is late, what is unhealthy."""

from fastapi import APIRouter, Request
from starlette.responses import RedirectResponse, Response

from ramet.services.stock import read_stock
from ramet.web.desk import AtDesk
from ramet.web.render import render

routes = APIRouter()


@routes.get("/")
def today(request: Request, desk: AtDesk) -> Response:
    """Show the day; a newcomer without a ledger is led to the first steps."""
    if not desk.has_ledger:
        return RedirectResponse("/start", 303)
    stock = read_stock(desk.ledger, desk.reference, desk.today)
    return render(request, "today/today.html", {"pieces": len(stock.pieces), "holds": stock.holds})
