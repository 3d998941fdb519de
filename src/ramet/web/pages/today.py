"""Today: what to do now, what is late, what is unhealthy."""

from fastapi import APIRouter, Request
from starlette.responses import RedirectResponse, Response

from ramet.services.sending.recorded_plans import shelf_plans
from ramet.services.shelf import shipments
from ramet.services.today import Today, Urgency, today_in, with_tasks
from ramet.web.desk import AtDesk, Desk
from ramet.web.render import render
from ramet.web.stock_views import travel_days

routes = APIRouter()
GROUPS = (
    (Urgency.LATE, "Late", "late"),
    (Urgency.NOW, "Now", "today"),
    (Urgency.SOON, "In the next days", "calendar"),
    (Urgency.NEWS, "Good to know", "done"),
)


@routes.get("/")
def today(request: Request, desk: AtDesk) -> Response:
    """Show the day; a newcomer without a ledger is led to the first steps."""
    if not desk.has_ledger:
        return RedirectResponse("/start", 303)
    day = _day(desk)
    keys = {place.name: place.key for place in shipments(desk.files)}
    groups = [(words, icon, day.of(urgency)) for urgency, words, icon in GROUPS]
    context = {"day": day, "groups": groups, "shipment_keys": keys, "days": travel_days(desk)}
    return render(request, "today/today.html", context)


def _day(desk: Desk) -> Today:
    """Return the day: what the ledger says is remembered, tasks and their ticks are read each time."""
    day = desk.remembered("today", lambda book: today_in(book, desk.reference, desk.today))
    plans = [one for one in shelf_plans(desk.files) if one.plan.shipment.due.date() >= desk.today]
    return with_tasks(day, plans, desk.reference)
