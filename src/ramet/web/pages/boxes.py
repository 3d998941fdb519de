"""The boxes of a shipment: every layer from above, lifted apart, and turning."""

from fastapi import APIRouter, Request
from starlette.responses import Response

from ramet.web.box_views import box_view
from ramet.web.desk import AtDesk
from ramet.web.pages.journey import planned
from ramet.web.pages.shipments import find_place, stations_of
from ramet.web.plan_views import pack_words
from ramet.web.render import render

routes = APIRouter()


@routes.get("/shipments/{key}/boxes")
def boxes(request: Request, key: str, desk: AtDesk, box: str = "") -> Response:
    """Show one box of a shipment, by default the first that is packed."""
    place = find_place(desk, key)
    plan = planned(place.plan)
    filled = [one for one in plan.boxes if one.bags]
    chosen = next((one for one in filled if one.id == box), filled[0] if filled else None)
    context = {
        "place": place,
        "stations": stations_of(request, place),
        "boxes": filled,
        "empty": [one for one in plan.boxes if not one.bags],
        "view": box_view(plan, chosen) if chosen else None,
        "pack_words": pack_words,
    }
    return render(request, "shipment/boxes.html", context)
