"""The journey of a shipment: bands and limits of each bag, and what would change them."""

from fastapi import APIRouter, HTTPException, Request
from starlette.responses import Response

from ramet.formats.plan import Plan
from ramet.papers.chart import draw_alone
from ramet.papers.journey import journey_spec
from ramet.web.charts import column_heads, hour_rows, journey_chart_of, shown_in_units
from ramet.web.desk import AtDesk, Desk
from ramet.web.forms import FormState
from ramet.web.journey_views import margin_rows, read_wish, room_of, with_wish
from ramet.web.pages.shipments import find_place, stations_of
from ramet.web.render import render

routes = APIRouter()
GASES = (("", "as planned"), ("oxygen", "oxygen"), ("air", "air"))


@routes.get("/shipments/{key}/journey")
def journey(request: Request, key: str, desk: AtDesk, bag: str = "") -> Response:
    """Show one bag over the journey, and every margin, as planned or with something done differently."""
    place = find_place(desk, key)
    plan = planned(place.plan)
    form = read_wish(request.query_params)
    tried, wrong = with_wish(plan, form, desk.reference)
    shown = tried or plan
    ids = [one.id for one in shown.forecast.bags]
    chosen = bag if bag in ids else margin_rows(plan, None)[0].bag if ids else ""
    query = request.url.query
    context = {
        "place": place,
        "stations": stations_of(request, place),
        "plan": plan,
        "shown": shown,
        "tried": tried,
        "form": FormState(form.values, {**form.errors, **wrong}),
        "gases": GASES,
        "room": room_of(plan, desk.reference),
        "bag": chosen,
        "bags": sorted(ids, key=lambda one: (len(one), one)),
        "rows": margin_rows(plan, tried),
        "heads": column_heads(desk.say),
        "hours": hour_rows(shown, chosen, desk.say) if chosen else (),
        "chart": journey_chart_of(
            shown, chosen, f"/shipments/{key}/journey/{chosen}.svg{'?' + query if query else ''}", desk.say
        )
        if chosen
        else None,
    }
    return render(request, "shipment/journey.html", context, fragment="answer")


@routes.get("/shipments/{key}/journey/{bag}.svg")
def picture(request: Request, key: str, bag: str, desk: AtDesk) -> Response:
    """Send the still picture of one bag's chart."""
    plan = planned(find_place(desk, key).plan)
    tried, _ = with_wish(plan, read_wish(request.query_params), desk.reference)
    shown = tried or plan
    if bag not in {one.id for one in shown.forecast.bags}:
        raise HTTPException(404, f"This plan has no bag “{bag}”.")
    return Response(_svg(shown, bag, desk), 200, media_type="image/svg+xml")


def planned(plan: Plan | None) -> Plan:
    """Return a shipment's plan, or answer that there is none yet."""
    if plan is None:
        raise HTTPException(404, "This shipment has no plan yet; plan it first.")
    return plan


def _svg(plan: Plan, bag: str, desk: Desk) -> str:
    shown, unit = shown_in_units(plan, bag, desk.say), desk.say.unit("temperature")
    return draw_alone(journey_spec(shown, bag, width=560, warmth_unit=unit))
