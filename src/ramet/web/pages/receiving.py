"""The receiving tank of a shipment: supply against demand, biofilter, light, and where each piece goes."""

from fastapi import APIRouter, Request
from starlette.responses import Response

from ramet.papers.chart import draw_alone
from ramet.web.desk import AtDesk
from ramet.web.pages.journey import planned
from ramet.web.pages.shipments import find_place, stations_of
from ramet.web.receiving_views import balance_of, receiving_view
from ramet.web.render import render

routes = APIRouter()


@routes.get("/shipments/{key}/tank")
def receiving_tank(request: Request, key: str, desk: AtDesk) -> Response:
    """Show what the receiving tank bears."""
    place = find_place(desk, key)
    view = receiving_view(planned(place.plan), f"/shipments/{key}/tank/balance.svg", desk.say)
    context = {"place": place, "stations": stations_of(request, place), "plan": place.plan, "view": view}
    return render(request, "shipment/tank.html", context)


@routes.get("/shipments/{key}/tank/balance.svg")
def balance(key: str, desk: AtDesk) -> Response:
    """Send the still picture of supply against demand."""
    plan = planned(find_place(desk, key).plan)
    return Response(draw_alone(balance_of(plan.tank, desk.say, 560)), 200, media_type="image/svg+xml")
